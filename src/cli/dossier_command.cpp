// dossier: the pack a stranger builds from.
#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>

#include "base/text.h"
#include "cli/commands.h"
#include "cli/designed.h"
#include "dossier/write.h"
#include "report/json.h"

namespace cli {

int dossier(Session& session, const DossierArgs& args) {
  constexpr const char* kFormat = "kitwright.dossier";
  namespace fs = std::filesystem;
  document::Diagnostics d;
  // What is wrong with the texts is said before minutes are spent on a design.
  auto texts = ::dossier::load_texts(args.language, session.common().catalogue, d);
  if (!texts) return give_up(session, kFormat, kBadInput, d);
  const Designed made = designed(session, args.project, args.stock, args.columns, d);
  if (!made.good()) return give_up(session, kFormat, made.exit, d);
  ::dossier::Options options;
  options.version = KW_VERSION;
  options.revision = args.revision;
  std::set<std::string> unknown;
  texts->tell_unknown(&unknown);
  const std::vector<::dossier::File> files = ::dossier::write_dossier(made.result, *texts, options);
  bool good = true;
  std::error_code failed;
  fs::create_directories(fs::path(args.out) / "figures", failed);
  if (failed) {
    d.error("cli.no_folder", {args.out, 0, 0}, "", "this folder cannot be made: " + failed.message(),
            "name another one with --out");
    good = false;
  }
  nlohmann::ordered_json names = nlohmann::ordered_json::array();
  for (const ::dossier::File& f : files) {
    if (!good) break;
    good = session.write_file((fs::path(args.out) / f.name).string(), f.bytes, d);
    names.push_back(f.name);
  }
  session.report(d);
  if (session.common().json) {
    nlohmann::ordered_json j = head(kFormat, good ? "done" : "bad_input", d);
    j["project"] = made.result.brief->name;
    j["language"] = texts->language();
    j["revision"] = ::dossier::revision_of(made.result, options);
    j["hash"] = ::dossier::project_hash(*made.result.brief, "");
    j["untranslated"] = unknown;
    j["folder"] = args.out;
    j["files"] = std::move(names);
    session.print(report::dumped(j));
  } else if (good && !session.common().quiet) {
    session.print(
        fmt::format("{}: dossier.html, dossier_a4.pdf, dossier_letter.pdf, parts.json, parts.csv and {} figures\n",
                    args.out, files.size() - std::size(::dossier::kFiles)));
    if (!unknown.empty())
      session.print(fmt::format("without a translation, told in English: {}; --json lists them\n", unknown.size()));
  }
  return good ? kFeasible : kBadInput;
}

}  // namespace cli
