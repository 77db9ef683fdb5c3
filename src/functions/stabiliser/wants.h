// What the user wants of stabilisers: where the feet stand, whether they lift the machine, how high the legs are
// stowed. Lengths in millimetres of the machine's frame, angles in degrees as written; the leg itself is found in
// leg.h.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "candidate/kind.h"
#include "functions/drive/mount_region.h"
#include "lattice/lattice.h"

namespace functions::stabiliser {

/// In which upright plane a leg swings: across the machine (its shaft runs lengthways) or along it (across).
enum class Swing { sideways, lengthways };

/// How a leg comes out: turned down about its hip, or run out of a sleeve, level or out and down.
enum class Way { swings, slides };
/// What runs a beam out of its sleeve: a screw actuator each, a hand, or a pinion between the racks of a pair.
enum class RunBy { motor, hand, rack };
/// Length of a sleeve when nobody says; a sloping one reaches from hole to hole at least (invented).
inline constexpr double kGuide_p = 5;
/// From a rack's pitch line to the middle of the beam it lies on: half the beam and half a rack (invented).
inline constexpr double kBesideRack_p = 1;

struct Wants : candidate::Wants {
  std::array<double, 2> foot_mm{};  ///< (x, y) of one foot, deployed; the others are its mirror images
  int legs = 2;                     ///< 2: left and right; 4: front and rear too, mirrored about x = 0
  Swing swing = Swing::sideways;
  Way way = Way::swings;
  std::optional<std::array<double, 2>> slope_p;  ///< slides: pitches out and down from hole to hole of its line
  RunBy by = RunBy::motor;                       ///< slides
  double hand_n = 10;                            ///< by hand: what a hand pushes one beam with
  double offset_p = kBesideRack_p;               ///< by rack: from its pitch line to the beam's middle
  double guide_p = kGuide_p;                     ///< slides: length of the beam that stays in its sleeve
  bool lifts = true;                             ///< lifts the model off its wheels; else it only widens the stance
  double lift_mm = 4;                            ///< how far, when it does
  std::optional<double> preload_n;     ///< foot force when it only widens; empty: kPreloadShare of an equal share
  std::optional<double> clearance_mm;  ///< ground to the underside of the stowed foot
  std::optional<double> stowed_deg;    ///< instead of it: the leg above the horizontal
  double time_s = 10;                  ///< from stowed to deployed, slower direction
  std::optional<std::array<double, 2>> hip_mm;          ///< out from the middle plane and up
  int leg_p = 0;                                        ///< hip to foot, whole pitches; 0: found
  int leg_beams = 2;                                    ///< beams side by side in a leg
  double foot_tolerance_mm = 8;                         ///< feet may stand this far from where they are wanted
  std::string pad;                                      ///< part class under the foot; empty: the leg's own end
  std::optional<double> foot_height_mm;                 ///< foot pin to ground; empty: half a pitch, with a pad one
  std::optional<double> foot_friction;                  ///< on the ground; empty: the machine's ground friction
  double load_g = 0;                                    ///< on the hook while it stands on its feet
  std::optional<double> tipping_deg;                    ///< least tipping angle on the feet
  int legs_per_motor = 0;                               ///< 1, 2 by a cross shaft; 0: both are tried
  drive::MountRegion base_region_p{{-8, 3}, {-3, 12}};  ///< chassis, pitches from the hip, x outward
  std::optional<drive::MountRegion> rod_region_p;       ///< leg, pitches from the hip, x towards the foot
  double min_lever_mm = 8;
  double end_clearance_mm = 1;
  int most_stages = -1;

  // Filled in by read().
  lattice::Box2 base_box;     ///< half-pitches from the hip
  int out_p = 1, down_p = 0;  ///< slides: slope of the line
};

/// Stowed feet clear the ground by this much when nobody says (invented).
inline constexpr double kClearance_mm = 32;
/// Beams that slide out level clear the ground by this much (invented), sloping ones when run in by a pitch.
inline constexpr double kSlidingClearance_mm = 1;
/// Slope of a beam that slides out and down when nobody says: 3-4-5, so that its line meets holes.
inline constexpr std::array<int, 2> kSlope_p{4, 3};
/// Feet that only widen the stance are pressed down by this share of an equal share of the weight (common practice:
/// just so firm that they do not rattle; no source).
inline constexpr double kPreloadShare = 0.1;
/// Longest leg that is looked for, pitches.
inline constexpr int kLongestLeg_p = 30;

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function& function, const brief::Brief& brief,
                                                           document::Diagnostics& diagnostics);

}  // namespace functions::stabiliser
