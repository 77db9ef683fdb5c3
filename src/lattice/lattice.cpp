#include "lattice/lattice.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace lattice {

std::vector<Offset> offsets_near(double wanted_mm, double tolerance_mm, double pitch_mm) {
  KW_CHECK(pitch_mm > 0 && wanted_mm >= 0 && tolerance_mm >= 0, "lengths of a lattice search");
  const double half_mm = pitch_mm / 2;
  // A hair over the tolerance keeps pairs whose misfit equals it exactly (0.1 mm typed by hand) inside; 1e-9 mm is far
  // below any difference two distinct lattice distances can have.
  const double slack_mm = tolerance_mm + 1e-9;
  std::vector<Offset> found;
  const int reach_hp = static_cast<int>(std::ceil((wanted_mm + slack_mm) / half_mm));
  for (int dx = 0; dx <= reach_hp; ++dx) {
    for (int dz = 0; dz <= dx; ++dz) {
      const double d_mm = half_mm * std::sqrt(static_cast<double>(squared_hp(dx, dz)));
      if (std::fabs(d_mm - wanted_mm) <= slack_mm) found.push_back({dx, dz, d_mm});
    }
  }
  std::sort(found.begin(), found.end(), [wanted_mm](const Offset& a, const Offset& b) {
    const double ea = std::fabs(a.distance_mm - wanted_mm);
    const double eb = std::fabs(b.distance_mm - wanted_mm);
    if (std::fabs(ea - eb) > 1e-9) return ea < eb;
    if (a.straight() != b.straight()) return a.straight();
    return a.dx_hp > b.dx_hp;
  });
  return found;
}

Offset nearest_offset(double wanted_mm, double pitch_mm) {
  // A straight offset is never further off than a quarter pitch, so that tolerance always finds one.
  const std::vector<Offset> near = offsets_near(wanted_mm, pitch_mm / 4, pitch_mm);
  KW_CHECK(!near.empty(), "a quarter pitch always reaches a lattice distance");
  return near.front();
}

}  // namespace lattice
