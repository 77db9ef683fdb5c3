#include "balance/mass_spread.h"

#include <cmath>
#include <vector>

#include "base/check.h"

namespace balance {

double usual_mass_sd_g(MassSource source, double mass_g) {
  switch (source) {
    case MassSource::measured:
      return std::hypot(1.0, 0.005 * mass_g);
    case MassSource::catalogue:
      return 0.03 * mass_g;
    case MassSource::estimated:
      break;
  }
  return 0.2 * mass_g;
}

double sd_of(const base::Triple& t) {
  const double a = t.low, c = t.nominal, b = t.high;
  return std::sqrt(std::fmax(0, (a * a + b * b + c * c - a * b - a * c - b * c) / 18));
}

double MassSpread::along_mm(double direction_rad) const {
  const double x = std::cos(direction_rad), y = std::sin(direction_rad);
  const double* v = centre_covariance;
  return std::sqrt(std::fmax(0, x * x * v[0] + 2 * x * y * v[1] + y * y * v[4]));
}

MassSpread mass_spread(std::span<const WeighedBody> bodies) {
  std::vector<Body> plain;
  for (const WeighedBody& b : bodies) plain.push_back(b.body);
  const std::vector<Pose> pose = poses(plain);
  std::vector<MassPoint> points;
  for (std::size_t i = 0; i < bodies.size(); ++i) points.push_back({plain[i].mass_g, pose[i].apply(plain[i].centre)});

  MassSpread out;
  out.total = combined(points);
  double variance = 0, most = 0;
  for (std::size_t i = 0; i < bodies.size(); ++i) {
    const WeighedBody& b = bodies[i];
    KW_CHECK(b.body.mass_g >= 0 && b.mass_sd_g >= 0, "masses and their deviations are not negative");
    variance += b.mass_sd_g * b.mass_sd_g;
    (b.source == MassSource::measured    ? out.measured_g
     : b.source == MassSource::catalogue ? out.catalogue_g
                                         : out.estimated_g) += b.body.mass_g;
    if (out.total.mass_g <= 0) continue;
    const Vec3 arm = (b.mass_sd_g / out.total.mass_g) * (points[i].at - out.total.at);
    const double share = b.body.mass_g / out.total.mass_g;
    const double by_mass[3] = {arm.x_mm, arm.y_mm, arm.z_mm};
    const double own[3] = {share * b.centre_sd_mm.x_mm, share * b.centre_sd_mm.y_mm, share * b.centre_sd_mm.z_mm};
    double flat = 0;
    for (int r = 0; r < 3; ++r) {
      for (int c = 0; c < 3; ++c) {
        double add = by_mass[r] * by_mass[c];
        for (int k = 0; k < 3; ++k) add += pose[i].r[3 * r + k] * pose[i].r[3 * c + k] * own[k] * own[k];
        out.centre_covariance[3 * r + c] += add;
        if (r == c && r < 2) flat += add;
      }
    }
    if (flat > most) {
      most = flat;
      out.weigh_next = static_cast<int>(i);
    }
  }
  out.mass_sd_g = std::sqrt(variance);
  const double* v = out.centre_covariance;
  out.centre_sd_mm = {std::sqrt(v[0]), std::sqrt(v[4]), std::sqrt(v[8])};
  if (out.weigh_next >= 0) out.weigh_next_share = most / (v[0] + v[4]);
  return out;
}

}  // namespace balance
