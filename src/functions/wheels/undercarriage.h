// Wheels in side view: what each axle carries, the grip a slope or a step asks for, what a curve costs. Statics in
// closed form; N, mm, rad.
//
// x forward, z up, origin on the floor under the middle of the wheelbase. Axles are given from the rear one forward.
// Every driven wheel uses the same share of its grip: traction = g x load, 0 <= g <= friction; an undriven wheel rolls
// with resistance c x load. Three equations of balance and one rule how a group shares its load settle everything.
// Source: statics of rigid bodies; for two axles it is the closed form of balance/traction.h (Gillespie, Fundamentals
// of Vehicle Dynamics, ch. 4, grade climbing, from memory).
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

namespace functions::wheels {

/// fixed: all axles on one rigid frame, equal tyres as springs. rocking: neighbours in pairs, each pair in a frame that
/// rocks about a cross pivot half way at the height of its axles; of three axles the rear two.
enum class Frame { fixed, rocking };

inline constexpr std::size_t kMostAxles = 6;
struct Undercarriage {
  std::vector<double> axle_x_mm;  ///< ascending, 2 .. kMostAxles; rocking: 3 or 4
  std::vector<bool> driven;       ///< by axle
  double radius_mm = 0;
  Frame frame = Frame::fixed;
};

/// Where the machine's weight acts.
struct Centre {
  double ahead_mm = 0;   ///< of the middle of the wheelbase
  double height_mm = 0;  ///< above the floor
};

/// The forces of one standing with the driven wheels using grip g; per newton of weight.
struct Standing {
  double push = 0;  ///< drives forward beyond what is needed, held back at the floor; >= 0: it moves
  std::array<double, kMostAxles> load{};  ///< normal force of each axle; a lifted one has 0
  bool stands = false;                    ///< false: it falls over backward (or nothing carries)
};

/// Nose up a slope. A fixed frame's axles that would have to pull at the floor are lifted.
[[nodiscard]] Standing on_slope(const Undercarriage&, const Centre&, double slope_rad, double grip, double rolling);
/// Steepest slope on which grip `friction` still moves it; 0 when it does not even start on the level. By bisection.
[[nodiscard]] double adhesion_slope_rad(const Undercarriage&, const Centre&, double friction, double rolling);

/// The wheels that meet a step one after the other, from the front: the moment that axle leaves the floor, the ones
/// before it stand on the step. Rigid frames with more than two axles stand on the axle at the step and the one
/// farthest from it.
[[nodiscard]] Standing at_step(const Undercarriage&, const Centre&, int axle, double step_mm, double grip,
                               double rolling);
/// Least grip with which an axle rises; nothing when none up to `most` does without lifting others off. More grip
/// pushes more, so the least one is bisected.
[[nodiscard]] std::optional<double> grip_for_step(const Undercarriage&, const Centre&, int axle, double step_mm,
                                                  double rolling, double most = 3.0);
/// Highest step that every axle takes with friction mu; at most `most_mm`.
struct StepLimit {
  double step_mm = 0;
  int axle = -1;  ///< the one that fails beyond it; -1: none up to most_mm
};
[[nodiscard]] StepLimit climbable_step(const Undercarriage&, const Centre&, double friction, double rolling,
                                       double most_mm);

/// Force along the path that the scrubbing of tyres asks for in a curve of radius R (middle of the unsteered axles):
///   F = mu/R sum over unsteered wheels of N sqrt(d^2 + y^2)
/// d from its axle to the middle of the unsteered ones, y half the track where both wheels sit on one driven axle
/// without differential, else 0. Power of Coulomb friction over the speed; the front axle is steered. Per N of weight.
[[nodiscard]] double curve_force(const Undercarriage&, const Centre&, double radius_mm, double track_mm,
                                 bool solid_axle, double friction);

}  // namespace functions::wheels
