#include <fmt/format.h>

#include <filesystem>
#include <set>

#include "base/shell.h"
#include "base/text.h"
#include "cli/commands.h"
#include "document/toml_reader.h"
#include "project/archetype.h"
#include "project/create.h"
#include "stock/catalogue.h"
#include "stock/import.h"

namespace cli {
namespace {

namespace fs = std::filesystem;

std::string list_text(const std::vector<project::Archetype>& archetypes, const report::TextOptions& options) {
  std::string out;
  for (const project::Archetype& a : archetypes) {
    out += report::tinted(a.id, report::Tint::strong, options) + "  for kit system " +
           base::list_text(a.systems, "or") + "\n" + report::paragraph("    ", a.summary, options);
    for (const project::Dimension& d : a.dimensions) {
      out += report::paragraph("    ",
                               fmt::format("--{}  {}, {} to {} {}; {} when left out", d.name, d.doc, base::plain(d.low),
                                           base::plain(d.high), d.unit, d.default_text),
                               options);
    }
  }
  return out;
}

int grow_project(Session& session, const NewArgs& args, const std::string& root, document::Diagnostics& d) {
  if (args.folder.empty()) {
    d.error("new.no_folder", {"new", 0, 0}, "", "say which folder the project goes into.",
            "kitwright new --like crawler_rig my_rig");
  }
  project::NewProject made;
  made.folder = args.folder;
  made.like = args.like;
  made.system = args.system;
  made.name = args.name;
  made.dimensions = args.dimensions;
  if (!args.stock.empty()) made.stock_csv = document::read_text_file(args.stock, ::stock::kMostStockBytes, d);
  if (!project::create_project(made, root, d)) return kBadInput;
  if (!session.common().quiet) {
    session.print(fmt::format(
        "{0}/project.toml and {0}/stock.csv are written.\n{1}Next: kitwright check {2}, then "
        "kitwright design {2}\n",
        args.folder, args.stock.empty() ? "The stock is an example kit; put your own list in its place.\n" : "",
        base::shell_word(args.folder)));
  }
  return kFeasible;
}

/// What stands behind --catalogue, as one word or two.
std::string catalogue_told(const std::vector<std::string>& words) {
  constexpr std::string_view kOption = "--catalogue";
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (words[i] == kOption && i + 1 < words.size()) return words[i + 1];
    if (words[i].starts_with(std::string(kOption) + "=")) return words[i].substr(kOption.size() + 1);
  }
  return "";
}

}  // namespace

std::vector<std::string> dimension_names(const std::vector<std::string>& words) {
  document::Diagnostics ignored;
  const auto root = ::stock::find_catalogue_folder(catalogue_told(words), ignored);
  if (!root) return {};
  std::set<std::string> names;
  for (const project::Archetype& a : project::read_archetypes((fs::path(*root) / "archetypes").string(), ignored)) {
    for (const project::Dimension& d : a.dimensions) names.insert(d.name);
  }
  return {names.begin(), names.end()};
}

int make_new(Session& session, const NewArgs& args) {
  document::Diagnostics d;
  const auto root = ::stock::find_catalogue_folder(session.common().catalogue, d);
  std::vector<project::Archetype> archetypes;
  if (root) archetypes = project::read_archetypes((fs::path(*root) / "archetypes").string(), d);
  int exit = kBadInput;
  if (!d.has_errors()) {
    if (args.list) {
      session.print(list_text(archetypes, session.text_options()));
      exit = kFeasible;
    } else {
      exit = grow_project(session, args, *root, d);
    }
  }
  session.report(d);
  return exit;
}

}  // namespace cli
