// How far a luffing boom gives at its load: sag, sway and rock angle, by bending and by play, and what would help.
//
// The moved body is taken as a straight boom of beams along x from its pivot (structure/boom.h), its own mass spread
// evenly over them. What hangs on it counts as stiff and stretched out as far as its joints allow, so that the sway at
// the load is the sway of this stage; that of the stage beyond adds up. Elastic figures are proportional to the loads
// and to 1/stiffness, play to the clearances, so every sample of parameters follows from one solution per posture:
//   value = |elastic + slope (mass factor - nominal)| / stiffness factor + play x play factor
#pragma once

#include <array>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "brief/brief.h"
#include "candidate/candidate.h"
#include "functions/luff/beam_rows.h"
#include "functions/luff/wants.h"
#include "lattice/lattice.h"
#include "structure/remedies.h"

namespace functions::luff {

/// One gauge in one posture, millimetres.
struct Bend {
  double elastic_mm = 0;  ///< signed
  double slope_mm = 0;    ///< more of it per unit of the factor on estimated masses
  double play_mm = 0;
  [[nodiscard]] double total_mm(const brief::Sample&, double nominal_mass_factor) const;
};

/// Sag or sway of the boom of one mount, in the postures that come into question.
struct Gauged {
  std::optional<std::string> fault;  ///< why it could not be judged: no such boom, or one that falls apart
  std::vector<Bend> bends;
  double nominal_mass_factor = 1;
  structure::Boom boom;
  structure::BoomLoad load;      ///< in the worst posture, nominal
  structure::BoomReport report;  ///< there, this gauge only
  double reach_mm = 0;           ///< from the pivot to where the gauge is
  [[nodiscard]] double value_mm(const brief::Sample&) const;
};

/// Where the sway comes from, for people; shares in per cent, greatest first.
struct SwayShare {
  std::string_view source;
  double percent = 0;
};
[[nodiscard]] std::vector<SwayShare> shares_of(const structure::GaugeReport&);

/// A remedy for sway that was computed.
struct TriedRemedy {
  std::string name;  ///< "doubling the beams"
  bool possible = false;
  std::string what;     ///< how, or why not
  double after_mm = 0;  ///< sway where it is worst now
  double cut = 0;       ///< share of the sway it takes away; negative: it makes it worse
  std::string lacking;  ///< pieces that the stock does not have left besides the boom's own; empty = none
};

/// The booms of one function: one for each mount of the actuator. May be asked from several threads.
class Booms {
 public:
  Booms(std::shared_ptr<const brief::Brief>, const brief::Function&, const Wants&);

  /// Rows that the stock allows; else why not.
  [[nodiscard]] const std::optional<BeamRows>& rows() const { return rows_; }
  [[nodiscard]] const std::string& no_rows() const { return no_rows_; }
  [[nodiscard]] const std::vector<std::string>& notes() const { return notes_; }
  [[nodiscard]] int length_p() const { return length_p_; }
  [[nodiscard]] bool stage_beyond() const { return stage_beyond_; }

  /// Sway: both ends of the travel and its middle, the stage below at either end of its own.
  [[nodiscard]] std::shared_ptr<const Gauged> sway(lattice::Point2 base, lattice::Point2 rod, int actuators) const;
  /// Sag: of the same postures the one with the most bending and the one with the least lever arm.
  [[nodiscard]] std::shared_ptr<const Gauged> sag(lattice::Point2 base, lattice::Point2 rod, int actuators) const;
  /// For the load chart, at three positions of the travel: turn of the boom about its pivot per moment about it
  /// (actuator and structure), and the moment that its beams bear, at the low end of what they are taken to bear; empty
  /// when it cannot be judged. Of one side.
  struct InPlane {
    std::vector<double> at_rad, rad_per_nmm, holds_nmm;
    std::string weakest;
  };
  [[nodiscard]] InPlane in_plane(lattice::Point2 base, lattice::Point2 rod, int actuators) const;
  /// What was tried against the sway, each on its own and computed again: all beams doubled, the box closed, the
  /// actuator moved, a pin or cross axle added. For the mount that is asked about first: sway hardly depends on it.
  [[nodiscard]] const std::vector<TriedRemedy>& remedies(lattice::Point2 base, lattice::Point2 rod,
                                                         int actuators) const;
  /// Beams, pins, axles and bushes of the boom, all sides of the machine together; nothing when the project does not
  /// describe its beams.
  void add_demand(const structure::Boom&, candidate::Demand&) const;
  /// Of those parts, whether they are demanded or not.
  [[nodiscard]] double parts_mass_g(const structure::Boom&) const;

 private:
  using Key = std::array<int, 5>;
  struct Load {
    structure::BoomLoad load;
    double beam_g_mm = 0;
  };
  [[nodiscard]] structure::Boom boom_of(const BeamRows& rows, lattice::Point2 base, lattice::Point2 rod,
                                        int actuators) const;
  [[nodiscard]] TriedRemedy doubled(const Gauged& now, lattice::Point2 base, lattice::Point2 rod, int actuators) const;
  /// What is needed and the stock does not have.
  [[nodiscard]] std::string lacking(const structure::Boom& before, const structure::PartsAdded&) const;
  [[nodiscard]] Load load_of(double mass_factor) const;
  [[nodiscard]] std::vector<structure::BoomLoad> postures(const structure::BoomLoad&) const;
  [[nodiscard]] Gauged described(lattice::Point2 base, lattice::Point2 rod, int actuators) const;
  [[nodiscard]] Gauged swaying(lattice::Point2 base, lattice::Point2 rod, int actuators) const;
  [[nodiscard]] Gauged sagging(lattice::Point2 base, lattice::Point2 rod, int actuators) const;
  [[nodiscard]] double elastic_mm(const structure::Boom&, const structure::BoomLoad&, structure::Gauge) const;
  void judge_into(Gauged&, const structure::BoomLoad&, structure::Gauge) const;
  [[nodiscard]] candidate::Demand parts_of(const structure::Boom&) const;

  std::shared_ptr<const brief::Brief> brief_;
  Wants wants_;
  BeamWants beams_;
  int sides_ = 1;
  bool described_ = false;
  bool any_estimate_ = false, stage_beyond_ = false;
  int length_p_ = 0;
  double forward_ = 1;  ///< -1: the body reaches backwards
  std::optional<double> turntable_below_mm_;
  std::vector<std::pair<int, stock::ClassId>> beam_classes_;  ///< holes
  std::vector<BeamStock> have_, any_;  ///< beams of the stock; as many as anybody wants of every length of the kit
  std::optional<BeamRows> rows_;
  std::string no_rows_;
  std::vector<std::string> notes_;
  structure::BoomParts parts_;
  mutable std::mutex guard_;
  mutable std::map<Key, std::shared_ptr<const Gauged>> sways_, sags_;
  mutable std::optional<std::vector<TriedRemedy>> remedies_;
};

}  // namespace functions::luff
