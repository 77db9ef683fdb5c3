// The leg: a lever with its hip on the chassis and its foot on the ground, found on the lattice.
//
// Plane of the swing: x outward from the machine's middle, z up, from the hip; angles counter-clockwise from outward,
// so a leg that hangs down has a negative one and deploying makes the angle smaller. With L the leg's length, Z the
// hip's height, r the foot's (pin to underside), d the lift:
//   contact   sin a = -(Z - r)/L        deployed   sin a = -(Z - r + d)/L        stowed   sin a = (clearance + r - Z)/L
//   foot      out = hip + L cos a       slip while it lifts: L (cos contact - cos deployed)
// Lengths mm, angles rad.
#pragma once

#include <string>
#include <vector>

#include "brief/brief.h"
#include "functions/stabiliser/wants.h"
#include "lattice/space.h"

namespace functions::stabiliser {

struct Leg {
  int length_p = 0;
  double length_mm = 0;
  lattice::Point3 hip;        ///< of the leg at foot_mm, half-pitches on the chassis' lattice
  int outward = 1;            ///< +1, -1: sense of the outward axis in the machine's frame
  double hip_out_mm = 0;      ///< from the middle plane
  double hip_up_mm = 0;       ///< above the ground, on its wheels
  double foot_height_mm = 0;  ///< r
  double lift_mm = 0;         ///< d, 0 when it only widens
  double stowed_rad = 0, contact_rad = 0, deployed_rad = 0;
  double foot_out_mm = 0;             ///< deployed, from the middle plane
  double foot_miss_mm = 0;            ///< to where it is wanted
  double slip_mm = 0;                 ///< inward, under load
  double weight_n = 0;                ///< of the leg with its pad
  double centre_mm = 0;               ///< its centre of mass from the hip
  std::vector<stock::ClassId> beams;  ///< that serve, shortest first
  stock::ClassId pad{};
  bool has_pad = false;
  std::vector<std::string> notes;  ///< what was assumed or rounded

  /// Hip above the ground at an angle at which the foot stands on it.
  [[nodiscard]] double hip_above_foot_mm(double angle_rad) const;
  /// Feet of all legs, deployed, machine frame.
  [[nodiscard]] std::vector<brief::Vec3> feet_mm(const Wants&) const;
  double across_mm = 0;  ///< the leg's plane: its coordinate on the other horizontal axis, on the lattice
  /// Two opposite beams side by side: each lies so far from that plane; of the pair at foot_mm the left one forward or
  /// the front one to the right, the other one the other way.
  double stagger_mm = 0;
};

/// What a leg has before its hip is known: sense, foot, pad, the plane it moves in on the lattice.
[[nodiscard]] Leg leg_start(const Wants&, const brief::Brief&, const brief::Function&);
/// Holes of the chassis where a hip or a sleeve's mouth may be: out and up, half-pitches on its lattice.
[[nodiscard]] std::vector<lattice::Point2> hips(const Wants&, const brief::Brief&, const brief::Function&,
                                                const Leg& start, std::vector<std::string>& notes);
/// Places the hip of a leg at one of them.
void set_hip(lattice::Point2 hole, const Wants&, const brief::Brief&, const brief::Function&, Leg&);
/// Beams of the stock in which a leg of `length_p` pitches can be made, shortest first.
[[nodiscard]] std::vector<stock::ClassId> beams_for(int length_p, const brief::Brief&, const brief::Function&);
/// Weight of a leg with its pad, and where it acts from the hip, or from the end of a beam that is no hip.
void weigh(const Wants&, const brief::Brief&, Leg&);

/// The leg that puts its foot nearest to where it is wanted: over the holes for the hip and all whole lengths that the
/// stock has beams for; of equal ones the shorter, then the lower hip. None: a rejection with the nearest miss, and
/// length_p = 0.
[[nodiscard]] Leg find_leg(const Wants&, const brief::Brief&, const brief::Function&, candidate::RejectionLog&);

}  // namespace functions::stabiliser
