// Covers the wind-up of long axles: published twist, a frame of the same axle as second route, play and shares.
#include "structure/wind_up.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "base/check.h"
#include "structure/frame.h"
#include "structure/play.h"

using namespace structure;  // NOLINT: a test of one namespace

TEST(WindUp, PublishedTwistInDegrees) {
  // STRUCT-08: T = 50 N mm, L = 100 mm, G = 1000 MPa; round 5 mm 4.669 deg (0.1 %), cross t/w = 0.5 6.892 deg (0.4 %).
  EXPECT_NEAR(wind_up({{"axle", {Form::round, 5}, 100, 1000, 50}}, {}).total_deg, 4.669, 4.7e-3);
  EXPECT_NEAR(wind_up({{"axle", {Form::cross, 5, 2.5}, 100, 1000, 50}}, {}).total_deg, 6.892, 2.8e-2);
}

TEST(WindUp, SegmentsWithOutletsMatchAFrame) {
  // 80 N mm come in, 30 go out after 60 mm, the rest after another 45 mm of thicker axle.
  const Section thin{Form::cross, 4.8, 1.8}, thick{Form::round, 6};
  const WindUp w = wind_up({{"thin", thin, 60, 950, 80}, {"thick", thick, 45, 1100, 50}}, {});
  Frame f;
  f.nodes = {{"in", {0, 0, 0}, kFixed}, {"outlet", {60, 0, 0}, {}}, {"out", {105, 0, 0}, {}}};
  f.members = {{"thin", 0, 1, bar_section(thin), {2600, 950}}, {"thick", 1, 2, bar_section(thick), {2900, 1100}}};
  Loads l;
  l.nodes = {{1, {0, 0, 0, 30, 0, 0}}, {2, {0, 0, 0, 50, 0, 0}}};
  EXPECT_NEAR(w.twist_rad, FrameModel(f).solve(l).displacement[2][3], 1e-12);
  ASSERT_EQ(w.sources.size(), 2U);
  EXPECT_EQ(w.sources[0].name, "thin");
  EXPECT_NEAR(w.sources[0].share + w.sources[1].share, 1, 1e-12);
}

TEST(WindUp, PlayAddsToEitherSideAndTwiceOnReversal) {
  const Section axle{Form::cross, 4.8, 1.8};
  const double mesh = backlash_turn_rad(0.2, 12);
  EXPECT_NEAR(mesh, 0.2 / 24, 1e-15);
  const std::vector<AxleJoint> joints{{"joiner", 0.02}, {"mesh", mesh}};
  const WindUp plus = wind_up({{"axle", axle, 120, 1000, 40}}, joints),
               minus = wind_up({{"axle", axle, 120, 1000, -40}}, joints);
  EXPECT_NEAR(plus.play_rad, 0.02 + mesh, 1e-15);
  EXPECT_DOUBLE_EQ(plus.total_rad, minus.total_rad);
  // From one sense of the torque to the other the lag goes from +total to -total.
  EXPECT_NEAR(plus.reversal_rad, (plus.twist_rad + plus.play_rad) - (minus.twist_rad - minus.play_rad), 1e-15);
  EXPECT_NEAR(plus.total_deg, plus.total_rad * 180 / std::numbers::pi, 1e-12);
  double sum = 0;
  for (const WindUpSource& s : plus.sources) sum += s.share;
  EXPECT_NEAR(sum, 1, 1e-12);
  // A mesh before a reduction of 1:4 counts a quarter at the output.
  EXPECT_NEAR(train_play_rad({{0.02, -0.25}, {0.004, 1}}), 0.009, 1e-15);
}

// Second route: an arm w long and t thick in a slot t + c wide turns until a corner touches,
// w/2 sin a + t/2 cos a = (t + c)/2, solved by bisection.
TEST(WindUp, AJoinerTurnsUntilTheTipsOfTheArmsTouch) {
  const double w = 4.8, t = 1.8, c = 0.1;
  double low = 0, high = 0.2;
  for (int i = 0; i < 60; ++i) {
    const double a = (low + high) / 2;
    (w / 2 * std::sin(a) + t / 2 * std::cos(a) < (t + c) / 2 ? low : high) = a;
  }
  EXPECT_NEAR(joiner_turn_rad(c, w), 2 * low, 0.01 * 2 * low);
}

TEST(WindUp, SegmentsAgainstEachOtherShowNegativeShares) {
  const WindUp w = wind_up({{"a", {Form::round, 5}, 100, 1000, 50}, {"b", {Form::round, 5}, 40, 1000, -50}}, {});
  EXPECT_GT(w.sources[0].share, 1);
  EXPECT_LT(w.sources[1].share, 0);
  EXPECT_NEAR(w.sources[0].share + w.sources[1].share, 1, 1e-12);
  EXPECT_THROW((void)wind_up({}, {{"joint", -0.1}}), base::InternalFault);
}
