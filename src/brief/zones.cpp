#include "brief/zones.h"

#include <fmt/format.h>

#include <set>

#include "base/text.h"
#include "brief/references.h"

namespace brief {

std::vector<looks::Zone> build_zones(const project::Project& project, const stock::Catalogue& catalogue,
                                     const stock::Stock& stock, document::Diagnostics& diagnostics) {
  const PartFinder parts(catalogue);
  std::vector<looks::Zone> out;
  std::set<std::string> colours;
  for (const stock::StockType& t : stock.types) {
    if (!t.colour.empty()) colours.insert(t.colour);
  }
  const std::vector<std::string> known(colours.begin(), colours.end());
  for (const project::Zone& z : project.zones) {
    looks::Zone zone;
    zone.id = z.id.text;
    zone.colour = base::lower_ascii(base::trimmed(z.colour.text));
    zone.weight = z.weight;
    for (const project::ZonePart& p : z.parts) {
      looks::Need need{parts.find_all(p.part, diagnostics), p.count};
      if (!need.accepts.empty()) zone.needs.push_back(std::move(need));
    }
    if (z.parts.empty()) {
      diagnostics.error("brief.empty_zone", z.where, z.path,
                        fmt::format("zone {} is built from nothing", document::quoted(zone.id)),
                        "add a [[zones.parts]] table with part and count");
    }
    if (zone.colour.empty()) {
      diagnostics.error("brief.no_colour", z.colour.where, z.colour.path,
                        fmt::format("zone {} wants no colour", document::quoted(zone.id)),
                        known.empty() ? "a colour of the stock list" : "one of " + base::list_text(known, "or"));
    } else if (!colours.contains(zone.colour)) {
      const auto near = base::nearest_name(zone.colour, known);
      diagnostics.warning("brief.colour_not_in_stock", z.colour.where, z.colour.path,
                          fmt::format("the stock has no part in {}", document::quoted(zone.colour)),
                          near            ? *near
                          : known.empty() ? "a stock list with a column of colours"
                                          : "one of " + base::list_text(known, "or"));
    }
    if (!zone.needs.empty() && !zone.colour.empty()) out.push_back(std::move(zone));
  }
  return out;
}

}  // namespace brief
