// Covers functions/drive/rack_drive: teeth and joints counted by hand, the time along a line against a fine sum, and
// which racks and pinions a stock gives.
#include "functions/drive/rack_drive.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "functions/crawler/small_kit.h"

namespace drive = functions::drive;

TEST(RackDrive, CountsTeethAndJoints) {
  EXPECT_EQ(drive::rack_teeth(10 * std::numbers::pi, 1), 12);
  EXPECT_EQ(drive::rack_teeth(10 * std::numbers::pi + 0.1, 1), 13);
  EXPECT_NEAR(drive::joint_gap_mm(62.83, 8), 1.17, 1e-12);
  EXPECT_NEAR(drive::joint_gap_mm(64, 8), 0, 1e-12);
}

// Second route: the way over the speed, summed in small steps.
TEST(RackDrive, TimeAlongALineIsTheIntegralOfWayOverSpeed) {
  const drive::SpeedLine line{20, 0.1, 190};  // 1 rad/s left where the torque is 190
  const std::vector<double> torque_nmm{20, 60, 100, 140, 180};
  const double travel_mm = 40, radius_mm = 12;
  double sum = 0;
  const int steps = 400000;
  for (int i = 0; i < steps; ++i) {
    const double x = (i + 0.5) / steps;
    sum += travel_mm / steps / ((20 - 0.1 * (20 + 160 * x)) * radius_mm);
  }
  EXPECT_NEAR(drive::line_time_s(torque_nmm, travel_mm, radius_mm, line), sum, 1e-9 * sum);
  EXPECT_EQ(drive::line_time_s({20, 190}, travel_mm, radius_mm, line), std::numeric_limits<double>::infinity());
}

TEST(RackDrive, TakesWhatTheStockHasEnoughOf) {
  brief::Brief b = small_kit::machine();
  stock::Catalogue c = small_kit::kit();
  stock::PartClass part;
  part.id = part.name = "rack_10";
  part.family = stock::Family::rack;
  part.mass_g = small_kit::exact(2);
  part.data = stock::Rack{10, 31.42, 7};
  c.classes.push_back(part);
  stock::Stock s = small_kit::plenty(c, 4);
  small_kit::use(b, std::move(c), std::move(s));
  const brief::Function f = small_kit::function("slide", "travel_mm = 48\n");
  candidate::RejectionLog log;
  // 48 mm are 16 teeth and two more: two racks a bar, four for two bars. Five spur gears.
  const auto found = drive::rack_pinions(b, f, 48, 2, 1, log);
  ASSERT_EQ(found.size(), 5U);
  EXPECT_EQ(found.front().racks, 2);
  EXPECT_EQ(found.front().radius_mm, 4);
  EXPECT_NEAR(found.front().offered_mm, (20 - 2) * std::numbers::pi, 1e-12);
  EXPECT_TRUE(log.take().empty());
  EXPECT_TRUE(drive::rack_pinions(b, f, 48, 3, 1, log).empty());
  const auto racks = log.take();
  ASSERT_EQ(racks.size(), 1U);
  EXPECT_EQ(racks.front().code, "slide.too_few_racks");
  EXPECT_EQ(racks.front().shortfall, 2);
  EXPECT_TRUE(drive::rack_pinions(b, f, 48, 2, 5, log).empty());
  const auto pinions = log.take();
  ASSERT_EQ(pinions.size(), 1U);
  EXPECT_EQ(pinions.front().code, "slide.too_few_pinions");
  EXPECT_EQ(pinions.front().shortfall, 1);
}
