// A layout as solids: every wheel, axle, bush, bearing block, terminal body and attachment with its place in
// millimetres. Drawings, tables and occupied cells are made from this one list. Frame: x forward, y left, z up.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "routing/layout.h"
#include "routing/problem.h"

namespace routing {

/// A point in millimetres, by axis.
using Millimetres = std::array<double, 3>;

struct PlacedSolid {
  enum class Role { wheel, ring, axle, bush, joiner, bearing, terminal, attachment };
  Role role = Role::wheel;
  bool round = false;               ///< a cylinder about `axis`; otherwise the box itself
  Axis axis = Axis::y;              ///< of the shaft it belongs to
  double radius_mm = 0;             ///< round only
  double open_radius_mm = 0;        ///< free inside this radius; 0 = solid
  Millimetres low_mm{}, high_mm{};  ///< bounding box, for a cylinder the box round it
  std::string label;                ///< "24", "axle 6", name of the motor or attachment
  bool swept = false;               ///< terminal only: room that it moves through
  int shaft = -1;                   ///< index into Layout::shafts; -1: a ring
  int wheel = -1;                   ///< index into Layout::wheels, wheels and rings only
  [[nodiscard]] Millimetres middle_mm() const {
    return {(low_mm[0] + high_mm[0]) / 2, (low_mm[1] + high_mm[1]) / 2, (low_mm[2] + high_mm[2]) / 2};
  }
};

/// Every solid, in a fixed order: shafts (axle, joiner, bearings, bushes), wheels, bodies of terminals, attachments.
/// The axle reaches into its terminal. Indices out of range are faults of the caller: KW_CHECK.
[[nodiscard]] std::vector<PlacedSolid> solids(const Problem&, const Layout&);

/// The terminals that hold the shafts of a layout, with the shaft each holds.
struct HeldBy {
  const Terminal* terminal = nullptr;
  int shaft = -1;
  bool input = false;  ///< a motor of the input, otherwise an output's terminal
};
[[nodiscard]] std::vector<HeldBy> terminals(const Problem&, const Layout&);

}  // namespace routing
