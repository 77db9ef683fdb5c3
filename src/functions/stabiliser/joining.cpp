#include "functions/stabiliser/joining.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>

#include "base/text.h"
#include "functions/drive/drive.h"
#include "functions/stabiliser/site.h"

namespace functions::stabiliser {

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
  int nearest_p = 0;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::axle)) {
    const auto* axle = std::get_if<stock::Axle>(&brief.catalogue->at(id).data);
    if (axle == nullptr || !drive::allowed(function, id) || brief.stock->count_of(id) < drives) continue;
    if (nearest_p == 0 || std::abs(axle->length_p - wanted_p) < std::abs(nearest_p - wanted_p))
      nearest_p = axle->length_p;
  }
  if (nearest_p == wanted_p) {
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

}  // namespace functions::stabiliser
