// Geometry of involute teeth: diameters, working pressure angle, contact ratio, undercut and interference limits.
// Terms ISO 1122-1, basic rack ISO 53:1998 profile A, formulas ISO 21771 (external and internal cylindrical gears).
// Lengths mm, angles radians, profile shift x in modules. Letters: m module, z teeth, a centre distance, alpha pressure
// angle of the basic rack, alpha_w working pressure angle, r_a tip radius, r_b base radius.
#pragma once

#include <optional>

#include "stock/part.h"

namespace gearing {

/// The basic rack all gears of a kit system are cut to.
struct ToothSystem {
  double module_mm = 1;
  double pressure_angle_rad = 0;
  double addendum = 1.0;   ///< in modules
  double dedendum = 1.25;  ///< in modules
};
[[nodiscard]] ToothSystem tooth_system(const stock::KitSystem& system);
/// ISO 53 profile A: addendum 1, dedendum 1.25, 20 degrees.
[[nodiscard]] ToothSystem iso53_profile_a(double module_mm);

/// Proportions of the basic rack in mm: whole depth, bottom clearance, root fillet radius (0.38 m for profile A).
struct RackProportions {
  double addendum_mm = 0, dedendum_mm = 0, depth_mm = 0, clearance_mm = 0, fillet_mm = 0;
};
[[nodiscard]] RackProportions rack_proportions(const ToothSystem& system);

struct GearDiameters {
  double pitch_mm = 0, tip_mm = 0, root_mm = 0, base_mm = 0;
};
/// External gear: d = m z, d_a = d + 2 m (h_a + x), d_f = d - 2 m (h_f - x), d_b = d cos alpha.
[[nodiscard]] GearDiameters external_diameters(int teeth, const ToothSystem& system, double shift = 0);
/// Internal gear: the tip circle lies inside the pitch circle, the root circle outside.
[[nodiscard]] GearDiameters internal_diameters(int teeth, const ToothSystem& system);

/// inv(alpha) = tan(alpha) - alpha.
[[nodiscard]] double involute(double angle_rad);
/// The angle in [0, pi/2) whose involute is `value` (>= 0); Newton's method, to rounding.
[[nodiscard]] double inverse_involute(double value);

/// How two gears touch each other.
enum class Pairing { external, internal };

struct Contact {
  double working_angle_rad = 0;      ///< alpha_w, cos(alpha_w) = a0 cos(alpha) / a
  double path_mm = 0;                ///< length of the path of contact along the line of action, plain formula
  double arc_mm = 0;                 ///< arc of contact on the working pitch circles, path / cos(alpha_w)
  double contact_ratio = 0;          ///< path / base pitch, plain formula
  double usable_contact_ratio = 0;   ///< the same with the path cut off at the interference points
  bool cut_by_interference = false;  ///< a tip passes an interference point: the plain formula counts a path that is
                                     ///< not there (unless the maker relieved the teeth)
};

/// Nominal centre distance of unshifted gears: m (z1 + z2) / 2, internal m (z2 - z1) / 2.
[[nodiscard]] double standard_distance_mm(int pinion_teeth, int gear_teeth, double module_mm,
                                          Pairing pairing = Pairing::external);

/// Contact of an unshifted pair at a centre distance (mm). `gear_teeth` is the internal gear for Pairing::internal;
/// racks have rack_contact. No contact at all (teeth apart, base circles do not fit) gives contact_ratio 0.
[[nodiscard]] Contact contact_at(int pinion_teeth, int gear_teeth, double distance_mm, const ToothSystem& system,
                                 Pairing pairing = Pairing::external);
/// Contact of a pinion with a rack drawn `spread_mm` away from the standard position.
[[nodiscard]] Contact rack_contact(int pinion_teeth, const ToothSystem& system, double spread_mm = 0);
/// Bevel pair at a right angle, by the equivalent spur gears z / cos(cone angle) (Tredgold; ISO 23509 terms).
[[nodiscard]] Contact bevel_contact(int teeth1, int teeth2, const ToothSystem& system);
/// True when the tip of a pinion fouls an internal tooth on its way in or out of the mesh (gear makers' handbooks call
/// it trochoid interference; with full-depth 20 degree teeth it appears below a difference of about 9 teeth).
[[nodiscard]] bool internal_tips_foul(int pinion_teeth, int ring_teeth, double distance_mm, const ToothSystem& system);

/// Spread (mm over the standard distance, >= 0) at which the plain contact ratio of an external pair falls to `ratio`.
[[nodiscard]] double spread_at_contact_ratio(int pinion_teeth, int gear_teeth, const ToothSystem& system,
                                             double ratio = 1.0);

/// Fewest teeth that mesh with a rack without undercut, before rounding up: 2 h_a / sin^2(alpha).
[[nodiscard]] double fewest_teeth_with_rack(const ToothSystem& system);
/// Fewest pinion teeth without interference against a gear of `gear_ratio` (>= 1) times as many teeth, before rounding
/// up (Shigley, Mechanical Engineering Design, Eq. 13-11).
[[nodiscard]] double fewest_teeth_with_gear(const ToothSystem& system, double gear_ratio);
/// Most teeth a gear may have to mesh with this pinion without interference, before rounding down (Shigley, Eq. 13-12);
/// empty = any number, rack included. Below the pinion's own teeth: not even its like.
[[nodiscard]] std::optional<double> most_gear_teeth(const ToothSystem& system, int pinion_teeth);

/// A pair with profile shift at a given working centre distance: the sum of shifts it needs and its measures.
struct ShiftedPair {
  double working_angle_rad = 0;
  double shift_sum = 0;                               ///< x1 + x2 in modules
  double pinion_working_mm = 0, gear_working_mm = 0;  ///< working pitch diameters
  GearDiameters pinion, gear;                         ///< tips shortened so that the standard bottom clearance stays
  double contact_ratio = 0;
};
/// External pair; `pinion_shift` is chosen by the caller, the gear takes the rest of the sum.
[[nodiscard]] ShiftedPair shifted_pair(int pinion_teeth, int gear_teeth, double distance_mm, double pinion_shift,
                                       const ToothSystem& system);

/// Travel of a rack per turn of its pinion: pi m z.
[[nodiscard]] double rack_travel_mm(int pinion_teeth, double module_mm);

}  // namespace gearing
