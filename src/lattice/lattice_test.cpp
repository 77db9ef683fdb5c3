// Covers lattice: offered distances against hand-computed classics and a brute-force scan.
#include "lattice/lattice.h"

#include <gtest/gtest.h>

#include <cmath>

using lattice::offsets_near;

TEST(Lattice, ModuleOneClassicsStandOnWholeAndHalfPitches) {
  // Centre distance m(z1+z2)/2 of ISO 21771 with m = 1 mm on an 8 mm pitch.
  struct Case {
    int z1, z2, dx_hp;
  };
  for (const Case c : {Case{8, 24, 4}, Case{12, 20, 4}, Case{16, 24, 5}, Case{20, 28, 6}, Case{8, 40, 6}}) {
    const auto found = offsets_near((c.z1 + c.z2) / 2.0, 0.1, 8);
    ASSERT_FALSE(found.empty());
    EXPECT_EQ(found.front().dx_hp, c.dx_hp);
    EXPECT_TRUE(found.front().straight());
  }
}

TEST(Lattice, ObliqueOffsetsCountOnlyInsideTheTolerance) {
  // (3,1) half-pitches of 4 mm: 4*sqrt(10) = 12.649 mm.
  EXPECT_EQ(offsets_near(12.649, 0.01, 8).size(), 1U);
  EXPECT_TRUE(offsets_near(12.8, 0.1, 8).empty());
}

TEST(Lattice, FindsExactlyWhatABruteForceScanFinds) {
  for (double wanted = 4; wanted < 60; wanted += 0.7) {
    std::size_t count = 0;
    for (int dx = 0; dx < 40; ++dx) {
      for (int dz = 0; dz <= dx; ++dz) {
        if (std::fabs(std::hypot(4.0 * dx, 4.0 * dz) - wanted) <= 0.2003) ++count;
      }
    }
    EXPECT_EQ(offsets_near(wanted, 0.2003, 8).size(), count) << wanted;
  }
}

TEST(Lattice, NearestOffsetIsNeverFurtherThanAQuarterPitch) {
  for (double wanted = 0.1; wanted < 50; wanted += 0.13) {
    EXPECT_LE(std::fabs(lattice::nearest_offset(wanted, 12.7).distance_mm - wanted), 12.7 / 4 + 1e-9);
  }
}
