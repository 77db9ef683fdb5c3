// Ways to one output and part solutions of the ornamental search, and which of them fall: inside of spin/.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <limits>
#include <map>
#include <numeric>
#include <tuple>
#include <utility>
#include <vector>

#include "base/check.h"
#include "candidate/candidate.h"
#include "gearing/train_search.h"

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

/// What a way to one output, or ways to several together, takes and reaches. Sums and least values only, so joining is
/// adding, and what beats another way here beats it in every whole layout.
struct Load {
  GearCounts gears;                 ///< of a way behind the shared stage: without the shared stage's
  std::uint64_t musts = 0;          ///< gear classes among them that the function must use, a bit a class
  int steps = 0;                    ///< told running current, see kCurrentStepMa
  int direct = 0;                   ///< gears on the motor's axle beside the shared driver
  int behind = 0;                   ///< gears on the shared axle that drive on
  int on_motor = 0, on_shared = 0;  ///< outputs that are those axles themselves
  int shared_users = 0;
  int inner_shafts = 0;                   ///< shafts between two meshes of one output
  int outer_shafts = 0;                   ///< output axles of their own
  double torque_nmm = 0;                  ///< at the motor, to break loose, nominal
  double force_n = 0;                     ///< on the shared mesh
  double margin = candidate::kMarginCap;  ///< least of the own meshes' teeth, and of speeds that miss their range
  double slow = std::numeric_limits<double>::infinity();  ///< least no-load speed over a range's low end; rpm only

  void add(const Load& other) {
    gears.add(other.gears);
    musts |= other.musts;
    steps += other.steps;
    direct += other.direct;
    behind += other.behind;
    on_motor += other.on_motor;
    on_shared += other.on_shared;
    shared_users += other.shared_users;
    inner_shafts += other.inner_shafts;
    outer_shafts += other.outer_shafts;
    torque_nmm += other.torque_nmm;
    force_n += other.force_n;
    margin = std::min(margin, other.margin);
    slow = std::min(slow, other.slow);
  }
};

/// One way to one output.
struct Option {
  Load load;
  std::array<std::int32_t, gearing::kMostSearchStages> mesh{-1, -1, -1, -1};  ///< after the shared stage
  int own = 0;                                                                ///< how many of them
  bool by_shared = false;
};

/// Outputs 0 .. k-1 served.
struct State {
  Load load;
  std::int32_t parent = -1;  ///< state of the outputs before
  std::int32_t option = -1;  ///< way to the last of them
};

/// What the outputs that are still to come can add, whichever way they are served, and the motor's line.
struct Outlook {
  double most_torque_nmm = 0;
  double most_force_n = 0;
  double least_slow = std::numeric_limits<double>::infinity();
  double stall_nmm = 0;
  double sticking = 1;
  double allowable_n = 0;  ///< of the shared mesh

  [[nodiscard]] double stall_reserve(double torque_nmm) const {
    return torque_nmm > 0 ? stall_nmm / torque_nmm : candidate::kMarginCap;
  }
  /// Loaded over no-load speed: the torque that keeps it turning is torque_nmm / sticking.
  [[nodiscard]] double speed_share(double torque_nmm) const {
    return std::max(0.0, 1 - torque_nmm / (sticking * stall_nmm));
  }
};

/// Whether every layout made of `b` is matched or beaten by the one made of `a` with the same rest: no more of any
/// part, no more told current, no lower worst margin. More torque or force or less speed is no loss where it stays
/// ample whatever comes.
[[nodiscard]] inline bool dominates(const Load& a, const Load& b, const Outlook& to_come) {
  if (a.steps > b.steps || a.inner_shafts > b.inner_shafts || a.outer_shafts > b.outer_shafts) return false;
  if (std::min(a.shared_users, 2) < std::min(b.shared_users, 2) || (b.musts & ~a.musts) != 0) return false;
  const double reach = std::min(b.margin, to_come.stall_reserve(b.torque_nmm));  // b's worst margin is no better
  if (a.margin < reach) return false;
  const double most_nmm = a.torque_nmm + to_come.most_torque_nmm;
  const double inside = std::min(1.0, reach), share = to_come.speed_share(most_nmm);
  const bool lighter = a.torque_nmm <= b.torque_nmm;
  if (!lighter && (to_come.stall_reserve(most_nmm) < reach || to_come.least_slow * share < inside)) return false;
  if (!(lighter && a.slow >= b.slow) && a.slow * share < inside) return false;
  if (a.force_n > b.force_n && to_come.allowable_n < reach * (a.force_n + to_come.most_force_n)) return false;
  return a.gears.among(b.gears);
}

/// Only what leaves the same gears on the motor's and the shared axle compares: their lengths are needs of their own.
[[nodiscard]] inline auto axles(const Load& l) {
  return std::make_tuple(l.direct, l.behind, l.on_motor > 0, l.on_shared > 0);
}
/// An order in which whatever dominates comes first.
[[nodiscard]] inline auto rank(const Load& l) {
  return std::make_tuple(l.gears.pieces(), l.inner_shafts + l.outer_shafts, l.steps, -l.margin, -l.shared_users,
                         l.torque_nmm, l.force_n, -l.slow);
}

/// Drops what another one beats. Only items of equal `key` are compared. Sorted by key and rank (ties: as they came).
template <class T, class Key, class Beats>
void keep_unbeaten(std::vector<T>& items, const Key& key, const Beats& beats) {
  std::vector<std::uint32_t> order(items.size());
  std::iota(order.begin(), order.end(), 0u);
  std::stable_sort(order.begin(), order.end(), [&](std::uint32_t a, std::uint32_t b) {
    const auto x = key(items[a]), y = key(items[b]);
    return x != y ? x < y : rank(items[a].load) < rank(items[b].load);
  });
  std::vector<T> kept;
  std::vector<std::uint64_t> classes;  // of the kept, side by side: most comparisons end at them
  std::size_t group = 0;
  for (const std::uint32_t at : order) {
    T& item = items[at];
    if (!kept.empty() && key(kept.back()) != key(item)) group = kept.size();
    const std::uint64_t missing = ~item.load.gears.used();
    bool beaten = false;
    for (std::size_t i = group; i < kept.size() && !beaten; ++i)
      beaten = (classes[i] & missing) == 0 && beats(kept[i], item);
    if (beaten) continue;
    classes.push_back(item.load.gears.used());
    kept.push_back(std::move(item));
  }
  items = std::move(kept);
}

/// Of ways or part solutions that serve the same outputs.
template <class T>
void keep_best(std::vector<T>& items, const Outlook& to_come) {
  keep_unbeaten(
      items, [](const T& t) { return axles(t.load); },
      [&](const T& a, const T& b) { return dominates(a.load, b.load, to_come); });
}

/// Cuts to `most` so that many sets of gear classes stay: the first of every set, then the second of every set and so
/// on, each in the order given. Returns how many went.
template <class T>
std::size_t spread_out(std::vector<T>& items, std::size_t most) {
  if (items.size() <= most) return 0;
  std::map<std::uint64_t, int> taken;
  std::vector<std::pair<int, std::uint32_t>> order;
  for (std::size_t i = 0; i < items.size(); ++i)
    order.emplace_back(taken[items[i].load.gears.used()]++, static_cast<std::uint32_t>(i));
  std::sort(order.begin(), order.end());
  const std::size_t gone = items.size() - most;
  order.resize(most);
  std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  std::vector<T> out;
  for (const auto& [round, at] : order) out.push_back(items[at]);
  items = std::move(out);
  return gone;
}

}  // namespace functions::spin
