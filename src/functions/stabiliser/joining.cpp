#include "functions/stabiliser/joining.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <map>
#include <numbers>

#include "base/text.h"
#include "functions/drive/drive.h"
#include "functions/drive/route_kit.h"
#include "functions/stabiliser/site.h"

namespace functions::stabiliser {
namespace {

/// Whether two axles in a joiner make the length, as routing joins them.
bool two_make(const std::map<int, int>& in_stock, int wanted_p, int drives, const brief::Brief& brief,
              const brief::Function& function) {
  int joiners = 0;
  for (const stock::ClassId id : drive::joiners_of(brief, function, drive::joiner_slots(brief, function)))
    joiners += brief.stock->count_of(id);
  return joiners >= drives && std::any_of(in_stock.begin(), in_stock.end(), [&](const auto& one) {
           const auto other = in_stock.find(wanted_p - one.first);
           if (other == in_stock.end()) return false;
           return other->first == one.first ? one.second >= 2 * drives : std::min(one.second, other->second) >= drives;
         });
}

}  // namespace

brief::Function per_drive(const brief::Function& function, int drives) {
  brief::Function out = function;
  out.sides = drives;
  return out;
}

std::vector<int> ways_to_join(const Wants& w, const Leg& leg, const brief::Brief& brief,
                              const brief::Function& function, candidate::RejectionLog& log) {
  std::vector<int> out;
  if (w.legs_per_motor != 2) out.push_back(1);
  const bool mirrored_pair = function.sides == 2 && w.swing == Swing::lengthways;
  if (w.legs_per_motor == 1 || !can_join(w) || mirrored_pair) return out;
  const int wanted_p = cross_shaft_p(w, leg), drives = w.legs / 2;
  std::map<int, int> in_stock;  // pieces by length
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::axle)) {
    const auto* axle = std::get_if<stock::Axle>(&brief.catalogue->at(id).data);
    if (axle == nullptr || !drive::allowed(function, id) || brief.stock->count_of(id) == 0) continue;
    in_stock[axle->length_p] += brief.stock->count_of(id);
  }
  int nearest_p = 0;
  for (const auto& [length_p, pieces] : in_stock) {
    if (pieces < drives) continue;
    if (nearest_p == 0 || std::abs(length_p - wanted_p) < std::abs(nearest_p - wanted_p)) nearest_p = length_p;
  }
  if (nearest_p == wanted_p || two_make(in_stock, wanted_p, drives, brief, function)) {
    out.push_back(2);
    return out;
  }
  log.add("stabiliser.cross_shaft", std::abs(nearest_p - wanted_p), "p", [&] {
    return fmt::format("a cross shaft between these legs is an axle of {} p; the nearest the stock has {} of is {} p",
                       wanted_p, drives == 1 ? "one" : "two", nearest_p);
  });
  return out;
}

bool tells_fall(const Stance& stance, candidate::RejectionLog& log) {
  if (stance.stands) return false;
  const double outside_mm = std::max(-stance.feet.margin_mm, 1e-3);
  log.add("stabiliser.falls", outside_mm, "mm", [&] {
    return fmt::format("the centre of gravity, at ({}, {}) mm, is {} mm outside what the machine would stand on",
                       base::plain(stance.centre_mm.x_mm, 3), base::plain(stance.centre_mm.y_mm, 3),
                       base::plain(outside_mm, 3));
  });
  return true;
}

void add_stance(const Stance& s, candidate::Candidate& c) {
  constexpr double kDegPerRad = 180 / std::numbers::pi;
  const auto add = [&](const char* name, double value, const char* unit) { c.figures.push_back({name, value, unit}); };
  add("area covered, wheels", s.wheels.area_mm2 / 100, "cm2");
  add("area covered, feet", s.feet.area_mm2 / 100, "cm2");
  add("stability margin, wheels", s.wheels.margin_mm, "mm");
  add("stability margin, feet", s.feet.margin_mm, "mm");
  add("tipping angle, wheels", s.wheels.tipping_rad * kDegPerRad, "deg");
  add("tipping angle, feet", s.feet.tipping_rad * kDegPerRad, "deg");
}

}  // namespace functions::stabiliser
