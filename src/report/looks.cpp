#include "report/looks.h"

#include <fmt/format.h>

namespace report {
namespace {

using Json = nlohmann::ordered_json;
using Align = Table::Align;

std::string colour_text(const std::string& colour) {
  return colour.empty() ? "colour not told" : colour;
}

std::string scheme_row(const design::Result& r, const looks::Scheme& s) {
  std::string out;
  for (std::size_t z = 0; z < r.zones.size(); ++z) out += (z > 0 ? ", " : "") + r.zones[z].id + " " + s.of_zone[z];
  return out;
}

Json scheme_json(const looks::Scheme& s) {
  return {{"colours", s.colours},       {"of_zone", s.of_zone}, {"cost", s.cost},
          {"mismatched", s.mismatched}, {"missing", s.missing}, {"changed_zones", s.changed_zones}};
}

}  // namespace

std::string looks_text(const design::Result& r, const TextOptions& o) {
  if (!r.colours) return {};
  const stock::Catalogue& catalogue = *r.brief->catalogue;
  std::string out = heading("Colours", o);
  Table t;
  t.column("zone");
  t.column("wanted");
  t.column("pieces", Align::right);
  t.column("matching", Align::right);
  t.column("other colour", Align::right);
  t.column("missing", Align::right);
  t.column("gets", Align::left, true);
  for (std::size_t z = 0; z < r.zones.size(); ++z) {
    const looks::ZonePlan& p = r.colours->plan.zones[z];
    std::string gets;
    for (const looks::Given& g : p.given) {
      gets += (gets.empty() ? "" : "; ") +
              fmt::format("{} x {} {}", g.count, catalogue.at(g.part).name, colour_text(g.colour));
    }
    t.row({r.zones[z].id, p.colour, fmt::format("{}", p.wanted), fmt::format("{}", p.matching),
           fmt::format("{}", p.mismatched), fmt::format("{}", p.missing), gets},
          p.missing > 0      ? Tint::bad
          : p.mismatched > 0 ? Tint::warm
                             : Tint::none);
  }
  out += t.str(o);
  const looks::Schemes& s = r.colours->schemes;
  if (!s.two.empty() || !s.three.empty()) {
    out += paragraph("  ",
                     fmt::format("Few colours that this stock carries best ({} sets looked at{}):", s.sets,
                                 s.proven ? ", every one to the end" : "; ended by its limit, better ones may exist"),
                     o);
    Table few;
    few.column("colours");
    few.column("other colour", Align::right);
    few.column("missing", Align::right);
    few.column("weighed", Align::right);
    few.column("zones", Align::left, true);
    for (const auto* list : {&s.two, &s.three}) {
      for (const looks::Scheme& x : *list) {
        std::string colours;
        for (const std::string& c : x.colours) colours += (colours.empty() ? "" : " + ") + c;
        few.row({colours, fmt::format("{}", x.mismatched), fmt::format("{}", x.missing), fmt::format("{}", x.cost),
                 scheme_row(r, x)});
      }
    }
    out += few.str(o);
  }
  return out;
}

Json looks_json(const design::Result& r) {
  if (!r.colours) return nullptr;
  const stock::Catalogue& catalogue = *r.brief->catalogue;
  Json zones = Json::array();
  for (std::size_t z = 0; z < r.zones.size(); ++z) {
    const looks::ZonePlan& p = r.colours->plan.zones[z];
    Json given = Json::array();
    for (const looks::Given& g : p.given) {
      given.push_back({{"part", catalogue.at(g.part).id},
                       {"name", catalogue.at(g.part).name},
                       {"colour", g.colour},
                       {"count", g.count},
                       {"matches", g.matches}});
    }
    zones.push_back({{"id", r.zones[z].id},
                     {"colour", p.colour},
                     {"weight", r.zones[z].weight},
                     {"wanted", p.wanted},
                     {"matching", p.matching},
                     {"mismatched", p.mismatched},
                     {"missing", p.missing},
                     {"cost", p.cost},
                     {"given", std::move(given)}});
  }
  Json two = Json::array(), three = Json::array();
  for (const looks::Scheme& s : r.colours->schemes.two) two.push_back(scheme_json(s));
  for (const looks::Scheme& s : r.colours->schemes.three) three.push_back(scheme_json(s));
  const looks::ColourPlan& plan = r.colours->plan;
  return {{"zones", std::move(zones)},
          {"cost", plan.cost},
          {"mismatched", plan.mismatched},
          {"missing", plan.missing},
          {"schemes",
           {{"two", std::move(two)},
            {"three", std::move(three)},
            {"sets", r.colours->schemes.sets},
            {"examined", r.colours->schemes.examined},
            {"proven", r.colours->schemes.proven}}}};
}

}  // namespace report
