// Power screws: torque to raise and to lower, efficiency both ways, self-locking, stresses.
//
//   T_R = F dm/2 (l + pi f dm s)/(pi dm - f l s) + F fc dc/2       s = 1/cos(a), a = half the thread angle (0 square)
//   T_L = F dm/2 (pi f dm s - l)/(pi dm + f l s) + F fc dc/2       negative: the load turns the screw
//   e   = F l/(2 pi T_R)      e_b = -T_L 2 pi/(F l)                e_b <= 0: self-locking
// dm mean thread diameter, l lead, f and fc friction of thread and collar, dc mean collar diameter.
// Source: Shigley, Mechanical Engineering Design, section 8-2, Eqs 8-1 to 8-6. N, mm, N mm, MPa.
#pragma once

#include "stock/part.h"  // Actuator

namespace linkage {

struct Screw {
  double mean_diameter_mm = 0;
  double lead_mm = 0;
  double friction = 0;
  double half_thread_angle_rad = 0;
  double collar_diameter_mm = 0;  ///< mean; 0 = no collar (its bearing taken as free of friction)
  double collar_friction = 0;
};
/// The screw of an actuator part with a given thread friction (a draw or the nominal).
[[nodiscard]] Screw screw_of(const stock::Actuator& part, double thread_friction);

/// KW_CHECK: positive diameter and lead, friction below the value at which raising jams (pi dm = f l s).
[[nodiscard]] double raise_torque_nmm(const Screw& screw, double force_n);
[[nodiscard]] double lower_torque_nmm(const Screw& screw, double force_n);
/// Work done on the load per work put in while raising, 0..1.
[[nodiscard]] double efficiency(const Screw& screw);
/// Work that comes out at the input per work of the load while lowering; <= 0 when self-locking.
[[nodiscard]] double backward_efficiency(const Screw& screw);
[[nodiscard]] double lead_angle_rad(const Screw& screw);
/// The thread alone holds: pi f dm s >= l.
[[nodiscard]] bool thread_holds(const Screw& screw);
/// Thread and collar together hold: T_L >= 0.
[[nodiscard]] bool holds(const Screw& screw);

struct ScrewStress {
  double body_shear_mpa = 0;      ///< 16 T/(pi dr^3)
  double body_axial_mpa = 0;      ///< -4 F/(pi dr^2)
  double thread_bearing_mpa = 0;  ///< -2 q F/(pi dm p)
  double root_bending_mpa = 0;    ///< 6 q F/(pi dr p)
};
/// `pitch_mm` p is the axial distance of neighbouring threads, dr = dm - p/2; the first thread carries the share q.
[[nodiscard]] ScrewStress stresses(const Screw& screw, double pitch_mm, double force_n, double torque_nmm,
                                   double first_thread_share = 0.38);

}  // namespace linkage
