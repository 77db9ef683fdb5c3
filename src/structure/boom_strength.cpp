#include "structure/boom_strength.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace structure {

BoomInPlane in_plane(const Boom& boom, const BoomLoad& posture, const HoledBar& bar) {
  constexpr double kGravity_m_s2 = 9.81;
  Boom light = boom;
  light.parts.beam_mass_g_mm = light.parts.axle_mass_g_mm = light.parts.pin_mass_g = 0;
  BoomLoad load = posture;
  load.side_slope_rad = load.side_force_n = 0;
  load.tip_mass_g = 1000 / kGravity_m_s2;
  load.mass_mm = load.gauge_mm;
  const BoomFrame frame = frame_of(light, load);
  const FrameModel model(frame.frame);
  BoomInPlane out;
  const double level = load.luff_rad + load.carrier_rad;
  const double x = boom.length_p * boom.parts.pitch_mm + load.gauge_mm[0], z = load.gauge_mm[1];
  out.arm_mm = x * std::cos(level) - z * std::sin(level);
  if (model.mechanism()) {
    out.mechanism = frame.frame.nodes[static_cast<std::size_t>(model.mechanism()->node)].name + " moves freely";
    return out;
  }
  const FrameState state = model.solve(frame.loads);
  out.give_mm_per_n = -state.displacement[static_cast<std::size_t>(frame.tip)][static_cast<std::size_t>(Freedom::z)];
  const double h = bar.height_mm, b = bar.breadth_mm, d = bar.hole_mm;
  const double area = (h - d) * b, w_y = b * (h * h * h - d * d * d) / (6 * h), w_z = (h - d) * b * b / 6;
  for (std::size_t m = 0; m < frame.frame.members.size(); ++m) {
    const FrameMember& member = frame.frame.members[m];
    if (member.name.rfind("beam ", 0) != 0) continue;
    for (const std::size_t end : {std::size_t{0}, std::size_t{6}}) {
      const std::array<double, 12>& f = state.end_force[m];
      const double stress = std::fabs(f[end]) / area + std::fabs(f[end + 4]) / w_y + std::fabs(f[end + 5]) / w_z;
      // Sides that mirror each other differ in the last digits only.
      if (stress <= out.stress_mpa_per_n * (1 + 1e-9)) continue;
      out.stress_mpa_per_n = stress;
      out.weakest = member.name;
    }
  }
  return out;
}

}  // namespace structure
