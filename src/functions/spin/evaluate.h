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
  /// Of a placed drive, per output and stage: which mesh it is, so that meshes on the way to several outputs bear all
  /// their loads. Empty on paper.
  std::vector<std::vector<int>> mesh = {};

  /// Meshes after the shared stage.
  [[nodiscard]] int own_stages(std::size_t output) const {
    return static_cast<int>(path[output].stages.size()) - (by_shared[output] ? 1 : 0);
  }
};

/// Friction torque of an output in a draw. It is journal friction, so it follows the draw's pin friction: the lowest
/// pin friction gives the output's lowest torque, the nominal one its nominal, the highest its highest, straight
/// between.
[[nodiscard]] double friction_nmm(const Output&, const brief::Parameters&, const brief::Sample&);

/// Torque one output asks of the motor: T r / e, see below.
[[nodiscard]] double torque_share_nmm(const Output&, const gearing::Train& path, const brief::Parameters&,
                                      const brief::Sample&, const gearing::MeshEfficiencies&);
/// Torque all outputs ask of the motor: sum of T_i r_i / e_i over the outputs, r_i ratio, e_i efficiency of the path.
[[nodiscard]] double motor_torque_nmm(const Layout&, const Wants&, const brief::Parameters&, const brief::Sample&,
                                      const gearing::MeshEfficiencies&);

/// Told running current: the no-load current and each output's share, every one rounded up to whole steps. What differs
/// by less is no choice between layouts; and because the shares are rounded one by one, ways to one output compare
/// before the others are chosen. Overstates by less than a step per output and one more.
inline constexpr double kCurrentStepMa = 10;
[[nodiscard]] int current_steps(double current_ma);
/// Of one output: its running torque at the motor times the current a torque takes.
[[nodiscard]] int current_steps(double motor_torque_nmm, const motor::Constants&);
[[nodiscard]] double told_current_ma(const Layout&, const Wants&, const brief::Brief&, int sides,
                                     const brief::Sample& nominal);

/// Whether a ratio lies inside an output's range of ratios, exactly.
[[nodiscard]] bool inside(const Output&, const base::Rational& ratio);

/// Whether it starts: breaking everything loose at once asks no more than the motor's stall torque.
[[nodiscard]] bool starts(const Layout&, const Wants&, const brief::Brief&, const brief::Sample&);

/// starts() of many layouts on one motor over the same draws: what a draw says of motor and meshes is worked out once.
class Starts {
 public:
  Starts(stock::ClassId motor, const Wants&, const brief::Brief&, const std::vector<brief::Sample>& draws);
  /// Share of the draws in which it starts; 0 without draws.
  [[nodiscard]] double share(const Layout&) const;

 private:
  struct Draw {
    gearing::MeshEfficiencies meshes;
    double stall_nmm = 0;
    std::vector<double> friction_nmm;  ///< per output
  };
  [[nodiscard]] bool in(const Draw&, const Layout&) const;

  double sticking_ = 1;
  std::vector<Draw> draws_;
  Draw hardest_;  ///< of every figure the hardest of all draws: what starts in this starts in each
};

/// Margins: one per output (inside its range = cap, outside the share of the near end), stall reserve, tooth.
[[nodiscard]] candidate::Evaluation evaluate(const Layout&, const Wants&, const brief::Brief&, int sides,
                                             const brief::Sample&);

}  // namespace functions::spin
