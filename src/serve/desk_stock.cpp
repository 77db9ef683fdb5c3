// The donor kit as the page shows it: what it holds, who takes what, and a new list in its place.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "base/file_state.h"
#include "base/save_file.h"
#include "document/toml_reader.h"
#include "project/project.h"
#include "report/json.h"
#include "report/stock_report.h"
#include "serve/desk.h"
#include "serve/json.h"
#include "stock/catalogue.h"
#include "stock/import.h"

namespace serve {
namespace {

using Json = nlohmann::ordered_json;

/// The project's own stock list as it stands on the disk.
struct Imported {
  std::string file, csv, columns;
  std::shared_ptr<const stock::Catalogue> catalogue;
  stock::ImportResult rows;
};

std::optional<Imported> import_own(const project::Project& project, const std::string& told_catalogue,
                                   document::Diagnostics& d) {
  Imported out;
  auto catalogue = stock::load_kit_system(project.header.system.text, told_catalogue, d);
  if (!catalogue) return std::nullopt;
  out.catalogue = std::make_shared<const stock::Catalogue>(std::move(*catalogue));
  out.file = project.stock_file();
  out.columns = project.header.stock_columns;
  auto csv = document::read_text_file(out.file, stock::kMostStockBytes, d);
  if (!csv) return std::nullopt;
  out.rows = stock::import_stock(*csv, out.file, *out.catalogue, stock::parse_column_choice(out.columns, d), d);
  out.csv = std::move(*csv);
  return out;
}

/// The list as UTF-8, which is what goes over the wire and comes back changed. Latin-1 is Unicode's first 256
/// characters (The Unicode Standard, block "Latin-1 Supplement").
std::string as_utf8(const std::string& bytes, const std::string& encoding) {
  constexpr std::string_view kMark = "\xEF\xBB\xBF";
  if (encoding != "Latin-1") return bytes.starts_with(kMark) ? bytes.substr(kMark.size()) : bytes;
  std::string out;
  for (const char c : bytes) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x80) {
      out += c;
    } else {
      out += static_cast<char>(0xC0 | (byte >> 6));
      out += static_cast<char>(0x80 | (byte & 0x3F));
    }
  }
  return out;
}

/// Rows of one state as "stock --json" tells them.
Json rows_of(const Json& told, stock::RowReport::State state) {
  Json out = Json::array();
  for (const Json& row : told.at("rows")) {
    if (row.at("state") == stock::name_of(state)) out.push_back(row);
  }
  return out;
}

}  // namespace

std::string Desk::stock_file(const Snapshot& now) const {
  document::Diagnostics silent;
  const auto project = project::parse_project(now.text, now.file, silent);
  return project ? project->stock_file() : "";
}

Reply Desk::stock() {
  const auto now = snapshot();
  if (!now) return Reply::problem(404, "no project is open", "open one first.");
  document::Diagnostics d;
  const auto project = project::parse_project(now->text, now->file, d);
  if (!project) return Reply::problems(422, "the project cannot be read", d);
  const auto imported = import_own(*project, settings_.catalogue, d);
  if (!imported) return Reply::problems(422, "the stock list cannot be read", d);

  // What is used is told by the newest design, if it was computed from this very list.
  const auto computed = runner_.sound();
  const design::Result* r = computed ? computed->result.get() : nullptr;
  const std::vector<stock::StockType>& types = imported->rows.stock.types;
  const bool fits = r != nullptr && r->assessed && r->assessed->parts.size() == types.size() &&
                    std::equal(types.begin(), types.end(), r->assessed->parts.begin(),
                               [&](const stock::StockType& t, const assessment::PartLine& p) {
                                 return t.part == p.part && t.colour == p.colour && t.count == p.stock;
                               });
  Json rows = Json::array();
  for (std::size_t i = 0; i < types.size(); ++i) {
    const stock::PartClass& part = imported->catalogue->at(types[i].part);
    const int used = fits ? r->assessed->parts[i].used : 0;
    const int reserved = fits ? r->assessed->parts[i].reserved : 0;
    Json takers = Json::array();
    std::map<int, int> taken;  // by function
    if (fits && r->allocated) {
      for (const assessment::Taken& t : r->allocated->taken) {
        if (t.type == i && t.function >= 0) taken[t.function] += t.count;
      }
    }
    for (const auto& [f, count] : taken) {
      takers.push_back({{"function", r->functions[static_cast<std::size_t>(f)].id}, {"count", count}});
    }
    rows.push_back({{"name", part.name},
                    {"part", part.id},
                    {"colour", types[i].colour},
                    {"count", types[i].count},
                    {"used", used},
                    {"reserved", reserved},
                    {"left", types[i].count - used - reserved},
                    {"takers", std::move(takers)}});
  }
  const Json told = report::stock_json(imported->rows, *imported->catalogue, d);
  return Reply::json({{"revision", fits ? Json(computed->revision) : Json(nullptr)},
                      {"rows", std::move(rows)},
                      {"doubtful", rows_of(told, stock::RowReport::State::doubtful)},
                      {"unknown", rows_of(told, stock::RowReport::State::unmatched)},
                      {"faulty", rows_of(told, stock::RowReport::State::faulty)},
                      {"file", imported->file},
                      {"kit_system", imported->catalogue->system.id},
                      {"csv", as_utf8(imported->csv, imported->rows.encoding)},
                      {"columns", imported->columns},
                      {"found_columns", told.at("columns")},
                      {"problems", problems_json(d)}});
}

Reply Desk::preview_stock(const std::string& csv, const std::string& columns, const std::string& told_system) {
  document::Diagnostics d;
  const stock::ColumnChoice choice = stock::parse_column_choice(columns, d);
  const auto root = stock::find_catalogue_folder(settings_.catalogue, d);
  std::string system = told_system;
  if (const auto now = snapshot(); now && system.empty()) {
    document::Diagnostics silent;
    if (const auto project = project::parse_project(now->text, now->file, silent)) system = project->header.system.text;
  }
  if (root && system.empty()) system = stock::likeliest_system(csv, *root, choice);
  std::optional<stock::Catalogue> catalogue;
  if (root) catalogue = stock::load_kit_system(system, *root, d);
  if (!catalogue) return Reply::problems(422, "this list cannot be read", d);
  const stock::ImportResult imported = stock::import_stock(csv, "stock.csv", *catalogue, choice, d);
  return Reply::text(report::dumped(report::stock_json(imported, *catalogue, d)), "application/json");
}

Reply Desk::replace_stock(const StockRequest& request) {
  document::Diagnostics d;
  const auto now = snapshot();
  if (!now) return Reply::problem(404, "no project is open", "open one first.");
  const auto project = project::parse_project(now->text, now->file, d);
  if (!project) return Reply::problems(422, "the project cannot be read", d);
  document::Diagnostics columns_problems;
  (void)stock::parse_column_choice(request.columns, columns_problems);
  if (columns_problems.has_errors()) return Reply::problems(422, "these columns cannot be read", columns_problems);
  document::Edit columns;
  columns.at = "/project/stock_columns";
  columns.op = request.columns.empty() ? document::Edit::Op::remove : document::Edit::Op::set;
  columns.value.kind = document::Node::Kind::text;
  columns.value.text = request.columns;
  const std::string file = project->stock_file();
  const bool other_columns = request.columns != project->header.stock_columns;
  // Under one lock, so that no design starts between the two; and first the edit, which a newer revision refuses: then
  // nothing is overwritten.
  const Reply out = change([&](Workspace& w, document::Diagnostics& problems) {
    if (other_columns) {
      const auto edited = w.edit(now->revision, "columns of the stock list", {columns}, problems);
      if (edited != Workspace::Outcome::done) return edited;
    }
    const std::string problem = base::save_file(file, request.csv, file + ".previous");
    if (!problem.empty()) {
      problems.error("file.not_written", {file, 0, 0}, "", "this list cannot be written: " + problem + ".",
                     "make the folder writable");
      if (other_columns) (void)w.undo(problems);
      return Workspace::Outcome::refused;
    }
    watched_list_ = file;
    list_state_ = base::file_state(file);  // it is no change by others
    if (!other_columns) design_anew();
    return Workspace::Outcome::done;
  });
  if (out.status != 200) return out;
  return stock();
}

}  // namespace serve
