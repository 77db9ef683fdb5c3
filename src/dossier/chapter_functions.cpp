#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "brief/body_tree.h"
#include "dossier/author.h"
#include "dossier/linkage.h"
#include "report/route_svg.h"
#include "report/sheet.h"
#include "routing/tables.h"

namespace dossier {
namespace {

using Role = candidate::Shape::Role;

constexpr double kColumnWidth = 620;  // of a drawing among text, pixels
constexpr double kColumnHeight = 560;
constexpr double kSheetWidth = 1000, kSheetHeight = 560;  // of a page across
constexpr double kPageAcross = 1.5;                       // width of such a page / of a column
constexpr const char* kDash = "\xE2\x80\x93";

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& w : words) out += (out.empty() ? "" : ", ") + w;
  return out.empty() ? kDash : out;
}

void parts_of(Author& a, const candidate::Candidate& c) {
  const Texts& t = a.t;
  Table table;
  table.title = t("function.parts");
  table.boxes = true;
  table.columns = {{t("parts.count"), true}, {t("parts.part"), false}, {t("function.place"), false}};
  for (const candidate::Need& n : c.demand.needs)
    table.rows.push_back({{std::to_string(n.count), Tone::strong}, {t.term(n.label)}, {t.word(n.role)}});
  a.doc.add(std::move(table));
}

/// Ratio as people count teeth: "1 : 4 1/3 slower"? A signed fraction is exact and short.
std::string ratio_text(const base::Rational& r) {
  return (r.num() < 0 ? "\xE2\x88\x92" : "") + r.abs().text();
}

/// Share of the drawing's width that a pitch takes.
double size_of_views(const report::Svg& drawing) {
  for (const report::Primitive& p : drawing.primitives()) {
    if (p.form == report::Primitive::Form::view) return p.width / drawing.width();
  }
  return 0;
}

void train_of(Author& a, const candidate::Candidate& c, const std::string& id, const std::string& name) {
  const Texts& t = a.t;
  const candidate::Route& route = *c.route;
  const auto& p = *route.problem;
  a.head(t("function.train"), id + "-train");
  const int lattice = brief::lattice_body(a.brief.bodies, std::max(route.body, 0));
  const brief::Vec3 o = brief::lattice_origin_mm(a.brief.bodies, lattice);
  const double pitch = a.brief.system().pitch_mm;
  a.say(t("function.lattice", {{"body", a.brief.bodies[static_cast<std::size_t>(lattice)].id},
                               {"x", t.number(o.x_mm / pitch, 3)},
                               {"y", t.number(o.y_mm / pitch, 3)},
                               {"z", t.number(o.z_mm / pitch, 3)}}));
  if (p.kit.copies == 2) a.say(t("function.twice"), Tone::strong);

  Table shafts;
  shafts.title = t("function.shafts");
  shafts.columns = {{t("function.shaft"), false}, {t("function.carries"), false}, {t("function.hole"), false},
                    {t("function.axle"), false},  {t("function.gears"), false},   {t("function.bearings"), false},
                    {t("function.bushes"), false}};
  for (const routing::ShaftRow& r : routing::shaft_table(p, route.layout)) {
    const std::string along(1, lattice::letter(r.axis));
    std::vector<std::string> items, bearings, bushes;
    for (const auto& i : r.items)
      items.push_back(t(i.overhung ? "function.item_overhung" : "function.item",
                        {{"name", t.term(i.name)}, {"at", t.term(routing::pitches_text(i.from_hp, i.to_hp))}}));
    for (const int b : r.bearings_hp) bearings.push_back(routing::pitches_text(b));
    for (const int b : r.bushes_hp) bushes.push_back(t.term(routing::pitches_text(b, b + r.bush_hp)));
    shafts.rows.push_back(
        {{r.name, Tone::strong},
         {r.carries.empty() ? kDash : t.term(r.carries)},
         {t("function.hole_value", {{"hole", r.hole}, {"along", along}})},
         {t("function.axle_value",
            {{"length", r.axle}, {"along", along}, {"span", t.term(routing::pitches_text(r.from_hp, r.to_hp))}})},
         {joined(items)},
         {joined(bearings)},
         {joined(bushes)}});
  }
  a.doc.add(std::move(shafts));

  Table meshes;
  meshes.title = t("function.meshes");
  meshes.columns = {{"", false},
                    {t("function.wheels"), false},
                    {t("function.type"), false},
                    {t("function.ratio"), true},
                    {t("function.distance"), true},
                    {t("function.fit"), false}};
  for (const routing::MeshRow& r : routing::mesh_table(p, route.layout)) {
    meshes.rows.push_back({{std::to_string(r.mesh + 1)},
                           {t("function.drives", {{"driver", t.term(r.driver)}, {"driven", t.term(r.driven)}})},
                           {t.term(r.type)},
                           {ratio_text(r.ratio)},
                           {r.has_distance ? t("function.distance_value",
                                               {{"wanted", t.number(r.wanted_mm)}, {"offered", t.number(r.offered_mm)}})
                                           : t("function.axes_meet")},
                           {r.has_distance ? t.term(routing::misfit_text(r.misfit_mm)) : t("function.slide_to_mesh")}});
  }
  a.doc.add(std::move(meshes));
  List turns;
  for (std::size_t o2 = 0; o2 < route.layout.ratios.size() && o2 < p.outputs.size(); ++o2) {
    const base::Rational& r = route.layout.ratios[o2];
    turns.items.push_back(t(r.num() < 0 ? "function.turns_back" : "function.turns",
                            {{"output", t.term(p.outputs[o2].name)}, {"ratio", r.abs().text()}}));
  }
  a.doc.add(std::move(turns));
  // Among the text, unless a page of its own shows it much larger.
  report::Svg among = report::route_views(p, route.layout, kColumnWidth, kColumnHeight);
  report::Svg across = report::route_views(p, route.layout, kSheetWidth, kSheetHeight);
  constexpr double kMuchLarger = 1.4, kStillRead = 1.2;  // letters shrunk by more are not read any more
  const bool own_page = size_of_views(across) * kPageAcross > kMuchLarger * size_of_views(among) ||
                        among.width() > kStillRead * kColumnWidth;
  a.figure(std::move(own_page ? across : among), t("function.views_caption", {{"function", name}}), id + "_train",
           own_page);
}

void mechanism_of(Author& a, const candidate::Candidate& c, const std::string& id, const std::string& name) {
  const Texts& t = a.t;
  if (c.shapes.empty()) return;
  a.head(t("function.mechanism"), id + "-mechanism");
  candidate::Candidate drawn;  // the shapes alone: curves follow with room of their own
  drawn.shapes = c.shapes;
  a.figure(report::candidate_drawing(drawn, "", kColumnWidth), t("function.mechanism_caption"), id + "_mechanism");
  if (const auto json = linkage_json(c, t))
    a.doc.add(
        Live{Live::Type::linkage, t("function.mechanism_of", {{"function", name}}), *json, t("function.slider_hint")});
  Table points;
  points.title = t("function.holes");
  points.columns = {{t("function.point"), false}, {t("function.right_mm"), true}, {t("function.up_mm"), true}};
  for (const candidate::Shape& s : c.shapes) {
    const bool point = s.role == Role::base_mount || s.role == Role::rod_mount || s.role == Role::pivot;
    if (!point || s.label.empty()) continue;
    points.rows.push_back({{t.term(s.label)}, {t.number(s.x1_mm)}, {t.number(s.z1_mm)}});
  }
  const bool any = !points.rows.empty();
  a.doc.add(std::move(points));
  if (any) a.say(t("function.holes_note"), Tone::faint);
}

bool drawable(const candidate::Curve& c) {
  return c.x.size() >= 2 && c.x.size() == c.y.size() && c.x.back() > c.x.front() &&
         std::all_of(c.y.begin(), c.y.end(), [](double v) { return std::isfinite(v); });
}

void curves_of(Author& a, const candidate::Candidate& c, const std::string& id, const std::string& name) {
  std::vector<candidate::Curve> curves;
  std::copy_if(c.curves.begin(), c.curves.end(), std::back_inserter(curves), drawable);
  if (curves.empty()) return;
  a.head(a.t("function.curves"), id + "-curves");
  for (std::size_t i = 0; i < curves.size(); i += 2) {
    candidate::Candidate drawn;
    drawn.curves.assign(curves.begin() + static_cast<std::ptrdiff_t>(i),
                        curves.begin() + static_cast<std::ptrdiff_t>(std::min(i + 2, curves.size())));
    a.figure(report::candidate_drawing(drawn, "", kColumnWidth), a.t("function.curves_of", {{"function", name}}),
             fmt::format("{}_curves_{}", id, i / 2 + 1));
  }
}

void figures_of(Author& a, const candidate::Candidate& c) {
  if (c.figures.empty()) return;
  const Texts& t = a.t;
  std::vector<std::vector<Cell>> entries;
  for (const candidate::Figure& k : c.figures)
    entries.push_back({{t.word(k.name)}, {t.quantity(k.value, t.term(k.unit))}});
  constexpr std::size_t kFewEntries = 6;
  a.doc.add(in_columns({t("function.figures"), {{t("function.figure"), false}, {t("function.value"), true}}, {}, false},
                       std::move(entries), entries.size() > kFewEntries ? 2 : 1));
}

}  // namespace

void write_functions(Author& a) {
  const Texts& t = a.t;
  a.chapter("function.title", "functions");
  a.say(t("function.intro"));
  for (std::size_t f = 0; f < a.result.functions.size(); ++f) {
    const candidate::Candidate* c = a.result.chosen(f);
    if (c == nullptr) continue;
    const design::FunctionResult& r = a.result.functions[f];
    const std::string id = fmt::format("function-{}", f + 1);
    a.section(t("function.heading", {{"function", r.id}, {"kind", t.word(r.kind)}}), id);
    a.say(t.term(c->title), Tone::strong);
    parts_of(a, *c);
    figures_of(a, *c);
    mechanism_of(a, *c, id, r.id);
    if (c->route) {
      train_of(a, *c, id, r.id);
      write_assembly(a, *c->route, id);
    }
    if (c->reaches.pinned) {
      std::vector<std::string> reaches;
      for (const double mm : c->reaches.at_mm) reaches.push_back(t.quantity(mm, "mm", 3));
      a.say(t("function.reaches", {{"reaches", t.list(reaches)}}));
    }
    curves_of(a, *c, id, r.id);
    if (!c->notes.empty()) {
      a.head(t("function.notes"), id + "-notes");
      List notes;
      for (const std::string& n : c->notes) notes.items.push_back(t.term(n));
      a.doc.add(std::move(notes));
    }
  }
  write_assembly_of_bodies(a);
}

}  // namespace dossier
