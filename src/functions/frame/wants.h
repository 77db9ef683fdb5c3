// What a motor or hub is asked to carry, validated and in core units.
//
// Axes of the load-bearing body: x along its length, z along its height, origin in its middle. Its holes with x <= 0
// are pinned to what holds it, the others to what it carries.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "candidate/kind.h"
#include "structure/bearing_body.h"

namespace functions::frame {

/// Who tells where the holes are: nobody, the catalogue, or the wants themselves.
enum class HolesFrom { assumed, catalogue, wants };

struct Wants : candidate::Wants {
  std::string part;  ///< motor or hub
  std::string of;    ///< function whose motor it is
  double load_g = 0;
  std::array<double, 3> load_at_mm{};  ///< body's own axes
  double side_n = 0;                   ///< across, at the same place
  bool upright = false;                ///< its length stands upright, the load presses along it
  double sag_mm = 1, sway_mm = 1;      ///< at the load, at most
  int beams = 2;                       ///< tied beside it on either side, at most
  std::vector<std::array<double, 3>> holes_p;
  std::optional<base::Triple> wall_mm;

  // Filled in by read().
  stock::ClassId carrier{};
  bool shared = false;  ///< the machine has it anyway: a hub of the supply, the motor of `of`
  structure::BodyShape shape;
  std::vector<structure::FixingHole> holes;  ///< all it has
  HolesFrom holes_from = HolesFrom::assumed;
  std::vector<std::array<double, 3>> unknown_holes_p;  ///< of holes_p: none of those that the catalogue tells
};

[[nodiscard]] std::vector<document::FieldDoc> fields();
[[nodiscard]] std::shared_ptr<const candidate::Wants> read(const brief::Function&, const brief::Brief&,
                                                           document::Diagnostics&);

}  // namespace functions::frame
