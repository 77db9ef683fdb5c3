// Covers site_plan.h: loads against the chart's own rated loads, splitting, stowing, remedies that hold when they are
// done. Machine and figures invented.
#include "assessment/site_plan.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "assessment/internal.h"

using namespace assessment;

namespace {

/// A slewing crane with a hoist: 2000 g over 240 by 200 mm, a boom of 100 g that reaches 300 mm from the slewing axis.
struct Crane {
  std::shared_ptr<stock::Catalogue> catalogue = std::make_shared<stock::Catalogue>();
  brief::Brief brief;
  brief::Function hoist;
  candidate::Candidate candidate;

  Crane() {
    catalogue->system.pitch_mm = 8;
    brief.catalogue = catalogue;
    brief.stock = std::make_shared<stock::Stock>();
    brief::Body chassis, upper, boom;
    chassis.id = "chassis";
    chassis.mass_g = base::Triple::exact(2000);
    chassis.centre_mm = {0, 0, 50};
    upper.id = "upper";
    upper.parent = 0;
    upper.joint = {brief::Joint::Type::slew, {0, 0, 90}, -std::numbers::pi, std::numbers::pi};
    upper.mass_g = base::Triple::exact(1);
    upper.centre_mm = {0, 0, 100};
    boom.id = "boom";
    boom.parent = 1;
    boom.joint = {brief::Joint::Type::pitch, {0, 0, 110}, 0, std::numbers::pi / 3};
    boom.mass_g = base::Triple::exact(100);
    boom.centre_mm = {150, 0, 110};
    brief.bodies = {chassis, upper, boom};
    brief.support.type = brief::Support::Type::wheels;
    brief.support.points_mm = {{-120, -100, 0}, {120, -100, 0}, {120, 100, 0}, {-120, 100, 0}};
    hoist.id = "winch";
    candidate.payloads = {{2, {300, 0, 110}, 100}};
    candidate.holdings = {{candidate::Holding::Limit::hoist, "rope", 2, {}, {12}, "force"}};
  }
  void load(const std::string& id, double mass_g, brief::Vec3 from, brief::Vec3 to, double least_part_g = 0) {
    brief::SiteLoad l;
    l.id = id;
    l.mass_g = mass_g;
    l.size_mm = {30, 20, 20};
    l.from_mm = from;
    l.to_mm = to;
    l.least_part_g = least_part_g;
    brief.site_loads.push_back(l);
  }
  [[nodiscard]] Assessment judge() const { return assess(brief, {{&hoist, &candidate}}, {}, {1, 10}); }
};

const Finding* find_code(const Assessment& a, const std::string& code) {
  for (const Finding& f : a.findings)
    if (f.code == code) return &f;
  return nullptr;
}

/// Worst rated load of the cells at a radius, any slewing angle, best posture.
double least_rated_g(const Lifting& l, double radius_mm) {
  double least = 1e9;
  for (std::size_t r = 0; r < l.radius_mm.size(); ++r) {
    const double step = l.radius_mm[1] - l.radius_mm[0];
    if (std::fabs(l.radius_mm[r] - radius_mm) > step) continue;
    for (std::size_t s = 0; s < l.slew_deg.size(); ++s) least = std::min(least, l.at(0, 0, s, r).rated_g);
  }
  return least;
}

}  // namespace

TEST(SitePlan, WithinTheChartALoadGoesFromWhereItStands) {
  Crane w;
  w.load("crate", 150, {220, 0, 0}, {0, 220, 10});
  const Assessment a = w.judge();
  ASSERT_TRUE(a.site.judged) << a.site.why_not;
  ASSERT_EQ(a.site.loads.size(), 1u);
  const SitePlan::Load& l = a.site.loads[0];
  EXPECT_TRUE(l.possible);
  EXPECT_EQ(l.parts, 1);
  EXPECT_EQ(l.pick.place, "where it stands");
  EXPECT_NEAR(l.pick.radius_mm, 220, 1e-9);
  EXPECT_NEAR(l.set.slew_deg, 90, 1e-9);
  EXPECT_GE(l.pick.rated_g, least_rated_g(a.lifting, 220) - 1e-6);
  EXPECT_GE(l.set.rated_g, 150);
  EXPECT_EQ(find_code(a, "site.load_stays"), nullptr);
}

TEST(SitePlan, TooHeavyIsSplitIntoTheFewestParts) {
  Crane w;
  w.load("stone", 3000, {220, 0, 0}, {0, 220, 0}, 50);
  const Assessment a = w.judge();
  const SitePlan::Load& l = a.site.loads[0];
  ASSERT_TRUE(l.possible);
  EXPECT_NE(find_code(a, "site.load_split"), nullptr);
  const double least_g = std::min(l.best_pick_g, l.best_set_g);
  EXPECT_EQ(l.parts, static_cast<int>(std::ceil(3000 / least_g - 1e-9)));
  EXPECT_NEAR(l.part_g, 3000.0 / l.parts, 1e-9);
}

TEST(SitePlan, WhatCannotBeDoneComesWithTriedRemedies) {
  Crane w;
  w.load("far", 150, {500, 0, 0}, {0, 220, 0});
  w.load("whole", 3000, {220, 0, 0}, {0, 220, 0});
  const Assessment a = w.judge();
  EXPECT_FALSE(a.site.loads[0].possible);
  EXPECT_EQ(a.site.loads[0].stop, "out of reach");
  EXPECT_EQ(a.site.loads[0].end, "pick-up");
  EXPECT_NEAR(a.site.loads[0].pick.radius_mm, 500, 1e-9);
  EXPECT_LE(a.site.loads[0].pick.reach_high_mm, 300 + 1e-6);
  EXPECT_GT(a.site.loads[0].pick.reach_high_mm, 250);
  EXPECT_EQ(a.site.loads[1].end, "both ends");
  EXPECT_FALSE(a.site.loads[1].possible);
  int tried = 0;
  for (const Finding& f : a.findings) {
    if (f.code != "site.load_stays") continue;
    for (const Remedy& r : f.remedies) {
      ++tried;
      Crane done = w;
      std::erase_if(done.brief.site_loads,
                    [&](const brief::SiteLoad& l) { return f.text.find('"' + l.id + '"') == std::string::npos; });
      ASSERT_EQ(done.brief.site_loads.size(), 1u);
      if (r.text.find("split it into ") == 0) {
        done.brief.site_loads[0].least_part_g = 1;
        EXPECT_EQ(done.judge().site.loads[0].parts, std::stoi(r.text.substr(14)));
      } else if (r.text.find("no more than ") == 0) {
        done.brief.site_loads[0].mass_g = r.after;
      } else {
        double x = 0, y = 0;
        ASSERT_EQ(std::sscanf(r.text.c_str() + r.text.find('['), "[%lf, %lf]", &x, &y), 2) << r.text;
        done.brief.work_places = {{"there", x, y, 0, false}};
      }
      EXPECT_EQ(done.judge().site.loads[0].possible, r.enough) << r.text;
    }
  }
  EXPECT_GE(tried, 3);
}

// Neither place alone is moved to an end that both need: the two moved ways are one remedy, and it holds when done.
TEST(SitePlan, TwoPlacesAreMovedTogetherWhereOneIsNotEnough) {
  Crane w;
  w.load("drum", 150, {700, 0, 0}, {2600, 0, 0});
  w.brief.work_places = {{"here", 0, 0, 0, false}, {"there", 2000, 0, 0, false}};
  w.brief.stow_places = {{"deck", {-165, 0, 60}, {60, 60, 60}, 300}};
  const Assessment a = w.judge();
  ASSERT_FALSE(a.site.loads[0].possible);
  EXPECT_EQ(a.site.loads[0].end, "both ends");
  const Finding* f = find_code(a, "site.load_stays");
  ASSERT_NE(f, nullptr);
  EXPECT_NE(f->text.find("pick-up"), std::string::npos) << f->text;
  ASSERT_FALSE(f->remedies.empty());
  const std::string& text = f->remedies[0].text;
  EXPECT_TRUE(f->remedies[0].enough);
  Crane done = w;
  std::size_t at = 0;
  for (brief::WorkPlace& place : done.brief.work_places) {
    at = text.find('"' + place.id + '"', at);
    ASSERT_NE(at, std::string::npos) << text;
    ASSERT_EQ(std::sscanf(text.c_str() + text.find('[', at), "[%lf, %lf]", &place.x_mm, &place.y_mm), 2) << text;
  }
  EXPECT_TRUE(done.judge().site.loads[0].possible) << text;
}

TEST(SitePlan, CarriedLoadsStandWhereTheBalanceIsKept) {
  Crane w;
  w.load("drum", 200, {220, 0, 0}, {1000, 0, 0});
  w.brief.work_places = {{"here", 0, 0, 0, false}, {"there", 800, 0, 0, false}};
  w.brief.stow_places = {{"nose", {165, 0, 60}, {60, 60, 60}, 300}, {"deck", {-165, 0, 60}, {60, 60, 60}, 300}};
  const Assessment a = w.judge();
  const SitePlan::Load& l = a.site.loads[0];
  ASSERT_TRUE(l.possible) << l.stop;
  EXPECT_TRUE(l.carried);
  EXPECT_EQ(l.pick.place, "here");
  EXPECT_EQ(l.set.place, "there");
  // Closed form: the boom points forward; with the drum on the deck the centre of all is at x, z.
  const double at_x = l.stow_place == "deck" ? -165 : 165;
  const double all = 2000 + 1 + 100 + 200, x = (100 * 150 + 200 * at_x) / all,
               z = (2000 * 50 + 1 * 100 + 100 * 110 + 200 * 70) / all;
  EXPECT_NEAR(l.driving_deg, std::min(std::atan2(120 - std::fabs(x), z), std::atan2(100, z)) * 180 / std::numbers::pi,
              1e-6);
}
