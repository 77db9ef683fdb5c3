// What the page asks about the dossier: its languages, what it holds, its files.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.h"
#include "serve/connections.h"
#include "serve/desk.h"
#include "serve/json.h"
#include "stock/catalogue.h"

namespace serve {
namespace {

using Json = nlohmann::ordered_json;

const char* type_of(const std::string& name) {
  const auto ends = [&](std::string_view end) { return name.ends_with(end); };
  return ends(".pdf")    ? "application/pdf"
         : ends(".html") ? "text/html; charset=utf-8"
         : ends(".json") ? "application/json"
         : ends(".csv")  ? "text/csv; charset=utf-8"
                         : "image/svg+xml";
}

/// Why there is none, as short as the design tells it.
Reply no_dossier(const design::Result& r) {
  std::string why = "no choice of drives and mechanisms serves all required functions; Findings tells what would.";
  if (r.allocated && !r.allocated->conflicts.empty()) why = r.allocated->conflicts.front().text;
  return Reply::problem(409, "no dossier: the model does not work yet", why);
}

}  // namespace

Reply Desk::dossier_languages() {
  Json list = Json::array();
  document::Diagnostics d;
  const auto folder = stock::find_catalogue_folder(settings_.catalogue, d);
  for (const std::string& code : folder ? dossier::languages_in(*folder) : std::vector<std::string>{}) {
    document::Diagnostics own;
    const auto texts = dossier::load_texts(code, settings_.catalogue, own);
    // A language with faults is offered no less: asking for it tells them.
    list.push_back({{"code", code}, {"name", texts ? (*texts)("language.name") : code}});
  }
  return Reply::json({{"languages", std::move(list)}});
}

std::shared_ptr<const Pack> Desk::pack(const std::string& language, std::optional<Reply>& refused) {
  const auto computed = runner_.sound();
  if (!computed) {
    refused = Reply::problem(404, "no design yet", "the first design of this project is still being computed.");
    return nullptr;
  }
  if (!computed->result->feasible() || !computed->result->assessed) {
    refused = no_dossier(*computed->result);
    return nullptr;
  }
  document::Diagnostics d;
  const auto texts = dossier::load_texts(language, settings_.catalogue, d);
  if (!texts) {
    refused = Reply::problems(422, "no dossier in this language", d);
    return nullptr;
  }
  auto out = packs_.pack(*computed, *texts, settings_.version, [this] { return closing_ || caller_gone(); });
  if (!out) refused = Reply::problem(409, "another dossier was asked for", "ask again for this one.");
  return out;
}

Reply Desk::dossier(const std::string& language) {
  std::optional<Reply> refused;
  const auto made = pack(language, refused);
  if (!made) return *refused;
  Json chapters = Json::array(), files = Json::array();
  for (const Pack::Chapter& c : made->chapters)
    chapters.push_back(
        {{"text", c.text}, {"anchor", c.anchor}, {"level", c.level}, {"a4", c.a4}, {"letter", c.letter}});
  for (const dossier::File& f : made->files) files.push_back({{"name", f.name}, {"bytes", f.bytes.size()}});
  return Reply::json({{"revision", made->revision},
                      {"language", made->language},
                      {"title", made->title},
                      {"hash", made->hash},
                      {"told_revision", made->told_revision},
                      {"pages", {{"a4", made->a4_pages}, {"letter", made->letter_pages}}},
                      {"figures", made->figures},
                      {"moving", made->moving},
                      {"chapters", std::move(chapters)},
                      {"files", std::move(files)}});
}

Reply Desk::dossier_file(const std::string& language, const std::string& name) {
  std::optional<Reply> refused;
  const auto made = pack(language, refused);
  if (!made) return *refused;
  const dossier::File* f = made->file(name);
  if (f == nullptr)
    return Reply::problem(404, "no such file", fmt::format("this dossier has no file {}.", document::quoted(name)));
  return Reply::text(f->bytes, type_of(name));
}

}  // namespace serve
