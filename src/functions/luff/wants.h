// What the user wants of a luff: which body turns about which pivot, through which angle, with which load, how fast.
// Core units; angles in radians, measured from the zero pose (boom horizontal), positive raises the front.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "candidate/kind.h"
#include "functions/drive/mount_region.h"
#include "lattice/lattice.h"

namespace functions::luff {

using Region = drive::MountRegion;

struct Wants : candidate::Wants {
  std::string moves;                       ///< body id as written
  double load_g = 0;                       ///< payload besides the bodies' own masses
  std::array<double, 3> load_at_mm{};      ///< machine frame, zero pose
  std::string load_on;                     ///< body id as written
  double time_s = 20;                      ///< allowed for the whole travel, slower direction
  std::array<double, 2> angle_deg{};       ///< as written
  Region base_region_p{{-8, 8}, {-8, 0}};  ///< parent's frame
  Region rod_region_p{{1, 10}, {-1, 1}};   ///< moving body's frame
  double min_lever_mm = 10;                ///< least distance of the actuator's line from the pivot
  double end_clearance_mm = 1;             ///< left at both ends of the actuator's stroke
  int max_actuators = 1;                   ///< side by side on one shaft
  int most_stages = -1;                    ///< meshes between motor and actuator
  bool hold = true;                        ///< must not sink when the motor is off

  // Filled in by read().
  int body = -1;       ///< index of `moves`
  int parent = -1;     ///< index of its parent (-1 cannot be: the chassis does not move)
  int load_body = -1;  ///< index of the body that carries the payload
  bool load_at_given = false;
  double low_rad = 0, high_rad = 0;  ///< travel
  lattice::Box2 base_box, rod_box;   ///< half-pitches from the pivot
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function& function, const brief::Brief& brief,
                                                           document::Diagnostics& diagnostics);

}  // namespace functions::luff
