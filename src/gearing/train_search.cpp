// Method. A train of s stages is a multiset of s drivers and a multiset of s driven gears that can be paired off into
// meshes. All driver sets and all driven sets are listed once and sorted by their product of teeth; for each driven
// product the driver products inside the ratio window are one contiguous run (exact integers, no logarithms). A pair of
// sets in the window is tested against the stock by one addition (counts packed in 5-bit fields), against the mesh
// table by two bit masks, and only then paired off.
#include "gearing/train_search.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <tuple>
#include <utility>

#include "base/check.h"
#include "gearing/pairing_orders.h"
#include "gearing/train_load.h"
#include "gearing/waiting_trains.h"

namespace gearing {
namespace {

__extension__ typedef __int128 Wide;
__extension__ typedef unsigned __int128 UnsignedWide;
using base::Rational;

constexpr int kFieldsPerWord = 12;  // 5-bit fields; the top bit of a field is the guard
constexpr int kMostGears = 2 * kMostSearchStages;
constexpr std::uint64_t kGuards = [] {
  std::uint64_t g = 0;
  for (int i = 0; i < kFieldsPerWord; ++i) g |= std::uint64_t{16} << (5 * i);
  return g;
}();

template <int kWords>
struct Packed {
  std::array<std::uint64_t, kWords> w{};
  void add(int field) {
    w[static_cast<std::size_t>(field / kFieldsPerWord)] += std::uint64_t{1} << (5 * (field % kFieldsPerWord));
  }
  friend bool operator==(const Packed&, const Packed&) = default;
  friend auto operator<=>(const Packed&, const Packed&) = default;
};

template <int kWords>
struct Mask {
  std::array<std::uint64_t, kWords> w{};
  void set(int bit) { w[static_cast<std::size_t>(bit / 64)] |= std::uint64_t{1} << (bit % 64); }
  void join(const Mask& o) {
    for (std::size_t i = 0; i < kWords; ++i) w[i] |= o.w[i];
  }
  [[nodiscard]] bool within(const Mask& o) const {
    std::uint64_t out = 0;
    for (std::size_t i = 0; i < kWords; ++i) out |= w[i] & ~o.w[i];
    return out == 0;
  }
};

/// One side of a mesh: a class as driver, or a class with its tooth row as driven (a ring has two rows).
struct Side {
  stock::ClassId part{};
  int teeth = 0;
  bool ring = false;
  int field = 0;  ///< of the packed counts
};

/// The meshes the query lets through, by (driver side, driven side).
struct Problem {
  std::vector<Side> drivers, driven;
  std::vector<int> capacity;             ///< per field, at most kMostGears
  std::vector<std::int32_t> pair_begin;  ///< drivers x driven + 1 into pair_mesh
  std::vector<std::int32_t> pair_mesh;   ///< mesh indices, ascending misfit
  std::vector<bool> locks;               ///< per mesh of the table
  std::vector<std::int32_t> order_rank;  ///< per mesh: its place among all when stages are ordered, see order_stages
  std::vector<std::int32_t> by_rank;     ///< the meshes let through, by that place
  std::vector<bool> must_end;            ///< per mesh: can only be the last stage
  bool some_must_end = false;            ///< any of those let through
  bool ring_last = false;

  [[nodiscard]] std::span<const std::int32_t> meshes(int d, int n) const {
    const std::size_t at = static_cast<std::size_t>(d) * driven.size() + static_cast<std::size_t>(n);
    return {pair_mesh.data() + pair_begin[at], pair_mesh.data() + pair_begin[at + 1]};
  }
};

/// Sort key of order_stages: ascending from the output to the motor.
double order_key_of(const Mesh& m) {
  const double ratio = std::fabs(m.ratio.value());
  const double capacity = m.lewis_area_mm2 * m.nominal_support * m.driven_radius_mm;
  // Reductions before step-ups: negative keys, the greatest capacity most negative.
  return ratio < 1 ? -capacity : capacity * ratio;
}

/// Whether mesh `a` stands nearer the motor than `b`.
bool nearer_motor(const MeshTable& table, std::int32_t a, std::int32_t b) {
  const double key_a = order_key_of(table.meshes[static_cast<std::size_t>(a)]);
  const double key_b = order_key_of(table.meshes[static_cast<std::size_t>(b)]);
  // Stage order runs motor to output, so keys descend.
  return key_a != key_b ? key_a > key_b : a < b;
}

bool ends_train(const Mesh& m, std::optional<stock::ClassId> last_driven) {
  return drives_ring(m.type) || (last_driven && m.driven == *last_driven);
}

/// The last of the meshes that has to be the last moves there.
template <typename Ends>
void end_well(std::span<std::int32_t> meshes, Ends ends) {
  for (std::size_t i = meshes.size(); i-- > 0;) {
    if (!ends(meshes[i])) continue;
    std::rotate(meshes.begin() + static_cast<std::ptrdiff_t>(i), meshes.begin() + static_cast<std::ptrdiff_t>(i) + 1,
                meshes.end());
    break;
  }
}

/// `before(a, b)`: mesh a stands nearer the motor; `ends(a)`: mesh a has to be the last. At most four meshes.
template <typename Before, typename Ends>
void arrange(std::span<std::int32_t> meshes, Before before, Ends ends) {
  for (std::size_t i = 1; i < meshes.size(); ++i) {
    const std::int32_t moving = meshes[i];
    std::size_t j = i;
    for (; j > 0 && before(moving, meshes[j - 1]); --j) meshes[j] = meshes[j - 1];
    meshes[j] = moving;
  }
  end_well(meshes, ends);
}

bool let_through(const Mesh& m, const TrainQuery& q, bool ring_last) {
  if (q.max_misfit_mm >= 0 && m.misfit_mm > q.max_misfit_mm + 1e-9) return false;
  if (m.type == MeshType::worm && q.worm == WormRule::forbidden) return false;
  if ((m.type == MeshType::bevel || m.type == MeshType::crown) && !q.allow_right_angle) return false;
  if (drives_ring(m.type)) {
    return ring_last && (!q.last_driven || m.driven == *q.last_driven);
  }
  return true;
}

Problem pose(const MeshTable& table, std::span<const GearStock> gears, const TrainQuery& q) {
  Problem p;
  p.ring_last = q.end_on_ring;
  if (q.last_driven) {
    for (const Mesh& m : table.meshes) p.ring_last = p.ring_last || (m.driven == *q.last_driven && drives_ring(m.type));
  }
  // Pieces per class and side; equal classes in the list add up.
  std::vector<std::pair<stock::ClassId, std::int64_t>> pieces;
  for (const GearStock& g : gears) pieces.emplace_back(g.part, std::max(g.count, 0));
  std::sort(pieces.begin(), pieces.end());
  std::vector<std::pair<stock::ClassId, int>> stock_of;
  for (std::size_t i = 0; i < pieces.size();) {
    std::int64_t sum = 0;
    std::size_t j = i;
    for (; j < pieces.size() && pieces[j].first == pieces[i].first; ++j) sum += pieces[j].second;
    const std::int64_t per_side = sum / q.copies;
    if (per_side > 0)
      stock_of.emplace_back(pieces[i].first, static_cast<int>(std::min<std::int64_t>(per_side, kMostGears)));
    i = j;
  }
  const auto field_of = [&](stock::ClassId id) {
    const auto at = std::lower_bound(stock_of.begin(), stock_of.end(), id,
                                     [](const auto& a, stock::ClassId b) { return a.first < b; });
    return at == stock_of.end() || at->first != id ? -1 : static_cast<int>(at - stock_of.begin());
  };
  for (const auto& entry : stock_of) p.capacity.push_back(entry.second);

  std::vector<std::int32_t> used;
  p.locks.resize(table.meshes.size());
  p.must_end.resize(table.meshes.size());
  for (std::size_t i = 0; i < table.meshes.size(); ++i) {
    const Mesh& m = table.meshes[i];
    MeshEfficiencies e;
    e.worm_friction = q.worm_friction;
    p.locks[i] = m.type == MeshType::worm && backward_efficiency(m, e) <= 0;
    p.must_end[i] = ends_train(m, q.last_driven);
    if (!let_through(m, q, p.ring_last) || field_of(m.driver) < 0 || field_of(m.driven) < 0) continue;
    used.push_back(static_cast<std::int32_t>(i));
    p.some_must_end = p.some_must_end || p.must_end[i];
  }
  p.order_rank.resize(table.meshes.size());
  std::vector<std::int32_t>& by_rank = p.by_rank;
  by_rank = used;
  std::vector<double> keys;
  for (const Mesh& m : table.meshes) keys.push_back(order_key_of(m));
  std::sort(by_rank.begin(), by_rank.end(), [&](std::int32_t a, std::int32_t b) {
    const double key_a = keys[static_cast<std::size_t>(a)], key_b = keys[static_cast<std::size_t>(b)];
    return key_a != key_b ? key_a > key_b : a < b;  // as nearer_motor()
  });
  for (std::size_t i = 0; i < by_rank.size(); ++i)
    p.order_rank[static_cast<std::size_t>(by_rank[i])] = static_cast<std::int32_t>(i);
  const auto mesh_at = [&](std::int32_t i) -> const Mesh& { return table.meshes[static_cast<std::size_t>(i)]; };
  const auto driver_side = [&](const Mesh& m) { return Side{m.driver, m.driver_teeth, false, field_of(m.driver)}; };
  const auto driven_side = [&](const Mesh& m) {
    return Side{m.driven, m.driven_teeth, drives_ring(m.type), field_of(m.driven)};
  };
  const auto same = [](const Side& a, const Side& b) { return a.part == b.part && a.teeth == b.teeth; };
  const auto before = [](const Side& a, const Side& b) {
    return std::tie(a.part, a.teeth) < std::tie(b.part, b.teeth);
  };
  for (const std::int32_t i : used) {
    p.drivers.push_back(driver_side(mesh_at(i)));
    p.driven.push_back(driven_side(mesh_at(i)));
  }
  for (std::vector<Side>* sides : {&p.drivers, &p.driven}) {
    std::sort(sides->begin(), sides->end(), before);
    sides->erase(std::unique(sides->begin(), sides->end(), same), sides->end());
  }
  const auto index_in = [&](const std::vector<Side>& sides, const Side& s) {
    return static_cast<std::size_t>(std::lower_bound(sides.begin(), sides.end(), s, before) - sides.begin());
  };
  std::vector<std::vector<std::int32_t>> cells(p.drivers.size() * p.driven.size());
  for (const std::int32_t i : used) {
    const Mesh& m = mesh_at(i);
    cells[index_in(p.drivers, driver_side(m)) * p.driven.size() + index_in(p.driven, driven_side(m))].push_back(i);
  }
  p.pair_begin.push_back(0);
  for (std::vector<std::int32_t>& cell : cells) {
    std::sort(cell.begin(), cell.end(), [&](std::int32_t a, std::int32_t b) {
      return std::pair(mesh_at(a).misfit_mm, a) < std::pair(mesh_at(b).misfit_mm, b);
    });
    p.pair_mesh.insert(p.pair_mesh.end(), cell.begin(), cell.end());
    p.pair_begin.push_back(static_cast<std::int32_t>(p.pair_mesh.size()));
  }
  return p;
}

/// How good a pairing is: misfits in whole nanometres, so that equal fits compare equal on every machine.
struct Fit {
  std::int64_t worst_nm = 0, sum_nm = 0;
  friend auto operator<=>(const Fit&, const Fit&) = default;
};
using MeshSet = std::array<std::int32_t, kMostSearchStages>;  ///< -1 beyond the last stage

/// The -1 beyond the last stage stay behind the others. A fixed net of compared places, because branches on unsorted
/// numbers are guessed wrong half the time.
[[gnu::always_inline]] inline void sort_ascending(MeshSet& set) {
  static_assert(kMostSearchStages == 4);
  const auto settle = [&set](std::size_t i, std::size_t j) {
    const auto a = static_cast<std::uint32_t>(set[i]), b = static_cast<std::uint32_t>(set[j]);
    set[i] = static_cast<std::int32_t>(std::min(a, b));
    set[j] = static_cast<std::int32_t>(std::max(a, b));
  };
  settle(0, 1);
  settle(2, 3);
  settle(0, 2);
  settle(1, 3);
  settle(1, 2);
}

template <int kWords, typename Key>
class Searcher {
 public:
  // A class may appear with two tooth rows (rings), hence twice as many driven sides as fields at most.
  static constexpr int kMaskWords = (2 * kFieldsPerWord * kWords + 63) / 64;

  Searcher(const MeshTable& table, const Problem& problem, const TrainQuery& query, const base::RunControl& control,
           TrainSearchResult& result)
      : p_(problem), q_(query), control_(control), result_(result), levels_(table) {
    misfit_nm_.reserve(table.meshes.size());
    type_step_.reserve(table.meshes.size());
    for (const Mesh& m : table.meshes) {
      misfit_nm_.push_back(to_nm(m.misfit_mm));
      type_step_.push_back(1u << (4 * static_cast<unsigned>(m.type)));
    }
    for (std::size_t i = 0; i < kWords; ++i) slack_.w[i] = 0;
    for (std::size_t f = 0; f < p_.capacity.size(); ++f) {
      slack_.w[f / kFieldsPerWord] += static_cast<std::uint64_t>(15 - p_.capacity[f]) << (5 * (f % kFieldsPerWord));
    }
    reach_.resize(p_.drivers.size());
    driver_types_.resize(p_.drivers.size());
    driven_types_.resize(p_.driven.size());
    for (std::size_t d = 0; d < p_.drivers.size(); ++d) {
      for (std::size_t n = 0; n < p_.driven.size(); ++n) {
        const std::span<const std::int32_t> meshes = p_.meshes(static_cast<int>(d), static_cast<int>(n));
        if (!meshes.empty()) reach_[d].set(static_cast<int>(n));
        pair_first_.push_back(meshes.empty() ? -1 : meshes.front());
        pair_cost_.push_back(meshes.empty()
                                 ? static_cast<std::uint32_t>(kNoMesh >> 32)
                                 : static_cast<std::uint32_t>(misfit_nm_[static_cast<std::size_t>(meshes.front())]));
        for (const std::int32_t m : meshes) {
          const std::uint32_t type = 1u << static_cast<unsigned>(table.meshes[static_cast<std::size_t>(m)].type);
          driver_types_[d] |= type;
          driven_types_[n] |= type;
        }
      }
    }
  }

  /// All trains of exactly `stages` stages, appended to the result. False when stopped.
  bool run(int stages) {
    stages_ = stages;
    cost_ = {};
    list_sets(p_.drivers, false, driver_sets_);
    list_sets(p_.driven, true, driven_sets_);
    std::size_t low = 0;
    std::size_t high = 0;
    for (std::size_t n = 0; n < driven_sets_.size();) {
      if (control_.stopped()) return false;
      const std::int64_t product = driven_sets_[n].product;
      std::size_t n_end = n + 1;
      while (n_end < driven_sets_.size() && driven_sets_[n_end].product == product) ++n_end;
      while (low < driver_sets_.size() && below_window(driver_sets_[low].product, product)) ++low;
      high = std::max(high, low);
      while (high < driver_sets_.size() && !above_window(driver_sets_[high].product, product)) ++high;
      for (std::size_t d = low; d < high;) {
        std::size_t d_end = d + 1;
        while (d_end < high && driver_sets_[d_end].product == driver_sets_[d].product) ++d_end;
        compare(d, d_end, n, n_end);
        d = d_end;
      }
      n = n_end;
      if (q_.max_trains > 0) keep_first(q_.max_trains, 4 * q_.max_trains + 4096);
    }
    return true;
  }

  /// Keeps the first `most` trains once there are more than `over`.
  void keep_first(std::int64_t most, std::int64_t over) {
    if (static_cast<std::int64_t>(waiting_.size()) <= over) return;
    const auto cut = waiting_.begin() + most;
    std::nth_element(waiting_.begin(), cut, waiting_.end(),
                     [this](const Waiting<Key>& a, const Waiting<Key>& b) { return comes_before(lots_, a, b); });
    cut_ += waiting_.end() - cut;
    waiting_.erase(cut, waiting_.end());
  }
  void write(std::vector<FoundTrain>& trains) { write_in_order(levels_, lots_, waiting_, trains); }
  [[nodiscard]] std::int64_t cut() const { return cut_; }

 private:
  struct Set {
    std::int64_t product = 1;
    Packed<kWords> counts;
    Mask<kMaskWords> mask;  ///< driver sets: driven sides any of them reaches; driven sets: the sides themselves
    std::array<std::int16_t, kMostSearchStages> side{};  ///< ascending
    Repeats repeats = 0;                                 ///< of `side`
    std::uint32_t types = 0;                             ///< mesh types its sides can take part in
  };

  void list_sets(const std::vector<Side>& sides, bool driven, std::vector<Set>& out) {
    out.clear();
    Set set;
    listed_.clear();
    extend(sides, driven, 0, 0, 0, set);
    // Listed in ascending order of `side`: the place in the list breaks ties. Driven sets come second; those without
    // any driver set in the window are not worth sorting.
    // Product and place in one number, which is compared without a branch.
    std::int64_t most = 0;
    for (const Set& s : listed_) most = std::max(most, s.product);
    if (most >> 32 == 0) {
      take_sorted<std::uint64_t>(driven, out);
    } else {
      take_sorted<UnsignedWide>(driven, out);
    }
  }

  template <typename Number>
  void take_sorted(bool driven, std::vector<Set>& out) const {
    std::vector<Number> order;
    order.reserve(listed_.size());
    for (std::size_t i = 0; i < listed_.size(); ++i) {
      const std::int64_t product = listed_[i].product;
      if (driven && (driver_sets_.empty() || above_window(driver_sets_.front().product, product) ||
                     below_window(driver_sets_.back().product, product)))
        continue;
      order.push_back(static_cast<Number>(product) << 32 | static_cast<Number>(i));
    }
    std::sort(order.begin(), order.end());
    out.reserve(order.size());
    for (const Number key : order) out.push_back(listed_[static_cast<std::uint32_t>(key)]);
  }

  void extend(const std::vector<Side>& sides, bool driven, int depth, int from, int rings, const Set& set) {
    if (depth == stages_) {
      if (driven && !ends_well(sides, set, rings)) return;
      listed_.push_back(set);
      return;
    }
    for (int i = from; i < static_cast<int>(sides.size()); ++i) {
      const Side& side = sides[static_cast<std::size_t>(i)];
      if (side.ring && rings > 0) continue;
      Set next = set;
      next.product *= side.teeth;
      next.counts.add(side.field);
      if (!in_stock(next.counts)) continue;
      if (driven) {
        next.mask.set(i);
        next.types |= driven_types_[static_cast<std::size_t>(i)];
      } else {
        next.mask.join(reach_[static_cast<std::size_t>(i)]);
        next.types |= driver_types_[static_cast<std::size_t>(i)];
      }
      next.side[static_cast<std::size_t>(depth)] = static_cast<std::int16_t>(i);
      if (depth > 0 && i == from) next.repeats |= 1u << (depth - 1);
      extend(sides, driven, depth + 1, i, rings + (side.ring ? 1 : 0), next);
    }
  }

  [[nodiscard]] bool ends_well(const std::vector<Side>& sides, const Set& set, int rings) const {
    if (p_.ring_last && rings != 1) return false;
    if (!q_.last_driven) return true;
    for (int i = 0; i < stages_; ++i) {
      const Side& side = sides[static_cast<std::size_t>(set.side[static_cast<std::size_t>(i)])];
      if (side.part == *q_.last_driven && (side.ring || !p_.ring_last)) return true;
    }
    return false;
  }

  [[nodiscard]] bool in_stock(const Packed<kWords>& counts) const {
    std::uint64_t over = 0;
    for (std::size_t i = 0; i < kWords; ++i) over |= (counts.w[i] + slack_.w[i]) & kGuards;
    return over == 0;
  }

  [[nodiscard]] bool in_stock(const Packed<kWords>& a, const Packed<kWords>& b) const {
    std::uint64_t over = 0;
    for (std::size_t i = 0; i < kWords; ++i) over |= (a.w[i] + b.w[i] + slack_.w[i]) & kGuards;
    return over == 0;
  }

  [[nodiscard]] bool below_window(std::int64_t drivers, std::int64_t driven) const {
    return static_cast<Wide>(drivers) * q_.low.den() < static_cast<Wide>(q_.low.num()) * driven;
  }
  [[nodiscard]] bool above_window(std::int64_t drivers, std::int64_t driven) const {
    return static_cast<Wide>(drivers) * q_.high.den() > static_cast<Wide>(q_.high.num()) * driven;
  }

  struct Candidate {
    Packed<kWords> parts;
    std::uint32_t types = 0;
    Fit fit;
    MeshSet mesh{};  ///< ascending
  };

  /// Driver sets of one product against driven sets of one product. Only here can two pairs of sets use the same parts
  /// at the same ratio (the products of drivers and driven then agree too), so repeats are dropped here.
  void compare(std::size_t d_begin, std::size_t d_end, std::size_t n_begin, std::size_t n_end) {
    found_.clear();
    for (std::size_t n = n_begin; n < n_end; ++n) {
      const Set& driven = driven_sets_[n];
      for (std::size_t d = d_begin; d < d_end; ++d) {
        const Set& drivers = driver_sets_[d];
        ++result_.examined;
        if (!driven.mask.within(drivers.mask) || !in_stock(drivers.counts, driven.counts)) continue;
        pair_off(drivers, driven);
      }
    }
    if (found_.empty()) return;
    if (d_end - d_begin > 1 && n_end - n_begin > 1) drop_repeats();
    const std::uint32_t lot =
        lot_of(static_cast<double>(driver_sets_[d_begin].product) / static_cast<double>(driven_sets_[n_begin].product));
    for (const Candidate& c : found_) {
      MeshSet mesh = c.mesh;
      for (std::size_t i = 0; i < static_cast<std::size_t>(stages_); ++i)
        mesh[i] = p_.order_rank[static_cast<std::size_t>(mesh[i])];
      sort_ascending(mesh);
      for (std::size_t i = 0; i < static_cast<std::size_t>(stages_); ++i)
        mesh[i] = p_.by_rank[static_cast<std::size_t>(mesh[i])];
      if (p_.some_must_end) {
        end_well({mesh.data(), static_cast<std::size_t>(stages_)},
                 [this](std::int32_t m) { return p_.must_end[static_cast<std::size_t>(m)]; });
      }
      Waiting<Key> train{0, 0, lot};
      for (const std::int32_t m : mesh) {
        train.mesh = train.mesh << kMeshBits<Key> | static_cast<std::uint32_t>(m + 1);
        train.level = std::max(train.level, levels_.of_mesh[static_cast<std::size_t>(m + 1)]);
      }
      waiting_.push_back(train);
    }
  }

  /// Keeps the best of those of the same parts and mesh types.
  void drop_repeats() {
    places_.clear();
    std::uint32_t kept = 0;
    for (const Candidate& c : found_) {
      std::uint64_t hash = c.types;
      for (const std::uint64_t w : c.parts.w) hash = std::rotl(hash, 23) ^ w;
      const std::uint32_t at = places_.find_or_add(
          hash, kept, [&](std::uint32_t i) { return found_[i].parts == c.parts && found_[i].types == c.types; });
      if (at == kept) {
        found_[kept++] = c;
      } else if (std::tie(c.fit, c.mesh) < std::tie(found_[at].fit, found_[at].mesh)) {
        found_[at] = c;
      }
    }
    found_.resize(kept);
  }

  /// Products that differ can give the same ratio.
  std::uint32_t lot_of(double ratio) {
    const auto next = static_cast<std::uint32_t>(lots_.size());
    const std::uint32_t lot = lot_places_.find_or_add(std::bit_cast<std::uint64_t>(ratio), next, [&](std::uint32_t i) {
      return lots_[i].stages == stages_ && lots_[i].ratio == ratio;
    });
    if (lot == next) lots_.push_back({stages_, ratio});
    return lot;
  }

  /// Best pairing per set of mesh types.
  void pair_off(const Set& drivers, const Set& driven) {
    first_ = found_.size();
    parts_ = drivers.counts;
    for (std::size_t i = 0; i < kWords; ++i) parts_.w[i] += driven.counts.w[i];
    mesh_.fill(-1);
    const std::uint32_t shared = drivers.types & driven.types;
    if ((shared & (shared - 1)) == 0 && q_.worm != WormRule::locking) {
      pair_off_one_type(drivers, driven);
    } else {
      assign(drivers, driven, 0, -1, 0u, 0u, {});
    }
  }

  /// One mesh type, so at most one mesh per pair and the same type count for every pairing: all orders of the driven
  /// gears are compared by worst and sum of misfit in one number.
  void pair_off_one_type(const Set& drivers, const Set& driven) {
    const auto stages = static_cast<std::size_t>(stages_);
    const auto type = static_cast<unsigned>(std::countr_zero(drivers.types & driven.types));
    const std::uint32_t types = static_cast<std::uint32_t>(stages_) << (4 * type);
    if (!rules_hold(types)) return;
    std::array<std::array<std::uint32_t, kMostSearchStages>, kMostSearchStages>& cost = cost_;
    std::array<const std::int32_t*, kMostSearchStages> first;
    for (std::size_t i = 0; i < stages; ++i) {
      const std::size_t row = static_cast<std::size_t>(drivers.side[i]) * p_.driven.size();
      first[i] = &pair_first_[row];
      for (std::size_t j = 0; j < stages; ++j) cost[i][j] = pair_cost_[row + static_cast<std::size_t>(driven.side[j])];
    }
    // First the least, then who has it: in one go the processor would have to guess which orders are better.
    std::uint64_t best = kNoMesh;
    std::array<std::uint64_t, kOrders.size()> totals;
    const OrderList& orders = kOrderLists[stages][drivers.repeats][driven.repeats];
    for (std::size_t i = 0; i < orders.count; ++i) {
      const auto& j = kOrders[orders.k[i]];
      const std::uint32_t a = cost[0][j[0]], b = cost[1][j[1]], c = cost[2][j[2]], d = cost[3][j[3]];
      totals[i] = std::uint64_t{std::max(std::max(a, b), std::max(c, d))} << 32 | (a + b + c + d);
      best = std::min(best, totals[i]);
    }
    if (best >= kNoMesh) return;
    std::uint32_t best_orders = 0;
    for (std::size_t i = 0; i < orders.count; ++i)
      best_orders |= static_cast<std::uint32_t>(totals[i] == best) << orders.k[i];
    // Of equal fits the one with the first meshes.
    MeshSet best_mesh{};
    bool met = false;
    for (std::uint32_t left = best_orders; left != 0; left &= left - 1) {
      const auto k = static_cast<std::size_t>(std::countr_zero(left));
      MeshSet mesh{-1, -1, -1, -1};
      for (std::size_t i = 0; i < stages; ++i) mesh[i] = first[i][driven.side[kOrders[k][i]]];
      sort_ascending(mesh);
      if (!met || mesh < best_mesh) best_mesh = mesh;
      met = true;
    }
    const Fit fit{static_cast<std::int64_t>(best >> 32), static_cast<std::int64_t>(best & 0xffffffffu)};
    found_.push_back({parts_, types, fit, best_mesh});
  }

  /// Gives driver `depth` and all later ones a free driven gear each. `taken`: bit per driven gear; `before_j`: the one
  /// the driver before took.
  void assign(const Set& drivers, const Set& driven, int depth, int before_j, unsigned taken, std::uint32_t types,
              const Fit& so_far) {
    if (depth == stages_ || depth == kMostSearchStages) {
      keep(types, so_far);
      return;
    }
    const int d = drivers.side[static_cast<std::size_t>(depth)];
    // Equal drivers are interchangeable: let them take driven gears in ascending order.
    const bool repeats = depth > 0 && drivers.side[static_cast<std::size_t>(depth - 1)] == d;
    int tried = -1;
    for (int j = repeats ? before_j + 1 : 0; j < stages_; ++j) {
      const int n = driven.side[static_cast<std::size_t>(j)];
      // Equal driven gears stand side by side; trying the first free one of them is enough.
      if ((taken >> j & 1u) != 0 || n == tried) continue;
      tried = n;
      for (const std::int32_t m : p_.meshes(d, n)) {
        const std::int64_t misfit = misfit_nm_[static_cast<std::size_t>(m)];
        const Fit next{std::max(so_far.worst_nm, misfit), so_far.sum_nm + misfit};
        mesh_[static_cast<std::size_t>(depth)] = m;
        assign(drivers, driven, depth + 1, j, taken | 1u << j, types + type_step_[static_cast<std::size_t>(m)], next);
      }
    }
  }

  [[nodiscard]] bool rules_hold(std::uint32_t types) const {
    const auto count = [types](MeshType t) { return static_cast<int>(types >> (4 * static_cast<unsigned>(t)) & 15u); };
    const int worms = count(MeshType::worm);
    if (count(MeshType::bevel) + count(MeshType::crown) + worms > q_.most_right_angles) return false;
    if (q_.worm == WormRule::required && worms == 0) return false;
    if (q_.worm != WormRule::locking) return true;
    for (int i = 0; i < stages_; ++i) {
      if (p_.locks[static_cast<std::size_t>(mesh_[static_cast<std::size_t>(i)])]) return true;
    }
    return false;
  }

  void keep(std::uint32_t types, const Fit& fit) {
    Candidate* known = nullptr;
    for (std::size_t i = first_; i < found_.size(); ++i) {
      if (found_[i].types == types) known = &found_[i];
    }
    if (known != nullptr && known->fit < fit) return;
    if (!rules_hold(types)) return;
    MeshSet mesh = mesh_;
    sort_ascending(mesh);
    if (known == nullptr) {
      found_.push_back({parts_, types, fit, mesh});
    } else if (std::tie(fit, mesh) < std::tie(known->fit, known->mesh)) {
      known->fit = fit;
      known->mesh = mesh;
    }
  }

  const Problem& p_;
  const TrainQuery& q_;
  const base::RunControl& control_;
  TrainSearchResult& result_;
  Packed<kWords> slack_;
  std::vector<Mask<kMaskWords>> reach_;
  std::vector<std::uint32_t> driver_types_, driven_types_;  ///< per side: bit per mesh type it takes part in
  std::vector<std::int64_t> misfit_nm_;
  /// Misfit in nm of a pair's best mesh, drivers x driven; a pair without mesh costs more than 500 mm of misfit do.
  static constexpr std::uint64_t kNoMesh = std::uint64_t{1} << (29 + 32);
  std::vector<std::uint32_t> pair_cost_;
  std::vector<std::int32_t> pair_first_;  ///< that mesh, -1 = none
  /// Of the sets under comparison, by (driver, driven gear); zero beyond the last stage. Kept here because clearing it
  /// for every pair of sets would be a tenth of the search.
  std::array<std::array<std::uint32_t, kMostSearchStages>, kMostSearchStages> cost_{};
  std::vector<Set> listed_;  ///< by extend(), not yet sorted
  std::vector<Set> driver_sets_, driven_sets_;
  std::vector<Candidate> found_;
  const Levels levels_;
  Places places_, lot_places_;
  std::vector<Lot> lots_;
  std::vector<Waiting<Key>> waiting_;
  std::size_t first_ = 0;
  Packed<kWords> parts_;
  MeshSet mesh_{};                        ///< of the pairing under construction, by driver
  std::vector<std::uint32_t> type_step_;  ///< per mesh: adds one to its type's 4-bit count
  int stages_ = 0;
  std::int64_t cut_ = 0;
};

template <int kWords, typename Key>
void search_as(const MeshTable& table, const Problem& problem, const TrainQuery& query, const base::RunControl& control,
               TrainSearchResult& result) {
  Searcher<kWords, Key> searcher(table, problem, query, control, result);
  for (int stages = std::max(1, query.min_stages); stages <= query.max_stages; ++stages) {
    if (searcher.run(stages)) continue;
    result.complete = false;
    result.limit_text = "stopped while trains of " + std::to_string(stages) + " stages were searched";
    break;
  }
  if (query.max_trains > 0) {
    searcher.keep_first(query.max_trains, query.max_trains);
    if (searcher.cut() > 0 && result.complete) {
      result.complete = false;
      result.limit_text =
          "kept the first " + std::to_string(query.max_trains) + " trains, left out " + std::to_string(searcher.cut());
    }
  }
  searcher.write(result.trains);
}

template <int kWords>
void search_with(const MeshTable& table, const Problem& problem, const TrainQuery& query,
                 const base::RunControl& control, TrainSearchResult& result) {
  if (table.meshes.size() < 65535) {
    search_as<kWords, std::uint64_t>(table, problem, query, control, result);
  } else {
    search_as<kWords, UnsignedWide>(table, problem, query, control, result);
  }
}

}  // namespace

TrainSearchResult search_trains(const MeshTable& table, std::span<const GearStock> gears, const TrainQuery& query,
                                const base::RunControl& control) {
  KW_CHECK(Rational(0) < query.low && query.low <= query.high, "window of a train search");
  KW_CHECK(query.min_stages >= 0 && query.max_stages <= kMostSearchStages, "stages of a train search");
  KW_CHECK(query.copies >= 1, "copies of a train");
  TrainSearchResult result;
  const Problem problem = pose(table, gears, query);
  const bool ending = problem.ring_last || query.last_driven.has_value();
  if (query.min_stages == 0 && !ending && query.low <= Rational(1) && Rational(1) <= query.high &&
      (query.worm == WormRule::allowed || query.worm == WormRule::forbidden)) {
    FoundTrain direct;
    direct.ratio = 1;
    result.trains.push_back(direct);
  }
  const auto words = (problem.capacity.size() + kFieldsPerWord - 1) / kFieldsPerWord;
  if (words <= 1) {
    search_with<1>(table, problem, query, control, result);
  } else if (words <= 2) {
    search_with<2>(table, problem, query, control, result);
  } else if (words <= 4) {
    search_with<4>(table, problem, query, control, result);
  } else {
    KW_CHECK(words <= 16, "more than 192 gear classes in one stock");
    search_with<16>(table, problem, query, control, result);
  }
  return result;
}

Train make_train(const MeshTable& table, const FoundTrain& found) {
  return Train::of(table, {found.mesh.data(), static_cast<std::size_t>(found.stages)});
}

std::vector<Train> find_trains(const MeshTable& table, std::span<const GearStock> gears, const TrainQuery& query,
                               const base::RunControl& control) {
  const TrainSearchResult result = search_trains(table, gears, query, control);
  std::vector<Train> trains;
  trains.reserve(result.trains.size());
  for (const FoundTrain& f : result.trains) trains.push_back(make_train(table, f));
  return trains;
}

void order_stages(const MeshTable& table, std::span<std::int32_t> meshes, std::optional<stock::ClassId> last_driven) {
  arrange(
      meshes, [&](std::int32_t a, std::int32_t b) { return nearer_motor(table, a, b); },
      [&](std::int32_t m) { return ends_train(table.meshes[static_cast<std::size_t>(m)], last_driven); });
}

}  // namespace gearing
