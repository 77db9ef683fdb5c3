// Building: items, rows, and the root node of a probe.
#include "allocation/engine.h"

#include <algorithm>
#include <numeric>

#include "allocation/serve.h"
#include "base/check.h"

namespace allocation {
namespace {

/// Row values and capacities are held in 32 bits with room to add and subtract.
constexpr std::int64_t kMostRowValue = std::int64_t{1} << 28;
/// Node costs are doubles holding whole numbers; a wider range is searched in steps of a larger unit.
constexpr std::int64_t kMostCostRange = std::int64_t{1} << 40;
/// Cells get a row each up front while there are few distinct ones.
constexpr std::size_t kMostCellRows = 256;

std::int32_t clip(std::int64_t v) {
  return static_cast<std::int32_t>(std::clamp<std::int64_t>(v, -1, kMostRowValue));
}

}  // namespace

std::int64_t Quantity::of(const std::vector<int>& choice) const {
  std::int64_t sum = 0;
  for (std::size_t f = 0; f < choice.size(); ++f) sum += of(static_cast<int>(f), choice[f]);
  return sum;
}

Engine::Engine(const Problem& problem, Control& control)
    : problem_(problem), control_(control), hall_(make_hall_system(problem, control.options().max_listed_rows)) {
  control_.stats().hall_rows = static_cast<int>(hall_.rows.size());
  KW_CHECK(problem.budgets.size() < kMostQuantities / 2, "too many budgets");
  budget_quantity_.resize(problem.budgets.size());
  for (std::size_t b = 0; b < problem.budgets.size(); ++b) {
    for (const Function& f : problem.functions) {
      std::vector<std::int64_t> value{0};
      value.reserve(f.candidates.size() + 1);
      for (const Candidate& c : f.candidates) value.push_back(c.use[b]);
      budget_quantity_[b].value.push_back(std::move(value));
    }
  }
  for (std::size_t b = 0; b < problem.budgets.size(); ++b) {
    if (problem.budgets[b].limit == INT64_MAX) continue;
    budget_limits_.push_back({&budget_quantity_[b], problem.budgets[b].limit, static_cast<int>(b)});
  }
  list_items();
  class_rows_.resize(problem.classes.size());
  for (const HallRow& hall_row : hall_.rows) {
    Row row;
    row.cap = hall_row.cap;
    row.inside.assign(problem.classes.size(), 0);
    for (int k : hall_row.classes) {
      row.inside[k] = 1;
      class_rows_[k].push_back(static_cast<int>(rows_.size()));
    }
    rows_.push_back(std::move(row));
  }
  list_cells();
  stride_ = (static_cast<int>(rows_.size()) + 16 + kernel::kLane - 1) / kernel::kLane * kernel::kLane;
  caps_.assign(stride_, static_cast<std::int32_t>(kMostRowValue));
  for (std::size_t r = 0; r < rows_.size(); ++r) caps_[r] = clip(rows_[r].cap);
}

void Engine::list_items() {
  items_.resize(problem_.functions.size());
  int top = INT_MAX;
  for (std::size_t f = 0; f < items_.size(); ++f) {
    const Function& function = problem_.functions[f];
    FunctionItems& it = items_[f];
    auto margin_of = [&](int c) { return c == kSkipped ? function.skip->margin : function.candidates[c].margin; };
    for (int c = 0; c < static_cast<int>(function.candidates.size()); ++c) {
      if (function.locked >= 0 && c != function.locked) continue;
      if (function.candidates[c].margin >= function.floor) it.order.push_back(c);
    }
    if (function.skip && function.locked < 0) it.order.push_back(kSkipped);
    std::stable_sort(it.order.begin(), it.order.end(), [&](int a, int b) { return margin_of(a) > margin_of(b); });
    for (int c : it.order) it.margin.push_back(margin_of(c));
    top = it.order.empty() ? INT_MIN : std::min(top, it.margin.front());
  }
  for (const FunctionItems& it : items_) {
    for (int m : it.margin) {
      if (m <= top) thresholds_.push_back(m);
    }
  }
  if (items_.empty()) thresholds_.push_back(INT_MAX);
  std::sort(thresholds_.begin(), thresholds_.end(), std::greater<>());
  thresholds_.erase(std::unique(thresholds_.begin(), thresholds_.end()), thresholds_.end());
}

/// A cell that candidates of two functions occupy is a row of capacity 1. Cells with the same users share one row.
void Engine::list_cells() {
  std::map<int, std::vector<std::pair<int, int>>> users;
  for (std::size_t f = 0; f < items_.size(); ++f) {
    for (int c : items_[f].order) {
      if (c == kSkipped) continue;
      for (int cell : problem_.functions[f].candidates[c].cells) users[cell].emplace_back(static_cast<int>(f), c);
    }
  }
  std::map<std::vector<std::pair<int, int>>, int> distinct;
  for (auto& [cell, list] : users) {
    if (list.empty() || list.front().first == list.back().first) continue;
    auto [it, fresh] = distinct.try_emplace(list, 0);
    if (!fresh) {
      cell_row_[cell] = it->second;
      continue;
    }
    if (distinct.size() > kMostCellRows) {
      cells_complete_ = false;
      return;
    }
    it->second = static_cast<int>(rows_.size());
    cell_row_[cell] = it->second;
    Row row;
    row.cap = 1;
    row.cell = cell;
    rows_.push_back(std::move(row));
  }
}

std::int32_t Engine::row_value(const Row& row, int f, int candidate) const {
  if (candidate == kSkipped) return 0;
  const Candidate& c = problem_.functions[f].candidates[candidate];
  if (row.inside.empty()) return std::binary_search(c.cells.begin(), c.cells.end(), row.cell) ? 1 : 0;
  std::int32_t sum = 0;
  for (const Need& need : c.needs) sum += row.inside[need.cls] ? need.count : 0;
  return sum;
}

/// A row found during the search. Rows already built for items get the new column.
void Engine::add_row(Row row) {
  ++control_.stats().added_rows;
  const int r = static_cast<int>(rows_.size());
  if (r >= stride_) {
    const int wider = stride_ * 3 / 2 / kernel::kLane * kernel::kLane + kernel::kLane;
    for (FunctionItems& it : items_) {
      std::vector<std::int32_t> moved(it.built * static_cast<std::size_t>(wider), 0);
      for (std::size_t i = 0; i < it.built; ++i) {
        std::copy_n(it.rows.begin() + static_cast<std::ptrdiff_t>(i * stride_), stride_,
                    moved.begin() + static_cast<std::ptrdiff_t>(i * wider));
      }
      it.rows = std::move(moved);
    }
    stride_ = wider;
    caps_.resize(stride_, static_cast<std::int32_t>(kMostRowValue));
  }
  caps_[r] = clip(row.cap);
  for (std::size_t k = 0; k < row.inside.size(); ++k) {
    if (row.inside[k]) class_rows_[k].push_back(r);
  }
  rows_.push_back(std::move(row));
  for (std::size_t f = 0; f < items_.size(); ++f) {
    FunctionItems& it = items_[f];
    for (std::size_t i = 0; i < it.built; ++i) {
      const std::int32_t v = row_value(rows_[r], static_cast<int>(f), it.order[i]);
      it.rows[i * stride_ + r] = v;
      if (v > caps_[r]) it.dead[i] = 1;
    }
  }
}

void Engine::build_rows(int f, std::size_t count) {
  FunctionItems& it = items_[f];
  if (count <= it.built) return;
  it.rows.resize(count * stride_, 0);
  it.dead.resize(count, 0);
  for (std::size_t i = it.built; i < count; ++i) {
    const int candidate = it.order[i];
    if (candidate == kSkipped) continue;
    std::int32_t* v = it.rows.data() + i * stride_;
    const Candidate& c = problem_.functions[f].candidates[candidate];
    for (const Need& need : c.needs) {
      for (int r : class_rows_[need.cls]) v[r] += need.count;
    }
    for (int cell : c.cells) {
      if (auto row = cell_row_.find(cell); row != cell_row_.end()) v[row->second] = 1;
    }
    it.dead[i] = kernel::any_above(v, caps_.data(), stride_) ? 1 : 0;
  }
  it.built = count;
}

void Engine::warm(Node& node, const std::vector<float>& prices) const {
  node.price.assign(node.row_id.size(), 0.0F);
  for (std::size_t i = 0; i < node.row_id.size(); ++i) {
    if (node.row_id[i] < static_cast<int>(prices.size())) node.price[i] = prices[node.row_id[i]];
  }
}

void Engine::remember(const Node& node, std::vector<float>& prices) {
  if (node.row_id.empty()) return;
  std::fill(prices.begin(), prices.end(), 0.0F);
  for (std::size_t i = 0; i < node.row_id.size(); ++i) {
    if (node.row_id[i] >= static_cast<int>(prices.size())) prices.resize(node.row_id[i] + 1, 0.0F);
    prices[node.row_id[i]] = node.price[i];
  }
}

Engine::Built Engine::build(int threshold, const std::vector<Limit>& limits, const Limit* cost, std::int64_t cost_most,
                            const Allowed& allowed, Node& out) {
  ++control_.stats().probes;
  const int n = static_cast<int>(items_.size()), n_rows = static_cast<int>(rows_.size());
  std::vector<std::int64_t> cap(n_rows);
  for (int r = 0; r < n_rows; ++r) {
    cap[r] = off_.empty() || !off_[r] ? rows_[r].cap : kMostRowValue;
    if (cap[r] < 0) return Built::refuted;
  }
  std::vector<Limit> lines = limits;
  if (cost != nullptr) lines.push_back({cost->quantity, cost_most, cost->id});

  std::vector<std::vector<int>> alive(n);
  for (int f = 0; f < n; ++f) {
    FunctionItems& it = items_[f];
    const auto admitted = static_cast<std::size_t>(
        std::partition_point(it.margin.begin(), it.margin.end(), [&](int m) { return m >= threshold; }) -
        it.margin.begin());
    build_rows(f, admitted);
    for (std::size_t i = 0; i < admitted; ++i) {
      if ((!it.dead[i] || !off_.empty()) && (!allowed || allowed(f, it.order[i])))
        alive[f].push_back(static_cast<int>(i));
    }
    if (alive[f].empty()) return Built::refuted;
  }

  std::vector<std::vector<std::int32_t>> low(n, std::vector<std::int32_t>(stride_)), high = low;
  std::vector<std::vector<std::int64_t>> line_low(n, std::vector<std::int64_t>(lines.size())), line_high = line_low;
  std::vector<std::int64_t> base(n_rows, 0), line_base(lines.size(), 0);
  std::vector<std::int32_t> room(stride_, static_cast<std::int32_t>(kMostRowValue));
  std::vector<char> dirty(n, 1);
  for (bool changed = true; changed;) {
    changed = false;
    for (int f = 0; f < n; ++f) {
      if (!dirty[f]) continue;
      dirty[f] = 0;
      const FunctionItems& it = items_[f];
      const std::int32_t* first = it.rows.data() + static_cast<std::size_t>(alive[f][0]) * stride_;
      std::copy_n(first, stride_, low[f].begin());
      std::copy_n(first, stride_, high[f].begin());
      for (int i : alive[f]) {
        kernel::widen(low[f].data(), high[f].data(), it.rows.data() + static_cast<std::size_t>(i) * stride_, stride_);
      }
      for (std::size_t l = 0; l < lines.size(); ++l) {
        line_low[f][l] = INT64_MAX;
        line_high[f][l] = 0;
        for (int i : alive[f]) {
          const std::int64_t v = lines[l].quantity->of(f, it.order[i]);
          line_low[f][l] = std::min(line_low[f][l], v);
          line_high[f][l] = std::max(line_high[f][l], v);
        }
      }
    }
    std::fill(base.begin(), base.end(), 0);
    std::fill(line_base.begin(), line_base.end(), 0);
    for (int f = 0; f < n; ++f) {
      for (int r = 0; r < n_rows; ++r) base[r] += low[f][r];
      for (std::size_t l = 0; l < lines.size(); ++l) line_base[l] += line_low[f][l];
    }
    for (int r = 0; r < n_rows; ++r) {
      if (base[r] > cap[r]) return Built::refuted;
    }
    for (std::size_t l = 0; l < lines.size(); ++l) {
      if (line_base[l] > lines[l].most) return Built::refuted;
    }
    for (int f = 0; f < n; ++f) {
      bool tight = false;
      for (int r = 0; r < n_rows; ++r) {
        room[r] = clip(cap[r] - base[r] + low[f][r]);
        tight |= high[f][r] > room[r];
      }
      for (std::size_t l = 0; l < lines.size(); ++l) {
        tight |= line_high[f][l] > lines[l].most - line_base[l] + line_low[f][l];
      }
      if (!tight) continue;
      const FunctionItems& it = items_[f];
      auto gone = [&](int i) {
        for (std::size_t l = 0; l < lines.size(); ++l) {
          if (lines[l].quantity->of(f, it.order[i]) > lines[l].most - line_base[l] + line_low[f][l]) return true;
        }
        return kernel::any_above(it.rows.data() + static_cast<std::size_t>(i) * stride_, room.data(), stride_);
      };
      alive[f].erase(std::remove_if(alive[f].begin(), alive[f].end(), gone), alive[f].end());
      if (alive[f].empty()) return Built::refuted;
      dirty[f] = 1;
      changed = true;
    }
  }

  out.row_id.clear();
  out.cap.clear();
  out.choice.assign(n, kUndecided);
  out.cost_base = 0;
  std::vector<int> active;
  for (int r = 0; r < n_rows; ++r) {
    std::int64_t most = 0;
    for (int f = 0; f < n; ++f) most += high[f][r];
    if (most <= cap[r]) continue;
    active.push_back(r);
    out.row_id.push_back(kMostQuantities + r);
    out.cap.push_back(clip(cap[r] - base[r]));
  }
  const std::size_t structural = active.size();
  std::vector<int> active_line;
  std::vector<std::int64_t> line_step;
  for (std::size_t l = 0; l < limits.size(); ++l) {
    std::int64_t most = 0;
    for (int f = 0; f < n; ++f) most += line_high[f][l];
    if (most <= lines[l].most) continue;
    const std::int64_t left = lines[l].most - line_base[l];
    // A limit too wide for 32 bits becomes a slightly weaker row (rounded down); accept() tests the true one.
    const std::int64_t step = left / kMostRowValue + 1;
    active_line.push_back(static_cast<int>(l));
    line_step.push_back(step);
    out.row_id.push_back(lines[l].id);
    out.cap.push_back(static_cast<std::int32_t>(left / step));
  }
  const std::size_t cost_line = limits.size();
  if (cost != nullptr) {
    cost_offset_ = line_base[cost_line];
    std::int64_t range = 0;
    for (int f = 0; f < n; ++f) range = std::max(range, line_high[f][cost_line] - line_low[f][cost_line]);
    cost_step_ = range / kMostCostRange + 1;
  }

  out.n_blocks = 0;
  for (int f = 0; f < n; ++f) {
    const FunctionItems& it = items_[f];
    const int size = static_cast<int>(alive[f].size());
    if (size == 1) {
      out.choice[f] = it.order[alive[f][0]];
      continue;
    }
    if (out.n_blocks == static_cast<int>(out.blocks.size())) out.blocks.emplace_back();
    Block& block = out.blocks[out.n_blocks++];
    block.function = f;
    block.settled = false;
    block.n = size;
    block.stride = (size + kernel::kLane - 1) / kernel::kLane * kernel::kLane;
    block.candidate.resize(size);
    block.cost.assign(block.stride, 0.0);
    block.d.resize(out.row_id.size() * block.stride);
    for (int c = 0; c < block.stride; ++c) {
      const int i = alive[f][c < size ? c : 0];
      const std::int32_t* v = it.rows.data() + static_cast<std::size_t>(i) * stride_;
      if (c < size) block.candidate[c] = it.order[i];
      for (std::size_t a = 0; a < structural; ++a) block.d[a * block.stride + c] = v[active[a]] - low[f][active[a]];
      for (std::size_t a = 0; a < active_line.size(); ++a) {
        const int l = active_line[a];
        block.d[(structural + a) * block.stride + c] =
            static_cast<std::int32_t>((lines[l].quantity->of(f, it.order[i]) - line_low[f][l]) / line_step[a]);
      }
      if (cost != nullptr) {
        block.cost[c] = static_cast<double>((cost->quantity->of(f, it.order[i]) - line_low[f][cost_line]) / cost_step_);
      }
    }
  }
  out.price.assign(out.row_id.size(), 0.0F);
  return Built::ready;
}

std::vector<Engine::RowMeaning> Engine::row_meanings(const Allowed& allowed) {
  std::vector<RowMeaning> out(rows_.size());
  for (std::size_t r = 0; r < rows_.size(); ++r) {
    out[r].cap = rows_[r].cap;
    out[r].least.assign(items_.size(), 0);
    if (r < hall_.rows.size()) {
      out[r].types = hall_.rows[r].types;
    } else if (rows_[r].inside.empty()) {
      out[r].cell = rows_[r].cell;
    }
  }
  for (std::size_t f = 0; f < items_.size(); ++f) {
    FunctionItems& it = items_[f];
    build_rows(static_cast<int>(f), it.order.size());
    std::vector<std::int32_t> low(stride_, static_cast<std::int32_t>(kMostRowValue)), high(stride_, 0);
    bool any = false;
    for (std::size_t i = 0; i < it.order.size(); ++i) {
      if (allowed && !allowed(static_cast<int>(f), it.order[i])) continue;
      any = true;
      kernel::widen(low.data(), high.data(), it.rows.data() + i * stride_, stride_);
    }
    for (std::size_t r = 0; r < rows_.size() && any; ++r) out[r].least[f] = low[r];
  }
  return out;
}

std::optional<int> Engine::shared_cell(const std::vector<int>& choice) const {
  std::vector<int> cells;
  for (std::size_t f = 0; f < choice.size(); ++f) {
    if (choice[f] == kSkipped) continue;
    const std::vector<int>& own = problem_.functions[f].candidates[choice[f]].cells;
    cells.insert(cells.end(), own.begin(), own.end());
  }
  std::sort(cells.begin(), cells.end());
  auto twice = std::adjacent_find(cells.begin(), cells.end());
  if (twice == cells.end()) return std::nullopt;
  return *twice;
}

Verdict Engine::accept(const std::vector<int>& choice, const std::vector<Limit>& limits) {
  for (const Limit& limit : limits) {
    if (limit.quantity->of(choice) > limit.most) return Verdict::rejected;
  }
  bool added = false;
  if (!cells_complete_) {
    if (auto cell = shared_cell(choice)) {
      KW_CHECK(!cell_row_.contains(*cell), "a cell row did not hold");
      Row row;
      row.cap = 1;
      row.cell = *cell;
      cell_row_[*cell] = static_cast<int>(rows_.size());
      add_row(std::move(row));
      added = true;
    }
  }
  if (!hall_.complete) {
    const FlowResult flow = serve_needs(hall_, needs_of_choice(problem_, hall_, choice));
    for (const std::vector<int>& types : flow.violated) {
      const HallRow hall_row = make_hall_row(hall_, types);
      Row row;
      row.cap = hall_row.cap;
      row.inside.assign(problem_.classes.size(), 0);
      for (int k : hall_row.classes) row.inside[k] = 1;
      add_row(std::move(row));
      added = true;
    }
  }
  return added ? Verdict::new_rows : Verdict::accepted;
}

}  // namespace allocation
