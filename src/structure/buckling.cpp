#include "structure/buckling.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "structure/frame_matrices.h"

namespace structure {
namespace {

using internal::FrameMatrices;
using internal::Matrix12;
using internal::Sparse;

constexpr double kPi = std::numbers::pi;

/// Factors K + f G; counts how many buckling factors lie below f.
class Inertia {
 public:
  Inertia(const FrameMatrices& m, const FrameState& state) : m_(m) {
    for (std::size_t i = 0; i < m.frame.members.size(); ++i) {
      const FrameMember& member = m.frame.members[i];
      // Mean of both ends: an axial load along the member makes the force vary, and the mean is exact to first order.
      const double tension_n = (state.end_force[i][6] - state.end_force[i][0]) / 2;
      geometric_.push_back(tension_n * internal::geometric_stiffness(member, m.axes[i].length_mm));
      compressed_ = compressed_ || tension_n < 0;
    }
  }

  [[nodiscard]] bool compressed() const { return compressed_; }
  [[nodiscard]] int factorisations() const { return count_; }

  /// Eigenvalues below `factor`. Standing exactly on one, it steps aside by more than rounding and less than matters.
  [[nodiscard]] int below(double factor) {
    for (int attempt = 0; attempt < 8; ++attempt) {
      ++count_;
      int negative = 0;
      solver_.compute(matrix(factor * (1 + attempt * 1e-13), negative));
      if (solver_.info() != Eigen::Success) continue;
      const Eigen::VectorXd pivots = solver_.vectorD();
      for (Eigen::Index i = 0; i < pivots.size(); ++i) negative += pivots(i) < 0 ? 1 : 0;
      return negative;
    }
    KW_CHECK(false, "a buckling matrix could not be factored");
    return 0;
  }

  [[nodiscard]] Eigen::VectorXd solve(const Eigen::VectorXd& rhs) const { return solver_.solve(rhs); }

 private:
  [[nodiscard]] Sparse matrix(double factor, int& negative) const {
    std::vector<Matrix12> own;
    for (std::size_t i = 0; i < geometric_.size(); ++i) {
      const auto c =
          internal::condense(m_.frame.members[i], m_.full[i] + factor * geometric_[i], internal::Vector12::Zero());
      negative += c.negative;
      own.push_back(c.k);
    }
    return m_.assemble(own, m_.springs);
  }

  const FrameMatrices& m_;
  std::vector<Matrix12> geometric_;
  Eigen::SimplicialLDLT<Sparse> solver_;
  bool compressed_ = false;
  int count_ = 0;
};

}  // namespace

Buckling buckling(const FrameModel& model, const Loads& loads, const BucklingOptions& options) {
  const FrameMatrices& m = model.matrices();
  KW_CHECK(!m.mechanism, "the frame can move without resistance");
  Buckling out;
  out.factor = options.greatest_factor;
  if (m.free == 0) return out;
  Inertia inertia(m, model.solve(loads));
  if (!inertia.compressed()) return out;

  // Bracket the lowest factor between powers of four, then halve. The start is small enough for any sensible load; if
  // even that buckles, the bracket begins at nothing.
  double low = 0, high = std::min(1e-3, options.greatest_factor);
  while (inertia.below(high) == 0) {
    out.factorisations = inertia.factorisations();
    if (high >= options.greatest_factor) return out;
    low = high;
    high = std::min(4 * high, options.greatest_factor);
  }
  while (high - low > 1e-12 * high) {
    const double middle = (low + high) / 2;
    if (middle <= low || middle >= high) break;
    (inertia.below(middle) > 0 ? high : low) = middle;
  }
  out.found = true;
  out.factor = (low + high) / 2;

  // The shape by inverse iteration a little beside the factor, from a start without symmetry.
  (void)inertia.below(out.factor * (1 - 1e-9));
  Eigen::VectorXd shape(m.free);
  for (int i = 0; i < m.free; ++i) shape(i) = 1 + 0.37 * std::sin(1.7 * i + 0.3);
  for (int step = 0; step < 4; ++step) {
    shape = inertia.solve(shape);
    Eigen::Index at = 0;
    (void)shape.cwiseAbs().maxCoeff(&at);
    shape /= shape(at);
  }
  out.shape = m.spread(shape);
  out.factorisations = inertia.factorisations();
  return out;
}

double length_factor(EndsHeld ends) {
  switch (ends) {
    case EndsHeld::both_pinned:
      return 1;
    case EndsHeld::one_clamped_other_free:
      return 2;
    case EndsHeld::both_clamped:
      return 0.5;
    case EndsHeld::one_clamped_other_pinned:
      return kPi / 4.493409457909064;  // smallest root of tan u = u
  }
  return 1;
}

StrutStrength strut_strength(const Strut& s) {
  const double second_mm4 = std::min(s.section.second_y_mm4, s.section.second_z_mm4);
  KW_CHECK(s.length_mm > 0 && s.e_mpa > 0 && s.yield_mpa > 0 && s.section.area_mm2 > 0 && second_mm4 > 0,
           "a strut needs a length, a section, E and a yield stress");
  StrutStrength out;
  const double effective_mm = length_factor(s.ends) * s.length_mm;
  out.slenderness = effective_mm / std::sqrt(second_mm4 / s.section.area_mm2);
  out.euler_n = kPi * kPi * s.e_mpa * second_mm4 / (effective_mm * effective_mm);
  out.squash_n = s.yield_mpa * s.section.area_mm2;
  const double square = out.slenderness * out.slenderness;
  if (square >= 2 * kPi * kPi * s.e_mpa / s.yield_mpa) {
    out.critical_n = out.euler_n;
  } else {
    out.limit = StrutLimit::johnson;
    out.critical_n = out.squash_n * (1 - s.yield_mpa * square / (4 * kPi * kPi * s.e_mpa));
  }
  return out;
}

SquareStrut square_strut(double load_n, double length_mm, double e_mpa, double safety, double allowable_mpa) {
  KW_CHECK(load_n > 0 && length_mm > 0 && e_mpa > 0 && safety > 0 && allowable_mpa > 0,
           "a strut is sized from positive figures");
  SquareStrut out;
  // a^4/12 = n P L^2/(pi^2 E)
  out.buckling_side_mm = std::pow(12 * safety * load_n * length_mm * length_mm / (kPi * kPi * e_mpa), 0.25);
  out.stress_side_mm = std::sqrt(load_n / allowable_mpa);
  out.side_mm = std::max(out.buckling_side_mm, out.stress_side_mm);
  return out;
}

}  // namespace structure
