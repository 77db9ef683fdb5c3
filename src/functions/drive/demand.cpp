#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "functions/drive/drive.h"

#include <fmt/format.h>

namespace functions::drive {
namespace {

// Without a layout the parts round a train are counted by rule (common practice, no source): an axle carries its gears
// (one pitch each) between two bearings (one pitch each) and may be up to three pitches longer; one bush a shaft keeps
// it in place, one more holds the input; a motor hangs on four pins, a pair of bearing beams on four more.
constexpr int kBearings_p = 2;
constexpr int kAxleSlack_p = 3;
constexpr int kPinsPerMotor = 4;
constexpr int kPinsPerFrame = 4;
constexpr int kFrameBeams = 2;
constexpr int kFrameBeamShortest_p = 5;
constexpr int kFrameBeamLongest_p = 9;

std::vector<stock::ClassId> axles_of(const stock::Catalogue& catalogue, int shortest_p, int longest_p) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : catalogue.of(stock::Family::axle)) {
    const auto* axle = std::get_if<stock::Axle>(&catalogue.at(id).data);
    if (axle && axle->length_p >= shortest_p && axle->length_p <= longest_p) out.push_back(id);
  }
  return out;
}

std::vector<stock::ClassId> beams_of(const stock::Catalogue& catalogue, int shortest_p, int longest_p) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : catalogue.of(stock::Family::beam)) {
    const auto* beam = std::get_if<stock::Beam>(&catalogue.at(id).data);
    if (beam && beam->width_p == 1 && beam->length_p >= shortest_p && beam->length_p <= longest_p) out.push_back(id);
  }
  return out;
}

}  // namespace

void add_need(candidate::Demand& demand, std::vector<stock::ClassId> accepts, int count, std::string label,
              std::string role) {
  if (accepts.empty() || count <= 0) return;
  std::sort(accepts.begin(), accepts.end());
  accepts.erase(std::unique(accepts.begin(), accepts.end()), accepts.end());
  for (candidate::Need& need : demand.needs) {
    if (need.accepts == accepts) {
      need.count += count;
      if (need.role.find(role) == std::string::npos) need.role += ", " + role;
      return;
    }
  }
  demand.needs.push_back({std::move(accepts), count, std::move(label), std::move(role)});
}

candidate::Demand demand_of(const Powertrain& p, const brief::Brief& brief, const brief::Function& function,
                            const OutputShaft& output) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  const int sides = function.sides;
  candidate::Demand demand;
  add_need(demand, {p.motor}, p.motors * sides, catalogue.at(p.motor).name, "motor");
  for (const gearing::GearUse& use : p.train.needs(sides)) {
    add_need(demand, {use.part}, use.count, catalogue.at(use.part).name, "train");
  }
  const int stages = static_cast<int>(p.train.stages.size());
  for (int shaft = 0; shaft <= stages; ++shaft) {
    const bool last = shaft == stages;
    if (last && (!output.own_axle || p.train.ends_on_ring())) continue;
    const int on_it = (shaft > 0 ? 1 : 0) + (last ? 0 : 1);
    const int shortest_p = on_it + kBearings_p + (last ? output.extra_length_p : 0);
    std::vector<stock::ClassId> fitting = axles_of(catalogue, shortest_p, shortest_p + kAxleSlack_p);
    // A kit system with a gap in its lengths: the shortest axle that is long enough.
    for (int longer_p = shortest_p + kAxleSlack_p + 1; fitting.empty() && longer_p <= 64; ++longer_p) {
      fitting = axles_of(catalogue, shortest_p, longer_p);
    }
    add_need(demand, std::move(fitting), sides,
             fmt::format("axle, length {} to {}", shortest_p, shortest_p + kAxleSlack_p),
             last         ? "output shaft"
             : shaft == 0 ? "motor shaft"
                          : "intermediate shaft");
  }
  add_need(demand, catalogue.of(stock::Family::bush), (stages + 2) * sides, "bush", "shafts");
  int pins = kPinsPerMotor * p.motors * sides;
  if (stages > 0) {
    add_need(demand, beams_of(catalogue, kFrameBeamShortest_p, kFrameBeamLongest_p), kFrameBeams * sides,
             fmt::format("beam, length {} to {}", kFrameBeamShortest_p, kFrameBeamLongest_p), "bearings");
    pins += kPinsPerFrame * sides;
  }
  add_need(demand, catalogue.of(stock::Family::pin), pins, "pin", "fixing");
  demand.ports = p.motors * sides;
  demand.channels = 1;
  return demand;
}

std::string key_of(const Powertrain& p, const stock::Catalogue& catalogue) {
  return fmt::format("{} x{}|{}", catalogue.at(p.motor).id, p.motors, p.train.key(catalogue));
}

std::string title_of(const Powertrain& p, const stock::Catalogue& catalogue) {
  std::string text =
      p.motors > 1 ? fmt::format("{} x {}", p.motors, catalogue.at(p.motor).name) : catalogue.at(p.motor).name;
  if (p.train.stages.empty()) return text + ", direct";
  return fmt::format("{}, {} ({}:1)", text, p.train.text(), base::plain(p.train.reduction()));
}

bool allowed(const brief::Function& function, stock::ClassId id) {
  return std::find(function.must_not_use.begin(), function.must_not_use.end(), id) == function.must_not_use.end();
}

bool uses_all_wanted(const brief::Function& function, const candidate::Demand& demand) {
  return std::all_of(function.must_use.begin(), function.must_use.end(), [&](stock::ClassId wanted) {
    return std::any_of(demand.needs.begin(), demand.needs.end(), [&](const candidate::Need& need) {
      return std::find(need.accepts.begin(), need.accepts.end(), wanted) != need.accepts.end();
    });
  });
}

}  // namespace functions::drive
