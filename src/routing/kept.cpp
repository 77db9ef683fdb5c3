#include "routing/kept.h"

#include <algorithm>

#include <fmt/format.h>

namespace routing {
namespace {

/// Equal for layouts that are not distinct.
std::string mark_of(const Kit& kit, const Layout& l) {
  std::string out;
  for (const base::Rational& r : l.ratios) out += r.text() + " ";
  std::vector<int> wheels, axles;
  for (const PlacedWheel& w : l.wheels) wheels.push_back(w.wheel);
  for (const PlacedShaft& s : l.shafts) {
    const AxleStock& axle = kit.axles[static_cast<std::size_t>(s.axle)];
    if (axle.joined()) {
      axles.insert(axles.end(), {axle.low_part, axle.high_part});
    } else {
      axles.push_back(s.axle);
    }
  }
  std::sort(wheels.begin(), wheels.end());
  std::sort(axles.begin(), axles.end());
  const Box3& e = l.envelope;
  return out + fmt::format("{}|{}|{} {} {}", fmt::join(wheels, ","), fmt::join(axles, ","), e.high.x_hp - e.low.x_hp,
                           e.high.y_hp - e.low.y_hp, e.high.z_hp - e.low.z_hp);
}

}  // namespace

void Kept::add(Layout&& layout) {
  const std::string mark = mark_of(problem_.kit, layout);
  const CostAndKey place{layout.cost, key_of(problem_, layout)};
  const auto it = marks_.find(mark);
  if (it != marks_.end()) {
    if (it->second <= place) return;
    by_cost_.erase(it->second);
    it->second = place;
  } else {
    marks_.emplace(mark, place);
  }
  by_cost_.emplace(place, std::pair(mark, std::move(layout)));
  while (by_cost_.size() > most_) {
    const auto last = std::prev(by_cost_.end());
    marks_.erase(last->second.first);
    by_cost_.erase(last);
  }
}

std::vector<Layout> Kept::take() {
  std::vector<Layout> out;
  for (auto& [place, entry] : by_cost_) out.push_back(std::move(entry.second));
  return out;
}

}  // namespace routing
