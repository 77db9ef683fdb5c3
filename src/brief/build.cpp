#include "brief/build.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "base/check.h"
#include "base/text.h"
#include "brief/bodies.h"
#include "brief/duty.h"
#include "brief/placed.h"
#include "brief/references.h"
#include "brief/site.h"
#include "brief/supply.h"
#include "document/fields.h"

namespace brief {
namespace {

using document::Diagnostics;
using document::quoted;

Function build_function(const project::Function& from, const std::vector<Body>& bodies, const PartFinder& parts,
                        const stock::Catalogue& catalogue, std::span<const std::string> known_kinds, Diagnostics& d) {
  Function out;
  out.id = from.id.text;
  out.kind = from.kind.text;
  out.required = from.priority == project::Priority::required;
  out.weight = from.weight;
  out.sides = from.sides;
  out.body = find_body(bodies, from.body, 0, d);
  out.room = build_room(from.room_p, d);
  out.lock = from.lock;
  out.must_use = parts.find_all(from.must_use, d);
  out.must_not_use = parts.find_all(from.must_not_use, d);
  out.duty = from.duty;
  out.wants = from.wants;
  out.where = from.where;
  for (const stock::ClassId id : out.must_use) {
    if (!std::binary_search(out.must_not_use.begin(), out.must_not_use.end(), id)) continue;
    d.error("brief.must_and_must_not", from.where, from.path,
            fmt::format("{} must use and must not use {}", quoted(out.id), quoted(catalogue.at(id).id)),
            "take it out of one of the two lists");
  }
  const bool said = from.kind.where.line > 0;
  if (said && !known_kinds.empty() &&
      std::find(known_kinds.begin(), known_kinds.end(), out.kind) == known_kinds.end()) {
    const auto near = base::nearest_name(out.kind, known_kinds);
    d.error("brief.unknown_kind", from.kind.where, from.kind.path,
            fmt::format("there is no kind of function {}", quoted(out.kind)),
            near ? quoted(*near) : "one of " + document::choices_text({known_kinds.begin(), known_kinds.end()}));
  }
  return out;
}

}  // namespace

std::optional<Brief> build(const project::Project& project, std::shared_ptr<const stock::Catalogue> catalogue,
                           std::shared_ptr<const stock::Stock> stock, Diagnostics& diagnostics,
                           std::span<const std::string> known_kinds) {
  KW_CHECK(catalogue != nullptr && stock != nullptr, "a brief needs a kit system and a stock");
  Diagnostics own;
  const project::LocatedText& system = project.header.system;
  if (!system.empty() && system.text != catalogue->system.id) {
    own.error("brief.other_system", system.where, system.path,
              fmt::format("the project is for the kit system {}, the parts at hand are of {}", quoted(system.text),
                          quoted(catalogue->system.id)));
  }
  Brief out;
  out.name = project.header.name;
  out.description = project.header.description;
  out.folder = project.folder;
  out.seed = static_cast<std::uint64_t>(project.header.seed);
  out.draws = project.header.draws;
  out.limits.mass_g = project.limits.mass_g;
  out.limits.run_time_min = project.limits.run_time_min;
  out.limits.tipping_angle_deg = project.limits.tipping_angle_deg;
  if (const auto& e = project.limits.envelope_mm) out.limits.envelope_mm = Vec3{(*e)[0], (*e)[1], (*e)[2]};

  const PartFinder parts(*catalogue);
  out.support = build_support(project, own);
  out.bodies = build_bodies(project, out.support, catalogue->system.craft.fill_density_g_cm3.value, own);
  out.supply = build_supply(project, *catalogue, *stock, parts, own);
  out.parameters = build_parameters(project.parameters, catalogue->system.craft);
  for (const project::Reserve& r : project.reserves) {
    Reserve reserve;
    reserve.accepts = parts.find_all(r.part, own);
    reserve.colour = base::lower_ascii(base::trimmed(r.colour));
    reserve.count = r.count;
    reserve.reason = r.reason;
    reserve.body = find_body(out.bodies, r.body, 0, own);
    out.reserves.push_back(std::move(reserve));
  }
  for (const project::Function& f : project.functions) {
    out.functions.push_back(build_function(f, out.bodies, parts, *catalogue, known_kinds, own));
  }
  build_duty(project, out, own);
  build_placed(project, catalogue->system.pitch_mm, out, own);
  build_site(project, out, own);
  if (project.functions.empty()) {
    own.warning("brief.no_functions", {project.file, 0, 0}, "/functions", "the project wants nothing done",
                "add a [[functions]] table");
  }
  out.catalogue = std::move(catalogue);
  out.stock = std::move(stock);
  if (!diagnostics.has_errors() && !own.has_errors()) {
    diagnostics.add_all(own);
    return out;
  }
  // What was assumed for a brief that is not built would only hide the errors, and may be wrong: a value that could not
  // be read looks like one that was left out.
  for (document::Diagnostic problem : own.sorted()) {
    if (problem.severity == document::Severity::error) diagnostics.add(std::move(problem));
  }
  return std::nullopt;
}

}  // namespace brief
