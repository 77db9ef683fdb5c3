// Where an actuator may be mounted, as the user writes it, and as holes of the lattice.
#pragma once

#include <array>
#include <cstdint>
#include <string>

#include "brief/brief.h"
#include "document/diagnostic.h"
#include "document/fields.h"
#include "lattice/lattice.h"

namespace functions::drive {

/// A box of mount points: pitches from the pivot; x along, z up.
struct MountRegion {
  std::array<double, 2> x{};
  std::array<double, 2> z{};
  friend bool operator==(const MountRegion&, const MountRegion&) = default;
};

/// Keys of a region; `name` is the table's name in messages, "luff.region"; `x_way` what a positive x means.
[[nodiscard]] document::FieldTable<MountRegion> mount_region_fields(std::string name,
                                                                    const std::string& x_way = "forward");

/// Half-pitch box holding every lattice point inside the region.
[[nodiscard]] lattice::Box2 box_of(const MountRegion&);

/// A mount in hole pitches: "(3, -0.5)".
[[nodiscard]] std::string mount_text(lattice::Point2);

/// Pairs of mount points above this are refused when the wants are read: the search would be felt (about 20 ns a
/// pair and actuator class). Two regions of 10 x 5 pitches make 53 000 pairs.
inline constexpr std::int64_t kMostMountPairs = 4'000'000;
/// Reports "<kind>.empty_region" and "<kind>.region_too_large" at base_region_p and rod_region_p.
void check_mounts(const brief::Function&, const lattice::Box2& base, const lattice::Box2& rod, document::Diagnostics&);

}  // namespace functions::drive
