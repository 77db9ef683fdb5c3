// Covers boom_strength.h: stress and give of a boom on its foot and its actuator against beam theory by hand.
#include "structure/boom_strength.h"

#include <gtest/gtest.h>

#include <cmath>

#include "structure/sample_boom.h"

namespace {

constexpr structure::HoledBar kBar{7.8, 7.4, 4.9, 8};

double modulus_mm3() {
  return kBar.breadth_mm * (std::pow(kBar.height_mm, 3) - std::pow(kBar.hole_mm, 3)) / (6 * kBar.height_mm);
}

}  // namespace

// Level, the greatest moment stands at the actuator's pin: half of 1 N x (24 - 8) x 8 mm in either row. The actuator's
// base is 6 pitches ahead of the foot and 6 below it, so it pushes up by the moment's balance about the foot,
//   F_z = 24/8 N, plus a push along the boom of F_z tan(slope) in the part towards the foot.
TEST(BoomStrength, StressIsMomentOverModulusAtTheActuator) {
  structure::Boom boom = structure::sample::jib();
  structure::BoomLoad load;
  const structure::BoomInPlane level = structure::in_plane(boom, load, kBar);
  ASSERT_FALSE(level.mechanism) << *level.mechanism;
  EXPECT_NEAR(level.arm_mm, 192, 1e-9);
  const double area = (kBar.height_mm - kBar.hole_mm) * kBar.breadth_mm;
  // From the base at (6, -6) to the pin at (8, 0): 2 along for 6 up.
  const double along_n = 3.0 * 2 / 6;
  const double by_hand = 0.5 * 128 / modulus_mm3() + 0.5 * along_n / area;
  // The push along the boom stands in the middle of the cross axle, which bends and takes the rows sideways with it.
  EXPECT_GT(level.stress_mpa_per_n, by_hand);
  EXPECT_LT(level.stress_mpa_per_n, 1.12 * by_hand);
  EXPECT_NE(level.weakest.find("beam 0-24"), std::string::npos);
  // Raised, less moment: the arm shrinks with the cosine.
  load.luff_rad = 0.6;
  const structure::BoomInPlane raised = structure::in_plane(boom, load, kBar);
  EXPECT_NEAR(raised.arm_mm, 192 * std::cos(0.6), 1e-9);
  EXPECT_LT(raised.stress_mpa_per_n, level.stress_mpa_per_n);
}

// Give of an overhanging beam F a^2 (l + a)/(3 E I) plus that of the actuator: it yields by its force over its
// stiffness, along its own line, seen at the tip by the lever arms. Bedding and axles add a little.
TEST(BoomStrength, GiveIsBendingAndTheActuator) {
  const structure::Boom boom = structure::sample::jib();
  const structure::BoomInPlane level = structure::in_plane(boom, {}, kBar);
  const double l = 64, a = 128, ei = 2 * boom.parts.beam_material.e_mpa * boom.parts.beam.second_y_mm4;
  const double bending = a * a * (l + a) / (3 * ei);
  const double up = 6 / std::hypot(2, 6), force_n = 3 / up;
  const double yields = force_n / boom.actuator.stiffness_n_mm / up * 3;  // at the pin, then 192/64 at the tip
  EXPECT_GT(level.give_mm_per_n, bending + yields);
  EXPECT_LT(level.give_mm_per_n, 1.12 * (bending + yields));
}
