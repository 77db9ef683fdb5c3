#include "dossier/texts.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "base/check.h"
#include "base/text.h"
#include "document/toml_reader.h"
#include "stock/catalogue.h"

namespace dossier {
namespace {

namespace fs = std::filesystem;
using document::Diagnostics;
using document::Node;

const std::string kPrefix = "texts";

void collect(const Node& table, const std::string& path, std::map<std::string, std::string, std::less<>>& out,
             Diagnostics& d) {
  for (const document::Entry& e : table.entries) {
    const std::string key = path.empty() ? e.key : path + "." + e.key;
    if (e.value.kind == Node::Kind::table) {
      collect(e.value, key, out, d);
    } else if (e.value.kind == Node::Kind::text) {
      out[key] = e.value.text;
    } else {
      d.error(kPrefix + ".wrong_type", e.value.where, e.value.path, "a text was expected", "put it in quotation marks");
    }
  }
}

/// What the wildcards {0}, {1} of a pattern cover in `text`; nothing when it does not fit. Every wildcard takes as
/// little as it can.
std::optional<std::map<char, std::string>> fits(std::string_view pattern, std::string_view text) {
  std::map<char, std::string> out;
  while (true) {
    const std::size_t open = pattern.find('{');
    const std::string_view before = pattern.substr(0, open);
    if (text.substr(0, before.size()) != before) return std::nullopt;
    text.remove_prefix(before.size());
    if (open == std::string_view::npos) return text.empty() ? std::optional(out) : std::nullopt;
    const char name = pattern[open + 1];
    pattern.remove_prefix(open + 3);
    const std::string_view after = pattern.substr(0, pattern.find('{'));
    const std::size_t end = after.empty() ? (pattern.empty() ? text.size() : std::string_view::npos)
                            : pattern.size() == after.size()
                                ? (text.size() >= after.size() + 1 && text.substr(text.size() - after.size()) == after
                                       ? text.size() - after.size()
                                       : std::string_view::npos)
                                : text.find(after, 1);
    if (end == std::string_view::npos) return std::nullopt;
    out[name] = std::string(text.substr(0, end));
    text.remove_prefix(end);
  }
}

/// Latin ones; signs, fractions and arrows are none.
bool has_letters(std::string_view text) {
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if ((c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z')) return true;
    const bool times = c == 0xC3 && i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) == 0x97;
    if (c >= 0xC3 && c <= 0xCF && !times) return true;  // first bytes of accented and Greek letters in UTF-8
  }
  return false;
}

std::size_t letters(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }));
}

}  // namespace

std::vector<std::string> placeholders(std::string_view text) {
  std::set<std::string> out;
  for (std::size_t at = text.find('{'); at != std::string_view::npos; at = text.find('{', at + 1)) {
    const std::size_t end = text.find('}', at);
    if (end != std::string_view::npos) out.emplace(text.substr(at + 1, end - at - 1));
  }
  return {out.begin(), out.end()};
}

std::string Texts::operator()(std::string_view key, const Values& values) const {
  const auto found = texts_.find(key);
  KW_CHECK(found != texts_.end(), fmt::format("no text \"{}\"", key));
  const std::string& text = found->second;
  std::string out;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t open = text.find('{', at);
    out += text.substr(at, open - at);
    if (open == std::string::npos) break;
    const std::size_t end = text.find('}', open);
    KW_CHECK(end != std::string::npos, fmt::format("text \"{}\" has an open brace", key));
    const std::string_view name = std::string_view(text).substr(open + 1, end - open - 1);
    const auto value = std::find_if(values.begin(), values.end(), [&](const auto& v) { return v.first == name; });
    KW_CHECK(value != values.end(), fmt::format("text \"{}\": nothing for \"{}\"", key, name));
    out += value->second;
    at = end + 1;
  }
  return out;
}

Texts Texts::with_names(std::set<std::string, std::less<>> names) const {
  Texts out = *this;
  out.names_ = std::move(names);
  out.memo_.clear();
  return out;
}

std::string Texts::figure(std::string_view text) const {
  std::string out(text);
  const std::string_view bare = text.starts_with("-") ? text.substr(1) : text;
  const bool number = !bare.empty() && bare.find_first_not_of("0123456789.") == std::string_view::npos &&
                      std::count(bare.begin(), bare.end(), '.') <= 1;
  if (!number) return out;
  if (const std::size_t dot = out.find('.'); dot != std::string::npos) out.replace(dot, 1, decimal_);
  return out;
}

std::string Texts::filled(const std::string& translation, const std::map<char, std::string>& covered) const {
  std::string out;
  for (std::size_t i = 0; i < translation.size(); ++i) {
    const bool gap = translation[i] == '{' && i + 2 < translation.size() && translation[i + 2] == '}';
    if (!gap) {
      out += translation[i];
      continue;
    }
    // What varies may be a sentence or a term itself.
    if (const auto value = covered.find(translation[i + 1]); value != covered.end()) out += term(value->second);
    i += 2;
  }
  return out;
}

/// Everything known in it, or nothing.
std::optional<std::string> Texts::known(std::string_view english) const {
  const auto before = memo_.find(english);
  if (before != memo_.end()) return before->second;
  auto out = looked_up(english);
  memo_.emplace(english, out);
  return out;
}

std::optional<std::string> Texts::looked_up(std::string_view english) const {
  if (names_.contains(english)) return std::string(english);
  if (const auto found = terms_.find(english); found != terms_.end()) return found->second;
  if (!has_letters(english)) return figure(english);
  // "winch 2": so many of something.
  const std::size_t blank = english.rfind(' ');
  if (blank != std::string_view::npos && names_.contains(english.substr(0, blank)) &&
      !has_letters(english.substr(blank + 1)))
    return std::string(english);
  for (const auto& [pattern, translation] : phrases_) {
    const auto covered = fits(pattern, english);
    if (!covered) continue;
    const bool all = std::all_of(covered->begin(), covered->end(), [&](const auto& c) { return known(c.second); });
    if (all) return filled(translation, *covered);
  }
  for (const std::string_view separator : {". ", "; ", ", ", " and ", " or "}) {
    if (auto list = listed(english, separator)) return list;
  }
  return std::nullopt;
}

/// The items of a list, each the longest that is known: names of parts have commas of their own.
std::optional<std::string> Texts::listed(std::string_view english, std::string_view separator) const {
  std::vector<std::size_t> cuts;
  for (std::size_t at = english.find(separator); at != std::string_view::npos; at = english.find(separator, at + 1))
    cuts.push_back(at);
  const std::size_t keep = separator == ". " ? 1 : 0;  // a sentence keeps its full stop
  for (auto cut = cuts.rbegin(); cut != cuts.rend(); ++cut) {
    const auto rest = known(english.substr(*cut + separator.size()));
    if (!rest) continue;
    const auto first = known(english.substr(0, *cut + keep));
    if (!first) continue;
    const std::string between = separator == " and "  ? " " + (*this)("number.and") + " "
                                : separator == " or " ? " " + (*this)("number.or") + " "
                                                      : std::string(separator.substr(keep));
    return *first + between + *rest;
  }
  return std::nullopt;
}

std::string Texts::word(std::string_view english) const {
  const auto found = terms_.find(english);
  return found != terms_.end() ? found->second : term(english);
}

std::string Texts::term(std::string_view english) const {
  if (english.empty() || (terms_.empty() && phrases_.empty())) return std::string(english);
  if (auto all = known(english)) return *all;
  // Next best: a sentence of which something is not known. A few letters would fit too much.
  constexpr std::size_t kLettersOfASentence = 6;
  for (const auto& [pattern, translation] : phrases_) {
    if (letters(pattern) < kLettersOfASentence) continue;
    if (const auto covered = fits(pattern, english)) return filled(translation, *covered);
  }
  if (unknown_ != nullptr) unknown_->emplace(english);
  return std::string(english);
}

std::string Texts::number(double value, int significant) const {
  std::string out = base::plain(value, significant);
  if (!std::isfinite(value)) return (*this)("number.unlimited");
  if (const std::size_t dot = out.find('.'); dot != std::string::npos) out.replace(dot, 1, decimal_);
  if (out.front() == '-') out.replace(0, 1, "\xE2\x88\x92");
  return out;
}

std::string Texts::quantity(double value, std::string_view unit, int significant) const {
  std::string out = number(value, significant);
  if (unit.empty()) return out;
  if (unit == "deg" || unit == "\xC2\xB0") return out + "\xC2\xB0";
  out += "\xC2\xA0";
  for (const char c : unit) out += c == ' ' ? std::string("\xC2\xA0") : std::string(1, c);
  return out;
}

std::string Texts::list(const std::vector<std::string>& words) const {
  return base::list_text(words, (*this)("number.and"));
}

std::vector<std::string> languages_in(const std::string& catalogue_folder) {
  std::vector<std::string> out;
  std::error_code failed;
  for (fs::directory_iterator it(fs::path(catalogue_folder) / "texts", failed), end; !failed && it != end;
       it.increment(failed)) {
    if (it->path().extension() == ".toml") out.push_back(it->path().stem().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

std::optional<Texts> parse_texts(std::string_view toml, const std::string& file, Diagnostics& d) {
  const auto tree = document::parse_toml(toml, file, d);
  if (!tree) return std::nullopt;
  Diagnostics own;
  Texts out;
  out.language_ = fs::path(file).stem().string();
  Node rest = *tree;
  for (const document::Entry& e : tree->entries) {
    if (e.key == "terms" && e.value.kind == Node::Kind::table) {
      collect(e.value, "", out.terms_, own);
    } else if (e.key == "phrases" && e.value.kind == Node::Kind::table) {
      for (const document::Entry& p : e.value.entries) out.phrases_.emplace_back(p.key, p.value.text);
    } else {
      continue;
    }
    std::erase_if(rest.entries, [&](const document::Entry& o) { return o.key == e.key; });
  }
  collect(rest, "", out.texts_, own);
  const auto decimal = out.texts_.find("number.decimal");
  if (decimal == out.texts_.end()) {
    own.error(kPrefix + ".missing", {file, 0, 0}, "/number/decimal", "the decimal mark is missing",
              "add [number] decimal = \",\"");
  } else {
    out.decimal_ = decimal->second;
  }
  const bool good = !own.has_errors();
  d.add_all(own);
  if (!good) return std::nullopt;
  return out;
}

std::optional<Texts> load_texts(const std::string& language, const std::string& catalogue_folder, Diagnostics& d) {
  const auto root = stock::find_catalogue_folder(catalogue_folder, d);
  if (!root) return std::nullopt;
  const std::vector<std::string> known = languages_in(*root);
  if (std::find(known.begin(), known.end(), language) == known.end()) {
    d.error(kPrefix + ".unknown_language", {"--language", 0, 0}, "",
            fmt::format("there are no texts in the language {}", document::quoted(language)),
            known.empty() ? "the catalogue has no folder \"texts\"" : "one of " + base::list_text(known, "or"));
    return std::nullopt;
  }
  const auto read = [&](const std::string& code) -> std::optional<Texts> {
    const std::string file = (fs::path(*root) / "texts" / (code + ".toml")).string();
    const auto text = document::read_text_file(file, document::kMostTomlBytes, d);
    return text ? parse_texts(*text, file, d) : std::nullopt;
  };
  std::optional<Texts> english = read("en");
  if (!english || language == "en") return english;
  std::optional<Texts> out = read(language);
  if (!out) return std::nullopt;
  const document::Location where{(fs::path(*root) / "texts" / (language + ".toml")).string(), 0, 0};
  Diagnostics own;
  for (const auto& [key, text] : english->texts_) {
    const auto found = out->texts_.find(key);
    if (found == out->texts_.end()) {
      own.error(kPrefix + ".missing", where, key, fmt::format("the text \"{}\" is missing", key), "translate: " + text);
    } else if (placeholders(found->second) != placeholders(text)) {
      own.error(kPrefix + ".placeholders", where, key,
                fmt::format("the text \"{}\" has other placeholders than the English one", key), "English: " + text);
    }
  }
  for (const auto& [key, text] : out->texts_) {
    if (!english->texts_.contains(key))
      own.error(kPrefix + ".unknown_key", where, key, fmt::format("no dossier has a text \"{}\"", key), "");
  }
  const bool good = !own.has_errors();
  d.add_all(own);
  if (!good) return std::nullopt;
  return out;
}

}  // namespace dossier
