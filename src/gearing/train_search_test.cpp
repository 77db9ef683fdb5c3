// The train search against an enumeration of all sets of meshes, the stage order against all orders, and the classical
// free-teeth problem against its published answer.
#include "gearing/train_search.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <set>

#include "base/triple.h"
#include "gearing/test_kit.h"
#include "gearing/train_load.h"

namespace gearing {
namespace {

using base::Rational;
using stock::ClassId;
using stock::GearForm;

/// Whole number in [low, high], repeatable.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : seed_(seed) {}
  int roll(int low, int high) {
    return low + static_cast<int>(base::uniform_draw(seed_, 1, next_++) * (high - low + 1));
  }

 private:
  std::uint64_t seed_, next_ = 0;
};

struct Key {
  std::map<ClassId, int> parts;
  Rational ratio;  // size only
  std::map<MeshType, int> types;
  friend bool operator<(const Key& a, const Key& b) {
    return std::tie(a.parts, a.types) != std::tie(b.parts, b.types)
               ? std::tie(a.parts, a.types) < std::tie(b.parts, b.types)
               : a.ratio < b.ratio;
  }
};
struct Fit {
  std::int64_t worst_nm = 0, sum_nm = 0;
  std::vector<int> meshes;  // ascending
  friend auto operator<=>(const Fit&, const Fit&) = default;
};
using Answer = std::map<Key, Fit>;

std::pair<Key, Fit> described(const MeshTable& t, std::vector<int> meshes) {
  std::sort(meshes.begin(), meshes.end());
  Key key;
  Fit fit;
  key.ratio = Rational(1);
  for (const int i : meshes) {
    const Mesh& m = t.meshes[static_cast<std::size_t>(i)];
    ++key.parts[m.driver];
    ++key.parts[m.driven];
    ++key.types[m.type];
    key.ratio = key.ratio * m.ratio.abs();
    const std::int64_t nm = std::llround(m.misfit_mm * 1e6);
    fit.worst_nm = std::max(fit.worst_nm, nm);
    fit.sum_nm += nm;
  }
  fit.meshes = std::move(meshes);
  return {key, fit};
}

/// Every multiset of meshes, no cleverness.
void brute(const MeshTable& t, const std::map<ClassId, int>& counts, const TrainQuery& q, std::size_t from,
           std::vector<int>& meshes, Answer& answer) {
  const int stages = static_cast<int>(meshes.size());
  Rational ratio(1);
  for (const int i : meshes) ratio = ratio * t.meshes[static_cast<std::size_t>(i)].ratio.abs();
  if (stages >= q.min_stages && stages > 0 && q.low <= ratio && ratio <= q.high) {
    auto [key, fit] = described(t, meshes);
    bool ok = true;
    for (const auto& [part, used] : key.parts) ok = ok && counts.contains(part) && used * q.copies <= counts.at(part);
    const auto has = [&, &key = key](MeshType type) { return key.types.contains(type) ? key.types.at(type) : 0; };
    bool ring_wanted = q.end_on_ring, ends = !q.last_driven.has_value(), locks = false;
    for (const int i : meshes) {
      const Mesh& m = t.meshes[static_cast<std::size_t>(i)];
      if (q.last_driven && m.driven == *q.last_driven) {
        ends = true;
        ring_wanted = ring_wanted || drives_ring(m.type);
      }
      locks = locks || (m.type == MeshType::worm &&
                        q.worm_friction >= std::cos(m.pressure_angle_rad) * std::tan(m.lead_angle_rad));
      ok = ok && (q.max_misfit_mm < 0 || m.misfit_mm <= q.max_misfit_mm);
      if (!q.allow_right_angle) ok = ok && m.type != MeshType::bevel && m.type != MeshType::crown;
    }
    ok = ok && ends && has(MeshType::ring_outer) + has(MeshType::ring_inner) == (ring_wanted ? 1 : 0);
    if (ring_wanted && q.last_driven) {
      for (const int i : meshes) {
        const Mesh& m = t.meshes[static_cast<std::size_t>(i)];
        ok = ok && (!drives_ring(m.type) || m.driven == *q.last_driven);
      }
    }
    const int worms = has(MeshType::worm);
    ok = ok && has(MeshType::bevel) + has(MeshType::crown) + worms <= q.most_right_angles;
    if (q.worm == WormRule::forbidden) ok = ok && worms == 0;
    if (q.worm == WormRule::required) ok = ok && worms > 0;
    if (q.worm == WormRule::locking) ok = ok && locks;
    if (ok) {
      const auto [at, fresh] = answer.try_emplace(key, fit);
      if (!fresh && fit < at->second) at->second = fit;
    }
  }
  if (stages == q.max_stages) return;
  for (std::size_t i = from; i < t.meshes.size(); ++i) {
    meshes.push_back(static_cast<int>(i));
    brute(t, counts, q, i, meshes, answer);
    meshes.pop_back();
  }
}

struct Case {
  stock::Catalogue kit;
  std::vector<GearStock> gears;
  TrainQuery query;
};

Case random_case(std::uint64_t seed) {
  Dice dice(seed);
  Case c;
  c.kit = test::empty_kit(8, dice.roll(0, 3) == 0 ? 1.5 : 0.4);
  const int classes = dice.roll(3, 6);
  for (int i = 0; i < classes; ++i) {
    const int teeth = 4 * dice.roll(2, 10);
    switch (dice.roll(0, 9)) {
      case 0:
        test::add_gear(c.kit, teeth, GearForm::crown);
        break;
      case 1:
        test::add_gear(c.kit, dice.roll(1, 2), GearForm::worm);
        break;
      case 2:
        test::add_ring(c.kit, 56, 40);
        break;
      case 3:
        test::add_gear(c.kit, teeth, GearForm::bevel);
        break;
      default:
        test::add_gear(c.kit, teeth, GearForm::spur, dice.roll(0, 1) == 0);
    }
    c.gears.push_back({ClassId{i}, dice.roll(0, 5)});
  }
  TrainQuery& q = c.query;
  const int low = dice.roll(1, 20);
  q.low = Rational(low, 20 * dice.roll(1, 6));
  q.high = q.low * Rational(dice.roll(10, 40), 10);
  q.min_stages = dice.roll(1, 2);
  q.max_stages = dice.roll(q.min_stages, 4);
  q.copies = dice.roll(1, 4) == 1 ? 2 : 1;
  q.end_on_ring = dice.roll(0, 4) == 0;
  q.allow_right_angle = dice.roll(0, 3) != 0;
  if (dice.roll(0, 3) == 0) q.most_right_angles = dice.roll(0, 2);
  if (dice.roll(0, 3) == 0) q.max_misfit_mm = 0.25;
  if (dice.roll(0, 3) == 0) q.last_driven = ClassId{dice.roll(0, classes - 1)};
  const WormRule rules[] = {WormRule::allowed, WormRule::allowed, WormRule::forbidden, WormRule::required,
                            WormRule::locking};
  q.worm = rules[dice.roll(0, 4)];
  q.worm_friction = dice.roll(0, 1) == 0 ? 0.1 : 0.2;  // a single start of 8 mm locks from 0.117
  return c;
}

TEST(TrainSearch, EqualsBruteForceOnRandomStocks) {
  int with_trains = 0;
  std::size_t trains = 0;
  for (std::uint64_t seed = 1; seed <= 1000; ++seed) {
    const Case c = random_case(seed);
    MeshTable t = find_meshes(c.kit);
    // Four stages of many meshes are too many for the enumeration.
    TrainQuery q = c.query;
    if (t.meshes.size() > 16) q.max_stages = std::max(q.min_stages, 3);
    std::map<ClassId, int> counts;
    for (const GearStock& g : c.gears) counts[g.part] = g.count;
    Answer expected;
    std::vector<int> meshes;
    brute(t, counts, q, 0, meshes, expected);
    const TrainSearchResult result = search_trains(t, c.gears, q);
    EXPECT_TRUE(result.complete);
    Answer found;
    for (const FoundTrain& f : result.trains) {
      const auto [key, fit] = described(t, {f.mesh.begin(), f.mesh.begin() + f.stages});
      EXPECT_TRUE(found.try_emplace(key, fit).second) << "a train twice, seed " << seed;
      EXPECT_NEAR(f.ratio, key.ratio.value(), 1e-15 + 1e-12 * f.ratio);
      EXPECT_NEAR(f.worst_misfit_mm, static_cast<double>(fit.worst_nm) * 1e-6, 1e-12);
      const Train train = make_train(t, f);
      EXPECT_EQ(train.ratio().abs(), key.ratio);
      for (std::size_t i = 0; i + 1 < train.stages.size(); ++i) EXPECT_FALSE(drives_ring(train.stages[i].type));
      if (q.last_driven) {
        EXPECT_EQ(train.stages.back().driven, *q.last_driven);
      }
      for (const GearUse& use : train.needs(q.copies)) EXPECT_LE(use.count, counts.at(use.part));
    }
    ASSERT_EQ(found.size(), expected.size()) << "seed " << seed;
    auto e = expected.begin();
    for (const auto& [key, fit] : found) {
      EXPECT_FALSE(key < e->first || e->first < key) << "seed " << seed;
      EXPECT_TRUE(fit == e->second) << "seed " << seed;
      ++e;
    }
    with_trains += expected.empty() ? 0 : 1;
    trains += expected.size();
  }
  // The cases must say something: enough of them have trains.
  EXPECT_GE(with_trains, 200);
  EXPECT_GE(trains, 2000u);
}

TEST(TrainSearch, DoesNotDependOnTheOrderOfTheStockList) {
  const Case c = random_case(7);
  const MeshTable t = find_meshes(c.kit);
  TrainQuery q;
  q.low = Rational(1, 50);
  q.high = Rational(1);
  std::vector<GearStock> gears = c.gears;
  const TrainSearchResult a = search_trains(t, gears, q);
  std::reverse(gears.begin(), gears.end());
  const TrainSearchResult b = search_trains(t, gears, q);
  ASSERT_EQ(a.trains.size(), b.trains.size());
  for (std::size_t i = 0; i < a.trains.size(); ++i) EXPECT_EQ(a.trains[i].mesh, b.trains[i].mesh);
}

// Packed counts take one, two, four or sixteen words; each width against the enumeration.
TEST(TrainSearch, HandlesManyClasses) {
  for (const int last : {40, 68, 120}) {
    stock::Catalogue kit = test::empty_kit(8, last > 100 ? 0.02 : 0.12);
    std::vector<GearStock> gears;
    std::map<ClassId, int> counts;
    for (int z = 8; z < last; ++z) {
      const ClassId id = test::add_gear(kit, z);
      gears.push_back({id, z % 3});
      counts[id] = z % 3;
    }
    const MeshTable t = find_meshes(kit);
    TrainQuery q;
    q.low = Rational(90, 1000);
    q.high = Rational(110, 1000);
    q.max_stages = 2;
    Answer expected;
    std::vector<int> meshes;
    brute(t, counts, q, 0, meshes, expected);
    const TrainSearchResult result = search_trains(t, gears, q);
    Answer found;
    for (const FoundTrain& f : result.trains) {
      const auto [key, fit] = described(t, {f.mesh.begin(), f.mesh.begin() + f.stages});
      EXPECT_TRUE(expected.contains(key) && expected.at(key) == fit);
      EXPECT_TRUE(found.try_emplace(key, fit).second);
    }
    EXPECT_EQ(found.size(), expected.size());
    EXPECT_GT(expected.size(), 20u) << last;
  }
}

// More meshes than 16 bits can number: the same trains in the same order, whatever stands before them in the table.
TEST(TrainSearch, HandlesTablesOfManyMeshes) {
  constexpr std::int32_t kOthers = 70'000;
  std::size_t trains = 0;
  for (const std::uint64_t seed : {1, 7, 20}) {
    const Case c = random_case(seed);
    const MeshTable few = find_meshes(c.kit);
    ASSERT_FALSE(few.meshes.empty());
    Mesh other = few.meshes.front();
    other.driver = other.driven = ClassId{1000};  // in no stock
    MeshTable many;
    many.meshes.assign(kOthers, other);
    many.meshes.insert(many.meshes.end(), few.meshes.begin(), few.meshes.end());
    TrainQuery q;
    q.low = Rational(1, 50);
    q.high = Rational(1);
    const TrainSearchResult a = search_trains(few, c.gears, q), b = search_trains(many, c.gears, q);
    ASSERT_EQ(a.trains.size(), b.trains.size());
    for (std::size_t i = 0; i < a.trains.size(); ++i) {
      FoundTrain moved = a.trains[i];
      for (int k = 0; k < moved.stages; ++k) moved.mesh[static_cast<std::size_t>(k)] += kOthers;
      EXPECT_EQ(moved.mesh, b.trains[i].mesh);
      EXPECT_EQ(moved.ratio, b.trains[i].ratio);
      EXPECT_EQ(moved.worst_misfit_mm, b.trains[i].worst_misfit_mm);
    }
    trains += a.trains.size();
  }
  EXPECT_GT(trains, 100u);
}

// Written out in order: each train not before the one ahead of it, by the rule of the header.
TEST(TrainSearch, GivesTrainsInItsOrder) {
  stock::Catalogue kit = test::empty_kit(8, 0.4);
  std::vector<GearStock> gears;
  for (const int z : {8, 12, 16, 20, 24, 28, 36, 40}) gears.push_back({test::add_gear(kit, z), 3});
  const MeshTable t = find_meshes(kit);
  TrainQuery q;
  q.min_stages = 0;
  q.low = Rational(1, 30);
  q.high = Rational(1);
  const std::vector<FoundTrain> trains = search_trains(t, gears, q).trains;
  ASSERT_GT(trains.size(), 2000u);
  const auto order = [](const FoundTrain& f) {
    return std::tuple(f.stages, std::llround(f.worst_misfit_mm * 1e6), f.ratio, f.mesh);
  };
  for (std::size_t i = 1; i < trains.size(); ++i) {
    EXPECT_LT(order(trains[i - 1]), order(trains[i])) << i;
    const Train made = make_train(t, trains[i]);
    EXPECT_DOUBLE_EQ(std::fabs(made.ratio().value()), trains[i].ratio);
  }
}

TEST(TrainSearch, OffersDirectDriveOnlyWhenAskedAndInTheWindow) {
  const Case c = random_case(3);
  const MeshTable t = find_meshes(c.kit);
  TrainQuery q;
  q.min_stages = 0;
  q.max_stages = 0;
  EXPECT_EQ(search_trains(t, c.gears, q).trains.size(), 1u);
  EXPECT_EQ(make_train(t, search_trains(t, c.gears, q).trains[0]).ratio(), Rational(1));
  q.low = q.high = Rational(2);
  EXPECT_TRUE(search_trains(t, c.gears, q).trains.empty());
}

TEST(TrainSearch, SaysWhenItCutsOrStops) {
  stock::Catalogue kit = test::empty_kit();
  std::vector<GearStock> gears;
  for (const int z : {8, 16, 24, 40}) gears.push_back({test::add_gear(kit, z), 4});
  const MeshTable t = find_meshes(kit);
  TrainQuery q;
  q.low = Rational(1, 100);
  const TrainSearchResult all = search_trains(t, gears, q);
  ASSERT_GT(all.trains.size(), 10u);
  EXPECT_TRUE(all.complete);
  q.max_trains = 10;
  const TrainSearchResult cut = search_trains(t, gears, q);
  EXPECT_FALSE(cut.complete);
  EXPECT_EQ(cut.limit_text, "kept the first 10 trains, left out " + std::to_string(all.trains.size() - 10));
  ASSERT_EQ(cut.trains.size(), 10u);
  for (std::size_t i = 0; i < 10; ++i) EXPECT_EQ(cut.trains[i].mesh, all.trains[i].mesh);
  q.max_trains = static_cast<std::int64_t>(all.trains.size());
  EXPECT_TRUE(search_trains(t, gears, q).complete);
  const std::atomic<bool> stop{true};
  base::RunControl control;
  control.stop = &stop;
  const TrainSearchResult stopped = search_trains(t, gears, q, control);
  EXPECT_FALSE(stopped.complete);
  EXPECT_FALSE(stopped.limit_text.empty());
}

// Least possible greatest tooth load: all orders tried, loads by torque_at_stages without losses.
TEST(StageOrder, LoadsTheTeethLeastOfAllOrders) {
  int compared = 0;
  for (std::uint64_t seed = 500; seed < 560; ++seed) {
    const Case c = random_case(seed);
    const MeshTable t = find_meshes(c.kit);
    std::vector<std::int32_t> usable;
    std::vector<std::int32_t> rings;
    for (std::size_t i = 0; i < t.meshes.size(); ++i) {
      // A frictionless worm would make its efficiency formula exact 1; keep the comparison to losses ignored.
      (drives_ring(t.meshes[i].type) ? rings : usable).push_back(static_cast<std::int32_t>(i));
    }
    if (usable.empty()) continue;
    Dice dice(seed);
    const ToothLimits limits = nominal_limits(c.kit.system.craft);
    const MeshEfficiencies lossless;
    for (int draw = 0; draw < 40; ++draw) {
      std::vector<std::int32_t> meshes;
      const int stages = dice.roll(2, 4);
      for (int i = 0; i < stages; ++i) {
        meshes.push_back(usable[static_cast<std::size_t>(dice.roll(0, static_cast<int>(usable.size()) - 1))]);
      }
      const bool ring = !rings.empty() && dice.roll(0, 1) == 0;
      if (ring) meshes[0] = rings[static_cast<std::size_t>(dice.roll(0, static_cast<int>(rings.size()) - 1))];
      std::vector<std::int32_t> ordered = meshes;
      order_stages(t, ordered);
      const double reached = torque_at_stages(Train::of(t, ordered), 100, lossless, limits).worst_tooth_margin;
      std::sort(meshes.begin(), meshes.end());
      double best = 0;
      do {
        if (ring && !drives_ring(t.meshes[static_cast<std::size_t>(meshes.back())].type)) continue;
        best = std::max(best, torque_at_stages(Train::of(t, meshes), 100, lossless, limits).worst_tooth_margin);
      } while (std::next_permutation(meshes.begin(), meshes.end()));
      EXPECT_NEAR(reached, best, 1e-9 * best) << "seed " << seed << ": " << Train::of(t, ordered).text();
      std::vector<std::int32_t> sorted = ordered;
      std::sort(sorted.begin(), sorted.end());
      std::sort(meshes.begin(), meshes.end());
      EXPECT_EQ(sorted, meshes) << "no stage lost";
      ++compared;
    }
  }
  EXPECT_GT(compared, 1000);
}

// TRAIN-07. E. Sandgren, J. Mech. Des. 112(2), 1990, p. 223-229: teeth 12..60, ratio 1 / 6.931.
TEST(FreeTrains, SandgrensBenchmark) {
  const FreeTrainResult r = closest_free_trains(Rational(1000, 6931), 2, 12, 60);
  ASSERT_EQ(r.best.size(), 1u);
  EXPECT_EQ(r.best[0].drivers, (std::vector<int>{16, 19}));
  EXPECT_EQ(r.best[0].driven, (std::vector<int>{43, 49}));
  EXPECT_NEAR(std::pow(r.error.value(), 2) / 2.7008571e-12, 1, 1e-6);
  EXPECT_NEAR(r.best[0].ratio.inverse().value(), 6.9309211, 1e-7);
}

TEST(FreeTrains, AgreeWithFullEnumeration) {
  for (const auto& [target, stages] : {std::pair{Rational(10, 31), 2}, std::pair{Rational(7, 113), 2},
                                       std::pair{Rational(5, 3), 1}, std::pair{Rational(1, 41), 3}}) {
    const int low = 8, high = stages == 3 ? 14 : 24;
    const FreeTrainResult r = closest_free_trains(target, stages, low, high);
    std::set<std::pair<std::vector<int>, std::vector<int>>> best;
    Rational least(1000000);
    std::vector<std::vector<int>> sets;
    const auto list = [&, stages = stages](auto&& self, std::vector<int> teeth) -> void {
      if (static_cast<int>(teeth.size()) == stages) {
        sets.push_back(teeth);
        return;
      }
      for (int z = teeth.empty() ? low : teeth.back(); z <= high; ++z) {
        teeth.push_back(z);
        self(self, teeth);
        teeth.pop_back();
      }
    };
    list(list, {});
    for (const auto& a : sets) {
      for (const auto& b : sets) {
        Rational ratio(1);
        for (const int z : a) ratio = ratio * Rational(z);
        for (const int z : b) ratio = ratio / Rational(z);
        const Rational error = (ratio - target).abs();
        if (error < least) {
          best.clear();
          least = error;
        }
        if (error == least) best.emplace(a, b);
      }
    }
    EXPECT_EQ(r.error, least);
    ASSERT_EQ(r.best.size(), best.size());
    auto at = best.begin();
    for (const FreeTrain& t : r.best) {
      EXPECT_EQ(t.drivers, at->first);
      EXPECT_EQ(t.driven, at->second);
      ++at;
    }
  }
}

}  // namespace
}  // namespace gearing
