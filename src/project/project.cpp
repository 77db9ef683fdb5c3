#include "project/project.h"

#include <fmt/format.h>

#include <filesystem>
#include <map>
#include <string_view>
#include <system_error>

#include "base/text.h"
#include "document/rescale.h"
#include "document/schema.h"
#include "document/toml_reader.h"
#include "looks/colour_plan.h"  // kMostWeight
#include "looks/paint.h"

namespace project {
namespace {

using document::Diagnostics;
using document::FieldDoc;
using document::FieldTable;
using document::Node;

// Bounds: far outside anything built from a donor kit, so that only slips of unit or key are refused.
constexpr double kMostLengthMm = 10'000;
constexpr double kMostMassG = 1'000'000;
constexpr std::size_t kLongestId = 60;

void read_hubs(const Node& n, const FieldDoc& f, const std::string& prefix, Supply& out, Diagnostics& d) {
  out.hubs.where = n.where;
  out.hubs.path = n.path;
  if (n.is_number()) {
    out.hubs.count = document::read_integer(n, f, prefix, d);
  } else if (auto names = document::read_located_texts(n, f, prefix, d)) {
    out.hubs.named = std::move(*names);
    if (out.hubs.named.empty()) out.hubs.count = 0;
  }
}

const FieldTable<Header>& header_fields() {
  static const FieldTable<Header> table =
      FieldTable<Header>("project")
          .text("name", &Header::name, {.doc = "what the model is called"})
          .required()
          .text("description", &Header::description, {.doc = "what it is and does, for people"})
          .text("system", &Header::system, {.doc = "kit system the donor kit belongs to, by its id"})
          .required()
          .text("stock", &Header::stock,
                {.doc = "file with the parts of the donor kit, beside this file", .default_text = "stock.csv"})
          .text("stock_columns", &Header::stock_columns,
                {.doc = "meaning of its columns where their heads do not tell: name=2,quantity=Count,colour=4"})
          .text("revision", &Header::revision,
                {.doc = "of what you publish, printed on every page of the dossier: B, 3, 2.1"})
          .integer(
              "seed", &Header::seed,
              {.low = 0, .high = 2147483647, .doc = "start of the draws behind every confidence", .default_text = "1"})
          .integer("draws", &Header::draws,
                   {.low = 10,
                    .high = 100'000,
                    .doc = "how many draws a confidence is counted from",
                    .default_text = "1000"});
  return table;
}

const FieldTable<Cells>& cells_fields() {
  static const FieldTable<Cells> table =
      FieldTable<Cells>("cells")
          .choice("chemistry", &Cells::chemistry,
                  {{"hub", Chemistry::hub},
                   {"alkaline", Chemistry::alkaline},
                   {"nimh", Chemistry::nimh},
                   {"li_ion", Chemistry::li_ion}},
                  {.doc = "what the cells are made of", .default_text = "as the kit system says of the hub"})
          .integer("count", &Cells::count, {.low = 1, .high = 64, .doc = "cells in series in one hub"})
          .number("voltage_v", &Cells::voltage_v,
                  {.unit = "V", .low = 0.5, .high = 60, .doc = "open-circuit voltage of one hub's cells"})
          .triple("capacity_mah", &Cells::capacity_mah,
                  {.unit = "mAh", .low = 1, .high = 1e5, .doc = "charge that one hub's cells give"})
          .triple("resistance_ohm", &Cells::resistance_ohm,
                  {.unit = "ohm", .low = 0, .high = 100, .doc = "internal resistance of one hub's cells"});
  return table;
}

const FieldTable<Supply>& supply_fields() {
  static const FieldTable<Supply> table =
      FieldTable<Supply>("supply")
          .custom("hubs", FieldDoc::Type::texts_or_count, read_hubs,
                  {.low = 0,
                   .high = 100,
                   .doc = "the hubs used, one entry each, or how many of those in the stock",
                   .default_text = "1"})
          .table("cells", &Supply::cells, cells_fields(), {.doc = "cells other than the hub's usual ones"});
  return table;
}

const FieldTable<Limits>& limits_fields() {
  static const FieldTable<Limits> table =
      FieldTable<Limits>("limits")
          .number("mass_g", &Limits::mass_g,
                  {.unit = "g", .low = 1, .high = kMostMassG, .doc = "the whole machine may not be heavier"})
          .number("run_time_min", &Limits::run_time_min,
                  {.unit = "min", .low = 0, .high = 10'000, .doc = "one set of cells must last this long"})
          .number("tipping_angle_deg", &Limits::tipping_angle_deg,
                  {.unit = "deg", .low = 0, .high = 89, .doc = "it must stand on a slope of this much, facing any way"})
          .point3(
              "envelope_mm", &Limits::envelope_mm,
              {.unit = "mm", .low = 1, .high = kMostLengthMm, .doc = "length, width and height it must stay within"})
          .number("lifting_slope_deg", &Limits::lifting_slope_deg,
                  {.unit = "deg", .low = 0, .high = 45, .doc = "it must lift on ground that slopes by this much"})
          .number("lifting_downhill_deg", &Limits::lifting_downhill_deg,
                  {.unit = "deg",
                   .low = -360,
                   .high = 360,
                   .doc = "which way that slope falls, from the front to the left; left out = any way"})
          .place(&Limits::where, &Limits::path);
  return table;
}

const FieldTable<Support>& support_fields() {
  static const FieldTable<Support> table =
      FieldTable<Support>("support")
          .choice("type", &Support::type,
                  {{"tracks", SupportType::tracks},
                   {"wheels", SupportType::wheels},
                   {"feet", SupportType::feet},
                   {"fixed_base", SupportType::fixed_base}},
                  {.doc = "what carries the machine on the ground"})
          .required()
          .number("length_mm", &Support::length_mm,
                  {.unit = "mm", .low = 1, .high = kMostLengthMm, .doc = "first to last ground contact, along x"})
          .number("width_mm", &Support::width_mm,
                  {.unit = "mm", .low = 1, .high = kMostLengthMm, .doc = "outermost ground contacts, along y"})
          .point2("center_mm", &Support::center_mm,
                  {.unit = "mm",
                   .low = -kMostLengthMm,
                   .high = kMostLengthMm,
                   .doc = "middle of that rectangle, [x, y]",
                   .default_text = "[0, 0]"})
          .points("points_mm", &Support::points_mm,
                  {.unit = "mm",
                   .low = -kMostLengthMm,
                   .high = kMostLengthMm,
                   .doc = "ground contacts instead of length and width, [x, y] or [x, y, z] each"})
          .integer("wheels_per_side", &Support::wheels_per_side,
                   {.low = 2,
                    .high = 16,
                    .doc = "wheels of one side that stand on the ground, evenly spread; a track's road wheels",
                    .default_text = "those of the function that drives, else 2"})
          .number("wheel_diameter_mm", &Support::wheel_diameter_mm,
                  {.unit = "mm",
                   .low = 1,
                   .high = 1000,
                   .doc = "of those wheels; left out = those of the function that drives"})
          .choice("rocking", &Support::rocking, {{"none", Rocking::none}, {"pairs", Rocking::pairs}},
                  {.doc = "pairs = neighbouring wheels of a side, from the rear, share a beam that rocks on a pin",
                   .default_text = "\"none\""})
          .number("pin_height_mm", &Support::pin_height_mm,
                  {.unit = "mm", .low = 0, .high = 1000, .doc = "height of those pins; left out = that of the axles"})
          .number("rocks_deg", &Support::rocks_deg,
                  {.unit = "deg",
                   .low = 0,
                   .high = 60,
                   .doc = "how far such a beam turns, either way",
                   .default_text = "20"})
          .points(
              "underside_mm", &Support::underside_mm,
              {.unit = "mm",
               .low = -kMostLengthMm,
               .high = kMostLengthMm,
               .doc = "underside from the rear to the front, [x, z] each; left out = that of the chassis' envelope"})
          .place(&Support::where, &Support::path);
  return table;
}

const FieldTable<Parameters>& parameter_fields() {
  static const FieldTable<Parameters> table = [] {
    FieldTable<Parameters> t("parameters");
    for (std::size_t i = 0; i < kParameterNames; ++i) {
      const ParameterName& p = parameter_names()[i];
      t.custom(std::string(p.name), FieldDoc::Type::triple,
               [i](const Node& n, const FieldDoc& f, const std::string& prefix, Parameters& out, Diagnostics& d) {
                 out.value[i] = document::read_triple(n, f, prefix, d);
               },
               {.unit = std::string(p.unit), .low = p.low, .high = p.high, .doc = std::string(p.doc)});
    }
    return t;
  }();
  return table;
}

const FieldTable<Joint>& joint_fields() {
  static const FieldTable<Joint> table =
      FieldTable<Joint>("joint")
          .choice("type", &Joint::type,
                  {{"fixed", JointType::fixed}, {"slew", JointType::slew}, {"pitch", JointType::pitch}},
                  {.doc = "slew turns about z, pitch about y with the front going up"})
          .required()
          .point3("pivot_mm", &Joint::pivot_mm,
                  {.unit = "mm", .low = -kMostLengthMm, .high = kMostLengthMm, .doc = "a point of the joint's axis"})
          .range("range_deg", &Joint::range_deg,
                 {.unit = "deg", .low = -360, .high = 360, .doc = "how far it moves, [low, high], zero pose = 0"})
          .place(&Joint::where, &Joint::path);
  return table;
}

const FieldTable<Body>& body_fields() {
  static const FieldTable<Body> table =
      FieldTable<Body>("body")
          .text("id", &Body::id, {.doc = "name of this body, used by parent and body keys"})
          .required()
          .text("parent", &Body::parent, {.doc = "body that carries this one; the chassis has none"})
          .triple("mass_g", &Body::mass_g,
                  {.unit = "g",
                   .low = 0,
                   .high = kMostMassG,
                   .doc = "weighed or guessed; left out = estimated from size_mm"})
          .point3(
              "centre_mm", &Body::centre_mm,
              {.unit = "mm", .low = -kMostLengthMm, .high = kMostLengthMm, .doc = "centre of mass in the zero pose"})
          .point3("size_mm", &Body::size_mm,
                  {.unit = "mm", .low = 0.1, .high = kMostLengthMm, .doc = "length, width and height of its envelope"})
          .table("joint", &Body::joint, joint_fields(), {.doc = "how it moves against its parent; left out = fixed"})
          .place(&Body::where, &Body::path);
  return table;
}

/// Part classes of which any serves, into the member `part`.
template <class Into>
void read_accepted_parts(const Node& n, const FieldDoc& f, const std::string& prefix, Into& out, Diagnostics& d) {
  auto names = document::read_located_texts(n, f, prefix, d);
  if (!names) return;
  if (names->empty()) d.error(prefix + ".no_part", n.where, n.path, "part names nothing", "at least one part class");
  out.part = std::move(*names);
}

const FieldTable<Reserve>& reserve_fields() {
  static const FieldTable<Reserve> table =
      FieldTable<Reserve>("reserve")
          .custom("part", FieldDoc::Type::text_list, read_accepted_parts<Reserve>,
                  {.doc = "part class, or several of which any serves"})
          .required()
          .integer("count", &Reserve::count, {.low = 1, .high = 100'000, .doc = "how many", .default_text = "1"})
          .text("colour", &Reserve::colour, {.doc = "only in this colour; left out = any"})
          .text("reason", &Reserve::reason, {.doc = "what they are kept for"})
          .text("body", &Reserve::body, {.doc = "body they are built into; left out = chassis"})
          .place(&Reserve::where, &Reserve::path);
  return table;
}

const FieldTable<ZonePart>& zone_part_fields() {
  static const FieldTable<ZonePart> table =
      FieldTable<ZonePart>("zone")
          .custom("part", FieldDoc::Type::text_list, read_accepted_parts<ZonePart>,
                  {.doc = "part class, or several of which any serves"})
          .required()
          .integer("count", &ZonePart::count, {.low = 1, .high = 10'000, .doc = "how many", .default_text = "1"})
          .place(&ZonePart::where, &ZonePart::path);
  return table;
}

const FieldTable<Zone>& zone_fields() {
  static const FieldTable<Zone> table =
      FieldTable<Zone>("zone")
          .text("id", &Zone::id, {.doc = "what is seen there: cab, bonnet, boom"})
          .required()
          .text("colour", &Zone::colour, {.doc = "wanted colour, as the stock list calls it"})
          .required()
          .integer("weight", &Zone::weight,
                   {.low = 1,
                    .high = looks::kMostWeight,
                    .doc = "how much one piece in another colour is seen there, against other zones",
                    .default_text = "1"})
          .tables("parts", &Zone::parts, zone_part_fields(), {.doc = "what it is built from"})
          .required()
          .place(&Zone::where, &Zone::path);
  return table;
}

/// Sides of a decal: less cannot be cut out, more fits on no paper of A4 or Letter.
constexpr double kLeastDecal_mm = 2, kMostDecal_mm = 170;

const FieldTable<Decal>& decal_fields() {
  static const FieldTable<Decal> table =
      FieldTable<Decal>("decal")
          .text("id", &Decal::id, {.doc = "your name for it: name plate, warning stripes"})
          .required()
          .text("text", &Decal::text, {.doc = "lettering; left out = stripes or a plain field"})
          .number("width_mm", &Decal::width_mm,
                  {.unit = "mm", .low = kLeastDecal_mm, .high = kMostDecal_mm, .doc = "width", .default_text = "40"})
          .number("height_mm", &Decal::height_mm,
                  {.unit = "mm", .low = kLeastDecal_mm, .high = kMostDecal_mm, .doc = "height", .default_text = "8"})
          .text("colour", &Decal::colour, {.doc = "of lettering and stripes: a usual name, or #rrggbb"})
          .text("ground", &Decal::ground, {.doc = "of the field behind: a usual name, or #rrggbb"})
          .integer("stripes", &Decal::stripes,
                   {.low = 0, .high = 60, .doc = "slanting stripes instead of lettering", .default_text = "0"})
          .integer("count", &Decal::count, {.low = 1, .high = 100, .doc = "how many alike", .default_text = "1"})
          .text("on", &Decal::where_on, {.doc = "where it goes on the model"})
          .place(&Decal::where, &Decal::path);
  return table;
}

constexpr double kFarthest_p = 1000;  ///< beyond any machine

const FieldTable<Room>& room_fields() {
  static const FieldTable<Room> table =
      FieldTable<Room>("room")
          .range("x", &Room::x,
                 {.unit = "p", .low = -kFarthest_p, .high = kFarthest_p, .doc = "along, forward positive"})
          .required()
          .range("y", &Room::y, {.unit = "p", .low = -kFarthest_p, .high = kFarthest_p, .doc = "across, left positive"})
          .required()
          .range("z", &Room::z, {.unit = "p", .low = -kFarthest_p, .high = kFarthest_p, .doc = "up"})
          .required()
          .place(&Room::where, &Room::path);
  return table;
}

const FieldTable<Placed>& placed_fields() {
  static const FieldTable<Placed> table =
      FieldTable<Placed>("placed")
          .text("id", &Placed::id, {.doc = "your name for it: battery, main switch"})
          .required()
          .text("body", &Placed::body, {.doc = "body it sits on; left out = chassis"})
          .table("box_p", &Placed::box_p, room_fields(),
                 {.unit = "p", .doc = "room it takes, in hole pitches on the lattice of that body"})
          .required()
          .texts(
              "draws_out", &Placed::draws_out,
              {.doc = "ways of which at least one must be free to draw it out whole: forward, back, left, right, up, "
                      "down; left out = it stays in"})
          .texts("pressed", &Placed::pressed,
                 {.doc = "sides of which at least one must be reached by a finger or a pusher: forward, back, left, "
                         "right, up, down; left out = nothing to press"})
          .boolean("keep_clear", &Placed::keep_clear,
                   {.doc = "true = functions keep off the first way of draws_out", .default_text = "false"})
          .place(&Placed::where, &Placed::path);
  return table;
}

const FieldTable<Openable>& openable_fields() {
  static const FieldTable<Openable> table =
      FieldTable<Openable>("openable")
          .text("id", &Openable::id, {.doc = "your name for it: rear door, bonnet"})
          .required()
          .text("body", &Openable::body, {.doc = "body its hinge is on; left out = chassis"})
          .table("box_p", &Openable::box_p, room_fields(),
                 {.unit = "p", .doc = "room it takes when closed, in hole pitches on the lattice of that body"})
          .required()
          .choice("axis", &Openable::axis, {{"x", lattice::Axis::x}, {"y", lattice::Axis::y}, {"z", lattice::Axis::z}},
                  {.doc = "way the hinge's pin runs"})
          .required()
          .point3("hinge_p", &Openable::hinge_p,
                  {.unit = "p", .low = -kFarthest_p, .high = kFarthest_p, .doc = "a hole on the pin"})
          .required()
          .number("opens_deg", &Openable::opens_deg,
                  {.unit = "deg",
                   .low = -360,
                   .high = 360,
                   .doc = "how far it opens, by the right-hand rule about the axis",
                   .default_text = "90"})
          .boolean("keep_clear", &Openable::keep_clear,
                   {.doc = "true = functions keep out of what it passes over", .default_text = "true"})
          .place(&Openable::where, &Openable::path);
  return table;
}

const FieldTable<Obstacle>& obstacle_fields() {
  static const FieldTable<Obstacle> table =
      FieldTable<Obstacle>("obstacle")
          .text("id", &Obstacle::id, {.doc = "your name for it: kerb, ditch"})
          .required()
          .choice("type", &Obstacle::type,
                  {{"step", ObstacleType::step},
                   {"drop", ObstacleType::drop},
                   {"trench", ObstacleType::trench},
                   {"ridge", ObstacleType::ridge},
                   {"slope", ObstacleType::slope}},
                  {.doc = "step: a wall up; drop: a wall down; trench: across the way; ridge: two faces and an edge; "
                          "slope: to drive and stand on"})
          .required()
          .number("height_mm", &Obstacle::height_mm,
                  {.unit = "mm", .low = 0.1, .high = 1000, .doc = "of a step, drop or ridge"})
          .number("width_mm", &Obstacle::width_mm, {.unit = "mm", .low = 0.1, .high = 5000, .doc = "of a trench"})
          .number("depth_mm", &Obstacle::depth_mm,
                  {.unit = "mm",
                   .low = 0.1,
                   .high = 5000,
                   .doc = "of a trench",
                   .default_text = "deeper than the machine is high"})
          .number("slope_deg", &Obstacle::slope_deg,
                  {.unit = "deg", .low = 0.1, .high = 80, .doc = "of a slope, or of both faces of a ridge"})
          .number("heading_deg", &Obstacle::heading_deg,
                  {.unit = "deg",
                   .low = -180,
                   .high = 180,
                   .doc = "slopes: where uphill lies from the nose, to the left positive; 90 = along the slope",
                   .default_text = "0"})
          .triple("friction", &Obstacle::friction,
                  {.low = 0.01,
                   .high = 3,
                   .doc = "between wheels or track and this ground",
                   .default_text = "the parameter ground_friction"})
          .place(&Obstacle::where, &Obstacle::path);
  return table;
}

const FieldTable<SiteLoad>& load_fields() {
  static const FieldTable<SiteLoad> table =
      FieldTable<SiteLoad>("load")
          .text("id", &SiteLoad::id, {.doc = "your name for it: crate, pipe"})
          .required()
          .number("mass_g", &SiteLoad::mass_g, {.unit = "g", .low = 0.1, .high = kMostMassG, .doc = "all of it"})
          .required()
          .point3("size_mm", &SiteLoad::size_mm,
                  {.unit = "mm",
                   .low = 0,
                   .high = kMostLengthMm,
                   .doc = "length, width and height",
                   .default_text = "[0, 0, 0]"})
          .point3("from_mm", &SiteLoad::from_mm,
                  {.unit = "mm",
                   .low = -kMostLengthMm,
                   .high = kMostLengthMm,
                   .doc = "where it stands: middle of its foot on the site, z above the machine's ground"})
          .required()
          .point3("to_mm", &SiteLoad::to_mm,
                  {.unit = "mm", .low = -kMostLengthMm, .high = kMostLengthMm, .doc = "where it goes, likewise"})
          .required()
          .number("sling_mm", &SiteLoad::sling_mm,
                  {.unit = "mm", .low = 0, .high = 1000, .doc = "hook above its top", .default_text = "0"})
          .number("least_part_g", &SiteLoad::least_part_g,
                  {.unit = "g",
                   .low = 0.1,
                   .high = kMostMassG,
                   .doc = "it may be split into equal parts no lighter than this; left out = whole only"})
          .place(&SiteLoad::where, &SiteLoad::path);
  return table;
}

const FieldTable<WorkPlace>& work_place_fields() {
  static const FieldTable<WorkPlace> table =
      FieldTable<WorkPlace>("work_place")
          .text("id", &WorkPlace::id, {.doc = "your name for it: at the gate"})
          .required()
          .point2("at_mm", &WorkPlace::at_mm,
                  {.unit = "mm",
                   .low = -kMostLengthMm,
                   .high = kMostLengthMm,
                   .doc = "where the machine's origin then is on the site, [x, y]",
                   .default_text = "[0, 0]"})
          .number("heading_deg", &WorkPlace::heading_deg,
                  {.unit = "deg",
                   .low = -360,
                   .high = 360,
                   .doc = "which way its nose points, from x to the left",
                   .default_text = "0"})
          .boolean("feet_down", &WorkPlace::feet_down,
                   {.doc = "true = it lifts on its stabilisers there", .default_text = "false"})
          .place(&WorkPlace::where, &WorkPlace::path);
  return table;
}

const FieldTable<StowPlace>& stow_place_fields() {
  static const FieldTable<StowPlace> table =
      FieldTable<StowPlace>("stow_place")
          .text("id", &StowPlace::id, {.doc = "your name for it: rear deck"})
          .required()
          .point3(
              "at_mm", &StowPlace::at_mm,
              {.unit = "mm", .low = -kMostLengthMm, .high = kMostLengthMm, .doc = "middle of its floor on the machine"})
          .required()
          .point3("room_mm", &StowPlace::room_mm,
                  {.unit = "mm", .low = 0, .high = kMostLengthMm, .doc = "length, width and height of what fits there"})
          .required()
          .number("most_g", &StowPlace::most_g,
                  {.unit = "g", .low = 0.1, .high = kMostMassG, .doc = "what may stand there"})
          .required()
          .place(&StowPlace::where, &StowPlace::path);
  return table;
}

const FieldTable<RealMachine>& real_fields() {
  constexpr double kLargest_mm = 500'000;
  const auto size = [](std::string doc) {
    return document::FieldOptions{.unit = "mm", .low = 1, .high = kLargest_mm, .doc = std::move(doc)};
  };
  static const FieldTable<RealMachine> table =
      FieldTable<RealMachine>("real")
          .number("scale", &RealMachine::scale,
                  {.low = 1, .high = 1000, .doc = "the project's own figures are at 1 to this"})
          .required()
          .number("length_mm", &RealMachine::length_mm, size("of the whole machine"))
          .number("width_mm", &RealMachine::width_mm, size("of the whole machine"))
          .number("height_mm", &RealMachine::height_mm, size("of the whole machine"))
          .number("wheel_diameter_mm", &RealMachine::wheel_diameter_mm, size("of its wheels over the tyres"))
          .number("track_width_mm", &RealMachine::track_width_mm, size("of one belt of its tracks"))
          .number("ring_diameter_mm", &RealMachine::ring_diameter_mm, size("of its slewing ring, over the teeth"))
          .number("actuator_closed_mm", &RealMachine::actuator_closed_mm,
                  size("of its boom's cylinder, pin to pin, drawn in"))
          .place(&RealMachine::where, &RealMachine::path);
  return table;
}

const FieldTable<Function>& function_fields() {
  static const FieldTable<Function> table =
      FieldTable<Function>("function")
          .text("id", &Function::id, {.doc = "your name for it"})
          .required()
          .text("kind", &Function::kind, {.doc = "kind of function"})
          .required()
          .choice("priority", &Function::priority, {{"required", Priority::required}, {"wished", Priority::wished}},
                  {.doc = "wished functions are dropped first", .default_text = "required"})
          .number("weight", &Function::weight,
                  {.low = 0,
                   .high = 1000,
                   .doc = "how much a wished function counts against the others",
                   .default_text = "1"})
          .integer("sides", &Function::sides,
                   {.low = 1, .high = 2, .doc = "2 = a mirrored pair, uses everything twice", .default_text = "1"})
          .text("body", &Function::body, {.doc = "body that carries its parts; left out = chassis"})
          .table("room_p", &Function::room_p, room_fields(),
                 {.unit = "p",
                  .doc = "box that its drive must stand in, in hole pitches on the lattice of that body: origin at the "
                         "body's pivot, for the chassis on the ground under the machine",
                  .default_text = "the body's envelope and 6 p round it"})
          .text("lock", &Function::lock, {.doc = "key of the candidate to keep"})
          .texts("must_use", &Function::must_use, {.doc = "part classes it has to use"})
          .texts("must_not_use", &Function::must_not_use, {.doc = "part classes it may not use"})
          .number("duty", &Function::duty,
                  {.low = 0, .high = 1, .doc = "share of the run time it works", .default_text = "1"})
          .opaque("wants", &Function::wants, {.doc = "the figures it must reach; keys depend on the kind"})
          .place(&Function::where, &Function::path);
  return table;
}

const FieldTable<DutyPhase>& duty_fields() {
  static const FieldTable<DutyPhase> table =
      FieldTable<DutyPhase>("duty")
          .text("id", &DutyPhase::id, {.doc = "name of this part of the working cycle"})
          .required()
          .texts("runs", &DutyPhase::runs, {.doc = "functions that run together; none = a pause"})
          .number("load", &DutyPhase::load,
                  {.low = 0, .high = 3, .doc = "share of the load each function was designed for", .default_text = "1"})
          .number("time_s", &DutyPhase::time_s,
                  {.unit = "s", .low = 0.1, .high = 36'000, .doc = "how long", .default_text = "10"})
          .place(&DutyPhase::where, &DutyPhase::path);
  return table;
}

const FieldTable<Handset>& handset_fields() {
  static const FieldTable<Handset> table =
      FieldTable<Handset>("handset")
          .integer("sticks", &Handset::sticks,
                   {.low = 0, .high = 4, .doc = "sticks, each with two axes", .default_text = "2"})
          .integer("sliders", &Handset::sliders, {.low = 0, .high = 8, .doc = "sliders", .default_text = "2"})
          .integer("buttons", &Handset::buttons, {.low = 0, .high = 16, .doc = "buttons", .default_text = "4"})
          .boolean("left_handed", &Handset::left_handed,
                   {.doc = "fine work on the left hand, driving on the right", .default_text = "false"})
          .boolean("programs", &Handset::programs,
                   {.doc = "whether it can follow a rule, for an ornamental engine", .default_text = "true"});
  return table;
}

const FieldTable<Project>& file_fields() {
  static const FieldTable<Project> table =
      FieldTable<Project>("project")
          .table("project", &Project::header, header_fields(), {.doc = "name, kit system and stock"})
          .required()
          .table("supply", &Project::supply, supply_fields(), {.doc = "hubs and cells"})
          .table("limits", &Project::limits, limits_fields(), {.doc = "what the whole machine must keep to"})
          .table("support", &Project::support, support_fields(), {.doc = "how it stands on the ground"})
          .table("parameters", &Project::parameters, parameter_fields(),
                 {.doc = "uncertain inputs that you know better than the kit system's figures"})
          .tables("bodies", &Project::bodies, body_fields(), {.doc = "rigid bodies and how they move"})
          .tables("reserves", &Project::reserves, reserve_fields(), {.doc = "parts kept back for chassis and looks"})
          .tables("zones", &Project::zones, zone_fields(),
                  {.doc = "what is seen from outside and wanted in one colour, built from what functions leave"})
          .tables("decals", &Project::decals, decal_fields(),
                  {.doc = "stickers for the finished model, printed at their true size in the dossier"})
          .tables("placed", &Project::placed, placed_fields(),
                  {.doc = "things at a place of their own that no function chooses: cells, switches, seats"})
          .tables("openables", &Project::openables, openable_fields(), {.doc = "doors, covers and flaps on hinges"})
          .tables("obstacles", &Project::obstacles, obstacle_fields(),
                  {.doc = "what it must get over, and slopes it must drive on"})
          .tables("loads", &Project::loads, load_fields(), {.doc = "loads that are to be moved on the site"})
          .tables("work_places", &Project::work_places, work_place_fields(),
                  {.doc = "where it may stand to lift; left out = at the site's origin"})
          .tables("stow_places", &Project::stow_places, stow_place_fields(),
                  {.doc = "where a load may stand on it while it drives"})
          .table("real", &Project::real, real_fields(), {.doc = "main dimensions of the machine that is modelled"})
          .tables("functions", &Project::functions, function_fields(), {.doc = "what the machine shall do"})
          .tables("duty", &Project::duty, duty_fields(),
                  {.doc = "the working cycle, phase by phase, over and over; left out = every function alone, by its "
                          "duty"})
          .table("handset", &Project::handset, handset_fields(), {.doc = "what the driver holds in the hands"});
  return table;
}

/// Ids name things in messages, commands and reports, so they must be printable and short.
void check_id(const LocatedText& id, const std::string& prefix, Diagnostics& d) {
  if (id.where.line == 0) return;  // missing or of a wrong type: already reported
  if (id.text.empty()) {
    d.error(prefix + ".empty_id", id.where, id.path, "an id may not be empty");
    return;
  }
  bool printable = id.text.front() != ' ' && id.text.back() != ' ';
  for (const char c : id.text) printable = printable && static_cast<unsigned char>(c) >= 0x20 && c != 0x7F;
  if (!printable || id.text.size() > kLongestId) {
    d.error(prefix + ".bad_id", id.where, id.path,
            fmt::format("{} is no id: at most {} bytes, no control characters, no blank at either end",
                        document::quoted(id.text), kLongestId));
  }
}

template <class Item>
void check_ids(const std::vector<Item>& items, const std::string& prefix, Diagnostics& d) {
  std::map<std::string_view, const LocatedText*> seen;
  for (const Item& item : items) {
    check_id(item.id, prefix, d);
    if (item.id.empty()) continue;
    const auto [first, is_new] = seen.emplace(item.id.text, &item.id);
    if (!is_new) {
      d.error(prefix + ".duplicate_id", item.id.where, item.id.path,
              fmt::format("{} is already the id of another {}, in line {}", document::quoted(item.id.text),
                          prefix == "placed" ? "placed thing" : prefix, first->second->where.line),
              "another name");
    }
  }
}

void check_support(const Support& s, Diagnostics& d) {
  const bool rectangle = s.length_mm || s.width_mm;
  if (!s.points_mm.empty() && rectangle) {
    d.error("support.two_ways", s.where, s.path, "points_mm and length_mm or width_mm say the same thing twice",
            "keep one of the two");
  }
}

constexpr std::size_t kLongestRevision = 24;  ///< bytes; it stands in the foot of every page

void check_decal(const Decal& decal, Diagnostics& d) {
  if (!decal.text.empty() && decal.stripes > 0) {
    d.error("decal.two_ways", decal.where, decal.path, "text and stripes cannot both fill a decal",
            "keep one of the two, or make two decals");
  }
  for (const LocatedText* colour : {&decal.colour, &decal.ground}) {
    if (looks::paint_of(colour->text)) continue;
    d.error("decal.colour", colour->where.line > 0 ? colour->where : decal.where,
            colour->path.empty() ? decal.path : colour->path,
            fmt::format("{} is no colour that can be printed", document::quoted(colour->text)),
            "#rrggbb, or one of " + base::list_text(looks::paint_names(), "or"));
  }
}

void finish(Project& p, Diagnostics& d) {
  check_ids(p.bodies, "body", d);
  check_ids(p.zones, "zone", d);
  check_ids(p.decals, "decal", d);
  for (const Decal& decal : p.decals) check_decal(decal, d);
  if (p.header.revision.text.size() > kLongestRevision) {
    d.error("project.long_revision", p.header.revision.where, p.header.revision.path,
            fmt::format("a revision of {} bytes fits on no page; at most {}", p.header.revision.text.size(),
                        kLongestRevision),
            "a letter or a number; say more in the description");
  }
  check_ids(p.placed, "placed", d);
  check_ids(p.openables, "openable", d);
  check_ids(p.obstacles, "obstacle", d);
  check_ids(p.loads, "load", d);
  check_ids(p.work_places, "work_place", d);
  check_ids(p.stow_places, "stow_place", d);
  check_ids(p.functions, "function", d);
  check_ids(p.duty, "duty", d);
  if (p.support) check_support(*p.support, d);
  for (Function& f : p.functions) {
    if (f.wants.path.empty()) {  // not in the file
      f.wants.where = f.where;
      f.wants.path = document::child_path(f.path, "wants");
    } else {
      document::expect_table(f.wants, "function", d);
    }
    if (f.wants.kind != Node::Kind::table) {
      Node empty;
      empty.where = f.wants.where;
      empty.path = f.wants.path;
      f.wants = std::move(empty);
    }
  }
  if (p.header.stock.empty()) {
    d.error("project.empty_stock", p.header.stock.where, p.header.stock.path, "stock must name a file", "stock.csv");
    p.header.stock.text = kDefaultStock;
  }
}

std::vector<FieldDoc> fields_with_wants(const std::vector<KindFields>& kinds) {
  std::vector<FieldDoc> fields = project_fields();
  for (FieldDoc& top : fields) {
    if (top.key != "functions") continue;
    for (FieldDoc& f : top.children) {
      if (f.key == "kind") {
        f.type = FieldDoc::Type::choice;
        for (const KindFields& k : kinds) f.choices.push_back(k.name);
      } else if (f.key == "wants") {
        f.variant_key = "kind";
        for (const KindFields& k : kinds) f.variants.push_back({k.name, k.summary, k.wants});
      }
    }
  }
  return fields;
}

}  // namespace

std::string Project::stock_file() const {
  return (std::filesystem::path(folder) / header.stock.text).lexically_normal().string();
}

std::optional<Project> parse_project(std::string_view text, const std::string& file, Diagnostics& diagnostics,
                                     const Rescaling& rescaling) {
  auto root = document::parse_toml(text, file, diagnostics);
  if (!root) return std::nullopt;
  if (rescaling.factor != 1) {
    std::vector<FieldDoc> fields = fields_with_wants(rescaling.kinds);
    // The real machine stays as it is.
    std::erase_if(fields, [](const FieldDoc& f) { return f.key == "real"; });
    document::rescale(*root, fields, rescaling.factor);
  }
  Project out;
  out.file = file;
  out.folder = std::filesystem::path(file).parent_path().string();
  if (out.folder.empty()) out.folder = ".";
  file_fields().read(*root, out, diagnostics);
  finish(out, diagnostics);
  return out;
}

std::string file_of(const std::string& file_or_folder) {
  std::error_code ignored;  // what is wrong with the name is said when the file is opened
  if (!std::filesystem::is_directory(file_or_folder, ignored)) return file_or_folder;
  return (std::filesystem::path(file_or_folder) / "project.toml").string();
}

std::optional<Project> read_project(const std::string& file_or_folder, Diagnostics& diagnostics,
                                    const Rescaling& rescaling) {
  const std::string file = file_of(file_or_folder);
  const auto text = document::read_text_file(file, document::kMostTomlBytes, diagnostics);
  if (!text) return std::nullopt;
  return parse_project(*text, file, diagnostics, rescaling);
}

std::vector<FieldDoc> project_fields() {
  return file_fields().docs();
}

std::string project_schema(const std::vector<KindFields>& kinds) {
  return document::json_schema("Kitwright project", "project.toml: what a model must do, and from which donor kit.",
                               fields_with_wants(kinds));
}

}  // namespace project
