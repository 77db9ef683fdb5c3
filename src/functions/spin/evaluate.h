// What an ornamental drive reaches with one set of parameters: pure, for the nominal figures and for every draw.
#pragma once

#include <optional>
#include <vector>

#include "functions/drive/drive.h"
#include "functions/spin/wants.h"

namespace functions::spin {

/// One motor and the way from it to every output. Outputs that go by the shared stage have it as their first mesh.
struct Layout {
  stock::ClassId motor{};
  std::optional<gearing::Stage> shared;
  std::vector<gearing::Train> path;  ///< per output, from the motor; no stage = on the motor's own axle
  std::vector<bool> by_shared;       ///< per output

  /// Meshes after the shared stage.
  [[nodiscard]] int own_stages(std::size_t output) const {
    return static_cast<int>(path[output].stages.size()) - (by_shared[output] ? 1 : 0);
  }
};

/// Friction torque of an output in a draw. It is journal friction, so it follows the draw's pin friction: the lowest
/// pin friction gives the output's lowest torque, the nominal one its nominal, the highest its highest, straight
/// between.
[[nodiscard]] double friction_nmm(const Output&, const brief::Parameters&, const brief::Sample&);

/// Torque all outputs ask of the motor: sum of T_i r_i / e_i over the outputs, r_i ratio, e_i efficiency of the path.
[[nodiscard]] double motor_torque_nmm(const Layout&, const Wants&, const brief::Parameters&, const brief::Sample&,
                                      const gearing::MeshEfficiencies&);

/// Whether it starts: breaking everything loose at once asks less than the motor's stall torque.
[[nodiscard]] bool starts(const Layout&, const Wants&, const brief::Brief&, const brief::Sample&);

/// Margins: one per output (inside its range = cap, outside the share of the near end), stall reserve, tooth.
[[nodiscard]] candidate::Evaluation evaluate(const Layout&, const Wants&, const brief::Brief&, int sides,
                                             const brief::Sample&);

}  // namespace functions::spin
