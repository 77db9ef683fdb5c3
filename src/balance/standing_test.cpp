// Covers support states: crawler pressure against strip-footing formulas, rockers against moment balances, feet on
// uneven heights against every set of touching contacts, uneven ground, slopes, mirror images.
#include "balance/standing.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <numbers>
#include <optional>

#include "base/check.h"
#include "base/triple.h"

using balance::Point2;
using balance::Rocker;
using balance::Slope;
using balance::Support;
using balance::SupportState;
using balance::Vec3;

namespace {

constexpr double kPi = std::numbers::pi;

Support wheel(double x, double y, double proud = 0, double stiffness = 50) {
  return {"wheel", {x, y}, {x, y}, 8, 6, stiffness, proud};
}
Support crawler(double y) {
  return {"crawler", {-80, y}, {80, y}, 15, 0, 200, 0};
}
SupportState on_tracks() {
  return {"on tracks", {crawler(60), crawler(-60)}, {}};
}

/// Eight wheels a side at 40 mm, 180 mm apart, in pairs when `rocking`; a block under the left front wheel.
SupportState many_wheels(bool rocking, double block_mm) {
  SupportState s{"wheels", {}, {}};
  for (const double y : {90.0, -90.0}) {
    for (int i = 0; i < 8; ++i) s.supports.push_back(wheel(40 * i, y, 0, 1e4));
  }
  s.supports[7].proud_mm = block_mm;
  if (!rocking) return s;
  for (int k = 0; k < 8; ++k) {
    const Point2 a = s.supports[static_cast<std::size_t>(2 * k)].from;
    s.rockers.push_back({"pair", 2 * k, 2 * k + 1, {a.x_mm + 20, a.y_mm, 20}});
  }
  return s;
}

double heaviest(const balance::Standing& standing) {
  double most = 0;
  for (const auto& s : standing.supports) most = std::max(most, s.load_n);
  return most;
}

/// Mirrored left to right.
SupportState mirrored(SupportState s) {
  for (Support& p : s.supports) {
    p.from.y_mm = -p.from.y_mm;
    p.to.y_mm = -p.to.y_mm;
  }
  for (Rocker& r : s.rockers) r.pivot.y_mm = -r.pivot.y_mm;
  return s;
}

/// Feet at heights: every subset as the touching one; exact springs there, a gap at all others.
std::optional<std::vector<double>> enumerated(const std::vector<Support>& feet, Point2 p, double weight) {
  for (unsigned set = 1; set < (1U << feet.size()); ++set) {
    Eigen::Matrix3d matrix = Eigen::Matrix3d::Zero();
    Eigen::Vector3d right(weight, 0, 0);
    const auto row = [&](const Support& f) {
      return Eigen::Vector3d(1, (f.from.x_mm - p.x_mm) / 100, (f.from.y_mm - p.y_mm) / 100);
    };
    for (std::size_t i = 0; i < feet.size(); ++i) {
      if (!(set >> i & 1U)) continue;
      matrix += feet[i].stiffness_n_per_mm * row(feet[i]) * row(feet[i]).transpose();
      right -= feet[i].stiffness_n_per_mm * feet[i].proud_mm * row(feet[i]);
    }
    const Eigen::FullPivLU<Eigen::Matrix3d> lu(matrix);
    if (lu.rank() < 3) continue;
    const Eigen::Vector3d settling = lu.solve(right);
    std::vector<double> loads(feet.size(), 0);
    bool good = true;
    for (std::size_t i = 0; i < feet.size(); ++i) {
      const double push = feet[i].stiffness_n_per_mm * (row(feet[i]).dot(settling) + feet[i].proud_mm);
      const bool touches = (set >> i & 1U) != 0;
      if (touches) loads[i] = push;
      if (touches ? push < -1e-9 : push > 1e-9) good = false;
    }
    if (good) return loads;
  }
  return std::nullopt;
}

}  // namespace

TEST(Standing, TwoCrawlersPressEvenlyUnderACentredMachine) {
  // VEH-08: p = W/(2 b l), recomputed; 1e-4 relative.
  const auto s = stand(on_tracks(), 20, {0, 0, 50});
  ASSERT_TRUE(s.stands);
  for (const auto& track : s.supports) {
    EXPECT_NEAR(track.mean_kpa, 4.1667, 4e-4);
    EXPECT_NEAR(track.peak_kpa, 4.1667, 4e-4);
    EXPECT_NEAR(track.load_n, 10, 1e-9);
  }
}

TEST(Standing, CrawlerPressureIsATrapezoidThenATriangle) {
  // Rigid strip footing, any textbook of soil mechanics: N/l (1 +- 6 e/l), and 2 N/(3 (l/2 - e)) beyond e = l/6.
  const double n = 10, l = 160;
  for (const double e : {0.0, 10.0, 26.0, 40.0, 60.0}) {
    const double peak = e <= l / 6 ? n / l * (1 + 6 * e / l) : 2 * n / (3 * (l / 2 - e));
    const auto fixed = stand(on_tracks(), 2 * n, {e, 0, 50});
    EXPECT_NEAR(fixed.supports[0].peak_kpa, peak / 15 * 1e3, 0.03 * peak / 15 * 1e3) << e;  // 17 nodes
    EXPECT_NEAR(fixed.supports[0].load_n, n, 1e-6);
  }
}

TEST(Standing, RockingTrackFramesWithAFixedRearAxle) {
  // Tracks pinned 20 mm ahead of their middles, and a fixed rear axle: statics of two axles at x = 20 and -150.
  SupportState s = on_tracks();
  s.supports.push_back(wheel(-150, 50));
  s.supports.push_back(wheel(-150, -50));
  s.rockers = {{"left frame", 0, 0, {20, 60, 25}}, {"right frame", 1, 1, {20, -60, 25}}};
  ASSERT_EQ(fault_of(s), "");
  const auto on = stand(s, 34, {-30, 0, 40});
  ASSERT_TRUE(on.stands);
  EXPECT_NEAR(on.supports[0].load_n, 17.0 * 120 / 170, 1e-8);
  EXPECT_NEAR(on.supports[2].load_n, 17.0 * 50 / 170, 1e-8);
  const double mean = on.supports[0].load_n / 160;
  EXPECT_NEAR(on.supports[0].along_n_per_mm.front(), mean * (1 - 6 * 20 / 160.0), 1e-9);
  EXPECT_NEAR(on.supports[0].along_n_per_mm.back(), mean * (1 + 6 * 20 / 160.0), 1e-9);
  // Pinned 50 mm ahead: pressed over 3 (80 - 50) mm from the front end only.
  s.rockers[0].pivot.x_mm = s.rockers[1].pivot.x_mm = 50;
  const auto ahead = stand(s, 34, {-30, 0, 40});
  EXPECT_NEAR(ahead.supports[0].peak_kpa, 2 * ahead.supports[0].load_n / 90 / 15 * 1e3, 1e-9);
  EXPECT_EQ(ahead.supports[0].along_n_per_mm[6], 0);
  EXPECT_GT(ahead.supports[0].along_n_per_mm[8], 0);
}

TEST(Standing, NestedRockersShareByTheirArms) {
  // Walking beam over a bogie and a wheel on each side; pins at thirds and halves.
  SupportState s{"walking beams", {}, {}};
  for (const double y : {70.0, -70.0}) {
    for (const double x : {0.0, 40.0, 160.0}) s.supports.push_back(wheel(x, y));
  }
  s.supports.push_back(wheel(-120, 0));
  const int n = static_cast<int>(s.supports.size());
  s.rockers = {{"bogie left", 0, 1, {20, 70, 12}},
               {"bogie right", 3, 4, {20, -70, 12}},
               {"beam left", n, 2, {20 + 140 / 4.0, 70, 30}},
               {"beam right", n + 1, 5, {20 + 140 / 4.0, -70, 30}}};
  ASSERT_EQ(fault_of(s), "");
  const auto on = stand(s, 40, {20, 0, 60});
  ASSERT_TRUE(on.stands);
  const double beam = 40 * 140 / (120 + 55.0) / 2;  // moment about the lone wheel
  EXPECT_NEAR(on.rocker_load_n[2], beam, 1e-8);
  EXPECT_NEAR(on.rocker_load_n[0], beam * 3 / 4, 1e-8);
  EXPECT_NEAR(on.supports[0].load_n, beam * 3 / 8, 1e-8);
  EXPECT_NEAR(on.supports[2].load_n, beam / 4, 1e-8);
  EXPECT_EQ(on.touching, 7);
}

TEST(Standing, RockingPairsHalveRollAndPeakLoadOverABlock) {
  // Geometry: a pair lifts its pin by half the block; the heaviest corner then shares its load between two wheels.
  const Vec3 centre{150, 0, 50};  // ahead of the diagonal, so that the block carries
  const auto fixed = stand(many_wheels(false, 8), 28, centre), rocking = stand(many_wheels(true, 8), 28, centre);
  ASSERT_TRUE(fixed.stands && rocking.stands);
  EXPECT_NEAR(std::tan(fixed.roll_rad), 8 / 180.0, 1e-3);
  EXPECT_NEAR(rocking.roll_rad / fixed.roll_rad, 0.5, 0.01);
  EXPECT_NEAR(heaviest(rocking) / heaviest(fixed), 0.5, 0.01);
  EXPECT_GT(rocking.touching, fixed.touching);
  // On the flat both carry an eighth a pair.
  for (const auto& s : stand(many_wheels(true, 0), 28, {140, 0, 50}).supports) EXPECT_NEAR(s.load_n, 28 / 16.0, 1e-8);
}

TEST(Standing, FeetDrivenDownMatchTheEnumerationOfTouchingSets) {
  int lifted = 0;
  for (std::uint64_t round = 0; round < 200; ++round) {
    const auto draw = [&](std::uint64_t s) { return base::uniform_draw(21, s, round); };
    SupportState s{"feet down", {}, {}};
    for (std::uint64_t i = 0; i < 8; ++i) {
      const double x = (i % 4 < 2 ? -1 : 1) * (i < 4 ? 60 : 120 + 30 * draw(i));
      const double y = (i % 2 == 0 ? -1 : 1) * (i < 4 ? 50 : 90 + 20 * draw(20 + i));
      s.supports.push_back(wheel(x, y, i < 4 ? 0 : 1.5 * draw(40 + i), 20 + 60 * draw(60 + i)));
    }
    const Vec3 centre{-90 + 180 * draw(80), -70 + 140 * draw(81), 60};
    const auto on = stand(s, 30, centre);
    ASSERT_TRUE(on.stands) << round;
    const auto expected = enumerated(s.supports, {centre.x_mm, centre.y_mm}, 30);
    ASSERT_TRUE(expected) << round;
    for (std::size_t i = 0; i < 8; ++i) EXPECT_NEAR(on.supports[i].load_n, (*expected)[i], 1e-6) << round << " " << i;
    lifted += on.touching < 8;
  }
  EXPECT_GT(lifted, 150);
}

TEST(Standing, FeetWellDownLiftTheWheelsOffAndWidenThePolygon) {
  SupportState s{"feet down", {wheel(-60, 40), wheel(-60, -40), wheel(60, 40), wheel(60, -40)}, {}};
  for (const double x : {-100.0, 100.0}) {
    for (const double y : {-90.0, 90.0}) s.supports.push_back({"foot", {x, y}, {x, y}, 12, 12, 80, 3});
  }
  const auto on = stand(s, 30, {20, 10, 60});
  EXPECT_EQ(on.touching, 4);
  EXPECT_EQ(on.supports[0].load_n, 0);
  EXPECT_LT(on.sink_mm, 0);
  EXPECT_NEAR(on.margin_mm, 80, 1e-9);
  // Foot print 12 x 12 mm.
  EXPECT_NEAR(on.supports[7].mean_kpa, on.supports[7].load_n / 144 * 1e3, 1e-9);
}

TEST(Standing, RockersTipOverTheirPinsAndLowerPinsTipLater) {
  const auto bogies = [](double pin_height) {
    SupportState s{"bogies", {}, {}};
    for (const double y : {60.0, -60.0}) {
      for (const double x : {-80.0, -40.0, 40.0, 80.0}) s.supports.push_back(wheel(x, y));
    }
    s.rockers = {{"rl", 0, 1, {-60, 60, pin_height}},
                 {"fl", 2, 3, {60, 60, pin_height}},
                 {"rr", 4, 5, {-60, -60, pin_height}},
                 {"fr", 6, 7, {60, -60, pin_height}}};
    return s;
  };
  const auto hull = tipping_polygon(bogies(20));
  ASSERT_EQ(hull.size(), 4U);
  EXPECT_NEAR(hull[0].x_mm, -60, 1e-12);
  // Forwards: about the pin, at its height, tan = 60/(h - pin), unless the pairs themselves tip first, tan = 20/pin.
  // Sideways the wheels' line counts: tan = 60/h.
  for (const double pin : {0.0, 10.0, 20.0}) {
    const auto s = bogies(pin);
    EXPECT_NEAR(std::tan(tipping_slope_rad(s, {0, 0, 70}, 0)), std::min(60 / (70 - pin), 20 / pin), 1e-9);
    EXPECT_NEAR(std::tan(tipping_slope_rad(s, {0, 0, 70}, kPi / 2)), 60 / 70.0, 1e-9);
  }
  // Without rockers the whole wheelbase counts, by the closed form.
  SupportState fixed = bogies(0);
  fixed.rockers.clear();
  EXPECT_NEAR(std::tan(tipping_slope_rad(fixed, {0, 0, 70}, 0)), 80 / 70.0, 1e-12);
}

TEST(Standing, OnASlopeEachRockerIsInBalanceAboutItsPin) {
  // Second route: forces of the ground parallel to gravity, moments about the pin and about the whole machine's centre.
  SupportState s{"bogies", {}, {}};
  for (const double y : {60.0, -60.0}) {
    for (const double x : {-80.0, -40.0, 40.0, 80.0}) s.supports.push_back(wheel(x, y));
  }
  s.rockers = {{"rl", 0, 1, {-63, 60, 22}},
               {"fl", 2, 3, {60, 60, 22}},
               {"rr", 4, 5, {-63, -60, 22}},
               {"fr", 6, 7, {60, -60, 22}}};
  const Slope slope{0.3, 0.5};
  const Vec3 centre{5, -4, 65};
  const auto on = stand(s, 25, centre, slope);
  ASSERT_TRUE(on.stands);
  const double tx = std::tan(0.3) * std::cos(0.5), ty = std::tan(0.3) * std::sin(0.5);
  for (std::size_t k = 0; k < 4; ++k) {
    double moment = 0;
    for (std::size_t i = 2 * k; i < 2 * k + 2; ++i) {
      const double n = on.supports[i].load_n, along = -n * tx;  // the ground holds uphill
      moment += n * (s.supports[i].from.x_mm - s.rockers[k].pivot.x_mm) + along * s.rockers[k].pivot.z_mm;
    }
    EXPECT_NEAR(moment, 0, 1e-7) << k;
  }
  double sum = 0, mx = 0, my = 0;
  for (std::size_t i = 0; i < 8; ++i) {
    sum += on.supports[i].load_n;
    mx += on.supports[i].load_n * (s.supports[i].from.x_mm - centre.x_mm - centre.z_mm * tx);
    my += on.supports[i].load_n * (s.supports[i].from.y_mm - centre.y_mm - centre.z_mm * ty);
  }
  EXPECT_NEAR(sum, 25 * std::cos(0.3), 1e-7);
  EXPECT_NEAR(mx, 0, 1e-5);
  EXPECT_NEAR(my, 0, 1e-5);
}

TEST(Standing, MirroredMachinesHaveMirroredLoads) {
  for (const bool rocking : {false, true}) {
    const auto s = many_wheels(rocking, 3);
    const auto one = stand(s, 28, {100, 15, 50}, {0.1, 0.8});
    const auto other = stand(mirrored(s), 28, {100, -15, 50}, {0.1, -0.8});
    ASSERT_TRUE(one.stands && other.stands);
    for (std::size_t i = 0; i < one.supports.size(); ++i) {
      EXPECT_NEAR(one.supports[i].load_n, other.supports[i].load_n, 1e-7);
    }
    EXPECT_NEAR(one.roll_rad, -other.roll_rad, 1e-9);
    EXPECT_NEAR(one.pitch_rad, other.pitch_rad, 1e-9);
    for (double d = 0; d < 6; d += 0.7) {
      EXPECT_NEAR(tipping_slope_rad(s, {100, 15, 50}, d), tipping_slope_rad(mirrored(s), {100, -15, 50}, -d), 1e-9);
    }
  }
}

TEST(Standing, FaultsNameThePart) {
  SupportState s{"odd", {wheel(0, 0), wheel(40, 0)}, {{"left pair", 0, 3, {20, 0, 5}}}};
  EXPECT_NE(fault_of(s).find("left pair"), std::string::npos);
  s.rockers[0].b = 1;
  EXPECT_EQ(fault_of(s), "");
  s.rockers[0].pivot.x_mm = 50;
  EXPECT_NE(fault_of(s).find("beyond"), std::string::npos);
  EXPECT_THROW((void)stand(s, 1, {}), base::InternalFault);
  s.rockers[0] = {"own", 0, 0, {0, 0, 0}};
  EXPECT_NE(fault_of(s).find("two ends"), std::string::npos);
  EXPECT_FALSE(fault_of(SupportState{"none", {}, {}}).empty());
}
