// What a driving function rolls on, seen from one side: for standing, slopes, turning and obstacles.
//
// x forward, z up, mm, machine frame, both sides alike. Kinds that drive a machine along tell it with their candidates.
#pragma once

#include <vector>

namespace candidate {

struct RunningGear {
  struct Wheel {
    double x_mm = 0, axle_height_mm = 0, radius_mm = 0;
    bool driven = false;
    bool carries = true;  ///< stands on level ground; false: an end wheel of a belt, raised
    int rocker = -1;      ///< index into `rockers`; -1 = on the chassis
  };
  /// A beam with two wheels on a pin across the machine.
  struct Rocker {
    double pin_x_mm = 0, pin_height_mm = 0;
    double most_rad = 0;       ///< either way
    bool drive_on_it = false;  ///< its motor rides on the beam and takes its torque there
  };
  bool belt = false;          ///< a belt runs round the wheels
  std::vector<Wheel> wheels;  ///< of one side, rear to front
  std::vector<Rocker> rockers;
  double gauge_mm = 0;  ///< between the middles of left and right
  double width_mm = 0;  ///< of a tyre or belt; 0 = not known
  double pull_n = 0;    ///< at the ground, all motors stalled; 0 = not known
  bool steers_by_skidding = false;
};

}  // namespace candidate
