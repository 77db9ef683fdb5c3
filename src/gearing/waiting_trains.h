// Trains of a search until they are put in order: small records that are dealt out, so that every train is written
// once.
#pragma once

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "gearing/train_search.h"

namespace gearing {

/// Misfits in whole nanometres, so that equal ones compare equal on every machine.
inline std::int64_t to_nm(double mm) {
  return std::llround(mm * 1e6);
}

/// Trains of the same stages and ratio.
struct Lot {
  int stages = 0;
  double ratio = 0;
};

/// A train as it waits to be put in order, a third of its later size. Meshes as one number that orders as they do:
/// 16 bits each, or 32 where a table is wider; 0 beyond the last stage.
template <typename Key>
struct Waiting {
  Key mesh;
  std::uint32_t level;  ///< place of its worst misfit among the table's misfits
  std::uint32_t lot;
};

template <typename Key>
constexpr unsigned kMeshBits = 8 * sizeof(Key) / kMostSearchStages;

/// Where things of some kind stand in a list that grows, by their hashes: open addressing, emptied in no time.
class Places {
 public:
  void clear() {
    ++turn_;
    size_ = 0;
  }
  /// Place of the one for which `same(place)` holds; where there is none, `next` becomes the place of this hash.
  template <typename Same>
  std::uint32_t find_or_add(std::uint64_t hash, std::uint32_t next, const Same& same) {
    if (2 * (size_ + 1) > slots_.size()) grow();
    for (std::size_t i = slot_of(hash);; i = (i + 1) & (slots_.size() - 1)) {
      Slot& s = slots_[i];
      if (s.turn != turn_) {
        s = {hash, next, turn_};
        ++size_;
        return next;
      }
      if (s.hash == hash && same(s.place)) return s.place;
    }
  }

 private:
  struct Slot {
    std::uint64_t hash = 0;
    std::uint32_t place = 0;
    std::uint32_t turn = 0;  ///< in which it was filled; other turns' slots are free
  };
  /// Golden-ratio hashing, Knuth, The Art of Computer Programming vol. 3, section 6.4.
  [[nodiscard]] std::size_t slot_of(std::uint64_t hash) const { return hash * 0x9e3779b97f4a7c15 >> shift_; }
  void grow() {
    const std::vector<Slot> old = std::exchange(slots_, std::vector<Slot>(slots_.empty() ? 64 : 2 * slots_.size()));
    shift_ = 64 - std::countr_zero(slots_.size());
    for (const Slot& s : old) {
      if (s.turn != turn_) continue;
      std::size_t i = slot_of(s.hash);
      while (slots_[i].turn == turn_) i = (i + 1) & (slots_.size() - 1);
      slots_[i] = s;
    }
  }

  std::vector<Slot> slots_;
  std::size_t size_ = 0;
  int shift_ = 64;
  std::uint32_t turn_ = 1;
};

/// The misfits of a table in whole nanometres, each once: worst misfits are those of single meshes, so they are few.
struct Levels {
  explicit Levels(const MeshTable& table) {
    for (const Mesh& m : table.meshes) misfit_mm.push_back(in_mm(m));
    std::sort(misfit_mm.begin(), misfit_mm.end());
    misfit_mm.erase(std::unique(misfit_mm.begin(), misfit_mm.end()), misfit_mm.end());
    for (const Mesh& m : table.meshes) {
      const auto at = std::lower_bound(misfit_mm.begin(), misfit_mm.end(), in_mm(m));
      of_mesh.push_back(static_cast<std::uint32_t>(at - misfit_mm.begin()));
    }
  }
  static double in_mm(const Mesh& m) { return static_cast<double>(to_nm(m.misfit_mm)) * 1e-6; }

  std::vector<double> misfit_mm{0};
  std::vector<std::uint32_t> of_mesh{0};  ///< by mesh index + 1, so that the -1 beyond the last stage counts least
};

/// Result order of two waiting trains.
template <typename Key>
bool comes_before(const std::vector<Lot>& lots, const Waiting<Key>& a, const Waiting<Key>& b) {
  const Lot &of_a = lots[a.lot], &of_b = lots[b.lot];
  if (of_a.stages != of_b.stages) return of_a.stages < of_b.stages;
  if (a.level != b.level) return a.level < b.level;
  if (of_a.ratio != of_b.ratio) return of_a.ratio < of_b.ratio;
  return a.mesh < b.mesh;
}

/// Writes the waiting trains in result order behind what `trains` holds. They are dealt out by their lots, of which
/// there are few, then by stages and worst misfit; only those that still meet are compared, and every train is
/// written once.
template <typename Key>
void write_in_order(const Levels& levels, const std::vector<Lot>& lots, std::vector<Waiting<Key>>& waiting,
                    std::vector<FoundTrain>& trains) {
  std::vector<std::uint32_t> by_ratio(lots.size()), rank_of(lots.size());
  for (std::uint32_t i = 0; i < lots.size(); ++i) by_ratio[i] = i;
  std::sort(by_ratio.begin(), by_ratio.end(), [&lots](std::uint32_t a, std::uint32_t b) {
    return std::pair(lots[a].stages, lots[a].ratio) < std::pair(lots[b].stages, lots[b].ratio);
  });
  for (std::uint32_t rank = 0; rank < lots.size(); ++rank) rank_of[by_ratio[rank]] = rank;
  std::vector<Waiting<Key>> dealt(waiting.size());
  const auto deal = [](const std::vector<Waiting<Key>>& from, std::vector<Waiting<Key>>& to, std::size_t heaps,
                       const auto& heap_of) {
    std::vector<std::uint32_t> begin(heaps + 1);
    for (const Waiting<Key>& w : from) ++begin[heap_of(w) + 1];
    for (std::size_t h = 1; h <= heaps; ++h) begin[h] += begin[h - 1];
    for (const Waiting<Key>& w : from) to[begin[heap_of(w)]++] = w;
  };
  deal(waiting, dealt, lots.size(), [&](const Waiting<Key>& w) { return rank_of[w.lot]; });
  const std::size_t width = levels.misfit_mm.size();
  deal(dealt, waiting, (kMostSearchStages + 1) * width,
       [&](const Waiting<Key>& w) { return static_cast<std::size_t>(lots[w.lot].stages) * width + w.level; });

  const std::size_t first = trains.size();
  trains.resize(first + waiting.size());
  std::vector<Key> meet;
  for (std::size_t i = 0; i < waiting.size();) {
    const std::uint32_t lot = waiting[i].lot, level = waiting[i].level;
    meet.clear();
    std::size_t end = i;
    for (; end < waiting.size() && waiting[end].lot == lot && waiting[end].level == level; ++end)
      meet.push_back(waiting[end].mesh);
    if (meet.size() > 1) std::sort(meet.begin(), meet.end());
    for (const Key key : meet) {
      FoundTrain& train = trains[first + i++];
      for (std::size_t k = 0; k < kMostSearchStages; ++k) {
        const auto shift = kMeshBits<Key> * static_cast<unsigned>(kMostSearchStages - 1 - k);
        constexpr Key kLow = (Key{1} << kMeshBits<Key>)-1;
        train.mesh[k] = static_cast<std::int32_t>(static_cast<std::uint32_t>(key >> shift & kLow)) - 1;
      }
      train.stages = lots[lot].stages;
      train.worst_misfit_mm = levels.misfit_mm[level];
      train.ratio = lots[lot].ratio;
    }
  }
}

}  // namespace gearing
