// Which part class a plain description means, and how sure that is.
//
// Confidence = likeness of words x agreement of numbers, in [0, 1]:
//   likeness   Dice: 2 W(common) / (W(row) + W(class)), W = sum of word weights ln(1 + descriptions / descriptions with
//              the word), so that "pin" says less than "obtuse". Words nobody knows weigh kStrangeWeight.
//   numbers    a number that contradicts the class makes the confidence 0 (a 16-tooth gear is never a 24-tooth one);
//              one the row leaves out, or one the class cannot explain, lowers it.
//   groups     words that exclude each other (small, large) count like contradicting numbers, but softer.
// A class is tried under its name and under every "also"; the best counts. When another class comes within kTie of the
// best, the row is doubtful. The weights are our own, chosen so that every description of the tests lands on its side
// of the two thresholds; Dice, "Measures of the amount of ecologic association", Ecology 26 (1945) 297-302.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "stock/part.h"
#include "stock/phrase.h"

namespace stock {

inline constexpr double kMatched = 0.8;    ///< from here on a row is matched
inline constexpr double kDoubtful = 0.45;  ///< from here on it is doubtful, below it is unmatched

struct Alternative {
  ClassId part{};
  double confidence = 0;
};

class Matcher {
 public:
  /// Refers to the catalogue, which must live as long.
  explicit Matcher(const Catalogue& catalogue);

  /// Best first, ties by class; at most `most` with a confidence of kDoubtful or more (the best one even below, if
  /// anything is alike at all). Where only numbers stand against what the words say ("rack 30" of racks with 10, 20 and
  /// 40 teeth), the classes of that name with a confidence of 0, the nearest in size first.
  [[nodiscard]] std::vector<Alternative> match(const Phrase& phrase, std::size_t most = 5) const;
  [[nodiscard]] const PhraseReader& reader() const { return reader_; }
  [[nodiscard]] const Catalogue& catalogue() const { return catalogue_; }

 private:
  struct Pattern {
    ClassId part{};
    Phrase phrase;
    double weight = 0;
  };
  [[nodiscard]] double weight_of(const std::string& word) const;
  [[nodiscard]] double weight_of(const Phrase& phrase) const;
  [[nodiscard]] double score(const Phrase& row, double row_weight, const Pattern& pattern) const;
  /// Likeness of the words alone; 0 when none is common.
  [[nodiscard]] double likeness(const Phrase& row, double row_weight, const Pattern& pattern, bool& row_is_part) const;
  [[nodiscard]] std::vector<Alternative> of_other_sizes(const Phrase& row, double row_weight,
                                                        const std::vector<std::size_t>& patterns,
                                                        std::size_t most) const;
  [[nodiscard]] double number_factor(const Phrase& row, const Pattern& pattern) const;
  [[nodiscard]] double group_factor(const Phrase& row, const Phrase& pattern) const;

  const Catalogue& catalogue_;
  PhraseReader reader_;
  std::vector<Pattern> patterns_;
  std::map<std::string, std::vector<std::size_t>> by_word_;  ///< patterns that hold a word
};

}  // namespace stock
