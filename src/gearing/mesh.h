// Which gears of a kit system mesh on its hole lattice, and which miss it by how much.
// Ratios are exact, driven speed / driver speed, signed: parallel shafts are looked at from the same side (external
// mesh negative, internal positive); bevel and crown pairs are looked at along axes that point away from where the
// shafts meet (negative); a worm counts positive, its sense depends on hand and side. Lengths mm.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/rational.h"
#include "lattice/lattice.h"
#include "stock/part.h"

namespace gearing {

/// spur: parallel shafts, straight or oblique offset. bevel, crown: shafts meet at a right angle; the gears are slid
/// along their axles until they mesh, so no lattice distance is needed. worm: shafts cross at a right angle without
/// meeting, worm drives; the common normal lies along the lattice, so the offset is straight. ring_outer, ring_inner:
/// a pinion drives a turntable's ring from outside or inside.
enum class MeshType { spur, bevel, crown, worm, ring_outer, ring_inner };
[[nodiscard]] std::string_view name_of(MeshType type);
[[nodiscard]] constexpr bool right_angle(MeshType type) {
  return type == MeshType::bevel || type == MeshType::crown || type == MeshType::worm;
}
[[nodiscard]] constexpr bool drives_ring(MeshType type) {
  return type == MeshType::ring_outer || type == MeshType::ring_inner;
}

/// One usable ordered pair. Plain data without pointers: copy freely.
struct Mesh {
  stock::ClassId driver{}, driven{};
  MeshType type = MeshType::spur;
  int driver_teeth = 0;  ///< worm: number of starts
  int driven_teeth = 0;
  base::Rational ratio;             ///< driven speed / driver speed, signed
  double centre_distance_mm = 0;    ///< nominal; bevel and crown 0 (the shafts meet)
  lattice::Offset offset;           ///< best fit; bevel and crown {0, 0, 0}
  double misfit_mm = 0;             ///< |offset.distance_mm - centre_distance_mm|
  double contact_ratio = 0;         ///< plain formula at the offered distance; bevel: of the equivalent spur pair;
                                    ///< worm: of the wheel with the worm's rack section; crown: with a rack
  double usable_contact_ratio = 0;  ///< path cut off at the interference points, see involute.h
  bool cut_by_interference = false;
  double driver_radius_mm = 0, driven_radius_mm = 0;  ///< pitch radii
  double nominal_support = 1;  ///< share of the tooth load kept, nominal: the kit system's figure for bevel and crown
  double lewis_area_mm2 = 0;   ///< b m Y of the weaker side: allowable tooth load = stress * this * support
  double lead_angle_rad = 0;   ///< worm only
  double pressure_angle_rad = 0;  ///< of the kit system; the normal angle of a worm
};

/// Why an ordered pair does not mesh, in numbers.
struct MeshRejection {
  stock::ClassId driver{}, driven{};
  MeshType type = MeshType::spur;
  std::string code;  ///< "misfit", "contact", "too_few_teeth", "ring_too_small"
  double wanted_mm = 0, nearest_mm = 0;
  double misfit_mm = 0;
  double contact_ratio = 0;  ///< at the nearest distance; 0 where it makes no sense
  std::string text;          ///< "8:12 needs 10 mm, nearest lattice distance 9.798 mm is 0.202 mm off"
};

struct MeshTable {
  std::vector<Mesh> meshes;                           ///< ordered by driver, driven, type
  std::vector<std::vector<lattice::Offset>> offsets;  ///< per mesh: every offset within the misfit, best first
  std::vector<MeshRejection> rejections;              ///< same order

  /// Index of the mesh, -1 = none.
  [[nodiscard]] int find(stock::ClassId driver, stock::ClassId driven, MeshType type) const;
};

struct MeshOptions {
  double max_misfit_mm = -1;       ///< < 0: the kit system's own figure
  double min_contact_ratio = 1.0;  ///< plain formula; below it no tooth is in contact part of the time
};

/// Every ordered mesh among `classes` (gears and rings of the catalogue; other families are passed over), whatever
/// their counts; a class may mesh itself. O(n^2) in the number of classes.
[[nodiscard]] MeshTable find_meshes(const stock::Catalogue& catalogue, std::span<const stock::ClassId> classes,
                                    const MeshOptions& options = {});
/// All gears and rings of the catalogue.
[[nodiscard]] MeshTable find_meshes(const stock::Catalogue& catalogue, const MeshOptions& options = {});

/// Signed ratio of one mesh from teeth alone.
[[nodiscard]] base::Rational mesh_ratio(MeshType type, int driver_teeth, int driven_teeth);

}  // namespace gearing
