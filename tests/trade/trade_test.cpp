// Facts of the trade that cross folders; common practice, no source. The kit's actuator is the invented one of the
// catalogue, the model is invented.
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <string>
#include <vector>

#include "balance/support.h"
#include "linkage/actuator.h"
#include "linkage/placement.h"
#include "stock/catalogue.h"
#include "structure/sample_boom.h"

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

namespace {

/// A boom that folds through 90 deg from ahead to alongside about an upright pivot at the front of an upper body that
/// leaves 13 pitches of width inside; the actuator lies across that body and takes hold of the boom's first 6 pitches.
/// `scale` 2 = the same machine twice as large.
linkage::PlacementTask side_folding(const stock::Actuator& actuator, int scale) {
  linkage::PlacementTask task;
  task.pitch_mm = 8;
  task.base_mounts = linkage::mounts_in({{-44 * scale, -26 * scale}, {8 * scale, 0}});
  task.rod_mounts = linkage::mounts_in({{2 * scale, -2 * scale}, {12 * scale, 2 * scale}});
  task.actuators = {{"actuator", actuator.closed_mm + 1, actuator.open_mm - 1}};
  task.low_rad = 0;
  task.high_rad = 90 * kRad;
  task.min_lever_mm = 10;
  task.cases = {{"load", {100, 100}}};
  return task;
}

/// How much the actuator is too long for the pair of mounts that suits it best: lengths from the law of cosines.
double least_excess_mm(const linkage::PlacementTask& task) {
  double least_mm = 1e9;
  for (const lattice::Point2 base : task.base_mounts) {
    for (const lattice::Point2 rod : task.rod_mounts) {
      const double a = 4 * std::hypot(base.x_hp, base.z_hp), r = 4 * std::hypot(rod.x_hp, rod.z_hp);
      const double between = std::atan2(rod.z_hp, rod.x_hp) - std::atan2(base.z_hp, base.x_hp);
      double length[2], lever[2];
      for (int i = 0; i < 2; ++i) {
        const double angle = between + (i == 0 ? task.low_rad : task.high_rad);
        length[i] = std::sqrt(a * a + r * r - 2 * a * r * std::cos(angle));
        lever[i] = length[i] > 0 ? a * r * std::sin(angle) / length[i] : 0;
      }
      const bool turns = lever[0] * lever[1] > 0 && std::min(std::fabs(lever[0]), std::fabs(lever[1])) >= 10;
      if (!turns || std::max(length[0], length[1]) > task.actuators[0].open_mm + 1e-6) continue;
      least_mm = std::min(least_mm, task.actuators[0].closed_mm - std::min(length[0], length[1]));
    }
  }
  return least_mm;
}

}  // namespace

TEST(Trade, ALongActuatorDoesNotFitASideFoldingBoomAtThisScale) {
  document::Diagnostics diagnostics;
  const auto catalogue = stock::load_kit_system("metric8", std::string(KW_SOURCE_DIR) + "/catalogue", diagnostics);
  ASSERT_TRUE(catalogue.has_value());
  const auto part = [&](const char* id) { return std::get<stock::Actuator>(catalogue->at(*catalogue->find(id)).data); };
  // Refused, and with the millimetres.
  const linkage::PlacementTask task = side_folding(part("actuator_long"), 1);
  const linkage::PlacementResult small = linkage::place_actuators(task);
  EXPECT_EQ(small.feasible[0], 0);
  const auto too_long = std::find_if(small.misses.begin(), small.misses.end(),
                                     [](const linkage::Miss& m) { return m.reason == linkage::Reason::too_long; });
  ASSERT_NE(too_long, small.misses.end());
  const double excess_mm = least_excess_mm(task);
  EXPECT_GT(excess_mm, 10);
  EXPECT_NEAR(too_long->shortfall, excess_mm, 1e-6);
  char words[60];
  std::snprintf(words, sizeof words, "is %.3g mm too long at 0 deg", excess_mm);
  EXPECT_NE(linkage::text(task, *too_long).find(words), std::string::npos) << linkage::text(task, *too_long);
  // The shorter one fits here, the long one fits the machine at twice the scale.
  EXPECT_GT(linkage::place_actuators(side_folding(part("actuator_medium"), 1)).feasible[0], 0);
  EXPECT_GT(linkage::place_actuators(side_folding(part("actuator_long"), 2)).feasible[0], 0);
}

TEST(Trade, DoublingABoomsBeamsCutsItsSway) {
  const structure::Boom jib = structure::sample::jib();
  const structure::BoomLoad load = structure::sample::jib_load();
  structure::Boom doubled = jib;
  doubled.beams.push_back({0, 24, 1});
  doubled.foot.bearing_p = jib.foot.bearing_p + 1;
  for (const int station : {3, 6, 9, 12, 15, 18, 21}) doubled.pins.push_back({station, 0});
  const double before = structure::judge(jib, load).sway.total, after = structure::judge(doubled, load).sway.total;
  EXPECT_LT(after, 0.9 * before);
  // What the desk itself tries, and the share it tells.
  const structure::Remedies tried = structure::try_remedies(jib, load);
  const structure::Remedy& twin = tried.remedies.front();
  ASSERT_EQ(twin.kind, structure::RemedyKind::double_the_beam);
  EXPECT_NEAR(twin.sway_cut, 1 - twin.after.sway.total / before, 1e-12);
  EXPECT_GT(twin.sway_cut, 0.1);
}
