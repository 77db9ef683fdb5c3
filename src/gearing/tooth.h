// Strength of a tooth: Lewis's beam formula, static, with Barth's velocity factor.
// Letters: W tangential load N, S allowable stress MPa, b face width mm, m module mm, Y form factor.
#pragma once

#include "stock/part.h"

namespace gearing {

/// Lewis form factor Y, 20 degrees full depth, load at the tip; linear between the published rows. Rows 12 to rack:
/// Shigley, Mechanical Engineering Design, Table 14-2; rows 10 and 11: Boston Gear, Lewis table (from memory); below 10
/// Lewis's own fit Y = pi (0.154 - 0.912 / z), which meets both tables at 10 and 12 within 0.005 (from memory).
/// `teeth` >= kFewestTeeth.
[[nodiscard]] double lewis_form_factor(int teeth);
/// Y of a rack; also used for internal teeth, which are thicker at the root.
[[nodiscard]] double lewis_form_factor_rack();
/// Below 7 teeth the fit is all but zero: such gears have no strength figure and are not proposed.
inline constexpr int kFewestTeeth = 7;

/// W = S b m Y.
[[nodiscard]] double tooth_load_n(double stress_mpa, double face_mm, double module_mm, double form_factor);
/// Barth, cut teeth: K_v = (6.1 + v) / 6.1, v in m/s; the allowable load is W / K_v. Shigley Eq. 14-6b (1200 ft/min
/// customary).
[[nodiscard]] double barth_factor(double pitch_line_m_s);
/// The customary original, K_v = (1200 + V) / 1200 with V in ft/min.
[[nodiscard]] double barth_factor_customary(double pitch_line_ft_min);
/// Torque at the pitch circle: W m z / 2.
[[nodiscard]] double tooth_torque_nmm(double load_n, int teeth, double module_mm);

/// What limits tooth loads in one parameter sample; plain numbers.
struct ToothLimits {
  double stress_mpa = 0;     ///< allowable in the Lewis formula, static
  double bevel_support = 1;  ///< share a bevel keeps when its shafts are not held on both sides
  double crown_support = 1;  ///< the same for a crown pair
};
[[nodiscard]] ToothLimits nominal_limits(const stock::CraftFigures& craft);

}  // namespace gearing
