// Search::minimise: Lagrangian bound with scaled Polyak steps, reduced-cost removal, smallest domain first.
#include <algorithm>
#include <cmath>
#include <numeric>

#include "allocation/search.h"
#include "base/check.h"

namespace allocation {
namespace {

/// All whole-number sums stay below this, so double arithmetic on them is exact.
constexpr double kExactRange = 2251799813685248.0;  // 2^51
/// Finest fraction of a cost unit used for whole-number prices.
constexpr int kMostFractionBits = 16;

}  // namespace

Search::CostResult Search::minimise(Node& root, const CostQuestion& question, std::vector<int>& choice,
                                    std::int64_t& cost) {
  question_ = question;
  limit_ = question.limit;
  improved_ = false;
  want_rows_ = false;
  open_bound_ = kNoLimit;
  cap_ = question.node_cap;
  used_ = 0;
  gave_up_ = false;
  std::swap(node(0), root);
  const Outcome out = cheapest_below(0);
  std::swap(node(0), root);
  if (improved_) {
    choice = found_;
    cost = best_cost_;
  }
  CostResult result;
  result.outcome = out;
  result.improved = improved_;
  result.bound = open_bound_;
  return result;
}

bool Search::tighten(Node& root, double limit) {
  question_ = {};
  limit_ = limit;
  if (!propagate(root, limit_)) return false;
  double bound = 0;
  lagrange(root, tuning.root_cost_steps);
  return lagrange_exact(root, root.price, bound) && propagate(root, limit_);
}

/// Takes a choice that fits the node's rows; keeps it when it is accepted and cheaper than anything so far.
void Search::offer(const std::vector<int>& choice) {
  if (!question_.exact_cost) return;
  const std::int64_t cost = question_.exact_cost(choice);
  if (cost > question_.must_not_exceed || (improved_ && cost >= best_cost_)) return;
  const Verdict verdict = accept_(choice);
  if (verdict == Verdict::new_rows) want_rows_ = true;
  if (verdict != Verdict::accepted) return;
  improved_ = true;
  best_cost_ = cost;
  found_ = choice;
  limit_ = std::min(limit_, question_.limit_below(cost));
}

/// What an offer just made demands of the search: refuted = nothing, go on.
Outcome Search::pending() const {
  if (want_rows_) return Outcome::new_rows;
  if (improved_ && question_.first_only) return Outcome::found;
  return Outcome::refuted;
}

Outcome Search::cheapest_below(int depth) {
  node(depth + 1);
  Node& a = node(depth);
  if (!tick()) {
    open_bound_ = a.cost_base;
    return gave_up_ ? Outcome::gave_up : Outcome::stopped;
  }
  if (!propagate(a, limit_)) return Outcome::refuted;

  double bound = a.cost_base;
  for (int round = 0; round < (depth == 0 ? 4 : 1) && a.n_blocks > 0; ++round) {
    int before = 0, after = 0;
    for (int b = 0; b < a.n_blocks; ++b) before += a.blocks[b].n;
    lagrange(a, depth == 0 ? tuning.root_cost_steps : tuning.node_cost_steps);
    if (const Outcome out = pending(); out != Outcome::refuted) return out;
    if (!lagrange_exact(a, a.price, bound)) return Outcome::refuted;
    if (!propagate(a, limit_)) return Outcome::refuted;
    for (int b = 0; b < a.n_blocks; ++b) after += a.blocks[b].n;
    if (depth == 0 && round == 0 && a.n_blocks > 0) {
      std::vector<int> start(a.n_blocks, 0), choice;
      rows_.resize(a.n_rows());
      std::iota(rows_.begin(), rows_.end(), 0);
      for (int b = 0; b < a.n_blocks; ++b) {
        const Block& block = a.blocks[b];
        sum_.assign(block.cost.begin(), block.cost.end());
        kernel::add_weighted(sum_.data(), block.d.data(), block.stride, rows_.data(), a.price.data(), a.n_rows());
        start[b] = kernel::argmin(sum_.data(), block.stride);
      }
      while (limit_ < kNoLimit && swap_search(a, start, tuning.swap_moves, limit_, choice)) {
        const double limit_before = limit_;
        offer(choice);
        if (const Outcome out = pending(); out != Outcome::refuted) return out;
        if (limit_ >= limit_before) break;
      }
      if (!propagate(a, limit_)) return Outcome::refuted;
    }
    if (after > before * 9 / 10) break;
  }
  if (a.n_rows() == 0 || a.n_blocks == 0) {
    std::vector<int> at(a.n_blocks, 0);
    for (int b = 0; b < a.n_blocks; ++b) {
      const Block& block = a.blocks[b];
      at[b] = static_cast<int>(std::min_element(block.cost.begin(), block.cost.begin() + block.n) - block.cost.begin());
    }
    const double limit_before = limit_;
    offer(to_choice(a, at));
    if (const Outcome out = pending(); out != Outcome::refuted) return out;
    if (a.n_blocks == 0 || limit_ < std::min(limit_before, a.cost_base)) return Outcome::refuted;
  }

  int pick = 0;
  for (int b = 1; b < a.n_blocks; ++b) {
    if (a.blocks[b].n < a.blocks[pick].n) pick = b;
  }
  // Children in order of their bound: cost + priced rows of each candidate beside the cheapest others.
  const Block& block = a.blocks[pick];
  std::vector<double> priced(block.cost.begin(), block.cost.begin() + block.n);
  for (int r = 0; r < a.n_rows(); ++r) {
    const double price = a.price[r];
    if (price == 0) continue;
    for (int c = 0; c < block.n; ++c) priced[c] += price * block.row(r)[c];
  }
  std::vector<int> order(block.n);
  std::iota(order.begin(), order.end(), 0);
  std::stable_sort(order.begin(), order.end(), [&](int x, int y) { return priced[x] < priced[y]; });
  for (int c : order) {
    copy_with_candidate(node(depth), pick, c, node(depth + 1));
    const Outcome out = cheapest_below(depth + 1);
    if (out == Outcome::refuted) continue;
    if (out == Outcome::stopped || out == Outcome::gave_up) open_bound_ = bound;
    return out;
  }
  return Outcome::refuted;
}

/// L(p) = cost_base + sum over blocks of min_c (cost_c + p . d_c) - p . cap is a lower bound for every p >= 0. Polyak
/// steps towards the limit, each row scaled by its capacity. Choices met on the way that fit are offered.
void Search::lagrange(Node& a, int steps) {
  const int n_rows = a.n_rows();
  std::vector<float> inverse(n_rows), scaled(n_rows), best_scaled(n_rows), direction(n_rows, 0.0F);
  for (int r = 0; r < n_rows; ++r) {
    inverse[r] = 1.0F / static_cast<float>(a.cap[r]);
    scaled[r] = a.price[r] * static_cast<float>(a.cap[r]);
  }
  best_scaled = scaled;
  std::vector<std::vector<float>> cost(a.n_blocks);
  float spread = 0;
  for (int b = 0; b < a.n_blocks; ++b) {
    cost[b].assign(a.blocks[b].cost.begin(), a.blocks[b].cost.end());
    spread += *std::max_element(cost[b].begin(), cost[b].end());
  }
  std::vector<int> at(a.n_blocks, -1);
  std::vector<std::int64_t> load(n_rows, 0);
  float best = -1e30F, theta = 1.0F;
  int since = 0;
  for (int step = 0; step < steps; ++step) {
    ++control_.stats().price_steps;
    rows_.clear();
    row_weight_.clear();
    float value = 0;
    for (int r = 0; r < n_rows; ++r) {
      if (scaled[r] <= 0) continue;
      rows_.push_back(r);
      row_weight_.push_back(scaled[r] * inverse[r]);
      value -= scaled[r];
    }
    bool moved = false;
    for (int b = 0; b < a.n_blocks; ++b) {
      const Block& block = a.blocks[b];
      sum_ = cost[b];
      kernel::add_weighted(sum_.data(), block.d.data(), block.stride, rows_.data(), row_weight_.data(),
                           static_cast<int>(rows_.size()));
      const int c = kernel::argmin(sum_.data(), block.stride);
      value += sum_[c];
      if (c == at[b]) continue;
      moved = true;
      const std::int32_t* d = block.d.data();
      for (int r = 0; r < n_rows; ++r) {
        load[r] += d[static_cast<std::size_t>(r) * block.stride + c];
        if (at[b] >= 0) load[r] -= d[static_cast<std::size_t>(r) * block.stride + at[b]];
      }
      at[b] = c;
    }
    const float target = limit_ < kNoLimit ? static_cast<float>(limit_ - a.cost_base) + 1.0F : spread * 0.5F;
    if (value > best) {
      best = value;
      best_scaled = scaled;
      since = 0;
    } else if (++since >= 15) {
      theta *= 0.7F;
      since = 0;
    }
    if (limit_ < kNoLimit && best > target) break;
    bool fits = true;
    float norm = 0;
    for (int r = 0; r < n_rows; ++r) {
      const float g = (static_cast<float>(load[r]) - static_cast<float>(a.cap[r])) * inverse[r];
      fits &= load[r] <= a.cap[r];
      direction[r] = scaled[r] <= 0 && g < 0 ? 0.0F : g;
      norm += direction[r] * direction[r];
    }
    if (fits && moved) {
      offer(to_choice(a, at));
      if (pending() != Outcome::refuted) break;
    }
    if (norm < 1e-12F) break;
    const float length = theta * std::max(target - value, 1e-3F) / norm;
    for (int r = 0; r < n_rows; ++r) scaled[r] = std::max(0.0F, scaled[r] + length * direction[r]);
  }
  for (int r = 0; r < n_rows; ++r) a.price[r] = best_scaled[r] * inverse[r];
}

/// The bound with whole-number prices (fractions 2^-k of a cost unit): refuted, or candidates too dear are removed.
bool Search::lagrange_exact(Node& a, const std::vector<float>& price, double& bound) {
  const int n_rows = a.n_rows();
  double size = 1;
  for (int r = 0; r < n_rows; ++r) {
    double most = a.cap[r];
    for (int b = 0; b < a.n_blocks; ++b) most += a.blocks[b].high[r];
    size += (static_cast<double>(price[r]) + 1) * most;
  }
  for (int b = 0; b < a.n_blocks; ++b) {
    size += *std::max_element(a.blocks[b].cost.begin(), a.blocks[b].cost.begin() + a.blocks[b].n);
  }
  if (limit_ < kNoLimit) size += std::fabs(limit_ - a.cost_base);
  double unit = 1;
  for (int bits = 0; bits < kMostFractionBits && size * unit * 2 < kExactRange; ++bits) unit *= 2;
  if (size * unit >= kExactRange) return true;  // too large to decide exactly: keep everything

  rows_.clear();
  std::vector<double> whole;
  double paid = 0;
  for (int r = 0; r < n_rows; ++r) {
    const double p = std::floor(static_cast<double>(price[r]) * unit);
    if (p < 1) continue;
    rows_.push_back(r);
    whole.push_back(p);
    paid += p * a.cap[r];
  }
  std::vector<std::vector<double>> sums(a.n_blocks);
  std::vector<double> least(a.n_blocks);
  double value = -paid;
  for (int b = 0; b < a.n_blocks; ++b) {
    const Block& block = a.blocks[b];
    sums[b].resize(block.stride);
    for (int c = 0; c < block.stride; ++c) sums[b][c] = block.cost[c] * unit;
    kernel::add_weighted_exact(sums[b].data(), block.d.data(), block.stride, rows_.data(), whole.data(),
                               static_cast<int>(rows_.size()));
    least[b] = *std::min_element(sums[b].begin(), sums[b].begin() + block.n);
    value += least[b];
  }
  bound = std::max(bound, a.cost_base + std::ceil(value / unit));
  if (limit_ >= kNoLimit) return true;
  const double room = (limit_ - a.cost_base) * unit;
  if (value > room) return false;
  std::vector<std::int32_t> dead;
  for (int b = 0; b < a.n_blocks; ++b) {
    const double most = room - value + least[b];
    dead.assign(a.blocks[b].stride, 0);
    bool any = false;
    for (int c = 0; c < a.blocks[b].n; ++c) {
      dead[c] = sums[b][c] > most ? 1 : 0;
      any |= dead[c] != 0;
    }
    if (any) keep_only(a, b, dead);
  }
  return true;
}

}  // namespace allocation
