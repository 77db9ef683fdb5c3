// Which of its holes a load-bearing body is pinned at: every choice of a pin's way for the half that is held and for
// the half that carries that keeps both from turning, then all holes together.
#pragma once

#include <string>
#include <vector>

#include "functions/frame/wants.h"

namespace functions::frame {

struct Pinning {
  std::string key;           ///< "" = across in both halves
  std::string held, loaded;  ///< which holes, in plain words
  std::vector<structure::FixingHole> holes;
};

/// Never empty for holes that read() let pass; the order is across, along, up, first for the held half. Holes of one
/// way only give one pinning.
[[nodiscard]] std::vector<Pinning> pinnings(const std::vector<structure::FixingHole>& holes);

/// The holes of one half by name, in pitches from the middle of the body; mirrored pairs as one.
[[nodiscard]] std::string hole_list(const std::vector<structure::FixingHole>& holes, bool loaded, double pitch_mm);

}  // namespace functions::frame
