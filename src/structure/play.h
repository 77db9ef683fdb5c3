// Free play: what clearances in holes, along screws and between teeth do to a displacement, to first order.
//
// A joint whose b may shift and tilt against a by d (joint axes) moves a gauge by J . d, where J is the joint's force
// under a unit load at the gauge (reciprocity). Springs hold whatever contact there is, so in every state of contact
//   gauge = elastic(load) + sum J_i . d_i       with each d_i inside its clearance,
// and the worst case takes each d_i at the end of its clearance that J_i points to: exact for a structure where nothing
// is held twice, an upper bound otherwise (joints held twice partly take up each other's play). Friction is left out:
// it only makes a structure stop short of the worst case.
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

/// Play of a gear mesh as turn of a wheel to either side: backlash along the pitch circle/(2 r).
[[nodiscard]] double backlash_turn_rad(double backlash_mm, double pitch_radius_mm);

/// Backlashes along a train to one shaft: each mesh's turn times the ratio (output speed/speed of its wheel).
struct MeshPlay {
  double turn_rad = 0;  ///< to either side, at its wheel
  double ratio = 1;     ///< turn of the output per turn of that wheel; sign ignored
};
[[nodiscard]] double train_play_rad(const std::vector<MeshPlay>& meshes);

}  // namespace structure
