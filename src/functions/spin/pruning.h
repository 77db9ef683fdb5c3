// Part solutions of the ornamental search and which of them fall: inside of spin/.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <limits>
#include <tuple>
#include <utility>
#include <vector>

#include "base/check.h"
#include "candidate/candidate.h"
#include "gearing/train.h"

namespace functions::spin {

/// Gears in use, packed one byte a class with its top bit as guard: "are among" is a subtraction a word.
class GearCounts {
 public:
  static constexpr std::size_t kWords = 8;
  static constexpr std::size_t kMostClasses = kWords * 8;

  void add(std::size_t slot, int count) {
    KW_CHECK(slot < kMostClasses, "more gear classes than the packed counts hold");
    KW_CHECK(at(slot) + count < 128, "more gears than the packed counts hold");
    words_[slot / 8] += static_cast<std::uint64_t>(count) << (8 * (slot % 8));
    if (count > 0) used_ |= std::uint64_t{1} << slot;
    pieces_ += count;
  }
  void add(const GearCounts& other) {
    used_ |= other.used_;
    pieces_ += other.pieces_;
    for (std::size_t w = 0; w < kWords; ++w) words_[w] += other.words_[w];
  }
  [[nodiscard]] int at(std::size_t slot) const {
    return static_cast<int>((words_[slot / 8] >> (8 * (slot % 8))) & 0x7f);
  }
  [[nodiscard]] bool among(const GearCounts& other) const {
    if ((used_ & ~other.used_) != 0) return false;
    constexpr std::uint64_t kGuards = 0x8080808080808080ULL;
    for (std::size_t w = 0; w < kWords; ++w) {
      if ((((other.words_[w] | kGuards) - words_[w]) & kGuards) != kGuards) return false;
    }
    return true;
  }
  [[nodiscard]] std::uint64_t used() const { return used_; }  ///< a bit a class
  [[nodiscard]] int pieces() const { return pieces_; }

 private:
  std::array<std::uint64_t, kWords> words_{};
  std::uint64_t used_ = 0;
  int pieces_ = 0;
};

/// One train for one output.
struct Option {
  gearing::Train path;  ///< from the motor, shared stage first where it goes that way
  bool by_shared = false;
  int own = 0;              ///< meshes after the shared stage
  GearCounts gears;         ///< without the shared stage's
  std::uint64_t musts = 0;  ///< gear classes among them that the function must use, a bit a class
  double torque = 0;        ///< static, at the motor, nominal
  double force_n = 0;       ///< on the shared mesh
  double tooth = 0;         ///< least tooth margin of its own meshes, capped
  double near = 1;          ///< share of the range's nearer end that its ratio reaches, 1 inside; rpm: of the high end
  double slow = 0;          ///< speed under load over the range's low end, per motor speed; infinite for ratio ranges
};

/// Part solution: outputs 0 .. k-1 served.
struct State {
  GearCounts gears;
  std::uint64_t musts = 0;
  int direct = 0;  ///< gears on the motor's axle beside the shared driver
  int behind = 0;  ///< gears on the shared axle that drive on
  int shared_users = 0;
  int inner_shafts = 0;  ///< shafts between two meshes of one output
  int outer_shafts = 0;  ///< output axles of their own
  double torque = 0, force_n = 0, tooth = candidate::kMarginCap, near = 1,
         slow = std::numeric_limits<double>::infinity();
  bool shared = false;
  std::vector<int> choice;
  std::size_t layout = 0;  ///< once complete
};

[[nodiscard]] inline bool dominates(const Option& a, const Option& b) {
  return a.by_shared == b.by_shared && (a.own == 0) == (b.own == 0) && a.own <= b.own && a.torque <= b.torque &&
         a.force_n <= b.force_n && a.tooth >= b.tooth && a.near >= b.near && a.slow >= b.slow &&
         (b.musts & ~a.musts) == 0 && a.gears.among(b.gears);
}
[[nodiscard]] inline bool dominates(const State& a, const State& b) {
  return a.shared == b.shared && a.direct == b.direct && a.behind == b.behind && a.inner_shafts <= b.inner_shafts &&
         a.outer_shafts <= b.outer_shafts && a.shared_users >= b.shared_users && a.torque <= b.torque &&
         a.force_n <= b.force_n && a.tooth >= b.tooth && a.near >= b.near && a.slow >= b.slow &&
         (b.musts & ~a.musts) == 0 && a.gears.among(b.gears);
}

/// An order in which whatever dominates comes first: fewest gears, fewest meshes, least torque and so on.
[[nodiscard]] inline auto rank(const Option& o) {
  return std::make_tuple(o.gears.pieces(), o.own, o.torque, o.force_n, -o.tooth, -o.near, -o.slow);
}
[[nodiscard]] inline auto rank(const State& s) {
  return std::make_tuple(s.gears.pieces(), s.inner_shafts + s.outer_shafts, s.torque, s.force_n, -s.tooth, -s.near,
                         -s.slow, -s.shared_users);
}

/// Sorts by rank (ties: as they came) and drops what an earlier one dominates.
template <class T>
void keep_best(std::vector<T>& items) {
  std::stable_sort(items.begin(), items.end(), [](const T& a, const T& b) { return rank(a) < rank(b); });
  std::vector<T> kept;
  std::vector<std::uint64_t> classes;  // of the kept, side by side: most comparisons end at them
  for (T& item : items) {
    const std::uint64_t own = item.gears.used();
    bool beaten = false;
    for (std::size_t i = 0; i < kept.size() && !beaten; ++i)
      beaten = (classes[i] & ~own) == 0 && dominates(kept[i], item);
    if (beaten) continue;
    classes.push_back(own);
    kept.push_back(std::move(item));
  }
  items = std::move(kept);
}

/// Cuts to `most` so that every gear class keeps alternatives without it: again and again the item whose classes were
/// taken least often so far, ties by the order given.
template <class T>
bool spread_out(std::vector<T>& items, std::size_t most) {
  if (items.size() <= most) return false;
  std::vector<bool> gone(items.size(), false);
  std::vector<int> score(items.size(), 0);  // how often the item's classes were taken
  std::vector<std::size_t> picked;
  while (picked.size() < most) {
    std::size_t best = items.size();
    for (std::size_t i = 0; i < items.size(); ++i) {
      if (!gone[i] && (best == items.size() || score[i] < score[best])) best = i;
    }
    gone[best] = true;
    picked.push_back(best);
    const std::uint64_t used = items[best].gears.used();
    for (std::size_t i = 0; i < items.size(); ++i) score[i] += std::popcount(items[i].gears.used() & used);
  }
  std::sort(picked.begin(), picked.end());
  std::vector<T> out;
  for (const std::size_t i : picked) out.push_back(std::move(items[i]));
  items = std::move(out);
  return true;
}

}  // namespace functions::spin
