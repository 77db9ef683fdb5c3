#include "structure/kit_parts.h"

#include <cmath>

#include "base/check.h"

namespace structure {

double at(const base::Triple& t, Level level) {
  return level == Level::low ? t.low : level == Level::high ? t.high : t.nominal;
}

KitFigures kit_figures(const stock::KitSystem& system) {
  KitFigures k;
  k.moulded = system.axle.cross;
  k.axle_g_mpa = system.craft.axle_shear_modulus_mpa.value;
  if (k.moulded) {
    k.beam_height_mm = system.pitch_mm - 0.2;
    k.hole_mm = system.axle.width_mm + 0.1;
    k.poisson = 0.35;
    k.beam_e_mpa = {2000, 2300, 2500};
    k.pin_diametral_mm = {0, 0.03, 0.06};
    k.axle_diametral_mm = {0.05, 0.10, 0.16};
    k.axle_axial_mm = {0.0, 0.05, 0.2};
    k.bedding_mpa = {450, 900, 1800};
    k.beam_stress_mpa = {15, 22, 30};
    k.assumptions = {
        "Beams are 0.2 mm lower than the pitch, holes 0.1 mm wider than the axle: assumed.",
        "Beams and pins are ABS, E = 2300 MPa (2000 to 2500), Poisson's ratio 0.35: Terluran GP-35 data sheet, spread "
        "assumed.",
        "Tight pins have 0.03 mm of play across (0 to 0.06), axles 0.10 mm (0.05 to 0.16) and 0.05 mm along to either "
        "side (0 to 0.2): assumed.",
        "A pin beds in its hole with 900 N/mm per mm (450 to 1800), 0.4 times E: assumed.",
        "Beams bear 22 MPa (15 to 30) at a hole: half the yield stress of 44 MPa of ABS (Terluran GP-35 data sheet), "
        "for peaks at the hole; the half is assumed.",
        "Pockets and rims of mouldings are left out: a beam is a bar with a row of round holes."};
  } else {
    k.beam_height_mm = system.pitch_mm - 0.2;
    k.hole_mm = system.axle.width_mm + 0.14;
    k.poisson = 0.3;
    k.beam_e_mpa = {195000, 205000, 210000};
    k.pin_diametral_mm = {0, 0.05, 0.3};
    k.axle_diametral_mm = {0.10, 0.14, 0.20};
    k.axle_axial_mm = {0.0, 0.1, 0.3};
    k.bedding_mpa = {20000, 80000, 160000};
    k.beam_stress_mpa = {90, 120, 160};
    k.assumptions = {
        "Bars are 0.2 mm lower than the pitch, holes 0.14 mm wider than the rod: assumed.",
        "Bars and bolts are steel, E = 205 GPa (195 to 210): Shigley, Table A-5 (from memory), spread assumed.",
        "Bolted joints have 0.05 mm of play across (0 when tight, 0.3 when loose), rods 0.14 mm (0.10 to 0.20) and 0.1 "
        "mm along to either side (0 to 0.3): assumed.",
        "A bolt beds in its hole with 80 kN/mm per mm (20 to 160), 0.4 times E: assumed.",
        "Bars bear 120 MPa (90 to 160) at a hole: half the yield stress of 235 MPa of mild steel (from memory), for "
        "peaks at the hole; the half is assumed."};
  }
  return k;
}

BarSection pin_section(const stock::KitSystem& system) {
  const double width_mm = system.axle.width_mm;
  return system.axle.cross ? tube_section(width_mm, 0.625 * width_mm) : bar_section({Form::round, width_mm});
}

PinStrength pin_strength(const stock::KitSystem& system) {
  const BarSection pin = pin_section(system);
  const base::Triple stress = kit_figures(system).beam_stress_mpa;
  const auto times = [&](double factor) {
    return base::Triple{factor * stress.low, factor * stress.nominal, factor * stress.high};
  };
  return {times(pin.area_mm2 / std::sqrt(3.0)), times(pin.second_y_mm4 / (system.axle.width_mm / 2)),
          system.axle.cross ? base::Triple{5, 10, 20} : times(pin.area_mm2)};
}

double full_beam_thickness_p(const stock::KitSystem& system) {
  return system.axle.cross ? 1 : 0.07;
}

BoomParts kit_parts(const stock::KitSystem& system, double thickness_p, const KitMasses& masses, Level stiffness,
                    Level play) {
  KW_CHECK(thickness_p > 0, "a beam has a thickness");
  const KitFigures k = kit_figures(system);
  BoomParts p;
  p.pitch_mm = system.pitch_mm;
  // Moulded beams lie side by side, so they are a little thinner than their pitches too.
  p.beam_thickness_mm = thickness_p * system.pitch_mm - (k.moulded ? 0.2 : 0);
  p.beam = holed_section({k.beam_height_mm, p.beam_thickness_mm, k.hole_mm, system.pitch_mm});
  const double e_mpa = at(k.beam_e_mpa, stiffness);
  p.beam_material = p.pin_material = {e_mpa, e_mpa / (2 * (1 + k.poisson))};
  const double g_mpa = at(k.axle_g_mpa, stiffness);
  p.axle_material = {2 * (1 + k.poisson) * g_mpa, g_mpa};
  p.axle = bar_section(section_of(system.axle));
  p.pin = pin_section(system);
  p.beam_mass_g_mm = masses.beam_g_p / system.pitch_mm;
  p.axle_mass_g_mm = masses.axle_g_p / system.pitch_mm;
  p.pin_mass_g = masses.pin_g;
  p.bedding_mpa = at(k.bedding_mpa, stiffness);
  p.pin_clearance.diametral_mm = at(k.pin_diametral_mm, play);
  p.axle_clearance.diametral_mm = at(k.axle_diametral_mm, play);
  p.axle_clearance.axial_mm = at(k.axle_axial_mm, play);
  return p;
}

}  // namespace structure
