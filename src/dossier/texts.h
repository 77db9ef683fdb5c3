// Texts of a dossier in one language, from a file a language: catalogue/texts/<code>.toml.
//
// English is the reference: every other file has the same keys with the same placeholders, {name}. Tables nest:
// [spec] title = "..." is the key "spec.title". The table [terms] turns words of the calculation ("force") into the
// language, [phrases] its sentences; there {0}, {1} stand for what varies, and the key is the English sentence. The
// first phrase that fits with everything in it known counts. What has no entry there stays English.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "document/diagnostic.h"

namespace dossier {

/// For one thread at a time.
class Texts {
 public:
  using Values = std::vector<std::pair<std::string_view, std::string>>;

  /// The text of a key with its placeholders filled. An unknown key or a placeholder without a value is a fault of
  /// ours: the reader has compared every file with the English one.
  [[nodiscard]] std::string operator()(std::string_view key, const Values& values = {}) const;
  /// A word or sentence of the calculation in this language. Also lists of them, joined by ", ", " and ", "; " or ". ",
  /// if every item is known; a figure gets this language's mark. What is not known stays as it is.
  [[nodiscard]] std::string term(std::string_view english) const;
  /// The same for a word that surely is the calculation's, even where the project calls something by it.
  [[nodiscard]] std::string word(std::string_view english) const;
  /// Words that are the project's own: they are the same in every language.
  [[nodiscard]] Texts with_names(std::set<std::string, std::less<>> names) const;
  /// From now on everything that term() does not know is added here; for the check that translations are complete.
  void tell_unknown(std::set<std::string>* into) { unknown_ = into; }
  /// A number with this language's decimal mark and a real minus sign; see base::plain.
  [[nodiscard]] std::string number(double value, int significant = 4) const;
  /// "12.5 N mm" with a no-break space before and inside the unit; without a unit the number alone.
  [[nodiscard]] std::string quantity(double value, std::string_view unit, int significant = 4) const;
  /// "a, b and c"
  [[nodiscard]] std::string list(const std::vector<std::string>& words) const;

  [[nodiscard]] const std::string& language() const { return language_; }
  [[nodiscard]] const std::map<std::string, std::string, std::less<>>& all() const { return texts_; }
  [[nodiscard]] const std::map<std::string, std::string, std::less<>>& terms() const { return terms_; }
  [[nodiscard]] const std::vector<std::pair<std::string, std::string>>& phrases() const { return phrases_; }

 private:
  friend std::optional<Texts> load_texts(const std::string&, const std::string&, document::Diagnostics&);
  friend std::optional<Texts> parse_texts(std::string_view, const std::string&, document::Diagnostics&);

  [[nodiscard]] std::optional<std::string> known(std::string_view english) const;
  [[nodiscard]] std::optional<std::string> looked_up(std::string_view english) const;
  [[nodiscard]] std::optional<std::string> listed(std::string_view english, std::string_view separator) const;
  [[nodiscard]] std::string filled(const std::string& translation, const std::map<char, std::string>& covered) const;
  [[nodiscard]] std::string figure(std::string_view text) const;

  std::string language_, decimal_;
  std::set<std::string, std::less<>> names_;
  std::set<std::string>* unknown_ = nullptr;
  /// What known() has answered; sentences are long and come again and again.
  mutable std::map<std::string, std::optional<std::string>, std::less<>> memo_;
  std::map<std::string, std::string, std::less<>> texts_, terms_;
  std::vector<std::pair<std::string, std::string>> phrases_;  ///< in file order: the first that fits counts
};

/// Names in braces, ascending, each once.
[[nodiscard]] std::vector<std::string> placeholders(std::string_view text);

/// Languages a catalogue folder has texts for, ascending.
[[nodiscard]] std::vector<std::string> languages_in(const std::string& catalogue_folder);

/// Reads one language alone, without comparing it with English.
[[nodiscard]] std::optional<Texts> parse_texts(std::string_view toml, const std::string& file,
                                               document::Diagnostics& diagnostics);

/// Texts of `language` ("en", "de"), compared with the English ones: missing, unknown and differently filled keys are
/// errors. `catalogue_folder` as given by the user, empty = the one that comes with the program.
[[nodiscard]] std::optional<Texts> load_texts(const std::string& language, const std::string& catalogue_folder,
                                              document::Diagnostics& diagnostics);

}  // namespace dossier
