// Drum and tackle against published cases, closed forms and turn-by-turn counting.
#include "functions/hoist/reeving.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace functions::hoist {
namespace {

TEST(Reeving, OneSheaveIsThePulleyOfBeerAndJohnston) {
  // FRIC-05: pulley 4 in on a 2 in shaft, mu 0.20, load 500 lb: raise 611.1 lb, hold 409.1 lb. Beer & Johnston, Vector
  // Mechanics for Engineers: Statics, friction-circle sample problem (from memory, recomputed).
  const double e = sheave_efficiency(4, 2, 0.20);
  EXPECT_NEAR(500 * raising_pull_share(1, 1, e), 611.1, 0.1);
  EXPECT_NEAR(500 * holding_pull_share(1, 1, e), 409.1, 0.1);
}

TEST(Reeving, WithoutFrictionThePullIsTheLoadOverTheFalls) {
  for (int falls = 1; falls <= 4; ++falls) {
    EXPECT_NEAR(raising_pull_share(falls, 3, 1), 1.0 / falls, 1e-15);
    EXPECT_NEAR(holding_pull_share(falls, 3, 1), 1.0 / falls, 1e-15);
  }
}

TEST(Reeving, TackleFollowsDin15020) {
  // DIN 15020-1 (from memory): tackle efficiency (1 - e^n)/(n (1 - e)), times e per lead sheave.
  const double e = 0.9;
  for (int falls = 1; falls <= 4; ++falls) {
    const double tackle = (1 - std::pow(e, falls)) / (falls * (1 - e));
    for (int lead = 0; lead <= 2; ++lead)
      EXPECT_NEAR(raising_pull_share(falls, lead, e), 1 / (falls * tackle * std::pow(e, lead)), 1e-12);
  }
  EXPECT_LT(holding_pull_share(3, 1, e), raising_pull_share(3, 1, e));
  EXPECT_EQ(sheave_count(4, 1), 4);
  EXPECT_EQ(sheave_count(1, 0), 0);
}

TEST(Reeving, LayersEqualWindingTurnByTurn) {
  const stock::Drum drum{9, 34, 11};
  for (const double rope_mm : {0.7, 0.9, 1.5, 2.0}) {
    for (double length_mm = 50; length_mm <= 1500; length_mm += 145) {
      int layer = 0, turns_left = 0;
      double laid_mm = 0;
      while (laid_mm < length_mm) {
        if (turns_left == 0) {
          ++layer;
          turns_left = static_cast<int>(11 / rope_mm + 1e-9);
        }
        laid_mm += std::numbers::pi * (9 + (2 * layer - 1) * rope_mm);
        --turns_left;
      }
      // Flange 34, core 9: room for so many layers with 1.5 ropes of flange left.
      int most = 0;
      while (9 + 2 * (most + 1) * rope_mm + 3 * rope_mm <= 34 + 1e-9) ++most;
      const Winding w = wind(drum, rope_mm, length_mm);
      EXPECT_EQ(w.most_layers, most);
      EXPECT_EQ(w.fits(), layer <= most) << rope_mm << " " << length_mm;
      if (w.fits()) {
        EXPECT_EQ(w.layers, layer);
        EXPECT_NEAR(w.outer_diameter_mm, 9 + (2 * layer - 1) * rope_mm, 1e-12);
        EXPECT_GE(w.capacity_mm, length_mm);
      }
    }
  }
}

TEST(Reeving, ARopeThickerThanTheDrumIsWideDoesNotFit) {
  EXPECT_FALSE(wind({8, 30, 3}, 4, 100).fits());
  EXPECT_FALSE(wind({8, 9, 20}, 1, 10).fits());
}

}  // namespace
}  // namespace functions::hoist
