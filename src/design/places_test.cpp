// Covers design/places: the few places tell exactly the same pairs apart as all cells do, by brute force.
#include "design/places.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace {

struct Random {
  std::uint64_t state;
  int below(int n) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<int>((state >> 33) % static_cast<std::uint64_t>(n));
  }
};

brief::Brief two_bodies() {
  brief::Brief b;
  b.bodies.resize(2);
  b.bodies[0].id = "chassis";
  b.bodies[1].id = "boom";
  return b;
}

/// A box of cells on one of two bodies, sometimes on both, sometimes none.
candidate::Candidate random_candidate(Random& rng) {
  candidate::Candidate c;
  if (rng.below(8) == 0) return c;
  const int first = rng.below(2), last = first + (rng.below(4) == 0 && first == 0 ? 1 : 0);
  for (int body = first; body <= last; ++body) {
    const int x = rng.below(9), y = rng.below(4), wide = 1 + rng.below(4);
    std::vector<lattice::Point3> cells;
    for (int i = 0; i < wide; ++i) {
      for (int k = 0; k < 2; ++k) cells.push_back({x + i, y + k, 0});
    }
    c.cells.push_back({body, lattice::Cells(cells)});
  }
  return c;
}

bool clash(const candidate::Candidate& a, const candidate::Candidate& b) {
  for (const candidate::BodyCells& x : a.cells) {
    for (const candidate::BodyCells& y : b.cells) {
      if (x.body != y.body) continue;
      for (const lattice::Point3& p : x.cells) {
        if (std::find(y.cells.begin(), y.cells.end(), p) != y.cells.end()) return true;
      }
    }
  }
  return false;
}

bool share(const std::vector<int>& a, const std::vector<int>& b) {
  return std::any_of(a.begin(), a.end(), [&](int x) { return std::find(b.begin(), b.end(), x) != b.end(); });
}

}  // namespace

TEST(Places, TellApartExactlyTheCandidatesThatClash) {
  const brief::Brief brief = two_bodies();
  int clashing = 0, free = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    Random rng{seed};
    std::vector<design::FunctionResult> functions(static_cast<std::size_t>(2 + rng.below(3)));
    for (design::FunctionResult& f : functions) {
      for (int i = 1 + rng.below(12); i > 0; --i) f.proposal.candidates.push_back(random_candidate(rng));
    }
    const design::Places places = design::places_of(brief, functions);
    for (std::size_t f = 0; f < functions.size(); ++f) {
      ASSERT_EQ(places.of[f].size(), functions[f].proposal.candidates.size());
      for (std::size_t c = 0; c < places.of[f].size(); ++c) {
        EXPECT_TRUE(std::is_sorted(places.of[f][c].begin(), places.of[f][c].end()));
        for (std::size_t g = f + 1; g < functions.size(); ++g) {
          for (std::size_t d = 0; d < places.of[g].size(); ++d) {
            const bool same = clash(functions[f].proposal.candidates[c], functions[g].proposal.candidates[d]);
            EXPECT_EQ(share(places.of[f][c], places.of[g][d]), same) << seed;
            ++(same ? clashing : free);
          }
        }
      }
    }
  }
  EXPECT_GT(clashing, 1000);
  EXPECT_GT(free, 1000);
}

TEST(Places, AreTheSameFromAnyNumberOfThreads) {
  // Solids of a few thousand cells, as real candidates are: small ones are not divided.
  Random rng{7};
  std::vector<design::FunctionResult> functions(3);
  for (design::FunctionResult& f : functions) {
    for (int i = 0; i < 25; ++i) {
      const int body = rng.below(2);
      std::vector<lattice::Cells::Run> runs;
      const int x0 = rng.below(60), y0 = rng.below(10);
      for (int x = 0; x < 20; ++x) {
        for (int y = 0; y < 10; ++y) runs.push_back({{x0 + x, y0 + y, 0}, 16});
      }
      f.proposal.candidates.emplace_back().cells = {{body, lattice::Cells(std::move(runs))}};
    }
  }
  base::RunControl control;
  const design::Places one = design::places_of(two_bodies(), functions, control);
  ASSERT_GT(one.names.size(), 10U);
  for (const int jobs : {2, 3, 7}) {
    control.jobs = jobs;
    const design::Places more = design::places_of(two_bodies(), functions, control);
    EXPECT_EQ(more.names, one.names) << jobs;
    EXPECT_EQ(more.of, one.of) << jobs;
  }
}

TEST(Places, AreNamedByBodyAndHole) {
  std::vector<design::FunctionResult> functions(2);
  for (design::FunctionResult& f : functions) {
    f.proposal.candidates.resize(1);
    f.proposal.candidates[0].cells = {{1, lattice::Cells(std::vector<lattice::Point3>{{6, 0, -9}, {7, 0, -9}})}};
  }
  const design::Places places = design::places_of(two_bodies(), functions);
  ASSERT_EQ(places.names.size(), 1U) << "cells with the same users are one place";
  EXPECT_EQ(places.names[0], "boom at (3, 0, -4.5) p");
}
