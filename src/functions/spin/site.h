// Where an ornamental drive stands and where its outputs may come out.
#pragma once

#include <memory>

#include "functions/drive/site.h"
#include "functions/spin/wants.h"

namespace functions::spin {

/// Most outputs whose drive is placed in space; with more it stays on paper and says so.
inline constexpr std::size_t kMostPlaced = routing::kMostOutputs;

/// The way to the first output alone, and all outputs together.
struct Sites {
  std::shared_ptr<const drive::Site> first, all;
  std::vector<bool> fixed;  ///< outputs whose line the user gave
};
/// The first output has a few places on the upper, left and front face of the room; of the others only the axis and
/// what sits there is told, their line follows from the drive. Senses as wanted; windows are the drive's.
[[nodiscard]] Sites sites_for(const Wants&, const brief::Brief&, const brief::Function&);

}  // namespace functions::spin
