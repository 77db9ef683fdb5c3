#include "brief/references.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "document/fields.h"

namespace brief {

using document::Diagnostics;
using document::LocatedText;
using stock::ClassId;

PartFinder::PartFinder(const stock::Catalogue& catalogue) : catalogue_(catalogue) {
  std::vector<std::string> words;
  for (std::size_t i = 0; i < catalogue.classes.size(); ++i) {
    const stock::PartClass& c = catalogue.classes[i];
    const ClassId id{static_cast<int>(i)};
    by_id_.emplace(c.id, id);
    names_.push_back(c.id);
    by_words_.emplace(base::lower_ascii(base::trimmed(c.name)), id);
    words.push_back(c.name);
    for (const std::string& other : c.also) {
      by_words_.emplace(base::lower_ascii(base::trimmed(other)), id);
      words.push_back(other);
    }
  }
  names_.insert(names_.end(), words.begin(), words.end());
}

std::optional<ClassId> PartFinder::find(const LocatedText& word, Diagnostics& diagnostics) const {
  if (const auto it = by_id_.find(word.text); it != by_id_.end()) return it->second;
  if (const auto it = by_words_.find(base::lower_ascii(base::trimmed(word.text))); it != by_words_.end()) {
    return it->second;
  }
  const auto near = base::nearest_name(word.text, names_);
  diagnostics.error("brief.unknown_part", word.where, word.path,
                    fmt::format("the kit system {} has no part {}", catalogue_.system.id, document::quoted(word.text)),
                    near ? document::quoted(*near) : "");
  return std::nullopt;
}

std::vector<ClassId> PartFinder::find_all(const std::vector<LocatedText>& words, Diagnostics& diagnostics) const {
  std::vector<ClassId> out;
  for (const LocatedText& word : words) {
    if (const auto id = find(word, diagnostics)) out.push_back(*id);
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

int find_body(const std::vector<Body>& bodies, const LocatedText& word, int otherwise, Diagnostics& diagnostics) {
  if (word.empty()) return otherwise;
  std::vector<std::string> ids;
  for (std::size_t i = 0; i < bodies.size(); ++i) {
    if (bodies[i].id == word.text) return static_cast<int>(i);
    ids.push_back(bodies[i].id);
  }
  const auto near = base::nearest_name(word.text, ids);
  diagnostics.error("brief.unknown_body", word.where, word.path,
                    fmt::format("there is no body {}", document::quoted(word.text)),
                    near ? document::quoted(*near) : "one of " + document::choices_text(ids));
  return otherwise;
}

}  // namespace brief
