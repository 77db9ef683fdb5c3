#include "functions/crawler/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <numbers>

#include "base/text.h"
#include "document/fields.h"
#include "functions/drive/wants_reader.h"

namespace functions::crawler {
namespace {

const document::FieldTable<Wants>& table() {
  using document::FieldTable;
  static const FieldTable<Wants> kTable =
      FieldTable<Wants>("crawler")
          .choice("running", &Wants::running, {{"tracks", Running::tracks}, {"wheels", Running::wheels}},
                  {.doc = "what runs on the ground", .default_text = "\"tracks\""})
          .number("speed_mm_s", &Wants::speed_mm_s,
                  {.unit = "mm/s", .low = 1, .high = 5000, .doc = "least speed on a level floor"})
          .required()
          .number("slope_deg", &Wants::slope_deg,
                  {.unit = "deg", .low = 0, .high = 60, .doc = "slope to climb straight up", .default_text = "10"})
          .number("step_mm", &Wants::step_mm,
                  {.unit = "mm", .low = 0.5, .high = 500, .doc = "height of a step to climb; left out = none"})
          .integer("motors_per_side", &Wants::motors_per_side,
                   {.low = 1, .high = 2, .doc = "most motors on one side", .default_text = "1"})
          .integer("most_stages", &Wants::most_stages,
                   {.low = 1,
                    .high = 4,
                    .doc = "most meshes between motor and sprocket or wheel",
                    .default_text = "2, and up to 4 when no shorter train meets every want"})
          .boolean("turns_on_spot", &Wants::turns_on_spot,
                   {.doc = "steers by driving the sides against each other", .default_text = "true"})
          .number("contact_length_mm", &Wants::contact_length_mm,
                  {.unit = "mm", .low = 8, .high = 2000, .doc = "first to last point on the ground, or the wheelbase"})
          .number("gauge_mm", &Wants::gauge_mm,
                  {.unit = "mm", .low = 8, .high = 2000, .doc = "between the middles of left and right track"})
          .number(
              "end_raise_mm", &Wants::end_raise_mm,
              {.unit = "mm", .low = 0, .high = 200, .doc = "tracks: end wheels above the ground", .default_text = "0"})
          .number("end_reach_mm", &Wants::end_reach_mm,
                  {.unit = "mm",
                   .low = 0,
                   .high = 300,
                   .doc = "tracks: end wheels' centres beyond the ground contact",
                   .default_text = "0"})
          .integer("sprockets_per_side", &Wants::sprockets_per_side,
                   {.low = 1, .high = 4, .doc = "driven and idling end wheels of the same class", .default_text = "2"})
          .integer("wheels_per_side", &Wants::wheels_per_side,
                   {.low = 2, .high = 6, .doc = "equal wheels of one side", .default_text = "2"})
          .text("sprocket", &Wants::sprocket, {.doc = "part class of the sprocket; left out = any"})
          .text("wheel", &Wants::wheel, {.doc = "part class of the wheel; left out = any"})
          .text("track_link", &Wants::track_link, {.doc = "part class of the track link; left out = any"});
  return kTable;
}

using drive::Place;
using drive::place_of;

/// A class id that must be of a family; empty is fine.
void check_class(const brief::Function& fn, const brief::Brief& brief, std::string_view key, const std::string& id,
                 stock::Family family, document::Diagnostics& diagnostics) {
  if (id.empty()) return;
  const std::optional<stock::ClassId> found = brief.catalogue->find(id);
  if (found && brief.catalogue->at(*found).family == family) return;
  std::vector<std::string> known;
  for (const stock::ClassId c : brief.catalogue->of(family)) known.push_back(brief.catalogue->at(c).id);
  const std::optional<std::string> near = base::nearest_name(id, known);
  const Place place = place_of(fn, key);
  diagnostics.error(
      "crawler.unknown_part", place.where, place.path,
      fmt::format("{} is not a {} of kit system {}", document::quoted(id), stock::name_of(family), brief.system().id),
      near ? fmt::format("\"{}\"", *near)
           : (known.empty() ? "this kit system has none" : "one of: " + base::list_text(known, "or")));
}

/// Contact length, gauge and middle from the machine's support where the wants do not say them.
void resolve_ground(const brief::Function& fn, const brief::Brief& brief, Wants& wants,
                    document::Diagnostics& diagnostics) {
  const bool rolls =
      brief.support.type == brief::Support::Type::tracks || brief.support.type == brief::Support::Type::wheels;
  double low_x = 0, high_x = 0, low_y = 0, high_y = 0;
  if (rolls && !brief.support.points_mm.empty()) {
    const auto& p = brief.support.points_mm;
    const auto by_x = [](const brief::Vec3& a, const brief::Vec3& b) { return a.x_mm < b.x_mm; };
    const auto by_y = [](const brief::Vec3& a, const brief::Vec3& b) { return a.y_mm < b.y_mm; };
    low_x = std::min_element(p.begin(), p.end(), by_x)->x_mm;
    high_x = std::max_element(p.begin(), p.end(), by_x)->x_mm;
    low_y = std::min_element(p.begin(), p.end(), by_y)->y_mm;
    high_y = std::max_element(p.begin(), p.end(), by_y)->y_mm;
  }
  wants.middle_x_mm = (low_x + high_x) / 2;
  wants.contact_mm = wants.contact_length_mm.value_or(high_x - low_x);
  wants.tread_mm = wants.gauge_mm.value_or(high_y - low_y);
  const auto missing = [&](std::string_view key, std::string_view what) {
    const Place place = place_of(fn, key);
    diagnostics.error(fmt::format("crawler.{}", key), place.where, place.path,
                      fmt::format("the {} is not known: the machine's support has no {} on the ground", what, what),
                      fmt::format("{} = 160, or support points of type \"tracks\" or \"wheels\"", key));
  };
  if (wants.contact_mm <= 0) missing("contact_length_mm", "length");
  if (wants.tread_mm <= 0) missing("gauge_mm", "gauge");
}

}  // namespace

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& fn, const brief::Brief& brief,
                                             document::Diagnostics& diagnostics) {
  document::Diagnostics own;
  auto wants = std::make_shared<Wants>();
  table().read(fn.wants, *wants, own);
  wants->slope_rad = wants->slope_deg * std::numbers::pi / 180;
  check_class(fn, brief, "sprocket", wants->sprocket, stock::Family::sprocket, own);
  check_class(fn, brief, "wheel", wants->wheel, stock::Family::wheel, own);
  check_class(fn, brief, "track_link", wants->track_link, stock::Family::track_link, own);
  if (!own.has_errors()) resolve_ground(fn, brief, *wants, own);
  if (wants->tracked()) {
    if (fn.wants.find("wheel") || fn.wants.find("wheels_per_side")) {
      const Place place = place_of(fn, fn.wants.find("wheel") ? "wheel" : "wheels_per_side");
      own.error("crawler.wheels_on_tracks", place.where, place.path, "tracks have sprockets, not wheels",
                "running = \"wheels\", or sprocket = ...");
    }
  } else {
    for (const std::string_view key : {"sprocket", "track_link", "end_raise_mm", "end_reach_mm"}) {
      if (!fn.wants.find(key)) continue;
      const Place place = place_of(fn, key);
      own.error("crawler.tracks_on_wheels", place.where, place.path,
                fmt::format("{} belongs to tracks, but running = \"wheels\"", key), "running = \"tracks\"");
    }
    if (!own.has_errors() && wants->wheels_per_side < wants->motors_per_side) {
      const Place place = place_of(fn, "motors_per_side");
      own.error("crawler.motors_per_side", place.where, place.path, "each motor of a side drives a wheel of its own",
                fmt::format("wheels_per_side = {}", wants->motors_per_side));
    }
  }
  if (fn.sides != 2) {
    const bool asked = fn.wants.find("turns_on_spot") != nullptr && wants->turns_on_spot;
    const Place place = place_of(fn, asked ? "turns_on_spot" : "");
    if (asked) {
      own.error("crawler.one_side", place.where, place.path,
                "turning on the spot needs both sides, but this function has one",
                "sides = 2, or turns_on_spot = false");
    } else {
      own.warning("crawler.one_side", place.where, place.path,
                  "this crawler has one side only, so it carries the whole weight and cannot steer", "sides = 2");
    }
    wants->turns_on_spot = false;
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::crawler
