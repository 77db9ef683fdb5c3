// A plain description taken apart: its words in the words of the catalogue, its numbers with what they count, its
// colour. "Zahnrad Z24, schwarz" and "gear, 24 teeth" give the same words and numbers.
#pragma once

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "stock/words.h"

namespace stock {

struct Number {
  double value = 0;
  NumberRole role = NumberRole::none;
};

struct Phrase {
  std::set<std::string> words;    ///< canonical, noise and colours apart
  std::set<std::string> strange;  ///< of these, the ones no class and no list of words knows
  std::vector<Number> numbers;    ///< in the order of the text
  std::string colour;             ///< empty = not said
  int corrections = 0;            ///< words taken for a known one with one letter wrong
  bool implied_noun = false;      ///< the only noun was guessed from a unit
};

class PhraseReader {
 public:
  explicit PhraseReader(const Words& words);

  /// Makes the words of a catalogue description known, so that they are neither strange nor corrected. Call for every
  /// description before the first read().
  void learn(std::string_view description);

  [[nodiscard]] Phrase read(std::string_view description) const;
  /// A colour in the catalogue's words ("hellgrau" is "light grey"); an unknown one in lower case as it stands.
  [[nodiscard]] std::string colour_of(std::string_view text) const;
  /// Whether the whole text is a known colour.
  [[nodiscard]] bool is_colour(std::string_view text) const;

 private:
  struct Token {
    enum class Kind { word, number };
    Kind kind = Kind::word;
    std::string text;  ///< word, folded
    Number number;
    bool half = false;  ///< number: written as a lone 1/2
    bool used = false;
  };
  struct Replacement {
    std::vector<std::string> from;
    std::vector<std::string> to;
    bool colour = false;
  };
  struct UnitWord {
    std::vector<std::string> words;
    NumberRole role = NumberRole::none;
    double scale = 1;
    std::string implies;
  };

  [[nodiscard]] std::vector<Token> tokens_of(std::string_view description) const;
  void add_replacement(const std::string& from, const std::string& to, bool colour);
  void add_unit(std::vector<UnitWord>& list, const std::string& text, const Words::Unit& unit);
  void know(const std::vector<Token>& tokens);
  [[nodiscard]] std::string known_form(const std::string& word, int& corrections, bool& strange) const;
  void set_dimensions(std::vector<Token>& tokens) const;
  void set_units(std::vector<Token>& tokens, std::string& implied) const;
  [[nodiscard]] bool stands_at(const std::vector<Token>& tokens, std::size_t at,
                               const std::vector<std::string>& words) const;

  std::map<std::string, std::vector<Replacement>> replacements_;  ///< by first word, longest first
  std::vector<UnitWord> after_, before_;                          ///< longest first
  std::set<std::string> noise_;
  std::set<std::string> known_;
};

}  // namespace stock
