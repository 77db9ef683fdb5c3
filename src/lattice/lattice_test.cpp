// Covers lattice: offered distances against hand-computed classics and a brute-force scan.
#include "lattice/lattice.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <set>
#include <vector>

#include "lattice/cells.h"
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

TEST(Space, CellsAreSortedOnceHoweverFarApart) {
  // Against the library's set.
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
    const lattice::Cells cells(points);
    EXPECT_EQ(cells.list(), std::vector<lattice::Point3>(want.begin(), want.end())) << range;
    EXPECT_EQ(cells.size(), want.size()) << range;
  }
  EXPECT_TRUE(lattice::Cells().empty());
  EXPECT_EQ(lattice::Cells().begin(), lattice::Cells(std::vector<lattice::Point3>{}).end());
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
      const lattice::Box3 box{{x, y, from}, {x + next(3 - x), y + next(7 - y), past}};
      cells.add(box);
      for (int u = x; u < box.high.x_hp; ++u)
        for (int v = y; v < box.high.y_hp; ++v)
          for (int z = from; z < past; ++z) want.insert({u, v, z});
    }
    const lattice::Cells got = cells.cells();
    EXPECT_EQ(got.list(), std::vector<lattice::Point3>(want.begin(), want.end())) << depth;
    EXPECT_EQ(got.size(), want.size());
  }
  EXPECT_TRUE(lattice::CellSet({{0, 0, 0}, {0, 5, 5}}).cells().empty());
}

TEST(Space, CellsOfRunsAreAskedAsASetIs) {
  // Runs that touch, overlap and repeat in four columns, against the library's set.
  std::uint32_t state = 5;
  const auto next = [&](int most) {
    state = state * 1664525U + 1013904223U;  // Numerical Recipes' generator
    return static_cast<int>((state >> 8) % static_cast<std::uint32_t>(most));
  };
  int among = 0;
  for (int round = 0; round < 300; ++round) {
    std::array<std::set<lattice::Point3>, 2> want;
    std::array<lattice::Cells, 2> cells;
    for (std::size_t k = 0; k < 2; ++k) {
      std::vector<lattice::Cells::Run> runs;
      for (int i = k == 0 ? 1 + next(3) : 2 + next(8); i > 0; --i) {
        runs.push_back({{next(2), next(2), next(8)}, 1 + next(5)});
        for (int z = 0; z < runs.back().length; ++z)
          want[k].insert({runs.back().low.x_hp, runs.back().low.y_hp, runs.back().low.z_hp + z});
      }
      cells[k] = lattice::Cells(runs);
      EXPECT_EQ(cells[k].list(), std::vector<lattice::Point3>(want[k].begin(), want[k].end()));
      EXPECT_EQ(cells[k], lattice::Cells(cells[k].list()));
      for (std::size_t r = 1; r < cells[k].runs().size(); ++r) {
        const lattice::Cells::Run &below = cells[k].runs()[r - 1], &run = cells[k].runs()[r];
        EXPECT_FALSE(below.low.x_hp == run.low.x_hp && below.low.y_hp == run.low.y_hp &&
                     below.low.z_hp + below.length >= run.low.z_hp)
            << "runs are the longest there are";
      }
      for (int x = -1; x < 3; ++x)
        for (int y = -1; y < 3; ++y)
          for (int z = -1; z < 14; ++z) EXPECT_EQ(cells[k].has({x, y, z}), want[k].count({x, y, z}) > 0);
    }
    const bool expected = std::includes(want[1].begin(), want[1].end(), want[0].begin(), want[0].end());
    EXPECT_EQ(cells[0].among(cells[1]), expected) << round;
    among += expected ? 1 : 0;
  }
  EXPECT_GT(among, 20);
  EXPECT_TRUE(lattice::Cells().among({}));
}

TEST(Space, PointsAndBoxesAreToldInPitches) {
  EXPECT_EQ(lattice::pitches_text(lattice::Point3{6, 0, -9}), "(3, 0, -4.5)");
  EXPECT_EQ(lattice::pitches_text(lattice::Box3{{-12, -1, 0}, {12, 8, 18}}), "x -6 to 6, y -0.5 to 4, z 0 to 9");
}
