// Sections, materials and fits of a kit system's beams, axles and pins, as a boom needs them.
//
// The catalogue knows pitch, axle section and the axle's shear modulus; the rest is assumed here, each figure with low,
// nominal and high, by whether the kit is moulded (cross axles) or of sheet metal (round rods). A bench test that
// weighs or bends a part beats any of them.
#pragma once

#include <string>
#include <vector>

#include "base/triple.h"
#include "structure/boom.h"

namespace structure {

enum class Level { low, nominal, high };
[[nodiscard]] double at(const base::Triple& triple, Level level);

struct KitFigures {
  bool moulded = true;
  double beam_height_mm = 0;  ///< across the row of holes
  double hole_mm = 0;
  double poisson = 0;
  base::Triple beam_e_mpa;
  base::Triple axle_g_mpa;  ///< from the catalogue
  base::Triple pin_diametral_mm, axle_diametral_mm, axle_axial_mm;
  base::Triple bedding_mpa;              ///< N/mm per mm
  base::Triple beam_stress_mpa;          ///< nominal stress at a hole that a beam bears for good
  std::vector<std::string> assumptions;  ///< a sentence each, for a report
};
[[nodiscard]] KitFigures kit_figures(const stock::KitSystem& system);

/// Moulded pins are tubes with a bore of five eighths of their diameter (assumed); bolts are solid.
[[nodiscard]] BarSection pin_section(const stock::KitSystem& system);
/// What one pin bears for good: a cut across it, and bending where it bridges a gap between two beams.
/// Moulded: von Mises of the 22 MPa (15 to 30) that beams bear at a hole; bolts: of 120 MPa (90 to 160). Shear =
/// stress / sqrt(3) over the area (Shigley, Eq. 5-21, from memory), bending = stress times section modulus.
/// Pulled along itself a moulded pin slips out at 10 N (5 to 20): assumed; a bolt bears its stress over its area.
struct PinStrength {
  base::Triple shear_n, bending_nmm, pull_n;
};
[[nodiscard]] PinStrength pin_strength(const stock::KitSystem& system);

/// Thickness that counts of a beam that fills a pitch: a moulded one's own; of an angle bar its pinned leg alone, as
/// thick as the catalogue's flat bars, 0.07 pitches, on the safe side (assumed).
[[nodiscard]] double full_beam_thickness_p(const stock::KitSystem& system);

/// Mass per pitch of length, from the stock's own parts.
struct KitMasses {
  double beam_g_p = 0, axle_g_p = 0, pin_g = 0;
};
/// Beams `thickness_p` thick. `stiffness` sets moduli and bedding, `play` the clearances (high = most play).
[[nodiscard]] BoomParts kit_parts(const stock::KitSystem& system, double thickness_p, const KitMasses& masses,
                                  Level stiffness = Level::nominal, Level play = Level::nominal);

}  // namespace structure
