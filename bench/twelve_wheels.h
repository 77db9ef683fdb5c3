// The invented stock that the train benchmarks share: twelve wheels of module 1 on 8 mm pitch, one to four of each.
#pragma once

#include <fmt/format.h>

#include <array>

#include "stock/part.h"

namespace bench {

inline constexpr std::array kTeeth{8, 10, 12, 14, 16, 20, 22, 24, 28, 32, 36, 40};
inline constexpr std::array kCounts{4, 1, 4, 2, 3, 2, 1, 4, 2, 1, 3, 2};

/// A catalogue of these wheels, class i of kTeeth[i].
inline stock::Catalogue twelve_wheels(double max_misfit_mm) {
  stock::Catalogue c;
  c.system.pitch_mm = 8;
  c.system.module_mm = 1;
  c.system.max_misfit_mm = max_misfit_mm;
  for (const int z : kTeeth) {
    stock::PartClass part;
    part.id = fmt::format("gear_{}", z);
    part.family = stock::Family::gear;
    stock::Gear gear;
    gear.teeth = z;
    gear.face_width_mm = 4;
    part.data = gear;
    c.classes.push_back(part);
  }
  return c;
}

}  // namespace bench
