#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "dossier/author.h"
#include "report/json_values.h"

namespace dossier {
namespace {

using Json = nlohmann::ordered_json;
constexpr double kDegPerRad = 180 / std::numbers::pi;

const char* name_of(brief::Joint::Type type) {
  switch (type) {
    case brief::Joint::Type::fixed:
      return "fixed";
    case brief::Joint::Type::slew:
      return "slew";
    case brief::Joint::Type::pitch:
      return "pitch";
  }
  return "fixed";
}

Json point(const brief::Vec3& p) {
  return {report::number(p.x_mm), report::number(p.y_mm), report::number(p.z_mm)};
}

/// What the page's script turns: boxes on bodies, bodies on joints.
std::string space_json(const Author& a, const std::vector<report::Solid>& solids, const report::Extent& extent) {
  Json bodies = Json::array(), boxes = Json::array();
  for (const brief::Body& b : a.brief.bodies) {
    const double at = std::clamp(0.0, b.joint.low_rad, std::max(b.joint.low_rad, b.joint.high_rad));
    bodies.push_back({{"name", b.id},
                      {"parent", b.parent},
                      {"joint", name_of(b.joint.type)},
                      {"pivot", point(b.joint.pivot_mm)},
                      {"low_deg", report::number(b.joint.low_rad * kDegPerRad)},
                      {"high_deg", report::number(b.joint.high_rad * kDegPerRad)},
                      {"at_deg", report::number(at * kDegPerRad)}});
  }
  for (const report::Solid& s : solids) {
    using Type = report::Solid::Type;
    boxes.push_back(
        {{"body", s.body},
         {"low", point(s.low_mm)},
         {"high", point(s.high_mm)},
         {"colour", s.type == Type::function ? std::string(report::colour_of_function(s.function)) : "#667080"},
         {"frame", s.type == Type::envelope}});
  }
  return Json{{"bodies", bodies}, {"boxes", boxes}, {"low", point(extent.low_mm)}, {"high", point(extent.high_mm)}}
      .dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace

void write_machine(Author& a) {
  const Texts& t = a.t;
  a.chapter("machine.title", "machine");
  a.say(t("machine.intro", {{"pitch", t.quantity(a.brief.system().pitch_mm, "mm")}}));
  a.figure(report::overview_drawing(a.brief, a.chosen, 640), t("machine.caption"), "overview");
  const std::vector<report::Solid> solids = report::solids_of(a.brief, a.chosen);
  const report::Extent extent = report::extent_of(a.brief, a.chosen, solids);
  a.doc.add(Live{Live::Type::space, t("machine.space"), space_json(a, solids, extent), t("machine.space_hint")});

  Table bodies;
  bodies.title = t("machine.bodies");
  bodies.columns = {{t("machine.body"), false}, {t("machine.on"), false},   {t("machine.joint"), false},
                    {t("machine.pivot"), true}, {t("machine.range"), true}, {t("machine.mass"), true}};
  for (std::size_t i = 0; i < a.brief.bodies.size(); ++i) {
    const brief::Body& b = a.brief.bodies[i];
    const bool moves = b.joint.type != brief::Joint::Type::fixed;
    const brief::Vec3& p = b.joint.pivot_mm;
    const double pitch = a.brief.system().pitch_mm;
    bodies.rows.push_back(
        {{b.id, Tone::strong},
         {b.parent < 0 ? "" : a.brief.bodies[static_cast<std::size_t>(b.parent)].id},
         {t(std::string("machine.joint_") + name_of(b.joint.type))},
         {moves ? t("machine.pivot_value", {{"x", t.number(p.x_mm / pitch, 3)},
                                            {"y", t.number(p.y_mm / pitch, 3)},
                                            {"z", t.number(p.z_mm / pitch, 3)}})
                : ""},
         {moves ? t("machine.range_value", {{"low", t.quantity(b.joint.low_rad * kDegPerRad, "deg", 3)},
                                            {"high", t.quantity(b.joint.high_rad * kDegPerRad, "deg", 3)}})
                : ""},
         {t.quantity(a.assessed.masses[i].mass_g.nominal, "g", 3) +
          (a.assessed.masses[i].estimate ? " " + t("machine.estimate") : "")}});
  }
  a.doc.add(std::move(bodies));
  a.say(t("machine.pivots_note"), Tone::faint);
  if (!a.brief.placed.empty()) {
    Table placed;
    placed.title = t("machine.placed");
    placed.columns = {{t("machine.thing"), false}, {t("machine.on"), false}, {t("machine.where"), false}};
    for (const brief::Placed& p : a.brief.placed)
      placed.rows.push_back({{p.id, Tone::strong},
                             {a.brief.bodies[static_cast<std::size_t>(p.body)].id},
                             {t("machine.where_value", {{"box", t.term(lattice::pitches_text(p.box))}})}});
    a.doc.add(std::move(placed));
  }
}

}  // namespace dossier
