#include "stock/part.h"

#include <algorithm>
#include <array>
#include <utility>

#include "base/check.h"

namespace stock {
namespace {

constexpr std::array<std::pair<Family, std::string_view>, 26> kFamilies{{
    {Family::gear, "gear"},
    {Family::ring, "ring"},
    {Family::rack, "rack"},
    {Family::differential, "differential"},
    {Family::axle, "axle"},
    {Family::joiner, "joiner"},
    {Family::bush, "bush"},
    {Family::beam, "beam"},
    {Family::frame, "frame"},
    {Family::plate, "plate"},
    {Family::connector, "connector"},
    {Family::pin, "pin"},
    {Family::bracket, "bracket"},
    {Family::motor, "motor"},
    {Family::hub, "hub"},
    {Family::cell, "cell"},
    {Family::cable, "cable"},
    {Family::actuator, "actuator"},
    {Family::wheel, "wheel"},
    {Family::sprocket, "sprocket"},
    {Family::track_link, "track_link"},
    {Family::drum, "drum"},
    {Family::rope, "rope"},
    {Family::hook, "hook"},
    {Family::panel, "panel"},
    {Family::trim, "trim"},
}};

}  // namespace

std::string_view name_of(Family family) {
  for (const auto& [value, name] : kFamilies) {
    if (value == family) return name;
  }
  KW_CHECK(false, "unknown family " + std::to_string(static_cast<int>(family)));
}

std::string_view name_of(Source source) {
  switch (source) {
    case Source::derived:
      return "derived";
    case Source::common_practice:
      return "common_practice";
    case Source::published:
      return "published";
    case Source::measured:
      return "measured";
    case Source::invented:
      return "invented";
  }
  KW_CHECK(false, "unknown source " + std::to_string(static_cast<int>(source)));
}

std::string_view name_of(HoleAxis axis) {
  switch (axis) {
    case HoleAxis::along:
      return "along";
    case HoleAxis::across:
      return "across";
    case HoleAxis::up:
      return "up";
  }
  KW_CHECK(false, "unknown axis " + std::to_string(static_cast<int>(axis)));
}

const std::vector<Family>& all_families() {
  static const std::vector<Family> all = [] {
    std::vector<Family> out;
    for (const auto& entry : kFamilies) out.push_back(entry.first);
    return out;
  }();
  return all;
}

std::optional<ClassId> Catalogue::find(std::string_view id) const {
  const auto it = std::find_if(classes.begin(), classes.end(), [&](const PartClass& c) { return c.id == id; });
  if (it == classes.end()) return std::nullopt;
  return ClassId{static_cast<int>(it - classes.begin())};
}

std::vector<ClassId> Catalogue::of(Family family) const {
  std::vector<ClassId> out;
  for (std::size_t i = 0; i < classes.size(); ++i) {
    if (classes[i].family == family) out.push_back(ClassId{static_cast<int>(i)});
  }
  return out;
}

}  // namespace stock
