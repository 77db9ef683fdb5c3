#include "brief/mass_estimate.h"

#include "base/check.h"

namespace brief {

base::Triple estimate_body_mass_g(const Vec3& size_mm, const base::Triple& fill_density_g_cm3) {
  KW_CHECK(size_mm.x_mm >= 0 && size_mm.y_mm >= 0 && size_mm.z_mm >= 0, "an envelope has no negative side");
  constexpr double kMm3PerCm3 = 1000;
  const double volume_cm3 = size_mm.x_mm * size_mm.y_mm * size_mm.z_mm / kMm3PerCm3;
  return {fill_density_g_cm3.low * volume_cm3, fill_density_g_cm3.nominal * volume_cm3,
          fill_density_g_cm3.high * volume_cm3};
}

base::Triple estimate_machine_mass_g(const Vec3& envelope_mm, int motors, const base::Triple& motor_mass_g,
                                     const base::Triple& hub_mass_g, const base::Triple& fill_density_g_cm3) {
  KW_CHECK(motors >= 0, "motors are counted from 0");
  const base::Triple parts = estimate_body_mass_g(envelope_mm, fill_density_g_cm3);
  return {parts.low + motors * motor_mass_g.low + hub_mass_g.low,
          parts.nominal + motors * motor_mass_g.nominal + hub_mass_g.nominal,
          parts.high + motors * motor_mass_g.high + hub_mass_g.high};
}

}  // namespace brief
