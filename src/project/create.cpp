#include "project/create.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "base/save_file.h"
#include "base/text.h"
#include "document/toml_edit.h"
#include "document/toml_reader.h"
#include "project/archetype.h"
#include "stock/catalogue.h"
#include "stock/import.h"

namespace project {
namespace {

namespace fs = std::filesystem;

const Archetype* find_archetype(const std::vector<Archetype>& archetypes, const std::string& id,
                                document::Diagnostics& d) {
  std::vector<std::string> ids;
  for (const Archetype& a : archetypes) {
    if (a.id == id) return &a;
    ids.push_back(a.id);
  }
  const auto near = base::nearest_name(id, ids);
  d.error("new.unknown_archetype", {"--like", 0, 0}, "",
          id.empty() ? "say what it is like." : fmt::format("there is no archetype {}.", document::quoted(id)),
          near ? *near : "one of " + base::list_text(ids, "or"));
  return nullptr;
}

bool write(const fs::path& file, std::string_view text, document::Diagnostics& d) {
  const std::string problem = base::save_file(file.string(), text);
  if (problem.empty()) return true;
  d.error("file.not_written", {file.string(), 0, 0}, "", "this file cannot be written: " + problem + ".",
          "check the folder, its rights and the free space");
  return false;
}

std::string one_line(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (static_cast<unsigned char>(c) >= 0x20) out += c;
  }
  return out;
}

}  // namespace

bool create_project(const NewProject& wanted, const std::string& root, document::Diagnostics& d) {
  const fs::path archetype_folder = fs::path(root) / "archetypes";
  const std::vector<Archetype> archetypes = read_archetypes(archetype_folder.string(), d);
  const Archetype* archetype = find_archetype(archetypes, wanted.like, d);
  if (archetype == nullptr || d.has_errors()) return false;
  const std::string system = wanted.system.empty() ? archetype->systems.front() : wanted.system;
  if (std::find(archetype->systems.begin(), archetype->systems.end(), system) == archetype->systems.end()) {
    d.error("new.system", {"--system", 0, 0}, "",
            fmt::format("a {} is made for {}, not for {}.", archetype->title, base::list_text(archetype->systems),
                        document::quoted(system)),
            archetype->systems.front());
    return false;
  }
  const auto catalogue = stock::load_kit_system(system, root, d);
  const fs::path folder(wanted.folder);
  std::error_code error;
  for (const char* name : {"project.toml", "stock.csv"}) {
    if (fs::exists(folder / name, error))
      d.error("new.exists", {(folder / name).string(), 0, 0}, "", "this file is there already; it is kept.",
              "name another folder");
  }
  Wishes wishes;
  wishes.dimensions = wanted.dimensions;
  if (catalogue) wishes.pitch_mm = catalogue->system.pitch_mm;
  document::Node name;
  name.kind = document::Node::Kind::text;
  name.text = one_line(wanted.name.empty() ? archetype->title : wanted.name);
  wishes.words = {
      {"system", system}, {"name", document::toml_text(name)}, {"stock", "stock.csv"}, {"archetype", archetype->id}};
  auto project = grow(*archetype, wishes, d);
  if (project && wanted.stock_csv && !wanted.stock_columns.empty()) {
    (void)stock::parse_column_choice(wanted.stock_columns, d);
    document::Edit columns;
    columns.at = "/project/stock_columns";
    columns.value.kind = document::Node::Kind::text;
    columns.value.text = wanted.stock_columns;
    project = document::edit_toml(*project, (folder / "project.toml").string(), {columns}, d);
  }
  const auto stock = wanted.stock_csv
                         ? wanted.stock_csv
                         : document::read_text_file((archetype_folder / "kits" / (system + ".csv")).string(),
                                                    stock::kMostStockBytes, d);
  if (!catalogue || !project || !stock || d.has_errors()) return false;

  fs::create_directories(folder, error);
  if (error) {
    d.error("file.no_folder", {wanted.folder, 0, 0}, "", "this folder cannot be made: " + error.message() + ".",
            "name a folder you may write to");
    return false;
  }
  return write(folder / "stock.csv", *stock, d) && write(folder / "project.toml", *project, d);
}

}  // namespace project
