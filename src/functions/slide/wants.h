// What a slide is asked to do, validated and in core units.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "candidate/kind.h"
#include "lattice/space.h"

namespace functions::slide {

enum class By { motor, screw, rack, hand };  ///< motor: screw or rack

struct Wants : candidate::Wants {
  double travel_mm = 0;
  double load_g = 0;    ///< of everything that moves
  double lift_deg = 0;  ///< of the line over the horizontal; outward goes up
  double push_n = 0;    ///< against the stage while it moves out
  double time_s = 6;    ///< one way, at most
  bool hold = true;
  By by = By::motor;
  lattice::Axis along = lattice::Axis::x;
  bool backward = false;              ///< out is towards smaller coordinates
  std::array<double, 2> at_mm{0, 0};  ///< x, z of actuator foot or pinion; machine frame, zero pose
  double at_y_mm = 0;
  double guide_p = 5;              ///< length of bar inside its sleeve
  double overhang_mm = 0;          ///< centre of the load beyond the sleeve's front, run in
  std::optional<double> offset_p;  ///< from the bar's middle to the line of what moves it
  int positions = 2;               ///< by hand: pinned positions, both ends included, at least
  double hand_n = 10;              ///< by hand: what a hand pushes with
  int most_stages = -1;
  std::string moves;  ///< body that it runs out; empty = only what it carries

  // Filled in by read().
  double lift_rad = 0;
  int moved_body = -1;  ///< index into Brief::bodies; -1 = none
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::slide
