#include "design/problem.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/check.h"
#include "base/parallel.h"
#include "base/text.h"
#include "design/places.h"

namespace design {
namespace {

/// Begins the part of a candidate's key that tells its layout (functions/drive).
constexpr std::string_view kLayoutPart = "|at ";

std::int64_t tenths_of_gram(double mass_g) {
  return std::llround(mass_g * 10);
}

/// Makes one class per distinct set of stock types.
class Classes {
 public:
  Classes(const brief::Brief& brief, allocation::Problem& problem, std::vector<stock::ClassId>& part_classes)
      : brief_(brief), problem_(problem), part_classes_(part_classes) {
    for (const stock::StockType& t : brief.stock->types) {
      const std::string& name = brief.catalogue->at(t.part).name;
      add(t.part, t.colour.empty() ? name : name + " (" + t.colour + ")", t.count);
    }
  }

  int of(const std::vector<stock::ClassId>& accepts, const std::string& colour, const std::string& label) {
    std::vector<int> parts;
    const std::size_t in_stock = brief_.stock->types.size();
    for (const stock::ClassId id : accepts) {
      if (types_of_.find(id) == types_of_.end()) add(id, brief_.catalogue->at(id).name, 0);
      for (const int t : types_of_[id]) {
        const std::size_t at = static_cast<std::size_t>(t);
        if (colour.empty() || at >= in_stock || brief_.stock->types[at].colour == colour) parts.push_back(t);
      }
    }
    std::sort(parts.begin(), parts.end());
    parts.erase(std::unique(parts.begin(), parts.end()), parts.end());
    const auto [at, fresh] = made_.try_emplace(parts, static_cast<int>(problem_.classes.size()));
    if (fresh) problem_.classes.push_back({colour.empty() ? label : label + " (" + colour + ")", std::move(parts)});
    return at->second;
  }

 private:
  void add(stock::ClassId part, std::string name, int count) {
    types_of_[part].push_back(static_cast<int>(problem_.parts.size()));
    problem_.parts.push_back({std::move(name), count});
    part_classes_.push_back(part);
  }

  const brief::Brief& brief_;
  allocation::Problem& problem_;
  std::vector<stock::ClassId>& part_classes_;
  std::map<stock::ClassId, std::vector<int>> types_of_;
  std::map<std::vector<int>, int> made_;
};

std::string label_of(const std::vector<stock::ClassId>& accepts, const stock::Catalogue& catalogue) {
  std::vector<std::string> names;
  for (const stock::ClassId id : accepts) names.push_back(catalogue.at(id).name);
  constexpr std::size_t kMostNames = 4;
  if (names.size() > kMostNames) {
    const std::size_t more = names.size() - (kMostNames - 1);
    names.resize(kMostNames - 1);
    names.push_back(fmt::format("{} others", more));
  }
  return base::list_text(names, "or");
}

/// Motors and actuators on bodies whose mass is an estimate: an envelope's filling does not contain them, everything
/// else it does (assessment/weigh.cpp), unless the body has no envelope.
double added_mass_g(const candidate::Candidate& c, const brief::Brief& brief) {
  candidate::Demand powered;
  for (const candidate::Need& need : c.demand.needs) {
    const stock::Family family = brief.catalogue->at(need.accepts.front()).family;
    if (family == stock::Family::motor || family == stock::Family::actuator) powered.needs.push_back(need);
  }
  const double all_g = candidate::parts_mass_g(c.demand, *brief.catalogue);
  const double share = all_g > 0 ? candidate::parts_mass_g(powered, *brief.catalogue) / all_g : 0;
  double sum_g = 0;
  for (const candidate::MassItem& m : c.masses) {
    const brief::Body& body = brief.bodies.at(m.body < 0 ? 0 : static_cast<std::size_t>(m.body));
    if (!body.mass_is_estimate) continue;
    const bool enveloped = body.size_mm.x_mm > 0 && body.size_mm.y_mm > 0 && body.size_mm.z_mm > 0;
    sum_g += enveloped ? m.mass_g * share : m.mass_g;
  }
  return sum_g;
}

std::int64_t limit_or_none(double value) {
  return value > 0 ? static_cast<std::int64_t>(std::floor(value + 1e-9)) : INT64_MAX;
}

void add_budgets(const brief::Brief& brief, allocation::Problem& problem) {
  problem.budgets.push_back({kPorts, brief.supply.ports});
  problem.budgets.push_back({kChannels, brief.supply.channels});
  problem.budgets.push_back({kMass, INT64_MAX});
  std::int64_t added = INT64_MAX;
  std::string why;
  std::int64_t whole = 0, taken = 0;
  if (brief.limits.mass_g) {
    const double base_g = base_mass_g(brief);
    added = std::max<std::int64_t>(0, tenths_of_gram(*brief.limits.mass_g - base_g));
    whole = tenths_of_gram(*brief.limits.mass_g);
    taken = tenths_of_gram(base_g);
    why = fmt::format("bodies and hubs weigh {} g of the {} g allowed", base::plain(std::round(base_g), 6),
                      base::plain(*brief.limits.mass_g, 6));
  }
  problem.budgets.push_back({kAddedMass, added, "g", 10, why, whole, taken});
  problem.budgets.push_back({kCurrent, limit_or_none(brief.supply.total_current_ma), "mA"});
}

std::vector<std::int64_t> uses_of(const candidate::Candidate& c, const brief::Brief& brief) {
  return {c.demand.ports, c.demand.channels, tenths_of_gram(candidate::parts_mass_g(c.demand, *brief.catalogue)),
          tenths_of_gram(added_mass_g(c, brief)),
          static_cast<std::int64_t>(std::ceil(c.demand.running_current_ma - 1e-9))};
}

/// Without the places where its candidates stand.
allocation::Function function_of(const brief::Brief& brief, const FunctionResult& fn, const brief::Function& from,
                                 Classes& classes) {
  allocation::Function out;
  out.name = fn.id;
  out.floor = kFloor;
  if (!from.required)
    out.skip = allocation::Skip{INT_MAX, 0, std::max<std::int64_t>(1, std::llround(from.weight * 1000))};
  for (const candidate::Candidate& x : fn.proposal.candidates) {
    allocation::Candidate item;
    // Down to the thousandth, with a hair for rounding in the last digits: 0.9996 is not what was asked for.
    item.margin = static_cast<int>(std::floor(x.nominal.worst() * 1000 + 1e-6));
    item.use = uses_of(x, brief);
    std::map<int, int> counts;
    for (const candidate::Need& n : x.demand.needs) {
      if (n.count > 0) counts[classes.of(n.accepts, "", n.label)] += n.count;
    }
    for (const auto& [cls, count] : counts) item.needs.push_back({cls, count});
    out.candidates.push_back(std::move(item));
  }
  return out;
}

}  // namespace

double base_mass_g(const brief::Brief& brief) {
  double sum_g = 0;
  for (const brief::Body& b : brief.bodies) {
    const double volume_cm3 = b.size_mm.x_mm * b.size_mm.y_mm * b.size_mm.z_mm / 1000;
    sum_g += b.mass_is_estimate ? volume_cm3 * brief.system().craft.fill_density_g_cm3.value.nominal : b.mass_g.nominal;
  }
  const bool chassis_estimated = !brief.bodies.empty() && brief.bodies.front().mass_is_estimate;
  for (const stock::ClassId hub : brief.supply.hubs) {
    if (chassis_estimated) sum_g += brief.catalogue->at(hub).mass_g.value.nominal;
  }
  return sum_g;
}

allocation::Problem make_problem(const brief::Brief& brief, const std::vector<FunctionResult>& functions,
                                 std::vector<stock::ClassId>& part_classes, const base::RunControl& control) {
  allocation::Problem problem;
  Classes classes(brief, problem, part_classes);
  add_budgets(brief, problem);

  for (const stock::ClassId hub : brief.supply.hubs) {
    const int cls = classes.of({hub}, "", brief.catalogue->at(hub).name);
    problem.reserves.push_back({cls, 1, "power supply"});
  }
  for (const brief::Reserve& r : brief.reserves) {
    if (r.count <= 0) continue;
    const int cls = classes.of(r.accepts, r.colour, label_of(r.accepts, *brief.catalogue));
    problem.reserves.push_back({cls, r.count, r.reason.empty() ? "kept back" : r.reason});
  }

  Places places;
  // Where they stand and what they are made of: neither asks for the other.
  base::parallel_for(2, control.jobs, [&](std::size_t task) {
    if (task == 0) {
      places = places_of(brief, functions, control);
      return;
    }
    for (std::size_t f = 0; f < functions.size(); ++f) {
      control.check();
      problem.functions.push_back(function_of(brief, functions[f], brief.functions[f], classes));
    }
  });
  problem.places = std::move(places.names);
  for (std::size_t f = 0; f < functions.size(); ++f) {
    std::vector<allocation::Candidate>& items = problem.functions[f].candidates;
    for (std::size_t c = 0; c < items.size(); ++c) items[c].cells = std::move(places.of[f][c]);
  }
  return problem;
}

void apply_locks(const brief::Brief& brief, const std::vector<FunctionResult>& functions, allocation::Problem& problem,
                 document::Diagnostics& diagnostics) {
  for (std::size_t f = 0; f < functions.size(); ++f) {
    const std::string& key = brief.functions[f].lock;
    if (key.empty()) continue;
    const auto& candidates = functions[f].proposal.candidates;
    auto found = std::find_if(candidates.begin(), candidates.end(), [&](const auto& c) { return c.key == key; });
    // A key without its layout means the first layout of that drive.
    const auto of_drive = [&](const std::string& drive) {
      return std::find_if(candidates.begin(), candidates.end(),
                          [&](const auto& c) { return c.key.rfind(drive + std::string(kLayoutPart), 0) == 0; });
    };
    if (found == candidates.end()) found = of_drive(key);
    if (found == candidates.end()) {
      const std::size_t part = key.rfind(kLayoutPart);
      const auto elsewhere = part == std::string::npos ? candidates.end() : of_drive(key.substr(0, part));
      if (elsewhere != candidates.end()) {
        diagnostics.error(
            "design.unknown_lock", brief.functions[f].where, "",
            fmt::format("\"{}\" is kept to {}, but that drive is no longer among those that stand there.",
                        functions[f].id, document::quoted(key)),
            fmt::format("lock = \"{}\", or leave the layout out: \"{}\"", elsewhere->key, key.substr(0, part)));
        continue;
      }
      std::vector<std::string> keys;
      for (const auto& c : candidates) keys.push_back(c.key);
      const auto near = base::nearest_name(key, keys);
      diagnostics.error(
          "design.unknown_lock", brief.functions[f].where, "",
          fmt::format("\"{}\" is kept to {}, but no candidate has that key.", functions[f].id, document::quoted(key)),
          near ? fmt::format("lock = \"{}\"", *near)
          : keys.empty()
              ? "leave \"lock\" out; \"explain\" says why there is no candidate"
              : fmt::format("leave \"lock\" out, or take a key that \"explain\" lists, such as \"{}\"", keys.front()));
      continue;
    }
    const int at = static_cast<int>(found - candidates.begin());
    allocation::Function& fn = problem.functions[f];
    fn.locked = at;
    // A lock is the user's word: the candidate is kept even where it misses a target.
    fn.floor = std::min(fn.floor, fn.candidates[static_cast<std::size_t>(at)].margin);
    fn.skip.reset();
  }
}

std::vector<assessment::Taken> taken_of(const allocation::Solution& solution) {
  std::vector<assessment::Taken> out;
  for (const allocation::Served& s : solution.parts) {
    for (const allocation::Take& t : s.takes) out.push_back({static_cast<std::size_t>(t.part), t.count, s.function});
  }
  for (const allocation::Served& s : solution.reserves) {
    for (const allocation::Take& t : s.takes) out.push_back({static_cast<std::size_t>(t.part), t.count, -1});
  }
  return out;
}

}  // namespace design
