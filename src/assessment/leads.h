// How far motors are from hubs, and which cables reach. Inside of assessment/.
//
// A lead runs along the axes, so its length is |dx| + |dy| + |dz| in the zero pose, plus a loop at every joint between
// the two bodies. The place of a motor is known once its drive is laid out; that of a hub when a placed thing is named
// "hub" (one hub), "hub 1" and so on, or like the hub's part class.
#pragma once

#include <optional>
#include <vector>

#include "assessment/assessment.h"

namespace assessment {

/// Loop of a lead at a joint that moves: common practice, no source.
inline constexpr double kLoop_mm = 40;

/// One motor of the choice.
struct LeadEnd {
  std::size_t function = 0;
  double own_mm = 0;             ///< the motor's own lead; 0 = not told
  std::vector<double> needs_mm;  ///< per hub; 0 = a place is not known
};
/// In the order of functions, drives and motors.
[[nodiscard]] std::vector<LeadEnd> lead_ends(const brief::Brief& brief, const std::vector<Chosen>& chosen);

/// Cables that the stock holds after what the functions take, longest first, one entry a piece.
[[nodiscard]] std::vector<stock::ClassId> free_cables(const brief::Brief& brief, const std::vector<Chosen>& chosen);
[[nodiscard]] double length_mm(const brief::Brief& brief, stock::ClassId cable);

/// Gives every lead that is too short the shortest free cable that makes it long enough: leads in the order of what
/// they lack, longest first; exact, because a cable that serves a longer lack serves every shorter one. Index per lead
/// into `cables`, -1 = none needed; empty when some lead is left short.
[[nodiscard]] std::optional<std::vector<int>> give_cables(const std::vector<double>& lacks_mm,
                                                          const std::vector<double>& cables_mm);

}  // namespace assessment
