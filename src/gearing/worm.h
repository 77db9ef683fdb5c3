// Worm gearing at a right angle: lead, efficiency both ways, forces, self-locking.
// Letters: lambda lead angle, phi_n normal pressure angle, f friction coefficient in the mesh. Source of the formulas:
// Shigley, Mechanical Engineering Design, sections 13-11 and 13-17 (Eqs 13-44 to 13-46).
#pragma once

namespace gearing {

/// tan(lambda) = lead / (pi d), lead = starts * axial pitch.
[[nodiscard]] double worm_lead_angle_rad(double lead_mm, double pitch_diameter_mm);
/// Worm that meshes spur teeth of module m: axial pitch pi m, so tan(lambda) = starts m / d.
[[nodiscard]] double worm_lead_angle_of_module_rad(int starts, double module_mm, double pitch_diameter_mm);

/// Worm drives: (cos phi_n - f tan lambda) / (cos phi_n + f cot lambda).
[[nodiscard]] double worm_forward_efficiency(double lead_angle_rad, double normal_angle_rad, double friction);
/// Wheel drives: (cos phi_n - f cot lambda) / (cos phi_n + f tan lambda); never below 0: then the worm locks.
[[nodiscard]] double worm_backward_efficiency(double lead_angle_rad, double normal_angle_rad, double friction);
/// Friction at and above which the wheel cannot drive the worm: cos(phi_n) tan(lambda).
[[nodiscard]] double worm_locking_friction(double lead_angle_rad, double normal_angle_rad);
[[nodiscard]] bool worm_locks(double lead_angle_rad, double normal_angle_rad, double friction);

/// Forces at the mesh, any one unit of force throughout.
struct WormForces {
  double total = 0;            ///< W, normal to the tooth
  double worm_tangential = 0;  ///< = wheel axial
  double worm_axial = 0;       ///< = wheel tangential
  double separating = 0;
  double efficiency = 0;
};
/// From the tangential force on the worm, worm driving.
[[nodiscard]] WormForces worm_forces(double worm_tangential, double lead_angle_rad, double normal_angle_rad,
                                     double friction);
/// Sliding speed in the mesh: pitch-line speed of the worm / cos(lambda), same unit as given.
[[nodiscard]] double worm_sliding_speed(double worm_pitch_line_speed, double lead_angle_rad);

}  // namespace gearing
