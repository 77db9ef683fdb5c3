// Sets of functions: every answer is that of trying all choices, in whatever order the sets are asked for.
#include "allocation/together.h"

#include <gtest/gtest.h>

#include <numeric>

#include "allocation/columns.h"
#include "allocation/random_problem.h"

namespace allocation {
namespace {

using test::feasible_exhaustively;
using test::Random;
using test::random_problem;

/// Every function optional and unlocked, nothing kept back.
Problem optional(Problem p) {
  p.reserves.clear();
  for (Function& f : p.functions) {
    f.skip = Skip{};
    f.locked = -1;
  }
  return p;
}

Problem only(const Problem& p, unsigned set) {
  Problem out = p;
  out.functions.clear();
  for (std::size_t f = 0; f < p.functions.size(); ++f) {
    if ((set >> f & 1U) == 0) continue;
    out.functions.push_back(p.functions[f]);
    out.functions.back().skip.reset();
  }
  return out;
}

TEST(Together, AnswersEverySetAsTryingAllChoicesDoes) {
  test::Shape shape;
  shape.most_functions = 5;
  int yes = 0, no = 0, by_proof = 0;
  for (std::uint64_t seed = 0; seed < 500; ++seed) {
    const Problem p = optional(random_problem(seed, shape));
    const unsigned sets = 1U << p.functions.size();
    std::vector<unsigned> order;
    for (unsigned s = 0; s < sets; ++s) order.push_back(s);
    Random rng(seed);
    for (std::size_t i = order.size(); i > 1; --i) std::swap(order[i - 1], order[rng.next() % i]);
    Options options;
    Stats stats;
    Control control(options, stats);
    Engine engine(p, control);
    Together together(engine);
    for (const unsigned s : order) {
      Together::Set in(p.functions.size());
      for (std::size_t f = 0; f < in.size(); ++f) in[f] = static_cast<char>(s >> f & 1U);
      const bool proven_before = together.proof_of(in) != nullptr;
      const bool quick = together.found_quickly(in);
      const Together::Answer answer = together.ask(in, 0);
      const bool fits = feasible_exhaustively(only(p, s));
      ASSERT_EQ(answer, fits ? Together::Answer::feasible : Together::Answer::infeasible) << seed << ' ' << s;
      ASSERT_FALSE(!fits && quick) << seed << ' ' << s;
      ASSERT_FALSE(fits && proven_before) << seed << ' ' << s;
      ++(fits ? yes : no);
      by_proof += proven_before ? 1 : 0;
      if (!fits) continue;
      for (std::size_t f = 0; f < in.size(); ++f) ASSERT_EQ(together.choice()[f] != kSkipped, in[f] != 0);
      Problem chosen = only(p, s);
      for (std::size_t f = 0, at = 0; f < in.size(); ++f) {
        if (!in[f]) continue;
        chosen.functions[at++].candidates = {p.functions[f].candidates[together.choice()[f]]};
      }
      ASSERT_TRUE(feasible_exhaustively(chosen)) << seed << ' ' << s;
    }
  }
  EXPECT_GT(yes, 1500);
  EXPECT_GT(no, 1500);
  EXPECT_GT(by_proof, 500);
}

// Beside a choice a function gets a place exactly when some candidate of it fits.
TEST(Together, BesideFindsWhateverFits) {
  int found = 0, none = 0;
  for (std::uint64_t seed = 0; seed < 800; ++seed) {
    const Problem p = optional(random_problem(seed));
    if (p.functions.size() < 2) continue;
    Options options;
    Stats stats;
    Control control(options, stats);
    Engine engine(p, control);
    Together together(engine);
    Together::Set in(p.functions.size(), 1);
    in[0] = 0;
    if (together.ask(in, 0) != Together::Answer::feasible) continue;
    Problem rest = p;
    for (std::size_t f = 0; f < in.size(); ++f) {
      rest.functions[f].skip.reset();
      if (in[f]) rest.functions[f].candidates = {p.functions[f].candidates[together.choice()[f]]};
    }
    const int beside = engine.beside(together.choice(), 0);
    ASSERT_EQ(beside != kSkipped, feasible_exhaustively(rest)) << seed;
    ++(beside == kSkipped ? none : found);
  }
  EXPECT_GT(found, 100);
  EXPECT_GT(none, 100);
}

TEST(Columns, RangesMasksAndSumsAreThoseOfPlainLoops) {
  Random rng(5);
  for (int round = 0; round < 60; ++round) {
    const int rows = rng.in(1, 9), n = rng.in(1, 150), bits = rng.in(3, 6);
    Columns columns(rows - 1, bits);
    std::vector<std::vector<std::int32_t>> plain(rows, std::vector<std::int32_t>(n));
    for (auto& row : plain) {
      for (std::int32_t& v : row) v = rng.in(0, 40);
    }
    // In pieces that cross the ends of chunks; the last row comes late.
    for (int first = 0; first < n;) {
      const int some = std::min(n - first, rng.in(1, 20));
      std::vector<std::int32_t> piece(static_cast<std::size_t>(rows - 1) * 20);
      for (int i = 0; i < some; ++i) {
        columns.add();
        for (int r = 0; r + 1 < rows; ++r) piece[static_cast<std::size_t>(r) * 20 + i] = plain[r][first + i];
      }
      columns.put(first, some, piece, 20);
      first += some;
    }
    ASSERT_EQ(columns.add_row(), rows - 1);
    for (int c = 0; c < n; ++c) columns.at(rows - 1, c) = plain[rows - 1][c];

    const bool few = rng.chance(50);
    std::vector<std::int32_t> gone(columns.room(), INT32_MAX);
    for (int c = 0; c < n; ++c) gone[c] = rng.chance(few ? 97 : 30) ? INT32_MAX : 0;
    gone[rng.in(0, n - 1)] = 0;
    const int masked_row = rng.in(0, rows - 1), most = rng.in(20, 40);
    std::vector<std::int32_t> tighter = gone;
    columns.mask_above(masked_row, most, tighter);
    std::vector<double> sum(columns.room(), 0.5);
    columns.add_weighted({0, rows - 1}, {3, 1000}, sum);
    std::vector<std::int32_t> low, high;
    std::vector<int> all(rows);
    std::iota(all.begin(), all.end(), 0);
    columns.ranges(all, gone, static_cast<int>(std::count(gone.begin(), gone.end(), 0)), low, high);
    for (int c = 0; c < n; ++c) {
      ASSERT_EQ(tighter[c] != 0, gone[c] != 0 || plain[masked_row][c] > most);
      ASSERT_EQ(sum[c], 0.5 + 3 * plain[0][c] + 1000 * plain[rows - 1][c]);
    }
    for (int r = 0; r < rows; ++r) {
      std::int32_t least = INT32_MAX, largest = 0;
      for (int c = 0; c < n; ++c) {
        ASSERT_EQ(columns.at(r, c), plain[r][c]);
        if (gone[c] != 0) continue;
        least = std::min(least, plain[r][c]);
        largest = std::max(largest, plain[r][c]);
      }
      ASSERT_EQ(low[r], least);
      ASSERT_EQ(high[r], largest);
    }
    for (int asked = 0; asked < 4; ++asked) {
      const int first = rng.in(1, n);
      columns.ranges_of_first(first, all, low, high);
      for (int r = 0; r < rows; ++r) {
        ASSERT_EQ(low[r], *std::min_element(plain[r].begin(), plain[r].begin() + first));
        ASSERT_EQ(high[r], *std::max_element(plain[r].begin(), plain[r].begin() + first));
      }
    }
  }
}

}  // namespace
}  // namespace allocation
