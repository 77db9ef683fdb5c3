#include <fmt/format.h>

#include "dossier/author.h"
#include "handset/guide.h"
#include "report/handset.h"

namespace dossier {
namespace {

void assignments(Author& a, const handset::Plan& plan) {
  const Texts& t = a.t;
  Table table;
  table.title = t("handset.controls");
  table.columns = {{t("handset.control"), false}, {t("handset.drive"), false}, {t("handset.ways"), false},
                   {t("handset.invert"), false},  {t("handset.ramp"), true},   {t("handset.most"), true}};
  for (const handset::Assignment& k : plan.assignments)
    table.rows.push_back({{t.term(handset::text_of(k.control))},
                          {k.name, Tone::strong},
                          {t.term(k.mixing.empty() ? k.ways : k.mixing)},
                          {t.term(handset::name_of(k.invert))},
                          {t.quantity(k.ramp_s, "s", 3)},
                          {a.percent(k.speed_limit)}});
  a.doc.add(std::move(table));
}

}  // namespace

void write_handset(Author& a) {
  const Texts& t = a.t;
  const handset::Plan plan = handset::plan(a.brief, a.chosen, a.assessed);
  if (plan.assignments.empty()) return;
  const std::vector<handset::GuideStep> steps = handset::guide(a.brief, a.chosen, a.assessed, plan);
  const std::vector<std::string> sockets = handset::socket_names(a.chosen, a.assessed);
  const report::HandsetView view{a.brief, a.assessed, plan, steps, sockets, nullptr};
  a.chapter("handset.title", "handset");
  a.say(t(plan.assumed_handset ? "handset.intro_assumed" : "handset.intro"));
  if (!plan.shortage.empty()) a.doc.add(Notice{t("handset.shortage"), {t.term(plan.shortage)}, true});
  assignments(a, plan);
  for (std::size_t i = 0; i < steps.size(); ++i) {
    a.head(t("handset.step", {{"number", std::to_string(i + 1)}, {"title", t.term(steps[i].title)}}),
           fmt::format("handset-{}", i + 1));
    // The figure of the checks says nothing that the list with its boxes does not.
    const bool checks = steps[i].figure == handset::GuideStep::Figure::checks;
    if (!checks) a.figure(report::guide_figure(view, i), "", fmt::format("handset_{}", i + 1));
    List lines;
    lines.mark = checks ? List::Mark::box : List::Mark::bullet;
    for (const std::string& line : steps[i].lines) lines.items.push_back(t.term(line));
    a.doc.add(std::move(lines));
  }
}

}  // namespace dossier
