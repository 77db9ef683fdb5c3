// What the machine stands on with its legs stowed and deployed, and what a foot carries.
//
// All joints at zero. Lifting: four feet alone, or two feet and the contacts that stand furthest from them, because the
// machine tilts about those; the loads are balance::support_loads, supports that only push. Widening: wheels and feet
// together. Tipping: least angle over all edges (balance/support.h). N, mm, rad.
#pragma once

#include <string>
#include <vector>

#include "brief/brief.h"
#include "functions/stabiliser/leg.h"

namespace functions::stabiliser {

struct Standing {
  std::vector<brief::Vec3> contacts_mm;  ///< feet first
  double area_mm2 = 0;                   ///< of their hull
  double margin_mm = 0;    ///< of the centre of gravity inside the hull (McGhee & Frank), negative outside
  double tipping_rad = 0;  ///< least angle that is left
};

struct Stance {
  double weight_n = 0;
  brief::Vec3 centre_mm;       ///< of gravity, on the wheels
  Standing wheels, feet;       ///< stowed, deployed
  std::vector<double> foot_n;  ///< load of every foot, order of Leg::feet_mm; only when it lifts
  double greatest_foot_n = 0;  ///< the most loaded one, or the preload
  double tipping_foot_n = 0;   ///< what a single foot may have to carry when the machine tips: all of it
  bool stands = true;          ///< the centre of gravity is inside what it stands on
};

/// With a factor on masses that are estimates.
[[nodiscard]] Stance stance_of(const brief::Brief&, const Wants&, const Leg&, double mass_factor);

}  // namespace functions::stabiliser
