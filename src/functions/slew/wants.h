// What a slewing drive is asked to do, validated and in core units.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "candidate/kind.h"

namespace functions::slew {

/// Where the train ends. outer, inner: a pinion on the ring's teeth. bevel, worm: a bevel pair or a worm whose driven
/// gear sits on the slewing axle; the ring then only bears.
enum class Final { any, outer, inner, bevel, worm };
[[nodiscard]] std::string_view name_of(Final final);

struct Wants : candidate::Wants {
  std::string moves;  ///< id of the body that turns
  std::optional<double> rpm;
  std::optional<double> time_s;  ///< for angle_deg
  double angle_deg = 90;
  double load_g = 0;     ///< hung from the boom
  double radius_mm = 0;  ///< of the load from the slewing axis
  double load_height_mm = 0;
  double slope_deg = 0;           ///< it must still turn on this slope
  bool hold = true;               ///< must not be turned by the load on the slope while the motor is off
  double start_s = 1.0;           ///< time to come up to speed and to stop
  std::optional<double> sway_mm;  ///< greatest swing of the load after a stop
  double rope_mm = 0;             ///< length the load hangs at
  double push_n = 0;              ///< sideways at radius_mm, to be held: wind, a knock
  std::string ring;               ///< class id; empty = any in the stock
  Final final = Final::any;
  int most_stages = -1;  ///< meshes between motor and ring, the one on the ring among them

  // Filled in by read().
  int body = -1;  ///< index of `moves`
  double speed_rad_s = 0;
  double slope_rad = 0;
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::slew
