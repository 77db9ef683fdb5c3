// Search::minimise: Lagrangian bound with scaled Polyak steps, reduced-cost removal, smallest domain first.
#include <algorithm>
#include <array>
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
/// Pricing ends after so many steps that together brought the bound no nearer to the limit than by this share. Fewer
/// end it before the step length suits the gap; more bring the bound up by a thousandth.
constexpr int kMostIdle = 30;
constexpr float kIdleShare = 0.01F;
constexpr float kWarmTheta = 0.25F;
/// Rows that cost and the priced rows imply are looked for at these prices: parts of the row's largest value for the
/// whole room. More of them find few more rows.
constexpr std::array<int, 3> kImplyEighths = {10, 20, 6};
/// Rooms and what candidates cost above the cheapest are rounded down to so many bits, values and prices to 32.
constexpr int kChargeBits = 10;
constexpr std::int32_t kMostImplied = 1 << 15;
/// A smallest block up to this is tried candidate by candidate, a larger one is halved.
constexpr int kMostOneByOne = 4;

}  // namespace

void Search::begin(const CostQuestion& question) {
  question_ = question;
  limit_ = question.limit;
  improved_ = false;
  margin_above_ = INT_MIN;
  want_rows_ = false;
  open_bound_ = kNoLimit;
  cap_ = question.node_cap;
  used_ = 0;
  gave_up_ = false;
}

Search::CostResult Search::minimise(Node& root, const CostQuestion& question, std::vector<int>& choice,
                                    std::int64_t& cost) {
  begin(question);
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

Outcome Search::first_within(Node& root, const CostQuestion& question, std::vector<int>& choice) {
  begin(question);
  improved_ = true;
  found_ = choice;
  std::swap(node(0), root);
  const Outcome out = cheapest_below(0);
  std::swap(node(0), root);
  if (out != Outcome::new_rows) choice = found_;
  return out;
}

/// Leaves out what has no larger margin than the best choice found. False = no choice below this node has one.
bool Search::rise(Node& a) const {
  const auto none = [&](int f, int c) { return question_.newcomers.of(f, c) <= margin_above_; };
  for (std::size_t f = 0; f < a.choice.size(); ++f) {
    if (a.choice[f] != kUndecided && none(static_cast<int>(f), a.choice[f])) return false;
  }
  for (int b = 0; b < a.n_blocks; ++b) {
    const Block& block = a.blocks[b];
    std::vector<std::int32_t> dead(block.stride, 0);
    for (int c = 0; c < block.n; ++c) dead[c] = none(block.function, block.candidate[c]) ? 1 : 0;
    keep_only(a, b, dead);
  }
  a.margin_above = margin_above_;
  return true;
}

/// propagate(), and what follows from the margin asked for and from the newcomer that one function must take. False =
/// no choice below this node.
bool Search::narrow(Node& a) {
  const Newcomers& newcomers = question_.newcomers;
  if (a.margin_above < margin_above_ && !rise(a)) return false;
  for (;;) {
    if (!propagate(a, limit_)) return false;
    if (!newcomers.wanted() || a.newcomer) return true;
    for (std::size_t f = 0; f < a.choice.size(); ++f) {
      if (a.choice[f] != kUndecided && newcomers.is(static_cast<int>(f), a.choice[f])) a.newcomer = true;
    }
    int takers = 0, last = -1;
    for (int b = 0; b < a.n_blocks && !a.newcomer; ++b) {
      const Block& block = a.blocks[b];
      int n = 0;
      for (const int c : block.candidate) n += newcomers.is(block.function, c) ? 1 : 0;
      a.newcomer = n == block.n;
      if (n == 0) continue;
      ++takers;
      last = b;
    }
    if (a.newcomer) return true;
    if (takers == 0) return false;
    if (takers > 1) return true;
    const Block& block = a.blocks[last];
    std::vector<std::int32_t> dead(block.stride, 0);
    for (int c = 0; c < block.n; ++c) dead[c] = newcomers.is(block.function, block.candidate[c]) ? 0 : 1;
    keep_only(a, last, dead);
    a.newcomer = true;
  }
}

/// Takes a choice that fits the node's rows; keeps it when it is accepted and better than anything so far.
void Search::offer(const std::vector<int>& choice) {
  if (!question_.exact_cost) return;
  const std::int64_t cost = question_.exact_cost(choice);
  int margin = INT_MAX;
  for (std::size_t f = 0; f < choice.size() && question_.best_margin; ++f) {
    margin = std::min(margin, question_.newcomers.of(static_cast<int>(f), choice[f]));
  }
  if (cost > question_.must_not_exceed) return;
  const auto better = [&] {
    if (question_.before) return question_.before(choice, found_);
    return question_.best_margin ? margin > margin_above_ : cost < best_cost_;
  };
  if (improved_ && !better()) return;
  const Verdict verdict = accept_(choice);
  if (verdict == Verdict::new_rows) want_rows_ = true;
  if (verdict != Verdict::accepted) return;
  improved_ = true;
  best_cost_ = cost;
  found_ = choice;
  if (question_.best_margin) margin_above_ = margin;
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
  if (!narrow(a)) return Outcome::refuted;

  double bound = a.cost_base;
  if (depth == 0 && limit_ < kNoLimit) {
    if (!lagrange_exact(a, bound)) return Outcome::refuted;
    if (!narrow(a)) return Outcome::refuted;
    if (const Outcome out = sift(a); out != Outcome::gave_up) return out;
  }
  for (int round = 0; round < (depth == 0 ? 4 : 1) && a.n_blocks > 0; ++round) {
    int before = 0, after = 0;
    for (int b = 0; b < a.n_blocks; ++b) before += a.blocks[b].n;
    lagrange(a, depth == 0 ? tuning.root_cost_steps : tuning.node_cost_steps);
    if (const Outcome out = pending(); out != Outcome::refuted) return out;
    if (!lagrange_exact(a, bound)) return Outcome::refuted;
    if (!narrow(a)) return Outcome::refuted;
    for (int b = 0; b < a.n_blocks; ++b) after += a.blocks[b].n;
    if (const Outcome out = sift(a); out != Outcome::gave_up) return out;
    if (depth == 0 && round == 0 && a.n_blocks > 0 && !question_.before) {
      std::vector<int> start(a.n_blocks, 0), choice;
      rows_.resize(a.n_rows());
      std::iota(rows_.begin(), rows_.end(), 0);
      for (int b = 0; b < a.n_blocks; ++b) {
        const Block& block = a.blocks[b];
        sum_.assign(block.cost.begin(), block.cost.end());
        kernel::add_weighted(sum_.data(), block.d.data(), block.stride, rows_.data(), a.price.data(), a.n_rows());
        start[b] = kernel::argmin(sum_.data(), block.stride);
      }
      const int moves = one_of_many() ? tuning.few_swap_moves : tuning.swap_moves;
      while (limit_ < kNoLimit && swap_search(a, start, moves, limit_, choice)) {
        const double limit_before = limit_;
        offer(choice);
        if (const Outcome out = pending(); out != Outcome::refuted) return out;
        if (limit_ >= limit_before) break;
      }
      if (!narrow(a)) return Outcome::refuted;
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

  if (question_.newcomers.wanted() && !a.newcomer) return take_newcomer(depth, bound);
  int pick = 0;
  for (int b = 1; b < a.n_blocks; ++b) {
    if (a.blocks[b].n < a.blocks[pick].n) pick = b;
  }
  if (a.blocks[pick].n > kMostOneByOne) {
    if (const std::optional<Outcome> out = split_by_row(depth, bound)) return *out;
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

/// Two ways: those of a function that take little of a row, or much. Where pricing wavered between candidates that
/// differ most in what they are charged for one row, their mean use parts them. Nothing when no row has a price.
std::optional<Outcome> Search::split_by_row(int depth, double bound) {
  const Node& a = node(depth);
  int pick = -1, row = -1;
  std::int32_t cut = 0;
  double most = 0;
  std::vector<std::pair<int, int>> columns;  // column, times taken
  for (int b = 0; b < a.n_blocks; ++b) {
    const Block& block = a.blocks[b];
    columns.clear();
    double times = 0;
    for (const auto& [candidate, n] : taken_[block.function]) {
      const auto at = std::find(block.candidate.begin(), block.candidate.end(), candidate);
      if (at == block.candidate.end()) continue;
      columns.emplace_back(static_cast<int>(at - block.candidate.begin()), n);
      times += n;
    }
    for (int r = 0; r < a.n_rows() && columns.size() > 1; ++r) {
      if (a.price[r] <= 0) continue;
      double mean = 0, apart = 0;
      for (const auto& [c, n] : columns) mean += block.row(r)[c] * n / times;
      for (const auto& [c, n] : columns) apart += std::fabs(block.row(r)[c] - mean) * n / times;
      const auto below = static_cast<std::int32_t>(mean);
      if (apart * a.price[r] <= most || below >= block.high[r]) continue;
      most = apart * a.price[r];
      pick = b;
      row = r;
      cut = below;
    }
  }
  const bool wavered = pick >= 0;
  for (int b = 0; b < a.n_blocks && !wavered; ++b) {
    for (int r = 0; r < a.n_rows(); ++r) {
      const double charge = static_cast<double>(a.price[r]) * a.blocks[b].high[r];
      if (charge <= most) continue;
      most = charge;
      pick = b;
      row = r;
      cut = (a.blocks[b].high[r] - 1) / 2;
    }
  }
  if (pick < 0) return std::nullopt;
  const Block& block = a.blocks[pick];
  std::vector<char> low(block.n);
  for (int c = 0; c < block.n; ++c) low[c] = block.row(row)[c] <= cut ? 1 : 0;
  std::vector<double> priced(block.cost.begin(), block.cost.begin() + block.n);
  for (int r = 0; r < a.n_rows(); ++r) {
    for (int c = 0; c < block.n; ++c) priced[c] += static_cast<double>(a.price[r]) * block.row(r)[c];
  }
  if (!low[std::min_element(priced.begin(), priced.end()) - priced.begin()]) {  // those with the cheapest first
    for (char& flag : low) flag = flag ? 0 : 1;
  }
  return two_ways(depth, pick, std::move(low), bound);
}

/// Two ways: the function with the fewest newcomers takes one of them, or none of them.
Outcome Search::take_newcomer(int depth, double bound) {
  const Node& a = node(depth);
  int pick = -1;
  std::vector<char> is_new;
  for (int b = 0; b < a.n_blocks; ++b) {
    const Block& block = a.blocks[b];
    std::vector<char> those;
    for (const int c : block.candidate) those.push_back(question_.newcomers.is(block.function, c) ? 1 : 0);
    const auto n = std::count(those.begin(), those.end(), 1);
    if (n == 0 || (pick >= 0 && n >= std::count(is_new.begin(), is_new.end(), 1))) continue;
    pick = b;
    is_new = std::move(those);
  }
  KW_CHECK(pick >= 0, "no newcomer is left");
  return two_ways(depth, pick, std::move(is_new), bound);
}

/// With block b reduced to the candidates marked, then to the others.
Outcome Search::two_ways(int depth, int b, std::vector<char> marked, double bound) {
  for (int way = 0; way < 2; ++way) {
    copy_with_subset(node(depth), b, marked, node(depth + 1));
    const Outcome out = cheapest_below(depth + 1);
    if (out == Outcome::stopped || out == Outcome::gave_up) open_bound_ = bound;
    if (out != Outcome::refuted) return out;
    for (char& flag : marked) flag = flag ? 0 : 1;
  }
  return Outcome::refuted;
}

void Search::count_taken(int function, int candidate) {
  for (auto& [c, n] : taken_[function]) {
    if (c != candidate) continue;
    ++n;
    return;
  }
  taken_[function].emplace_back(candidate, 1);
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
  cost_.resize(std::max<std::size_t>(cost_.size(), a.n_blocks));
  float spread = 0;
  for (int b = 0; b < a.n_blocks; ++b) {
    cost_[b].assign(a.blocks[b].cost.begin(), a.blocks[b].cost.end());
    spread += *std::max_element(cost_[b].begin(), cost_[b].end());
  }
  load_.begin(a);
  taken_.resize(a.choice.size());
  for (int b = 0; b < a.n_blocks; ++b) taken_[a.blocks[b].function].clear();
  // Prices from a question like this one are good already: long steps would only lead away from them.
  const bool asked_before = one_of_many() && std::any_of(scaled.begin(), scaled.end(), [](float x) { return x > 0; });
  float best = -1e30F, theta = asked_before && steps >= tuning.root_cost_steps ? kWarmTheta : 1.0F;
  float mark = best;  // best when it last rose by a share worth the steps
  int since = 0, idle = 0;
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
      sum_ = cost_[b];
      kernel::add_weighted(sum_.data(), block.d.data(), block.stride, rows_.data(), row_weight_.data(),
                           static_cast<int>(rows_.size()));
      const int c = kernel::argmin(sum_.data(), block.stride);
      value += sum_[c];
      count_taken(block.function, block.candidate[c]);
      moved |= load_.take(a, b, c);
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
    if (best > mark + kIdleShare * (target - best)) {
      mark = best;
      idle = 0;
    } else if (asked_before && ++idle > kMostIdle) {
      break;
    }
    bool fits = true;
    float norm = 0;
    for (int r = 0; r < n_rows; ++r) {
      const float g = (static_cast<float>(load_.of(r)) - static_cast<float>(a.cap[r])) * inverse[r];
      fits &= load_.of(r) <= a.cap[r];
      direction[r] = scaled[r] <= 0 && g < 0 ? 0.0F : g;
      norm += direction[r] * direction[r];
    }
    if (fits && moved) {
      const int margin = margin_above_;
      offer(to_choice(a, load_.at()));
      if (pending() != Outcome::refuted || margin_above_ > margin) break;
    }
    if (norm < 1e-12F) break;
    const float length = theta * std::max(target - value, 1e-3F) / norm;
    for (int r = 0; r < n_rows; ++r) scaled[r] = std::max(0.0F, scaled[r] + length * direction[r]);
  }
  for (int r = 0; r < n_rows; ++r) a.price[r] = best_scaled[r] * inverse[r];
}

/// Settles a small node by the sieve. gave_up = it is too large; what was found on the way is kept.
Outcome Search::sift(Node& a) {
  for (;;) {
    if (!small(a) || limit_ >= kNoLimit || !question_.exact_cost) return Outcome::gave_up;
    double unit = 1, value = 0;
    if (!reduced_costs(a, unit, value)) return Outcome::gave_up;
    const auto room = [&] { return Sieve::Room{(limit_ - a.cost_base) * unit - value, limit_ - a.cost_base}; };
    if (room().priced < 0) return Outcome::refuted;
    if (Sieve::choices(a, reduced_, room().priced) > tuning.sieve_choices) return Outcome::gave_up;
    Sieve& sieve = memory_.sieve;
    sieve.load(a, reduced_);
    if (question_.newcomers.wanted() && !a.newcomer) {
      sieve.demand(
          [&](int b, int c) { return question_.newcomers.is(a.blocks[b].function, a.blocks[b].candidate[c]); });
    }
    const int margin = margin_above_;
    const Sieve::Take take = [&](const std::vector<int>& at) {
      offer(to_choice(a, at));
      const bool on = pending() == Outcome::refuted && margin_above_ == margin;
      return on ? std::optional(room()) : std::nullopt;
    };
    const Sieve::End end = sieve.run(room(), tuning.sieve_steps, take);
    if (const Outcome out = pending(); out != Outcome::refuted) return out;
    if (end == Sieve::End::complete) return Outcome::refuted;
    if (margin_above_ == margin) return Outcome::gave_up;
    if (!narrow(a)) return Outcome::refuted;  // the candidates left have larger margins: once more
  }
}

/// The bound with whole-number prices, in fractions of a cost unit: `value` above cost_base * unit. reduced_ then holds
/// what each candidate costs above the cheapest of its block. False = too large to decide exactly.
bool Search::reduced_costs(const Node& a, double& unit, double& value) {
  const std::vector<float>& price = a.price;
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
  unit = 1;
  for (int bits = 0; bits < kMostFractionBits && size * unit * 2 < kExactRange; ++bits) unit *= 2;
  if (size * unit >= kExactRange) return false;

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
  reduced_.resize(std::max<std::size_t>(reduced_.size(), a.n_blocks));
  value = -paid;
  for (int b = 0; b < a.n_blocks; ++b) {
    const Block& block = a.blocks[b];
    std::vector<double>& sums = reduced_[b];
    sums.resize(block.stride);
    for (int c = 0; c < block.stride; ++c) sums[c] = block.cost[c] * unit;
    kernel::add_weighted_exact(sums.data(), block.d.data(), block.stride, rows_.data(), whole.data(),
                               static_cast<int>(rows_.size()));
    const double least = *std::min_element(sums.begin(), sums.begin() + block.n);
    for (double& sum : sums) sum -= least;
    value += least;
  }
  return true;
}

/// Refutes by the bound, or removes candidates that are too dear.
bool Search::lagrange_exact(Node& a, double& bound) {
  double unit = 1, value = 0;
  if (!reduced_costs(a, unit, value)) return true;
  bound = std::max(bound, a.cost_base + std::ceil(value / unit));
  if (limit_ >= kNoLimit) return true;
  const double room = (limit_ - a.cost_base) * unit;
  if (value > room) return false;
  // What the cheapest newcomer costs above its block's cheapest, and the cheapest of another block.
  double newcomer = 0, other = 0;
  int newcomer_block = -1;
  const bool wanted = question_.newcomers.wanted() && !a.newcomer;
  if (wanted) {
    newcomer = other = kNoLimit;
    for (int b = 0; b < a.n_blocks; ++b) {
      const Block& block = a.blocks[b];
      double least = kNoLimit;
      for (int c = 0; c < block.n; ++c) {
        if (question_.newcomers.is(block.function, block.candidate[c])) least = std::min(least, reduced_[b][c]);
      }
      if (least < newcomer) {
        other = newcomer;
        newcomer = least;
        newcomer_block = b;
      } else {
        other = std::min(other, least);
      }
    }
  }
  std::vector<std::int32_t> dead;
  const double most = room - value;
  for (int b = 0; b < a.n_blocks; ++b) {
    const double beside = b == newcomer_block ? other : newcomer;
    std::vector<double>& above = reduced_[b];
    dead.assign(a.blocks[b].stride, 0);
    int left = 0;
    for (int c = 0; c < a.blocks[b].n; ++c) {
      const bool met = !wanted || question_.newcomers.is(a.blocks[b].function, a.blocks[b].candidate[c]);
      dead[c] = above[c] + (met ? 0 : beside) > most ? 1 : 0;
      if (dead[c] == 0) above[left++] = above[c];
    }
    if (left < a.blocks[b].n) keep_only(a, b, dead);
    if (left == 0) return false;
  }
  drop_implied(a, most);
  return true;
}

/// Leaves out rows without a price that no choice within the limit exceeds: what its candidates cost above the cheapest
/// (reduced_) adds up to at most `room`, so for every m >= 0 it takes at most m * room + sum of max_c (d_c - m *
/// above_c) of a row. Other rows and the limit imply such a row; limits only fall.
void Search::drop_implied(Node& a, double room) {
  if (a.n_blocks == 0) return;
  int shift = 0;
  for (auto whole = static_cast<std::int64_t>(room); whole >> shift >= 1 << kChargeBits;) ++shift;
  const auto most = static_cast<std::int32_t>(static_cast<std::int64_t>(room) >> shift);
  charge_.resize(std::max<std::size_t>(charge_.size(), a.n_blocks));
  for (int b = 0; b < a.n_blocks; ++b) {
    const Block& block = a.blocks[b];
    std::vector<std::int32_t>& charge = charge_[b];
    charge.resize(block.stride);
    for (int c = 0; c < block.n; ++c) {
      charge[c] = static_cast<std::int32_t>(static_cast<std::int64_t>(reduced_[b][c]) >> shift);
    }
    std::fill(charge.begin() + block.n, charge.end(), charge[0]);
  }
  constexpr std::int32_t kUnit = 1 << kChargeBits;
  std::vector<char> implied(a.n_rows(), 0);
  bool any = false;
  for (int r = 0; r < a.n_rows(); ++r) {
    if (a.price[r] > 0 || a.cap[r] > kMostImplied) continue;
    std::int32_t high = 0;
    for (int b = 0; b < a.n_blocks; ++b) high = std::max(high, a.blocks[b].high[r]);
    if (high > kMostImplied) continue;
    for (const int eighths : kImplyEighths) {
      const std::int32_t price = high * eighths * (kUnit / 8) / (most + 1);
      std::int64_t taken = static_cast<std::int64_t>(price) * most;
      for (int b = 0; b < a.n_blocks; ++b) {
        taken += kernel::most_beside(a.blocks[b].row(r), kUnit, charge_[b].data(), price, a.blocks[b].stride);
      }
      implied[r] = taken < static_cast<std::int64_t>(a.cap[r] + 1) * kUnit ? 1 : 0;
      if (implied[r] == 0) continue;
      any = true;
      break;
    }
  }
  if (any) drop_rows(a, implied);
}

}  // namespace allocation
