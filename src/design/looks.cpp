#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "design/looks.h"

namespace design {
namespace {

/// Schemes are looked for in so many steps at most, some seconds; the plan itself has no limit. Where it ends the
/// search, the result says so.
constexpr std::int64_t kSchemeNodes = 200'000;

std::string names_of(const std::vector<stock::ClassId>& parts, const stock::Catalogue& catalogue) {
  std::string out;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (i > 0) out += " or ";
    out += catalogue.at(parts[i]).name;
  }
  return out;
}

std::string in_colour(const std::string& colour) {
  return colour.empty() ? "in a colour that the list does not tell" : "in " + colour;
}

/// The plan again with something changed, and what that does to the lacks of a zone.
struct Trial {
  const Result& result;
  const stock::Catalogue& catalogue;

  [[nodiscard]] assessment::Remedy lacking(std::string text, std::size_t zone, int before,
                                           const std::vector<looks::Zone>& zones,
                                           const std::vector<looks::Left>& left) const {
    const looks::ColourPlan plan = looks::plan_colours(zones, left, catalogue);
    const int after = plan.zones[zone].missing;
    return {std::move(text),
            "pieces lacking in \"" + result.zones[zone].id + "\"",
            static_cast<double>(before),
            static_cast<double>(after),
            "pieces",
            after == 0};
  }
};

void tell_lack(const looks::Lack& lack, const Trial& t, std::vector<assessment::Finding>& out) {
  const stock::Catalogue& catalogue = t.catalogue;
  const auto zone = static_cast<std::size_t>(lack.zone);
  const looks::Zone& z = t.result.zones[zone];
  const looks::Need& need = z.needs[static_cast<std::size_t>(lack.need)];
  const int before = t.result.colours->plan.zones[zone].missing;
  assessment::Finding f;
  f.severity = assessment::Finding::Severity::warning;
  f.code = "looks.zone_lacks";
  f.text = fmt::format("Zone \"{}\" wants {} of {}; {} can be had in any colour, {} lacking.", z.id, need.count,
                       names_of(need.accepts, catalogue), need.count - lack.missing,
                       lack.missing == 1 ? "1 is" : fmt::format("{} are", lack.missing));
  f.numbers = {{"wanted", static_cast<double>(need.count), "pieces"},
               {"lacking", static_cast<double>(lack.missing), "pieces"}};
  for (const looks::WayOut& w : lack.ways_out) {
    std::vector<looks::Zone> zones = t.result.zones;
    std::vector<looks::Left> left = t.result.colours->left;
    looks::Need& changed = zones[zone].needs[static_cast<std::size_t>(lack.need)];
    std::string text;
    switch (w.kind) {
      case looks::WayOut::Kind::more_pieces:
        left.push_back({w.part, z.colour, w.count});
        text = fmt::format("have {} more of {}", w.count, names_of(need.accepts, catalogue));
        break;
      case looks::WayOut::Kind::fewer_wanted:
        if (changed.count == w.count) {
          zones[zone].needs.erase(zones[zone].needs.begin() + lack.need);
        } else {
          changed.count -= w.count;
        }
        text = fmt::format("build \"{}\" with {} fewer of {}", z.id, w.count, names_of(need.accepts, catalogue));
        break;
      case looks::WayOut::Kind::other_class:
        changed.accepts.insert(std::lower_bound(changed.accepts.begin(), changed.accepts.end(), w.part), w.part);
        text = fmt::format("take {} as well, of which {} are left", catalogue.at(w.part).name, w.count);
        break;
    }
    f.remedies.push_back(t.lacking(std::move(text), zone, before, zones, left));
  }
  // What is kept back of these classes.
  std::vector<looks::Left> freed = t.result.colours->left;
  int kept_back = 0;
  for (const assessment::PartLine& p : t.result.assessed->parts) {
    if (p.reserved == 0 || std::find(need.accepts.begin(), need.accepts.end(), p.part) == need.accepts.end()) continue;
    freed.push_back({p.part, p.colour, p.reserved});
    kept_back += p.reserved;
  }
  if (kept_back > 0) {
    f.remedies.push_back(
        t.lacking(fmt::format("give up the {} kept back of {}", kept_back, names_of(need.accepts, catalogue)), zone,
                  before, t.result.zones, freed));
  }
  std::stable_sort(f.remedies.begin(), f.remedies.end(),
                   [](const assessment::Remedy& a, const assessment::Remedy& b) { return a.after < b.after; });
  out.push_back(std::move(f));
}

void tell_mismatch(std::size_t zone, const Trial& t, std::vector<assessment::Finding>& out) {
  const stock::Catalogue& catalogue = t.catalogue;
  const looks::Zone& z = t.result.zones[zone];
  const looks::ZonePlan& plan = t.result.colours->plan.zones[zone];
  assessment::Finding f;
  f.severity = assessment::Finding::Severity::note;
  f.code = "looks.mismatch";
  std::string where;
  std::vector<looks::Left> left = t.result.colours->left;
  for (const looks::Given& g : plan.given) {
    if (g.matches) continue;
    where += (where.empty() ? "" : "; ") +
             fmt::format("{} of {} {}", g.count, catalogue.at(g.part).name, in_colour(g.colour));
    left.push_back({g.part, z.colour, g.count});
  }
  f.text = fmt::format("Zone \"{}\": {} of {} pieces cannot be had in {}: {}.", z.id, plan.mismatched, plan.wanted,
                       z.colour, where);
  f.numbers = {{"in another colour", static_cast<double>(plan.mismatched), "pieces"},
               {"visible weight of one", static_cast<double>(z.weight), ""}};
  const looks::ColourPlan after = looks::plan_colours(t.result.zones, left, catalogue);
  f.remedies.push_back({"have these in " + z.colour, "pieces of \"" + z.id + "\" in another colour",
                        static_cast<double>(plan.mismatched), static_cast<double>(after.zones[zone].mismatched),
                        "pieces", after.zones[zone].mismatched == 0});
  out.push_back(std::move(f));
}

}  // namespace

void plan_looks(Result& r) {
  if (r.zones.empty() || !r.assessed) return;
  Looks out;
  for (const assessment::PartLine& p : r.assessed->parts) {
    if (p.left() > 0) out.left.push_back({p.part, p.colour, p.left()});
  }
  out.plan = looks::plan_colours(r.zones, out.left, *r.brief->catalogue);
  looks::SchemeOptions options;
  options.node_limit = kSchemeNodes;
  out.schemes = looks::best_schemes(r.zones, out.left, options);
  r.colours = std::move(out);

  std::vector<assessment::Finding>& findings = r.assessed->findings;
  const Trial trial{r, *r.brief->catalogue};
  for (const looks::Lack& lack : r.colours->plan.lacks) tell_lack(lack, trial, findings);
  for (std::size_t z = 0; z < r.zones.size(); ++z) {
    if (r.colours->plan.zones[z].mismatched > 0) tell_mismatch(z, trial, findings);
  }
  std::stable_sort(findings.begin(), findings.end(),
                   [](const auto& a, const auto& b) { return a.severity > b.severity; });
}

}  // namespace design
