// Where the drive of one driven axle or wheel stands.
#pragma once

#include <memory>
#include <optional>

#include "functions/drive/placing.h"
#include "functions/wheels/evaluate.h"

namespace functions::wheels {

/// The first driven axle from its end; further ones are images of it: with two axles both driven its mirror image,
/// otherwise copies, each drive within the spacing of its axle. `differential`: the class of its case, a ring in the
/// placers' kit.
[[nodiscard]] std::shared_ptr<const drive::Site> site_for(const Wants&, const brief::Brief&, const brief::Function&,
                                                          const Variant&, const drive::Placers&,
                                                          std::optional<stock::ClassId> differential);

}  // namespace functions::wheels
