#include "functions/frame/pinning.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>

#include "base/text.h"

namespace functions::frame {
namespace {

using structure::FixingHole;

struct Way {
  std::size_t axis;
  const char *key, *words;
};
constexpr std::array<Way, 3> kWays{
    {{1, "across", "side holes"}, {0, "along", "end holes"}, {2, "up", "holes above and below"}}};

bool goes(const FixingHole& hole, const Way& way) {
  return std::fabs(hole.axis.at(way.axis)) > 0.5;
}

std::vector<FixingHole> half_of(const std::vector<FixingHole>& holes, bool loaded) {
  std::vector<FixingHole> out;
  std::copy_if(holes.begin(), holes.end(), std::back_inserter(out),
               [&](const FixingHole& h) { return (h.at_mm[0] > 0) == loaded; });
  return out;
}

std::vector<FixingHole> those(const std::vector<FixingHole>& holes, const Way& way) {
  std::vector<FixingHole> out;
  std::copy_if(holes.begin(), holes.end(), std::back_inserter(out), [&](const FixingHole& h) { return goes(h, way); });
  return out;
}

}  // namespace

std::vector<Pinning> pinnings(const std::vector<FixingHole>& holes) {
  std::vector<Pinning> out;
  for (const Way& near : kWays) {
    const auto held = those(half_of(holes, false), near);
    if (!structure::hold_firmly(held)) continue;
    for (const Way& far : kWays) {
      const auto loaded = those(half_of(holes, true), far);
      if (!structure::hold_firmly(loaded)) continue;
      Pinning p;
      p.key = near.axis == 1 && far.axis == 1 ? "" : fmt::format("{}-{}", near.key, far.key);
      p.held = near.words;
      p.loaded = far.words;
      // In the order given, so that a body with one sort of holes is what it was told to be.
      std::copy_if(holes.begin(), holes.end(), std::back_inserter(p.holes),
                   [&](const FixingHole& h) { return goes(h, h.at_mm[0] > 0 ? far : near); });
      out.push_back(std::move(p));
    }
  }
  const bool all_taken =
      std::any_of(out.begin(), out.end(), [&](const Pinning& p) { return p.holes.size() == holes.size(); });
  if (!all_taken) out.push_back({"all", "all holes", "all holes", holes});
  return out;
}

std::string hole_list(const std::vector<FixingHole>& holes, bool loaded, double pitch_mm) {
  const auto half = half_of(holes, loaded);
  const auto same = [](double a, double b) { return std::fabs(a - b) < 1e-3; };
  std::string out;
  for (const Way& way : kWays) {
    const auto some = those(half, way);
    for (const FixingHole& h : some) {
      const bool pair = !same(h.at_mm[1], 0) && std::any_of(some.begin(), some.end(), [&](const FixingHole& other) {
        return same(other.at_mm[0], h.at_mm[0]) && same(other.at_mm[1], -h.at_mm[1]) &&
               same(other.at_mm[2], h.at_mm[2]);
      });
      if (pair && h.at_mm[1] < 0) continue;
      if (!out.empty()) out += "; ";
      out += fmt::format("{} at {} / {}{} / {}", way.key, base::plain(h.at_mm[0] / pitch_mm), pair ? "±" : "",
                         base::plain(h.at_mm[1] / pitch_mm), base::plain(h.at_mm[2] / pitch_mm));
    }
  }
  return out;
}

}  // namespace functions::frame
