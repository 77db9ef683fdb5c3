// The parts an ornamental drive takes beside its gears.
#pragma once

#include "functions/spin/evaluate.h"

namespace functions::spin {

/// Motor, gears, axles, bushes, bearing beams, pins and what the outputs carry, times the function's sides; one port a
/// side, one channel. Currents stay 0.
[[nodiscard]] candidate::Demand demand_of(const Layout&, const Wants&, const brief::Brief&, const brief::Function&);

/// "motor_s|8:24 > fan 12:20, drum direct": stable, for keys.
[[nodiscard]] std::string key_of(const Layout&, const Wants&, const stock::Catalogue&);
[[nodiscard]] std::string title_of(const Layout&, const Wants&, const stock::Catalogue&);

}  // namespace functions::spin
