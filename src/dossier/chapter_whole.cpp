#include <fmt/format.h>

#include <cmath>

#include "dossier/author.h"
#include "report/duty.h"
#include "report/ground.h"
#include "report/load_chart.h"
#include "report/sheet.h"

namespace dossier {
namespace {

constexpr double kWidth = 620;

std::string load_text(const Author& a, double g) {
  return std::isfinite(g) ? a.t.number(g, 3) : a.t("number.unlimited");
}

void load_chart(Author& a) {
  const Texts& t = a.t;
  const assessment::Lifting& l = a.assessed.lifting;
  if (!l.judged) return;
  a.chapter("chart.title", "load-chart");
  a.doc.add(Notice{t("chart.model_only_title"), {t("chart.model_only")}, true});
  a.say(t("chart.intro", {{"from", t.term(l.radius_from)}}));
  if (!l.note.empty()) a.say(t("chart.not_in", {{"what", t.term(l.note)}}));
  const bool turns = l.slew_deg.size() > 1;
  for (std::size_t s = 0; s < l.states.size(); ++s) {
    a.figure(report::load_chart_drawing(l, s, 560), "", fmt::format("load_chart_{}", s + 1));
    const auto& w = l.at_wanted[s];
    a.say(t("chart.at_wanted",
            {{"wanted", t.quantity(l.wanted_g, "g", 3)},
             {"radius", t.quantity(l.wanted_radius_mm, "mm", 3)},
             {"rated", load_text(a, w.rated_g) + "\xC2\xA0g"},
             {"governs", w.governs >= 0 ? t.term(l.limits[static_cast<std::size_t>(w.governs)]) : t("chart.nothing")}}),
          w.rated_g >= l.wanted_g ? Tone::plain : Tone::bad);
    Table table;
    table.title = t("chart.table", {{"state", t.term(l.states[s])}});
    table.columns = {
        {t("chart.radius"), true}, {t(turns ? "chart.all_round" : "chart.rated"), true}, {t("chart.governed"), false}};
    if (turns) {
      table.columns.push_back({t("chart.worst_at"), true});
      table.columns.push_back({t("chart.ahead"), true});
    } else {
      table.columns.push_back({t("chart.hook_height"), true});
    }
    table.columns.push_back({t("chart.posture"), false});
    for (const report::RatedRow& r : report::rated_rows(l, s)) {
      std::vector<Cell> row{{t.number(r.radius_mm, 3)},
                            {load_text(a, r.rated_g), r.rated_g < l.wanted_g ? Tone::bad : Tone::strong},
                            {t.term(r.governs)}};
      if (turns) {
        row.push_back({t.number(r.slew_deg, 3)});
        row.push_back({r.ahead_g < 0 ? "" : load_text(a, r.ahead_g)});
      } else {
        row.push_back({t.number(r.hook_height_mm, 3)});
      }
      row.push_back({t.term(r.posture)});
      table.rows.push_back(std::move(row));
    }
    a.doc.add(std::move(table));
  }
}

void sizes(Author& a, const assessment::Ground& g) {
  const Texts& t = a.t;
  Table table;
  table.title = t("ground.sizes");
  table.columns = {{t("ground.friction"), false}, {t("ground.step"), true},   {t("ground.stops"), false},
                   {t("ground.trench"), true},    {t("ground.stops"), false}, {t("ground.slope"), true},
                   {t("ground.stops"), false}};
  const double friction[] = {g.friction.low, g.friction.nominal, g.friction.high};
  for (std::size_t i = 0; i < assessment::kFrictions; ++i) {
    const auto& step = g.step.at[i];
    const auto& trench = g.trench.at[i];
    const double deg = g.grade[i].slope_rad * 180 / std::acos(-1.0);
    table.rows.push_back({{t.term(assessment::kFrictionNames[i]) + " " + t.number(friction[i], 2)},
                          {t.quantity(step.size_mm, "mm", 3)},
                          {t.term(balance::name_of(step.stop)), Tone::faint},
                          {t.quantity(trench.size_mm, "mm", 3)},
                          {t.term(balance::name_of(trench.stop)), Tone::faint},
                          {t.quantity(deg, "deg", 3)},
                          {t.term(balance::name_of(g.grade[i].stop)), Tone::faint}});
  }
  a.doc.add(std::move(table));
}

}  // namespace

void write_stance(Author& a) {
  const Texts& t = a.t;
  a.chapter("stance.title", "stance");
  Table masses;
  masses.title = t("stance.masses");
  masses.columns = {
      {t("machine.body"), false}, {t("machine.mass"), true}, {t("stance.interval"), true}, {t("stance.from"), false}};
  for (const assessment::MassLine& m : a.assessed.masses) {
    masses.rows.push_back({{m.body},
                           {t.quantity(m.mass_g.nominal, "g")},
                           {t("spec.from_to", {{"low", t.number(m.mass_g.low)}, {"high", t.number(m.mass_g.high)}})},
                           {m.estimate ? t("stance.estimate", {{"parts", t.quantity(m.parts_g, "g", 3)},
                                                               {"kept", t.quantity(m.reserve_g, "g", 3)},
                                                               {"rest", t.quantity(m.fill_g, "g", 3)}})
                                       : t("stance.entered")}});
  }
  masses.rows.push_back({{t("stance.whole"), Tone::strong},
                         {t.quantity(a.assessed.mass_g, "g"), Tone::strong},
                         {t("spec.from_to", {{"low", t.number(a.assessed.mass_interval_g.low)},
                                             {"high", t.number(a.assessed.mass_interval_g.high)}})},
                         {a.assessed.mass_is_estimate ? t("stance.partly_estimated") : t("stance.entered")}});
  a.doc.add(std::move(masses));
  const brief::Vec3& c = a.assessed.centre_mm;
  a.say(
      t("stance.centre",
        {{"x", t.quantity(c.x_mm, "mm", 3)}, {"y", t.quantity(c.y_mm, "mm", 3)}, {"z", t.quantity(c.z_mm, "mm", 3)}}));
  const assessment::Stance& s = a.assessed.stance;
  if (s.judged) {
    a.section(t("stance.tipping"), "tipping");
    a.say(t("stance.least", {{"angle", a.range(s.least_interval_deg, "deg")},
                             {"direction", t.quantity(s.least_direction_deg, "deg", 3)},
                             {"posture", t.term(s.worst_text)},
                             {"postures", std::to_string(s.postures)},
                             {"load", t.quantity(s.load_g, "g", 3)}}));
    a.figure(report::stance_drawing(s, kWidth), t("stance.caption"), "stance");
  } else {
    a.say(t("stance.not_judged", {{"why", t.term(s.why_not)}}));
  }
  load_chart(a);
}

void write_ground(Author& a) {
  const Texts& t = a.t;
  const assessment::Ground& g = a.assessed.ground;
  const assessment::SitePlan& site = a.assessed.site;
  if (!g.judged && !site.judged) return;
  a.chapter("ground.title", "ground");
  if (g.judged) {
    if (!g.note.empty()) a.say(t.term(g.note), Tone::faint);
    a.figure(report::standing_drawing(g.state, g.standing, g.mass, {}, kWidth), t("ground.standing"), "standing");
    sizes(a, g);
    a.say(t("ground.ramps", {{"clearance", t.quantity(g.clearance_mm, "mm", 3)},
                             {"approach", t.quantity(g.approach_deg, "deg", 3)},
                             {"departure", t.quantity(g.departure_deg, "deg", 3)},
                             {"breakover", t.quantity(g.breakover_deg, "deg", 3)}}));
    a.figure(report::ground_drawing(g, kWidth), "", "ground");
    if (!g.obstacles.empty()) {
      a.section(t("ground.obstacles"), "obstacles");
      Table table;
      table.columns = {{t("ground.obstacle"), false}, {t("ground.type"), false}, {t("ground.low"), false},
                       {t("ground.nominal"), false},  {t("ground.high"), false}, {t("spec.sure"), true}};
      for (const assessment::ObstacleWay& w : g.obstacles) {
        std::vector<Cell> row{{w.id, Tone::strong}, {t.term(w.type)}};
        for (std::size_t i = 0; i < assessment::kFrictions; ++i)
          row.push_back(w.passed(i) ? Cell{t("ground.passed"), Tone::plain} : Cell{t.term(w.stop[i]), Tone::bad});
        row.push_back({a.percent(w.confidence)});
        table.rows.push_back(std::move(row));
      }
      a.doc.add(std::move(table));
      for (std::size_t i = 0; i < g.obstacles.size(); ++i) {
        const assessment::ObstacleWay& w = g.obstacles[i];
        if (w.slope) continue;
        a.figure(report::crossing_drawing(g.vehicle, w.line, w.walk, w.friction, fmt::format("Obstacle \"{}\"", w.id),
                                          kWidth),
                 "", fmt::format("obstacle_{}", i + 1));
      }
    }
  }
  if (site.judged) {
    a.section(t("ground.site"), "site");
    Table table;
    table.columns = {{t("ground.load"), false},   {t("machine.mass"), true},     {t("ground.moved"), false},
                     {t("ground.picked"), false}, {t("ground.set_down"), false}, {t("ground.lifts"), true}};
    for (const assessment::SitePlan::Load& l : site.loads) {
      const auto place = [&](const assessment::SitePlan::Lift& lift) {
        return lift.place.empty()
                   ? ""
                   : t("ground.at", {{"place", lift.place}, {"radius", t.quantity(lift.radius_mm, "mm", 3)}});
      };
      std::string how = !l.possible   ? t.term(l.stop)
                        : l.parts > 1 ? t("ground.split",
                                          {{"parts", std::to_string(l.parts)}, {"each", t.quantity(l.part_g, "g", 3)}})
                                      : t("ground.whole");
      if (l.carried) how += ", " + t("ground.carried", {{"place", l.stow_place}});
      table.rows.push_back({{l.id, Tone::strong},
                            {t.quantity(l.mass_g, "g", 3)},
                            {how, l.possible ? Tone::plain : Tone::bad},
                            {l.possible ? place(l.pick) : ""},
                            {l.possible ? place(l.set) : ""},
                            {l.possible ? t.quantity(std::min(l.pick.rated_g, l.set.rated_g), "g", 3) : ""}});
    }
    a.doc.add(std::move(table));
    a.figure(report::site_drawing(a.brief, a.assessed, kWidth), "", "site");
  }
}

void write_power(Author& a) {
  const Texts& t = a.t;
  const assessment::Power& p = a.assessed.power;
  if (p.ports.empty()) return;
  a.chapter("power.title", "power");
  Table ports;
  ports.title = t("power.sockets");
  ports.columns = {{t("power.socket"), false}, {t("power.function"), false}, {t("power.running"), true},
                   {t("power.stalled"), true}, {t("power.gives"), true},     {t("power.lead"), false}};
  for (const assessment::PortUse& u : p.ports) {
    const std::string lead =
        u.lead_mm <= 0 ? t("power.lead_unknown")
        : stock::index(u.cable) >= 0
            ? t("power.lead_with", {{"needed", t.quantity(u.lead_mm, "mm", 3)}, {"cable", a.part(u.cable)}})
            : t("power.lead_own",
                {{"needed", t.quantity(u.lead_mm, "mm", 3)}, {"have", t.quantity(u.have_mm, "mm", 3)}});
    ports.rows.push_back(
        {{t("power.socket_value", {{"hub", std::to_string(u.hub + 1)}, {"socket", std::to_string(u.port)}})},
         {u.function, Tone::strong},
         {t.quantity(u.running_ma, "mA", 3)},
         {t.quantity(u.stall_ma, "mA", 3)},
         {t.quantity(u.limit_ma, "mA", 3)},
         {lead, Tone::faint}});
  }
  a.doc.add(std::move(ports));
  a.say(t("power.sum", {{"all", t.quantity(p.running_ma, "mA", 3)}, {"average", t.quantity(p.average_ma, "mA", 3)}}));
  if (p.run_time_min.nominal > 0)
    a.say(p.duty.run_time_open ? t("power.run_time_open", {{"time", t.quantity(p.run_time_min.nominal, "min", 4)}})
                               : t("power.run_time", {{"time", a.range(p.run_time_min, "min")}}));
  if (!p.duty.judged) return;
  a.section(t("power.cycle"), "working-cycle");
  a.say(t(p.duty.is_default ? "power.cycle_default" : "power.cycle_told",
          {{"cycle", t.quantity(p.duty.cycle_s, "s", 3)},
           {"cells", t.term(p.duty.cells)},
           {"mean", t.quantity(p.duty.mean_current_ma, "mA", 3)},
           {"fresh", t.quantity(p.duty.fresh_voltage_v, "V", 3)},
           {"empty", t.quantity(p.duty.empty_voltage_v, "V", 3)}}));
  Table phases;
  phases.columns = {{t("power.phase"), false},  {t("power.time"), true},  {t("power.function"), false},
                    {t("power.current"), true}, {t("power.speed"), true}, {t("power.of_stall"), true}};
  for (const assessment::DutyPhasePower& k : p.duty.phases) {
    bool first = true;
    const auto row = [&](const std::string& function, std::string current, std::string speed, std::string stall,
                         Tone tone) {
      phases.rows.push_back({{first ? k.id : "", Tone::strong},
                             {first ? t.quantity(k.time_s, "s", 3) : ""},
                             {function},
                             {std::move(current)},
                             {std::move(speed), tone},
                             {std::move(stall), tone}});
      first = false;
    };
    for (const assessment::DutyRun& d : k.runs)
      row(d.function, t.quantity(d.current_ma, "mA", 3), a.percent(d.speed_share), a.percent(d.stall_share),
          d.stall_share > 1 ? Tone::bad : Tone::plain);
    if (k.runs.empty()) row(t("power.pause"), t.quantity(0, "mA"), "", "", Tone::plain);
  }
  a.doc.add(std::move(phases));
  a.figure(report::duty_drawing(p.duty, kWidth), "", "duty");
  if (!p.duty.warmth.empty()) {
    Table warm;
    warm.title = t("power.warmth");
    warm.columns = {{t("power.function"), false},
                    {t("power.motor"), false},
                    {t("power.warms_by"), true},
                    {t("power.without_pause"), true},
                    {t("power.held_fast"), true}};
    const auto value = [&](double v, const char* unit) {
      return std::isfinite(v) ? t.quantity(v, unit, 3) : t("power.never");
    };
    for (const assessment::Warmth& w : p.duty.warmth)
      warm.rows.push_back({{w.function, Tone::strong},
                           {t.term(w.motor)},
                           {value(w.end_rise_k, "K")},
                           {value(w.cut_out_min, "min")},
                           {value(w.stall_cut_out_s, "s")}});
    a.doc.add(std::move(warm));
    a.say(t("power.warmth_note"), Tone::faint);
  }
  if (!p.duty.exclusions.empty()) {
    List list;
    for (const assessment::Exclusion& x : p.duty.exclusions)
      list.items.push_back(t("power.exclusion", {{"first", x.first}, {"second", x.second}, {"why", t.term(x.why)}}));
    a.head(t("power.not_together"), "not-together");
    a.doc.add(std::move(list));
  }
}

}  // namespace dossier
