// What the user wants of a luff: which body turns about which pivot, through which angle, with which load, how fast.
// Core units; angles in radians, measured from the zero pose (boom horizontal), positive raises the front.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "candidate/kind.h"
#include "functions/drive/mount_region.h"
#include "lattice/lattice.h"
#include "linkage/placement.h"  // Side

namespace functions::luff {

using Region = drive::MountRegion;

/// How the moved body is built, for its sway; lengths in hole pitches. Negative = not told, see the keys' defaults.
struct BeamWants {
  int length_p = -1;                                 ///< foot pivot to tip
  int rows = 2;                                      ///< side by side, with the actuator between them
  int thickness = 1;                                 ///< beams side by side in a row
  double width_p = 4;                                ///< between the middles of the innermost beams of two rows
  double pivot_width_p = -1;                         ///< between the bearings of the foot axle
  int ties_every_p = 0;                              ///< cross beams above and below; 0 = open
  double pin_play_mm = -1, axle_play_mm = -1;        ///< bore minus pin
  double slew_play_deg = 0.25, slew_rock_deg = 0.1;  ///< of a turntable below, to either side
  double actuator_play_mm = 0.15;                    ///< along it, to either side
  double actuator_stiffness_n_mm = 40;               ///< along it
};

struct Wants : candidate::Wants {
  std::string moves;                           ///< body id as written
  double load_g = 0;                           ///< payload besides the bodies' own masses
  std::array<double, 3> load_at_mm{};          ///< machine frame, zero pose
  std::string load_on;                         ///< body id as written
  double time_s = 20;                          ///< allowed for the whole travel, slower direction
  std::array<double, 2> angle_deg{};           ///< as written
  Region base_region_p{{-8, 8}, {-8, 0}};      ///< parent's frame
  Region rod_region_p{{1, 10}, {-1, 1}};       ///< moving body's frame
  double min_lever_mm = 0;                     ///< least distance of the actuator's line from the pivot
  double end_clearance_mm = 1;                 ///< left at both ends of the actuator's stroke
  int max_actuators = 1;                       ///< side by side on one shaft
  int most_stages = -1;                        ///< meshes between motor and actuator
  bool hold = true;                            ///< must not sink when the motor is off
  linkage::Side side = linkage::Side::either;  ///< of the pivot that the actuator passes
  std::optional<BeamWants> beams;
  std::optional<double> sway_max_mm, sag_max_mm;
  double side_slope_deg = 2;  ///< of the ground, across the boom
  double side_force_n = 0;    ///< at the load, across the boom

  // Filled in by read().
  int body = -1;              ///< index of `moves`
  int parent = -1;            ///< index of its parent (-1 cannot be: the chassis does not move)
  int load_body = -1;         ///< index of the body that carries the payload
  bool reaches_back = false;  ///< the moved body lies behind its pivot: raising its end turns it the other way
  bool load_at_given = false;
  bool lever_given = false;
  double clear_lever_mm = 0;         ///< half an actuator and half an axle: nearer, it would touch an axle at the pivot
  double low_rad = 0, high_rad = 0;  ///< travel
  lattice::Box2 base_box, rod_box;   ///< half-pitches from the pivot
  std::string load_from;             ///< function whose load_g was taken, because it raises more of the same load
  /// Functions that move a body hanging on this one by an actuator of their own standing on it.
  std::vector<std::string> carried_drives;
  [[nodiscard]] bool judges_sway() const { return beams || sway_max_mm || sag_max_mm; }
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function& function, const brief::Brief& brief,
                                                           document::Diagnostics& diagnostics);

}  // namespace functions::luff
