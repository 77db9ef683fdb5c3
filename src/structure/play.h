// Free play: what clearances in holes, along screws and between teeth do to a displacement, to first order.
//
// Forces J at the joints that balance a unit load at a gauge say what play does (virtual work): if the b of each joint
// moves against its a by d_i (joint axes) and no part strains, the gauge moves by sum J_i . d_i. Hence
//   bound = sum over joints of the largest J_i . d_i, J from the elastic frame. With load and contact of whatever kind
//           the gauge stays within elastic(load) +- bound, as each state of contact is the elastic frame with some d.
//   free  = least such sum over every J that balances the unit load: by duality of linear programming exactly how far
//           rigid parts let the gauge move to one side before anything resists. Parts held twice take up each other's
//           play, so free <= bound, equal where nothing is held twice; holding one more part never makes it greater.
// Friction is left out: it only makes a structure stop short of the worst case.
#pragma once

#include "structure/frame.h"

namespace structure {

/// What a pin in a bore may do before it touches; zeros = none. The frame's joint axis is the pin's.
struct Clearance {
  double diametral_mm = 0;  ///< bore minus pin
  double engaged_mm = 0;    ///< length of pin in the bore; needed with diametral_mm
  double axial_mm = 0;      ///< from the middle to either side
  double turn_rad = 0;      ///< about the axis, to either side: backlash of a drive or a keyed end
  double tilt_rad = 0;      ///< about both cross axes, to either side: a bearing that rocks; beside the bore's own
};

/// Largest gauge motion a joint's clearance allows to one side; `influence` = joint force under a unit load there.
/// The pin's two ends stay within a circle of radius c/2 each: sum over both ends of c/2 |F/2 +- M x axis/engaged|, so
/// the pin cannot both shift and tilt by the full clearance. KW_CHECK: no negative clearance.
[[nodiscard]] double greatest_motion(const Clearance& clearance, const Six& influence);

/// The dislocation that reaches greatest_motion.
[[nodiscard]] Six worst_dislocation(const Clearance& clearance, const Six& influence);

struct FreePlayOptions {
  double gap = 2e-3;      ///< stop when free is known to this share of itself
  int most_rounds = 100;  ///< or after so many solutions; the answer then shows the wider gap
};
struct FreePlay {
  double bound = 0;
  double free = 0;      ///< an upper bound in itself
  double at_least = 0;  ///< a motion that was found possible, members strained by no more than 1e-4 of it
  int rounds = 0;
  std::vector<double> by_joint;        ///< what each joint gives to `free`
  std::vector<double> bound_by_joint;  ///< and to `bound`
};
/// Play of a gauge. `unit` = model.solve_unit(node, freedom); one clearance per joint of the frame. Method: sums of
/// norms by reweighted least squares, each round an elastic frame whose joints are as soft as clearance/force.
[[nodiscard]] FreePlay free_play(const FrameModel& model, const FrameState& unit, int node, Freedom freedom,
                                 const std::vector<Clearance>& clearances, const FreePlayOptions& options = {});

/// Play of a gear mesh as turn of a wheel to either side: backlash along the pitch circle/(2 r).
[[nodiscard]] double backlash_turn_rad(double backlash_mm, double pitch_radius_mm);

/// Backlashes along a train to one shaft: each mesh's turn times the ratio (output speed/speed of its wheel).
struct MeshPlay {
  double turn_rad = 0;  ///< to either side, at its wheel
  double ratio = 1;     ///< turn of the output per turn of that wheel; sign ignored
};
[[nodiscard]] double train_play_rad(const std::vector<MeshPlay>& meshes);

}  // namespace structure
