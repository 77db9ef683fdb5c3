// Facts of the trade that cross folders; common practice, no source. The kit's actuator is the invented one of the
// catalogue, the model is invented.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "balance/support.h"
#include "linkage/actuator.h"
#include "stock/catalogue.h"

namespace {

constexpr double kRad = std::numbers::pi / 180;

/// A leg of a 3 kg model on four feet: hinged at the hip, its foot 72 mm further out, pushed down by a screw actuator
/// from a mount above the hip to a pin 64 mm out along the leg.
struct Leg {
  double mount_x_mm = 0, mount_z_mm = 0;  ///< actuator's base mount, from the hip
};

/// Force the actuator must give when the foot carries a quarter of the model, leg level.
double force_n(const Leg& leg) {
  const double foot_n = 3.0 * 9.81 / 4;
  const linkage::ActuatorTriangle triangle{{0, 0}, {leg.mount_x_mm, leg.mount_z_mm}, {64, 0}};
  return std::fabs(linkage::actuator_force_n(linkage::pose(triangle, 0), foot_n * 72));
}

double least_tipping_deg(double half_width_mm) {
  const std::vector<balance::Point2> feet{
      {90, half_width_mm}, {-90, half_width_mm}, {-90, -half_width_mm}, {90, -half_width_mm}};
  return balance::tipping_slope_rad(balance::convex_hull(feet), {0, 0, 90}, 90 * kRad) / kRad;
}

}  // namespace

TEST(Trade, AShallowActuatorCannotLiftThreeKilogramsThoughItWidensTheStance) {
  document::Diagnostics diagnostics;
  const auto catalogue = stock::load_kit_system("metric8", std::string(KW_SOURCE_DIR) + "/catalogue", diagnostics);
  ASSERT_TRUE(catalogue.has_value());
  const auto& actuator = std::get<stock::Actuator>(catalogue->at(*catalogue->find("actuator_medium")).data);

  const Leg shallow{-48, 7};  // the actuator lies almost along the leg
  const Leg steep{-8, 80};    // and here it stands over it
  EXPECT_GT(force_n(shallow), actuator.max_force_n.value.high);
  EXPECT_LT(force_n(steep), actuator.max_force_n.value.low);
  // Second route: lever arm as the distance of the hip from the actuator's line.
  const double lever_mm = std::fabs(-48 * (0.0 - 7) - 7 * (64.0 + 48)) / std::hypot(64 + 48, 7);
  EXPECT_NEAR(force_n(shallow), 3.0 * 9.81 / 4 * 72 / lever_mm, 1e-9);

  // Both legs put the foot 72 mm further out than a track 60 mm from the middle.
  EXPECT_NEAR(least_tipping_deg(60), std::atan2(60, 90) / kRad, 1e-9);
  EXPECT_GT(least_tipping_deg(60 + 72), least_tipping_deg(60) + 15);
}
