// The checker: approves the solver's answers and rejects every one of many kinds of tampering.
#include "allocation/checker.h"

#include <gtest/gtest.h>

#include <functional>

#include "allocation/random_problem.h"
#include "allocation/solve.h"

namespace allocation {
namespace {

using test::Random;

struct Mutation {
  const char* name;
  std::function<bool(Problem&, Solution&, Random&)> apply;  ///< false = not applicable
};

std::vector<Mutation> mutations() {
  return {
      {"another margin", [](Problem&, Solution& s, Random&) { return ++s.worst_margin, s.worst_margin != INT_MIN; }},
      {"another weight", [](Problem&, Solution& s, Random&) { return ++s.dropped_weight, true; }},
      {"another penalty", [](Problem&, Solution& s, Random&) { return ++s.penalty, true; }},
      {"another piece count", [](Problem&, Solution& s, Random&) { return --s.parts_used, true; }},
      {"another total", [](Problem&, Solution& s, Random& r) { return ++s.budget_totals[r.in(0, 1)], true; }},
      {"a stage value moved", [](Problem&, Solution& s, Random&) { return ++s.stages.back().value, true; }},
      {"a choice out of range",
       [](Problem& p, Solution& s, Random&) {
         return s.choice[0] = static_cast<int>(p.functions[0].candidates.size()), true;
       }},
      {"a choice missing", [](Problem&, Solution& s, Random&) { return s.choice.pop_back(), true; }},
      {"a required function skipped",
       [](Problem& p, Solution& s, Random&) {
         if (p.functions[0].skip) return false;
         return s.choice[0] = kSkipped, true;
       }},
      {"a lock elsewhere",
       [](Problem& p, Solution& s, Random&) {
         if (p.functions[0].candidates.size() < 2) return false;
         return p.functions[0].locked = s.choice[0] == 0 ? 1 : 0, true;
       }},
      {"a floor above",
       [](Problem& p, Solution& s, Random&) {
         if (s.choice[0] == kSkipped) return false;
         return p.functions[0].floor = p.functions[0].candidates[s.choice[0]].margin + 1, true;
       }},
      {"a budget below",
       [](Problem& p, Solution& s, Random&) {
         if (s.budget_totals[0] == 0) return false;
         return p.budgets[0].limit = s.budget_totals[0] - 1, true;
       }},
      {"a need more",
       [](Problem& p, Solution& s, Random&) {
         if (s.choice[0] == kSkipped || p.functions[0].candidates[s.choice[0]].needs.empty()) return false;
         return ++p.functions[0].candidates[s.choice[0]].needs[0].count, true;
       }},
      {"a take more",
       [](Problem&, Solution& s, Random& r) {
         if (s.parts.empty()) return false;
         return ++s.parts[r.in(0, static_cast<int>(s.parts.size()) - 1)].takes[0].count, true;
       }},
      {"a served need dropped",
       [](Problem&, Solution& s, Random&) {
         if (s.parts.empty()) return false;
         return s.parts.pop_back(), true;
       }},
      {"a served need doubled",
       [](Problem&, Solution& s, Random&) {
         if (s.parts.empty()) return false;
         return s.parts.push_back(s.parts.front()), true;
       }},
      {"a part the class does not accept",
       [](Problem& p, Solution& s, Random&) {
         if (s.parts.empty()) return false;
         p.parts.push_back({"stranger", 9});
         return s.parts[0].takes[0].part = static_cast<int>(p.parts.size()) - 1, true;
       }},
      {"stock gone",
       [](Problem& p, Solution& s, Random&) {
         if (s.parts.empty()) return false;
         return p.parts[s.parts[0].takes[0].part].stock = s.parts[0].takes[0].count - 1, true;
       }},
      {"a reserve forgotten",
       [](Problem& p, Solution& s, Random&) {
         if (p.reserves.empty() || p.reserves[0].count == 0) return false;
         return s.reserves.erase(s.reserves.begin()), true;
       }},
      {"a shared cell",
       [](Problem& p, Solution& s, Random&) {
         if (s.choice.size() < 2 || s.choice[0] == kSkipped || s.choice[1] == kSkipped) return false;
         p.functions[0].candidates[s.choice[0]].cells = {77};
         return p.functions[1].candidates[s.choice[1]].cells = {77}, true;
       }},
      {"a gap in a proof", [](Problem&, Solution& s, Random&) { return --s.stages.back().bound, true; }},
      {"an unproven optimum", [](Problem&, Solution& s, Random&) { return s.stages.back().proven = false, true; }},
      {"an answer called infeasible",
       [](Problem&, Solution& s, Random&) {
         if (s.choice.empty()) return false;
         return s.status = Status::infeasible, true;
       }},
  };
}

TEST(Checker, RejectsEveryMutationOfAValidSolution) {
  std::vector<int> applied(mutations().size(), 0);
  for (std::uint64_t seed = 0; seed < 400; ++seed) {
    const Problem p = test::random_problem(seed);
    const Solution s = solve(p);
    ASSERT_TRUE(check_solution(p, s).empty()) << seed << " " << check_solution(p, s).front();
    if (s.status != Status::optimal) continue;
    Random rng(seed);
    const auto list = mutations();
    for (std::size_t m = 0; m < list.size(); ++m) {
      Problem changed = p;
      Solution tampered = s;
      if (tampered.worst_margin == INT_MAX && m == 0) tampered.worst_margin = 0;
      if (!list[m].apply(changed, tampered, rng)) continue;
      ++applied[m];
      EXPECT_FALSE(check_solution(changed, tampered).empty()) << list[m].name << ", seed " << seed;
    }
  }
  for (std::size_t m = 0; m < applied.size(); ++m) EXPECT_GT(applied[m], 20) << mutations()[m].name;
}

TEST(Checker, FlowAgreesWithHallOverAllSubsets) {
  int served = 0, short_of_parts = 0;
  for (std::uint64_t seed = 0; seed < 600; ++seed) {
    test::Shape shape;
    shape.skip_percent = shape.floor_percent = shape.lock_percent = shape.cell_percent = 0;
    Problem p = test::random_problem(seed, shape);
    for (Budget& b : p.budgets) b.limit = INT64_MAX;
    std::vector<int> choice;
    Random rng(seed);
    bool complete = true;
    for (const Function& f : p.functions) {
      complete &= !f.candidates.empty();
      choice.push_back(f.candidates.empty() ? 0 : rng.in(0, static_cast<int>(f.candidates.size()) - 1));
    }
    if (!complete) continue;
    const bool ok = test::stock_serves(p, choice);
    EXPECT_EQ(check_choice(p, choice).empty(), ok) << "seed " << seed;
    (ok ? served : short_of_parts)++;
  }
  EXPECT_GT(served, 50);
  EXPECT_GT(short_of_parts, 50);
}

}  // namespace
}  // namespace allocation
