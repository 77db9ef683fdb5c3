#include "trial/feet.h"

#include <fmt/format.h>

#include <cmath>
#include <vector>

#include "trial/body_text.h"

namespace trial {
namespace {

using balance::SupportState;
using balance::Vec3;

constexpr double kM = 1e-3;
constexpr double kFoot_kg = 1e-3, kPad_mm = 2;
/// Weightless: contacts of the engine give in proportion to how lightly what they touch moves.
constexpr double kFootInertia_kg = 0.3;

std::string foot(int& number, balance::Point2 p, Vec3 from, double stiffness_n_per_mm, double proud_mm) {
  const Vec3 place = Vec3{p.x_mm, p.y_mm, 0} - from;
  const double k = stiffness_n_per_mm * 1e3;
  // Critically damped against a quarter of a kilogram.
  return fmt::format(
      "<body pos=\"{}\"><joint type=\"slide\" axis=\"0 0 1\" stiffness=\"{:.9g}\" damping=\"{:.9g}\" armature=\"{}\"/>"
      "<inertial pos=\"0 0 0\" mass=\"{}\" diaginertia=\"1e-7 1e-7 1e-7\"/>"
      "<geom name=\"foot{}\" type=\"sphere\" pos=\"0 0 {:.9g}\" size=\"{}\" friction=\"1 0 0\"/></body>\n",
      place_text(place), k, 2 * std::sqrt(0.25 * k), kFootInertia_kg, kFoot_kg, number++, (kPad_mm - proud_mm) * kM,
      kPad_mm * kM);
}

/// Supports and the beams they hang on, nested.
class Undercarriage {
 public:
  explicit Undercarriage(const SupportState& state) : state_(state) {}
  std::string description() {
    std::vector<char> held(state_.supports.size() + state_.rockers.size(), 0);
    for (const balance::Rocker& r : state_.rockers)
      for (const int end : {r.a, r.b}) held[static_cast<std::size_t>(end)] = 1;
    std::string out;
    for (std::size_t end = 0; end < held.size(); ++end)
      if (held[end] == 0) out += end_at(static_cast<int>(end), {});
    return out;
  }

 private:
  [[nodiscard]] int supports() const { return static_cast<int>(state_.supports.size()); }
  [[nodiscard]] Vec3 middle(int end) const {
    if (end >= supports()) return state_.rockers[static_cast<std::size_t>(end - supports())].pivot;
    const balance::Support& s = state_.supports[static_cast<std::size_t>(end)];
    return {(s.from.x_mm + s.to.x_mm) / 2, (s.from.y_mm + s.to.y_mm) / 2, 0};
  }
  std::string end_at(int end, Vec3 from) {
    if (end >= supports()) return beam(state_.rockers[static_cast<std::size_t>(end - supports())], from);
    const balance::Support& s = state_.supports[static_cast<std::size_t>(end)];
    if (!s.is_line()) return foot(feet_, s.from, from, s.stiffness_n_per_mm, s.proud_mm);
    // A rigid line tips about its ends, which then carry everything; how its middle gives does not matter.
    std::string out;
    for (const balance::Point2& end_point : {s.from, s.to})
      out += foot(feet_, end_point, from, s.stiffness_n_per_mm / 2, s.proud_mm);
    return out;
  }
  std::string beam(const balance::Rocker& r, Vec3 from) {
    Vec3 along = middle(r.b) - middle(r.a);
    if (r.a == r.b) {
      const balance::Support& s = state_.supports[static_cast<std::size_t>(r.a)];
      along = {s.to.x_mm - s.from.x_mm, s.to.y_mm - s.from.y_mm, 0};
    }
    std::string out = fmt::format(
        "<body pos=\"{}\"><joint axis=\"{:.9g} {:.9g} 0\" damping=\"1e-2\" armature=\"1e-3\"/>"
        "<inertial pos=\"0 0 0\" mass=\"{}\" diaginertia=\"1e-6 1e-6 1e-6\"/>\n",
        place_text(r.pivot - from), -along.y_mm, along.x_mm, kFoot_kg);
    out += end_at(r.a, r.pivot);
    if (r.b != r.a) out += end_at(r.b, r.pivot);
    return out + "</body>\n";
  }

  const SupportState& state_;
  int feet_ = 0;
};

}  // namespace

std::string feet_description(const SupportState& state) {
  return Undercarriage(state).description();
}

}  // namespace trial
