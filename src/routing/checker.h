// An independent judge of layouts: continuous geometry in millimetres, straight from the rules in
// docs/theory/routing.md. Shares problem.h and layout.h with the search and no code. Library kw_routing_checker.
// It judges validity, and that a layout says the truth about itself, not that it is the cheapest.
#pragma once

#include <string>
#include <vector>

#include "routing/layout.h"
#include "routing/problem.h"

namespace routing {

/// Every violated rule as a sentence that begins with the rule's name ("mesh: ...", "clash: ..."), with numbers and
/// places. Empty = approved. Indices out of range are reported, never followed; the problem itself is taken as well
/// formed.
[[nodiscard]] std::vector<std::string> check(const Problem& problem, const Layout& layout);

/// Clashes between the layout with its terminals and its mirror image in the plane across `axis` at `plane_hp`: what a
/// mirrored pair needs besides check(). Empty = both can stand together.
[[nodiscard]] std::vector<std::string> check_mirrored(const Problem& problem, const Layout& layout, Axis axis,
                                                      int plane_hp);

}  // namespace routing
