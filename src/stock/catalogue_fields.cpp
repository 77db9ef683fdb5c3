#include "stock/catalogue_fields.h"

#include <fmt/format.h>

#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "base/check.h"
#include "base/text.h"

namespace stock {
namespace {

using document::Diagnostics;
using document::FieldDoc;
using document::FieldOptions;
using document::FieldTable;
using document::Node;

const std::string kPrefix = kCataloguePrefix;

std::vector<std::pair<std::string, Source>> source_choices() {
  std::vector<std::pair<std::string, Source>> out;
  for (const Source s :
       {Source::derived, Source::common_practice, Source::published, Source::measured, Source::invented}) {
    out.emplace_back(std::string(name_of(s)), s);
  }
  return out;
}

std::vector<std::pair<std::string, Family>> family_choices() {
  std::vector<std::pair<std::string, Family>> out;
  for (const Family f : all_families()) out.emplace_back(std::string(name_of(f)), f);
  return out;
}

// ---- figures ---------------------------------------------------------------------------------------------------

struct FigureEntry {
  double nominal = 0;
  std::optional<double> low, high;
  Source source = Source::invented;
  std::string note;
};

FieldTable<FigureEntry> figure_table(const std::string& unit, double low, double high) {
  return FieldTable<FigureEntry>(kPrefix)
      .number("nominal", &FigureEntry::nominal, {unit, low, high, "most likely value", {}})
      .required()
      .number("low", &FigureEntry::low, {unit, low, high, "lowest value; nominal when left out", {}})
      .number("high", &FigureEntry::high, {unit, low, high, "highest value; nominal when left out", {}})
      .choice("source", &FigureEntry::source, source_choices(), {.doc = "where the figure comes from"})
      .required()
      .text("note", &FigureEntry::note, {.doc = "document, formula or reason"});
}

void read_figure(const Node& n, const FieldTable<FigureEntry>& table, const std::string& key, Figure& out,
                 Diagnostics& d) {
  FigureEntry entry;
  if (!table.read(n, entry, d)) return;
  out.value = {entry.low.value_or(entry.nominal), entry.nominal, entry.high.value_or(entry.nominal)};
  out.source = entry.source;
  out.note = entry.note;
  if (!out.value.ordered()) {
    d.error(kPrefix + ".not_ordered", n.where, n.path,
            fmt::format("{} must have low <= nominal <= high, found {}, {}, {}", key, base::plain(out.value.low, 6),
                        base::plain(out.value.nominal, 6), base::plain(out.value.high, 6)));
  }
  if (out.source == Source::published && out.note.empty()) {
    d.error(kPrefix + ".no_document", n.where, n.path,
            fmt::format("{} is said to be published, but no note names the document", key),
            "add note = \"author, title, table\"");
  }
}

/// Adds a required figure of T (D: the struct that holds the member, T itself or a base of it).
template <class T, class D>
void figure(FieldTable<T>& table, const std::string& key, Figure D::*member, const std::string& unit, double low,
            double high, const std::string& doc) {
  auto inner = figure_table(unit, low, high);
  table.custom(key, FieldDoc::Type::table,
               [inner, member, key](const Node& n, const FieldDoc&, const std::string&, T& out, Diagnostics& d) {
                 read_figure(n, inner, key, static_cast<D&>(out).*member, d);
               },
               {unit, low, high, doc, {}});
  table.required();
}

// ---- system.toml -----------------------------------------------------------------------------------------------

FieldTable<CraftFigures> craft_table() {
  FieldTable<CraftFigures> t(kPrefix);
  figure(t, "spur_efficiency", &CraftFigures::spur_efficiency, "", 0.05, 1, "per spur mesh");
  figure(t, "bevel_efficiency", &CraftFigures::bevel_efficiency, "", 0.05, 1, "per bevel mesh");
  figure(t, "crown_efficiency", &CraftFigures::crown_efficiency, "", 0.05, 1, "per crown mesh");
  figure(t, "ring_efficiency", &CraftFigures::ring_efficiency, "", 0.05, 1, "per mesh with a turntable");
  figure(t, "worm_friction", &CraftFigures::worm_friction, "", 0, 1, "coefficient of friction in a worm mesh");
  figure(t, "bearing_loss", &CraftFigures::bearing_loss, "", 0, 0.9, "share of the torque lost per shaft");
  figure(t, "tooth_stress_mpa", &CraftFigures::tooth_stress_mpa, "MPa", 1, 1000, "allowable in the Lewis formula");
  figure(t, "bevel_support", &CraftFigures::bevel_support, "", 0.01, 1,
         "share of the tooth load an unheld bevel keeps");
  figure(t, "crown_support", &CraftFigures::crown_support, "", 0.01, 1,
         "share of the tooth load an unheld crown keeps");
  figure(t, "axle_shear_modulus_mpa", &CraftFigures::axle_shear_modulus_mpa, "MPa", 1, 1e6, "of the axle material");
  figure(t, "axle_shear_stress_mpa", &CraftFigures::axle_shear_stress_mpa, "MPa", 1, 1e4, "allowable in an axle");
  figure(t, "pin_friction", &CraftFigures::pin_friction, "", 0, 2, "coefficient of friction in pins and journals");
  figure(t, "ring_friction", &CraftFigures::ring_friction, "", 0, 2, "coefficient of friction in a turntable");
  figure(t, "rolling_resistance", &CraftFigures::rolling_resistance, "", 0, 1, "of wheels and tracks on a hard floor");
  figure(t, "ground_friction", &CraftFigures::ground_friction, "", 0, 2, "of tyres and tracks on the floor");
  figure(t, "fill_density_g_cm3", &CraftFigures::fill_density_g_cm3, "g/cm3", 0.001, 10,
         "parts per volume of a finished machine's envelope, motors and hubs apart");
  return t;
}

FieldTable<AxleSection> axle_section_table() {
  return FieldTable<AxleSection>(kPrefix)
      .choice("section", &AxleSection::cross, {{"cross", true}, {"round", false}}, {.doc = "shape of the axles"})
      .required()
      .number("width_mm", &AxleSection::width_mm, {"mm", 0.1, 100, "over the arms, or diameter", {}})
      .required()
      .number("arm_mm", &AxleSection::arm_mm, {"mm", 0, 100, "arm thickness of a cross", {}});
}

// ---- parts -----------------------------------------------------------------------------------------------------

/// What every part has, as it stands in the file.
struct Common {
  std::string id, name;
  std::vector<std::string> also;
  base::Triple mass_g;
  std::optional<Source> source, mass_source;
  std::string note;
};
struct Nothing {};
template <class D>
struct Entry : Common, D {};

template <class D>
FieldTable<Entry<D>> entry_table() {
  using E = Entry<D>;
  FieldTable<E> t(kPrefix);
  t.text("id", &Common::id, {.doc = "short name, unique in the kit system: a-z, 0-9 and _"}).required();
  t.text("name", &Common::name, {.doc = "plain words with the numbers that tell it apart"}).required();
  t.texts("also", &Common::also, {.doc = "other plain descriptions that mean the same"});
  t.custom("mass_g", FieldDoc::Type::triple,
           [](const Node& n, const FieldDoc& f, const std::string& p, E& out, Diagnostics& d) {
             if (const auto v = document::read_triple(n, f, p, d)) out.mass_g = *v;
           },
           {"g", 0.001, 100000, "mass of one piece", {}})
      .required();
  t.text("note", &Common::note, {.doc = "where the dimensions come from, when not as the file says"});
  const auto source = [&t](const char* key, std::optional<Source> Common::*member, const char* doc) {
    // The choices stand in the doc text because a custom field has no list of its own.
    t.custom(key, FieldDoc::Type::text,
             [member](const Node& n, const FieldDoc& f, const std::string& p, E& out, Diagnostics& d) {
               FieldDoc with = f;
               const auto choices = source_choices();
               with.type = FieldDoc::Type::choice;
               for (const auto& c : choices) with.choices.push_back(c.first);
               if (const auto i = document::read_choice(n, with, p, d)) out.*member = choices[*i].second;
             },
             {.doc = doc});
  };
  source("source", &Common::source,
         "where the dimensions come from: derived, common_practice, published, measured or invented");
  source("mass_source", &Common::mass_source, "where the mass comes from: the same words");
  return t;
}

constexpr double kTeeth = 400;    // more teeth than any wheel of a kit
constexpr double kPitches = 200;  // longer than any beam of a kit
constexpr double kLength_mm = 20000;

const FieldTable<Entry<Gear>>& gear_table() {
  static const FieldTable<Entry<Gear>> table = [] {
    using E = Entry<Gear>;
    auto t = entry_table<Gear>();
    t.choice(
         "form", static_cast<GearForm E::*>(&Gear::form),
         {{"spur", GearForm::spur}, {"bevel", GearForm::bevel}, {"crown", GearForm::crown}, {"worm", GearForm::worm}},
         {.doc = "how it meshes"})
        .required();
    t.integer("teeth", &Gear::teeth, {"", 1, kTeeth, "number of teeth; worm: number of starts", {}}).required();
    t.number("face_width_mm", &Gear::face_width_mm, {"mm", 0.1, 200, "width of the teeth", {}}).required();
    t.number("pitch_diameter_mm", &Gear::pitch_diameter_mm, {"mm", 0.1, 200, "worm only", {}});
    t.boolean("bevelled_too", &Gear::bevelled_too, {.doc = "a spur gear that also meshes its like at a right angle"});
    return t;
  }();
  return table;
}

const FieldTable<Entry<Ring>>& ring_table() {
  static const FieldTable<Entry<Ring>> table = [] {
    auto t = entry_table<Ring>();
    t.integer("outer_teeth", &Ring::outer_teeth, {"", 0, kTeeth, "teeth outside; 0 = none", {}});
    t.integer("inner_teeth", &Ring::inner_teeth, {"", 0, kTeeth, "teeth inside; 0 = none", {}});
    t.number("face_width_mm", &Ring::face_width_mm, {"mm", 0.1, 200, "width of the teeth", {}}).required();
    t.number("bearing_radius_mm", &Ring::bearing_radius_mm, {"mm", 0.1, 1000, "where the halves slide", {}}).required();
    return t;
  }();
  return table;
}

const FieldTable<Entry<Rack>>& rack_table() {
  static const FieldTable<Entry<Rack>> table = [] {
    auto t = entry_table<Rack>();
    t.integer("teeth", &Rack::teeth, {"", 1, 1000, "number of teeth", {}}).required();
    t.number("length_mm", &Rack::length_mm, {"mm", 0.1, kLength_mm, "toothed length", {}}).required();
    t.number("face_width_mm", &Rack::face_width_mm, {"mm", 0.1, 200, "width of the teeth", {}}).required();
    return t;
  }();
  return table;
}

const FieldTable<Entry<Differential>>& differential_table() {
  static const FieldTable<Entry<Differential>> table = [] {
    auto t = entry_table<Differential>();
    t.integer("outer_teeth", &Differential::outer_teeth, {"", 1, kTeeth, "teeth outside", {}}).required();
    t.number("face_width_mm", &Differential::face_width_mm, {"mm", 0.1, 200, "width of the teeth", {}}).required();
    t.boolean("bevelled_too", &Differential::bevelled_too, {.doc = "also meshes a bevel at a right angle"});
    t.integer("inner_teeth", &Differential::inner_teeth, {"", 1, kTeeth, "teeth of the bevels inside", {}}).required();
    t.integer("inner_bevels", &Differential::inner_bevels, {"", 2, 6, "how many bevels sit inside", "3"});
    return t;
  }();
  return table;
}

const FieldTable<Entry<Axle>>& axle_table() {
  static const FieldTable<Entry<Axle>> table = [] {
    auto t = entry_table<Axle>();
    t.integer("length_p", &Axle::length_p, {"p", 1, kPitches, "length in pitches", {}}).required();
    t.boolean("with_stop", &Axle::with_stop, {.doc = "has a head at one end"});
    return t;
  }();
  return table;
}

const FieldTable<Entry<Bush>>& bush_table() {
  static const FieldTable<Entry<Bush>> table = [] {
    auto t = entry_table<Bush>();
    t.number("length_p", &Bush::length_p, {"p", 0.01, kPitches, "length along the axle, in pitches", {}});
    return t;
  }();
  return table;
}

const FieldTable<Entry<Bush>>& joiner_table() {
  static const FieldTable<Entry<Bush>> table = [] {
    auto t = entry_table<Bush>();
    t.number("length_p", &Bush::length_p,
             {"p",
              0.01,
              kPitches,
              "length of a rigid sleeve along its axles, in pitches; without, drives do not use it",
              {}});
    return t;
  }();
  return table;
}

const FieldTable<Entry<Beam>>& beam_table() {
  static const FieldTable<Entry<Beam>> table = [] {
    auto t = entry_table<Beam>();
    t.integer("length_p", &Beam::length_p, {"p", 1, kPitches, "holes in a row", {}}).required();
    t.integer("width_p", &Beam::width_p, {"p", 1, kPitches, "rows", "1"});
    t.number("thickness_p", &Beam::thickness_p, {"p", 0.01, 10, "thickness", "1"});
    return t;
  }();
  return table;
}

const FieldTable<FixingHole>& fixing_hole_table() {
  static const FieldTable<FixingHole> table = [] {
    FieldTable<FixingHole> t(kPrefix);
    t.point3("at_p", &FixingHole::at_p,
             {"p", -kPitches, kPitches, "where its pin beds, from the middle of the body: along, across, up", {}})
        .required();
    std::vector<std::pair<std::string, HoleAxis>> axes;
    for (const HoleAxis a : {HoleAxis::along, HoleAxis::across, HoleAxis::up})
      axes.emplace_back(std::string(name_of(a)), a);
    t.choice("axis", &FixingHole::axis, std::move(axes), {.doc = "which way its pin goes in"}).required();
    return t;
  }();
  return table;
}

/// Adds the list of fixing holes of a body.
template <class D>
void fixing_holes(FieldTable<Entry<D>>& table) {
  table.custom(
      "fixing_holes", FieldDoc::Type::tables,
      [](const Node& n, const FieldDoc& f, const std::string& p, Entry<D>& out, Diagnostics& d) {
        if (!document::expect_array(n, f, p, d)) return;
        out.fixing_holes.emplace();
        for (const Node& item : n.items) fixing_hole_table().read(item, out.fixing_holes->emplace_back(), d);
      },
      {.doc = "holes by which it can be part of a frame; [] = none",
       .default_text = "assumed: across, two at each corner a pitch apart, half a pitch above the lower edge"});
}

const FieldTable<Entry<Motor>>& motor_table() {
  static const FieldTable<Entry<Motor>> table = [] {
    auto t = entry_table<Motor>();
    t.number("nominal_voltage_v", &Motor::nominal_voltage_v, {"V", 0.5, 48, "voltage of the figures", {}}).required();
    figure(t, "stall_torque_nmm", &Motor::stall_torque_nmm, "N mm", 0.1, 1e6, "at the output, nominal voltage");
    figure(t, "no_load_speed_rpm", &Motor::no_load_speed_rpm, "rpm", 0.1, 1e6, "at the output, nominal voltage");
    figure(t, "no_load_current_ma", &Motor::no_load_current_ma, "mA", 0, 1e5, "running free");
    figure(t, "stall_current_ma", &Motor::stall_current_ma, "mA", 1, 1e5, "held fast");
    t.integer("length_p", &Motor::length_p, {"p", 1, kPitches, "along the output shaft", {}}).required();
    t.integer("width_p", &Motor::width_p, {"p", 1, kPitches, "", {}}).required();
    t.integer("height_p", &Motor::height_p, {"p", 1, kPitches, "", {}}).required();
    t.number("lead_mm", &Motor::lead_mm, {"mm", 1, 2000, "its own lead to the hub; left out = not told", {}});
    fixing_holes(t);
    return t;
  }();
  return table;
}

const FieldTable<Entry<Hub>>& hub_table() {
  static const FieldTable<Entry<Hub>> table = [] {
    auto t = entry_table<Hub>();
    t.integer("ports", &Hub::ports, {"", 1, 64, "sockets for motors", {}}).required();
    t.integer("channels", &Hub::channels, {"", 1, 64, "outputs that can be driven apart", {}}).required();
    t.number("voltage_v", &Hub::voltage_v, {"V", 0.5, 48, "open circuit, fresh cells", {}}).required();
    t.number("port_current_ma", &Hub::port_current_ma, {"mA", 1, 1e5, "limit of one port", {}}).required();
    t.number("total_current_ma", &Hub::total_current_ma, {"mA", 1, 1e5, "limit of all ports together", {}}).required();
    figure(t, "internal_resistance_ohm", &Hub::internal_resistance_ohm, "ohm", 0, 100, "of the cells and contacts");
    figure(t, "capacity_mah", &Hub::capacity_mah, "mAh", 1, 1e6, "of the cells");
    t.choice("chemistry", static_cast<Chemistry Entry<Hub>::*>(&Hub::chemistry),
             {{"alkaline", Chemistry::alkaline}, {"nimh", Chemistry::nimh}, {"li_ion", Chemistry::li_ion}},
             {.doc = "what the cells are made of", .default_text = "alkaline"});
    t.integer("cells", &Hub::cells, {"", 1, 64, "cells in series; left out = as many as give the voltage", {}});
    t.integer("length_p", &Hub::length_p, {"p", 1, kPitches, "", {}}).required();
    t.integer("width_p", &Hub::width_p, {"p", 1, kPitches, "", {}}).required();
    t.integer("height_p", &Hub::height_p, {"p", 1, kPitches, "", {}}).required();
    fixing_holes(t);
    return t;
  }();
  return table;
}

const FieldTable<Entry<Cable>>& cable_table() {
  static const FieldTable<Entry<Cable>> table = [] {
    auto t = entry_table<Cable>();
    t.number("length_mm", &Cable::length_mm, {"mm", 1, 5000, "by which it makes a motor's lead longer", {}}).required();
    return t;
  }();
  return table;
}

const FieldTable<Entry<Actuator>>& actuator_table() {
  static const FieldTable<Entry<Actuator>> table = [] {
    auto t = entry_table<Actuator>();
    t.number("closed_mm", &Actuator::closed_mm, {"mm", 1, kLength_mm, "pin to pin, shortest", {}}).required();
    t.number("open_mm", &Actuator::open_mm, {"mm", 1, kLength_mm, "pin to pin, longest", {}}).required();
    t.number("lead_mm", &Actuator::lead_mm, {"mm", 0.01, 100, "travel per turn of the input", {}}).required();
    t.number("thread_mean_diameter_mm", &Actuator::thread_mean_diameter_mm, {"mm", 0.1, 100, "", {}}).required();
    figure(t, "thread_friction", &Actuator::thread_friction, "", 0, 1, "coefficient of friction in the thread");
    figure(t, "max_force_n", &Actuator::max_force_n, "N", 0.1, 1e5, "what the body and its clutch hold");
    return t;
  }();
  return table;
}

const FieldTable<Entry<Wheel>>& wheel_table() {
  static const FieldTable<Entry<Wheel>> table = [] {
    auto t = entry_table<Wheel>();
    t.number("diameter_mm", &Wheel::diameter_mm, {"mm", 1, 1000, "over the tyre", {}}).required();
    t.number("width_mm", &Wheel::width_mm, {"mm", 0.1, 1000, "of the tyre", {}}).required();
    return t;
  }();
  return table;
}

const FieldTable<Entry<Sprocket>>& sprocket_table() {
  static const FieldTable<Entry<Sprocket>> table = [] {
    auto t = entry_table<Sprocket>();
    t.integer("teeth", &Sprocket::teeth, {"", 3, kTeeth, "number of teeth", {}}).required();
    t.number("pitch_radius_mm", &Sprocket::pitch_radius_mm, {"mm", 0.1, 1000, "pitch / (2 sin(180 deg / teeth))", {}})
        .required();
    return t;
  }();
  return table;
}

const FieldTable<Entry<TrackLink>>& track_link_table() {
  static const FieldTable<Entry<TrackLink>> table = [] {
    auto t = entry_table<TrackLink>();
    t.number("pitch_mm", &TrackLink::pitch_mm, {"mm", 0.1, 1000, "joint to joint", {}}).required();
    t.number("width_mm", &TrackLink::width_mm, {"mm", 0.1, 1000, "across the track", {}}).required();
    return t;
  }();
  return table;
}

const FieldTable<Entry<Drum>>& drum_table() {
  static const FieldTable<Entry<Drum>> table = [] {
    auto t = entry_table<Drum>();
    t.number("core_diameter_mm", &Drum::core_diameter_mm, {"mm", 0.1, 1000, "bare", {}}).required();
    t.number("flange_diameter_mm", &Drum::flange_diameter_mm, {"mm", 0.1, 1000, "of the rims", {}}).required();
    t.number("width_mm", &Drum::width_mm, {"mm", 0.1, 1000, "between the rims", {}}).required();
    return t;
  }();
  return table;
}

const FieldTable<Entry<Rope>>& rope_table() {
  static const FieldTable<Entry<Rope>> table = [] {
    auto t = entry_table<Rope>();
    t.number("length_mm", &Rope::length_mm, {"mm", 1, 1e6, "", {}}).required();
    t.number("diameter_mm", &Rope::diameter_mm, {"mm", 0.01, 100, "", {}}).required();
    t.number("strength_n", &Rope::strength_n, {"N", 0.1, 1e6, "load at which a knot gives", {}}).required();
    return t;
  }();
  return table;
}

const FieldTable<Entry<Nothing>>& plain_table() {
  static const FieldTable<Entry<Nothing>> table = entry_table<Nothing>();
  return table;
}

/// Calls `use` with the table of a family.
template <class Use>
auto with_table(Family family, Use use) {
  switch (family) {
    case Family::gear:
      return use(gear_table());
    case Family::ring:
      return use(ring_table());
    case Family::rack:
      return use(rack_table());
    case Family::differential:
      return use(differential_table());
    case Family::axle:
      return use(axle_table());
    case Family::bush:
      return use(bush_table());
    case Family::beam:
    case Family::frame:
    case Family::plate:
    case Family::bracket:
    case Family::panel:
      return use(beam_table());
    case Family::motor:
      return use(motor_table());
    case Family::hub:
      return use(hub_table());
    case Family::actuator:
      return use(actuator_table());
    case Family::wheel:
      return use(wheel_table());
    case Family::sprocket:
      return use(sprocket_table());
    case Family::track_link:
      return use(track_link_table());
    case Family::drum:
      return use(drum_table());
    case Family::rope:
      return use(rope_table());
    case Family::cable:
      return use(cable_table());
    case Family::joiner:
      return use(joiner_table());
    case Family::connector:
    case Family::pin:
    case Family::cell:
    case Family::hook:
    case Family::trim:
      break;
  }
  return use(plain_table());
}

// ---- checks between keys ---------------------------------------------------------------------------------------

struct Checker {
  const Node& node;
  Diagnostics& d;
  void fail(const char* key, const std::string& message, const std::string& hint = {}) const {
    const Node* at = node.find(key);
    d.error(kPrefix + ".inconsistent", at != nullptr ? at->where : node.where, document::child_path(node.path, key),
            message, hint);
  }

  /// Holes of a body of `size_p` along, across and up. A hole opens to the face it is next to along its axis.
  void check_holes(const std::vector<FixingHole>& holes, const std::array<int, 3>& size_p) const {
    constexpr double kSlack_p = 1e-6;
    const Node& list = *node.find("fixing_holes");
    const auto text = [](const std::array<double, 3>& at) {
      return fmt::format("[{}, {}, {}]", base::plain(at[0]), base::plain(at[1]), base::plain(at[2]));
    };
    std::map<std::array<long, 4>, std::size_t> seen;
    std::set<long> places;
    for (std::size_t i = 0; i < holes.size(); ++i) {
      const FixingHole& hole = holes[i];
      const Node& at = *list.items[i].find("at_p");
      const auto axis = static_cast<std::size_t>(hole.axis);
      const auto beyond = [&](std::size_t k, double edge_p) { return std::fabs(hole.at_p[k]) > edge_p + kSlack_p; };
      if (beyond(0, size_p[0] / 2.0) || beyond(1, size_p[1] / 2.0) || beyond(2, size_p[2] / 2.0)) {
        d.error(kPrefix + ".hole_outside", at.where, at.path,
                fmt::format("a hole at {} p lies outside a body of {} x {} x {} p", text(hole.at_p), size_p[0],
                            size_p[1], size_p[2]),
                fmt::format("count from its middle: at most {} along, {} across, {} up to either side",
                            base::plain(size_p[0] / 2.0), base::plain(size_p[1] / 2.0), base::plain(size_p[2] / 2.0)));
      } else if (std::fabs(hole.at_p[axis]) < size_p[axis] / 2.0 - 1 - kSlack_p) {
        d.error(kPrefix + ".hole_too_deep", at.where, at.path,
                fmt::format("a hole {} at {} p lies more than a pitch below the faces it could open to",
                            name_of(hole.axis), text(hole.at_p)),
                "a hole right through the body is given twice, once at either face");
      }
      const auto micro = [&](std::size_t k) { return std::lround(hole.at_p[k] * 1e6); };
      const auto [first, fresh] = seen.emplace(std::array{micro(0), micro(1), micro(2), static_cast<long>(axis)}, i);
      if (!fresh) {
        d.error(kPrefix + ".duplicate_hole", at.where, at.path,
                fmt::format("the hole {} at {} p is given twice; first at {}:{}", name_of(hole.axis), text(hole.at_p),
                            list.items[first->second].where.file, list.items[first->second].where.line),
                "leave one of them out");
      }
      places.insert(micro(0));
    }
    if (places.size() < 2) {
      d.warning(kPrefix + ".cannot_bear", list.where, list.path,
                fmt::format("{} has fixing holes at {} along it: it can be no part of a frame",
                            document::quoted(node.find("id")->text), places.empty() ? "no place" : "one place only"),
                "holes in both halves, where the body has them");
    }
  }

  void operator()(const std::monostate&) const {}
  void operator()(const Gear& g) const {
    const bool worm = g.form == GearForm::worm;
    if (worm && g.pitch_diameter_mm <= 0) fail("pitch_diameter_mm", "a worm needs its pitch_diameter_mm");
    if (!worm && g.pitch_diameter_mm > 0) {
      fail("pitch_diameter_mm", "only a worm has a pitch_diameter_mm; other wheels have module times teeth");
    }
    if (!worm && g.teeth < 5) fail("teeth", fmt::format("a wheel with {} teeth cannot mesh", g.teeth));
    if (worm && g.teeth > 8) fail("teeth", fmt::format("a worm with {} starts is no worm", g.teeth));
    if (g.bevelled_too && g.form != GearForm::spur) fail("bevelled_too", "only a spur gear can be bevelled too");
  }
  void operator()(const Ring& r) const {
    if (r.outer_teeth == 0 && r.inner_teeth == 0) fail("outer_teeth", "a turntable needs outer_teeth or inner_teeth");
    if (r.outer_teeth > 0 && r.inner_teeth >= r.outer_teeth) {
      fail("inner_teeth", fmt::format("{} inner teeth do not fit inside {} outer ones", r.inner_teeth, r.outer_teeth));
    }
  }
  void operator()(const Motor& m) const {
    if (m.no_load_current_ma.value.high >= m.stall_current_ma.value.low) {
      fail("no_load_current_ma", "the no-load current must be below the stall current");
    }
    if (m.fixing_holes) check_holes(*m.fixing_holes, {m.length_p, m.width_p, m.height_p});
  }
  void operator()(const Hub& h) const {
    if (h.channels > h.ports) fail("channels", fmt::format("{} channels on {} ports", h.channels, h.ports));
    if (h.total_current_ma < h.port_current_ma) {
      fail("total_current_ma", "all ports together must carry at least what one port carries");
    }
    if (h.fixing_holes) check_holes(*h.fixing_holes, {h.length_p, h.width_p, h.height_p});
  }
  void operator()(const Actuator& a) const {
    if (a.open_mm <= a.closed_mm) fail("open_mm", "open_mm must be greater than closed_mm");
    if (a.open_mm >= 2 * a.closed_mm) {
      fail("open_mm", "a single screw cannot more than double its closed length",
           fmt::format("open_mm below {}", base::plain(2 * a.closed_mm)));
    }
  }
  void operator()(const Drum& x) const {
    if (x.flange_diameter_mm <= x.core_diameter_mm) fail("flange_diameter_mm", "the rims must stand above the core");
  }
  void operator()(const Cable&) const {}
  void operator()(const Rack&) const {}
  void operator()(const Differential&) const {}
  void operator()(const Axle&) const {}
  void operator()(const Bush&) const {}
  void operator()(const Beam&) const {}
  void operator()(const Wheel&) const {}
  void operator()(const Sprocket&) const {}
  void operator()(const TrackLink&) const {}
  void operator()(const Rope&) const {}
};

bool good_id(const std::string& id) {
  return !id.empty() && id.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_") == std::string::npos;
}

template <class D>
bool read_entry(const Node& node, const FieldTable<Entry<D>>& table, const PartsFile& file, PartClass& out,
                Diagnostics& diagnostics) {
  Entry<D> entry;
  Diagnostics own;
  const bool good = table.read(node, entry, own);
  out.family = file.family;
  out.id = entry.id;
  out.name = entry.name;
  out.also = entry.also;
  out.source = entry.source.value_or(file.source);
  out.note = entry.note.empty() ? file.note : entry.note;
  const Node* mass = node.find("mass_g");
  out.mass_g.value = mass != nullptr && mass->is_number() ? base::Triple::spread(entry.mass_g.nominal, file.mass_spread)
                                                          : entry.mass_g;
  out.mass_g.source = entry.mass_source.value_or(file.mass_source);
  out.mass_g.note = file.note;
  if constexpr (!std::is_same_v<D, Nothing>) out.data = static_cast<const D&>(entry);
  if (good) {
    const Checker check{node, own};
    if (!good_id(out.id)) {
      check.fail("id", fmt::format("{} is not an id", document::quoted(out.id)), "only a-z, 0-9 and _");
    }
    if (base::trimmed(out.name).empty()) check.fail("name", "the name is empty");
    std::visit(check, out.data);
  }
  const bool clean = !own.has_errors();
  diagnostics.add_all(own);
  return clean;
}

/// Fields with a reader of their own carry no keys and choices; the schema needs them.
void complete(std::vector<FieldDoc>& docs) {
  for (FieldDoc& f : docs) {
    if (f.key == "source" || f.key == "mass_source") {
      f.type = FieldDoc::Type::choice;
      f.choices.clear();
      for (const auto& c : source_choices()) f.choices.push_back(c.first);
    } else if (f.type == FieldDoc::Type::tables && f.children.empty()) {
      f.children = fixing_hole_table().docs();
    } else if (f.type == FieldDoc::Type::table && f.children.empty()) {
      f.children = figure_table(f.unit, f.low, f.high).docs();
    } else {
      complete(f.children);
    }
  }
}

}  // namespace

const FieldTable<KitSystem>& system_table() {
  static const FieldTable<KitSystem> table =
      FieldTable<KitSystem>(kPrefix)
          .text("id", &KitSystem::id, {.doc = "the name of its folder"})
          .required()
          .text("name", &KitSystem::name, {.doc = "plain words"})
          .required()
          .number("pitch_mm", &KitSystem::pitch_mm, {"mm", 1, 100, "distance of neighbouring holes", {}})
          .required()
          .number("module_mm", &KitSystem::module_mm, {"mm", 0.1, 10, "of all toothed wheels", {}})
          .required()
          .number("pressure_angle_deg", &KitSystem::pressure_angle_deg, {"deg", 10, 30, "of the teeth", "20"})
          .number("addendum", &KitSystem::addendum, {"", 0.1, 2, "in modules", "1"})
          .number("dedendum", &KitSystem::dedendum, {"", 0.1, 3, "in modules", "1.25"})
          .number("max_misfit_mm", &KitSystem::max_misfit_mm,
                  {"mm", 0, 5, "centre distances further off than this are not proposed", {}})
          .required()
          .table("axle", &KitSystem::axle, axle_section_table(), {.doc = "cross-section of the axles"})
          .required()
          .table("craft", &KitSystem::craft, craft_table(), {.doc = "how trains and bearings behave"})
          .required()
          .choice("source", &KitSystem::source, source_choices(), {.doc = "of pitch, module, tooth form and axle"})
          .required()
          .text("note", &KitSystem::note, {.doc = "document or reason"});
  return table;
}

const FieldTable<PartsFile>& parts_file_table() {
  static const FieldTable<PartsFile> table =
      FieldTable<PartsFile>(kPrefix)
          .choice("family", &PartsFile::family, family_choices(), {.doc = "what all parts of this file are"})
          .required()
          .choice("source", &PartsFile::source, source_choices(), {.doc = "where the dimensions come from"})
          .required()
          .text("note", &PartsFile::note, {.doc = "document, formula or reason"})
          .choice("mass_source", &PartsFile::mass_source, source_choices(), {.doc = "where the masses come from"})
          .required()
          .number("mass_spread", &PartsFile::mass_spread, {"", 0, 0.9, "relative half-width of the masses", "0.1"})
          .opaque("part", &PartsFile::parts, {.doc = "the parts, one [[part]] each"})
          .required();
  return table;
}

bool read_part(const Node& node, const PartsFile& file, PartClass& out, Diagnostics& diagnostics) {
  return with_table(file.family, [&](const auto& table) { return read_entry(node, table, file, out, diagnostics); });
}

std::vector<FieldDoc> part_docs(Family family) {
  auto docs = with_table(family, [](const auto& table) { return table.docs(); });
  complete(docs);
  return docs;
}

std::vector<FieldDoc> system_docs() {
  auto docs = system_table().docs();
  complete(docs);
  return docs;
}

}  // namespace stock
