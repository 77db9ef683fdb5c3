// From gears, axles and motors of the stock to the numbers that routing works with.
#pragma once

#include <span>
#include <vector>

#include "brief/brief.h"
#include "functions/drive/drive.h"
#include "gearing/mesh.h"
#include "gearing/train_search.h"
#include "routing/problem.h"

namespace functions::drive {

/// Gears and rings of the stock that a function may use, with all their meshes and every offset within the kit
/// system's misfit. Wheel i is gears[i], pair i is meshes[i]; axles are those of the stock that the function may use,
/// plain and with a stop together; all counts as in the stock. Bushes are half-length ones unless the stock has only
/// full ones. Joiners are told but join nothing yet (routing::join_axles).
[[nodiscard]] routing::Kit route_kit(const brief::Brief&, const brief::Function&, const gearing::MeshTable&,
                                     std::span<const gearing::GearStock> gears, int copies);

/// Rigid joiners of the catalogue that the function may use and that take so many slots (half-pitches); those without
/// a length are not among them, and universal joints and clutches have none.
[[nodiscard]] std::vector<stock::ClassId> joiners_of(const brief::Brief&, const brief::Function&, int slots);
/// Slots that the shortest rigid joiners in stock take, which are the ones that are used; 0 = there are none.
[[nodiscard]] int joiner_slots(const brief::Brief&, const brief::Function&);

/// Bushes of the catalogue that take so many slots (half-pitches) of an axle; those without a length are not among
/// them.
[[nodiscard]] std::vector<stock::ClassId> bushes_of(const stock::Catalogue&, int slots);

/// Pair indices of a train; its meshes must be in the table.
[[nodiscard]] std::vector<int> pairs_of(const gearing::Train&, const gearing::MeshTable&);

/// A motor whose shaft leaves it at `face` along `axis` in `direction`, in the middle of its end. `turned`: its width
/// lies along the second cross axis (lattice::v_axis) instead of the first. Its drive hole takes one pitch of axle.
[[nodiscard]] routing::Terminal motor_body(const stock::PartClass& motor, routing::Axis axis, routing::Point3 face,
                                           int direction, bool turned);
/// Its solid.
[[nodiscard]] routing::Box3 motor_box(const stock::PartClass&, routing::Axis, routing::Point3 face, int direction,
                                      bool turned);

/// How deep an axle sits in a motor or an actuator (common practice, no source).
inline constexpr int kInsert_hp = 2;
/// Between solids that do not touch by design (invented: a moulded part's play and an axle's bend).
inline constexpr double kClearance_mm = 0.3;

}  // namespace functions::drive
