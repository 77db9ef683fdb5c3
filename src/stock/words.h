// The words of stock lists: what a phrase of a list means in the words of the catalogue. Read from
// catalogue/words.toml.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "document/diagnostic.h"

namespace stock {

/// What a number in a description counts.
enum class NumberRole { none, teeth, length, width, size, mm, degrees, ports, starts, grams };

/// Texts are folded (stock/folding.h) and hold single spaces between words.
struct Words {
  struct Meaning {
    std::string says;
    std::vector<std::string> words;
  };
  struct Unit {
    NumberRole role = NumberRole::none;
    double scale = 1;     ///< the number is multiplied by it
    std::string implies;  ///< noun meant when a description has none: "24t" is a gear
    std::vector<std::string> after, before;
  };
  struct Columns {
    std::vector<std::string> class_id, name, quantity, colour, code;  ///< most telling first
  };
  std::vector<Meaning> meanings;
  std::vector<Meaning> colours;
  std::vector<Unit> units;
  std::vector<std::vector<std::string>> groups;  ///< one word of a group excludes the others
  std::vector<std::string> noise;
  Columns columns;
};

/// Reads `file`; problems under "words.<what>". Nothing when it had an error.
[[nodiscard]] std::optional<Words> read_words(const std::string& file, document::Diagnostics& diagnostics);

}  // namespace stock
