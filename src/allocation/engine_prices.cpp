// Prices of rows and budgets as proofs, and short lists of the candidates that are cheap at some prices.
#include <algorithm>
#include <cmath>
#include <limits>

#include "allocation/engine.h"
#include "base/check.h"

namespace allocation {
namespace {

/// What all capacities together cost, about. A candidate that fits by itself never costs more.
constexpr double kWorth = 1099511627776.0;  // 2^40

/// Sums of whole numbers held in doubles stay below it: 2^51.
constexpr double kExact = 2251799813685248.0;

/// As a limit for values, which are held in 32 bits.
std::int32_t whole_cap(std::int64_t cap) {
  return static_cast<std::int32_t>(std::min<std::int64_t>(cap, INT32_MAX - 1));
}

}  // namespace

/// Shares of the whole become whole numbers per piece or unit, rounded down: any whole numbers prove exactly.
Engine::Prices Engine::whole_prices(const std::vector<double>& row, const std::vector<double>& budget) const {
  Prices out;
  double total = 0;
  for (std::size_t r = 0; r < rows_.size(); ++r) total += row[r] * static_cast<double>(rows_[r].cap);
  for (std::size_t b = 0; b < budget.size(); ++b) {
    if (budget[b] > 0) total += budget[b] * static_cast<double>(problem_.budgets[b].limit);
  }
  if (!(total > 0)) return out;
  for (std::size_t r = 0; r < rows_.size(); ++r) {
    out.row.push_back(static_cast<std::int64_t>(std::floor(row[r] / total * kWorth)));
    out.worth += out.row[r] * rows_[r].cap;
  }
  for (std::size_t b = 0; b < budget.size(); ++b) {
    out.budget.push_back(static_cast<std::int64_t>(std::floor(budget[b] / total * kWorth)));
    if (out.budget[b] > 0) out.worth += out.budget[b] * problem_.budgets[b].limit;
  }
  return out;
}

Engine::Prices Engine::last_prices() const {
  std::vector<double> row(rows_.size(), 0), budget(problem_.budgets.size(), 0);
  if (priced_) {
    for (std::size_t r = 0; r < row.size() && kMostQuantities + r < margin_prices_.size(); ++r) {
      if (rows_[r].cap > 0) row[r] = margin_prices_[kMostQuantities + r];
    }
    for (const Limit& limit : budget_limits_) {
      if (static_cast<std::size_t>(limit.id) < margin_prices_.size()) budget[limit.id] = margin_prices_[limit.id];
    }
  } else if (refuting_row_ >= 0 && rows_[refuting_row_].cap > 0) {
    row[refuting_row_] = 1;
  } else if (refuting_budget_ >= 0 && static_cast<std::size_t>(refuting_budget_) < budget.size()) {
    budget[refuting_budget_] = 1;
  }
  return whole_prices(row, budget);
}

Engine::Prices Engine::even_prices() const {
  std::vector<double> row(rows_.size(), 0), budget(problem_.budgets.size(), 0);
  for (std::size_t r = 0; r < row.size(); ++r) {
    if (rows_[r].cap > 0) row[r] = 1.0 / static_cast<double>(rows_[r].cap);
  }
  for (const Limit& limit : budget_limits_) {
    if (limit.most > 0) budget[limit.id] = 1.0 / static_cast<double>(limit.most);
  }
  return whole_prices(row, budget);
}

std::int64_t Engine::least_cost(int f, const Prices& prices, int n, bool& fresh) {
  FunctionItems& it = items_[f];
  build_all_rows(f);
  const Function& function = problem_.functions[f];
  std::vector<std::int32_t> gone = mask_of(it);
  std::vector<int> rows;
  std::vector<double> weight, sum(it.all.room(), 0.0);
  for (std::size_t r = 0; r < prices.row.size(); ++r) {
    if (prices.row[r] == 0) continue;
    rows.push_back(static_cast<int>(r));
    weight.push_back(static_cast<double>(prices.row[r]));
    it.all.mask_above(static_cast<int>(r), whole_cap(rows_[r].cap), gone);
  }
  it.all.add_weighted(rows, weight, sum);  // exact: what fits by itself costs at most about 2^40
  std::vector<std::pair<std::int64_t, int>> costs;
  for (int i = 0; i < it.all.size(); ++i) {
    if (gone[i] != 0) continue;
    auto cost = static_cast<std::int64_t>(sum[i]);
    bool fits = true;
    for (std::size_t b = 0; b < prices.budget.size() && fits; ++b) {
      if (prices.budget[b] == 0) continue;
      const std::int64_t use = function.candidates[it.order[it.item[i]]].use[b];
      fits = use <= problem_.budgets[b].limit;
      if (fits) cost += prices.budget[b] * use;
    }
    if (fits) costs.emplace_back(cost, i);
  }
  if (costs.empty()) return kImpossible;
  const auto cheapest = costs.begin() + std::min<std::ptrdiff_t>(std::max(n, 1), std::ssize(costs));
  std::partial_sort(costs.begin(), cheapest, costs.end());
  for (auto c = costs.begin(); c != cheapest && n > 0; ++c) {
    const int before = it.short_list.size();
    add_short(it, c->second);
    fresh |= it.short_list.size() > before;
  }
  return costs.front().first;
}

void Engine::add_to_short_lists(const std::vector<int>& choice) {
  for (std::size_t f = 0; f < choice.size(); ++f) {
    if (choice[f] != kSkipped) add_short(items_[f], column_of(static_cast<int>(f), choice[f]));
  }
}

int Engine::column_of(int f, int candidate) {
  build_all_rows(f);
  const FunctionItems& it = items_[f];
  return it.column[std::find(it.order.begin(), it.order.end(), candidate) - it.order.begin()];
}

int Engine::beside(const std::vector<int>& choice, int f) {
  KW_CHECK(choice[f] == kSkipped, "the function has its place already");
  std::vector<std::int64_t> left(rows_.size());
  for (std::size_t r = 0; r < rows_.size(); ++r) left[r] = rows_[r].cap;
  for (std::size_t g = 0; g < choice.size(); ++g) {
    if (choice[g] == kSkipped) continue;
    const int i = column_of(static_cast<int>(g), choice[g]);
    for (std::size_t r = 0; r < rows_.size(); ++r) left[r] -= items_[g].all.at(static_cast<int>(r), i);
  }
  FunctionItems& it = items_[f];
  build_all_rows(f);
  std::vector<std::int32_t> gone = mask_of(it);
  std::vector<int> rows(rows_.size());
  std::vector<double> weight(rows_.size()), share(it.all.room(), 0.0);
  for (std::size_t r = 0; r < rows_.size(); ++r) {
    if (left[r] < 0) return kSkipped;
    it.all.mask_above(static_cast<int>(r), whole_cap(left[r]), gone);
    rows[r] = static_cast<int>(r);
    weight[r] = 1.0 / static_cast<double>(left[r] + 1);
  }
  for (const Limit& limit : budget_limits_) {
    const std::int64_t room = limit.most - limit.quantity->of(choice);
    for (int i = 0; i < it.all.size(); ++i) {
      if (gone[i] == 0 && limit.quantity->of(f, it.order[it.item[i]]) > room) gone[i] = INT32_MAX;
    }
  }
  it.all.add_weighted(rows, weight, share);
  int best = -1;
  for (int i = 0; i < it.all.size(); ++i) {
    if (gone[i] == 0 && (best < 0 || share[i] < share[best])) best = i;
  }
  if (best < 0) return kSkipped;
  std::vector<int> with = choice;
  with[f] = it.order[it.item[best]];
  return accept(with, budget_limits_) == Verdict::accepted ? with[f] : kSkipped;
}

/// Leaves out, by the prices of the last search for this cost, the candidates that no choice of cost <= most can hold:
/// L(p) = sum of min_c (cost_c + p . d_c) - p . cap bounds every choice for all p >= 0 (search_cost.cpp). Whole numbers
/// throughout. False = no choice is that cheap.
bool Engine::cheap_enough(const Limit& cost, std::int64_t most, int none_from, std::vector<Domain>& domain) const {
  if (priced_cost_ != cost.id || priced_cost_step_ != 1) return true;
  std::vector<int> rows;
  std::vector<double> weight;
  double size = 1 + static_cast<double>(std::max<std::int64_t>(most, 0)), paid = 0;
  for (std::size_t r = 0; r < rows_.size() && kMostQuantities + r < cost_prices_.size(); ++r) {
    const double price = cost_prices_[kMostQuantities + r];
    if (price <= 0) continue;
    rows.push_back(static_cast<int>(r));
    weight.push_back(price);
    double values = static_cast<double>(rows_[r].cap);
    for (const Domain& d : domain) values += d.high[r];
    size += (price + 1) * values;
  }
  for (std::size_t f = 0; f < domain.size(); ++f)
    size += static_cast<double>(cost.quantity->most_of(static_cast<int>(f)));
  double unit = 1;
  for (int bits = 0; bits < 16 && size * unit * 2 < kExact; ++bits) unit *= 2;
  if (size * unit >= kExact) return true;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    weight[i] = std::floor(weight[i] * unit);
    paid += weight[i] * static_cast<double>(rows_[rows[i]].cap);
  }
  std::vector<std::vector<double>> sum(domain.size());
  std::vector<double> least(domain.size(), std::numeric_limits<double>::infinity());
  double value = -paid;
  for (std::size_t f = 0; f < domain.size(); ++f) {
    const Domain& d = domain[f];
    const std::vector<std::int64_t>& costs = cost.quantity->value[f];
    if (d.columns == nullptr) {
      least[f] = static_cast<double>(costs[0]) * unit;
    } else {
      sum[f].assign(d.columns->room(), 0.0);
      d.columns->add_weighted(rows, weight, sum[f]);
      for (int c = 0; c < d.columns->size(); ++c) {
        if (d.gone[c] != 0) continue;
        sum[f][c] += static_cast<double>(costs[static_cast<std::size_t>(items_[f].order[(*d.item)[c]] + 1)]) * unit;
        least[f] = std::min(least[f], sum[f][c]);
      }
    }
    value += least[f];
  }
  const double room = static_cast<double>(most) * unit - value;
  if (room < 0) return false;
  // What the cheapest newcomer costs above its function's cheapest, and the cheapest of another function.
  const auto is_new = [&](std::size_t f, int c) { return items_[f].margin[(*domain[f].item)[c]] < none_from; };
  double newcomer = 0, other = 0;
  std::size_t taker = domain.size();
  if (none_from != INT_MAX) {
    newcomer = other = std::numeric_limits<double>::infinity();
    for (std::size_t f = 0; f < domain.size(); ++f) {
      const Domain& d = domain[f];
      double above = std::numeric_limits<double>::infinity();
      if (d.columns == nullptr && margins_[f][0] < none_from) above = 0;
      for (int c = 0; d.columns != nullptr && c < d.columns->size(); ++c) {
        if (d.gone[c] == 0 && is_new(f, c)) above = std::min(above, sum[f][c] - least[f]);
      }
      if (above < newcomer) {
        other = newcomer;
        newcomer = above;
        taker = f;
      } else {
        other = std::min(other, above);
      }
    }
    if (newcomer > room) return false;
  }
  for (std::size_t f = 0; f < domain.size(); ++f) {
    Domain& d = domain[f];
    const double beside = f == taker ? other : newcomer;
    for (int c = 0; d.columns != nullptr && c < d.columns->size(); ++c) {
      if (d.gone[c] != 0) continue;
      const bool met = none_from == INT_MAX || is_new(f, c);
      if (sum[f][c] - least[f] + (met ? 0 : beside) <= room) continue;
      d.gone[c] = INT32_MAX;
      --d.left;
    }
    if (d.columns != nullptr && d.left == 0) return false;
  }
  return true;
}

}  // namespace allocation
