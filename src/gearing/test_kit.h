// A kit system made in code for the tests of this folder; all figures invented. Not part of the library.
#pragma once

#include <string>
#include <utility>

#include "stock/part.h"

namespace gearing::test {

inline stock::Catalogue empty_kit(double pitch_mm = 8, double max_misfit_mm = 0.2) {
  stock::Catalogue c;
  c.system.id = "test";
  c.system.pitch_mm = pitch_mm;
  c.system.module_mm = 1;
  c.system.max_misfit_mm = max_misfit_mm;
  c.system.craft.tooth_stress_mpa.value = base::Triple::exact(30);
  c.system.craft.bevel_support.value = base::Triple::exact(0.5);
  c.system.craft.crown_support.value = base::Triple::exact(0.6);
  return c;
}

inline stock::ClassId add(stock::Catalogue& c, stock::Family family, stock::PartData data) {
  stock::PartClass part;
  part.id = "part_" + std::to_string(c.classes.size());
  part.family = family;
  part.data = std::move(data);
  c.classes.push_back(std::move(part));
  return stock::ClassId{static_cast<int>(c.classes.size()) - 1};
}

inline stock::ClassId add_gear(stock::Catalogue& c, int teeth, stock::GearForm form = stock::GearForm::spur,
                               bool bevelled_too = false, double face_mm = 4) {
  stock::Gear g;
  g.form = form;
  g.teeth = teeth;
  g.face_width_mm = face_mm;
  g.bevelled_too = bevelled_too;
  if (form == stock::GearForm::worm) g.pitch_diameter_mm = 8;
  return add(c, stock::Family::gear, g);
}

inline stock::ClassId add_ring(stock::Catalogue& c, int outer, int inner) {
  stock::Ring r;
  r.outer_teeth = outer;
  r.inner_teeth = inner;
  r.face_width_mm = 5;
  r.bearing_radius_mm = 20;
  return add(c, stock::Family::ring, r);
}

}  // namespace gearing::test
