// One design of legs that slide: its actuator on the chassis, margins for one set of parameters, its place.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "candidate/candidate.h"
#include "functions/drive/placing.h"
#include "functions/drive/screw_drive.h"
#include "functions/stabiliser/outrigger.h"
#include "functions/stabiliser/stance.h"

namespace functions::stabiliser {

/// Extensions that are looked at, both ends included, from run in to deployed.
inline constexpr int kRuns = 33;

struct SlideProblem {
  std::shared_ptr<const brief::Brief> brief;
  Wants wants;
  Outrigger beam;
  Stance nominal;
  std::vector<double> run_mm;   ///< ascending
  std::size_t loaded_from = 0;  ///< first extension at which the foot counts as loaded; run_mm.size() when level
};

/// Where an actuator lies beside its beam: parallel to it, rod mount on a bracket one hole inside the foot's.
struct Seat {
  lattice::Point2 base;  ///< half-pitches from the mouth, x outward
  double offset_mm = 0;  ///< above the beam, across it
  double closed_mm = 0;  ///< base to rod mount, run in
};
/// Holes for the base mount from which the rod mount's travel lies within the actuator's, least offset first, then the
/// shortest; none: a rejection in millimetres.
[[nodiscard]] std::vector<Seat> seats_of(const SlideProblem&, const stock::PartClass& actuator,
                                         candidate::RejectionLog&);

struct SlideDesign {
  std::shared_ptr<const SlideProblem> problem;
  stock::ClassId actuator{};
  int on_shaft = 1;  ///< actuators that one motor turns
  int drives = 1;    ///< motors with their trains: legs / on_shaft
  Seat seat;
  drive::Powertrain powertrain;
  std::shared_ptr<const drive::Site> site = nullptr;
  std::optional<drive::Placed> placed = std::nullopt;
};

/// One leg over its travel in one parameter sample.
struct SlideCycle {
  SlideContact contact;
  linkage::Screw screw;
  std::vector<double> out_n, in_n;      ///< along the beam, outward positive
  std::vector<double> out_nmm, in_nmm;  ///< at the input of ONE actuator, >= 0
  double foot_need_n = 0, tipping_foot_n = 0;
  double peak_nmm = 0, mean_nmm = 0, peak_n = 0;
  double raise_nmm_per_n = 0;
  double bending_nmm = 0;  ///< at the mouth, deployed, with all weight on the foot as it tips
};
[[nodiscard]] SlideCycle slide_cycle(const SlideProblem&, const Stance&, const stock::Actuator&, double offset_mm,
                                     const brief::Sample&);

struct SlideReached {
  double rod_n = 0;   ///< the lesser of motor and actuator
  double foot_n = 0;  ///< least over the loaded travel; 0 when level
  bool by_motor = false;
  double deploy_s = 0, stow_s = 0;  ///< infinite when it stalls
  double torque_nmm = 0, stall_nmm = 0;
  double tooth_margin = 0, axle_margin = 0, stall_tooth_margin = 0;
  int weakest_stage = -1;
  double current_ma = 0;  ///< of one drive
  double beam_nmm = 0;    ///< that the beams bear at a hole
  drive::Lock lock;
};
[[nodiscard]] SlideReached slide_reach(const SlideProblem&, const stock::Actuator&, int on_shaft, const SlideCycle&,
                                       const drive::Powertrain&, const drive::Machine&);

/// Names in a fixed order: foot force (sloping) or force (level), time, tooth (only with a train), axle, beam, hold
/// (sloping), lock, tipping angle (only if wanted).
[[nodiscard]] candidate::Evaluation evaluate(const SlideDesign&, const brief::Sample&);

/// Room, mirror images, what beam and actuator sweep, the actuator's input as the output of the drive.
[[nodiscard]] std::shared_ptr<const drive::Site> site_for(const SlideProblem&, const brief::Function&, int on_shaft,
                                                          const Seat&);

[[nodiscard]] std::string key_of(const SlideDesign&);
[[nodiscard]] std::string title_of(const SlideDesign&);
/// Figures, curves, drawing, notes, what the handset asks; with a place its figures too.
void present(const SlideDesign&, candidate::Candidate&);

/// Bending that a leg's beams bear where a hole is.
[[nodiscard]] double beam_nmm(const SlideProblem&);
/// Parts of all legs but what moves them: beams, sleeves, pads and their pins.
void add_legs(const SlideProblem&, const brief::Function&, int own_pins, candidate::Demand&);
/// Room of beams and sleeves alone, with all mirror images.
[[nodiscard]] std::shared_ptr<const drive::Site> site_by_hand(const SlideProblem&, const brief::Function&);
/// How far the machine leans over a level beam before its foot bears: about the wheels on the other side.
[[nodiscard]] double lean_deg(const SlideProblem&);

/// Beams run out by hand and pinned. Names in a fixed order: hand force, beam, hold, tipping angle (only if wanted).
///   hand force: the heavier way, foot in the air, of one beam      hold: the pin in double shear against the ground's
///   friction on a foot that carries all weight
[[nodiscard]] candidate::Evaluation evaluate_by_hand(const SlideProblem&, const brief::Sample&);
/// The one candidate that there is, or why it is none.
void propose_by_hand(const std::shared_ptr<const SlideProblem>&, const brief::Function&, candidate::Proposal&,
                     candidate::RejectionLog&);

/// Search: the beam, the actuator's place beside it, then every motor x train. Same contract as Kind::propose.
[[nodiscard]] candidate::Proposal search_sliding(const brief::Function&, const Wants&, const brief::Brief&,
                                                 const base::RunControl&);

}  // namespace functions::stabiliser
