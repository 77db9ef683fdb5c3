#include "functions/luff/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "brief/body_tree.h"
#include "functions/drive/screw_drive.h"
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

const FieldTable<BeamWants>& beam_fields() {
  static const FieldTable<BeamWants> table =
      FieldTable<BeamWants>("luff.beams")
          .integer("length_p", &BeamWants::length_p,
                   {.unit = "p",
                    .low = 2,
                    .high = 80,
                    .doc = "From the pivot to the tip; a row has one hole more.",
                    .default_text = "to the pivot of the next stage, else to the end of the body"})
          .integer("rows", &BeamWants::rows,
                   {.low = 1,
                    .high = 2,
                    .doc = "Rows of beams: two with the actuator between them, or one with the actuator beside it.",
                    .default_text = "2"})
          .integer("thickness", &BeamWants::thickness,
                   {.low = 1, .high = 4, .doc = "Parallel beams side by side in each row.", .default_text = "1"})
          .number("width_p", &BeamWants::width_p,
                  {.unit = "p",
                   .low = 1,
                   .high = 40,
                   .doc = "Distance of two rows, from middle to middle of their innermost beams.",
                   .default_text = "4"})
          .number("pivot_width_p", &BeamWants::pivot_width_p,
                  {.unit = "p",
                   .low = 1,
                   .high = 80,
                   .doc = "Distance of the two bearings of the pivot's axle.",
                   .default_text = "just outside the beams"})
          .integer("ties_every_p", &BeamWants::ties_every_p,
                   {.unit = "p",
                    .low = 0,
                    .high = 40,
                    .doc = "Cross beams on brackets that close the box, alternately above and below; 0 = none.",
                    .default_text = "0"})
          .number("pin_play_mm", &BeamWants::pin_play_mm,
                  {.unit = "mm",
                   .low = 0,
                   .high = 2,
                   .doc = "Play of a pin in its hole, across.",
                   .default_text = "the kit system's"})
          .number("axle_play_mm", &BeamWants::axle_play_mm,
                  {.unit = "mm",
                   .low = 0,
                   .high = 2,
                   .doc = "Play of an axle in its hole, across.",
                   .default_text = "the kit system's"})
          .number("slew_play_deg", &BeamWants::slew_play_deg,
                  {.unit = "deg",
                   .low = 0,
                   .high = 20,
                   .doc = "Backlash of the slew drive below, to either side; an invented figure until measured.",
                   .default_text = "0.25"})
          .number("slew_rock_deg", &BeamWants::slew_rock_deg,
                  {.unit = "deg",
                   .low = 0,
                   .high = 20,
                   .doc = "Rocking of the turntable below, to either side; an invented figure until measured.",
                   .default_text = "0.1"})
          .number("actuator_play_mm", &BeamWants::actuator_play_mm,
                  {.unit = "mm",
                   .low = 0,
                   .high = 10,
                   .doc = "Play of one actuator along its line, to either side; an invented figure until measured.",
                   .default_text = "0.15"})
          .number("actuator_stiffness_n_mm", &BeamWants::actuator_stiffness_n_mm,
                  {.unit = "N/mm",
                   .low = 0.1,
                   .high = 1e5,
                   .doc = "Stiffness of one actuator along its line; an invented figure until measured.",
                   .default_text = "40"});
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
                   .default_text = "half an actuator and half an axle; 10 where nothing stands so"})
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
          .boolean("hold", &Wants::hold, {.doc = "Must not sink when the motor is off.", .default_text = "true"})
          .choice("actuator_side", &Wants::side,
                  {{"either", linkage::Side::either}, {"below", linkage::Side::below}, {"above", linkage::Side::above}},
                  {.doc = "Where the actuator passes the pivot: below it lengthens to raise the body's end and is "
                          "pushed, above it shortens and is pulled.",
                   .default_text = "either"})
          .table("beams", &Wants::beams, beam_fields(),
                 {.doc = "How the moved body is built, for its sway; its parts are then taken from the stock."})
          .number("sway_max_mm", &Wants::sway_max_mm,
                  {.unit = "mm",
                   .low = 0.01,
                   .high = 1000,
                   .doc = "Most the load may move to one side, by bending and by play, this stage alone.",
                   .default_text = "none, the sway is only told"})
          .number("sag_max_mm", &Wants::sag_max_mm,
                  {.unit = "mm",
                   .low = 0.01,
                   .high = 1000,
                   .doc = "Most the load may sink, by bending and by play, this stage alone.",
                   .default_text = "none, the sag is only told"})
          .number("side_slope_deg", &Wants::side_slope_deg,
                  {.unit = "deg",
                   .low = 0,
                   .high = 45,
                   .doc = "Slope of the ground across the boom that the sway is judged on.",
                   .default_text = "2"})
          .number("side_force_n", &Wants::side_force_n,
                  {.unit = "N",
                   .low = 0,
                   .high = 1000,
                   .doc = "Force at the load across the boom: a swinging load, wind.",
                   .default_text = "0"});
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
  void warning(std::string_view key, std::string code, std::string message, std::string hint) {
    const drive::Place place = drive::place_of(function_, key);
    diagnostics_.warning(std::move(code), place.where, place.path, std::move(message), std::move(hint));
  }
  int find_body(const brief::Brief& brief, std::string_view key, const std::string& id) {
    return drive::find_body(function_, brief, key, id, diagnostics_);
  }

 private:
  const brief::Function& function_;
  Diagnostics& diagnostics_;
};

/// Stages that hang on this one: what they raise hangs on this pivot too, and so do drives that stand on this body.
void count_stages_beyond(const brief::Function& function, const brief::Brief& brief, Wants& w, Reporter& report) {
  const Node* own = function.wants.find("load_g");
  double most_g = w.load_g;
  const Node* source = nullptr;
  for (const brief::Function& f : brief.functions) {
    if (f.kind != "luff") continue;
    const Node* moved = f.wants.find("moves");
    const int body = moved != nullptr && moved->kind == Node::Kind::text ? brief::body_index(brief, moved->text) : -1;
    if (body < 0 || body == w.body || !hangs_on(brief, body, w.body)) continue;
    const int carrier = f.body >= 0 ? f.body : brief.bodies[static_cast<std::size_t>(body)].parent;
    if (carrier >= 0 && hangs_on(brief, carrier, w.body)) w.carried_drives.push_back(f.id);
    const Node* load = f.wants.find("load_g");
    if (load == nullptr || !load->is_number() || load->number() <= most_g) continue;
    most_g = load->number();
    w.load_from = f.id;
    source = &f.wants;
  }
  if (w.load_from.empty()) return;
  if (own != nullptr) {
    report.warning("load_g", "luff.load_of_next_stage",
                   fmt::format("\"{}\" raises {} g on the end of this stage, which is told {} g.", w.load_from,
                               base::plain(most_g), base::plain(w.load_g)),
                   fmt::format("load_g = {}, or leave load_g out: then it is taken from there", base::plain(most_g)));
    w.load_from.clear();
    return;
  }
  w.load_g = most_g;
  // The same load at the same place.
  const Node* at = source->find("load_at_mm");
  const Node* on = source->find("load_on");
  if (on != nullptr && on->kind == Node::Kind::text && w.load_on.empty()) w.load_on = on->text;
  if (w.load_at_given || at == nullptr || at->items.size() != w.load_at_mm.size()) return;
  if (!std::all_of(at->items.begin(), at->items.end(), [](const Node& n) { return n.is_number(); })) return;
  for (std::size_t i = 0; i < w.load_at_mm.size(); ++i) w.load_at_mm[i] = at->items[i].number();
  w.load_at_given = true;
}

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
  w.lever_given = function.wants.find("min_lever_mm") != nullptr;
  w.clear_lever_mm = drive::kActuatorWidth_p * brief.system().pitch_mm / 2 + brief.system().axle.width_mm / 2;
  if (!w.lever_given) w.min_lever_mm = w.clear_lever_mm;
  if (!w.moves.empty()) w.body = report.find_body(brief, "moves", w.moves);
  if (w.body >= 0) {
    const brief::Body& moved = brief.bodies[static_cast<std::size_t>(w.body)];
    w.parent = moved.parent;
    w.reaches_back = moved.centre_mm.x_mm < moved.joint.pivot_mm.x_mm;
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
      count_stages_beyond(function, brief, w, report);
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
