// A vehicle and the ground from the side: wheels, rocking pairs, belts, underside; ramps it clears.
// x forward, z up, mm; the vehicle drives towards +x. Its frame has z = 0 on the ground it stands on when level.
#pragma once

#include <string>
#include <vector>

namespace balance {

struct SidePoint {
  double x_mm = 0, z_mm = 0;
};

struct SideWheel {
  SidePoint axle;
  double radius_mm = 0;
  bool driven = true;
  int rocker = -1;  ///< -1: fixed to the chassis
};
/// A beam on a pin across the vehicle, with wheels of its own. Turns by up to `most_rad` either way from its place.
struct SideRocker {
  SidePoint pivot;
  double most_rad = 0.35;
  /// Where the torque of its driven wheels is taken: on the rocker (motor on it), or on the chassis (belt, chain, shaft
  /// through the pin).
  bool drive_on_rocker = false;
};

struct SideView {
  std::vector<SideWheel> wheels;
  std::vector<SideRocker> rockers;
  /// A belt runs under neighbouring wheels of the chassis, and under the wheels of each rocker; slack between the two.
  bool belt = false;
  std::vector<SidePoint> underside;  ///< from rear to front; ground must stay below it
  double weight_n = 0;
  SidePoint centre;
  double rolling_resistance = 0;  ///< of undriven wheels
  /// Every driven wheel has motors of its own, all alike; false, or with a belt: they share one pull.
  bool own_motors = false;

  [[nodiscard]] int driven_wheels() const;
  /// Parts into which the pull of all motors is split: driven wheels with motors of their own, else 1.
  [[nodiscard]] int pulls() const { return own_motors && !belt && driven_wheels() > 0 ? driven_wheels() : 1; }
};
/// Empty, or what is wrong.
[[nodiscard]] std::string fault_of(const SideView& vehicle);

/// Steepest ramp that the wheels touch before the underside does, driving on to it (approach) or backing (departure);
/// pi/2 when nothing sticks out. SAE J689 as quoted by vehicle makers (from memory): tangents to the tyres.
[[nodiscard]] double approach_angle_rad(const SideView& vehicle);
[[nodiscard]] double departure_angle_rad(const SideView& vehicle);
/// Sharpest ridge, as the angle between its two faces' slopes, that comes no higher than the underside between the
/// wheels: least over the underside of the two tangents' angles, between its points as well; pi when nothing lies
/// between wheels.
[[nodiscard]] double breakover_angle_rad(const SideView& vehicle);
/// Lowest point of the underside over level ground.
[[nodiscard]] double ground_clearance_mm(const SideView& vehicle);

/// Ground from left to right; x never falls, equal x is a wall. Level beyond both ends.
using GroundLine = std::vector<SidePoint>;
[[nodiscard]] GroundLine step_up(double height_mm);                  ///< wall at x = 0
[[nodiscard]] GroundLine step_down(double height_mm);                ///< edge at x = 0
[[nodiscard]] GroundLine trench(double width_mm, double depth_mm);   ///< from x = 0
[[nodiscard]] GroundLine block(double height_mm, double length_mm);  ///< from x = 0
[[nodiscard]] GroundLine ridge(double face_rad, double height_mm);   ///< apex at x = 0, both faces equally steep

}  // namespace balance
