// Covers solids.h and cells.cpp: what stands where, and the occupied cells against point sampling.
#include "routing/solids.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "routing/checker.h"
#include "routing/samples.h"

namespace {

using routing::PlacedSolid;

bool inside(const PlacedSolid& s, const std::array<double, 3>& at) {
  for (std::size_t a = 0; a < 3; ++a) {
    if (at[a] <= s.low_mm[a] || at[a] >= s.high_mm[a]) return false;
  }
  if (!s.round) return true;
  const auto middle = s.middle_mm();
  double squared = 0;
  for (std::size_t a = 0; a < 3; ++a) {
    if (static_cast<int>(a) != lattice::index(s.axis)) squared += (at[a] - middle[a]) * (at[a] - middle[a]);
  }
  return squared < s.radius_mm * s.radius_mm && squared > s.open_radius_mm * s.open_radius_mm;
}

TEST(Solids, CountEveryPartOnce) {
  const auto s = routing::samples::two_stage();
  const auto all = routing::solids(s.problem, s.layout);
  const auto count = [&](PlacedSolid::Role role) {
    return std::count_if(all.begin(), all.end(), [&](const PlacedSolid& x) { return x.role == role; });
  };
  EXPECT_EQ(count(PlacedSolid::Role::axle), 3);
  EXPECT_EQ(count(PlacedSolid::Role::bearing), 7);
  EXPECT_EQ(count(PlacedSolid::Role::bush), 5);
  EXPECT_EQ(count(PlacedSolid::Role::wheel), 4);
  EXPECT_EQ(count(PlacedSolid::Role::terminal), 1);
  EXPECT_EQ(count(PlacedSolid::Role::attachment), 1);
}

TEST(Solids, StandInMillimetresOfTheFrame) {
  const auto s = routing::samples::worm();
  for (const PlacedSolid& x : routing::solids(s.problem, s.layout)) {
    if (x.label == "24") {  // shaft along y at x 0, z 4 half-pitches of 4 mm, face 4 mm about y 0, tip radius 13 mm
      EXPECT_EQ(x.low_mm, (routing::Millimetres{-13, -2, 3}));
      EXPECT_EQ(x.high_mm, (routing::Millimetres{13, 2, 29}));
    }
    if (x.role == PlacedSolid::Role::bearing && x.shaft == 0) {  // wall at x 4
      EXPECT_EQ(x.low_mm, (routing::Millimetres{12, -4, -4}));
      EXPECT_EQ(x.high_mm, (routing::Millimetres{20, 4, 4}));
    }
  }
}

TEST(Samples, KeepTheRules) {
  for (const auto& [name, s] : routing::samples::all()) {
    for (const std::string& fault : routing::check(s.problem, s.layout)) ADD_FAILURE() << name << ": " << fault;
  }
}

TEST(Solids, OfOneLayoutOverlapOnlyWhereTheyBelongTogether) {
  // The hand-made layouts keep the rules: no box or cylinder of one shaft's parts stands in another's unless the two
  // wheels mesh. Bounding boxes of different shafts decide; only the tooth depth of meshing wheels may be shared.
  for (const auto& [name, s] : routing::samples::all()) {
    const auto all = routing::solids(s.problem, s.layout);
    for (std::size_t i = 0; i < all.size(); ++i) {
      for (std::size_t k = i + 1; k < all.size(); ++k) {
        const PlacedSolid &a = all[i], &b = all[k];
        if (a.shaft == b.shaft) continue;
        const bool mesh = std::any_of(s.layout.meshes.begin(), s.layout.meshes.end(), [&](const auto& m) {
          return (m.driver == a.wheel && m.driven == b.wheel) || (m.driver == b.wheel && m.driven == a.wheel);
        });
        if (mesh) continue;
        int hits = 0;
        for (double x = a.low_mm[0] + 0.25; x < a.high_mm[0]; x += 0.5) {
          for (double y = a.low_mm[1] + 0.25; y < a.high_mm[1]; y += 0.5) {
            for (double z = a.low_mm[2] + 0.25; z < a.high_mm[2]; z += 0.5) {
              hits += inside(a, {x, y, z}) && inside(b, {x, y, z}) ? 1 : 0;
            }
          }
        }
        EXPECT_EQ(hits, 0) << name << ": " << a.label << " and " << b.label;
      }
    }
  }
}

TEST(Solids, FillTheEnvelope) {
  // The envelope counts the same parts another way: rounded outwards, without terminals and the axle inside them.
  for (const auto& [name, s] : routing::samples::all()) {
    const double half_mm = s.problem.kit.half_pitch_mm();
    const auto box = routing::envelope_of(s.problem, s.layout);
    for (const routing::Axis a : lattice::kAxes) {
      const auto i = static_cast<std::size_t>(lattice::index(a));
      double low = 1e300, high = -1e300;
      for (const PlacedSolid& x : routing::solids(s.problem, s.layout)) {
        if (x.role == PlacedSolid::Role::terminal) continue;
        double from = x.low_mm[i], to = x.high_mm[i];
        for (const auto& held : routing::terminals(s.problem, s.layout)) {
          if (x.role != PlacedSolid::Role::axle || held.shaft != x.shaft || x.axis != a) continue;
          (held.terminal->direction > 0 ? from : to) = held.terminal->face.at(a) * half_mm;
        }
        low = std::min(low, from);
        high = std::max(high, to);
      }
      EXPECT_EQ(box.low.at(a), std::floor(low / half_mm + 1e-9)) << name << " " << lattice::letter(a);
      EXPECT_EQ(box.high.at(a), std::ceil(high / half_mm - 1e-9)) << name << " " << lattice::letter(a);
    }
  }
}

TEST(Cells, AreThoseAPointSampleFallsInto) {
  // 16 points an edge: a disc that enters a cell by less than 4 mm / 16 may be missed, so cells that the sample misses
  // must be entered at their rim only, and none may be missing.
  for (const auto& [name, s] : routing::samples::all()) {
    const double half_mm = s.problem.kit.half_pitch_mm();
    const auto cells = routing::cells_of(s.problem, s.layout);
    EXPECT_TRUE(std::is_sorted(cells.begin(), cells.end()));
    EXPECT_EQ(std::adjacent_find(cells.begin(), cells.end()), cells.end());
    std::set<routing::Point3> sampled;
    constexpr int kPoints = 16;
    for (const PlacedSolid& x : routing::solids(s.problem, s.layout)) {
      std::array<int, 3> low{}, high{};
      for (std::size_t a = 0; a < 3; ++a) {
        low[a] = static_cast<int>(std::floor(x.low_mm[a] / half_mm));
        high[a] = static_cast<int>(std::ceil(x.high_mm[a] / half_mm));
      }
      for (int i = low[0] * kPoints; i < high[0] * kPoints; ++i) {
        for (int k = low[1] * kPoints; k < high[1] * kPoints; ++k) {
          for (int m = low[2] * kPoints; m < high[2] * kPoints; ++m) {
            const auto mm = [&](int v) { return (v + 0.5) / kPoints * half_mm; };
            if (!inside(x, {mm(i), mm(k), mm(m)})) continue;
            const auto cell = [](int v) { return static_cast<int>(std::floor(static_cast<double>(v) / kPoints)); };
            sampled.insert({cell(i), cell(k), cell(m)});
          }
        }
      }
    }
    for (const auto& c : sampled) {
      EXPECT_TRUE(cells.has(c)) << name << " " << c.x_hp << " " << c.y_hp;
    }
    EXPECT_LE(cells.size() - sampled.size(), cells.size() / 50) << name;
  }
}

TEST(Cells, OfABoxAndADiscByHand) {
  // A wheel of 24 teeth (tip radius 13 mm = 3.25 half-pitches) in one slot: cells whose nearest corner is closer than
  // 3.25 to the centre. Rows of a quarter, u = 0..3: v < sqrt(3.25^2 - u^2) = 3.25, 3.09, 2.56, 1.25, so 4 + 4 + 3 + 2.
  routing::Problem p;
  p.kit = routing::samples::kit();
  const int w = routing::samples::spur(p.kit, 24);
  p.inputs.push_back({});
  routing::Layout l;
  l.shafts.push_back(routing::samples::shaft(routing::Axis::z, {0, 0}, 0, 4, {}, {}));
  l.wheels.push_back(routing::samples::wheel(w, 0, l, 0, 1));
  const auto cells = routing::cells_of(p, l);
  const auto in_slot = std::count_if(cells.begin(), cells.end(), [](const auto& c) { return c.z_hp == 0; });
  EXPECT_EQ(in_slot, 4 * 13);
  EXPECT_EQ(cells.size(), 4U * 13 + 3 * 4);  // the axle takes four cells in each of three further slots
}

TEST(Cells, LeaveTheOpenMiddleOfARingFree) {
  const auto s = routing::samples::ring();
  const auto cells = routing::cells_of(s.problem, s.layout);
  EXPECT_FALSE(cells.has({0, 0, 7}));
  EXPECT_TRUE(cells.has({6, 0, 7}));
}

}  // namespace
