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
  node_ = &node;
  n_blocks_ = node.n_blocks;
  n_rows_ = node.n_rows();
  words_ = (n_blocks_ + kernel::kWords - 1) / kernel::kWords * kernel::kWords;
  const auto slots = static_cast<std::size_t>(n_blocks_) * kMostCandidates;
  column_.resize(slots);
  priced_.resize(slots);
  plain_.resize(slots);
  by_plain_.resize(slots);
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
    std::int8_t* by_plain = by_plain_.data() + slot;
    std::iota(by_plain, by_plain + block.n, std::int8_t{0});
    std::sort(by_plain, by_plain + block.n, [&](int x, int y) { return plain_[slot + x] < plain_[slot + y]; });
    alive_[b] = block.n == kMostCandidates ? ~std::uint64_t{0} : (std::uint64_t{1} << block.n) - 1;
  }
  demanded_ = false;
  part_.assign(slots, {0, -1});
  parts_.clear();
  beside_.resize(slots * words_);
  masks_.resize(n_rows_);
  list_rows(node);
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

/// What a candidate takes of the rows, only where it takes anything.
void Sieve::list_parts(std::size_t slot) {
  const Block& block = node_->blocks[slot / kMostCandidates];
  part_[slot].first = static_cast<int>(parts_.size());
  const std::int32_t* value = block.d.data() + column_[slot];
  for (int r = 0; r < n_rows_; ++r, value += block.stride) {
    if (*value > 0) parts_.push_back({r, *value});
  }
  part_[slot].second = static_cast<int>(parts_.size());
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
  block_.resize(n_blocks_);
  std::iota(block_.begin(), block_.end(), 0);
  descend(0, 0, 0, !demanded_);
  return end_;
}

/// Two at a time: most that is refuted is so by them.
void Sieve::list_beside(std::size_t slot) {
  list_parts(slot);
  int n = 0;
  for (int i = part_[slot].first; i < part_[slot].second; ++i) {
    const Row& row = row_[parts_[i].row];
    const std::int32_t room = left_[parts_[i].row] - parts_[i].value;
    if (room < row.largest) masks_[n++] = row.first + rank(row, room) * words_;
  }
  kernel::and_words(alive_.data(), words_, fits_.data(), masks_.data(), n, beside_.data() + slot * words_);
}

/// What is left of the rows, and who of the next level still fits, after a candidate of this level.
void Sieve::fit_beside(int level, std::size_t slot) {
  const std::int32_t* left = left_.data() + static_cast<std::ptrdiff_t>(level) * n_rows_;
  std::int32_t* next_left = left_.data() + static_cast<std::ptrdiff_t>(level + 1) * n_rows_;
  std::copy_n(left, n_rows_, next_left);
  int n = 0;
  for (int i = part_[slot].first; i < part_[slot].second; ++i) {
    const Part part = parts_[i];
    const Row& row = row_[part.row];
    const std::int32_t room = next_left[part.row] -= part.value;
    masks_[n] = room < row.largest ? row.first + rank(row, room) * words_ : 0;
    n += room < row.largest ? 1 : 0;
  }
  std::uint64_t* next = alive_.data() + static_cast<std::ptrdiff_t>(level + 1) * words_;
  kernel::and_words(next, words_, fits_.data(), masks_.data(), n, next);
}

/// What the cheapest that are alive cost together at the prices; infinite when a block has none left, or no block one
/// that is demanded.
double Sieve::cheapest_left(int level, bool met) const {
  const std::uint64_t* alive = alive_.data() + static_cast<std::ptrdiff_t>(level) * words_;
  std::uint64_t fresh = met ? 1 : 0;
  double sum = 0;
  for (int i = level; i < n_blocks_; ++i) {
    const int b = block_[i];
    if (alive[b] == 0) return std::numeric_limits<double>::infinity();
    sum += priced_[static_cast<std::size_t>(b) * kMostCandidates + std::countr_zero(alive[b])];
    if (!met) fresh |= alive[b] & fresh_[b];
  }
  return fresh == 0 ? std::numeric_limits<double>::infinity() : sum;
}

/// Whether the cheapest that are alive can be paid, after what was spent, with one that is demanded among them; takes
/// out those that cannot.
bool Sieve::cheap_enough(int level, double priced, double plain, bool met) {
  std::uint64_t* alive = alive_.data() + static_cast<std::ptrdiff_t>(level) * words_;
  priced += cheapest_left(level, met);
  if (priced > room_.priced || plain > room_.plain) return false;
  for (int i = level; i < n_blocks_; ++i) {
    std::uint64_t& word = alive[block_[i]];
    const double* cost = priced_.data() + static_cast<std::size_t>(block_[i]) * kMostCandidates;
    const double most = room_.priced - priced + cost[std::countr_zero(word)];
    for (int top = 63 - std::countl_zero(word); cost[top] > most; top = 63 - std::countl_zero(word)) {
      word ^= std::uint64_t{1} << top;
    }
  }
  for (int i = level; i < n_blocks_; ++i) {
    const std::size_t slot = static_cast<std::size_t>(block_[i]) * kMostCandidates;
    const std::int8_t* next = by_plain_.data() + slot;
    while ((alive[block_[i]] >> *next & 1) == 0) ++next;
    plain += plain_[slot + *next];
    if (plain > room_.plain) return false;
  }
  return true;
}

/// Takes one after the other of the block with the fewest candidates left. False = end.
bool Sieve::descend(int level, double priced, double plain, bool met) {
  const std::uint64_t* alive = alive_.data() + static_cast<std::ptrdiff_t>(level) * words_;
  int next = -1, fewest = kMostCandidates + 1;
  for (int i = level; i < n_blocks_; ++i) {
    if (const int n = std::popcount(alive[block_[i]]); n < fewest) {
      fewest = n;
      next = i;
    }
  }
  if (next < 0) {
    const std::optional<Room> room = (*take_)(at_);
    if (room) room_ = *room;
    if (!room) end_ = End::ended;
    return room.has_value();
  }
  std::swap(block_[level], block_[next]);
  const int pick = block_[level];
  for (std::uint64_t open = alive[pick]; open != 0; open &= open - 1) {
    const int c = std::countr_zero(open);
    const std::size_t slot = static_cast<std::size_t>(pick) * kMostCandidates + c;
    if (priced + priced_[slot] > room_.priced) break;
    if (--steps_ < 0) {
      end_ = End::out_of_steps;
      return false;
    }
    if (part_[slot].second < 0) list_beside(slot);
    const std::uint64_t* beside = beside_.data() + slot * words_;
    std::uint64_t* next_alive = alive_.data() + static_cast<std::ptrdiff_t>(level + 1) * words_;
    for (int w = 0; w < words_; ++w) next_alive[w] = alive[w] & beside[w];
    const double priced_then = priced + priced_[slot], plain_then = plain + plain_[slot];
    const bool met_then = met || (fresh_[pick] >> c & 1) != 0;
    if (priced_then + cheapest_left(level + 1, met_then) > room_.priced) continue;
    fit_beside(level, slot);
    if (!cheap_enough(level + 1, priced_then, plain_then, met_then)) continue;
    at_[pick] = column_[slot];
    if (!descend(level + 1, priced_then, plain_then, met_then)) return false;
  }
  std::swap(block_[level], block_[next]);
  return true;
}

}  // namespace allocation
