// Motors and hubs as load-bearing parts of a frame: a shell with fixing holes as an equivalent stiff bar.
//
// Assumptions, all of them ours until a user has measured a body (bench test): the body is a rectangular tube of even
// wall, closed by end walls, whose seam carries a share of the shear flow; what is inside carries nothing; a fixing
// hole holds a pin in an elastic bedding; from the middle line to a hole the shell is as stiff as along it. Each figure
// is low/nominal/high; low everywhere gives the softest body. Body axes: x along its length, y width, z height, from
// its centre; mm.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/triple.h"
#include "structure/kit_parts.h"  // Level

namespace structure {

struct BodyShape {
  std::string name;
  double length_mm = 0, width_mm = 0, height_mm = 0;
  double mass_g = 0;
  base::Triple wall_mm;
  base::Triple e_mpa;
  double poisson = 0;
  base::Triple seam;         ///< share of the shear flow the seam carries, 0..1; see box_section
  base::Triple bedding_mpa;  ///< of a pin in a fixing hole, N/mm per mm
  double hole_depth_mm = 0;  ///< length of pin in a fixing hole
};
/// With the assumed wall, material, seam and bedding. KW_CHECK: sizes positive.
[[nodiscard]] BodyShape motor_body(const stock::Motor& motor, double mass_g, double pitch_mm);
[[nodiscard]] BodyShape hub_body(const stock::Hub& hub, double mass_g, double pitch_mm);
/// The assumptions behind these two, one sentence each, for a report.
[[nodiscard]] std::vector<std::string> body_assumptions();

struct FixingHole {
  Vec3 at_mm{};  ///< where its pin beds; it opens to the face that is next along `axis`
  Vec3 axis{0, 1, 0};
};
/// Assumed when nothing is known: eight holes along y, half a pitch above the lower edge, on both sides two a pitch
/// apart at each end. One hole a side would let the end turn about its pins.
[[nodiscard]] std::vector<FixingHole> corner_holes(const BodyShape& shape, double pitch_mm);
/// Those that the catalogue tells of a body; where it tells nothing, corner_holes().
[[nodiscard]] std::vector<FixingHole> fixing_holes(const std::optional<std::vector<stock::FixingHole>>& told,
                                                   const BodyShape& shape, double pitch_mm);
/// Whether pins in these holes keep what they hold from turning: pins on one line leave the turn about it.
[[nodiscard]] bool hold_firmly(const std::vector<FixingHole>& holes);

/// Holes that one beam along the body can be pinned at: in one face, in line, whole pitches apart.
struct BeamRow {
  std::vector<std::size_t> holes;  ///< indices, by x
  int length_p = 0;                ///< holes of the beam from the first to the last of them
};
/// Rows that tie the half x <= 0 to the other one. Of holes in line that are not all whole pitches apart those are
/// taken that reach into both halves and are most; of as many the set that begins first. Holes along x have none: a
/// beam on an end face does not reach the other half.
[[nodiscard]] std::vector<BeamRow> beam_rows(const std::vector<FixingHole>& holes, double pitch_mm);

/// Where a body stands in a frame.
struct BodyPlace {
  Vec3 centre_mm{};
  Vec3 along{1, 0, 0};  ///< its x
  Vec3 up{0, 0, 1};     ///< its z
};
/// Adds the body and one joint per hole (its pin turns freely); returns the outer node of each hole, to which beams are
/// joined. The joints have no clearance of their own. KW_CHECK: at least two holes at different places along x.
std::vector<int> add_body(Frame& frame, const BodyShape& shape, const std::vector<FixingHole>& holes,
                          const BodyPlace& place, Level level);

/// Stiffness between the holes of the one half (x < 0) and those of the other, each half moving as one. KW_CHECK: holes
/// in both halves, off the middle line, that hold the body against turning about its pins.
struct BodyStiffness {
  base::Triple stretch_n_mm, sideways_n_mm, upright_n_mm, twist_nmm_rad;
};
[[nodiscard]] BodyStiffness body_stiffness(const BodyShape& shape, const std::vector<FixingHole>& holes);

}  // namespace structure
