// The whole machine in three views on its lattice: envelopes of the bodies, room of the functions, pivots, wheels.
#pragma once

#include <string>
#include <vector>

#include "assessment/assessment.h"
#include "report/svg.h"

namespace report {

/// Axis-parallel solid in the machine's frame, all joints at zero, mm.
struct Solid {
  enum class Type { envelope, function, placed };
  Type type = Type::envelope;
  std::string name;   ///< of the body, function or placed thing
  int body = 0;       ///< that carries it, index into Brief::bodies
  int function = -1;  ///< index into Brief::functions; colours go by it
  brief::Vec3 low_mm, high_mm;
};

/// Envelopes that were told, placed things, and the cells of the chosen candidates joined to few boxes.
[[nodiscard]] std::vector<Solid> solids_of(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen);

/// Smallest box round the solids, wheels and what it stands on; the ground included.
struct Extent {
  brief::Vec3 low_mm, high_mm;
};
[[nodiscard]] Extent extent_of(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                               const std::vector<Solid>& solids);

/// Colour of a function, the same in every drawing: Okabe & Ito without the black, repeated after seven.
[[nodiscard]] std::string_view colour_of_function(int function);

/// Third-angle projection (ISO 5456-2): seen from the right, above it from above, beside it from the front. Dimensions
/// over all in mm and pitches; a dot for every hole, for every fifth where they would touch.
[[nodiscard]] Svg overview_drawing(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                   double width);

}  // namespace report
