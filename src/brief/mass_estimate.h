// Masses nobody has weighed, from the envelope. Estimates, and marked as such wherever they go.
#pragma once

#include "base/triple.h"
#include "brief/brief.h"

namespace brief {

/// m = rho V: mass of the parts of a body, motors and hubs apart, from its envelope.
///   rho  parts per volume of the envelope [g/cm3], KitSystem::craft.fill_density_g_cm3
///   V    length x width x height of the envelope [cm3]
[[nodiscard]] base::Triple estimate_body_mass_g(const Vec3& size_mm, const base::Triple& fill_density_g_cm3);

/// m = rho V + n m_motor + m_hubs: a whole motorised machine.
///   n        motors
///   m_motor  mass of one motor [g]
///   m_hubs   mass of all hubs with their cells [g]
/// Sums lows, nominals and highs each by themselves, so the interval is the widest possible.
[[nodiscard]] base::Triple estimate_machine_mass_g(const Vec3& envelope_mm, int motors,
                                                   const base::Triple& motor_mass_g, const base::Triple& hub_mass_g,
                                                   const base::Triple& fill_density_g_cm3);

}  // namespace brief
