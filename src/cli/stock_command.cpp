#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.h"
#include "cli/commands.h"
#include "cli/designed.h"
#include "document/schema.h"
#include "document/toml_reader.h"
#include "dossier/parts.h"
#include "functions/kinds.h"
#include "project/project.h"
#include "report/json.h"
#include "report/stock_report.h"
#include "serve/server.h"
#include "stock/catalogue.h"

namespace cli {

int stock(Session& session, const StockArgs& args) {
  document::Diagnostics d;
  const ::stock::ColumnChoice choice = ::stock::parse_column_choice(args.columns, d);
  std::string system = args.system;
  const auto root = ::stock::find_catalogue_folder(session.common().catalogue, d);
  std::optional<::dossier::PartsList> wanted;
  if (!args.against.empty()) {
    wanted = ::dossier::read_parts(args.against, d);
    if (!wanted) {
      session.report(d);
      if (session.common().json) session.print(report::dumped(head("kitwright.stock_check", "bad_input", d)));
      return kBadInput;
    }
    if (!system.empty() && system != wanted->system)
      d.warning("cli.other_system", {args.against, 0, 0}, "",
                fmt::format("the dossier is for the kit system {}", document::quoted(wanted->system)),
                "leave --system away");
    if (system.empty()) system = wanted->system;
  }
  if (root && system.empty()) {
    document::Diagnostics silent;  // what is wrong with the file is said when it is imported
    const auto bytes = document::read_text_file(args.file, ::stock::kMostStockBytes, silent);
    system = ::stock::likeliest_system(bytes.value_or(""), *root, choice);
  }
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
  if (wanted) {
    const ::dossier::StockCheck check = ::dossier::check_stock(*wanted, *catalogue, imported.stock);
    session.report(d);
    if (session.common().json) {
      session.print(report::dumped(::dossier::check_json(check, *wanted, imported, d)));
    } else if (!session.common().quiet) {
      session.print(::dossier::check_text(check, *wanted, *catalogue, session.text_options()));
    }
    return d.has_errors() ? kBadInput : check.missing == 0 ? kFeasible : kInfeasible;
  }
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
  const std::string text = args.server ? ::serve::server_schema() : project::project_schema(kinds);
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
