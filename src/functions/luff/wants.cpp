#include "functions/luff/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "brief/body_tree.h"
#include "functions/drive/wants_reader.h"
#include "functions/luff/load_moment.h"

namespace functions::luff {
namespace {

using document::Diagnostics;
using document::FieldTable;
using document::Node;

constexpr double kRadPerDeg = std::numbers::pi / 180;

const FieldTable<Region>& region_fields() {
  static const FieldTable<Region> table = drive::mount_region_fields("luff.region");
  return table;
}

const FieldTable<Wants>& table() {
  static const FieldTable<Wants> built =
      FieldTable<Wants>("luff")
          .text("moves", &Wants::moves,
                {.doc = "Body that is raised and lowered; its joint must be a pitch joint and gives pivot and travel."})
          .required()
          .number("load_g", &Wants::load_g,
                  {.unit = "g",
                   .low = 0,
                   .high = 50000,
                   .doc = "Payload to be raised, besides the bodies' own masses.",
                   .default_text = "0"})
          .point3("load_at_mm", &Wants::load_at_mm,
                  {.unit = "mm",
                   .low = -5000,
                   .high = 5000,
                   .doc = "Where the payload acts, machine frame, zero pose.",
                   .default_text = "far end of the outermost body's envelope"})
          .text("load_on", &Wants::load_on,
                {.doc = "Body that carries the payload: the moved one or one that hangs on it.",
                 .default_text = "the outermost body"})
          .number("time_s", &Wants::time_s,
                  {.unit = "s",
                   .low = 0.1,
                   .high = 600,
                   .doc = "Longest time for the whole travel, in the slower direction.",
                   .default_text = "20"})
          .range("angle_deg", &Wants::angle_deg,
                 {.unit = "deg",
                  .low = -170,
                  .high = 170,
                  .doc = "Travel, when it differs from the joint's own; 0 = zero pose, positive raises the front.",
                  .default_text = "the joint's range"})
          .table("base_region_p", &Wants::base_region_p, region_fields(),
                 {.unit = "p",
                  .doc = "Where the actuator may be mounted on the parent, from the pivot, zero pose.",
                  .default_text = "{ x = [-8, 8], z = [-8, 0] }"})
          .table("rod_region_p", &Wants::rod_region_p, region_fields(),
                 {.unit = "p",
                  .doc = "Where it may be mounted on the moved body, from the pivot, boom horizontal.",
                  .default_text = "{ x = [1, 10], z = [-1, 1] }"})
          .number("min_lever_mm", &Wants::min_lever_mm,
                  {.unit = "mm",
                   .low = 0.5,
                   .high = 500,
                   .doc = "Least distance of the actuator's line from the pivot anywhere in the travel.",
                   .default_text = "10"})
          .number(
              "end_clearance_mm", &Wants::end_clearance_mm,
              {.unit = "mm",
               .low = 0,
               .high = 50,
               .doc = "Length kept free at both ends of the actuator's stroke, so that it never runs into its stop.",
               .default_text = "1"})
          .integer("max_actuators", &Wants::max_actuators,
                   {.low = 1, .high = 2, .doc = "Actuators side by side on one shaft.", .default_text = "1"})
          .integer("most_stages", &Wants::most_stages,
                   {.low = 0,
                    .high = 4,
                    .doc = "Most meshes between motor and actuator; every train up to it is searched.",
                    .default_text = "2, and up to 4 when no shorter train meets every want"})
          .boolean("hold", &Wants::hold, {.doc = "Must not sink when the motor is off.", .default_text = "true"});
  return built;
}

/// Reports at a key's value when it was written, else at the wants table.
class Reporter {
 public:
  Reporter(const brief::Function& function, Diagnostics& diagnostics)
      : function_(function), diagnostics_(diagnostics) {}
  void error(std::string_view key, std::string code, std::string message, std::string hint = {}) {
    const drive::Place place = drive::place_of(function_, key);
    diagnostics_.error(std::move(code), place.where, place.path, std::move(message), std::move(hint));
  }
  int find_body(const brief::Brief& brief, std::string_view key, const std::string& id) {
    return drive::find_body(function_, brief, key, id, diagnostics_);
  }

 private:
  const brief::Function& function_;
  Diagnostics& diagnostics_;
};

void resolve_load(const brief::Brief& brief, Wants& w, Reporter& report) {
  w.load_body =
      w.load_on.empty() ? brief::outermost_body(brief, w.body) : report.find_body(brief, "load_on", w.load_on);
  if (w.load_body < 0) return;
  if (!hangs_on(brief, w.load_body, w.body)) {
    report.error(
        "load_on", "luff.load_elsewhere",
        fmt::format("\"{}\" does not hang on \"{}\", so its load does not act on this pivot.", w.load_on, w.moves),
        "name the moved body or one that hangs on it, or leave load_on out");
    return;
  }
  if (w.load_at_given || w.load_g <= 0) return;
  const brief::Body& b = brief.bodies[static_cast<std::size_t>(w.load_body)];
  if (b.size_mm.x_mm <= 0) {
    report.error("load_g", "luff.load_point",
                 fmt::format("where the {} g act is not known: body \"{}\" has no size.", base::plain(w.load_g), b.id),
                 "give load_at_mm, or the size of that body");
    return;
  }
  const brief::Vec3 end_mm = brief::far_end_mm(b);
  w.load_at_mm = {end_mm.x_mm, end_mm.y_mm, end_mm.z_mm};
}

}  // namespace

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& function, const brief::Brief& brief,
                                             Diagnostics& diagnostics) {
  auto wants = std::make_shared<Wants>();
  Wants& w = *wants;
  Diagnostics own;
  table().read(function.wants, w, own);
  Reporter report(function, own);

  w.load_at_given = function.wants.find("load_at_mm") != nullptr;
  if (!w.moves.empty()) w.body = report.find_body(brief, "moves", w.moves);
  if (w.body >= 0) {
    const brief::Body& moved = brief.bodies[static_cast<std::size_t>(w.body)];
    w.parent = moved.parent;
    if (moved.joint.type != brief::Joint::Type::pitch || moved.parent < 0) {
      report.error("moves", "luff.joint", fmt::format("body \"{}\" does not turn about a pitch joint.", moved.id),
                   "give that body a pitch joint with a pivot and a range, or name another body");
    } else {
      const bool own_range = function.wants.find("angle_deg") != nullptr;
      w.low_rad = own_range ? w.angle_deg[0] * kRadPerDeg : moved.joint.low_rad;
      w.high_rad = own_range ? w.angle_deg[1] * kRadPerDeg : moved.joint.high_rad;
      const double span_deg = (w.high_rad - w.low_rad) / kRadPerDeg;
      if (!(span_deg >= 1)) {
        report.error(own_range ? "angle_deg" : "moves", "luff.angle_range",
                     fmt::format("the travel is {} deg; there is nothing to move below 1 deg.", base::plain(span_deg)),
                     "widen angle_deg or the joint's range");
      } else if (span_deg >= 180) {
        report.error(own_range ? "angle_deg" : "moves", "luff.angle_range",
                     fmt::format("the travel is {} deg; a screw actuator on a triangle turns less than 180 deg.",
                                 base::plain(span_deg)),
                     "narrow the travel, or use a geared arm");
      }
      resolve_load(brief, w, report);
    }
  }

  w.base_box = drive::box_of(w.base_region_p);
  w.rod_box = drive::box_of(w.rod_region_p);
  drive::check_mounts(function, w.base_box, w.rod_box, own);

  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::luff
