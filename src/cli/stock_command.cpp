#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.h"
#include "cli/commands.h"
#include "document/schema.h"
#include "functions/kinds.h"
#include "project/project.h"
#include "report/json.h"
#include "report/stock_report.h"
#include "stock/catalogue.h"

namespace cli {
namespace {

/// The kit system whose words match most rows; ties: the first by id. For a list nobody said anything about.
std::string likeliest_system(const std::string& file, const std::string& root, const ::stock::ColumnChoice& choice) {
  std::string best;
  int most = -1;
  for (const std::string& id : ::stock::kit_systems_in(root)) {
    document::Diagnostics silent;
    const auto catalogue = ::stock::load_kit_system(id, root, silent);
    if (!catalogue) continue;
    const auto imported = ::stock::import_stock_file(file, *catalogue, choice, silent);
    const int rows =
        imported.rows_in(::stock::RowReport::State::told) + imported.rows_in(::stock::RowReport::State::matched);
    if (rows > most) {
      most = rows;
      best = id;
    }
  }
  return best;
}

}  // namespace

int stock(Session& session, const StockArgs& args) {
  document::Diagnostics d;
  const ::stock::ColumnChoice choice = ::stock::parse_column_choice(args.columns, d);
  std::string system = args.system;
  const auto root = ::stock::find_catalogue_folder(session.common().catalogue, d);
  if (root && system.empty()) system = likeliest_system(args.file, *root, choice);
  std::optional<::stock::Catalogue> catalogue;
  if (root) catalogue = ::stock::load_kit_system(system, *root, d);
  if (!catalogue) {
    session.report(d);
    if (session.common().json) {
      session.print(report::dumped({{"format", "kitwright.stock"},
                                    {"version", report::kFormatVersion},
                                    {"status", "bad_input"},
                                    {"diagnostics", report::json_of(d)}}));
    }
    return kBadInput;
  }
  const ::stock::ImportResult imported = ::stock::import_stock_file(args.file, *catalogue, choice, d);
  session.report(d);
  if (session.common().json) {
    session.print(report::dumped(report::stock_json(imported, *catalogue, d)));
  } else if (!imported.rows.empty() && !session.common().quiet) {
    session.print(report::stock_text(imported, *catalogue, session.text_options(), args.all));
  }
  return d.has_errors() ? kBadInput : kFeasible;
}

int schema(Session& session, const SchemaArgs& args) {
  std::vector<project::KindFields> kinds;
  for (const candidate::Kind& kind : functions::kinds()) {
    kinds.push_back({std::string(kind.name), std::string(kind.summary), kind.fields()});
  }
  const std::string text = project::project_schema(kinds);
  if (args.out.empty()) {
    session.print(text);
    return kFeasible;
  }
  document::Diagnostics d;
  session.write_file(args.out, text, d);
  session.report(d);
  return d.has_errors() ? kBadInput : kFeasible;
}

}  // namespace cli
