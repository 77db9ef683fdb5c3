// For tests: the plain machine that the assessment is tried on.
#pragma once

#include <memory>

#include "brief/brief.h"

namespace assessment::test {

/// One body of 1000 g whose centre is 50 mm above four points 200 x 120 mm apart, cells of 900 to 1100 mAh, every
/// parameter 1; figures invented.
inline void give_chassis(brief::Brief& brief, std::shared_ptr<const stock::Catalogue> catalogue,
                         std::shared_ptr<const stock::Stock> stock) {
  brief.catalogue = std::move(catalogue);
  brief.stock = std::move(stock);
  for (auto& f : brief.parameters.figure) f.value = base::Triple::exact(1);
  brief::Body chassis;
  chassis.id = "chassis";
  chassis.mass_g = base::Triple::exact(1000);
  chassis.centre_mm = {0, 0, 50};
  brief.bodies = {chassis};
  brief.support.points_mm = {{-100, -60, 0}, {100, -60, 0}, {100, 60, 0}, {-100, 60, 0}};
  brief.supply.capacity_range_mah = {900, 1000, 1100};
}

}  // namespace assessment::test
