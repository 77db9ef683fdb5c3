// Slopes and turns of a vehicle on its actual supports: adhesion by the load on each driven support as the slope moves
// it.
#pragma once

#include <vector>

#include "balance/standing.h"

namespace balance {

enum class GradeStop { adhesion, effort, tipping };
[[nodiscard]] const char* name_of(GradeStop stop);

struct Climber {
  SupportState state;
  std::vector<bool> driven;  ///< per support
  double weight_n = 0;
  Vec3 centre;
  double friction = 0;            ///< lengthwise
  double rolling_resistance = 0;  ///< of all supports; a driven one's is a torque, not a pull on the ground
  double effort_n = 0;            ///< pull of the drive at the ground, in all; 0: not looked at
  /// Every driven support has motors of its own with an equal part of the effort; false: one drive shares it out.
  bool own_motors = false;
};
struct Grade {
  double slope_rad = 0;  ///< steepest that is climbed; 0 when it cannot even roll
  GradeStop stop = GradeStop::adhesion;
  double driven_share = 0;  ///< of the load, on the driven supports, there
};
/// Climbing straight with the nose towards `heading_rad` uphill. All driven supports at their friction at once (locked
/// differentials, or one motor each); the tolerance is 1e-9 rad.
[[nodiscard]] Grade gradeability(const Climber& vehicle, double heading_rad = 0);

/// Turning on the spot by dragging every support sideways: about the place that resists least along x, the median of
/// the loads. Moment = friction x sum of load x |x - place| (J. Y. Wong, Theory of Ground Vehicles, ch. 6, for any
/// loads).
struct SpotTurn {
  double moment_nmm = 0;
  double about_x_mm = 0;
};
[[nodiscard]] SpotTurn spot_turn(const SupportState& state, const Standing& standing, double turn_friction);

}  // namespace balance
