// Sections of bars as a frame needs them: area, second moments, torsion constant; solid, cross-shaped, hollow and with
// a row of holes.
//
// Local axes of a bar: x along it, z "up", y = z x x. second_y bends in the x-z plane, second_z in the x-y plane.
// Lengths mm, areas mm^2, second moments and torsion constants mm^4. Sources at the functions.
#pragma once

#include "structure/torsion.h"  // Section

namespace structure {

struct BarSection {
  double area_mm2 = 0;
  double second_y_mm4 = 0;
  double second_z_mm4 = 0;
  double torsion_mm4 = 0;
};

/// Solid bar: `width_mm` stands along z, `thick_mm` along y. A cross has arms along both; its second moment is the same
/// about every axis. Torsion constant from torsion.h: for the cross never the handbook's "cross shaft".
[[nodiscard]] BarSection bar_section(const Section& section);

/// Round tube: a moulded pin is hollow. 0 <= bore < diameter.
[[nodiscard]] BarSection tube_section(double diameter_mm, double bore_mm);

/// Rectangular tube, wall everywhere the same; `seam` = share of the shear flow that its seam carries: 1 closed tube
/// (Bredt, 4 Am^2 t/perimeter), 0 slit open (perimeter t^3/3). Source: Timoshenko & Goodier; Roark, torsion of tubes.
[[nodiscard]] BarSection box_section(double height_mm, double breadth_mm, double wall_mm, double seam = 1);

/// A rectangular bar with one row of round holes, one hole per pitch, through its breadth (along y).
struct HoledBar {
  double height_mm = 0;   ///< along z, across the holes
  double breadth_mm = 0;  ///< along y, the length of a hole
  double hole_mm = 0;     ///< diameter; 0 = solid
  double pitch_mm = 0;
};

/// The uniform bar that stretches, bends and twists as much as the holed one over whole pitches: shares of the solid
/// bar's A, I_y, I_z and K, interpolated in a table over hole/height and breadth/height of our own three-dimensional
/// solid models of one square cell (height = pitch); what the pitch exceeds the height by counts as solid. Averaging
/// the flexibility of slices instead would be 30 % too stiff in stretch and sideways, 50 to 140 % in torsion, because
/// the material between two holes hardly carries anything. Not covered: shear across the holes (bars shorter than about
/// six pitches sag more), pockets and rims of real mouldings, stress peaks. KW_CHECK: hole <= 0.8 height, height <=
/// pitch, breadth <= height (a thinner one than height/8 counts as height/8).
[[nodiscard]] BarSection holed_section(const HoledBar& bar);

/// `count` bars side by side in y without shear between them: sums.
[[nodiscard]] BarSection loose_stack(const BarSection& one, int count);

}  // namespace structure
