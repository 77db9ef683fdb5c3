// Covers power screws against textbook examples and against the inclined plane.
#include "linkage/screw.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

using linkage::raise_torque_nmm;
using linkage::Screw;

namespace {

/// SCREW-01: Shigley Example 8-1; inputs read in askfilo.com question 3335313630373830, results from memory.
Screw shigley() {
  return {30, 8, 0.08, 0, 40, 0.08};
}
Screw without_collar(Screw screw) {
  screw.collar_friction = 0;
  return screw;
}

}  // namespace

TEST(Screw, ShigleyExampleTorquesAndEfficiency) {
  // SCREW-01, 1e-4 relative.
  EXPECT_NEAR(raise_torque_nmm(shigley(), 6400), 26177, 2.6);
  EXPECT_NEAR(raise_torque_nmm(without_collar(shigley()), 6400), 15937, 1.6);
  EXPECT_NEAR(lower_torque_nmm(shigley(), 6400), 9774.4, 1.0);
  EXPECT_NEAR(lower_torque_nmm(without_collar(shigley()), 6400), -465.57, 0.05);
  EXPECT_NEAR(efficiency(shigley()), 0.3113, 3.1e-5);
}

TEST(Screw, ShigleyExampleStresses) {
  // SCREW-02 (parts d to g), from memory, 1e-4 relative.
  const auto s = stresses(shigley(), 4, 6400, raise_torque_nmm(shigley(), 6400));
  EXPECT_NEAR(s.body_shear_mpa, 6.0732, 6e-4);
  EXPECT_NEAR(s.body_axial_mpa, -10.394, 1e-3);
  EXPECT_NEAR(s.thread_bearing_mpa, -12.902, 1.3e-3);
  EXPECT_NEAR(s.root_bending_mpa, 41.471, 4.1e-3);
}

TEST(Screw, CollarMakesTheOverhaulingThreadHold) {
  // SCREW-03: Shigley section 8-2, self-locking if pi f dm > lead; recomputed, 1e-5.
  EXPECT_NEAR(std::tan(lead_angle_rad(shigley())), 0.08488, 1e-5);
  EXPECT_FALSE(thread_holds(shigley()));
  EXPECT_FALSE(holds(without_collar(shigley())));
  EXPECT_TRUE(holds(shigley()));
  Screw single = without_collar(shigley());
  single.lead_mm = 4;
  EXPECT_NEAR(std::tan(lead_angle_rad(single)), 0.04244, 1e-5);
  EXPECT_TRUE(thread_holds(single));
  EXPECT_TRUE(holds(single));
}

TEST(Screw, JindalExampleRaisingTorque) {
  // SCREW-04: Jindal, Machine Design, Example 16-1, p. 450 (tbc-python.fossee.in), 1e-5 relative.
  EXPECT_NEAR(raise_torque_nmm({27, 6, 0.20, 0, 24, 0.15}, 20000), 110148, 1.1);
}

TEST(Screw, TorquesAreThoseOfAnInclinedPlane) {
  // Second route: a block pushed round an incline of the lead angle, forces through the friction angle.
  for (double lead = 1; lead < 40; lead += 3) {
    for (double f = 0; f < 0.6; f += 0.1) {
      const Screw screw{10, lead, f};
      const double lambda = std::atan(lead / (std::numbers::pi * 10)), phi = std::atan(f);
      if (lambda + phi > 1.5) continue;
      EXPECT_NEAR(raise_torque_nmm(screw, 7), 7 * 5 * std::tan(lambda + phi), 1e-9 * (1 + std::tan(lambda + phi)));
      EXPECT_NEAR(lower_torque_nmm(screw, 7), 7 * 5 * std::tan(phi - lambda), 1e-9);
      EXPECT_EQ(holds(screw), backward_efficiency(screw) <= 0);
    }
  }
}

TEST(Screw, ThreadAngleActsAsMoreFriction) {
  const Screw trapezoid{10, 2, 0.15, 0.26};
  const Screw square{10, 2, 0.15 / std::cos(0.26)};
  EXPECT_DOUBLE_EQ(raise_torque_nmm(trapezoid, 50), raise_torque_nmm(square, 50));
}

TEST(Screw, WithoutFrictionNothingIsLost) {
  const Screw smooth{10, 2, 0};
  EXPECT_NEAR(efficiency(smooth), 1, 1e-12);
  EXPECT_NEAR(backward_efficiency(smooth), 1, 1e-12);
}
