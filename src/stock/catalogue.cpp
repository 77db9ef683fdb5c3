#include "stock/catalogue.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <system_error>

#include "base/text.h"
#include "document/toml_reader.h"
#include "stock/catalogue_fields.h"

namespace stock {
namespace {

namespace fs = std::filesystem;
using document::Diagnostics;
using document::Location;

const std::string kPrefix = kCataloguePrefix;

bool is_folder(const fs::path& path) {
  std::error_code ignored;
  return fs::is_directory(path, ignored);
}

/// The folder without a slash at its end, so that it has a name.
fs::path named(const std::string& folder) {
  const fs::path path = fs::path(folder).lexically_normal();
  return path.has_filename() ? path : path.parent_path();
}

fs::path parent_of(const std::string& folder) {
  const fs::path path = named(folder);
  return path == "." ? fs::path("..") : path.parent_path();
}

/// Files of a folder that end in .toml, sorted by name so that the order of classes never depends on the disk.
std::vector<std::string> toml_files_in(const fs::path& folder) {
  std::vector<std::string> out;
  std::error_code failed;
  for (fs::directory_iterator it(folder, failed), end; !failed && it != end; it.increment(failed)) {
    std::error_code ignored;
    if (it->is_regular_file(ignored) && it->path().extension() == ".toml") out.push_back(it->path().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// Reports ids and names that were there before.
class Uniqueness {
 public:
  void check(const PartClass& part, const document::Node& node, Diagnostics& d) {
    once("id", part.id, node, d);
    once("name", base::lower_ascii(part.name), node, d);
  }

 private:
  void once(const char* key, const std::string& value, const document::Node& node, Diagnostics& d) {
    const document::Node* at = node.find(key);
    const auto [it, fresh] = seen_[key].emplace(value, at->where);
    if (fresh) return;
    d.error(fmt::format("{}.duplicate_{}", kPrefix, key), at->where, at->path,
            fmt::format("{} is used twice; first at {}:{}:{}", document::quoted(value), it->second.file,
                        it->second.line, it->second.column),
            fmt::format("give one of them another {}", key));
  }
  std::map<std::string, std::map<std::string, Location>> seen_;
};

void read_parts_file(const std::string& file, Catalogue& out, Uniqueness& unique, Diagnostics& d) {
  const auto tree = document::read_toml(file, d);
  if (!tree) return;
  PartsFile parts;
  if (!parts_file_table().read(*tree, parts, d)) return;
  if (parts.parts.kind != document::Node::Kind::array) {
    d.error(kPrefix + ".wrong_type", parts.parts.where, parts.parts.path, "part must be a list of tables",
            "double brackets: [[part]]");
    return;
  }
  for (const document::Node& node : parts.parts.items) {
    PartClass part;
    if (!read_part(node, parts, part, d)) continue;
    unique.check(part, node, d);
    out.classes.push_back(std::move(part));
  }
}

std::string system_file_in(const std::string& folder) {
  return (fs::path(folder) / "system.toml").string();
}
std::string words_file_of(const std::string& folder) {
  return (parent_of(folder) / "words.toml").string();
}

}  // namespace

std::vector<std::string> catalogue_files(const std::string& folder) {
  std::vector<std::string> out = toml_files_in(fs::path(folder) / "parts");
  out.push_back(system_file_in(folder));
  out.push_back(words_file_of(folder));
  std::sort(out.begin(), out.end());
  return out;
}

std::optional<Catalogue> read_catalogue(const std::string& folder, Diagnostics& diagnostics) {
  Diagnostics own;
  Catalogue out;
  if (!is_folder(folder)) {
    diagnostics.error(kPrefix + ".missing", {folder, 0, 0}, "", "there is no such folder of a kit system");
    return std::nullopt;
  }
  const std::string system_file = system_file_in(folder);
  if (const auto tree = document::read_toml(system_file, own)) {
    if (system_table().read(*tree, out.system, own)) {
      const std::string name = named(folder).filename().string();
      const document::Node* id = tree->find("id");
      if (!name.empty() && name != "." && out.system.id != name) {
        own.error(kPrefix + ".id_mismatch", id->where, id->path,
                  fmt::format("the kit system {} lies in the folder {}", document::quoted(out.system.id),
                              document::quoted(name)),
                  "rename one of them");
      }
      const document::Node* axle = tree->find("axle");
      if (out.system.axle.cross &&
          (out.system.axle.arm_mm <= 0 || out.system.axle.arm_mm >= out.system.axle.width_mm)) {
        own.error(kPrefix + ".inconsistent", axle->where, document::child_path(axle->path, "arm_mm"),
                  "a cross axle needs arm_mm, above 0 and below width_mm");
      }
    }
  }
  const std::vector<std::string> files = toml_files_in(fs::path(folder) / "parts");
  if (files.empty()) {
    own.error(kPrefix + ".no_parts", {folder, 0, 0}, "", "there is no parts/*.toml in this folder");
  }
  Uniqueness unique;
  for (const std::string& file : files) read_parts_file(file, out, unique, own);
  if (auto words = read_words(words_file_of(folder), own)) out.words = std::move(*words);
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  if (!good) return std::nullopt;
  return out;
}

std::optional<std::string> find_catalogue_folder(const std::string& told, Diagnostics& diagnostics) {
  if (!told.empty()) {
    if (is_folder(told)) return told;
    diagnostics.error(kPrefix + ".missing", {told, 0, 0}, "", "there is no such catalogue folder");
    return std::nullopt;
  }
  if (const char* named = std::getenv("KITWRIGHT_CATALOGUE"); named != nullptr && *named != '\0') {
    if (is_folder(named)) return std::string(named);
    diagnostics.error(kPrefix + ".missing", {named, 0, 0}, "",
                      "the environment variable KITWRIGHT_CATALOGUE names a folder that does not exist");
    return std::nullopt;
  }
  for (const char* folder : {KW_CATALOGUE_SOURCE_DIR, KW_CATALOGUE_INSTALL_DIR}) {
    if (is_folder(folder)) return std::string(folder);
  }
  diagnostics.error(kPrefix + ".missing", {KW_CATALOGUE_INSTALL_DIR, 0, 0}, "", "no catalogue folder was found",
                    "set KITWRIGHT_CATALOGUE to the folder that holds the kit systems");
  return std::nullopt;
}

std::vector<std::string> kit_systems_in(const std::string& catalogue_folder) {
  std::vector<std::string> out;
  std::error_code failed;
  for (fs::directory_iterator it(catalogue_folder, failed), end; !failed && it != end; it.increment(failed)) {
    std::error_code ignored;
    if (fs::is_regular_file(it->path() / "system.toml", ignored)) out.push_back(it->path().filename().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

std::optional<Catalogue> load_kit_system(const std::string& system_id, const std::string& told_folder,
                                         Diagnostics& diagnostics) {
  const auto root = find_catalogue_folder(told_folder, diagnostics);
  if (!root) return std::nullopt;
  const std::vector<std::string> known = kit_systems_in(*root);
  if (std::find(known.begin(), known.end(), system_id) == known.end()) {
    const auto near = base::nearest_name(system_id, known);
    diagnostics.error(kPrefix + ".unknown_system", {*root, 0, 0}, "",
                      fmt::format("there is no kit system {}", document::quoted(system_id)),
                      near            ? document::quoted(*near)
                      : known.empty() ? "this folder holds no kit system"
                                      : "one of " + base::list_text(known, "or"));
    return std::nullopt;
  }
  return read_catalogue((fs::path(*root) / system_id).string(), diagnostics);
}

std::vector<document::FieldDoc> system_fields() {
  return system_docs();
}

std::vector<document::FieldDoc> parts_file_fields(Family family) {
  auto docs = parts_file_table().docs();
  for (document::FieldDoc& f : docs) {
    if (f.key == "family") f.choices = {std::string(name_of(family))};
    if (f.key != "part") continue;
    f.type = document::FieldDoc::Type::tables;
    f.children = part_docs(family);
  }
  return docs;
}

}  // namespace stock
