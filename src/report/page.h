// results.html: one page that needs nothing else; texts and drawings of a design.
#pragma once

#include <string>

#include "design/design.h"

namespace report {

[[nodiscard]] std::string results_page(const design::Result& result);

}  // namespace report
