#include "report/json.h"

#include <fmt/format.h>

#include <cmath>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "report/bench.h"
#include "report/building.h"
#include "report/duty.h"
#include "report/ground.h"
#include "report/json_values.h"
#include "report/looks.h"

namespace report {
namespace {

using Json = nlohmann::ordered_json;

Json point(const brief::Vec3& v) {
  return Json::array({number(v.x_mm), number(v.y_mm), number(v.z_mm)});
}

std::string body_name(const brief::Brief& brief, int body) {
  return brief.bodies.at(body < 0 ? 0 : static_cast<std::size_t>(body)).id;
}

Json changes_json(const std::vector<assessment::Amendment>& amendments) {
  Json out = Json::array();
  for (const assessment::Amendment& a : amendments) {
    Json j{{"op", assessment::name_of(a.op)}, {"table", a.table}, {"id", a.id}, {"key", a.key}};
    if (a.op != assessment::Amendment::Op::remove) j["value"] = json_of(a.value);
    out.push_back(std::move(j));
  }
  return out;
}

Json margins_json(const std::vector<candidate::Margin>& margins, const std::vector<base::Triple>* intervals) {
  Json out = Json::array();
  for (std::size_t m = 0; m < margins.size(); ++m) {
    const candidate::Margin& x = margins[m];
    Json j{{"name", x.name},
           {"ratio", number(x.ratio)},
           {"capability", number(x.capability)},
           {"requirement", number(x.requirement)},
           {"unit", x.unit},
           {"note", x.note}};
    if (intervals != nullptr && m < intervals->size()) j["interval"] = triple((*intervals)[m]);
    out.push_back(std::move(j));
  }
  return out;
}

Json rejections_json(const std::vector<candidate::Rejection>& rejections) {
  Json out = Json::array();
  for (const candidate::Rejection& r : rejections) {
    out.push_back(
        {{"code", r.code}, {"text", r.text}, {"shortfall", number(r.shortfall)}, {"unit", r.unit}, {"count", r.count}});
  }
  return out;
}

Json project_json(const brief::Brief& b) {
  return Json{{"name", b.name},
              {"description", b.description},
              {"kit_system", b.system().id},
              {"stock_file", b.stock->file},
              {"part_types", b.stock->types.size()},
              {"parts", b.stock->pieces()},
              {"seed", b.seed},
              {"draws", b.draws}};
}

Json bodies_json(const brief::Brief& b) {
  static constexpr const char* kJoint[] = {"fixed", "slew", "pitch"};
  Json out = Json::array();
  for (const brief::Body& body : b.bodies) {
    out.push_back({{"id", body.id},
                   {"parent", body.parent < 0 ? Json(nullptr) : Json(body_name(b, body.parent))},
                   {"joint", kJoint[static_cast<int>(body.joint.type)]},
                   {"pivot_mm", point(body.joint.pivot_mm)},
                   {"mass_g", triple(body.mass_g)},
                   {"mass_is_estimate", body.mass_is_estimate},
                   {"centre_mm", point(body.centre_mm)},
                   {"size_mm", point(body.size_mm)}});
  }
  return out;
}

Json function_json(const design::Result& r, std::size_t f) {
  const design::FunctionResult& fn = r.functions[f];
  std::size_t good = 0;
  for (const candidate::Candidate& c : fn.proposal.candidates) good += c.nominal.worst() >= 1 ? 1 : 0;
  Json j{{"id", fn.id},
         {"kind", fn.kind},
         {"required", fn.required},
         {"examined", fn.proposal.examined},
         {"kept", fn.proposal.candidates.size()},
         {"meet_all", good},
         {"most_meshes", fn.proposal.most_meshes < 0 ? Json(nullptr) : Json(fn.proposal.most_meshes)},
         {"complete", fn.proposal.complete},
         {"limit", fn.proposal.limit_text},
         {"rejections", rejections_json(fn.proposal.rejections)},
         {"chosen", nullptr}};
  if (const candidate::Candidate* c = r.chosen(f)) {
    j["chosen"] = json_of(*c, *r.brief);
    if (r.assessed) {
      const auto& certainty = r.assessed->certainty.functions.at(f);
      j["chosen"]["margins"] = margins_json(c->nominal.margins, &certainty.ratio);
      j["chosen"]["confidence"] = number(certainty.confidence);
    }
  }
  return j;
}

Json way_json(const design::WayOut& w) {
  Json pieces = Json::array();
  for (const auto& [part, count] : w.pieces) pieces.push_back({{"part", part}, {"more", count}});
  return {{"type", design::name_of(w.type)},
          {"text", w.text},
          {"functions", w.functions},
          {"pieces", std::move(pieces)},
          {"before", number(w.before)},
          {"after", number(w.after)},
          {"worst_margin", number(w.worst_margin)},
          {"changes", changes_json(w.amendments)}};
}

Json allocation_json(const design::Result& r) {
  const design::Allocated& a = *r.allocated;
  Json stages = Json::array();
  for (const allocation::StageReport& s : a.solution.stages) {
    stages.push_back(
        {{"stage", allocation::to_text(s.stage)}, {"value", s.value}, {"bound", s.bound}, {"proven", s.proven}});
  }
  Json conflicts = Json::array();
  for (const design::Conflict& c : a.conflicts) {
    Json resources = Json::array();
    for (const design::Conflict::Resource& x : c.resources) {
      Json demands = Json::array();
      for (const design::Conflict::Demand& d : x.demands) {
        demands.push_back({{"who", d.who}, {"reserve", d.reserve}, {"least", number(d.least)}});
      }
      resources.push_back({{"what", x.what},
                           {"needed", number(x.needed)},
                           {"available", number(x.available)},
                           {"unit", x.unit},
                           {"demands", std::move(demands)}});
    }
    conflicts.push_back({{"text", c.text},
                         {"members", c.members},
                         {"minimal", c.minimal},
                         {"smallest", c.smallest},
                         {"resources", std::move(resources)}});
  }
  Json ways = Json::array(), pairs = Json::array();
  for (const design::WayOut& w : a.ways_out) ways.push_back(way_json(w));
  for (const design::PairOut& p : a.pairs_out.pairs) {
    pairs.push_back(
        {{"worst_margin", number(p.worst_margin)}, {"ways", Json::array({way_json(p.first), way_json(p.second)})}});
  }
  return Json{{"status", allocation::to_text(a.solution.status)},
              {"feasible", a.feasible},
              {"worst_margin", a.feasible ? number(a.worst_margin) : Json(nullptr)},
              {"parts_mass_g", a.feasible ? number(a.parts_mass_g) : Json(nullptr)},
              {"gap", a.gap_text},
              {"stages", std::move(stages)},
              {"nodes", a.solution.stats.nodes},
              {"conflicts", std::move(conflicts)},
              {"ways_out", std::move(ways)},
              {"pairs_out",
               {{"looked_for", a.pairs_out.looked_for},
                {"complete", a.pairs_out.complete},
                {"note", a.pairs_out.note},
                {"pairs", std::move(pairs)}}}};
}

Json front_json(const design::Result& r) {
  Json out = Json::array();
  for (const design::FrontPoint& p : r.front) {
    Json keys = Json::object();
    for (std::size_t f = 0; f < p.choice.size(); ++f) {
      const int c = p.choice[f];
      keys[r.functions[f].id] =
          c < 0 ? Json(nullptr) : Json(r.functions[f].proposal.candidates.at(static_cast<std::size_t>(c)).key);
    }
    out.push_back({{"worst_margin", number(p.worst_margin)},
                   {"parts_mass_g", number(p.parts_mass_g)},
                   {"parts_left", p.parts_left},
                   {"chosen", p.chosen},
                   {"candidates", std::move(keys)}});
  }
  return out;
}

Json header(const char* format, const design::Result& r) {
  return Json{{"format", format},
              {"version", kFormatVersion},
              {"status", status_of(r)},
              {"stopped", r.stopped},
              {"diagnostics", json_of(r.diagnostics)}};
}

}  // namespace

double rounded(double value, int digits) {
  if (value == 0 || !std::isfinite(value)) return value == 0 ? 0.0 : value;
  return std::strtod(fmt::format("{:.{}e}", value, digits - 1).c_str(), nullptr);
}

std::string dumped(const nlohmann::ordered_json& json) {
  return json.dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

std::string status_of(const design::Result& r) {
  if (r.bad_input) return "bad_input";
  if (!r.allocated) return "not_allocated";
  if (r.feasible()) return "feasible";
  if (r.allocated->solution.status == allocation::Status::stopped_without_answer) return "undecided";
  // Infeasible is proved only when the candidates in the way are all there are.
  const std::vector<design::Conflict>& conflicts = r.allocated->conflicts;
  const auto in_the_way = [&](const std::string& id) {
    return conflicts.empty() || std::any_of(conflicts.begin(), conflicts.end(), [&](const design::Conflict& c) {
             return std::find(c.members.begin(), c.members.end(), id) != c.members.end();
           });
  };
  for (const design::FunctionResult& f : r.functions) {
    if (!f.proposal.complete && in_the_way(f.id)) return "undecided";
  }
  return "infeasible";
}

Json json_of(const document::Node& n) {
  switch (n.kind) {
    case document::Node::Kind::table: {
      Json out = Json::object();
      for (const document::Entry& e : n.entries) out[e.key] = json_of(e.value);
      return out;
    }
    case document::Node::Kind::array: {
      Json out = Json::array();
      for (const document::Node& item : n.items) out.push_back(json_of(item));
      return out;
    }
    case document::Node::Kind::integer:
      return n.integer;
    case document::Node::Kind::real:
      return n.real;
    case document::Node::Kind::boolean:
      return n.boolean;
    default:
      return n.text;
  }
}

Json json_of(const document::Diagnostics& diagnostics) {
  Json out = Json::array();
  for (const document::Diagnostic& d : diagnostics.sorted()) {
    out.push_back({{"severity", d.severity == document::Severity::error ? "error" : "warning"},
                   {"code", d.code},
                   {"file", d.where.file},
                   {"line", d.where.line},
                   {"column", d.where.column},
                   {"path", d.path},
                   {"message", d.message},
                   {"hint", d.hint}});
  }
  return out;
}

Json json_of(const candidate::Evaluation& evaluation) {
  return {{"worst_margin", number(evaluation.worst())}, {"margins", margins_json(evaluation.margins, nullptr)}};
}

Json json_of(const candidate::Candidate& c, const brief::Brief& brief) {
  static constexpr const char* kRole[] = {"beam",  "moving_beam", "actuator", "base_mount", "rod_mount",
                                          "pivot", "gear",        "load",     "ghost"};
  Json needs = Json::array();
  for (const candidate::Need& n : c.demand.needs) {
    Json accepts = Json::array();
    for (const stock::ClassId id : n.accepts) accepts.push_back(brief.catalogue->at(id).id);
    needs.push_back({{"count", n.count}, {"label", n.label}, {"role", n.role}, {"accepts", std::move(accepts)}});
  }
  Json masses = Json::array();
  for (const candidate::MassItem& m : c.masses) {
    masses.push_back({{"body", body_name(brief, m.body)}, {"mass_g", number(m.mass_g)}});
  }
  Json payloads = Json::array();
  for (const candidate::Payload& p : c.payloads) {
    payloads.push_back({{"body", body_name(brief, p.body)}, {"at_mm", point(p.at_mm)}, {"mass_g", number(p.mass_g)}});
  }
  Json figures = Json::array();
  for (const candidate::Figure& f : c.figures) {
    figures.push_back({{"name", f.name}, {"value", number(f.value)}, {"unit", f.unit}});
  }
  Json curves = Json::array();
  for (const candidate::Curve& k : c.curves) {
    curves.push_back({{"name", k.name},
                      {"x_name", k.x_name},
                      {"x_unit", k.x_unit},
                      {"y_name", k.y_name},
                      {"y_unit", k.y_unit},
                      {"x", numbers(k.x)},
                      {"y", numbers(k.y)}});
  }
  Json shapes = Json::array();
  for (const candidate::Shape& s : c.shapes) {
    shapes.push_back({{"role", kRole[static_cast<int>(s.role)]},
                      {"x1_mm", number(s.x1_mm)},
                      {"z1_mm", number(s.z1_mm)},
                      {"x2_mm", number(s.x2_mm)},
                      {"z2_mm", number(s.z2_mm)},
                      {"label", s.label}});
  }
  return Json{{"key", c.key},
              {"title", c.title},
              {"worst_margin", number(c.nominal.worst())},
              {"margins", margins_json(c.nominal.margins, nullptr)},
              {"ports", c.demand.ports},
              {"channels", c.demand.channels},
              {"running_ma", number(c.nominal.running_current_ma)},
              {"stall_ma", number(c.demand.stall_current_ma)},
              {"needs", std::move(needs)},
              {"masses", std::move(masses)},
              {"payloads", std::move(payloads)},
              {"figures", std::move(figures)},
              {"curves", std::move(curves)},
              {"shapes", std::move(shapes)},
              {"notes", c.notes}};
}

Json json_of(const std::vector<assessment::Obstacle>& obstacles) {
  Json out = Json::array();
  for (const assessment::Obstacle& o : obstacles) out.push_back({{"what", o.what}, {"cells", o.cells}});
  return out;
}

Json json_of(const assessment::Access& access) {
  static constexpr const char* kBy[] = {"nothing", "finger", "pusher"};
  Json placed = Json::array();
  for (const assessment::PlacedAccess& p : access.placed) {
    Json ways = Json::array(), presses = Json::array();
    for (const assessment::WayOut& w : p.ways) {
      ways.push_back({{"way", lattice::name_of(w.way)},
                      {"free", w.free()},
                      {"first", w.first},
                      {"obstacles", json_of(w.obstacles)}});
    }
    for (const assessment::Press& x : p.presses) {
      presses.push_back({{"side", lattice::name_of(x.way)},
                         {"by", kBy[static_cast<int>(x.by)]},
                         {"depth_mm", number(x.depth_mm)},
                         {"pusher_p", x.pusher_p},
                         {"first", x.first},
                         {"obstacles", json_of(x.obstacles)}});
    }
    placed.push_back({{"id", p.id}, {"draws_out", std::move(ways)}, {"pressed", std::move(presses)}});
  }
  Json openables = Json::array();
  for (const assessment::OpenableAccess& o : access.openables) {
    openables.push_back({{"id", o.id},
                         {"opens_deg", number(o.opens_deg)},
                         {"free_deg", number(o.free_deg)},
                         {"obstacles", json_of(o.obstacles)}});
  }
  return Json{{"placed", std::move(placed)}, {"openables", std::move(openables)}};
}

Json limit_name(const assessment::Lifting& l, int limit) {
  return limit < 0 ? Json("none") : Json(l.limits[static_cast<std::size_t>(limit)]);
}

/// Cells by state, posture and slewing angle; all null where the hook does not come, a load that nothing limits is null
/// and governed by "none".
Json json_of(const assessment::Lifting& l) {
  Json out{{"judged", l.judged}, {"why_not", l.why_not}};
  if (!l.judged) return out;
  Json states = Json::array();
  for (std::size_t s = 0; s < l.states.size(); ++s) {
    const assessment::Lifting::AtWanted& w = l.at_wanted[s];
    Json postures = Json::array();
    for (std::size_t p = 0; p < l.postures.size(); ++p) {
      Json slews = Json::array();
      for (std::size_t k = 0; k < l.slew_deg.size(); ++k) {
        Json greatest = Json::array(), rated = Json::array(), governs = Json::array(), sure = Json::array();
        for (std::size_t r = 0; r < l.radius_mm.size(); ++r) {
          const assessment::LiftCell& c = l.at(s, p, k, r);
          greatest.push_back(c.reached ? number(c.greatest_g) : Json(nullptr));
          rated.push_back(c.reached ? number(c.rated_g) : Json(nullptr));
          governs.push_back(c.reached ? limit_name(l, c.governs) : Json(nullptr));
          sure.push_back(c.reached ? number(c.confidence) : Json(nullptr));
        }
        slews.push_back({{"slew_deg", number(l.slew_deg[k])},
                         {"greatest_g", std::move(greatest)},
                         {"rated_g", std::move(rated)},
                         {"governs", std::move(governs)},
                         {"confidence", std::move(sure)}});
      }
      postures.push_back({{"posture", l.postures[p]}, {"rows", std::move(slews)}});
    }
    states.push_back({{"state", l.states[s]},
                      {"at_wanted",
                       {{"rated_g", number(w.rated_g)},
                        {"rigid_g", number(w.rigid_g)},
                        {"governs", limit_name(l, w.governs)},
                        {"posture", w.posture},
                        {"slew_deg", number(w.slew_deg)},
                        {"downhill_deg", number(w.downhill_deg)}}},
                      {"postures", std::move(postures)}});
  }
  Json radii = Json::array();
  for (const double r : l.radius_mm) radii.push_back(number(r));
  out["note"] = l.note;
  out["slope_deg"] = number(l.slope_deg);
  out["downhill_deg"] = numbers(l.downhill_deg);
  out["radius_from"] = l.radius_from;
  out["hook_on"] = l.hook_on;
  out["wanted_g"] = number(l.wanted_g);
  out["wanted_radius_mm"] = number(l.wanted_radius_mm);
  out["radius_mm"] = std::move(radii);
  out["states"] = std::move(states);
  return out;
}

Json json_of(const assessment::Stance& s, const brief::Brief& brief) {
  Json support = Json::array();
  for (const brief::Vec3& p : s.support_mm) support.push_back(point(p));
  Json angles = Json::object();
  for (std::size_t b = 0; b < s.worst.angle_rad.size(); ++b) {
    if (brief.bodies[b].joint.type == brief::Joint::Type::fixed) continue;
    angles[brief.bodies[b].id] = number(s.worst.angle_rad[b] * 180 / 3.14159265358979323846);
  }
  return {{"judged", s.judged},
          {"why_not", s.why_not},
          {"support_mm", std::move(support)},
          {"postures", s.postures},
          {"coarse", s.coarse},
          {"worst_posture_deg", std::move(angles)},
          {"worst_text", s.worst_text},
          {"loaded", s.worst.loaded},
          {"load_g", number(s.load_g)},
          {"centre_mm", point(s.centre_mm)},
          {"least_deg", number(s.least_deg)},
          {"least_direction_deg", number(s.least_direction_deg)},
          {"least_interval_deg", triple(s.least_interval_deg)},
          {"direction_deg", numbers(s.direction_deg)},
          {"tipping_deg", numbers(s.tipping_deg)}};
}

Json json_of(const assessment::Assessment& a, const brief::Brief& brief) {
  Json masses = Json::array();
  for (const assessment::MassLine& m : a.masses) {
    masses.push_back({{"body", m.body},
                      {"mass_g", triple(m.mass_g)},
                      {"estimate", m.estimate},
                      {"parts_g", number(m.parts_g)},
                      {"reserve_g", number(m.reserve_g)},
                      {"fill_g", number(m.fill_g)},
                      {"centre_mm", point(m.centre_mm)}});
  }
  Json ports = Json::array();
  for (const assessment::PortUse& u : a.power.ports) {
    ports.push_back({{"hub", u.hub + 1},
                     {"socket", u.port},
                     {"function", u.function},
                     {"running_ma", number(u.running_ma)},
                     {"stall_ma", number(u.stall_ma)},
                     {"limit_ma", number(u.limit_ma)},
                     {"lead_mm", number(u.lead_mm)},
                     {"have_mm", number(u.have_mm)},
                     {"cable", stock::index(u.cable) < 0 ? "" : brief.catalogue->at(u.cable).name}});
  }
  Json parts = Json::array();
  for (const assessment::PartLine& p : a.parts) {
    parts.push_back({{"part", brief.catalogue->at(p.part).id},
                     {"name", p.name},
                     {"colour", p.colour},
                     {"stock", p.stock},
                     {"used", p.used},
                     {"reserved", p.reserved},
                     {"left", p.left()}});
  }
  Json findings = Json::array();
  for (const assessment::Finding& f : a.findings) {
    Json values = Json::array();
    for (const assessment::Number& n : f.numbers) {
      values.push_back({{"name", n.name}, {"value", number(n.value)}, {"unit", n.unit}});
    }
    Json remedies = Json::array();
    for (const assessment::Remedy& m : f.remedies) {
      remedies.push_back({{"text", m.text},
                          {"what", m.what},
                          {"before", number(m.before)},
                          {"after", number(m.after)},
                          {"unit", m.unit},
                          {"enough", m.enough},
                          {"changes", changes_json(m.amendments)}});
    }
    findings.push_back({{"severity", assessment::name_of(f.severity)},
                        {"code", f.code},
                        {"text", f.text},
                        {"function", f.function},
                        {"numbers", std::move(values)},
                        {"remedies", std::move(remedies)}});
  }
  return Json{{"mass_g", number(a.mass_g)},
              {"mass_interval_g", triple(a.mass_interval_g)},
              {"mass_is_estimate", a.mass_is_estimate},
              {"centre_mm", point(a.centre_mm)},
              {"bodies", std::move(masses)},
              {"stance", json_of(a.stance, brief)},
              {"power",
               {{"sockets", std::move(ports)},
                {"hub_running_ma", numbers(a.power.hub_running_ma)},
                {"hub_limit_ma", numbers(a.power.hub_limit_ma)},
                {"fits", a.power.fits},
                {"running_ma", number(a.power.running_ma)},
                {"average_ma", number(a.power.average_ma)},
                {"capacity_mah", number(a.power.capacity_mah)},
                {"run_time_min", triple(a.power.run_time_min)},
                {"duty", duty_json(a.power.duty)}}},
              {"certainty", {{"draws", a.certainty.draws}, {"confidence", number(a.certainty.confidence)}}},
              {"parts_used", a.parts_used},
              {"parts_reserved", a.parts_reserved},
              {"parts_left", a.parts_left},
              {"parts", std::move(parts)},
              {"access", json_of(a.access)},
              {"lifting", json_of(a.lifting)},
              {"ground", json_of(a.ground)},
              {"site", json_of(a.site)},
              {"findings", std::move(findings)}};
}

Json check_json(const design::Result& r) {
  Json out = header("kitwright.check", r);
  out["status"] = r.bad_input ? "bad_input" : "sound";
  if (!r.brief) return out;
  out["project"] = project_json(*r.brief);
  out["bodies"] = bodies_json(*r.brief);
  Json functions = Json::array();
  for (const brief::Function& f : r.brief->functions) {
    functions.push_back({{"id", f.id},
                         {"kind", f.kind},
                         {"required", f.required},
                         {"weight", number(f.weight)},
                         {"sides", f.sides},
                         {"duty", number(f.duty)},
                         {"lock", f.lock}});
  }
  out["functions"] = std::move(functions);
  return out;
}

Json design_json(const design::Result& r) {
  Json out = header("kitwright.design", r);
  if (!r.brief) return out;
  static constexpr const char* kStage[] = {"brief", "candidates", "allocation", "assessment"};
  out["reached"] = kStage[static_cast<int>(r.reached)];
  out["project"] = project_json(*r.brief);
  if (r.reached == design::Stage::brief) {
    out["bodies"] = bodies_json(*r.brief);
    return out;
  }
  Json functions = Json::array();
  for (std::size_t f = 0; f < r.functions.size(); ++f) functions.push_back(function_json(r, f));
  out["functions"] = std::move(functions);
  if (r.allocated) {
    out["allocation"] = allocation_json(r);
    out["front"] = front_json(r);
    out["front_note"] = r.front_note;
  }
  if (r.assessed) out["assessment"] = json_of(*r.assessed, *r.brief);
  if (r.colours) out["colours"] = looks_json(r);
  if (r.bench) out["bench"] = bench_json(*r.bench);
  return out;
}

Json explain_json(const design::Result& r, std::size_t f, const std::string& key) {
  Json out = header("kitwright.explain", r);
  if (!r.brief || f >= r.functions.size()) return out;
  const design::FunctionResult& fn = r.functions[f];
  out["function"] = fn.id;
  out["kind"] = fn.kind;
  out["examined"] = fn.proposal.examined;
  out["complete"] = fn.proposal.complete;
  out["limit"] = fn.proposal.limit_text;
  const candidate::Candidate* chosen = r.chosen(f);
  const candidate::Candidate* shown = chosen;
  Json list = Json::array();
  for (const candidate::Candidate& c : fn.proposal.candidates) {
    if (!key.empty() && c.key == key) shown = &c;
    list.push_back({{"key", c.key},
                    {"title", c.title},
                    {"worst_margin", number(c.nominal.worst())},
                    {"margins", margins_json(c.nominal.margins, nullptr)},
                    {"running_ma", number(c.nominal.running_current_ma)},
                    {"parts", candidate::parts_count(c.demand)},
                    {"parts_mass_g", number(candidate::parts_mass_g(c.demand, *r.brief->catalogue))}});
  }
  if (shown == nullptr && !fn.proposal.candidates.empty()) shown = &fn.proposal.candidates.front();
  out["chosen"] = chosen ? Json(chosen->key) : Json(nullptr);
  out["shown"] = shown ? json_of(*shown, *r.brief) : Json(nullptr);
  out["assembly"] = shown ? building_json(*shown) : Json(nullptr);
  out["building_order"] = building_json(design::building_order(r), *r.brief);
  out["candidates"] = std::move(list);
  out["rejections"] = rejections_json(fn.proposal.rejections);
  return out;
}

Json chart_json(const design::Result& r) {
  Json out = header("kitwright.chart", r);
  if (r.assessed) out["lifting"] = json_of(r.assessed->lifting);
  return out;
}

Json compare_json(const std::vector<Compared>& kits) {
  Json list = Json::array();
  for (const Compared& k : kits) {
    const design::Result& r = *k.result;
    Json conflicts = Json::array();
    if (r.allocated) {
      for (const design::Conflict& c : r.allocated->conflicts) conflicts.push_back(c.text);
    }
    list.push_back({{"stock_file", k.stock_file},
                    {"status", status_of(r)},
                    {"parts", r.brief ? Json(r.brief->stock->pieces()) : Json(nullptr)},
                    {"worst_margin", r.feasible() ? number(r.allocated->worst_margin) : Json(nullptr)},
                    {"confidence", r.assessed ? number(r.assessed->certainty.confidence) : Json(nullptr)},
                    {"mass_g", r.assessed ? number(r.assessed->mass_g) : Json(nullptr)},
                    {"parts_left", r.assessed ? Json(r.assessed->parts_left) : Json(nullptr)},
                    {"conflicts", std::move(conflicts)},
                    {"diagnostics", json_of(r.diagnostics)}});
  }
  return Json{{"format", "kitwright.compare"}, {"version", kFormatVersion}, {"kits", std::move(list)}};
}

}  // namespace report
