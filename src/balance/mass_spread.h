// How well the whole machine's mass and centre of gravity are known, from how well each body's are.
//
// First order, bodies independent. With M = sum m_i, c = sum m_i r_i/M:
//   var M = sum s_i^2,   cov c = sum (r_i - c)(r_i - c)^T s_i^2/M^2 + sum (m_i/M)^2 R_i diag(e_i^2) R_i^T
// s_i standard deviation of a mass, e_i of a centre along the body's own axes, R_i the body's pose (JCGM
// 100:2008, 5.1.2, the law of propagation of uncertainty).
#pragma once

#include <span>

#include "balance/mass.h"
#include "base/triple.h"

namespace balance {

enum class MassSource { measured, catalogue, estimated };

/// Standard deviation a mass of this source has unless somebody knows better. Our guesses: a kitchen scale reads to 1 g
/// and 0.5 %; parts of one type differ by 3 %, and small ones are left out of lists; an estimate from an envelope is
/// right within a factor of 1.5 nineteen times in twenty.
[[nodiscard]] double usual_mass_sd_g(MassSource source, double mass_g);
/// Of the triangular distribution that triples are drawn from.
[[nodiscard]] double sd_of(const base::Triple& triple);

struct WeighedBody {
  Body body;
  MassSource source = MassSource::estimated;
  double mass_sd_g = 0;
  Vec3 centre_sd_mm;  ///< along the body's own axes
};

struct MassSpread {
  MassPoint total;
  double mass_sd_g = 0;
  Vec3 centre_sd_mm;                 ///< along the ground frame's axes
  double centre_covariance[9] = {};  ///< mm^2, row major
  double measured_g = 0, catalogue_g = 0, estimated_g = 0;
  int weigh_next = -1;          ///< body that adds most to the centre's variance in the ground plane; -1: nothing does
  double weigh_next_share = 0;  ///< its share of that variance

  /// Standard deviation of the centre along a direction in the ground plane.
  [[nodiscard]] double along_mm(double direction_rad) const;
};
[[nodiscard]] MassSpread mass_spread(std::span<const WeighedBody> bodies);

}  // namespace balance
