// Margins of one luff design for one set of parameters: pure, thread safe, deterministic.
#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "candidate/candidate.h"
#include "functions/drive/drive.h"
#include "functions/drive/placing.h"
#include "functions/luff/load_moment.h"
#include "functions/luff/sway.h"
#include "functions/luff/travel.h"
#include "functions/luff/wants.h"

namespace functions::luff {

/// Angles of the travel that are looked at, both ends included: one in every 1 to 2 deg of an ordinary travel. Time by
/// the trapezoid rule over them is within 0.1 % of the integral (tested against a fine one).
inline constexpr int kAngles = 49;

/// The best that mounts on one side of the pivot offer, whatever the drive.
struct SideFound {
  std::int64_t feasible = 0;               ///< mounts x actuators
  std::optional<linkage::Placement> best;  ///< least peak force
  std::string miss;                        ///< the nearest miss when there is none
};

/// What is told of an actuator between two mounts whatever drives it, with nominal parameters. Many designs stand on
/// the same mounts.
struct Mounted {
  Cycle cycle;
  Cycle free;           ///< without the load
  Geometry further;     ///< with the rod mount half a pitch further out
  Cycle further_cycle;  ///< the same
  std::string side;     ///< which side of the pivot it passes
  std::string further_rod;
  std::vector<candidate::Shape> shapes;
};
/// Those that were asked for; may be asked from several threads at once.
class MountsTold {
 public:
  template <class Make>
  [[nodiscard]] std::shared_ptr<const Mounted> at(stock::ClassId actuator, lattice::Point2 base, lattice::Point2 rod,
                                                  const Make& make) {
    const std::tuple key{actuator, base, rod};
    {
      const std::lock_guard lock(guard_);
      if (const auto known = made_.find(key); known != made_.end()) return known->second;
    }
    auto made = std::make_shared<const Mounted>(make());  // the same whoever makes it
    const std::lock_guard lock(guard_);
    return made_.emplace(key, std::move(made)).first->second;
  }

 private:
  std::map<std::tuple<stock::ClassId, lattice::Point2, lattice::Point2>, std::shared_ptr<const Mounted>> made_;
  std::mutex guard_;
};

/// What all designs of one function share. Holds its own copy of the brief, so a design outlives the caller's.
struct Problem {
  std::shared_ptr<const brief::Brief> brief;
  int sides = 1;
  Wants wants;
  MomentTable moments;
  MomentTable free_moments = {};                 ///< the same without the load, for what is told
  SideFound below = {}, above = {};              ///< only looked into as far as wanted
  std::shared_ptr<const Booms> booms = nullptr;  ///< when sway is judged
  std::shared_ptr<MountsTold> mounts = std::make_shared<MountsTold>();
};

struct Design {
  std::shared_ptr<const Problem> problem;
  stock::ClassId actuator{};
  int actuators = 1;  ///< side by side on one shaft, per side of the machine
  lattice::Point2 base, rod;
  Geometry geometry;
  drive::Powertrain powertrain;
  std::shared_ptr<const Gauged> sway = nullptr;  ///< when it is judged
  std::shared_ptr<const Gauged> sag = nullptr;   ///< when there is a limit to it
  std::shared_ptr<const drive::Site> site = nullptr;
  std::optional<drive::Placed> placed = std::nullopt;  ///< once it is laid out
  candidate::Evaluation nominal = {};                  ///< which a place does not change
};

/// Thread and pins of an actuator class in a sample.
[[nodiscard]] Friction friction_in(const brief::Brief& brief, const stock::Actuator& part, const brief::Sample& sample);

/// What a powertrain reaches on one placement; the worst margin is what Evaluation::worst() says of margins_of().
struct Reached {
  double force_needed_n = 0;    ///< all actuators together
  double force_by_motor_n = 0;  ///< motor stalled, through train and screw; port current limit included
  double force_by_body_n = 0;   ///< actuators' own limit
  bool current_limited = false;
  double raise_s = 0, lower_s = 0;  ///< infinite when it stalls
  double torque_nmm = 0;            ///< greatest at the actuators' input
  double tooth_margin = 0;          ///< not capped
  int weakest_stage = -1;
  double stall_tooth_margin = 0;
  double axle_margin = 0;
  double current_ma = 0;                     ///< of one side, at the greatest torque
  double hold_reached = 0, hold_needed = 0;  ///< coefficients of friction
  std::string_view hold_by;
};
[[nodiscard]] Reached reach(const brief::Brief& brief, const stock::Actuator& part, int actuators,
                            const Geometry& geometry, const Cycle& cycle, const linkage::Screw& screw,
                            const drive::Powertrain& powertrain, const drive::Machine& machine,
                            const drive::SpeedLine& line);
/// Names in a fixed order: force, time, tooth (only with a train), axle, hold (only if wanted); evaluate() adds sway
/// and sag when they are wanted.
[[nodiscard]] candidate::Evaluation margins_of(const Reached& reached, const Design& design, const Cycle& cycle);
/// Wanted over reached of sway and sag, the worse one; kMarginCap when neither is wanted, 0 when they cannot be judged.
struct Firm {
  double ratio = candidate::kMarginCap;
  std::string_view name;
  double reached_mm = 0, wanted_mm = 0;
};
[[nodiscard]] Firm firm_in(const Gauged* sway, const Gauged* sag, const Wants& wants, const brief::Sample& sample);
/// min over the margins, without building them: for searches.
struct Worst {
  double ratio = 0;
  std::string_view name, unit;
  double reached = 0, wanted = 0;
};
[[nodiscard]] Worst worst_of(const Reached& reached, const Wants& wants, bool has_train);

[[nodiscard]] candidate::Evaluation evaluate(const Design& design, const brief::Sample& sample);
/// Greatest load in place of the wanted one with which motor and actuators still raise it over the whole travel; 0 when
/// the bodies alone are too much. Moments are worked out anew for each load that is tried. Needs a wanted load.
[[nodiscard]] double lifts_g(const Design& design, const brief::Sample& sample);

}  // namespace functions::luff
