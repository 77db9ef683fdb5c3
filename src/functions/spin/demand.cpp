#include "functions/spin/demand.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"

namespace functions::spin {
namespace {

// Counted by the rule of functions/drive (common practice, no source): an axle carries its gears, one pitch each,
// between two bearings of a pitch each and may be three pitches longer; a bush a shaft and one more; a motor hangs on
// four pins, a pair of bearing beams for every group of shafts on four more.
constexpr int kAxleSlack_p = 3;
constexpr int kMostAxle_p = 64;
constexpr int kPins = 4;
constexpr int kFrameBeams = 2;
constexpr int kFrameBeamShortest_p = 5, kFrameBeamLongest_p = 9;
/// What turns on an output's axle takes this much of it.
constexpr int kOutputLength_p = 1;

void add_axle(candidate::Demand& demand, const stock::Catalogue& catalogue, int length_p, int count,
              const std::string& role) {
  AxleChoice axles = axles_for(catalogue, length_p);
  drive::add_need(demand, std::move(axles.accepts), count,
                  fmt::format("axle, length {} to {}", length_p, axles.longest_p), role);
}

std::string own_key(const Layout& layout, std::size_t output, const stock::Catalogue& catalogue) {
  gearing::Train own = layout.path[output];
  if (!layout.by_shared[output]) return own.key(catalogue);
  // The shared stage's driven wheel may be an idler: then it drives the next one itself.
  const bool idler = own.over_idler(1);
  own.stages.erase(own.stages.begin());
  std::erase(own.idlers, std::size_t{1});
  for (std::size_t& stage : own.idlers) --stage;
  return (idler ? "itself > " : "") + own.key(catalogue);
}

}  // namespace

AxleChoice axles_for(const stock::Catalogue& catalogue, int length_p) {
  const auto between = [&](int low_p, int high_p) {
    std::vector<stock::ClassId> out;
    for (const stock::ClassId id : catalogue.of(stock::Family::axle)) {
      const auto* axle = std::get_if<stock::Axle>(&catalogue.at(id).data);
      if (axle != nullptr && axle->length_p >= low_p && axle->length_p <= high_p) out.push_back(id);
    }
    return out;
  };
  int longest_p = length_p + kAxleSlack_p;
  std::vector<stock::ClassId> fitting = between(length_p, longest_p);
  while (fitting.empty() && longest_p < kMostAxle_p) fitting = between(length_p, ++longest_p);
  return {std::move(fitting), longest_p};
}

int shaft_length_p(int gears, bool output) {
  constexpr int kBearings_p = 2;
  return gears + kBearings_p + (output ? kOutputLength_p : 0);
}

void add_carried(candidate::Demand& demand, const Wants& wants, const brief::Brief& brief, const brief::Function& fn) {
  for (const Output& output : wants.outputs) {
    if (output.carries.empty()) continue;
    const stock::ClassId id = *brief.catalogue->find(output.carries);
    drive::add_need(demand, {id}, fn.sides, brief.catalogue->at(id).name, output.name);
  }
}

candidate::Demand demand_of(const Layout& layout, const Wants& wants, const brief::Brief& brief,
                            const brief::Function& fn) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  candidate::Demand demand;
  drive::add_need(demand, {layout.motor}, fn.sides, catalogue.at(layout.motor).name, "motor");
  const auto add_gears = [&](const gearing::Stage& stage, const std::string& role) {
    for (const stock::ClassId id : {stage.driver, stage.driven})
      drive::add_need(demand, {id}, fn.sides, catalogue.at(id).name, role);
  };
  int on_motor = 0, on_shared = 0, outputs_on_motor = 0, outputs_on_shared = 0, inner = 0, outer = 0, groups = 0;
  if (layout.shared) {
    add_gears(*layout.shared, "shared stage");
    ++on_motor;
    ++on_shared;
    ++groups;
  }
  for (std::size_t i = 0; i < layout.path.size(); ++i) {
    const Output& output = wants.outputs[i];
    const int own = layout.own_stages(i);
    if (own == 0) {
      ++(layout.by_shared[i] ? outputs_on_shared : outputs_on_motor);
    } else {
      ++(layout.by_shared[i] ? on_shared : on_motor);
      inner += own - 1;
      ++outer;
      ++groups;
      const auto first = static_cast<std::ptrdiff_t>(layout.by_shared[i] ? 1 : 0);
      for (auto s = layout.path[i].stages.begin() + first; s != layout.path[i].stages.end(); ++s)
        add_gears(*s, "train to " + output.name);
    }
  }
  add_carried(demand, wants, brief, fn);
  const int s = fn.sides;
  add_axle(demand, catalogue, shaft_length_p(on_motor, outputs_on_motor > 0), s, "motor shaft");
  if (layout.shared) add_axle(demand, catalogue, shaft_length_p(on_shared, outputs_on_shared > 0), s, "shared shaft");
  add_axle(demand, catalogue, shaft_length_p(2, false), inner * s, "intermediate shaft");
  add_axle(demand, catalogue, shaft_length_p(1, true), outer * s, "output shaft");
  const int shafts = 1 + (layout.shared ? 1 : 0) + inner + outer;
  drive::add_need(demand, catalogue.of(stock::Family::bush), (shafts + 1) * s, "bush", "shafts");
  std::vector<stock::ClassId> beams;
  for (const stock::ClassId id : catalogue.of(stock::Family::beam)) {
    const auto* beam = std::get_if<stock::Beam>(&catalogue.at(id).data);
    if (beam != nullptr && beam->width_p == 1 && beam->length_p >= kFrameBeamShortest_p &&
        beam->length_p <= kFrameBeamLongest_p)
      beams.push_back(id);
  }
  drive::add_need(demand, std::move(beams), kFrameBeams * groups * s,
                  fmt::format("beam, length {} to {}", kFrameBeamShortest_p, kFrameBeamLongest_p), "bearings");
  drive::add_need(demand, catalogue.of(stock::Family::pin), kPins * (1 + groups) * s, "pin", "fixing");
  demand.ports = s;
  demand.channels = 1;
  return demand;
}

std::string key_of(const Layout& layout, const Wants& wants, const stock::Catalogue& catalogue) {
  std::vector<std::string> ways;
  const gearing::Train first{layout.shared ? std::vector{*layout.shared} : std::vector<gearing::Stage>{}};
  for (std::size_t i = 0; i < layout.path.size(); ++i)
    ways.push_back(
        fmt::format("{} {}{}", wants.outputs[i].name, layout.by_shared[i] ? "> " : "", own_key(layout, i, catalogue)));
  return fmt::format("{}|{}|{}", catalogue.at(layout.motor).id, layout.shared ? first.key(catalogue) : "none shared",
                     fmt::join(ways, "|"));
}

std::string title_of(const Layout& layout, const Wants& wants, const stock::Catalogue& catalogue) {
  std::vector<std::string> ways;
  for (std::size_t i = 0; i < layout.path.size(); ++i)
    ways.push_back(fmt::format("{} by {}", wants.outputs[i].name, layout.path[i].text()));
  std::string text = fmt::format("{}: {}", catalogue.at(layout.motor).name, base::list_text(ways));
  if (layout.shared)
    text += fmt::format(", first stage {}:{} shared", layout.shared->driver_teeth, layout.shared->driven_teeth);
  return text;
}

}  // namespace functions::spin
