// The sieve finds the choices that trying each one finds; any choice, the cheapest one and the largest margin are the
// same with it, without it and where it ends before it is through, newcomers wanted or not; so is the first in an
// order.
#include "allocation/sieve.h"

#include <gtest/gtest.h>

#include <functional>
#include <set>

#include "allocation/random_problem.h"
#include "allocation/search.h"

namespace allocation {
namespace {

using test::Random;

/// A root as the engine builds it: values and costs not relative yet. Row 0 has large values.
Node random_node(Random& random) {
  Node node;
  const int rows = random.in(1, 9), blocks = random.in(1, 6);
  for (int r = 0; r < rows; ++r) {
    node.row_id.push_back(r);
    node.cap.push_back(r == 0 ? random.in(500, 3000) : random.in(2, 9));
    node.price.push_back(static_cast<float>(random.in(0, 40)) / static_cast<float>(r == 0 ? 100 : 10));
  }
  node.choice.assign(blocks, kUndecided);
  node.n_blocks = blocks;
  node.blocks.resize(blocks);
  for (int b = 0; b < blocks; ++b) {
    Block& block = node.blocks[b];
    block.function = b;
    block.n = random.in(2, 7);
    block.stride = kernel::kLane;
    block.d.resize(static_cast<std::size_t>(rows) * block.stride);
    block.cost.resize(block.stride);
    for (int c = 0; c < block.stride; ++c) {
      const bool real = c < block.n;
      if (real) block.candidate.push_back(c);
      block.cost[c] = real ? random.in(0, 60) : block.cost[0];
      for (int r = 0; r < rows; ++r) {
        block.row(r)[c] = !real ? block.row(r)[0] : r == 0 ? random.in(0, 1000) : std::max(0, random.in(-3, 4));
      }
    }
  }
  return node;
}

/// Calls fn(at, cost) for every choice within the rows, `at` per block.
template <typename Fn>
void for_each_fitting(const Node& node, const Fn& fn) {
  std::vector<int> at(node.n_blocks, 0);
  for (bool more = true; more;) {
    std::vector<std::int64_t> load(node.n_rows(), 0);
    double cost = node.cost_base;
    for (int b = 0; b < node.n_blocks; ++b) {
      for (int r = 0; r < node.n_rows(); ++r) load[r] += node.blocks[b].row(r)[at[b]];
      cost += node.blocks[b].cost[at[b]];
    }
    bool fits = true;
    for (int r = 0; r < node.n_rows(); ++r) fits = fits && load[r] <= node.cap[r];
    if (fits) fn(at, cost);
    more = false;
    for (int b = 0; b < node.n_blocks && !more; ++b) {
      more = ++at[b] < node.blocks[b].n;
      if (!more) at[b] = 0;
    }
  }
}

TEST(Sieve, FindsEveryChoiceThatFitsAndIsCheapEnough) {
  std::size_t found = 0, stopped = 0;
  Sieve sieve;
  for (std::uint64_t seed = 0; seed < 600; ++seed) {
    Random random(seed);
    Node node = random_node(random);
    if (!propagate(node, kNoLimit) || node.n_blocks == 0) continue;
    std::vector<std::vector<double>> reduced(node.n_blocks);
    for (int b = 0; b < node.n_blocks; ++b) {
      for (int c = 0; c < node.blocks[b].n; ++c) reduced[b].push_back(c == 0 ? 0 : random.in(0, 50));
    }
    const Sieve::Room room{static_cast<double>(random.in(0, 120)), static_cast<double>(random.in(20, 200))};
    const bool demanded = seed % 2 == 1;
    const auto is_new = [&](int b, int c) { return (b * 7 + c * 3 + static_cast<int>(seed)) % 5 == 0; };
    std::set<std::vector<int>> want, got;
    double cheap = 0;
    for_each_fitting(node, [&](const std::vector<int>& at, double cost) {
      double priced = 0;
      bool any_new = false;
      for (int b = 0; b < node.n_blocks; ++b) {
        priced += reduced[b][at[b]];
        any_new = any_new || is_new(b, at[b]);
      }
      cheap += priced <= room.priced ? 1 : 0;
      if (priced <= room.priced && cost - node.cost_base <= room.plain && (any_new || !demanded)) want.insert(at);
    });
    EXPECT_GE(Sieve::choices(node, reduced, room.priced), cheap) << "seed " << seed;
    sieve.load(node, reduced);
    if (demanded) sieve.demand(is_new);
    const auto take = [&](const std::vector<int>& at) {
      EXPECT_TRUE(got.insert(at).second) << "seed " << seed << ": a choice twice";
      return std::optional(room);
    };
    ASSERT_EQ(sieve.run(room, 1'000'000, take), Sieve::End::complete);
    ASSERT_EQ(got, want) << "seed " << seed;
    found += got.size();
    // It says so when its steps do not suffice, and when the taker has enough.
    got.clear();
    if (sieve.run(room, 2, take) == Sieve::End::out_of_steps) ++stopped;
    for (const auto& at : got) ASSERT_TRUE(want.contains(at));
    if (!want.empty()) {
      ASSERT_EQ(sieve.run(room, 1'000'000, [](const std::vector<int>&) { return std::nullopt; }), Sieve::End::ended);
    }
  }
  EXPECT_GT(found, 3000U);
  EXPECT_GT(stopped, 100U);
}

TEST(Load, IsTheSumOfWhatIsTaken) {
  Load load;
  for (std::uint64_t seed = 0; seed < 50; ++seed) {
    Random random(seed);
    const Node node = random_node(random);
    load.begin(node);
    std::vector<int> at(node.n_blocks, -1);
    for (int step = 0; step < 30; ++step) {
      const int b = random.in(0, node.n_blocks - 1), c = random.in(0, node.blocks[b].n - 1);
      ASSERT_EQ(load.take(node, b, c), at[b] != c);
      at[b] = c;
      ASSERT_EQ(load.at(), at);
      for (int r = 0; r < node.n_rows(); ++r) {
        std::int64_t sum = 0;
        for (int i = 0; i < node.n_blocks; ++i) sum += at[i] < 0 ? 0 : node.blocks[i].row(r)[at[i]];
        ASSERT_EQ(load.of(r), sum);
      }
    }
  }
}

TEST(Search, FindsAnyChoiceHoweverItIsSoughtIfThereIsOne) {
  int found = 0, none = 0;
  for (std::uint64_t seed = 0; seed < 900; ++seed) {
    Random random(seed + 20000);
    Node whole = random_node(random);
    for (Block& block : whole.blocks) std::fill(block.cost.begin(), block.cost.end(), 0.0);
    std::set<std::vector<int>> fitting;
    for_each_fitting(whole, [&](const std::vector<int>& at, double) { fitting.insert(at); });
    const bool some_rejected = seed % 2 == 1;  // as rows that the node does not hold would
    const auto accepted = [&](const std::vector<int>& choice) { return !some_rejected || choice[0] % 2 == 1; };
    const bool any = std::any_of(fitting.begin(), fitting.end(), accepted);
    for (int way = 0; way < 3; ++way) {
      Options options;
      Stats stats;
      Control control(options, stats);
      SearchMemory memory;
      const auto accept = [&](const std::vector<int>& c) {
        return accepted(c) ? Verdict::accepted : Verdict::rejected;
      };
      Search search(accept, control, memory);
      if (way == 1) search.tuning.sieve_choices = 0;
      if (way == 2) search.tuning = {1, 1, 1, 0, 0, 0, 1e3, 2};
      Node root = whole;
      std::vector<int> choice;
      ASSERT_EQ(search.find_any(root, 0, choice), any ? Outcome::found : Outcome::refuted) << seed << " way " << way;
      ASSERT_TRUE(!any || (fitting.contains(choice) && accepted(choice))) << seed << " way " << way;
      (any ? found : none) += 1;
    }
  }
  EXPECT_GT(found, 500);
  EXPECT_GT(none, 300);
}

/// What a choice costs at most; the node outlives the question.
Search::CostQuestion cost_question(const Node& whole, double limit) {
  Search::CostQuestion question;
  question.limit = limit;
  question.must_not_exceed = static_cast<std::int64_t>(limit);
  question.exact_cost = [&whole](const std::vector<int>& choice) {
    std::int64_t sum = 0;
    for (int b = 0; b < whole.n_blocks; ++b) sum += static_cast<std::int64_t>(whole.blocks[b].cost[choice[b]]);
    return sum;
  };
  return question;
}

/// A search that accepts every choice: as ever, without the sieve, with a sieve that soon gives up, and with next to no
/// help at all.
struct Sought {
  static constexpr int kWays = 4;
  Options options;
  Stats stats;
  Control control{options, stats};
  SearchMemory memory;
  Search search{[](const std::vector<int>&) { return Verdict::accepted; }, control, memory};
  explicit Sought(int way) {
    if (way == 1) search.tuning.sieve_choices = 0;
    if (way == 2) search.tuning.sieve_steps = 3;
    if (way == 3) search.tuning = {1, 1, 1, 0, 0, 0, 0, 0};
  }
};

TEST(Search, CheapestIsTheSameHoweverItIsSought) {
  int improved = 0, none = 0;
  for (std::uint64_t seed = 0; seed < 900; ++seed) {
    Random random(seed + 5000);
    const Node whole = random_node(random);
    const bool wanted = seed % 3 != 0;
    std::vector<std::vector<int>> margin(whole.n_blocks);
    for (int b = 0; b < whole.n_blocks; ++b) {
      margin[b].assign(static_cast<std::size_t>(whole.blocks[b].n) + 1, 9);
      for (int& m : margin[b]) m = random.in(0, 3) == 0 ? 1 : 9;
    }
    const auto is_new = [&](int f, int c) { return margin[f][static_cast<std::size_t>(c + 1)] < 5; };
    // Cheapest without and with a newcomer.
    double old = kNoLimit, with_new = kNoLimit;
    for_each_fitting(whole, [&](const std::vector<int>& at, double cost) {
      bool any_new = false;
      for (int b = 0; b < whole.n_blocks; ++b) any_new = any_new || is_new(b, at[b]);
      (any_new ? with_new : old) = std::min(any_new ? with_new : old, cost);
    });
    const double limit = wanted ? (old < kNoLimit ? old - 1 : 1000) : random.in(20, 300);
    const double want = wanted ? with_new : std::min(old, with_new);
    for (int way = 0; way < Sought::kWays; ++way) {
      Sought sought(way);
      Search& search = sought.search;
      Search::CostQuestion question = cost_question(whole, limit);
      question.limit_below = [](std::int64_t found) { return static_cast<double>(found - 1); };
      if (wanted) question.newcomers = {&margin, 5};
      Node root = whole;
      std::vector<int> choice;
      std::int64_t cost = 0;
      const Search::CostResult result = search.minimise(root, question, choice, cost);
      ASSERT_EQ(result.outcome, Outcome::refuted);
      ASSERT_EQ(result.improved, want <= limit) << "seed " << seed << " way " << way;
      if (!result.improved) {
        ++none;
        continue;
      }
      ++improved;
      ASSERT_EQ(static_cast<double>(cost), want) << "seed " << seed << " way " << way;
    }
  }
  EXPECT_GT(improved, 500);
  EXPECT_GT(none, 500);
}

TEST(Search, FirstInOrderIsTheSameHoweverItIsSought) {
  int moved = 0, stayed = 0;
  for (std::uint64_t seed = 0; seed < 600; ++seed) {
    Random random(seed + 13000);
    const Node whole = random_node(random);
    const double limit = random.in(20, 200);
    std::vector<int> known, want;  // some choice within the limit; the first of all
    for_each_fitting(whole, [&](const std::vector<int>& at, double cost) {
      if (cost > limit) return;
      if (known.empty() || random.chance(20)) known = at;
      if (want.empty() || at < want) want = at;
    });
    if (known.empty()) continue;
    for (int way = 0; way < Sought::kWays; ++way) {
      Sought sought(way);
      Search& search = sought.search;
      Search::CostQuestion question = cost_question(whole, limit);
      question.limit_below = [&](std::int64_t) { return limit; };
      question.before = std::less<>();
      Node root = whole;
      std::vector<int> choice = known;
      ASSERT_EQ(search.first_within(root, question, choice), Outcome::refuted) << "seed " << seed << " way " << way;
      ASSERT_EQ(choice, want) << "seed " << seed << " way " << way;
      ++(choice == known ? stayed : moved);
    }
  }
  EXPECT_GT(moved, 500);
  EXPECT_GT(stayed, 100);
}

TEST(Search, BestMarginIsTheSameHoweverItIsSought) {
  int improved = 0, none = 0;
  for (std::uint64_t seed = 0; seed < 900; ++seed) {
    Random random(seed + 9000);
    const Node whole = random_node(random);
    std::vector<std::vector<int>> margin(whole.n_blocks);
    for (int b = 0; b < whole.n_blocks; ++b) {
      margin[b].resize(static_cast<std::size_t>(whole.blocks[b].n) + 1);
      for (int& m : margin[b]) m = random.in(0, 20);
    }
    const double limit = random.in(20, 300);
    int want = -1;
    for_each_fitting(whole, [&](const std::vector<int>& at, double cost) {
      int worst = INT_MAX;
      for (int b = 0; b < whole.n_blocks; ++b) worst = std::min(worst, margin[b][static_cast<std::size_t>(at[b] + 1)]);
      if (cost <= limit) want = std::max(want, worst);
    });
    for (int way = 0; way < 6; ++way) {
      Options options;
      Stats stats;
      Control control(options, stats);
      SearchMemory memory;
      Search search([](const std::vector<int>&) { return Verdict::accepted; }, control, memory);
      if (way % 3 == 1) search.tuning.sieve_choices = 0;
      if (way % 3 == 2) search.tuning = {1, 1, 1, 0, 0, 0, 3, 3};
      Search::CostQuestion question = cost_question(whole, limit);
      question.limit_below = [&](std::int64_t) { return limit; };
      question.best_margin = true;
      question.newcomers = {&margin, way < 3 ? INT_MAX : want + 1};
      Node root = whole;
      std::vector<int> choice;
      std::int64_t cost = 0;
      const Search::CostResult result = search.minimise(root, question, choice, cost);
      ASSERT_EQ(result.outcome, Outcome::refuted);
      ASSERT_EQ(result.improved, want >= 0) << "seed " << seed << " way " << way;
      if (!result.improved) {
        ++none;
        continue;
      }
      ++improved;
      int worst = INT_MAX;
      for (int b = 0; b < whole.n_blocks; ++b)
        worst = std::min(worst, margin[b][static_cast<std::size_t>(choice[b] + 1)]);
      ASSERT_EQ(worst, want) << "seed " << seed << " way " << way;
      ASSERT_LE(static_cast<double>(question.exact_cost(choice)), limit);
    }
  }
  EXPECT_GT(improved, 500);
  EXPECT_GT(none, 500);
}

}  // namespace
}  // namespace allocation
