// Covers free play by its other formulation: rigid parts, clearances as constraints, the gauge's motion maximised by
// linear programming (CBC). The product minimises over joint forces instead; duality says both are the same number.
#include <coin/Cbc_C_Interface.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "structure/frame_matrices.h"
#include "structure/sample_boom.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

/// A linear programme collected column by column of rows in triplets.
class Programme {
 public:
  int variable(double low, double high, double gain) {
    low_.push_back(low);
    high_.push_back(high);
    gain_.push_back(gain);
    columns_.emplace_back();
    return static_cast<int>(low_.size()) - 1;
  }
  int row(double low, double high) {
    row_low_.push_back(low);
    row_high_.push_back(high);
    return static_cast<int>(row_low_.size()) - 1;
  }
  void add(int row, int column, double value) {
    if (value != 0) columns_[static_cast<std::size_t>(column)].emplace_back(row, value);
  }
  double greatest() const {
    std::vector<int> start{0}, index;
    std::vector<double> value, minus;
    for (const auto& column : columns_) {
      for (const auto& [r, v] : column) {
        index.push_back(r);
        value.push_back(v);
      }
      start.push_back(static_cast<int>(index.size()));
    }
    for (const double g : gain_) minus.push_back(-g);
    Cbc_Model* model = Cbc_newModel();
    Cbc_setParameter(model, "logLevel", "0");
    Cbc_setLogLevel(model, 0);
    Cbc_loadProblem(model, static_cast<int>(low_.size()), static_cast<int>(row_low_.size()), start.data(), index.data(),
                    value.data(), low_.data(), high_.data(), minus.data(), row_low_.data(), row_high_.data());
    Cbc_solve(model);
    EXPECT_TRUE(Cbc_isProvenOptimal(model) != 0);
    const double out = -Cbc_getObjValue(model);
    Cbc_deleteModel(model);
    return out;
  }

 private:
  std::vector<double> low_, high_, gain_, row_low_, row_high_;
  std::vector<std::vector<std::pair<int, double>>> columns_;
};

/// Largest motion of the tip with every part rigid; circles as polygons of 64 sides around them (0.12 % too wide).
double referee(const BoomFrame& b, const FrameModel& model, Freedom freedom) {
  constexpr int kSides = 64;
  const internal::FrameMatrices& m = model.matrices();
  Programme lp;
  std::vector<int> u;
  for (std::size_t n = 0; n < b.frame.nodes.size(); ++n) {
    for (std::size_t f = 0; f < 6; ++f) {
      const bool held = b.frame.nodes[n].held[f];
      const bool gauge = static_cast<int>(n) == b.tip && f == static_cast<std::size_t>(freedom);
      u.push_back(lp.variable(held ? 0 : -1e3, held ? 0 : 1e3, gauge ? 1 : 0));
    }
  }
  const auto node_column = [&](int node, int f) { return u[static_cast<std::size_t>(6 * node + f)]; };
  for (std::size_t i = 0; i < b.frame.members.size(); ++i) {
    // Own end displacements q = T u; six strains that a rigid part does not have.
    const FrameMember& member = b.frame.members[i];
    const double l = m.axes[i].length_mm;
    const std::vector<std::vector<std::pair<int, double>>> strains{{{0, 1}, {6, -1}},          {{3, 1}, {9, -1}},
                                                                   {{7, 1}, {1, -1}, {5, -l}}, {{11, 1}, {5, -1}},
                                                                   {{8, 1}, {2, -1}, {4, l}},  {{10, 1}, {4, -1}}};
    for (const auto& strain : strains) {
      const int row = lp.row(0, 0);
      for (int column = 0; column < 12; ++column) {
        double sum = 0;
        for (const auto& [q, factor] : strain) sum += factor * m.transform[i](q, column);
        if (std::fabs(sum) > 1e-12) {
          lp.add(row, node_column(column < 6 ? member.a : member.b, column % 6), sum);
        }
      }
    }
  }
  for (std::size_t i = 0; i < b.frame.joints.size(); ++i) {
    const FrameJoint& j = b.frame.joints[i];
    const Clearance& c = b.clearances[i];
    // d = a part for each way to play; columns of each with their factor in d.
    std::vector<std::vector<std::pair<int, double>>> d(6);
    const auto box = [&](std::size_t f, double half) {
      if (half > 0) d[f].emplace_back(lp.variable(-half, half, 0), 1);
    };
    box(0, c.axial_mm);
    box(3, c.turn_rad);
    const auto circle = [&](double r) {
      const std::array<int, 2> v{lp.variable(-r, r, 0), lp.variable(-r, r, 0)};
      for (int s = 0; s < kSides; ++s) {
        const double a = 2 * std::numbers::pi * s / kSides;
        const int row = lp.row(-1e9, r);
        lp.add(row, v[0], std::cos(a));
        lp.add(row, v[1], std::sin(a));
      }
      return v;
    };
    if (c.diametral_mm > 0) {
      const auto p = circle(c.diametral_mm / 2), q = circle(c.diametral_mm / 2);
      const double l = c.engaged_mm;
      d[1] = {{p[0], 0.5}, {q[0], 0.5}};
      d[2] = {{p[1], 0.5}, {q[1], 0.5}};
      d[4] = {{p[1], -1 / l}, {q[1], 1 / l}};
      d[5] = {{p[0], 1 / l}, {q[0], -1 / l}};
    }
    if (c.tilt_rad > 0) {
      const auto t = circle(c.tilt_rad);
      d[4].emplace_back(t[0], 1);
      d[5].emplace_back(t[1], 1);
    }
    for (int f = 0; f < 6; ++f) {
      if (j.stiffness[static_cast<std::size_t>(f)] == 0) continue;
      const int row = lp.row(0, 0);
      for (int k = 0; k < 3; ++k) {
        const double turn = m.joint_axes[i](f % 3, k);
        if (std::fabs(turn) < 1e-12) continue;
        lp.add(row, node_column(j.b, k + (f < 3 ? 0 : 3)), turn);
        lp.add(row, node_column(j.a, k + (f < 3 ? 0 : 3)), -turn);
      }
      for (const auto& [column, factor] : d[static_cast<std::size_t>(f)]) lp.add(row, column, -factor);
    }
  }
  return lp.greatest();
}

void compare(const Boom& boom, const char* what) {
  const BoomLoad load = sample::jib_load();
  ASSERT_FALSE(fault(boom)) << *fault(boom);
  const BoomFrame f = frame_of(boom, load);
  const FrameModel model(f.frame);
  ASSERT_FALSE(model.mechanism());
  for (const Freedom freedom : {Freedom::z, Freedom::y, Freedom::turn_x}) {
    const FreePlay ours = free_play(model, model.solve_unit(f.tip, freedom), f.tip, freedom, f.clearances);
    const double theirs = referee(f, model, freedom);
    // Polygon 0.12 %, our own gap 0.2 %.
    EXPECT_NEAR(ours.free, theirs, 4e-3 * theirs) << what << ' ' << static_cast<int>(freedom);
    EXPECT_LE(ours.at_least, theirs * 1.001) << what;
    EXPECT_GE(ours.bound, theirs * 0.998) << what;
  }
}

}  // namespace

TEST(PlayReferee, LinearProgrammeFindsTheSamePlay) {
  compare(sample::jib(), "jib");

  Boom doubled = sample::jib();
  doubled.beams.push_back({0, 24, -1});
  for (const int s : {3, 9, 15, 21}) doubled.pins.push_back({s, -1});
  compare(doubled, "doubled");

  Boom box = sample::jib();
  box.ties = {{2, 1}, {5, -1}, {12, 1}, {17, -1}, {21, 1}};
  compare(box, "box");

  Boom spliced = sample::jib();
  spliced.beams = {{0, 14, 0}, {11, 24, 1}};
  spliced.foot.bearing_p = 4.5;
  spliced.pins = {{11, 0}, {14, 0}};
  spliced.axles = {{18}};
  compare(spliced, "spliced");
}
