#include "serve/library.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <vector>

#include "base/save_file.h"
#include "base/text.h"
#include "document/toml_edit.h"
#include "document/toml_reader.h"
#include "project/archetype.h"
#include "project/project.h"
#include "stock/catalogue.h"
#include "stock/import.h"

namespace serve {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

std::vector<std::string> example_ids(const std::string& folder) {
  std::vector<std::string> out;
  std::error_code error;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    std::error_code ignored;
    if (fs::is_regular_file(it->path() / "project.toml", ignored)) out.push_back(it->path().filename().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

bool make_folder(const std::string& folder, document::Diagnostics& d) {
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) {
    d.error("file.no_folder", {folder, 0, 0}, "", "this folder cannot be made: " + error.message() + ".",
            "name a folder you may write to");
  }
  return !error;
}

bool write(const fs::path& file, std::string_view text, document::Diagnostics& d) {
  const std::string problem = base::save_file(file.string(), text);
  if (!problem.empty()) {
    d.error("file.not_written", {file.string(), 0, 0}, "", "this file cannot be written: " + problem + ".",
            "check the folder, its rights and the free space");
  }
  return problem.empty();
}

}  // namespace

std::string examples_folder(const std::string& told) {
  if (!told.empty()) return told;
  std::error_code ignored;
  for (const char* folder : {KW_EXAMPLES_SOURCE_DIR, KW_EXAMPLES_INSTALL_DIR}) {
    if (fs::is_directory(folder, ignored)) return folder;
  }
  return "";
}

bool is_plain_name(const std::string& name) {
  return !name.empty() && name.size() <= 64 && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  });
}

Json examples_json(const std::string& folder) {
  Json out = Json::array();
  for (const std::string& id : example_ids(folder)) {
    document::Diagnostics silent;
    const auto project = project::read_project((fs::path(folder) / id).string(), silent);
    if (!project) continue;
    out.push_back({{"id", id}, {"title", project->header.name}, {"summary", project->header.description}});
  }
  return out;
}

Json archetypes_json(const std::string& told) {
  Json out = Json::array();
  document::Diagnostics silent;
  const auto root = stock::find_catalogue_folder(told, silent);
  if (!root) return out;
  for (const project::Archetype& a : project::read_archetypes((fs::path(*root) / "archetypes").string(), silent)) {
    Json dimensions = Json::array();
    for (const project::Dimension& d : a.dimensions) {
      dimensions.push_back({{"key", d.name},
                            {"default", d.default_text},
                            {"unit", d.unit},
                            {"summary", d.doc},
                            {"minimum", d.low},
                            {"maximum", d.high}});
    }
    out.push_back({{"id", a.id},
                   {"title", a.title},
                   {"summary", a.summary},
                   {"systems", a.systems},
                   {"dimensions", std::move(dimensions)}});
  }
  return out;
}

std::string free_folder(const std::string& name) {
  const char* home = std::getenv("HOME");
  const fs::path parent = fs::path(home != nullptr && *home != '\0' ? home : ".") / "kitwright";
  std::error_code ignored;
  fs::path out = parent / name;
  for (int n = 2; fs::exists(out, ignored); ++n) out = parent / fmt::format("{}-{}", name, n);
  return out.string();
}

std::string copy_example(const std::string& examples, const std::string& id, const std::string& into,
                         document::Diagnostics& d) {
  const std::vector<std::string> known = example_ids(examples);
  if (std::find(known.begin(), known.end(), id) == known.end()) {
    const auto near = base::nearest_name(id, known);
    d.error("open.unknown_example", {}, "/example", fmt::format("there is no example {}.", document::quoted(id)),
            near ? *near : "one of " + base::list_text(known, "or"));
    return "";
  }
  const std::string from = (fs::path(examples) / id / "project.toml").string();
  auto text = document::read_text_file(from, document::kMostTomlBytes, d);
  if (!text) return "";
  const auto project = project::parse_project(*text, from, d);
  if (!project) return "";
  const auto stock = document::read_text_file(project->stock_file(), stock::kMostStockBytes, d);
  document::Edit own_stock;
  own_stock.at = "/project/stock";
  own_stock.value.kind = document::Node::Kind::text;
  own_stock.value.text = project::kDefaultStock;
  if (project->header.stock.text != project::kDefaultStock) text = document::edit_toml(*text, from, {own_stock}, d);
  if (!stock || !text) return "";

  const std::string folder = into.empty() ? free_folder(id) : into;
  std::error_code ignored;
  for (const char* name : {"project.toml", project::kDefaultStock}) {
    if (!fs::exists(fs::path(folder) / name, ignored)) continue;
    d.error("open.exists", {folder, 0, 0}, "/into", fmt::format("a {} is there already; it is kept.", name),
            "name another folder");
    return "";
  }
  const bool good = make_folder(folder, d) && write(fs::path(folder) / project::kDefaultStock, *stock, d) &&
                    write(fs::path(folder) / "project.toml", *text, d);
  return good ? folder : "";
}

}  // namespace serve
