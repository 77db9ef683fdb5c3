// Search::find_any: surrogate row by multiplicative weights, branching on counts of scarce rows, swap local search.
#include <algorithm>
#include <cmath>

#include "allocation/search.h"
#include "base/check.h"

namespace allocation {
namespace {

/// Refute only when the float ratio is clearly above 1; the refutation is then checked in whole numbers anyway.
constexpr float kClearlyAbove = 1.0001F;
/// Whole-number prices are scaled so that all rows together cost at most 2^42; with up to 2048 functions sums stay
/// below 2^53.
constexpr double kPriceScale = 4398046511104.0;
/// Rows cheaper than this share of the total price are left out of the float sums: they cannot move the ratio visibly.
constexpr float kNegligible = 1e-6F;
/// Below the root every so many nodes get a swap search too; more often costs more than it finds.
constexpr std::int64_t kSwapEvery = 32;

}  // namespace

Node& Search::node(int depth) {
  while (static_cast<int>(memory_.nodes.size()) <= depth) memory_.nodes.emplace_back();
  return memory_.nodes[depth];
}

bool Search::tick() {
  if (!control_.tick()) return false;
  ++used_;
  if (cap_ > 0 && used_ > cap_) gave_up_ = true;
  return !gave_up_;
}

std::vector<int> Search::to_choice(const Node& a, const std::vector<int>& at) const {
  std::vector<int> choice = a.choice;
  for (int b = 0; b < a.n_blocks; ++b) choice[a.blocks[b].function] = a.blocks[b].candidate[at[b]];
  return choice;
}

Outcome Search::find_any(Node& root, std::int64_t node_cap, std::vector<int>& choice) {
  cap_ = node_cap;
  used_ = 0;
  gave_up_ = false;
  want_rows_ = false;
  std::swap(node(0), root);
  const Outcome out = find_below(0);
  std::swap(node(0), root);
  if (out == Outcome::found) choice = found_;
  return out;
}

Outcome Search::leaf(const Node& a) {
  std::vector<int> choice = a.choice;
  for (int b = 0; b < a.n_blocks; ++b) choice[a.blocks[b].function] = a.blocks[b].candidate[0];
  switch (accept_(choice)) {
    case Verdict::accepted:
      found_ = std::move(choice);
      return Outcome::found;
    case Verdict::new_rows:
      return Outcome::new_rows;
    case Verdict::rejected:
      break;
  }
  return Outcome::refuted;
}

/// Rows can no longer bind, yet the acceptance test says no (a limit too wide for the rows): try candidate by
/// candidate.
Outcome Search::split_singles(int depth, const std::function<Outcome(int)>& below) {
  int pick = 0;
  for (int b = 1; b < node(depth).n_blocks; ++b) {
    if (node(depth).blocks[b].n < node(depth).blocks[pick].n) pick = b;
  }
  for (int c = 0; c < node(depth).blocks[pick].n; ++c) {
    copy_with_candidate(node(depth), pick, c, node(depth + 1));
    const Outcome out = below(depth + 1);
    if (out != Outcome::refuted) return out;
  }
  return Outcome::refuted;
}

Outcome Search::find_below(int depth) {
  if (!tick()) return gave_up_ ? Outcome::gave_up : Outcome::stopped;
  node(depth + 1);  // grow the pool first: references stay valid in a deque, indices always do
  Node& a = node(depth);
  if (!propagate(a, kNoLimit)) return Outcome::refuted;
  if (a.n_rows() == 0) {
    const Outcome out = leaf(a);
    if (out != Outcome::refuted || a.n_blocks == 0) return out;
    return split_singles(depth, [this](int d) { return find_below(d); });
  }

  for (int round = 0; round < (depth == 0 ? 4 : 1); ++round) {
    bool found = false;
    const int before = a.n_rows();
    int size_before = 0, size_after = 0;
    for (int b = 0; b < a.n_blocks; ++b) size_before += a.blocks[b].n;
    const int steps = depth == 0 ? (round == 0 ? tuning.root_feasibility_steps : tuning.root_feasibility_steps / 3)
                                 : tuning.node_feasibility_steps;
    if (!surrogate(a, steps, found)) return Outcome::refuted;
    if (want_rows_) return Outcome::new_rows;
    if (found) return Outcome::found;
    if (!propagate(a, kNoLimit)) return Outcome::refuted;
    if (a.n_rows() == 0) {
      const Outcome out = leaf(a);
      if (out != Outcome::refuted || a.n_blocks == 0) return out;
      return split_singles(depth, [this](int d) { return find_below(d); });
    }
    for (int b = 0; b < a.n_blocks; ++b) size_after += a.blocks[b].n;
    if (size_after > size_before * 9 / 10 || (round > 0 && a.n_rows() == before)) break;
  }

  if (const Outcome out = sift_any(a); out != Outcome::gave_up) return out;
  std::vector<int> start(a.n_blocks, 0), choice;
  if (depth == 0 || used_ % kSwapEvery == 0) {
    rows_.clear();
    row_weight_.clear();
    for (int r = 0; r < a.n_rows(); ++r) {
      rows_.push_back(r);
      row_weight_.push_back(a.price[r]);
    }
    for (int b = 0; b < a.n_blocks; ++b) {
      const Block& block = a.blocks[b];
      sum_.assign(block.stride, 0.0F);
      kernel::add_weighted(sum_.data(), block.d.data(), block.stride, rows_.data(), row_weight_.data(), a.n_rows());
      start[b] = kernel::argmin(sum_.data(), block.stride);
    }
    if (swap_search(a, start, tuning.swap_moves, kNoLimit, choice)) {
      const Verdict verdict = accept_(choice);
      if (verdict == Verdict::new_rows) return Outcome::new_rows;
      if (verdict == Verdict::accepted) {
        found_ = std::move(choice);
        return Outcome::found;
      }
    }
  }

  int best_block = -1, best_row = -1;
  float best_score = -1;
  for (int r = 0; r < a.n_rows(); ++r) {
    const float price = a.price[r] + 1e-7F / static_cast<float>(a.cap[r]);
    for (int b = 0; b < a.n_blocks; ++b) {
      const float score = price * static_cast<float>(a.blocks[b].high[r]);
      if (a.blocks[b].high[r] > 0 && score > best_score) {
        best_score = score;
        best_block = b;
        best_row = r;
      }
    }
  }
  KW_CHECK(best_block >= 0, "an active row has no spread");
  const Block& block = a.blocks[best_block];
  const std::int32_t cut = (block.high[best_row] - 1) / 2;
  std::vector<char> low(block.n), high(block.n);
  for (int c = 0; c < block.n; ++c) {
    low[c] = block.row(best_row)[c] <= cut;
    high[c] = !low[c];
  }
  copy_with_subset(a, best_block, low, node(depth + 1));
  const Outcome out = find_below(depth + 1);
  if (out != Outcome::refuted) return out;
  copy_with_subset(node(depth), best_block, high, node(depth + 1));
  return find_below(depth + 1);
}

/// Prices u on the rows with u . cap = 1. Every choice within the rows satisfies sum of u . d <= 1, so when even the
/// cheapest candidates add up to more than 1 there is none. Multiplicative weights raise the price of overfull rows.
/// False = refuted. Leaves the best weights in node.price and removes candidates they exclude.
bool Search::surrogate(Node& a, int steps, bool& found) {
  const int n_rows = a.n_rows();
  std::vector<float> share(n_rows), inverse(n_rows), ratio(n_rows);
  float total = 0;
  for (int r = 0; r < n_rows; ++r) {
    inverse[r] = 1.0F / static_cast<float>(a.cap[r]);
    share[r] = a.price[r] * static_cast<float>(a.cap[r]);
    total += share[r];
  }
  for (int r = 0; r < n_rows; ++r) {
    share[r] = total > 0 ? 0.98F * share[r] / total : 0.0F;
    share[r] += (total > 0 ? 0.02F : 1.0F) / static_cast<float>(n_rows);
  }
  load_.begin(a);
  std::vector<float> best_share = share;
  float best = -1;
  int since = 0;
  float rate = 0.6F;
  for (int step = 0; step < steps; ++step) {
    ++control_.stats().price_steps;
    rows_.clear();
    row_weight_.clear();
    for (int r = 0; r < n_rows; ++r) {
      if (share[r] < kNegligible) continue;
      rows_.push_back(r);
      row_weight_.push_back(share[r] * inverse[r]);
    }
    float value = 0;
    for (int b = 0; b < a.n_blocks; ++b) {
      const Block& block = a.blocks[b];
      sum_.assign(block.stride, 0.0F);
      kernel::add_weighted(sum_.data(), block.d.data(), block.stride, rows_.data(), row_weight_.data(),
                           static_cast<int>(rows_.size()));
      const int c = kernel::argmin(sum_.data(), block.stride);
      value += sum_[c];
      load_.take(a, b, c);
    }
    if (value > best) {
      if (value > best * 1.002F) since = 0;
      best = value;
      best_share = share;
    }
    if (++since > 12) {
      rate *= 0.7F;
      since = 0;
    }
    bool fits = true;
    float worst = 0;
    for (int r = 0; r < n_rows; ++r) {
      fits &= load_.of(r) <= a.cap[r];
      ratio[r] = static_cast<float>(load_.of(r)) * inverse[r];
      worst = std::max(worst, std::fabs(ratio[r] - value));
    }
    if (fits) {
      std::vector<int> choice = to_choice(a, load_.at());
      const Verdict verdict = accept_(choice);
      if (verdict == Verdict::accepted) {
        found_ = std::move(choice);
        found = true;
        return true;
      }
      if (verdict == Verdict::new_rows) {
        want_rows_ = true;
        return true;
      }
    }
    if (best > kClearlyAbove) break;
    const float scale = rate / std::max(worst, 1e-6F);
    total = 0;
    for (int r = 0; r < n_rows; ++r) {
      const float x = scale * (ratio[r] - value);
      share[r] *= 1.0F + x + 0.5F * x * x;
      total += share[r];
    }
    for (int r = 0; r < n_rows; ++r) share[r] /= total;
  }
  for (int r = 0; r < n_rows; ++r) a.price[r] = best_share[r] * inverse[r];
  return surrogate_exact(a);
}

/// With whole-number prices: what the capacities are worth less what the cheapest candidates cost. reduced_ then holds
/// what each candidate costs above the cheapest of its block.
double Search::surrogate_room(const Node& a) {
  rows_.clear();
  std::vector<double> price;
  double room = 0;
  for (int r = 0; r < a.n_rows(); ++r) {
    const double p = std::floor(static_cast<double>(a.price[r]) * kPriceScale);
    if (p < 1) continue;
    rows_.push_back(r);
    price.push_back(p);
    room += p * a.cap[r];
  }
  reduced_.resize(std::max<std::size_t>(reduced_.size(), a.n_blocks));
  for (int b = 0; b < a.n_blocks; ++b) {
    const Block& block = a.blocks[b];
    std::vector<double>& sums = reduced_[b];
    sums.assign(block.stride, 0.0);
    kernel::add_weighted_exact(sums.data(), block.d.data(), block.stride, rows_.data(), price.data(),
                               static_cast<int>(rows_.size()));
    const double least = *std::min_element(sums.begin(), sums.begin() + block.n);
    for (double& sum : sums) sum -= least;
    room -= least;
  }
  return room;
}

/// Decides with whole-number prices: refuted, or which candidates cannot fit even beside the cheapest others.
bool Search::surrogate_exact(Node& a) {
  const double room = surrogate_room(a);
  if (room < 0) return false;
  std::vector<std::int32_t> dead;
  for (int b = 0; b < a.n_blocks; ++b) {
    dead.assign(a.blocks[b].stride, 0);
    for (int c = 0; c < a.blocks[b].n; ++c) dead[c] = reduced_[b][c] > room ? 1 : 0;
    keep_only(a, b, dead);
  }
  return true;
}

/// Settles a small node by the sieve; gave_up = it is too large.
Outcome Search::sift_any(const Node& a) {
  if (!small(a)) return Outcome::gave_up;
  const Sieve::Room room{surrogate_room(a), kNoLimit};
  if (room.priced < 0) return Outcome::refuted;
  if (Sieve::choices(a, reduced_, room.priced) > tuning.sieve_choices) return Outcome::gave_up;
  memory_.sieve.load(a, reduced_);
  Outcome out = Outcome::refuted;
  const Sieve::Take take = [&](const std::vector<int>& at) {
    std::vector<int> choice = to_choice(a, at);
    const Verdict verdict = accept_(choice);
    if (verdict == Verdict::rejected) return std::optional(room);
    out = verdict == Verdict::accepted ? Outcome::found : Outcome::new_rows;
    if (verdict == Verdict::accepted) found_ = std::move(choice);
    return std::optional<Sieve::Room>();
  };
  const Sieve::End end = memory_.sieve.run(room, tuning.sieve_steps, take);
  return end == Sieve::End::out_of_steps ? Outcome::gave_up : out;
}

bool Search::small(const Node& a) {
  const auto few = [](const Block& block) { return block.n <= Sieve::kMostCandidates; };
  return a.n_blocks > 0 && std::all_of(a.blocks.begin(), a.blocks.begin() + a.n_blocks, few);
}

/// Repairs a choice by single swaps; each row's excess is weighted, and weights of violated rows rise when no swap
/// helps. True = `choice` fits all rows of the node (and the cost limit).
bool Search::swap_search(Node& a, std::vector<int> at, int moves, double cost_limit, std::vector<int>& choice) {
  const int n_rows = a.n_rows();
  std::vector<std::int64_t> load(n_rows, 0);
  double cost = a.cost_base;
  for (int b = 0; b < a.n_blocks; ++b) {
    for (int r = 0; r < n_rows; ++r) load[r] += a.blocks[b].row(r)[at[b]];
    cost += a.blocks[b].cost[at[b]];
  }
  std::vector<float> weight(n_rows);
  for (int r = 0; r < n_rows; ++r) weight[r] = 1.0F / static_cast<float>(a.cap[r]);
  const bool costly = cost_limit < kNoLimit;
  double cost_weight = costly ? 4.0 / std::max(1.0, cost_limit - a.cost_base) : 0.0;
  std::vector<std::int32_t> room(n_rows);
  for (int move = 0; move < moves; ++move) {
    bool fits = !costly || cost <= cost_limit;
    for (int r = 0; r < n_rows && fits; ++r) fits = load[r] <= a.cap[r];
    if (fits) {
      choice = to_choice(a, at);
      return true;
    }
    float best_gain = 1e-7F;
    int best_block = -1, best_candidate = -1;
    for (int b = 0; b < a.n_blocks; ++b) {
      const Block& block = a.blocks[b];
      for (int r = 0; r < n_rows; ++r) {
        const std::int64_t left = a.cap[r] - (load[r] - block.row(r)[at[b]]);
        room[r] = static_cast<std::int32_t>(std::clamp<std::int64_t>(left, -(1 << 30), 1 << 30));
      }
      sum_.assign(block.stride, 0.0F);
      kernel::add_excess(sum_.data(), block.d.data(), block.stride, n_rows, room.data(), weight.data());
      if (costly) {
        const double base = cost - block.cost[at[b]] - cost_limit;
        for (int c = 0; c < block.stride; ++c) {
          const double over = base + block.cost[c];
          if (over > 0) sum_[c] += static_cast<float>(cost_weight * over);
        }
      }
      const int c = kernel::argmin(sum_.data(), block.stride);
      const float gain = sum_[at[b]] - sum_[c];
      if (gain > best_gain) {
        best_gain = gain;
        best_block = b;
        best_candidate = c;
      }
    }
    if (best_block < 0) {
      for (int r = 0; r < n_rows; ++r) {
        if (load[r] > a.cap[r]) weight[r] += 1.0F / static_cast<float>(a.cap[r]);
      }
      if (costly && cost > cost_limit) cost_weight *= 1.5;
      continue;
    }
    const Block& block = a.blocks[best_block];
    for (int r = 0; r < n_rows; ++r) load[r] += block.row(r)[best_candidate] - block.row(r)[at[best_block]];
    cost += block.cost[best_candidate] - block.cost[at[best_block]];
    at[best_block] = best_candidate;
  }
  return false;
}

}  // namespace allocation
