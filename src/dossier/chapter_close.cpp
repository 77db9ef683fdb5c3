#include <fmt/format.h>

#include "dossier/author.h"

namespace dossier {
namespace {

void limits(Author& a) {
  const Texts& t = a.t;
  a.chapter("limits.title", "limits");
  a.say(t("limits.intro"));
  List proofs;
  if (a.result.proven_best()) {
    proofs.items.push_back(t("limits.proven"));
  } else {
    if (!a.result.allocated->gap_text.empty())
      proofs.items.push_back(t("limits.gap", {{"gap", t.term(a.result.allocated->gap_text)}}));
    const std::vector<std::string> incomplete = a.result.incomplete();
    if (!incomplete.empty()) proofs.items.push_back(t("limits.incomplete", {{"functions", t.list(incomplete)}}));
  }
  if (a.assessed.mass_is_estimate) proofs.items.push_back(t("limits.mass_estimate"));
  if (a.result.bench)
    proofs.items.push_back(t("limits.bench"));
  else
    proofs.items.push_back(t("limits.no_bench"));
  a.doc.add(std::move(proofs));
  if (a.assessed.findings.empty()) return;
  a.section(t("limits.findings"), "findings");
  Table table;
  table.columns = {{t("limits.severity"), false}, {t("limits.finding"), false}, {t("limits.tried"), false}};
  for (const assessment::Finding& f : a.assessed.findings) {
    std::string tried;
    for (const assessment::Remedy& m : f.remedies) {
      tried += (tried.empty() ? "" : "; ") + t(m.enough ? "limits.remedy_enough" : "limits.remedy",
                                               {{"what", t.term(m.text)},
                                                {"name", t.term(m.what)},
                                                {"before", t.quantity(m.before, t.term(m.unit), 3)},
                                                {"after", t.quantity(m.after, t.term(m.unit), 3)}});
    }
    table.rows.push_back({{t.term(assessment::name_of(f.severity)),
                           f.severity == assessment::Finding::Severity::problem ? Tone::bad : Tone::strong},
                          {t.term(f.text)},
                          {tried, Tone::faint}});
  }
  a.doc.add(std::move(table));
}

void cautions(Author& a) {
  const Texts& t = a.t;
  bool loaded = false, moves = false;
  for (const assessment::Chosen& c : a.chosen) {
    if (c.candidate == nullptr) continue;
    loaded = loaded || !c.candidate->payloads.empty();
    moves = moves || c.candidate->demand.ports > 0;
  }
  a.chapter("cautions.title", "cautions");
  Notice notice{"", {}, true};
  if (moves) {
    for (const char* key : {"cautions.pinch", "cautions.hair", "cautions.stall", "cautions.cells", "cautions.charging"})
      notice.lines.push_back(t(key));
  }
  if (loaded) notice.lines.push_back(t("cautions.energy"));
  notice.lines.push_back(t("cautions.small_parts"));
  notice.lines.push_back(t("cautions.model"));
  a.doc.add(std::move(notice));
}

void origin(Author& a) {
  const Texts& t = a.t;
  a.chapter("origin.title", "origin");
  Table table;
  table.columns = {{t("facts.property"), false}, {t("function.value"), false}};
  const auto row = [&](std::string name, std::string value) {
    table.rows.push_back({{std::move(name), Tone::faint}, {std::move(value)}});
  };
  row(t("origin.project"), a.doc.title);
  const std::string revision = revision_of(a.result, a.options);
  row(t("origin.revision"), revision.empty() ? t("origin.no_revision") : revision);
  row(t("origin.hash"), project_hash(a.brief, a.options.project_text));
  row(t("origin.program"), "Kitwright" + (a.options.version.empty() ? "" : " " + a.options.version));
  row(t("origin.system"), t.term(a.brief.system().name));
  row(t("origin.stock"), t("origin.stock_value", {{"types", std::to_string(a.brief.stock->types.size())},
                                                  {"parts", std::to_string(a.brief.stock->pieces())}}));
  row(t("origin.draws"), t("origin.draws_value", {{"draws", std::to_string(a.assessed.certainty.draws)},
                                                  {"seed", std::to_string(a.brief.seed)}}));
  a.doc.add(std::move(table));
  a.say(t("origin.repeat"), Tone::faint);
  if (t.language() != "en") a.say(t("origin.english"), Tone::faint);
}

}  // namespace

void write_close(Author& a) {
  limits(a);
  cautions(a);
  origin(a);
}

}  // namespace dossier
