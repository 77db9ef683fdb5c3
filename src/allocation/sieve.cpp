#include "allocation/sieve.h"

#include <algorithm>
#include <array>
#include <bit>
#include <limits>
#include <numeric>

namespace allocation {

/// Counted by shares of the room: one more block after the other. Rounded down, so rather too many.
double Sieve::choices(const Node& node, const std::vector<std::vector<double>>& reduced, double priced) {
  constexpr int kShares = 64;
  std::array<double, kShares> ways{1}, next{};
  for (int b = 0; b < node.n_blocks; ++b) {
    next.fill(0);
    for (int c = 0; c < node.blocks[b].n; ++c) {
      const double share = reduced[b][c] / (priced + 1) * kShares;
      if (share >= kShares) continue;
      const int first = static_cast<int>(share);
      for (int i = first; i < kShares; ++i) next[i] += ways[i - first];
    }
    ways = next;
  }
  return std::accumulate(ways.begin(), ways.end(), 0.0);
}

void Sieve::load(const Node& node, const std::vector<std::vector<double>>& reduced) {
  n_blocks_ = node.n_blocks;
  n_rows_ = node.n_rows();
  words_ = (n_blocks_ + kernel::kWords - 1) / kernel::kWords * kernel::kWords;
  const auto slots = static_cast<std::size_t>(n_blocks_) * kMostCandidates;
  column_.resize(slots);
  priced_.resize(slots);
  plain_.resize(slots);
  alive_.assign(static_cast<std::size_t>(words_) * (n_blocks_ + 1), 0);
  left_.resize(static_cast<std::size_t>(n_rows_) * (n_blocks_ + 1));
  std::copy(node.cap.begin(), node.cap.end(), left_.begin());
  at_.assign(n_blocks_, 0);
  for (int b = 0; b < n_blocks_; ++b) {
    const Block& block = node.blocks[b];
    const std::size_t slot = static_cast<std::size_t>(b) * kMostCandidates;
    int* column = column_.data() + slot;
    std::iota(column, column + block.n, 0);
    std::sort(column, column + block.n,
              [&](int x, int y) { return std::pair(reduced[b][x], x) < std::pair(reduced[b][y], y); });
    for (int i = 0; i < block.n; ++i) {
      priced_[slot + i] = reduced[b][column[i]];
      plain_[slot + i] = block.cost[column[i]];
    }
    alive_[b] = block.n == kMostCandidates ? ~std::uint64_t{0} : (std::uint64_t{1} << block.n) - 1;
  }
  demanded_ = false;
  list_rows(node);
  list_parts(node);
}

void Sieve::demand(const std::function<bool(int, int)>& is_new) {
  demanded_ = true;
  fresh_.assign(n_blocks_, 0);
  for (int b = 0; b < n_blocks_; ++b) {
    for (int i = 0; i < std::popcount(alive_[b]); ++i) {
      if (is_new(b, column_[static_cast<std::size_t>(b) * kMostCandidates + i])) fresh_[b] |= std::uint64_t{1} << i;
    }
  }
}

/// Small values are their own rank; others are ranked among the row's distinct ones.
void Sieve::list_rows(const Node& node) {
  row_.resize(n_rows_);
  values_.clear();
  fits_.clear();
  for (int r = 0; r < n_rows_; ++r) {
    Row& row = row_[r];
    row.largest = 0;
    for (int b = 0; b < n_blocks_; ++b) row.largest = std::max(row.largest, node.blocks[b].high[r]);
    row.first = static_cast<int>(fits_.size());
    row.first_value = static_cast<int>(values_.size());
    row.n_values = 0;
    int ranks = row.largest + 1;
    if (row.largest > kMostDirect) {
      distinct_.clear();
      for (int b = 0; b < n_blocks_; ++b) {
        const Block& block = node.blocks[b];
        distinct_.insert(distinct_.end(), block.row(r), block.row(r) + block.n);
      }
      std::sort(distinct_.begin(), distinct_.end());
      distinct_.erase(std::unique(distinct_.begin(), distinct_.end()), distinct_.end());
      values_.insert(values_.end(), distinct_.begin(), distinct_.end());
      row.n_values = ranks = static_cast<int>(distinct_.size());
    }
    fits_.resize(fits_.size() + static_cast<std::size_t>(ranks) * words_, 0);
    std::uint64_t* fits = fits_.data() + row.first;
    for (int b = 0; b < n_blocks_; ++b) {
      const Block& block = node.blocks[b];
      const std::int32_t* value = block.row(r);
      const int* column = column_.data() + static_cast<std::ptrdiff_t>(b) * kMostCandidates;
      for (int i = 0; i < block.n; ++i) fits[rank(row, value[column[i]]) * words_ + b] |= std::uint64_t{1} << i;
    }
    for (int i = words_; i < ranks * words_; ++i) fits[i] |= fits[i - words_];
  }
}

/// What each candidate takes of the rows, only where it takes anything.
void Sieve::list_parts(const Node& node) {
  const auto slots = static_cast<std::size_t>(n_blocks_) * kMostCandidates;
  first_part_.assign(slots + 1, 0);
  for (int r = 0; r < n_rows_; ++r) {
    for (int b = 0; b < n_blocks_; ++b) {
      const std::int32_t* value = node.blocks[b].row(r);
      const std::size_t slot = static_cast<std::size_t>(b) * kMostCandidates;
      for (int i = 0; i < node.blocks[b].n; ++i) first_part_[slot + i + 1] += value[column_[slot + i]] > 0 ? 1 : 0;
    }
  }
  std::partial_sum(first_part_.begin(), first_part_.end(), first_part_.begin());
  parts_.resize(first_part_.back());
  next_part_ = first_part_;
  for (int r = 0; r < n_rows_; ++r) {
    for (int b = 0; b < n_blocks_; ++b) {
      const std::int32_t* value = node.blocks[b].row(r);
      const std::size_t slot = static_cast<std::size_t>(b) * kMostCandidates;
      for (int i = 0; i < node.blocks[b].n; ++i) {
        if (const std::int32_t v = value[column_[slot + i]]; v > 0) parts_[next_part_[slot + i]++] = {r, v};
      }
    }
  }
}

/// Of the largest value of the row that is not above `value`.
int Sieve::rank(const Row& row, std::int32_t value) const {
  if (row.n_values == 0) return value;
  const std::int32_t* first = values_.data() + row.first_value;
  return static_cast<int>(std::upper_bound(first, first + row.n_values, value) - first) - 1;
}

Sieve::End Sieve::run(Room room, std::int64_t steps, const Take& take) {
  room_ = room;
  steps_ = steps;
  end_ = End::complete;
  take_ = &take;
  decided_.assign(n_blocks_, 0);
  descend(0, 0, 0, !demanded_);
  return end_;
}

/// What is left of the rows, and who still fits, after a candidate of this level.
void Sieve::fit_beside(int level, std::size_t slot) {
  const std::uint64_t* alive = alive_.data() + static_cast<std::ptrdiff_t>(level) * words_;
  const std::int32_t* left = left_.data() + static_cast<std::ptrdiff_t>(level) * n_rows_;
  std::int32_t* next_left = left_.data() + static_cast<std::ptrdiff_t>(level + 1) * n_rows_;
  std::copy_n(left, n_rows_, next_left);
  masks_.clear();
  for (int i = first_part_[slot]; i < first_part_[slot + 1]; ++i) {
    const Part part = parts_[i];
    const Row& row = row_[part.row];
    const std::int32_t room = next_left[part.row] -= part.value;
    if (room < row.largest) masks_.push_back(row.first + rank(row, room) * words_);
  }
  kernel::and_words(alive, words_, fits_.data(), masks_.data(), static_cast<int>(masks_.size()),
                    alive_.data() + static_cast<std::ptrdiff_t>(level + 1) * words_);
}

/// Whether the cheapest that are alive can be paid, after what was spent, with one that is demanded among them; takes
/// out those that cannot.
bool Sieve::cheap_enough(std::uint64_t* alive, double priced, double plain, bool met) const {
  std::uint64_t fresh = met ? 1 : 0;
  for (int b = 0; b < n_blocks_; ++b) {
    if (decided_[b]) continue;
    if (alive[b] == 0) return false;
    priced += priced_[static_cast<std::size_t>(b) * kMostCandidates + std::countr_zero(alive[b])];
    if (!met) fresh |= alive[b] & fresh_[b];
  }
  if (fresh == 0 || priced > room_.priced || plain > room_.plain) return false;
  for (int b = 0; b < n_blocks_; ++b) {
    if (decided_[b]) continue;
    const double* cost = plain_.data() + static_cast<std::size_t>(b) * kMostCandidates;
    double least = std::numeric_limits<double>::infinity();
    for (std::uint64_t open = alive[b]; open != 0; open &= open - 1) {
      least = std::min(least, cost[std::countr_zero(open)]);
    }
    plain += least;
    if (plain > room_.plain) return false;
  }
  for (int b = 0; b < n_blocks_; ++b) {
    if (decided_[b]) continue;
    const double* cost = priced_.data() + static_cast<std::size_t>(b) * kMostCandidates;
    const double most = room_.priced - priced + cost[std::countr_zero(alive[b])];
    for (int top = 63 - std::countl_zero(alive[b]); cost[top] > most; top = 63 - std::countl_zero(alive[b])) {
      alive[b] ^= std::uint64_t{1} << top;
    }
  }
  return true;
}

/// Takes one after the other of the block with the fewest candidates left. False = end.
bool Sieve::descend(int level, double priced, double plain, bool met) {
  const std::uint64_t* alive = alive_.data() + static_cast<std::ptrdiff_t>(level) * words_;
  int pick = -1, fewest = kMostCandidates + 1;
  for (int b = 0; b < n_blocks_; ++b) {
    if (decided_[b]) continue;
    if (const int n = std::popcount(alive[b]); n < fewest) {
      fewest = n;
      pick = b;
    }
  }
  if (pick < 0) {
    const std::optional<Room> room = (*take_)(at_);
    if (room) room_ = *room;
    if (!room) end_ = End::ended;
    return room.has_value();
  }
  decided_[pick] = 1;
  for (std::uint64_t open = alive[pick]; open != 0; open &= open - 1) {
    const int c = std::countr_zero(open);
    const std::size_t slot = static_cast<std::size_t>(pick) * kMostCandidates + c;
    if (priced + priced_[slot] > room_.priced) break;
    if (--steps_ < 0) {
      end_ = End::out_of_steps;
      return false;
    }
    fit_beside(level, slot);
    const double priced_then = priced + priced_[slot], plain_then = plain + plain_[slot];
    const bool met_then = met || (fresh_[pick] >> c & 1) != 0;
    std::uint64_t* next = alive_.data() + static_cast<std::ptrdiff_t>(level + 1) * words_;
    if (!cheap_enough(next, priced_then, plain_then, met_then)) continue;
    at_[pick] = column_[slot];
    if (!descend(level + 1, priced_then, plain_then, met_then)) return false;
  }
  decided_[pick] = 0;
  return true;
}

}  // namespace allocation
