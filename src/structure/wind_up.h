// Wind-up of a long axle: the angle its far end lags behind, by twist and by play, and where it comes from.
//
//   twist = sum T L/(G K) over the segments       play = sum of the turns its joints and meshes allow
// The play counts once from stop to stop when the torque changes sense. N mm, mm, rad inside; degrees for people.
#pragma once

#include <string>
#include <vector>

#include "structure/torsion.h"

namespace structure {

struct AxleSegment {
  std::string name;
  Section section;
  double length_mm = 0;
  double shear_modulus_mpa = 0;
  double torque_nmm = 0;  ///< carried in this segment
};
struct AxleJoint {
  std::string name;     ///< joiner, gear on its axle, mesh
  double turn_rad = 0;  ///< to either side, referred to the axle's output
};

struct WindUpSource {
  std::string name;
  bool play = false;  ///< else twist
  double turn_rad = 0;
  double share = 0;  ///< of the total, 0..1; negative where a segment twists against the rest
};
struct WindUp {
  double twist_rad = 0;  ///< signed, under the given torques
  double play_rad = 0;   ///< to either side
  double total_rad = 0;  ///< |twist| + play: how far it lags behind the middle of its play
  double total_deg = 0;
  double reversal_rad = 0;            ///< dead travel of the driver when the torque changes sense: 2 (|twist| + play)
  std::vector<WindUpSource> sources;  ///< greatest first, ties in the order given
};
/// Turn to either side that a sleeve allows which holds two cross axles end to end: each turns in it until the tips of
/// its arms touch, by c/w (c = clearance across an arm, w = width over the arms), both together by 2 c/w.
[[nodiscard]] constexpr double joiner_turn_rad(double clearance_mm, double width_mm) {
  return 2 * clearance_mm / width_mm;
}

/// KW_CHECK: lengths and moduli positive, plays not negative.
[[nodiscard]] WindUp wind_up(const std::vector<AxleSegment>& segments, const std::vector<AxleJoint>& joints);

}  // namespace structure
