// What fingers are asked to do, validated and in core units.
#pragma once

#include <array>
#include <memory>
#include <string>

#include "candidate/kind.h"
#include "lattice/space.h"

namespace functions::hand {

enum class Device { knob, pusher, latch };

/// Fingers (from memory; ergonomics tables for light work with thumb and one finger give more, for short).
inline constexpr double kFinger_n = 8;

struct Wants : candidate::Wants {
  Device device = Device::knob;
  double finger_n = kFinger_n;

  // knob
  double torque_nmm = 0;   ///< at the driven shaft
  double turn_deg = 360;   ///< of the driven shaft, from end to end
  double most_turns = 10;  ///< of the knob for it
  std::string knob;        ///< class id of the wheel that is turned; empty = any
  bool hold = false;       ///< stays where it is left
  lattice::Axis axis = lattice::Axis::y;
  std::array<double, 2> at_mm{0, 0};  ///< x, z of the driven shaft
  double at_y_mm = 0;
  int most_stages = -1;
  std::string moves;  ///< id of the body whose joint the driven shaft is; empty = not told
  int moved = -1;     ///< its index; filled in by read()

  // pusher
  double reach_mm = 0;   ///< from the model's skin to the switch at rest
  double stroke_mm = 3;  ///< of the switch
  double press_n = 4;    ///< that the switch asks for

  // latch
  double load_n = 0;  ///< across the pin
  double grip_p = 2;  ///< thickness that the pin holds together
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::hand
