// An independent judge of orders of assembly: every move swept to infinity in closed form, over intervals, rectangles
// and circles in millimetres. It shares order.h with the search and no code. Library kw_assembly_checker.
#pragma once

#include <string>
#include <vector>

#include "assembly/order.h"

namespace assembly {

/// Every broken rule as a sentence that begins with the number of the step ("step 3: ..."): a piece that is not the
/// layout's, is put in twice, never or without its axle; a move that runs into something that is there already; a group
/// that was not made up before. Empty = approved. Pieces of Locked are left out of the count.
[[nodiscard]] std::vector<std::string> check(const routing::Problem&, const routing::Layout&, const Order&);

}  // namespace assembly
