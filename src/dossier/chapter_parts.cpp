#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "dossier/author.h"

namespace dossier {
namespace {

/// Classes that may stand in for a class wherever it is needed, and whether some places allow more.
struct Instead {
  std::vector<stock::ClassId> everywhere;
  bool somewhere = false;
};

Instead instead_of(const Author& a, stock::ClassId part) {
  Instead out;
  bool first = true;
  std::set<stock::ClassId> any;
  for (const assessment::Chosen& c : a.chosen) {
    if (c.candidate == nullptr) continue;
    for (const candidate::Need& n : c.candidate->demand.needs) {
      if (std::find(n.accepts.begin(), n.accepts.end(), part) == n.accepts.end()) continue;
      any.insert(n.accepts.begin(), n.accepts.end());
      std::vector<stock::ClassId> both;
      for (const stock::ClassId id : n.accepts) {
        if (id != part &&
            (first || std::find(out.everywhere.begin(), out.everywhere.end(), id) != out.everywhere.end()))
          both.push_back(id);
      }
      out.everywhere = std::move(both);
      first = false;
    }
  }
  any.erase(part);
  out.somewhere = any.size() > out.everywhere.size();
  return out;
}

void needed(Author& a) {
  const Texts& t = a.t;
  std::map<std::size_t, std::vector<std::string>> users;  // by stock type
  for (const assessment::Taken& k : a.result.allocated->taken) {
    const std::string who =
        k.function >= 0 ? a.result.functions[static_cast<std::size_t>(k.function)].id : t("parts.kept_back");
    auto& list = users[k.type];
    if (std::find(list.begin(), list.end(), who) == list.end()) list.push_back(who);
  }
  Table table;
  table.title = t("parts.needed");
  table.boxes = true;
  table.columns = {{t("parts.part"), false}, {t("parts.colour"), false}, {t("parts.count"), true},
                   {t("parts.left"), true},  {t("parts.for"), false},    {t("parts.instead"), false}};
  for (const assessment::PartLine& p : a.assessed.parts) {
    if (p.used + p.reserved == 0) continue;
    const Instead other = instead_of(a, p.part);
    std::vector<std::string> names;
    for (const stock::ClassId id : other.everywhere) names.push_back(a.part(id));
    std::string instead = t.list(names);
    if (other.somewhere) instead += (instead.empty() ? "" : "; ") + t("parts.see_function");
    table.rows.push_back({{a.part(p.part)},
                          {t.term(p.colour)},
                          {std::to_string(p.used + p.reserved), Tone::strong},
                          {std::to_string(p.left()), p.left() == 0 ? Tone::bad : Tone::plain},
                          {t.list(users[p.type])},
                          {instead, Tone::faint}});
  }
  a.doc.add(std::move(table));
}

void left(Author& a) {
  const Texts& t = a.t;
  std::vector<std::vector<Cell>> entries;
  for (const assessment::PartLine& p : a.assessed.parts) {
    if (p.left() > 0)
      entries.push_back({{std::to_string(p.left())}, {a.part(p.part)}, {t.term(p.colour), Tone::faint}});
  }
  if (entries.empty()) return;
  a.section(t("parts.left_title"), "parts-left");
  a.say(t("parts.left_intro",
          {{"left", std::to_string(a.assessed.parts_left)}, {"types", std::to_string(entries.size())}}));
  // The list is long and its lines are short.
  a.doc.add(in_columns({"", {{t("parts.left"), true}, {t("parts.part"), false}, {t("parts.colour"), false}}, {}, false},
                       std::move(entries), 2));
}

}  // namespace

void write_parts(Author& a) {
  const Texts& t = a.t;
  a.chapter("parts.title", "parts");
  a.say(t("parts.intro", {{"system", t.term(a.brief.system().name)},
                          {"used", std::to_string(a.assessed.parts_used + a.assessed.parts_reserved)}}));
  needed(a);
  a.say(t("parts.instead_note"), Tone::faint);
  if (!a.brief.reserves.empty()) {
    List kept;
    for (const brief::Reserve& r : a.brief.reserves) {
      std::vector<std::string> names;
      for (const stock::ClassId id : r.accepts) names.push_back(a.part(id));
      std::string what;
      for (const std::string& n : names) what += (what.empty() ? "" : " / ") + n;
      kept.items.push_back(
          t("parts.reserve", {{"count", std::to_string(r.count)},
                              {"part", what + (r.colour.empty() ? "" : ", " + t.term(r.colour))},
                              {"reason", r.reason.empty() ? t("parts.no_reason") : t.term(r.reason)}}));
    }
    a.head(t("parts.reserves"), "parts-reserves");
    a.doc.add(std::move(kept));
  }
  a.doc.add(Notice{t("parts.check_title"), {t("parts.check"), "kitwright stock --against dossier.html stock.csv"}});
  left(a);
}

}  // namespace dossier
