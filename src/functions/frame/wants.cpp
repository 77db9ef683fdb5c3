#include "functions/frame/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/text.h"
#include "document/fields.h"
#include "functions/drive/wants_reader.h"

namespace functions::frame {
namespace {

const document::FieldTable<Wants>& table() {
  using document::FieldTable;
  static const FieldTable<Wants> kTable =
      FieldTable<Wants>("frame")
          .text("part", &Wants::part, {.doc = "motor or hub of the kit system that carries"})
          .required()
          .text("of", &Wants::of,
                {.doc = "motor: function whose motor it is, which must_use it; left out = one of its own"})
          .number("load_g", &Wants::load_g,
                  {.unit = "g", .low = 0.1, .high = 20000, .doc = "mass that it carries, what moves with it included"})
          .required()
          .point3("load_at_mm", &Wants::load_at_mm,
                  {.unit = "mm",
                   .low = -2000,
                   .high = 2000,
                   .doc = "where that mass acts, from the middle of the part: along its length, across, up"})
          .required()
          .number("side_n", &Wants::side_n,
                  {.unit = "N", .low = 0, .high = 500, .doc = "force across, at the same place", .default_text = "0"})
          .boolean("upright", &Wants::upright,
                   {.doc = "its length stands upright with the load on top", .default_text = "false"})
          .number("sag_mm", &Wants::sag_mm,
                  {.unit = "mm", .low = 0.001, .high = 100, .doc = "the load sinks by, at most", .default_text = "1"})
          .number("sway_mm", &Wants::sway_mm,
                  {.unit = "mm",
                   .low = 0.001,
                   .high = 100,
                   .doc = "it moves across under side_n by, at most",
                   .default_text = "1"})
          .integer("beams", &Wants::beams,
                   {.low = 0,
                    .high = 2,
                    .doc = "beams that may be tied along either side of it, on the same pins",
                    .default_text = "2"})
          .points(
              "holes_p", &Wants::holes_p,
              {.unit = "p",
               .low = -20,
               .high = 20,
               .doc = "fixing holes that may be used, from its middle: along, across, up; those with along <= 0 are "
                      "held. The pin goes across, unless the catalogue tells it otherwise of a hole there",
               .default_text = "those of the catalogue; where it tells none eight across, two at each corner a "
                               "pitch apart, half a pitch above the lower edge"})
          .triple("wall_mm", &Wants::wall_mm,
                  {.unit = "mm",
                   .low = 0.2,
                   .high = 10,
                   .doc = "wall of its housing, as measured",
                   .default_text = "{ low = 1, nominal = 1.5, high = 2 }"});
  return kTable;
}

/// Why the holes cannot bear: what is wrong with the half that holds or the half that carries; empty when they can.
std::string cannot_bear(const std::vector<structure::FixingHole>& holes) {
  for (const bool far : {false, true}) {
    std::vector<structure::FixingHole> half;
    std::copy_if(holes.begin(), holes.end(), std::back_inserter(half),
                 [&](const structure::FixingHole& h) { return (h.at_mm[0] > 0) == far; });
    const std::string which = far ? "the half that carries (along > 0)" : "the half that is held (along <= 0)";
    if (half.empty()) return fmt::format("{} has no fixing hole", which);
    if (half.size() == 1) return fmt::format("{} has one fixing hole only: it turns about its pin", which);
    if (!structure::hold_firmly(half))
      return fmt::format("the holes of {} lie in one line: it turns about them", which);
  }
  return {};
}

/// The hole that stands there; null: none does.
const structure::FixingHole* nearby(const std::vector<structure::FixingHole>& known, const std::array<double, 3>& at_p,
                                    double pitch_mm) {
  const auto same = std::find_if(known.begin(), known.end(), [&](const structure::FixingHole& k) {
    return std::hypot(k.at_mm[0] - at_p[0] * pitch_mm, k.at_mm[1] - at_p[1] * pitch_mm,
                      k.at_mm[2] - at_p[2] * pitch_mm) < 1e-3;
  });
  return same == known.end() ? nullptr : &*same;
}

/// The holes of the wants; one that the catalogue tells too has its axis.
std::vector<structure::FixingHole> told_holes(const std::vector<std::array<double, 3>>& holes_p,
                                              const std::vector<structure::FixingHole>& known, double pitch_mm) {
  std::vector<structure::FixingHole> out;
  for (const auto& h : holes_p) {
    structure::FixingHole hole{{h[0] * pitch_mm, h[1] * pitch_mm, h[2] * pitch_mm}, {0, 1, 0}};
    if (const structure::FixingHole* same = nearby(known, h, pitch_mm)) hole.axis = same->axis;
    out.push_back(hole);
  }
  return out;
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
  const drive::WantsErrors error(fn, own);
  if (!own.has_errors()) {
    const auto id = brief.catalogue->find(wants->part);
    const auto* motor = id ? std::get_if<stock::Motor>(&brief.catalogue->at(*id).data) : nullptr;
    const auto* hub = id ? std::get_if<stock::Hub>(&brief.catalogue->at(*id).data) : nullptr;
    if (motor == nullptr && hub == nullptr) {
      std::vector<std::string> names;
      for (const stock::Family family : {stock::Family::motor, stock::Family::hub})
        for (const stock::ClassId c : brief.catalogue->of(family)) names.push_back(brief.catalogue->at(c).id);
      const auto near = base::nearest_name(wants->part, names);
      error("unknown_part", "part",
            fmt::format("{} is no motor or hub of this kit system", document::quoted(wants->part)),
            near ? document::quoted(*near) : "one of " + document::choices_text(names));
    } else {
      wants->carrier = *id;
      const double mass_g = brief.catalogue->at(*id).mass_g.value.nominal, pitch_mm = brief.system().pitch_mm;
      const bool sized = motor != nullptr ? motor->length_p > 0 && motor->width_p > 0 && motor->height_p > 0
                                          : hub->length_p > 0 && hub->width_p > 0 && hub->height_p > 0;
      if (!sized) {
        error("no_size", "part", fmt::format("the catalogue does not tell the size of {}", wants->part),
              "length_p, width_p and height_p of the part");
      } else {
        wants->shape = motor != nullptr ? structure::motor_body(*motor, mass_g, pitch_mm)
                                        : structure::hub_body(*hub, mass_g, pitch_mm);
        if (wants->wall_mm) wants->shape.wall_mm = *wants->wall_mm;
        const auto& told = motor != nullptr ? motor->fixing_holes : hub->fixing_holes;
        wants->holes = structure::fixing_holes(told, wants->shape, pitch_mm);
        if (told) wants->holes_from = HolesFrom::catalogue;
        if (!wants->holes_p.empty()) {
          for (const auto& h : wants->holes_p) {
            if (told && !nearby(wants->holes, h, pitch_mm)) wants->unknown_holes_p.push_back(h);
          }
          wants->holes = told_holes(wants->holes_p, wants->holes, pitch_mm);
          wants->holes_from = HolesFrom::wants;
        }
      }
    }
    if (hub != nullptr) {
      const auto& hubs = brief.supply.hubs;
      wants->shared = std::find(hubs.begin(), hubs.end(), wants->carrier) != hubs.end();
      if (!wants->of.empty()) error("of_a_hub", "of", "a hub belongs to no function", "leave it out");
    } else if (motor != nullptr && !wants->of.empty()) {
      const auto other = std::find_if(brief.functions.begin(), brief.functions.end(),
                                      [&](const brief::Function& f) { return f.id == wants->of; });
      if (other == brief.functions.end()) {
        std::vector<std::string> ids;
        for (const brief::Function& f : brief.functions) ids.push_back(f.id);
        const auto near = base::nearest_name(wants->of, ids);
        error("unknown_function", "of", fmt::format("there is no function {}", document::quoted(wants->of)),
              near ? document::quoted(*near) : "a function's id");
      } else if (std::find(other->must_use.begin(), other->must_use.end(), wants->carrier) == other->must_use.end()) {
        error("not_its_motor", "of",
              fmt::format("{} may be given another motor than {}", document::quoted(wants->of), wants->part),
              fmt::format("must_use = [\"{}\"] in that function", wants->part));
      } else {
        wants->shared = true;
      }
    }
  }
  if (!own.has_errors()) {
    const structure::BodyShape& s = wants->shape;
    const double pitch_mm = brief.system().pitch_mm;
    const bool own_holes = wants->holes_from == HolesFrom::wants;
    for (const structure::FixingHole& h : wants->holes) {
      if (!own_holes || (std::fabs(h.at_mm[0]) <= s.length_mm / 2 && std::fabs(h.at_mm[1]) <= s.width_mm / 2 &&
                         std::fabs(h.at_mm[2]) <= s.height_mm / 2 && std::hypot(h.at_mm[1], h.at_mm[2]) > 1e-3))
        continue;
      error("hole_outside", "holes_p",
            fmt::format("a hole at [{}, {}, {}] p is not on the side of a part of {} x {} x {} p",
                        base::plain(h.at_mm[0] / pitch_mm), base::plain(h.at_mm[1] / pitch_mm),
                        base::plain(h.at_mm[2] / pitch_mm), base::plain(s.length_mm / pitch_mm),
                        base::plain(s.width_mm / pitch_mm), base::plain(s.height_mm / pitch_mm)),
            "count from its middle, off the middle line");
      break;
    }
    if (const std::string why = cannot_bear(wants->holes); !why.empty()) {
      if (own_holes)
        error("turns_on_pins", "holes_p", why, "two holes apart in each half, along or up");
      else
        error("cannot_bear", "part",
              fmt::format("{} can be no part of a frame: {}", document::quoted(wants->part), why),
              "another motor or hub, or holes_p with the holes that yours has: two apart in each half");
    }
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::frame
