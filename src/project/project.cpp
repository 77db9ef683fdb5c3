#include "project/project.h"

#include <fmt/format.h>

#include <filesystem>
#include <map>
#include <string_view>
#include <system_error>

#include "document/schema.h"
#include "document/toml_reader.h"

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
              {.unit = "mm", .low = 1, .high = kMostLengthMm, .doc = "length, width and height it must stay within"});
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

void read_reserved_part(const Node& n, const FieldDoc& f, const std::string& prefix, Reserve& out, Diagnostics& d) {
  auto names = document::read_located_texts(n, f, prefix, d);
  if (!names) return;
  if (names->empty()) d.error(prefix + ".no_part", n.where, n.path, "part names nothing", "at least one part class");
  out.part = std::move(*names);
}

const FieldTable<Reserve>& reserve_fields() {
  static const FieldTable<Reserve> table =
      FieldTable<Reserve>("reserve")
          .custom("part", FieldDoc::Type::text_list, read_reserved_part,
                  {.doc = "part class, or several of which any serves"})
          .required()
          .integer("count", &Reserve::count, {.low = 1, .high = 100'000, .doc = "how many", .default_text = "1"})
          .text("colour", &Reserve::colour, {.doc = "only in this colour; left out = any"})
          .text("reason", &Reserve::reason, {.doc = "what they are kept for"})
          .text("body", &Reserve::body, {.doc = "body they are built into; left out = chassis"})
          .place(&Reserve::where, &Reserve::path);
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
          .tables("placed", &Project::placed, placed_fields(),
                  {.doc = "things at a place of their own that no function chooses: cells, switches, seats"})
          .tables("openables", &Project::openables, openable_fields(), {.doc = "doors, covers and flaps on hinges"})
          .tables("functions", &Project::functions, function_fields(), {.doc = "what the machine shall do"});
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

void finish(Project& p, Diagnostics& d) {
  check_ids(p.bodies, "body", d);
  check_ids(p.placed, "placed", d);
  check_ids(p.openables, "openable", d);
  check_ids(p.functions, "function", d);
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

}  // namespace

std::string Project::stock_file() const {
  return (std::filesystem::path(folder) / header.stock.text).lexically_normal().string();
}

std::optional<Project> parse_project(std::string_view text, const std::string& file, Diagnostics& diagnostics) {
  const auto root = document::parse_toml(text, file, diagnostics);
  if (!root) return std::nullopt;
  Project out;
  out.file = file;
  out.folder = std::filesystem::path(file).parent_path().string();
  if (out.folder.empty()) out.folder = ".";
  file_fields().read(*root, out, diagnostics);
  finish(out, diagnostics);
  return out;
}

std::optional<Project> read_project(const std::string& file_or_folder, Diagnostics& diagnostics) {
  std::error_code ignored;  // what is wrong with the name is said when the file is opened
  std::string file = file_or_folder;
  if (std::filesystem::is_directory(file_or_folder, ignored)) {
    file = (std::filesystem::path(file_or_folder) / "project.toml").string();
  }
  const auto text = document::read_text_file(file, document::kMostTomlBytes, diagnostics);
  if (!text) return std::nullopt;
  return parse_project(*text, file, diagnostics);
}

std::vector<FieldDoc> project_fields() {
  return file_fields().docs();
}

std::string project_schema(const std::vector<KindFields>& kinds) {
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
  return document::json_schema("Kitwright project", "project.toml: what a model must do, and from which donor kit.",
                               fields);
}

}  // namespace project
