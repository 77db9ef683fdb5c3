#include "functions/drive/mount_region.h"

#include <cmath>
#include <utility>

#include "base/text.h"
#include "functions/drive/wants_reader.h"

#include <fmt/format.h>

namespace functions::drive {

document::FieldTable<MountRegion> mount_region_fields(std::string name, const std::string& x_way) {
  return document::FieldTable<MountRegion>(std::move(name))
      .range("x", &MountRegion::x,
             {.unit = "p", .low = -80, .high = 80, .doc = "From the pivot, " + x_way + " positive, in hole pitches."})
      .required()
      .range("z", &MountRegion::z,
             {.unit = "p", .low = -80, .high = 80, .doc = "From the pivot, up positive, in hole pitches."})
      .required();
}

lattice::Box2 box_of(const MountRegion& r) {
  constexpr double kHair = 1e-9;
  const auto up = [](double p) { return static_cast<int>(std::ceil(2 * p - kHair)); };
  const auto down = [](double p) { return static_cast<int>(std::floor(2 * p + kHair)); };
  return {{up(r.x[0]), up(r.z[0])}, {down(r.x[1]), down(r.z[1])}};
}

std::string mount_text(lattice::Point2 p) {
  return fmt::format("({}, {})", base::plain(p.x_hp / 2.0), base::plain(p.z_hp / 2.0));
}

void check_mounts(const brief::Function& function, const lattice::Box2& base, const lattice::Box2& rod,
                  document::Diagnostics& diagnostics) {
  const auto error = [&](const char* key, const char* what, std::string message, std::string hint) {
    const Place place = place_of(function, key);
    diagnostics.error(function.kind + what, place.where, place.path, std::move(message), std::move(hint));
  };
  for (const auto& [key, box] : {std::pair{"base_region_p", base}, std::pair{"rod_region_p", rod}}) {
    if (box.points() == 0)
      error(key, ".empty_region", "the region holds no lattice point (holes are half a pitch apart).",
            "widen it to at least half a pitch");
  }
  const std::int64_t pairs = base.points() * rod.points();
  if (pairs > kMostMountPairs)
    error("base_region_p", ".region_too_large",
          fmt::format("base and rod region make {} pairs of mounts; at most {} are searched.", pairs, kMostMountPairs),
          "narrow either region to where the actuator can really go");
}

}  // namespace functions::drive
