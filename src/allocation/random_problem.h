// Small random problems and an exhaustive solver for them, written for tests only and sharing no code with the solver.
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <vector>

#include "allocation/problem.h"
#include "allocation/solution.h"

namespace allocation::test {

/// SplitMix64: the same numbers on every machine.
class Random {
 public:
  explicit Random(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
  }
  int in(int low, int high) { return low + static_cast<int>(next() % static_cast<std::uint64_t>(high - low + 1)); }
  bool chance(int percent) { return in(1, 100) <= percent; }

 private:
  std::uint64_t state_;
};

struct Shape {
  int most_functions = 4, most_candidates = 5, most_parts = 6, most_classes = 6;
  int skip_percent = 30, floor_percent = 30, lock_percent = 10, reserve_percent = 30, cell_percent = 30;
  int least_stock = 0, most_stock = 3;
  std::int64_t unit = 1;  ///< budget uses are multiples of it
};

inline Problem random_problem(std::uint64_t seed, const Shape& shape = {}) {
  Random rng(seed);
  Problem p;
  const int parts = rng.in(1, shape.most_parts), classes = rng.in(1, shape.most_classes);
  for (int i = 0; i < parts; ++i)
    p.parts.push_back({"part " + std::to_string(i), rng.in(shape.least_stock, shape.most_stock)});
  for (int k = 0; k < classes; ++k) {
    Class cls{"class " + std::to_string(k), {}};
    for (int i = 0; i < parts; ++i) {
      if (rng.chance(35)) cls.parts.push_back(i);
    }
    if (cls.parts.empty() && rng.chance(95)) cls.parts.push_back(rng.in(0, parts - 1));
    p.classes.push_back(std::move(cls));
  }
  const int functions = rng.in(1, shape.most_functions);
  p.budgets.push_back({"mass", rng.chance(40) ? INT64_MAX : shape.unit * rng.in(0, 20 * functions)});
  p.budgets.push_back({"ports", rng.chance(50) ? INT64_MAX : std::int64_t{rng.in(0, 2 * functions)}});
  for (int f = 0; f < functions; ++f) {
    Function function;
    function.name = "function " + std::to_string(f);
    const int candidates = rng.in(rng.chance(3) ? 0 : 1, shape.most_candidates);
    for (int c = 0; c < candidates; ++c) {
      Candidate candidate;
      candidate.margin = rng.in(5, 20) * 100;
      candidate.use = {shape.unit * rng.in(0, 20), rng.in(0, 2)};
      for (int k = 0; k < classes; ++k) {
        if (rng.chance(30)) candidate.needs.push_back({k, rng.in(1, 2)});
      }
      if (rng.chance(shape.cell_percent)) {
        for (int cell = 0; cell < 8; ++cell) {
          if (rng.chance(25)) candidate.cells.push_back(cell);
        }
      }
      function.candidates.push_back(std::move(candidate));
    }
    if (rng.chance(shape.skip_percent)) {
      function.skip = Skip{rng.chance(50) ? INT_MAX : rng.in(5, 20) * 100, shape.unit * rng.in(0, 30), rng.in(0, 3)};
    }
    if (rng.chance(shape.floor_percent)) function.floor = rng.in(5, 14) * 100;
    if (candidates > 0 && rng.chance(shape.lock_percent)) function.locked = rng.in(0, candidates - 1);
    p.functions.push_back(std::move(function));
  }
  if (rng.chance(shape.reserve_percent)) p.reserves.push_back({rng.in(0, classes - 1), rng.in(0, 2), "chassis"});
  if (rng.chance(shape.reserve_percent / 2)) p.reserves.push_back({rng.in(0, classes - 1), 1, "looks"});
  return p;
}

/// Whether the stock serves the choice: Hall's condition over all subsets of classes. Few classes only.
inline bool stock_serves(const Problem& p, const std::vector<int>& choice) {
  std::vector<std::int64_t> wanted(p.classes.size(), 0);
  for (const Reserve& r : p.reserves) wanted[r.cls] += r.count;
  for (std::size_t f = 0; f < choice.size(); ++f) {
    if (choice[f] == kSkipped) continue;
    for (const Need& need : p.functions[f].candidates[choice[f]].needs) wanted[need.cls] += need.count;
  }
  for (unsigned set = 1; set < (1U << p.classes.size()); ++set) {
    std::int64_t need = 0, have = 0;
    std::vector<char> inside(p.parts.size(), 0);
    for (std::size_t k = 0; k < p.classes.size(); ++k) {
      if ((set >> k & 1U) == 0) continue;
      need += wanted[k];
      for (int part : p.classes[k].parts) inside[part] = 1;
    }
    for (std::size_t i = 0; i < inside.size(); ++i) have += inside[i] ? p.parts[i].stock : 0;
    if (need > have) return false;
  }
  return true;
}

inline bool valid_choice(const Problem& p, const std::vector<int>& choice) {
  std::vector<std::int64_t> use(p.budgets.size(), 0);
  std::vector<int> cells;
  for (std::size_t f = 0; f < choice.size(); ++f) {
    const Function& function = p.functions[f];
    if (choice[f] == kSkipped) {
      if (!function.skip || function.locked >= 0) return false;
      continue;
    }
    const Candidate& c = function.candidates[choice[f]];
    if (c.margin < function.floor || (function.locked >= 0 && choice[f] != function.locked)) return false;
    for (std::size_t b = 0; b < use.size(); ++b) use[b] += c.use[b];
    cells.insert(cells.end(), c.cells.begin(), c.cells.end());
  }
  for (std::size_t b = 0; b < use.size(); ++b) {
    if (use[b] > p.budgets[b].limit) return false;
  }
  std::sort(cells.begin(), cells.end());
  return std::adjacent_find(cells.begin(), cells.end()) == cells.end() && stock_serves(p, choice);
}

/// Stage values with "smaller is better" (the margin negated).
inline std::vector<std::int64_t> scores(const Problem& p, const std::vector<Stage>& order,
                                        const std::vector<int>& choice) {
  std::vector<std::int64_t> out;
  bool penalty = true;
  for (const Stage& stage : order) {
    std::int64_t value = 0;
    int margin = INT_MAX;
    for (std::size_t f = 0; f < choice.size(); ++f) {
      const bool skipped = choice[f] == kSkipped;
      const Function& function = p.functions[f];
      switch (stage.kind) {
        case StageKind::least_dropped_weight:
          value += skipped ? function.skip->weight : 0;
          break;
        case StageKind::best_worst_margin:
          margin = std::min(margin, skipped ? function.skip->margin : function.candidates[choice[f]].margin);
          value = -std::int64_t{margin};
          break;
        case StageKind::least_budget: {
          std::size_t b = 0;
          while (p.budgets[b].name != stage.budget) ++b;
          value += skipped ? (penalty ? function.skip->penalty : 0) : function.candidates[choice[f]].use[b];
          break;
        }
        case StageKind::fewest_parts:
          if (!skipped) {
            for (const Need& need : function.candidates[choice[f]].needs) value += need.count;
          }
          break;
      }
    }
    if (stage.kind == StageKind::least_budget) penalty = false;
    out.push_back(value);
  }
  return out;
}

/// Calls visit(choice) for every valid choice, in lexicographic order with a skip last.
template <typename Visit>
void for_each_choice(const Problem& p, const Visit& visit) {
  std::vector<int> choice(p.functions.size());
  auto descend = [&](auto&& self, std::size_t f) -> void {
    if (f == choice.size()) {
      if (valid_choice(p, choice)) visit(choice);
      return;
    }
    for (int c = 0; c < static_cast<int>(p.functions[f].candidates.size()); ++c) {
      choice[f] = c;
      self(self, f + 1);
    }
    choice[f] = kSkipped;
    self(self, f + 1);
  };
  descend(descend, 0);
}

struct Exhaustive {
  std::vector<int> choice;  ///< the first of the best; empty with found = false
  std::vector<std::int64_t> score;
  bool found = false;
};

inline Exhaustive solve_exhaustively(const Problem& p, const std::vector<Stage>& order) {
  Exhaustive best;
  for_each_choice(p, [&](const std::vector<int>& choice) {
    std::vector<std::int64_t> score = scores(p, order, choice);
    if (best.found && score >= best.score) return;
    best = {choice, std::move(score), true};
  });
  return best;
}

inline bool feasible_exhaustively(const Problem& p) {
  return solve_exhaustively(p, {}).found;
}

}  // namespace allocation::test
