#include <fmt/format.h>

#include "dossier/author.h"

namespace dossier {
namespace {

/// "3 panel, 3 x 13, yellow"
std::string piece_text(const Author& a, const looks::Given& g) {
  return a.t("colours.piece", {{"count", std::to_string(g.count)},
                               {"part", a.part(g.part)},
                               {"colour", g.colour.empty() ? a.t("colours.no_colour") : a.t.term(g.colour)}});
}

std::string needs_text(const Author& a, const looks::Need& n) {
  std::string out;
  for (const stock::ClassId id : n.accepts) out += (out.empty() ? "" : " / ") + a.part(id);
  return out;
}

void scheme_rows(const Author& a, const std::vector<looks::Scheme>& schemes, Table& table) {
  for (const looks::Scheme& s : schemes) {
    std::vector<std::string> colours, zones;
    for (const std::string& c : s.colours) colours.push_back(a.t.term(c));
    for (std::size_t z = 0; z < s.of_zone.size(); ++z)
      zones.push_back(a.result.zones[z].id + " " + a.t.term(s.of_zone[z]));
    table.rows.push_back({{a.t.list(colours), Tone::strong},
                          {a.t.list(zones)},
                          {std::to_string(s.mismatched), s.mismatched > 0 ? Tone::bad : Tone::plain},
                          {std::to_string(s.changed_zones)}});
  }
}

}  // namespace

void write_colours(Author& a) {
  if (!a.result.colours || a.result.zones.empty()) return;
  const Texts& t = a.t;
  const looks::ColourPlan& plan = a.result.colours->plan;
  a.chapter("colours.title", "colours");
  a.say(t("colours.intro"));
  Table table;
  table.title = t("colours.zones");
  table.columns = {{t("colours.zone"), false},    {t("colours.wanted"), false}, {t("colours.pieces"), true},
                   {t("colours.matching"), true}, {t("colours.other"), true},   {t("colours.missing"), true},
                   {t("colours.which"), false}};
  for (std::size_t z = 0; z < plan.zones.size(); ++z) {
    const looks::ZonePlan& p = plan.zones[z];
    std::string which;
    for (const looks::Given& g : p.given) which += (which.empty() ? "" : "; ") + piece_text(a, g);
    table.rows.push_back({{a.result.zones[z].id, Tone::strong},
                          {t.term(p.colour)},
                          {std::to_string(p.wanted)},
                          {std::to_string(p.matching)},
                          {std::to_string(p.mismatched), p.mismatched > 0 ? Tone::bad : Tone::plain},
                          {std::to_string(p.missing), p.missing > 0 ? Tone::bad : Tone::plain},
                          {which}});
  }
  a.doc.add(std::move(table));
  if (!plan.lacks.empty()) {
    List lacks;
    for (const looks::Lack& l : plan.lacks) {
      const looks::Zone& zone = a.result.zones[static_cast<std::size_t>(l.zone)];
      lacks.items.push_back(t("colours.lack", {{"zone", zone.id},
                                               {"count", std::to_string(l.missing)},
                                               {"part", needs_text(a, zone.needs[static_cast<std::size_t>(l.need)])}}));
    }
    a.doc.add(std::move(lacks));
  }
  const looks::Schemes& schemes = a.result.colours->schemes;
  Table few;
  few.title = t("colours.schemes");
  few.columns = {{t("colours.colours"), false},
                 {t("colours.where"), false},
                 {t("colours.other"), true},
                 {t("colours.changed"), true}};
  scheme_rows(a, schemes.two, few);
  scheme_rows(a, schemes.three, few);
  const bool any = !few.rows.empty();
  a.doc.add(std::move(few));
  if (any && !schemes.proven) a.say(t("colours.not_proven"), Tone::faint);
}

}  // namespace dossier
