// Covers the payload plan on a chart whose ratings follow a formula: whole, split, carried and impossible loads, and
// stowing against every permutation.
#include "balance/payload_plan.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

using balance::PlanMachine;
using balance::PlanStop;
using balance::SiteLoad;
using balance::WorkPlace;

namespace {

constexpr double kPi = std::numbers::pi;

/// Two postures, low and high tip; rated 2000/radius N (a little less to one side), from 100 to 400 mm.
PlanMachine machine() {
  PlanMachine m;
  m.chart.states = 1;
  m.chart.postures = 2;
  for (int i = 0; i <= 60; ++i) m.chart.axes.radius_mm.push_back(100 + 5 * i);
  for (int i = 0; i < 72; ++i) m.chart.axes.slew_rad.push_back(2 * kPi * i / 72);
  for (int p = 0; p < 2; ++p) {
    for (int s = 0; s < 72; ++s) {
      for (const double r : m.chart.axes.radius_mm) {
        balance::LiftCell c;
        c.reached = true;
        c.rated_n = 2000 / r * (s > 36 ? 0.8 : 1) * (p == 1 ? 0.9 : 1);
        c.hook_height_mm = p == 0 ? 120 : 320;
        m.chart.cells.push_back(c);
      }
    }
  }
  m.own = {2000, {0, 0, 60}};
  m.driving.name = "wheels";
  for (const double x : {-100.0, 100.0}) {
    for (const double y : {-70.0, 70.0}) m.driving.supports.push_back({"wheel", {x, y}, {x, y}, 0, 0, 50, 0});
  }
  m.wanted_angle_rad = 0.5;
  m.stow = {{"deck rear", {-110, 0, 50}, {80, 60, 100}, 900}, {"deck edge", {0, 160, 50}, {80, 60, 100}, 900}};
  return m;
}

SiteLoad crate(double mass_g, balance::Vec3 from, balance::Vec3 to, bool can_split = false) {
  return {"crate", mass_g, {60, 40, 40}, from, to, 20, can_split, 0};
}

}  // namespace

TEST(PayloadPlan, LiftsAreJudgedByTheCellsAroundThePlace) {
  const auto m = machine();
  const WorkPlace place{"yard", {1000, 500}, kPi / 2, 0};
  // Ahead of a machine that faces +y.
  const auto ahead = lift_at(m, place, {1000, 702, 0}, 60);
  ASSERT_TRUE(ahead.reached);
  EXPECT_NEAR(ahead.radius_mm, 202, 1e-9);
  EXPECT_NEAR(ahead.slew_rad, 0, 1e-12);
  EXPECT_NEAR(ahead.rated_n, 2000 / 205.0, 1e-12);
  EXPECT_EQ(ahead.posture, 0U);
  // Higher than the low posture's tip: the other one.
  const auto high = lift_at(m, place, {1000, 702, 100}, 60);
  EXPECT_EQ(high.posture, 1U);
  EXPECT_NEAR(high.rated_n, 0.9 * 2000 / 205.0, 1e-12);
  EXPECT_FALSE(lift_at(m, place, {1000, 702, 300}, 60).reached);
  EXPECT_FALSE(lift_at(m, place, {1000, 905, 0}, 60).reached);
  // Without a rope the tip passes between both postures.
  auto grab = m;
  grab.rope = false;
  EXPECT_NEAR(lift_at(grab, place, {1000, 702, 100}, 60).rated_n, 0.9 * 2000 / 205.0, 1e-12);
  EXPECT_FALSE(lift_at(grab, place, {1000, 702, 0}, 60).reached);
}

TEST(PayloadPlan, WholeSplitCarriedAndImpossible) {
  const auto m = machine();
  const std::vector<WorkPlace> places = {{"quay", {0, 0}, 0, 0}, {"yard", {2000, 0}, 0, 0}};
  const double at_200_g = 2000 / 200.0 / 9.81e-3;
  const std::vector<SiteLoad> loads = {
      crate(800, {200, 0, 0}, {0, 200, 0}),                    // one place, whole
      crate(2.5 * at_200_g, {200, 0, 0}, {0, 200, 0}, true),   // three parts
      crate(2.5 * at_200_g, {200, 0, 0}, {0, 200, 0}, false),  // cannot be split
      crate(500, {200, 0, 0}, {2200, 0, 0}),                   // carried
      crate(500, {200, 0, 0}, {1000, 0, 0}),                   // cannot be reached
  };
  const auto plan = plan_payloads(m, loads, places);
  ASSERT_EQ(plan.size(), 5U);
  EXPECT_TRUE(plan[0].possible);
  EXPECT_EQ(plan[0].parts, 1);
  EXPECT_FALSE(plan[0].carried);
  EXPECT_EQ(plan[0].pick_place, 0);
  EXPECT_NEAR(plan[0].spare, at_200_g / 800, 1e-9);
  EXPECT_EQ(plan[0].picks_whole, (std::vector<int>{0}));
  EXPECT_TRUE(plan[1].possible);
  EXPECT_EQ(plan[1].parts, 3);
  EXPECT_GE(plan[1].spare, 1);
  EXPECT_FALSE(plan[2].possible);
  EXPECT_EQ(plan[2].stop, PlanStop::too_heavy);
  ASSERT_TRUE(plan[3].possible);
  EXPECT_TRUE(plan[3].carried);
  EXPECT_EQ(plan[3].stow_place, 0);  // at the edge it would tip
  EXPECT_GE(plan[3].driving_angle_rad, 0.5);
  EXPECT_EQ(plan[3].set_place, 1);
  EXPECT_EQ(plan[4].stop, PlanStop::out_of_reach);
  // Only the set-down fails: picked up at the quay; 1000 mm asked of the 100 to 400 mm of either place.
  EXPECT_EQ(plan[4].nearest_pick, 0);
  EXPECT_TRUE(plan[4].pick.reached);
  EXPECT_FALSE(plan[4].set.reached);
  const auto reach = reach_at(m, places[0], loads[4].to, 60);
  EXPECT_NEAR(reach.radius_mm, 1000, 1e-9);
  EXPECT_NEAR(reach.low_mm, 100, 1e-9);
  EXPECT_NEAR(reach.high_mm, 400, 1e-9);
  EXPECT_NEAR(reach.missing_mm, 600, 1e-9);
  EXPECT_EQ(reach_at(m, places[0], loads[4].from, 60).missing_mm, 0);
  EXPECT_NEAR(reach_at(m, places[0], {40, 0, 0}, 60).missing_mm, 60, 1e-9);
  EXPECT_EQ(reach_at(m, places[0], {200, 0, 900}, 60).high_mm, 0);  // too high at any radius
}

TEST(PayloadPlan, CarriedPartsAreAsHeavyAsTheBalanceAllows) {
  auto m = machine();
  m.stow.resize(1);
  m.stow[0] = {"edge", {0, 120, 50}, {80, 60, 100}, 5000};
  const std::vector<WorkPlace> places = {{"quay", {0, 0}, 0, 0}, {"yard", {2000, 0}, 0, 0}};
  const auto plan = plan_payloads(m, {crate(900, {200, 0, 0}, {2200, 0, 0}, true)}, places);
  ASSERT_TRUE(plan[0].possible);
  // Moment about the side line: 2000 g 70 mm left against p g 50 mm outside, at the height of both.
  const auto angle = [](double p) {
    return std::atan2((2000 * 70 - p * 50) / (2000 + p), (2000 * 60 + p * 70) / (2000 + p));
  };
  ASSERT_LT(angle(900), 0.75);
  EXPECT_GE(angle(plan[0].part_g), 0.5);
  m.wanted_angle_rad = 0.75;
  const auto steadier = plan_payloads(m, {crate(900, {200, 0, 0}, {2200, 0, 0}, true)}, places);
  ASSERT_TRUE(steadier[0].possible);
  EXPECT_GT(steadier[0].parts, plan[0].parts);
  EXPECT_GE(steadier[0].driving_angle_rad, 0.75);
  EXPECT_LT(angle(900.0 / (steadier[0].parts - 1)), 0.75);  // one part fewer would tip too early
  m.wanted_angle_rad = 1.2;
  EXPECT_EQ(plan_payloads(m, {crate(900, {200, 0, 0}, {2200, 0, 0}, true)}, places)[0].stop, PlanStop::no_stow_place);
}

TEST(PayloadPlan, StowingIsTheBestOfAllPermutations) {
  auto m = machine();
  m.stow.clear();
  for (int i = 0; i < 5; ++i) {
    m.stow.push_back({"deck", {-90.0 + 45 * i, i % 2 == 0 ? 30.0 : -40.0, 50}, {70, 70, i == 2 ? 30.0 : 100.0}, 800});
  }
  const std::vector<SiteLoad> loads = {crate(700, {}, {}), crate(400, {}, {}), crate(300, {}, {})};
  const auto stowage = stow_all(m, loads);
  ASSERT_TRUE(stowage.complete);
  ASSERT_EQ(stowage.place.size(), 3U);
  double best = -10;
  std::vector<int> order = {0, 1, 2, 3, 4};
  do {
    bool fits = true;
    std::vector<balance::MassPoint> points{m.own};
    for (std::size_t i = 0; i < 3; ++i) {
      const auto& place = m.stow[static_cast<std::size_t>(order[i])];
      if (place.room_mm.z_mm < 40) fits = false;
      points.push_back({loads[i].mass_g, place.at + balance::Vec3{0, 0, 20}});
    }
    if (fits) best = std::max(best, least_margin(tipping_polygon(m.driving), balance::combined(points).at).angle_rad);
  } while (std::next_permutation(order.begin(), order.end()));
  EXPECT_NEAR(stowage.angle_rad, best, 1e-12);
  EXPECT_EQ(stowage.keeps_balance, best >= 0.5);
  // A search cut short says so; what does not fit is told.
  EXPECT_FALSE(stow_all(m, loads, 3).complete);
  // Dead ends count as well, so that loads which never all fit end in time; more loads than places end at once.
  auto wide = m;
  wide.stow.assign(12, m.stow[0]);
  std::vector<SiteLoad> many(12, crate(10, {}, {}));
  many.back().size_mm = {500, 500, 500};  // fits nowhere, found out last
  const auto hopeless = stow_all(wide, many, 1000);
  EXPECT_FALSE(hopeless.complete);
  EXPECT_TRUE(hopeless.place.empty());
  many.push_back(many.front());
  EXPECT_TRUE(stow_all(wide, many, 1000).complete);
  EXPECT_TRUE(stow_all(m, {crate(801, {}, {})}).place.empty());
}
