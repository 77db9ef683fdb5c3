#include "allocation/checker.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

namespace allocation {
namespace {

using List = std::vector<std::string>;

/// Pieces wanted per class, reserves included. The choice must be in range.
std::map<int, std::int64_t> wanted_pieces(const Problem& p, const std::vector<int>& choice) {
  std::map<int, std::int64_t> wanted;
  for (const Reserve& r : p.reserves) wanted[r.cls] += r.count;
  for (std::size_t f = 0; f < choice.size(); ++f) {
    if (choice[f] < 0) continue;
    for (const Need& need : p.functions[f].candidates[choice[f]].needs) wanted[need.cls] += need.count;
  }
  return wanted;
}

/// Serves class after class; a class that runs dry takes parts from others along a path of exchanges.
class Server {
 public:
  Server(const Problem& p, const std::map<int, std::int64_t>& wanted) : problem_(p), wanted_(wanted) {
    for (const Part& part : p.parts) left_.push_back(part.stock);
  }

  /// Pieces that cannot be served.
  std::int64_t missing() {
    std::int64_t total = 0;
    for (const auto& [cls, count] : wanted_) {
      std::int64_t open = count;
      while (open > 0) {
        const std::int64_t served = augment(cls, open);
        if (served == 0) break;
        open -= served;
      }
      total += open;
    }
    return total;
  }

 private:
  /// Breadth-first over classes: class k can hand over part q's pieces when it finds others.
  std::int64_t augment(int start, std::int64_t most) {
    std::map<int, std::pair<int, int>> from;  // class -> (previous class, part taken from this class)
    from[start] = {-1, -1};
    std::vector<int> queue{start};
    for (std::size_t i = 0; i < queue.size(); ++i) {
      const int k = queue[i];
      for (int part : problem_.classes[k].parts) {
        if (left_[part] > 0) return apply(from, k, part, most);
        for (const auto& [other, count] : wanted_) {
          if (count == 0 || from.contains(other) || given_[{other, part}] == 0) continue;
          from[other] = {k, part};
          queue.push_back(other);
        }
      }
    }
    return 0;
  }

  std::int64_t apply(const std::map<int, std::pair<int, int>>& from, int last, int part, std::int64_t most) {
    std::int64_t amount = std::min(most, left_[part]);
    for (int k = last; from.at(k).first >= 0; k = from.at(k).first) {
      amount = std::min(amount, given_[{k, from.at(k).second}]);
    }
    left_[part] -= amount;
    given_[{last, part}] += amount;
    for (int k = last; from.at(k).first >= 0; k = from.at(k).first) {
      const auto [previous, taken] = from.at(k);
      given_[{k, taken}] -= amount;
      given_[{previous, taken}] += amount;
    }
    return amount;
  }

  const Problem& problem_;
  const std::map<int, std::int64_t>& wanted_;
  std::vector<std::int64_t> left_;
  std::map<std::pair<int, int>, std::int64_t> given_;  ///< (class, part) -> pieces
};

/// Problems that make the rest meaningless; empty = every choice is in range.
List check_range(const Problem& p, const std::vector<int>& choice) {
  List out;
  if (choice.size() != p.functions.size()) {
    out.push_back(fmt::format("{} choices for {} functions", choice.size(), p.functions.size()));
    return out;
  }
  for (std::size_t f = 0; f < choice.size(); ++f) {
    const Function& function = p.functions[f];
    if (choice[f] < -1 || choice[f] >= static_cast<int>(function.candidates.size())) {
      out.push_back(fmt::format("function '{}': there is no candidate {}", function.name, choice[f]));
    } else if (choice[f] == -1 && !function.skip) {
      out.push_back(fmt::format("function '{}' is required but left out", function.name));
    }
  }
  return out;
}

void check_cells(const Problem& p, const std::vector<int>& choice, List& out) {
  std::map<int, std::size_t> owner;
  for (std::size_t f = 0; f < choice.size(); ++f) {
    if (choice[f] < 0) continue;
    for (int cell : p.functions[f].candidates[choice[f]].cells) {
      auto [it, free] = owner.try_emplace(cell, f);
      if (!free) {
        out.push_back(fmt::format("functions '{}' and '{}' both occupy cell {}", p.functions[it->second].name,
                                  p.functions[f].name, cell));
      }
    }
  }
}

void check_served(const Problem& p, const std::vector<Served>& list, const std::map<std::pair<int, int>, int>& due,
                  const char* what, std::vector<std::int64_t>& used, List& out) {
  std::set<std::pair<int, int>> seen;
  for (const Served& s : list) {
    auto need = due.find({s.function, s.cls});
    if (need == due.end()) {
      out.push_back(fmt::format("{} {} is given parts for class {} which it does not need", what, s.function, s.cls));
      continue;
    }
    if (!seen.insert(need->first).second) {
      out.push_back(fmt::format("{} {} is served twice for class {}", what, s.function, s.cls));
    }
    std::int64_t sum = 0;
    std::set<int> parts;
    for (const Take& take : s.takes) {
      const std::vector<int>& accepted = p.classes[s.cls].parts;
      if (std::find(accepted.begin(), accepted.end(), take.part) == accepted.end()) {
        out.push_back(fmt::format("{} {}: class {} does not accept part {}", what, s.function, s.cls, take.part));
        continue;
      }
      if (take.count <= 0) out.push_back(fmt::format("{} {} takes {} pieces", what, s.function, take.count));
      if (!parts.insert(take.part).second) {
        out.push_back(fmt::format("{} {} lists part {} twice", what, s.function, take.part));
      }
      used[take.part] += take.count;
      sum += take.count;
    }
    if (sum != need->second) {
      out.push_back(
          fmt::format("{} {} gets {} pieces of class {} and needs {}", what, s.function, sum, s.cls, need->second));
    }
  }
  for (const auto& [key, count] : due) {
    if (count > 0 && !seen.contains(key)) {
      out.push_back(fmt::format("{} {} is not served for class {}", what, key.first, key.second));
    }
  }
}

void check_assignment(const Problem& p, const Solution& s, List& out) {
  std::map<std::pair<int, int>, int> needs, reserves;
  for (std::size_t f = 0; f < s.choice.size(); ++f) {
    if (s.choice[f] < 0) continue;
    for (const Need& need : p.functions[f].candidates[s.choice[f]].needs) {
      needs[{static_cast<int>(f), need.cls}] = need.count;
    }
  }
  for (std::size_t r = 0; r < p.reserves.size(); ++r) {
    reserves[{static_cast<int>(r), p.reserves[r].cls}] = p.reserves[r].count;
  }
  std::vector<std::int64_t> used(p.parts.size(), 0);
  check_served(p, s.parts, needs, "function", used, out);
  check_served(p, s.reserves, reserves, "reserve", used, out);
  for (std::size_t i = 0; i < used.size(); ++i) {
    if (used[i] > p.parts[i].stock) {
      out.push_back(fmt::format("part '{}': {} pieces taken, {} in stock", p.parts[i].name, used[i], p.parts[i].stock));
    }
  }
}

struct Sums {
  std::int64_t weight = 0, penalty = 0, pieces = 0;
  int margin = INT_MAX;
  std::vector<std::int64_t> budget;
};

Sums sums_of(const Problem& p, const std::vector<int>& choice) {
  Sums s;
  s.budget.assign(p.budgets.size(), 0);
  for (std::size_t f = 0; f < choice.size(); ++f) {
    const Function& function = p.functions[f];
    if (choice[f] < 0) {
      s.weight += function.skip->weight;
      s.penalty += function.skip->penalty;
      s.margin = std::min(s.margin, function.skip->margin);
      continue;
    }
    const Candidate& c = function.candidates[choice[f]];
    s.margin = std::min(s.margin, c.margin);
    for (const Need& need : c.needs) s.pieces += need.count;
    for (std::size_t b = 0; b < p.budgets.size(); ++b) s.budget[b] += c.use[b];
  }
  return s;
}

void check_stages(const Problem& p, const Solution& s, const Sums& sums, List& out) {
  bool first_budget = true, all_proven = true;
  for (const StageReport& report : s.stages) {
    std::int64_t value = 0;
    switch (report.stage.kind) {
      case StageKind::least_dropped_weight:
        value = sums.weight;
        break;
      case StageKind::best_worst_margin:
        value = sums.margin;
        break;
      case StageKind::fewest_parts:
        value = sums.pieces;
        break;
      case StageKind::least_budget:
        for (std::size_t b = 0; b < p.budgets.size(); ++b) {
          if (p.budgets[b].name == report.stage.budget) value = sums.budget[b] + (first_budget ? sums.penalty : 0);
        }
        first_budget = false;
        break;
    }
    if (value != report.value) out.push_back(fmt::format("a stage reports {} but is {}", report.value, value));
    if (report.proven && report.bound != report.value) out.push_back("a proven stage has a gap");
    const bool maximised = report.stage.kind == StageKind::best_worst_margin;
    if (maximised ? report.bound < report.value : report.bound > report.value) {
      out.push_back(fmt::format("a stage's bound {} is passed by its value {}", report.bound, report.value));
    }
    all_proven &= report.proven;
  }
  if (s.status == Status::optimal && !all_proven) out.push_back("called optimal with an unproven stage");
}

}  // namespace

std::vector<std::string> check_choice(const Problem& p, const std::vector<int>& choice) {
  List out = check_range(p, choice);
  if (!out.empty()) return out;
  for (std::size_t f = 0; f < choice.size(); ++f) {
    const Function& function = p.functions[f];
    if (function.locked >= 0 && choice[f] != function.locked) {
      out.push_back(
          fmt::format("function '{}' is locked to candidate {}, not {}", function.name, function.locked, choice[f]));
    }
    if (choice[f] >= 0 && function.candidates[choice[f]].margin < function.floor) {
      out.push_back(fmt::format("function '{}': margin {} is below the floor {}", function.name,
                                function.candidates[choice[f]].margin, function.floor));
    }
  }
  const Sums sums = sums_of(p, choice);
  for (std::size_t b = 0; b < p.budgets.size(); ++b) {
    if (sums.budget[b] > p.budgets[b].limit) {
      out.push_back(
          fmt::format("budget '{}': {} used, limit {}", p.budgets[b].name, sums.budget[b], p.budgets[b].limit));
    }
  }
  check_cells(p, choice, out);
  const std::map<int, std::int64_t> wanted = wanted_pieces(p, choice);
  if (const std::int64_t missing = Server(p, wanted).missing(); missing > 0) {
    out.push_back(fmt::format("the stock cannot serve {} of the pieces needed", missing));
  }
  return out;
}

std::vector<std::string> check_solution(const Problem& p, const Solution& s) {
  List out;
  const bool answered = s.status == Status::optimal || s.status == Status::feasible_with_gap;
  if (!answered) {
    if (!s.choice.empty() || !s.parts.empty()) out.push_back("no answer is claimed, yet one is given");
    return out;
  }
  out = check_choice(p, s.choice);
  if (!check_range(p, s.choice).empty()) return out;
  const Sums sums = sums_of(p, s.choice);
  if (sums.margin != s.worst_margin) {
    out.push_back(fmt::format("worst margin is {}, reported {}", sums.margin, s.worst_margin));
  }
  if (sums.weight != s.dropped_weight) out.push_back("the dropped weight is reported wrongly");
  if (sums.penalty != s.penalty) out.push_back("the penalty is reported wrongly");
  if (sums.pieces != s.parts_used) out.push_back("the pieces used are reported wrongly");
  if (sums.budget != s.budget_totals) out.push_back("budget totals are reported wrongly");
  check_assignment(p, s, out);
  check_stages(p, s, sums, out);
  return out;
}

}  // namespace allocation
