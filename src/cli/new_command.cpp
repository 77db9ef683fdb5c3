#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "base/shell.h"
#include "base/text.h"
#include "cli/archetype.h"
#include "cli/commands.h"
#include "document/toml_reader.h"
#include "stock/catalogue.h"

namespace cli {
namespace {

namespace fs = std::filesystem;

std::string toml_quoted(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    if (static_cast<unsigned char>(c) >= 0x20) out += c;
  }
  return out + "\"";
}

std::string list_text(const std::vector<Archetype>& archetypes, const report::TextOptions& options) {
  std::string out;
  for (const Archetype& a : archetypes) {
    out += report::tinted(a.id, report::Tint::strong, options) + "  for kit system " +
           base::list_text(a.systems, "or") + "\n" + report::paragraph("    ", a.summary, options);
    for (const Dimension& d : a.dimensions) {
      out += report::paragraph("    ",
                               fmt::format("--{}  {}, {} to {} {}; {} when left out", d.name, d.doc, base::plain(d.low),
                                           base::plain(d.high), d.unit, d.default_text),
                               options);
    }
  }
  return out;
}

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

/// The user's own list, or the example kit of the kit system, as text.
std::optional<std::string> stock_text(const NewArgs& args, const std::string& archetypes, const std::string& system,
                                      document::Diagnostics& d) {
  const std::string file =
      args.stock.empty() ? (fs::path(archetypes) / "kits" / (system + ".csv")).string() : args.stock;
  constexpr std::size_t kMostBytes = 64'000'000;  // as the reader of stock lists takes
  return document::read_text_file(file, kMostBytes, d);
}

int grow_project(Session& session, const NewArgs& args, const std::string& root,
                 const std::vector<Archetype>& archetypes, document::Diagnostics& d) {
  if (args.folder.empty()) {
    d.error("new.no_folder", {"new", 0, 0}, "", "say which folder the project goes into.",
            "kitwright new --like crawler_rig my_rig");
  }
  const Archetype* archetype = find_archetype(archetypes, args.like, d);
  if (archetype == nullptr || d.has_errors()) return kBadInput;
  const std::string system = args.system.empty() ? archetype->systems.front() : args.system;
  if (std::find(archetype->systems.begin(), archetype->systems.end(), system) == archetype->systems.end()) {
    d.error("new.system", {"--system", 0, 0}, "",
            fmt::format("a {} is made for {}, not for {}.", archetype->title, base::list_text(archetype->systems),
                        document::quoted(system)),
            archetype->systems.front());
    return kBadInput;
  }
  const auto catalogue = ::stock::load_kit_system(system, root, d);
  const fs::path folder(args.folder);
  std::error_code error;
  if (fs::exists(folder / "project.toml", error)) {
    d.error("new.exists", {(folder / "project.toml").string(), 0, 0}, "", "a project is there already; it is kept.",
            "name another folder");
  }
  Wishes wishes;
  wishes.dimensions = args.dimensions;
  if (catalogue) wishes.pitch_mm = catalogue->system.pitch_mm;
  const std::string name = args.name.empty() ? archetype->title : args.name;
  wishes.words = {
      {"system", system}, {"name", toml_quoted(name)}, {"stock", "stock.csv"}, {"archetype", archetype->id}};
  const auto project = grow(*archetype, wishes, d);
  const auto stock = stock_text(args, (fs::path(root) / "archetypes").string(), system, d);
  if (!catalogue || !project || !stock || d.has_errors()) return kBadInput;

  fs::create_directories(folder, error);
  if (error) {
    d.error("file.no_folder", {args.folder, 0, 0}, "", "this folder cannot be made: " + error.message() + ".",
            "name a folder you may write to");
    return kBadInput;
  }
  if (!session.write_file((folder / "stock.csv").string(), *stock, d)) return kBadInput;
  if (!session.write_file((folder / "project.toml").string(), *project, d)) return kBadInput;
  if (!session.common().quiet) {
    session.print(fmt::format(
        "{0}/project.toml and {0}/stock.csv are written.\n{1}Next: kitwright check {2}, then "
        "kitwright design {2}\n",
        args.folder, args.stock.empty() ? "The stock is an example kit; put your own list in its place.\n" : "",
        base::shell_word(args.folder)));
  }
  return kFeasible;
}

}  // namespace

int make_new(Session& session, const NewArgs& args) {
  document::Diagnostics d;
  const auto root = ::stock::find_catalogue_folder(session.common().catalogue, d);
  std::vector<Archetype> archetypes;
  if (root) archetypes = read_archetypes((fs::path(*root) / "archetypes").string(), d);
  int exit = kBadInput;
  if (!d.has_errors()) {
    if (args.list) {
      session.print(list_text(archetypes, session.text_options()));
      exit = kFeasible;
    } else {
      exit = grow_project(session, args, *root, archetypes, d);
    }
  }
  session.report(d);
  return exit;
}

}  // namespace cli
