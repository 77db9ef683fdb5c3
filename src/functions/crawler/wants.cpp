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

/// Contact length, gauge and middle from the machine's support where the wants do not say them.
void resolve_ground(const brief::Function& fn, const brief::Brief& brief, Wants& wants,
                    document::Diagnostics& diagnostics) {
  const bool rolls =
      brief.support.type == brief::Support::Type::tracks || brief.support.type == brief::Support::Type::wheels;
  const drive::Footprint ground = rolls ? drive::footprint(brief.support) : drive::Footprint{};
  wants.middle_x_mm = (ground.low_x_mm + ground.high_x_mm) / 2;
  wants.contact_mm = wants.contact_length_mm.value_or(ground.high_x_mm - ground.low_x_mm);
  wants.tread_mm = wants.gauge_mm.value_or(ground.high_y_mm - ground.low_y_mm);
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
  static_cast<void>(drive::find_class(fn, brief, "sprocket", wants->sprocket, stock::Family::sprocket, own));
  static_cast<void>(drive::find_class(fn, brief, "wheel", wants->wheel, stock::Family::wheel, own));
  static_cast<void>(drive::find_class(fn, brief, "track_link", wants->track_link, stock::Family::track_link, own));
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
