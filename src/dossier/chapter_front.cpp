#include <fmt/format.h>

#include <cmath>

#include "dossier/author.h"

namespace dossier {
namespace {

void facts(Author& a) {
  const assessment::Assessment& s = a.assessed;
  const brief::Limits& limits = a.brief.limits;
  const Texts& t = a.t;
  Table table;
  table.title = t("facts.title");
  table.columns = {{t("facts.property"), false}, {t("facts.reached"), true}, {t("facts.asked"), true}};
  const std::string none = t("facts.not_asked");
  const auto row = [&](std::string name, std::string reached, std::string asked, bool good = true) {
    table.rows.push_back({{std::move(name)}, {std::move(reached), good ? Tone::plain : Tone::bad}, {std::move(asked)}});
  };
  const report::Extent e = report::extent_of(a.brief, a.chosen, report::solids_of(a.brief, a.chosen));
  row(t("facts.size"),
      t("facts.size_value", {{"length", t.number(e.high_mm.x_mm - e.low_mm.x_mm, 3)},
                             {"width", t.number(e.high_mm.y_mm - e.low_mm.y_mm, 3)},
                             {"height", t.number(e.high_mm.z_mm - e.low_mm.z_mm, 3)}}),
      limits.envelope_mm ? t("facts.size_value", {{"length", t.number(limits.envelope_mm->x_mm, 3)},
                                                  {"width", t.number(limits.envelope_mm->y_mm, 3)},
                                                  {"height", t.number(limits.envelope_mm->z_mm, 3)}})
                         : none);
  row(t(s.mass_is_estimate ? "facts.mass_estimate" : "facts.mass"), a.range(s.mass_interval_g, "g"),
      limits.mass_g ? t("facts.at_most", {{"value", t.quantity(*limits.mass_g, "g", 3)}}) : none,
      !limits.mass_g || s.mass_g <= *limits.mass_g);
  row(t("facts.margin"), t.number(a.result.allocated->worst_margin, 3), t("facts.at_least", {{"value", "1"}}));
  row(t("facts.confidence", {{"draws", std::to_string(s.certainty.draws)}}), a.percent(s.certainty.confidence), none);
  if (s.stance.judged) {
    row(t("facts.tipping"), a.range(s.stance.least_interval_deg, "deg"),
        limits.tipping_angle_deg ? t("facts.at_least", {{"value", t.quantity(*limits.tipping_angle_deg, "deg")}})
                                 : none,
        !limits.tipping_angle_deg || s.stance.least_deg >= *limits.tipping_angle_deg);
  }
  if (s.lifting.judged) {
    for (std::size_t i = 0; i < s.lifting.states.size(); ++i) {
      const auto& w = s.lifting.at_wanted[i];
      row(t("facts.rated",
            {{"radius", t.quantity(s.lifting.wanted_radius_mm, "mm", 3)}, {"state", t.term(s.lifting.states[i])}}),
          t.quantity(w.rated_g, "g", 3), t.quantity(s.lifting.wanted_g, "g", 3), w.rated_g >= s.lifting.wanted_g);
    }
  }
  const base::Triple& run = s.power.run_time_min;
  if (run.nominal > 0) {
    row(t("facts.run_time"),
        s.power.duty.run_time_open ? t("facts.more_than", {{"value", t.quantity(run.nominal, "min", 3)}})
                                   : a.range(run, "min"),
        limits.run_time_min ? t("facts.at_least", {{"value", t.quantity(*limits.run_time_min, "min")}}) : none,
        !limits.run_time_min || run.nominal >= *limits.run_time_min);
  }
  row(t("facts.parts"),
      t("facts.parts_value", {{"used", std::to_string(s.parts_used)},
                              {"reserved", std::to_string(s.parts_reserved)},
                              {"left", std::to_string(s.parts_left)}}),
      none);
  a.doc.add(std::move(table));
}

void spec(Author& a) {
  const Texts& t = a.t;
  a.chapter("spec.title", "spec");
  a.say(t("spec.intro", {{"draws", std::to_string(a.assessed.certainty.draws)}}));
  Table table;
  table.title = t("spec.table");
  table.columns = {{t("spec.function"), false}, {t("spec.figure"), false}, {t("spec.reached"), true},
                   {t("spec.asked"), true},     {t("spec.margin"), true},  {t("spec.interval"), true},
                   {t("spec.sure"), true}};
  std::vector<std::string> left_out;
  for (std::size_t f = 0; f < a.result.functions.size(); ++f) {
    const candidate::Candidate* c = a.result.chosen(f);
    if (c == nullptr) {
      left_out.push_back(a.result.functions[f].id);
      continue;
    }
    const assessment::FunctionCertainty& sure = a.assessed.certainty.functions[f];
    for (std::size_t m = 0; m < c->nominal.margins.size(); ++m) {
      const candidate::Margin& k = c->nominal.margins[m];
      const auto ratio = [&](double r) { return r >= candidate::kMarginCap ? t("spec.ample") : t.number(r, 3); };
      std::string interval;
      if (m < sure.ratio.size() && sure.ratio[m].low < candidate::kMarginCap)
        interval = t("spec.from_to", {{"low", ratio(sure.ratio[m].low)}, {"high", ratio(sure.ratio[m].high)}});
      table.rows.push_back({{m == 0 ? a.result.functions[f].id : "", Tone::strong},
                            {t.word(k.name)},
                            {t.quantity(k.capability, t.term(k.unit))},
                            {t.quantity(k.requirement, t.term(k.unit))},
                            {ratio(k.ratio), k.ratio < 1 ? Tone::bad : Tone::plain},
                            {interval, Tone::faint},
                            {m == 0 ? a.percent(sure.confidence) : ""}});
    }
  }
  a.doc.add(std::move(table));
  a.say(t("spec.limiting"), Tone::faint);
  List worst;
  for (std::size_t f = 0; f < a.result.functions.size(); ++f) {
    const candidate::Candidate* c = a.result.chosen(f);
    if (c == nullptr || c->nominal.margins.empty()) continue;
    const auto& margins = c->nominal.margins;
    const auto k = std::min_element(margins.begin(), margins.end(),
                                    [](const auto& x, const auto& y) { return x.ratio < y.ratio; });
    worst.items.push_back(t("spec.limited_by", {{"function", a.result.functions[f].id},
                                                {"name", t.word(k->name)},
                                                {"note", k->note.empty() ? t("spec.everywhere") : t.term(k->note)}}));
  }
  a.doc.add(std::move(worst));
  if (!left_out.empty()) a.say(t("spec.left_out", {{"functions", t.list(left_out)}}));
}

}  // namespace

void write_front(Author& a) {
  a.doc.add(Notice{a.t("front.model_only_title"), {a.t("front.model_only")}, true});
  facts(a);
  a.doc.add(Contents{a.t("front.contents")});
  spec(a);
}

}  // namespace dossier
