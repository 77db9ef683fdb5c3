// What a steered axle is asked to do, validated and in core units.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "candidate/kind.h"
#include "lattice/lattice.h"

namespace functions::steer {

/// A box of holes as the user writes it: pitches from the middle of the steered axle, x forward, y to the left.
struct Region {
  std::array<double, 2> x{};
  std::array<double, 2> y{};
};

enum class AngleOf { inner, mean };  ///< which wheel's angle is wanted
enum class End { front, rear };
enum class Stops { hard, soft };  ///< hard: the motor may stall against the stop; soft: the handset ends the travel

/// What moves the arms: a crank by a drag link, a rack by its tie rods, or whichever is better.
enum class By { crank, rack, either };

struct Wants : candidate::Wants {
  By by = By::crank;
  double angle_deg = 0;
  AngleOf angle_of = AngleOf::inner;
  double time_s = 0;                 ///< from stop to stop, standing, at most
  std::optional<double> quickest_s;  ///< from stop to stop, rolling, at least
  std::optional<double> wheelbase_mm, track_mm;
  End axle = End::front;
  int axles = 1;  ///< 2: the other axle is steered the opposite way by a drive of its own
  std::optional<double> wheel_load_g;
  std::string wheel;  ///< class id; empty: see tyre_note
  std::optional<double> tyre_diameter_mm, tyre_width_mm, patch_mm;
  std::optional<double> tyre_friction;
  bool wheels_roll = true;  ///< false: locked on their axle while they are turned
  std::optional<double> kingpins_mm;
  std::optional<double> height_mm;
  double max_error_deg = 3;  ///< of the outer wheel against Ackermann
  std::optional<double> turning_circle_mm;
  bool hold = true;
  std::optional<double> push_n;
  Stops stops = Stops::hard;
  Region crank_region_p{{-6, 6}, {-1, 1}};
  int longest_arm_p = 5;
  int most_stages = -1;

  // Filled in by read().
  double inner_rad = 0;
  double least_time_s = 0;  ///< quickest_s or its default
  double base_mm = 0;       ///< wheelbase; with two steered axles the distance from each to the common centre line
  double middle_x_mm = 0;   ///< of the wheelbase
  double axle_x_mm = 0;
  double other_x_mm = 0;  ///< the other axle
  double tread_mm = 0;    ///< between the middles of the tyres
  int kingpins_hp = 0;    ///< even
  double kingpins_at_mm = 0;
  double offset_mm = 0;  ///< middle of the tyre outside of its kingpin
  double diameter_mm = 0, width_mm = 0;
  double patch_radius_mm = 0;
  double level_mm = 0;               ///< of arms and crank above the ground
  lattice::Box2 crank_box;           ///< x, y in half-pitches from the axle's middle
  std::vector<std::string> assumed;  ///< defaults worth telling
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::steer
