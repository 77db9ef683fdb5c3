#include "functions/slew/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "document/fields.h"
#include "functions/drive/wants_reader.h"

namespace functions::slew {
namespace {

const document::FieldTable<Wants>& table() {
  using document::FieldTable;
  static const FieldTable<Wants> kTable = [] {
    FieldTable<Wants> t("slew");
    t.text("moves", &Wants::moves, {.doc = "id of the body that turns, one with a slew joint"}).required();
    // Optional numbers: exactly one of rpm and time_s is asked for, see read().
    t.number("rpm", &Wants::rpm, {.unit = "rpm", .low = 0.05, .high = 200, .doc = "speed of the turning body"});
    t.number("time_s", &Wants::time_s, {.unit = "s", .low = 0.2, .high = 600, .doc = "time to turn by angle_deg"});
    t.number("angle_deg", &Wants::angle_deg,
             {.unit = "deg", .low = 1, .high = 360, .doc = "angle that time_s is for", .default_text = "90"});
    t.number("load_g", &Wants::load_g,
             {.unit = "g", .low = 0, .high = 20000, .doc = "load hung from the boom", .default_text = "0"});
    t.number("radius_mm", &Wants::radius_mm,
             {.unit = "mm", .low = 0, .high = 3000, .doc = "of the load from the slewing axis", .default_text = "0"});
    t.number("load_height_mm", &Wants::load_height_mm,
             {.unit = "mm",
              .low = 0,
              .high = 3000,
              .doc = "of the load's rope head over the slewing joint",
              .default_text = "0"});
    t.number("slope_deg", &Wants::slope_deg,
             {.unit = "deg", .low = 0, .high = 45, .doc = "slope on which it must still turn", .default_text = "0"});
    t.integer("most_stages", &Wants::most_stages,
              {.low = 1,
               .high = 4,
               .doc = "most meshes between motor and ring, the one on the ring among them",
               .default_text = "2, and up to 4 when no shorter train meets every want"});
    t.boolean("hold", &Wants::hold,
              {.doc = "the load must not turn it back on that slope while the motor is off", .default_text = "true"});
    t.number(
        "start_s", &Wants::start_s,
        {.unit = "s", .low = 0.05, .high = 20, .doc = "time to come up to speed, and to stop", .default_text = "1"});
    t.number("sway_mm", &Wants::sway_mm,
             {.unit = "mm", .low = 0.5, .high = 1000, .doc = "greatest swing of the hanging load after a stop"});
    t.number("rope_mm", &Wants::rope_mm,
             {.unit = "mm", .low = 0, .high = 3000, .doc = "length the load hangs at", .default_text = "0"});
    t.number("push_n", &Wants::push_n,
             {.unit = "N",
              .low = 0,
              .high = 100,
              .doc = "sideways push at radius_mm that it must hold: wind, a knock",
              .default_text = "0"});
    t.text("ring", &Wants::ring, {.doc = "part class of the turntable; left out = any"});
    t.choice(
        "final", &Wants::final,
        {{"any", Final::any},
         {"outer", Final::outer},
         {"inner", Final::inner},
         {"bevel", Final::bevel},
         {"worm", Final::worm}},
        {.doc = "where the train ends: a pinion on the ring's outer or inner teeth, or a bevel pair or worm on the "
                "slewing axle",
         .default_text = "\"any\""});
    return t;
  }();
  return kTable;
}

using drive::Place;
using drive::place_of;

void resolve_body(const brief::Function& fn, const brief::Brief& brief, Wants& wants,
                  document::Diagnostics& diagnostics) {
  if (wants.moves.empty()) return;  // missing or of the wrong type: already reported
  const Place place = place_of(fn, "moves");
  std::vector<std::string> turning;
  for (std::size_t i = 0; i < brief.bodies.size(); ++i) {
    const brief::Body& body = brief.bodies[i];
    if (body.joint.type == brief::Joint::Type::slew) turning.push_back(body.id);
    if (body.id == wants.moves) wants.body = static_cast<int>(i);
  }
  const std::string choices =
      turning.empty() ? "give a body joint = { type = \"slew\", ... }" : "one of: " + base::list_text(turning, "or");
  if (wants.body < 0) {
    const std::optional<std::string> near = base::nearest_name(wants.moves, turning);
    diagnostics.error("slew.unknown_body", place.where, place.path,
                      fmt::format("there is no body {}", document::quoted(wants.moves)),
                      near ? fmt::format("\"{}\"", *near) : choices);
  } else if (brief.bodies[static_cast<std::size_t>(wants.body)].joint.type != brief::Joint::Type::slew) {
    diagnostics.error("slew.body_does_not_slew", place.where, place.path,
                      fmt::format("body {} has no slew joint", document::quoted(wants.moves)), choices);
  }
}

void resolve_speed(const brief::Function& fn, Wants& wants, document::Diagnostics& diagnostics) {
  const bool rpm = fn.wants.find("rpm") != nullptr, time = fn.wants.find("time_s") != nullptr;
  if (rpm == time) {
    const Place place = place_of(fn, rpm ? "rpm" : "");
    diagnostics.error("slew.speed", place.where, place.path,
                      rpm ? "rpm and time_s both ask for a speed" : "neither rpm nor time_s asks for a speed",
                      rpm ? "leave one of them out" : "rpm = 4, or time_s = 6 for angle_deg = 90");
    return;
  }
  if (!rpm && fn.wants.find("angle_deg") == nullptr) wants.angle_deg = 90;
  if (wants.rpm) wants.speed_rad_s = *wants.rpm * 2 * std::numbers::pi / 60;
  if (wants.time_s) wants.speed_rad_s = wants.angle_deg * std::numbers::pi / 180 / *wants.time_s;
}

}  // namespace

std::string_view name_of(Final final) {
  switch (final) {
    case Final::any:
      return "any";
    case Final::outer:
      return "outer";
    case Final::inner:
      return "inner";
    case Final::bevel:
      return "bevel";
    case Final::worm:
      return "worm";
  }
  return "";
}

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& fn, const brief::Brief& brief,
                                             document::Diagnostics& diagnostics) {
  document::Diagnostics own;
  auto wants = std::make_shared<Wants>();
  table().read(fn.wants, *wants, own);
  wants->slope_rad = wants->slope_deg * std::numbers::pi / 180;
  resolve_body(fn, brief, *wants, own);
  resolve_speed(fn, *wants, own);
  if (wants->load_g > 0 && wants->radius_mm <= 0 && !fn.wants.find("radius_mm")) {
    const Place place = place_of(fn, "load_g");
    own.error("slew.radius_mm", place.where, place.path, "a load is given but not the radius it hangs at",
              "radius_mm = 200");
  }
  if (wants->push_n > 0 && wants->radius_mm <= 0) {
    const Place place = place_of(fn, "push_n");
    own.error("slew.radius_mm", place.where, place.path, "a push is given but not the radius it acts at",
              "radius_mm = 200");
  }
  if (wants->sway_mm && wants->rope_mm <= 0) {
    const Place place = place_of(fn, "sway_mm");
    own.error("slew.rope_mm", place.where, place.path, "the swing depends on the length the load hangs at",
              "rope_mm = 150");
  }
  static_cast<void>(drive::find_class(fn, brief, "ring", wants->ring, stock::Family::ring, own));
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::slew
