#include "looks/colour_plan.h"

#include <algorithm>
#include <map>
#include <tuple>

#include "looks/flow.h"

namespace looks {
namespace {

/// What would fill a need that lacks pieces; each of these is enough by itself, because a piece of an accepted class
/// fills one place of the need and takes none from another.
std::vector<WayOut> ways_out(const Need& need, int missing, const std::map<stock::ClassId, int>& spare,
                             const stock::Catalogue& catalogue) {
  std::vector<WayOut> out;
  out.push_back({WayOut::Kind::more_pieces, need.accepts.front(), missing});
  out.push_back({WayOut::Kind::fewer_wanted, need.accepts.front(), missing});
  const stock::Family family = catalogue.at(need.accepts.front()).family;
  for (const auto& [part, count] : spare) {
    const bool accepted = std::find(need.accepts.begin(), need.accepts.end(), part) != need.accepts.end();
    if (accepted || count < missing || catalogue.at(part).family != family) continue;
    out.push_back({WayOut::Kind::other_class, part, count});
  }
  return out;
}

}  // namespace

ColourPlan plan_colours(const std::vector<Zone>& zones, const std::vector<Left>& left,
                        const stock::Catalogue& catalogue) {
  Flow flow(zones, left);
  Flow::Welcome welcome;
  ColourPlan out;
  for (const Zone& z : zones) {
    welcome.push_back({z.colour});
    ZonePlan plan;
    plan.colour = z.colour;
    for (const Need& n : z.needs) plan.wanted += n.count;
    out.zones.push_back(std::move(plan));
  }
  const Flow::Answer answer = flow.solve(welcome);
  std::map<stock::ClassId, int> spare;
  for (const Left& l : left) spare[l.part] += l.count;
  std::map<std::pair<int, int>, int> filled;
  for (const Flow::Taken& t : answer.taken) {
    const Type& type = flow.types()[static_cast<std::size_t>(t.type)];
    ZonePlan& plan = out.zones[static_cast<std::size_t>(t.zone)];
    const bool matches = !type.colour.empty() && type.colour == plan.colour;
    plan.given.push_back({t.need, type.part, type.colour, t.count, matches});
    (matches ? plan.matching : plan.mismatched) += t.count;
    spare[type.part] -= t.count;
    filled[{t.zone, t.need}] += t.count;
  }
  for (std::size_t z = 0; z < zones.size(); ++z) {
    ZonePlan& plan = out.zones[z];
    std::sort(plan.given.begin(), plan.given.end(), [](const Given& a, const Given& b) {
      return std::tuple(a.need, !a.matches, a.part, a.colour) < std::tuple(b.need, !b.matches, b.part, b.colour);
    });
    plan.missing = plan.wanted - plan.matching - plan.mismatched;
    plan.cost = static_cast<std::int64_t>(zones[z].weight) * (plan.mismatched + plan.missing);
    out.cost += plan.cost;
    out.mismatched += plan.mismatched;
    out.missing += plan.missing;
    for (std::size_t k = 0; k < zones[z].needs.size(); ++k) {
      const int missing = zones[z].needs[k].count - filled[{static_cast<int>(z), static_cast<int>(k)}];
      if (missing == 0) continue;
      out.lacks.push_back(
          {static_cast<int>(z), static_cast<int>(k), missing, ways_out(zones[z].needs[k], missing, spare, catalogue)});
    }
  }
  return out;
}

}  // namespace looks
