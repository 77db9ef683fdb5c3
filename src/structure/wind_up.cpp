#include "structure/wind_up.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"

namespace structure {

WindUp wind_up(const std::vector<AxleSegment>& segments, const std::vector<AxleJoint>& joints) {
  WindUp out;
  for (const AxleSegment& s : segments) {
    KW_CHECK(s.length_mm > 0, "axle segment '" + s.name + "' has no length");
    const double turn = twist_rad(s.section, s.torque_nmm, s.length_mm, s.shear_modulus_mpa);
    out.twist_rad += turn;
    out.sources.push_back({s.name, false, turn, 0});
  }
  for (const AxleJoint& j : joints) {
    KW_CHECK(j.turn_rad >= 0, "axle joint '" + j.name + "' has a negative play");
    out.play_rad += j.turn_rad;
    out.sources.push_back({j.name, true, j.turn_rad, 0});
  }
  out.total_rad = std::fabs(out.twist_rad) + out.play_rad;
  out.total_deg = out.total_rad * 180 / std::numbers::pi;
  out.reversal_rad = 2 * out.total_rad;
  for (WindUpSource& s : out.sources) {
    // A segment that twists the other way takes away from the total.
    if (!s.play && out.twist_rad < 0)
      s.share = -s.turn_rad;
    else
      s.share = s.turn_rad;
    if (out.total_rad > 0) s.share /= out.total_rad;
  }
  std::stable_sort(out.sources.begin(), out.sources.end(), [](const WindUpSource& a, const WindUpSource& b) {
    return std::fabs(a.share) > std::fabs(b.share);
  });
  return out;
}

}  // namespace structure
