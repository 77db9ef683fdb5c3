// The moment about the luff pivot against hand computation and brute force over all postures.
#include "functions/luff/load_moment.h"

#include "balance/mass.h"
#include "brief/body_tree.h"
#include "functions/luff/fixture.h"

namespace functions::luff {
namespace {

using lift_fixture::crane;
using lift_fixture::kRad;

Wants wants_for(const brief::Brief& b, int body, double load_g, std::array<double, 3> at, int load_body) {
  Wants w;
  w.body = body;
  w.parent = b.bodies[static_cast<std::size_t>(body)].parent;
  w.low_rad = b.bodies[static_cast<std::size_t>(body)].joint.low_rad;
  w.high_rad = b.bodies[static_cast<std::size_t>(body)].joint.high_rad;
  w.load_g = load_g;
  w.load_at_mm = at;
  w.load_body = load_body;
  return w;
}

/// Moment about a body's pitch pivot with every joint at a given angle, from posed mass points in space.
double posed_moment(const brief::Brief& b, const Wants& w, const std::vector<double>& angle) {
  std::vector<balance::Body> bodies;
  for (std::size_t i = 0; i < b.bodies.size(); ++i) {
    const brief::Body& from = b.bodies[i];
    const brief::Vec3 above =
        from.parent < 0 ? brief::Vec3{} : b.bodies[static_cast<std::size_t>(from.parent)].joint.pivot_mm;
    balance::Body to;
    to.parent = from.parent;
    to.joint = from.joint.type == brief::Joint::Type::fixed ? balance::Joint::fixed : balance::Joint::turns;
    to.axis = from.joint.type == brief::Joint::Type::pitch ? balance::Vec3{0, -1, 0} : balance::Vec3{0, 0, 1};
    to.origin = {from.joint.pivot_mm.x_mm - above.x_mm, from.joint.pivot_mm.y_mm - above.y_mm,
                 from.joint.pivot_mm.z_mm - above.z_mm};
    to.angle_rad = angle[i];
    bodies.push_back(to);
  }
  const std::vector<balance::Pose> pose = balance::poses(bodies);
  const double pivot_x = pose[static_cast<std::size_t>(w.body)].t.x_mm;
  double sum_nmm = 0;
  const auto add = [&](std::size_t body, double mass_g, const brief::Vec3& at) {
    const brief::Vec3& p = b.bodies[body].joint.pivot_mm;
    const balance::Vec3 world = pose[body].apply({at.x_mm - p.x_mm, at.y_mm - p.y_mm, at.z_mm - p.z_mm});
    sum_nmm += mass_g * 1e-3 * 9.81 * (world.x_mm - pivot_x);
  };
  for (std::size_t i = 0; i < b.bodies.size(); ++i)
    if (hangs_on(b, static_cast<int>(i), w.body)) add(i, b.bodies[i].mass_g.nominal, b.bodies[i].centre_mm);
  add(static_cast<std::size_t>(w.load_body), w.load_g, {w.load_at_mm[0], w.load_at_mm[1], w.load_at_mm[2]});
  return sum_nmm;
}

TEST(LoadMoment, OneBodyIsWeightTimesHorizontalReach) {
  brief::Brief b = crane();
  b.bodies.pop_back();
  const Wants w = wants_for(b, 2, 250, {230, 0, 140}, 2);
  const MomentTable t = load_moments(b, w, 15);
  for (std::size_t i = 0; i < t.size(); ++i) {
    const double by_hand = (0.120 * 90 + 0.250 * 190) * 9.81 * std::cos(t.angle_rad[i]);
    EXPECT_NEAR(t.at[1].most_nmm[i], by_hand, 1e-9 * by_hand);
    EXPECT_NEAR(t.at[1].least_nmm[i], by_hand, 1e-9 * by_hand);
  }
  EXPECT_NEAR(t.at[1].weight_n, 0.370 * 9.81, 1e-12);
}

TEST(LoadMoment, FirstStageCarriesTheSecondAtItsWorst) {
  // By hand: boom 120 g at 90 mm; stick pivot at 180 mm, stick 60 g at 70 mm and load 200 g at 150 mm beyond it; the
  // stick swings -90 to 20 deg, so with the boom at t it is level for 0 <= t <= 90 deg (stick at -t) and reaches
  // furthest there; least at an end of its range.
  const brief::Brief b = crane();
  const Wants w = wants_for(b, 2, 200, {370, 0, 140}, 3);
  const MomentTable t = load_moments(b, w, 29);
  for (std::size_t i = 0; i < t.size(); ++i) {
    const double a = t.angle_rad[i];
    const double rigid = (0.120 * 90 + 0.260 * 180) * 9.81 * std::cos(a);
    const double stick = (0.060 * 70 + 0.200 * 150) * 9.81;
    EXPECT_NEAR(t.at[1].most_nmm[i], rigid + stick, 1e-9 * (rigid + stick));
    const double least = std::min(std::cos(a - 90 * kRad), std::cos(a + 20 * kRad));
    EXPECT_NEAR(t.at[1].least_nmm[i], rigid + stick * least, 1e-9 * (rigid + stick));
  }
}

TEST(LoadMoment, SecondStageTakesTheWorstOverTheFirstStagesRange) {
  const brief::Brief b = crane();
  const Wants w = wants_for(b, 3, 200, {370, 0, 140}, 3);
  const MomentTable t = load_moments(b, w, 23);
  const double stick = (0.060 * 70 + 0.200 * 150) * 9.81;
  for (std::size_t i = 0; i < t.size(); ++i) {
    // Level somewhere in the boom's 0 to 70 deg when the stick stands between -70 and 0 deg.
    const double a = t.angle_rad[i];
    const double most = a < -70 * kRad ? std::cos(a + 70 * kRad) : a > 0 ? std::cos(a) : 1.0;
    const double least = std::min(std::cos(a), std::cos(a + 70 * kRad));
    EXPECT_NEAR(t.at[1].most_nmm[i], stick * most, 1e-4 * stick);
    EXPECT_NEAR(t.at[1].least_nmm[i], stick * least, 1e-9 * stick);
  }
  EXPECT_NEAR(t.at[1].most_parent_rad.back(), 0, 1e-12);
}

TEST(LoadMoment, EqualsBruteForceOverPostureWithASlewingGrab) {
  brief::Brief b = crane();
  b.bodies.push_back({"rotator",
                      3,
                      {brief::Joint::Type::slew, {360, 0, 130}, -100 * kRad, 150 * kRad},
                      base::Triple::exact(45),
                      false,
                      {372, 9, 110},
                      {}});
  b.bodies.push_back({"bucket",
                      4,
                      {brief::Joint::Type::pitch, {370, 10, 100}, -60 * kRad, 40 * kRad},
                      base::Triple::exact(35),
                      false,
                      {395, 12, 90},
                      {}});
  const Wants w = wants_for(b, 2, 150, {400, 12, 85}, 5);
  const MomentTable t = load_moments(b, w, 8);
  for (std::size_t i = 0; i < t.size(); ++i) {
    double most = -1e300, least = 1e300;
    for (int stick = 0; stick <= 55; ++stick) {
      for (int rotator = 0; rotator <= 50; ++rotator) {
        for (int bucket = 0; bucket <= 25; ++bucket) {
          const double m = posed_moment(b, w,
                                        {0, 0, t.angle_rad[i], (-90 + 2.0 * stick) * kRad,
                                         (-100 + 5.0 * rotator) * kRad, (-60 + 4.0 * bucket) * kRad});
          most = std::max(most, m);
          least = std::min(least, m);
        }
      }
    }
    // The grid of the brute force misses the true extreme by up to 1 - cos 2.5 deg = 0.1 % of each part.
    EXPECT_NEAR(t.at[1].most_nmm[i], most, 2e-3 * std::fabs(most));
    EXPECT_NEAR(t.at[1].least_nmm[i], least, 2e-3 * std::fabs(most));
    EXPECT_GE(t.at[1].most_nmm[i], most - 5e-4 * std::fabs(most));
    EXPECT_LE(t.at[1].least_nmm[i], least + 5e-4 * std::fabs(most));
  }
}

TEST(LoadMoment, EstimatedMassesScaleAndInterpolateOnTheSafeSide) {
  brief::Brief b = crane();
  b.bodies[3].mass_is_estimate = true;
  const Wants w = wants_for(b, 2, 0, {}, 3);
  const MomentTable t = load_moments(b, w, 15);
  EXPECT_TRUE(t.any_estimate);
  for (const double factor : {0.9, 0.94, 1.0, 1.07, 1.1}) {
    brief::Brief heavier = crane();
    heavier.bodies[3].mass_g = base::Triple::exact(60 * factor);
    const MomentTable exact = load_moments(heavier, w, 15);
    for (std::size_t i = 0; i < t.size(); ++i) {
      const MomentTable::Row row = t.row(i, factor);
      EXPECT_GE(row.most_nmm, exact.at[1].most_nmm[i] * (1 - 1e-12));
      EXPECT_LE(row.least_nmm, exact.at[1].least_nmm[i] + 1e-9);
      EXPECT_NEAR(row.most_nmm, exact.at[1].most_nmm[i], 1e-3 * exact.at[1].most_nmm[i]);
    }
    EXPECT_NEAR(t.weight_n(factor), (0.120 + 0.060 * factor) * 9.81, 1e-12);
  }
}

TEST(LoadMoment, CounterweightBehindThePivotMakesTheMomentChangeSign) {
  brief::Brief b = crane();
  b.bodies.pop_back();
  b.bodies[2].centre_mm = {30, 0, 200};  // behind and above the pivot: it tips back
  const Wants w = wants_for(b, 2, 40, {240, 0, 140}, 2);
  const MomentTable t = load_moments(b, w, 15);
  EXPECT_GT(t.at[1].most_nmm.front(), 0);
  EXPECT_LT(t.at[1].most_nmm.back(), 0);
}

}  // namespace
}  // namespace functions::luff
