// Torsion of axles: torsion constant, twist, shear stress, and how near an axle is to yielding all through.
//
//   twist = T L/(G K)      elastic peak shear = T/W (round, rectangle)      T_full = 2 tau V (all of it yields)
// K torsion constant mm^4, W mm^3, V volume of the sand heap of slope 1 over the section (Nadai). The cross has sharp
// re-entrant corners where no finite elastic peak exists, hence the fully yielded torque as its measure of strength.
// K of a cross with straight arms: interpolated in STRUCT-05's own finite-difference values; the handbook "cross shaft"
// is another section and far too stiff. Source: Timoshenko & Goodier, Theory of Elasticity, torsion chapter.
#pragma once

#include "stock/part.h"  // AxleSection

namespace structure {

enum class Form { round, rectangle, cross };

struct Section {
  Form form = Form::round;
  double width_mm = 0;  ///< diameter; longer side; width over the arms
  double thick_mm = 0;  ///< rectangle: other side; cross: arm thickness; round: unused
};
[[nodiscard]] Section section_of(const stock::AxleSection& axle);

/// Cross: t/w within 0.25 .. 1. KW_CHECK on anything outside.
[[nodiscard]] double torsion_constant_mm4(const Section& section);
[[nodiscard]] double twist_rad(const Section& section, double torque_nmm, double length_mm, double shear_modulus_mpa);
/// Elastic peak shear stress; round and rectangle only (KW_CHECK).
[[nodiscard]] double peak_shear_mpa(const Section& section, double torque_nmm);
/// Torque at which the whole section yields in shear at `shear_mpa`.
[[nodiscard]] double full_yield_torque_nmm(const Section& section, double shear_mpa);
/// full_yield_torque / |torque|; infinite without torque.
[[nodiscard]] double torsion_margin(const Section& section, double torque_nmm, double allowable_shear_mpa);

}  // namespace structure
