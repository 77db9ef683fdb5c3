#include "design/read.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/shell.h"
#include "base/text.h"
#include "brief/build.h"
#include "brief/zones.h"
#include "design/read_cache.h"
#include "functions/kinds.h"
#include "looks/paint.h"
#include "project/project.h"
#include "stock/catalogue.h"
#include "stock/import.h"

namespace design {
namespace {

/// The catalogue of the project's kit system; an unknown one is reported where the project names it.
std::shared_ptr<const stock::Catalogue> catalogue_of(const project::Project& project, const std::string& told_folder,
                                                     ReadCache& cache, document::Diagnostics& diagnostics) {
  const document::LocatedText& system = project.header.system;
  if (system.empty()) return nullptr;  // already reported as missing
  document::Diagnostics own;
  auto catalogue = cache.catalogue(system.text, told_folder, own);
  for (document::Diagnostic d : own.sorted()) {
    if (d.where.line == 0 && d.code == "catalogue.unknown_system") {
      d.where = system.where;
      d.path = system.path;
    }
    diagnostics.add(std::move(d));
  }
  return catalogue;
}

/// Of the rows that did not count, the ones with most pieces are named.
constexpr std::size_t kNamedRows = 3;

/// Rows that did not count are the user's to decide; a design without them may say "infeasible" for no good reason.
void warn_of_uncounted(const stock::ImportResult& imported, const std::string& file,
                       document::Diagnostics& diagnostics) {
  using State = stock::RowReport::State;
  const int rows = imported.rows_in(State::doubtful) + imported.rows_in(State::unmatched);
  if (rows == 0) return;
  const int pieces = imported.pieces_in(State::doubtful) + imported.pieces_in(State::unmatched);
  std::vector<const stock::RowReport*> most;
  for (const stock::RowReport& row : imported.rows)
    if ((row.state == State::doubtful || row.state == State::unmatched) && !row.text.empty()) most.push_back(&row);
  std::stable_sort(most.begin(), most.end(), [](const auto* a, const auto* b) { return a->count > b->count; });
  std::vector<std::string> named;
  for (std::size_t i = 0; i < std::min(most.size(), kNamedRows); ++i)
    named.push_back(fmt::format("{} ({})", document::quoted(most[i]->text), most[i]->count));
  if (most.size() > named.size()) named.emplace_back("others");
  diagnostics.warning("design.uncounted_rows", {file, 0, 0}, "",
                      fmt::format("{} row{} ({} parts) of the stock list {} not counted, doubtful or not known{}.",
                                  rows, rows == 1 ? "" : "s", pieces, rows == 1 ? "is" : "are",
                                  named.empty() ? "" : ": " + base::list_text(named)),
                      fmt::format("see them with: kitwright stock {}", base::shell_word(file)));
}

/// The brief's estimate of a body is its envelope's filling, motors and hubs apart. So that the functions are computed
/// for about the machine that will stand there, the hubs and, for each function and side, a motor of middling mass
/// among those in the stock are added; the spread goes from the lightest to the heaviest. The assessment weighs what
/// was really chosen.
void add_expected_drives(brief::Brief& brief) {
  std::vector<double> motors_g;
  for (const stock::StockType& t : brief.stock->types) {
    const stock::PartClass& part = brief.catalogue->at(t.part);
    if (part.family == stock::Family::motor && t.count > 0) motors_g.push_back(part.mass_g.value.nominal);
  }
  std::sort(motors_g.begin(), motors_g.end());
  const auto add = [&](int body, double low_g, double nominal_g, double high_g) {
    brief::Body& b = brief.bodies.at(body < 0 ? 0 : static_cast<std::size_t>(body));
    if (!b.mass_is_estimate) return;
    b.mass_g = {b.mass_g.low + low_g, b.mass_g.nominal + nominal_g, b.mass_g.high + high_g};
  };
  for (const stock::ClassId hub : brief.supply.hubs) {
    const base::Triple& mass_g = brief.catalogue->at(hub).mass_g.value;
    add(-1, mass_g.low, mass_g.nominal, mass_g.high);
  }
  if (motors_g.empty()) return;
  for (const brief::Function& f : brief.functions) {
    add(f.body, motors_g.front() * f.sides, motors_g[motors_g.size() / 2] * f.sides, motors_g.back() * f.sides);
  }
}

Publication publication_of(const project::Project& project) {
  Publication out;
  out.revision = project.header.revision.text;
  const auto paint = [](const document::LocatedText& name) { return looks::paint_of(name.text).value_or("#ffffff"); };
  for (const project::Decal& d : project.decals)
    out.decals.push_back(
        {d.id.text, d.text, d.where_on, d.width_mm, d.height_mm, paint(d.colour), paint(d.ground), d.stripes, d.count});
  return out;
}

/// The wants of a project whose brief could not be built: what their keys alone tell, so that one run shows it too.
void check_wants(const project::Project& project, document::Diagnostics& diagnostics) {
  for (const project::Function& f : project.functions) {
    const candidate::Kind* kind = functions::find_kind(f.kind.text);
    if (kind == nullptr || f.wants.where.line == 0) continue;
    document::check_fields(f.wants, kind->fields(), std::string(kind->name), diagnostics);
  }
}

}  // namespace

std::shared_ptr<const brief::Brief> read_brief(const Options& options, document::Diagnostics& diagnostics,
                                               Result* beside) {
  project::Rescaling rescaling;
  if (options.size_factor != 1) {
    rescaling.factor = options.size_factor;
    for (const candidate::Kind& kind : functions::kinds())
      rescaling.kinds.push_back({std::string(kind.name), std::string(kind.summary), kind.fields()});
  }
  const auto project =
      options.text ? project::parse_project(*options.text, project::file_of(options.project), diagnostics, rescaling)
                   : project::read_project(options.project, diagnostics, rescaling);
  if (!project) return nullptr;
  ReadCache once;
  ReadCache& files = options.read_cache != nullptr ? *options.read_cache : once;
  const std::shared_ptr<const stock::Catalogue> catalogue =
      catalogue_of(*project, options.catalogue, files, diagnostics);
  if (!catalogue) {
    check_wants(*project, diagnostics);
    return nullptr;
  }

  const std::string file = options.stock.empty() ? project->stock_file() : options.stock;
  document::Diagnostics stock_problems;
  // What the project says of its own list does not hold for another one.
  const bool own_list = options.stock.empty() && options.columns.empty();
  const stock::ColumnChoice columns = stock::parse_column_choice(
      own_list ? std::string_view(project->header.stock_columns) : options.columns, stock_problems);
  const std::shared_ptr<const stock::ImportResult> imported = files.list(file, catalogue, columns, stock_problems);
  warn_of_uncounted(*imported, file, stock_problems);
  diagnostics.add_all(stock_problems);

  std::vector<std::string> kinds;
  for (const candidate::Kind& kind : functions::kinds()) kinds.emplace_back(kind.name);
  if (beside != nullptr) {
    beside->zones = brief::build_zones(*project, *catalogue, imported->stock, diagnostics);
    beside->publication = publication_of(*project);
  }
  auto brief = brief::build(*project, catalogue, std::shared_ptr<const stock::Stock>(imported, &imported->stock),
                            diagnostics, kinds);
  if (!brief) {
    check_wants(*project, diagnostics);
    return nullptr;
  }
  add_expected_drives(*brief);
  return std::make_shared<const brief::Brief>(std::move(*brief));
}

}  // namespace design
