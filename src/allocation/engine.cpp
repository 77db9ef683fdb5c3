// Building: items, rows, and the root node of a probe.
#include "allocation/engine.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <span>
#include <tuple>

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

/// Candidates side by side in one piece of memory: few, so that a high threshold that admits few touches little.
constexpr int kChunkBits = 7, kShortChunkBits = 5;
/// With how many kept candidates another is compared before it is kept too.
constexpr std::size_t kMostCompared = 64;
/// Columns whose values are worked out side by side.
constexpr int kTogether = 16;

/// A bit each for the last rows that take anything, then for those that take more than one piece: what needs no more of
/// anything has no bit that the other lacks. Most comparisons end here.
std::uint64_t marks_of(std::span<const std::int64_t> rows) {
  std::uint64_t out = 0;
  const std::size_t first = std::min<std::size_t>(rows.size(), 64), second = std::min(rows.size(), 64 - first);
  for (std::size_t i = 0; i < first; ++i) out |= std::uint64_t{rows[rows.size() - 1 - i] > 0} << i;
  for (std::size_t i = 0; i < second; ++i) out |= std::uint64_t{rows[rows.size() - 1 - i] > 1} << (first + i);
  return out;
}

std::int32_t clip(std::int64_t v) {
  return static_cast<std::int32_t>(std::clamp<std::int64_t>(v, -1, kMostRowValue));
}

}  // namespace

std::int64_t Quantity::of(const std::vector<int>& choice) const {
  std::int64_t sum = 0;
  for (std::size_t f = 0; f < choice.size(); ++f) sum += of(static_cast<int>(f), choice[f]);
  return sum;
}

std::int64_t Quantity::most_of(int f) const {
  return *std::max_element(value[f].begin(), value[f].end());
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
  for (FunctionItems& it : items_) {
    it.all = Columns(static_cast<int>(rows_.size()), kChunkBits);
    it.short_list = Columns(static_cast<int>(rows_.size()), kShortChunkBits);
  }
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
    margins_.emplace_back(1, function.skip ? function.skip->margin : INT_MAX);
    for (const Candidate& c : function.candidates) margins_.back().push_back(c.margin);
    for (int c : it.order) {
      if (c == kSkipped) it.skip_at = static_cast<int>(it.margin.size());
      it.margin.push_back(margin_of(c));
    }
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
  cell_row_.assign(users.empty() ? 0 : static_cast<std::size_t>(users.rbegin()->first) + 1, -1);
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

/// A row found during the search. Columns already built get its values.
void Engine::add_row(Row row) {
  ++control_.stats().added_rows;
  const int r = static_cast<int>(rows_.size());
  for (std::size_t k = 0; k < row.inside.size(); ++k) {
    if (row.inside[k]) class_rows_[k].push_back(r);
  }
  rows_.push_back(std::move(row));
  for (std::size_t f = 0; f < items_.size(); ++f) {
    FunctionItems& it = items_[f];
    it.whole_known = false;
    it.of_dead.clear();
    it.all.add_row();
    it.short_list.add_row();
    for (int c = 0; c < it.all.size(); ++c) {
      const std::int32_t v = row_value(rows_[r], static_cast<int>(f), it.order[it.item[c]]);
      it.all.at(r, c) = v;
    }
    for (int c = 0; c < it.short_list.size(); ++c) it.short_list.at(r, c) = it.all.at(r, it.column[it.short_item[c]]);
  }
  caps_.clear();
}

/// Adds up an item's values in one column of the tile. False = it exceeds a row on its own; the rest is not filled.
bool Engine::fill_tile(int f, int position, int slot) {
  const int candidate = items_[f].order[position];
  if (candidate == kSkipped) return true;
  const Candidate& c = problem_.functions[f].candidates[candidate];
  bool dead = false;
  for (const Need& need : c.needs) {
    for (const int r : class_rows_[need.cls]) {
      std::int32_t& value = tile_[static_cast<std::size_t>(r) * kTogether + slot];
      value += need.count;
      dead |= value > caps_[r];
    }
  }
  for (const int cell : c.cells) {
    if (cell >= static_cast<int>(cell_row_.size()) || cell_row_[cell] < 0) continue;
    tile_[static_cast<std::size_t>(cell_row_[cell]) * kTogether + slot] = 1;  // its row has room for one
  }
  return !dead;
}

void Engine::clear_tile(int f, int position, int slot) {
  const Candidate& c = problem_.functions[f].candidates[items_[f].order[position]];
  for (const Need& need : c.needs) {
    for (const int r : class_rows_[need.cls]) tile_[static_cast<std::size_t>(r) * kTogether + slot] = 0;
  }
  for (const int cell : c.cells) {
    if (cell >= static_cast<int>(cell_row_.size()) || cell_row_[cell] < 0) continue;
    tile_[static_cast<std::size_t>(cell_row_[cell]) * kTogether + slot] = 0;
  }
}

void Engine::put_tile(FunctionItems& it, std::vector<int>& positions) {
  const int first = it.all.size();
  for (const int p : positions) {
    it.column[p] = it.all.add();
    it.item.push_back(p);
  }
  it.all.put(first, static_cast<int>(positions.size()), tile_, kTogether);
  positions.clear();
  std::fill(tile_.begin(), tile_.end(), 0);
}

/// Some columns at a time, in memory that stays close, row by row into place when they are complete.
void Engine::build_rows(int f, int count) {
  FunctionItems& it = items_[f];
  if (it.built >= count) return;
  it.column.resize(it.order.size(), -1);
  tile_.assign(rows_.size() * kTogether, 0);
  if (caps_.empty()) {
    for (const Row& row : rows_) caps_.push_back(clip(row.cap));
    class_cap_.assign(class_rows_.size(), INT32_MAX);
    for (std::size_t k = 0; k < class_rows_.size(); ++k) {
      for (const int r : class_rows_[k]) class_cap_[k] = std::min(class_cap_[k], caps_[r]);
    }
  }
  std::vector<int> living;
  const auto exceeds_at_once = [&](int candidate) {  // most dead ones do so by a single need
    if (candidate == kSkipped) return false;
    const std::vector<Need>& needs = problem_.functions[f].candidates[candidate].needs;
    return std::any_of(needs.begin(), needs.end(), [&](const Need& need) { return need.count > class_cap_[need.cls]; });
  };
  for (; it.built < count; ++it.built) {
    if (exceeds_at_once(it.order[it.built])) {
      it.dead.push_back(it.built);
      continue;
    }
    const int slot = static_cast<int>(living.size());
    if (fill_tile(f, it.built, slot)) {
      living.push_back(it.built);
      if (slot + 1 == kTogether) put_tile(it, living);
    } else {
      clear_tile(f, it.built, slot);
      it.dead.push_back(it.built);
    }
  }
  if (!living.empty()) put_tile(it, living);
}

/// What candidates would take that exceed a row on their own, for explanations.
void Engine::build_dead(int f) {
  build_all_rows(f);
  FunctionItems& it = items_[f];
  if (it.of_dead.size() == static_cast<int>(it.dead.size())) return;
  it.of_dead = Columns(static_cast<int>(rows_.size()), kChunkBits);
  for (std::size_t first = 0; first < it.dead.size(); first += kTogether) {
    const int n = static_cast<int>(std::min(it.dead.size() - first, static_cast<std::size_t>(kTogether)));
    tile_.assign(rows_.size() * kTogether, 0);
    for (int i = 0; i < n; ++i) {
      fill_tile(f, it.dead[first + i], i);
      it.of_dead.add();
    }
    it.of_dead.put(static_cast<int>(first), n, tile_, kTogether);
  }
}

void Engine::add_short(FunctionItems& it, int column) {
  const int position = it.item[column];
  it.is_short.resize(it.order.size(), 0);
  if (it.is_short[position]) return;
  it.is_short[position] = 1;
  const int c = it.short_list.add();
  it.short_item.push_back(position);
  for (int r = 0; r < it.all.rows(); ++r) it.short_list.at(r, c) = it.all.at(r, column);
}

void Engine::measure(Domain& d, const std::vector<int>& rows) {
  d.columns->ranges(rows, d.gone, d.left, d.low, d.high);
}

/// What may be taken of a function before other functions have a say. False = nothing.
bool Engine::domain_of(int f, int threshold, int allowed, Domain& out) {
  FunctionItems& it = items_[f];
  while (all_rows_.size() < rows_.size()) all_rows_.push_back(static_cast<int>(all_rows_.size()));
  const auto admitted =
      static_cast<int>(std::partition_point(it.margin.begin(), it.margin.end(), [&](int m) { return m >= threshold; }) -
                       it.margin.begin());
  if (allowed == kSkipped) {
    out.left = it.skip_at >= 0 && it.skip_at < admitted ? 1 : 0;
    out.measured = out.left;
    out.low.assign(rows_.size(), 0);
    out.high.assign(rows_.size(), 0);
    return out.left > 0;
  }
  build_rows(f, admitted);
  // Masks what may not be taken.
  const auto admit = [&](Domain& d) {
    d.gone.assign(d.columns->room(), INT32_MAX);
    d.left = 0;
    int last = -1;
    for (int c = 0; c < d.columns->size(); ++c) {
      const int p = (*d.item)[c];
      if (p >= admitted || (p == it.skip_at && allowed != kAnything)) continue;
      d.gone[c] = 0;
      last = c;
      ++d.left;
    }
    d.measured = d.left;
    if (d.left == 0) return;
    if (d.columns == &it.all && last + 1 == d.left) {  // columns stand by falling margin
      it.all.ranges_of_first(d.left, all_rows_, d.low, d.high);
    } else {
      measure(d, all_rows_);
    }
  };
  if (allowed == kShortListed) {
    out.columns = &it.short_list;
    out.item = &it.short_item;
    admit(out);
    return out.left > 0;
  }
  KW_CHECK(allowed == kAnything || allowed == kAnyCandidate, "no such sort of domain");
  const bool with_skip = allowed == kAnything;
  if (!it.whole_known || it.whole_admitted != admitted || it.whole_skip != with_skip) {
    it.whole.columns = &it.all;
    it.whole.item = &it.item;
    admit(it.whole);
    it.whole_known = true;
    it.whole_admitted = admitted;
    it.whole_skip = with_skip;
  }
  out = it.whole;
  return out.left > 0;
}

void Engine::warm(Node& node, const std::vector<float>& prices) const {
  node.price.assign(node.row_id.size(), 0.0F);
  for (std::size_t i = 0; i < node.row_id.size(); ++i) {
    if (node.row_id[i] < static_cast<int>(prices.size())) node.price[i] = prices[node.row_id[i]];
  }
}

void Engine::warm_cost(Node& node, const Limit& cost) {
  if (priced_cost_ != cost.id) cost_prices_.clear();
  priced_cost_ = cost.id;
  warm(node, cost_prices_);
}

void Engine::remember_cost(const Node& node) {
  remember(node, cost_prices_);
  priced_cost_step_ = cost_step_;
}

/// A true cost as a limit for a node's; below 0 when no choice is that cheap.
double Engine::node_cost(std::int64_t most) const {
  return most < cost_offset_ ? -1.0 : static_cast<double>((most - cost_offset_) / cost_step_);
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
                            const Allowed& allowed, Node& out, int none_from) {
  ++control_.stats().probes;
  refuting_row_ = refuting_budget_ = -1;
  const int n = static_cast<int>(items_.size()), n_rows = static_cast<int>(rows_.size());
  std::vector<std::int64_t> cap(n_rows);
  for (int r = 0; r < n_rows; ++r) {
    cap[r] = tight_caps_.empty() ? rows_[r].cap : tight_caps_[r];
    if (cap[r] < 0) return Built::refuted;
  }
  std::vector<Limit> lines = limits;
  if (cost != nullptr) lines.push_back({cost->quantity, cost_most, cost->id});

  std::vector<Domain> domain(n);
  for (int f = 0; f < n; ++f) {
    if (!domain_of(f, threshold, allowed.empty() ? kAnything : allowed[f], domain[f])) return Built::refuted;
  }

  // Rows that might bind; the others are left aside from here on.
  std::vector<int> open;
  for (int r = 0; r < n_rows; ++r) {
    std::int64_t most = 0;
    for (const Domain& d : domain) most += d.high[r];
    if (most > cap[r]) open.push_back(r);
  }
  if (cost != nullptr && !cheap_enough(*cost, cost_most, none_from, domain)) return Built::refuted;

  std::vector<std::vector<std::int64_t>> line_low(n, std::vector<std::int64_t>(lines.size())), line_high = line_low;
  std::vector<std::int64_t> base(n_rows, 0), line_base(lines.size(), 0);
  std::vector<char> dirty(n, 1);
  // Per function, what is left: columns, and the candidates they stand for.
  std::vector<std::vector<int>> column(n), candidate(n);
  const auto list_left = [&](int f) {
    column[f].clear();
    candidate[f].clear();
    const Domain& d = domain[f];
    if (d.columns == nullptr) {
      column[f].push_back(0);
      candidate[f].push_back(kSkipped);
      return;
    }
    for (int c = 0; c < d.columns->size(); ++c) {
      if (d.gone[c] != 0) continue;
      column[f].push_back(c);
      candidate[f].push_back(items_[f].order[(*d.item)[c]]);
    }
  };
  for (bool changed = true; changed;) {
    changed = false;
    for (int f = 0; f < n; ++f) {
      if (!dirty[f]) continue;
      dirty[f] = 0;
      if (domain[f].left < domain[f].measured) measure(domain[f], open);
      domain[f].measured = domain[f].left;
      list_left(f);
      for (std::size_t l = 0; l < lines.size(); ++l) {
        const std::vector<std::int64_t>& value = lines[l].quantity->value[f];
        std::int64_t least = INT64_MAX, most = 0;
        for (const int c : candidate[f]) {
          const std::int64_t v = value[static_cast<std::size_t>(c + 1)];
          least = std::min(least, v);
          most = std::max(most, v);
        }
        line_low[f][l] = least;
        line_high[f][l] = most;
      }
    }
    std::fill(base.begin(), base.end(), 0);
    std::fill(line_base.begin(), line_base.end(), 0);
    for (int f = 0; f < n; ++f) {
      for (const int r : open) base[r] += domain[f].low[r];
      for (std::size_t l = 0; l < lines.size(); ++l) line_base[l] += line_low[f][l];
    }
    for (const int r : open) {
      if (base[r] <= cap[r]) continue;
      refuting_row_ = r;
      return Built::refuted;
    }
    for (std::size_t l = 0; l < lines.size(); ++l) {
      if (line_base[l] <= lines[l].most) continue;
      refuting_budget_ = lines[l].id;
      return Built::refuted;
    }
    for (int f = 0; f < n; ++f) {
      Domain& d = domain[f];
      bool tight = false;
      for (std::size_t l = 0; l < lines.size(); ++l) {
        const std::int64_t room = lines[l].most - line_base[l] + line_low[f][l];
        if (line_high[f][l] <= room) continue;
        tight = true;
        if (d.columns == nullptr) continue;  // its only item: within every limit, or the sum would not be
        for (std::size_t c = 0; c < column[f].size(); ++c) {
          if (lines[l].quantity->of(f, candidate[f][c]) > room) d.gone[column[f][c]] = INT32_MAX;
        }
      }
      for (const int r : open) {
        const std::int32_t room = clip(cap[r] - base[r] + d.low[r]);
        if (d.high[r] <= room) continue;
        tight = true;
        d.columns->mask_above(r, room, d.gone);
      }
      if (!tight || d.columns == nullptr) continue;
      d.left = static_cast<int>(std::count(d.gone.begin(), d.gone.begin() + d.columns->size(), 0));
      if (d.left == 0) return Built::refuted;
      dirty[f] = 1;
      changed = true;
    }
  }

  const auto holds_newcomer = [&](int f) {
    return std::any_of(candidate[f].begin(), candidate[f].end(),
                       [&](int c) { return margins_[f][static_cast<std::size_t>(c + 1)] < none_from; });
  };
  bool any_newcomer = none_from == INT_MAX;
  for (int f = 0; f < n && !any_newcomer; ++f) any_newcomer = holds_newcomer(f);
  if (!any_newcomer) return Built::refuted;

  out.newcomer = false;
  out.margin_above = INT_MIN;
  out.row_id.clear();
  out.cap.clear();
  out.choice.assign(n, kUndecided);
  out.cost_base = 0;
  std::vector<int> active;
  for (const int r : open) {
    std::int64_t most = 0;
    for (int f = 0; f < n; ++f) most += domain[f].high[r];
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
  std::vector<const std::int32_t*> from;  // a column's values
  for (int f = 0; f < n; ++f) {
    const Domain& d = domain[f];
    const int size = d.left;
    if (size == 1) {
      out.choice[f] = candidate[f][0];
      continue;
    }
    if (out.n_blocks == static_cast<int>(out.blocks.size())) out.blocks.emplace_back();
    Block& block = out.blocks[out.n_blocks++];
    block.function = f;
    block.settled = false;
    block.n = size;
    block.stride = (size + kernel::kLane - 1) / kernel::kLane * kernel::kLane;
    block.candidate = candidate[f];
    block.cost.assign(block.stride, 0.0);
    block.d.resize(out.row_id.size() * block.stride);
    column[f].resize(block.stride, column[f][0]);
    candidate[f].resize(block.stride, candidate[f][0]);
    from.clear();
    for (const int c : column[f]) from.push_back(d.columns->column(c));
    for (std::size_t a = 0; a < structural; ++a) {
      std::int32_t* to = block.row(static_cast<int>(a));
      const std::int32_t low = d.low[active[a]];
      const std::ptrdiff_t row = active[a] * d.columns->row_step();
      for (int c = 0; c < block.stride; ++c) to[c] = from[c][row] - low;
    }
    for (std::size_t a = 0; a < active_line.size(); ++a) {
      const int l = active_line[a];
      const std::int64_t low = line_low[f][l], step = line_step[a];
      std::int32_t* to = block.row(static_cast<int>(structural + a));
      for (int c = 0; c < block.stride; ++c) {
        const std::int64_t above = lines[l].quantity->of(f, candidate[f][c]) - low;
        to[c] = static_cast<std::int32_t>(step == 1 ? above : above / step);
      }
    }
    for (int c = 0; c < block.stride && cost != nullptr; ++c) {
      block.cost[c] =
          static_cast<double>((cost->quantity->of(f, candidate[f][c]) - line_low[f][cost_line]) / cost_step_);
    }
  }
  out.price.assign(out.row_id.size(), 0.0F);
  return Built::ready;
}

/// Masks the skip.
std::vector<std::int32_t> Engine::mask_of(const FunctionItems& it) const {
  std::vector<std::int32_t> gone(it.all.room(), INT32_MAX);
  for (int c = 0; c < it.all.size(); ++c) {
    if (it.item[c] != it.skip_at) gone[c] = 0;
  }
  return gone;
}

std::vector<Engine::RowMeaning> Engine::row_meanings() {
  while (all_rows_.size() < rows_.size()) all_rows_.push_back(static_cast<int>(all_rows_.size()));
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
  std::vector<std::int32_t> low, high, low_of_dead;
  for (std::size_t f = 0; f < items_.size(); ++f) {
    FunctionItems& it = items_[f];
    build_dead(static_cast<int>(f));
    std::vector<std::int32_t> gone = mask_of(it);
    const bool any = std::find(gone.begin(), gone.end(), 0) != gone.end();
    const auto left = static_cast<int>(std::count(gone.begin(), gone.end(), 0));
    if (any) it.all.ranges(all_rows_, gone, left, low, high);
    if (!any) low.assign(rows_.size(), INT32_MAX);
    if (!it.dead.empty()) {
      it.of_dead.ranges_of_first(it.of_dead.size(), all_rows_, low_of_dead, high);
      for (std::size_t r = 0; r < rows_.size(); ++r) low[r] = std::min(low[r], low_of_dead[r]);
    }
    if (!any && it.dead.empty()) continue;
    for (std::size_t r = 0; r < rows_.size(); ++r) out[r].least[f] = low[r];
  }
  return out;
}

std::vector<int> Engine::exceeded_rows(const std::vector<int>& choice) const {
  std::vector<int> out;
  for (std::size_t r = 0; r < rows_.size(); ++r) {
    std::int64_t sum = 0;
    for (std::size_t f = 0; f < choice.size(); ++f) sum += row_value(rows_[r], static_cast<int>(f), choice[f]);
    if (sum > rows_[r].cap) out.push_back(static_cast<int>(r));
  }
  return out;
}

Problem Engine::with_rows(const std::vector<int>& rows, const std::vector<char>& in,
                          std::vector<std::vector<int>>& origin) {
  Problem out;
  const int n_rows = static_cast<int>(rows.size()), width = n_rows + static_cast<int>(budget_limits_.size());
  for (int i = 0; i < n_rows; ++i) {
    out.parts.push_back({"", static_cast<int>(kMostRowValue) - 1});
    out.classes.push_back({"", {i}});
  }
  for (const Limit& limit : budget_limits_) out.budgets.push_back({"", limit.most});
  origin.clear();
  for (std::size_t f = 0; f < items_.size(); ++f) {
    if (!in[f]) continue;
    const FunctionItems& it = items_[f];
    build_dead(static_cast<int>(f));
    // Values of all candidates one after the other; equal ones stand together once sorted, the living first.
    std::vector<std::int64_t> values(it.order.size() * width, 0);
    const auto copy = [&](const Columns& columns, const std::vector<int>& position) {
      for (int c = 0; c < columns.size(); ++c) {
        const std::int32_t* from = columns.column(c);
        std::int64_t* to = values.data() + static_cast<std::ptrdiff_t>(position[c]) * width;
        for (int i = 0; i < n_rows; ++i) to[i] = from[rows[i] * columns.row_step()];
      }
    };
    copy(it.all, it.item);
    copy(it.of_dead, it.dead);
    std::vector<std::pair<std::int64_t, int>> by_sum;  // sum of the values; position
    by_sum.reserve(it.order.size());
    for (std::size_t p = 0; p < it.order.size(); ++p) {
      if (it.order[p] == kSkipped) continue;
      std::int64_t* v = values.data() + p * width;
      for (std::size_t b = 0; b < budget_limits_.size(); ++b) {
        v[n_rows + b] = budget_limits_[b].quantity->of(static_cast<int>(f), it.order[p]);
      }
      by_sum.emplace_back(std::accumulate(v, v + width, std::int64_t{0}), static_cast<int>(p));
    }
    const auto key = [&](int p) { return std::span(values.data() + static_cast<std::size_t>(p) * width, width); };
    std::sort(by_sum.begin(), by_sum.end(), [&](const auto& a, const auto& b) {
      if (a.first != b.first) return a.first < b.first;
      const auto va = key(a.second), vb = key(b.second);
      const auto [x, y] = std::mismatch(va.begin(), va.end(), vb.begin());
      if (x != va.end()) return *x < *y;
      const bool dead_a = it.column[a.second] < 0, dead_b = it.column[b.second] < 0;
      return std::tie(dead_a, a.second) < std::tie(dead_b, b.second);
    });
    Function small;
    small.skip = Skip{};
    small.floor = INT_MIN;
    origin.emplace_back();
    std::vector<int> kept;
    std::vector<std::uint64_t> kept_marks;
    for (const auto& [sum, p] : by_sum) {  // whatever needs less than another stands before it
      const auto own = key(p);
      const std::uint64_t own_marks = marks_of(own.first(n_rows));
      const auto no_more = [&](std::size_t i) {
        if ((kept_marks[i] & ~own_marks) != 0) return false;
        const auto other = key(kept[i]);
        return std::equal(other.begin(), other.end(), own.begin(),
                          [](std::int64_t a, std::int64_t b) { return a <= b; });
      };
      bool spared = !kept.empty() && no_more(kept.size() - 1);
      for (std::size_t i = 0; i < std::min(kept.size(), kMostCompared) && !spared; ++i) spared = no_more(i);
      if (spared) continue;
      kept.push_back(p);
      kept_marks.push_back(own_marks);
      Candidate candidate;
      candidate.margin = INT_MAX;
      candidate.needs.reserve(n_rows - std::count(own.begin(), own.begin() + n_rows, 0));
      for (int r = 0; r < n_rows; ++r) {
        if (own[r] > 0) candidate.needs.push_back({r, static_cast<int>(own[r])});
      }
      candidate.use.assign(own.begin() + n_rows, own.end());
      small.candidates.push_back(std::move(candidate));
      origin.back().push_back(it.order[p]);
    }
    out.functions.push_back(std::move(small));
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
      if (*cell >= static_cast<int>(cell_row_.size())) cell_row_.resize(static_cast<std::size_t>(*cell) + 1, -1);
      KW_CHECK(cell_row_[*cell] < 0, "a cell row did not hold");
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
