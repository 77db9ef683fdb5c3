// The invented boom that tests and benchmarks share: a light two-sided jib of 8 mm pitch that lifts buoys from a jetty.
#pragma once

#include "structure/remedies.h"

namespace structure::sample {

/// Moulded beams, cross axles: E and G of ABS and acetal (Terluran GP-35; Engineering Plastics Handbook, Table 5.5),
/// sizes, clearances and bedding invented.
inline BoomParts parts() {
  BoomParts p;
  p.pitch_mm = 8;
  p.beam = holed_section({7.8, 7.4, 4.9, 8});
  p.beam_material = {2300, 850};
  p.beam_mass_g_mm = 0.033;
  p.beam_thickness_mm = 7.4;
  p.pin = tube_section(4.8, 3.0);
  p.axle = bar_section({Form::cross, 4.8, 1.8});
  p.pin_material = {2300, 850};
  p.axle_material = {2700, 1000};
  p.axle_mass_g_mm = 0.02;
  p.pin_mass_g = 0.24;
  p.bedding_mpa = 900;
  p.pin_clearance.diametral_mm = 0.03;
  p.axle_clearance.diametral_mm = 0.10;
  p.axle_clearance.axial_mm = 0.05;
  return p;
}

/// 24 pitches long, one beam a side, axles at foot, actuator and tip only.
inline Boom jib() {
  Boom b;
  b.length_p = 24;
  b.inner_p = 2;
  b.beams = {{0, 24, 0}};
  b.actuator = {8, 6, -6, {0}, 40, 0.15};
  b.foot.bearing_p = 3.5;
  b.foot.bearing = {0.10, 7.4, 0.05, 0, 0};
  b.foot.turntable.turn_rad = 0.004;
  b.foot.turntable.tilt_rad = 0.002;
  b.foot.turntable_below_p = 4;
  b.parts = parts();
  return b;
}

inline BoomLoad jib_load() {
  BoomLoad l;
  l.luff_rad = 0.5;
  l.side_slope_rad = 0.05;
  l.tip_mass_g = 150;
  return l;
}

}  // namespace structure::sample
