// Covers lattice: offered distances against hand-computed classics and a brute-force scan.
#include "lattice/lattice.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <set>
#include <vector>

#include "lattice/cell_set.h"
#include "lattice/space.h"

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

TEST(Space, PointsAreSortedOnceHoweverFarApart) {
  // The two ways inside, ticking off and sorting, against the library's sort.
  std::uint32_t state = 7;
  const auto next = [&](int range) {
    state = state * 1664525U + 1013904223U;  // Numerical Recipes' generator
    return static_cast<int>((state >> 8) % static_cast<std::uint32_t>(2 * range + 1)) - range;
  };
  for (const int range : {0, 1, 3, 20, 1000, 1'000'000}) {
    std::vector<lattice::Point3> points;
    for (int i = 0; i < 500; ++i) points.push_back({next(range), next(range), next(range)});
    points.push_back(points.front());
    const std::set<lattice::Point3> want(points.begin(), points.end());
    lattice::sort_once(points);
    EXPECT_EQ(points, std::vector<lattice::Point3>(want.begin(), want.end())) << range;
  }
  std::vector<lattice::Point3> none;
  lattice::sort_once(none);
  EXPECT_TRUE(none.empty());
}

TEST(Space, CellsTickedInColumnsAreThoseOfASet) {
  // Columns longer than a word and ends at its borders, against the library's set.
  for (const int depth : {1, 63, 64, 65, 200}) {
    const lattice::Box3 bounds{{-3, 2, -70}, {2, 6, -70 + depth}};
    lattice::CellSet cells(bounds);
    std::set<lattice::Point3> want;
    std::uint32_t state = 11;
    const auto next = [&](int most) {
      state = state * 1664525U + 1013904223U;  // Numerical Recipes' generator
      return static_cast<int>((state >> 8) % static_cast<std::uint32_t>(most));
    };
    for (int i = 0; i < 30; ++i) {
      const int x = -3 + next(5), y = 2 + next(4), from = -70 + next(depth), past = from + next(-70 + depth - from + 1);
      cells.add(x, y, from, past);
      for (int z = from; z < past; ++z) want.insert({x, y, z});
    }
    EXPECT_EQ(cells.cells(), std::vector<lattice::Point3>(want.begin(), want.end())) << depth;
  }
  EXPECT_TRUE(lattice::CellSet({{0, 0, 0}, {0, 5, 5}}).cells().empty());
}

TEST(Space, PointsAndBoxesAreToldInPitches) {
  EXPECT_EQ(lattice::pitches_text(lattice::Point3{6, 0, -9}), "(3, 0, -4.5)");
  EXPECT_EQ(lattice::pitches_text(lattice::Box3{{-12, -1, 0}, {12, 8, 18}}), "x -6 to 6, y -0.5 to 4, z 0 to 9");
}
