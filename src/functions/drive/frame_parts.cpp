#include "functions/drive/frame_parts.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include "base/check.h"

namespace functions::drive {
namespace {

using lattice::Cross;

/// Length of the beam that holds these holes; nothing when they do not lie in a row or no length is long enough.
std::optional<int> beam_length(std::span<const Cross> holes, std::span<const int> lengths_p) {
  const Cross a = holes.front();
  const bool along_u = std::all_of(holes.begin(), holes.end(), [&](Cross c) { return c.v_hp == a.v_hp; });
  const bool along_v = std::all_of(holes.begin(), holes.end(), [&](Cross c) { return c.u_hp == a.u_hp; });
  if (!along_u && !along_v) return std::nullopt;
  int low = INT32_MAX, high = INT32_MIN;
  for (const Cross c : holes) {
    const int at = along_u ? c.u_hp : c.v_hp;
    if ((at - (along_u ? a.u_hp : a.v_hp)) % 2 != 0) return std::nullopt;
    low = std::min(low, at);
    high = std::max(high, at);
  }
  const int wanted = std::max((high - low) / 2 + 1, static_cast<int>(holes.size()) + kPinsPerBeam);
  const auto found = std::lower_bound(lengths_p.begin(), lengths_p.end(), wanted);
  return found == lengths_p.end() ? std::nullopt : std::optional<int>(*found);
}

/// Least cover of one wall by dynamic programming over the sets of its holes.
std::vector<std::vector<Cross>> cover(const std::vector<Cross>& holes, std::span<const int> lengths_p) {
  constexpr std::size_t kMost = 12;  // more bearings than the longest train and its outputs can put in one wall
  KW_CHECK(holes.size() <= kMost, "more bearings in one wall than a layout has shafts");
  if (holes.size() == 1) return {holes};
  const std::size_t sets = std::size_t{1} << holes.size();
  std::array<Cross, kMost> room;
  const auto members = [&](std::size_t set) {
    std::size_t n = 0;
    for (std::size_t i = 0; i < holes.size(); ++i) {
      if ((set >> i & 1U) != 0) room[n++] = holes[i];
    }
    return std::span<const Cross>(room).first(n);
  };
  std::vector<std::optional<int>> length(sets);
  for (std::size_t s = 1; s < sets; ++s) length[s] = beam_length(members(s), lengths_p);
  struct Best {
    int beams = INT32_MAX, pitches = 0;
    std::size_t last = 0;
    [[nodiscard]] auto rank() const { return std::make_tuple(beams, pitches, last); }
  };
  std::vector<Best> best(sets);
  best[0] = {0, 0, 0};
  for (std::size_t s = 1; s < sets; ++s) {
    const std::size_t first = s & (~s + 1);  // whichever beam holds the first open hole
    for (std::size_t part = s; part != 0; part = (part - 1) & s) {
      if ((part & first) == 0 || (!length[part] && std::popcount(part) > 1)) continue;
      const Best& rest = best[s ^ part];
      if (rest.beams == INT32_MAX) continue;
      const Best here{rest.beams + 1, rest.pitches + length[part].value_or(lengths_p.back()), part};
      if (best[s].beams == INT32_MAX || here.rank() < best[s].rank()) best[s] = here;
    }
  }
  std::vector<std::vector<Cross>> out;
  for (std::size_t s = sets - 1; s != 0; s ^= best[s].last) {
    const std::span<const Cross> held = members(best[s].last);
    out.emplace_back(held.begin(), held.end());
  }
  return out;
}

}  // namespace

std::vector<BeamUse> beams_of(const routing::Layout& layout, std::span<const int> lengths_p) {
  std::vector<BeamUse> out;
  if (lengths_p.empty()) return out;
  std::map<std::pair<int, int>, std::set<Cross>> walls;  // by axis and place
  for (const routing::PlacedShaft& s : layout.shafts) {
    for (const int w : s.bearings_hp) walls[{lattice::index(s.axis), w}].insert(s.at);
  }
  for (const auto& [wall, holes] : walls) {
    for (std::vector<Cross>& held : cover({holes.begin(), holes.end()}, lengths_p)) {
      const int length_p = beam_length(held, lengths_p).value_or(lengths_p.back());
      out.push_back({lattice::kAxes[static_cast<std::size_t>(wall.first)], wall.second, length_p, std::move(held)});
    }
  }
  return out;
}

}  // namespace functions::drive
