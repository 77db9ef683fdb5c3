// Looks up what a project names: part classes by id or in plain words, and bodies. Inside of brief/.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "brief/brief.h"
#include "document/diagnostic.h"
#include "document/node.h"

namespace brief {

class PartFinder {
 public:
  explicit PartFinder(const stock::Catalogue& catalogue);

  /// By class id, else by name or another description (case and blanks at the ends ignored). Reports
  /// brief.unknown_part with the nearest name.
  [[nodiscard]] std::optional<stock::ClassId> find(const document::LocatedText& word,
                                                   document::Diagnostics& diagnostics) const;
  /// All of them, ascending, each once; those that were found.
  [[nodiscard]] std::vector<stock::ClassId> find_all(const std::vector<document::LocatedText>& words,
                                                     document::Diagnostics& diagnostics) const;

 private:
  const stock::Catalogue& catalogue_;
  std::map<std::string, stock::ClassId> by_id_;
  std::map<std::string, stock::ClassId> by_words_;  ///< lower case; the first class of a word wins
  std::vector<std::string> names_;                  ///< ids, then words: what a slip is compared with
};

/// Index of the body with this id; an empty word gives `otherwise`. Reports brief.unknown_body with the nearest id.
[[nodiscard]] int find_body(const std::vector<Body>& bodies, const document::LocatedText& word, int otherwise,
                            document::Diagnostics& diagnostics);

}  // namespace brief
