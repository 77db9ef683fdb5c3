#include "stock/phrase.h"

#include <algorithm>
#include <cmath>

#include "stock/folding.h"

namespace stock {
namespace {

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}
/// Letters and every byte of a longer UTF-8 sequence.
bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || static_cast<unsigned char>(c) >= 0x80;
}

/// Numbers with more digits than any part has teeth, holes or millimetres are codes of the list.
constexpr std::size_t kMostDigits = 4;
/// A short run of letters glued to three or more digits ("ab1204") is a code too.
constexpr std::size_t kCodeLetters = 3;
constexpr std::size_t kCodeDigits = 3;
/// Below this length one wrong letter makes another word too easily ("pin", "bin").
constexpr std::size_t kShortestCorrected = 5;

/// Denominators that stand for a fraction of an inch or of a part, so that "56/24" stays two numbers.
bool fraction_base(int denominator) {
  return denominator == 2 || denominator == 4 || denominator == 8 || denominator == 16 || denominator == 32;
}

/// Whether b is a with one letter replaced, added, left out, or two neighbours swapped.
bool one_slip_apart(std::string_view a, std::string_view b) {
  if (a.size() > b.size()) std::swap(a, b);
  if (b.size() - a.size() > 1) return false;
  std::size_t i = 0;
  while (i < a.size() && a[i] == b[i]) ++i;
  if (a.size() < b.size()) return a.substr(i) == b.substr(i + 1);
  if (i == a.size()) return true;
  if (a.substr(i + 1) == b.substr(i + 1)) return true;
  return i + 1 < a.size() && a[i] == b[i + 1] && a[i + 1] == b[i] && a.substr(i + 2) == b.substr(i + 2);
}

}  // namespace

PhraseReader::PhraseReader(const Words& words) {
  for (const auto& m : words.meanings) {
    for (const auto& w : m.words) add_replacement(w, m.says, false);
    know(tokens_of(m.says));
  }
  for (const auto& m : words.colours) {
    add_replacement(m.says, m.says, true);
    for (const auto& w : m.words) add_replacement(w, m.says, true);
  }
  for (auto& [first, list] : replacements_) {
    std::stable_sort(list.begin(), list.end(),
                     [](const Replacement& a, const Replacement& b) { return a.from.size() > b.from.size(); });
  }
  for (const auto& u : words.units) {
    for (const auto& w : u.after) add_unit(after_, w, u);
    for (const auto& w : u.before) add_unit(before_, w, u);
  }
  const auto longer = [](const UnitWord& a, const UnitWord& b) { return a.words.size() > b.words.size(); };
  std::stable_sort(after_.begin(), after_.end(), longer);
  std::stable_sort(before_.begin(), before_.end(), longer);
  for (const auto& w : words.noise) {
    for (const Token& t : tokens_of(w)) noise_.insert(t.text);
  }
  known_.insert(noise_.begin(), noise_.end());
}

void PhraseReader::know(const std::vector<Token>& tokens) {
  for (const Token& t : tokens) {
    if (t.kind == Token::Kind::word) known_.insert(t.text);
  }
}

void PhraseReader::add_replacement(const std::string& from, const std::string& to, bool colour) {
  const auto from_tokens = tokens_of(from);
  know(from_tokens);
  Replacement r;
  for (const Token& t : from_tokens) r.from.push_back(t.text);
  if (r.from.empty()) return;
  if (colour) {
    r.to = {to};
  } else {
    for (const Token& t : tokens_of(to)) r.to.push_back(t.text);
  }
  r.colour = colour;
  replacements_[r.from.front()].push_back(std::move(r));
}

void PhraseReader::add_unit(std::vector<UnitWord>& list, const std::string& text, const Words::Unit& unit) {
  UnitWord w;
  w.role = unit.role;
  w.scale = unit.scale;
  w.implies = unit.implies;
  if (text == "\"") {
    w.words = {"\""};
  } else {
    const auto tokens = tokens_of(text);
    know(tokens);
    for (const Token& t : tokens) w.words.push_back(t.text);
  }
  if (!w.words.empty()) list.push_back(std::move(w));
}

void PhraseReader::learn(std::string_view description) {
  know(tokens_of(description));
}

std::vector<PhraseReader::Token> PhraseReader::tokens_of(std::string_view description) const {
  const std::string text = folded(description);
  std::vector<Token> out;
  const auto digits_at = [&](std::size_t at) {
    std::size_t n = 0;
    while (at + n < text.size() && is_digit(text[at + n])) ++n;
    return n;
  };
  const auto add_word = [&](std::string word) {
    Token t;
    t.text = std::move(word);
    out.push_back(std::move(t));
  };
  const auto add_number = [&](double value, bool half) {
    Token t;
    t.kind = Token::Kind::number;
    t.number.value = value;
    t.half = half;
    out.push_back(std::move(t));
  };
  // Whole part read before a fraction, "2 1/2": index of its token, or npos.
  for (std::size_t i = 0; i < text.size();) {
    const char c = text[i];
    if (is_digit(c)) {
      const std::size_t n = digits_at(i);
      if (n > kMostDigits) {
        i += n;
        continue;
      }
      double value = std::stod(text.substr(i, n));
      const int whole = static_cast<int>(value);
      i += n;
      if (i + 1 < text.size() && text[i] == '/' && is_digit(text[i + 1])) {
        const std::size_t m = digits_at(i + 1);
        const int denominator = m <= 2 ? std::stoi(text.substr(i + 1, m)) : 0;
        if (fraction_base(denominator) && whole < denominator) {
          i += 1 + m;
          value = static_cast<double>(whole) / denominator;
          const bool mixed = !out.empty() && out.back().kind == Token::Kind::number && !out.back().half &&
                             out.back().number.value == std::floor(out.back().number.value);
          if (mixed) {
            out.back().number.value += value;
          } else {
            add_number(value, value == 0.5);
          }
          continue;
        }
      }
      if (i + 1 < text.size() && (text[i] == '.' || text[i] == ',') && is_digit(text[i + 1])) {
        const std::size_t m = digits_at(i + 1);
        value += std::stod("0." + text.substr(i + 1, std::min<std::size_t>(m, 9)));
        i += 1 + m;
      }
      add_number(value, false);
    } else if (text.compare(i, 2, "\u00b0") == 0 || text.compare(i, 2, "\u00f8") == 0) {
      add_word(text.substr(i, 2));
      i += 2;
    } else if (is_letter(c)) {
      std::size_t n = 0;
      while (i + n < text.size() && is_letter(text[i + n]) && text.compare(i + n, 2, "\u00b0") != 0 &&
             text.compare(i + n, 2, "\u00f8") != 0) {
        ++n;
      }
      std::string word = text.substr(i, n);
      i += n;
      const std::size_t digits = digits_at(i);
      const bool unit = std::any_of(before_.begin(), before_.end(),
                                    [&](const UnitWord& u) { return u.words.size() == 1 && u.words[0] == word; });
      if (n <= kCodeLetters && digits >= kCodeDigits && !unit && word != "x") {
        i += digits;  // a code of the list
        continue;
      }
      add_word(std::move(word));
    } else {
      const bool after_number = !out.empty() && out.back().kind == Token::Kind::number;
      if (after_number && c == '"') add_word("\"");
      if (after_number && c == '*') add_word("x");
      ++i;
    }
  }
  return out;
}

bool PhraseReader::stands_at(const std::vector<Token>& tokens, std::size_t at,
                             const std::vector<std::string>& words) const {
  if (at + words.size() > tokens.size()) return false;
  for (std::size_t k = 0; k < words.size(); ++k) {
    const Token& t = tokens[at + k];
    if (t.used || t.kind != Token::Kind::word || t.text != words[k]) return false;
  }
  return true;
}

/// "3 x 5", "3 by 5": both numbers are sizes.
void PhraseReader::set_dimensions(std::vector<Token>& tokens) const {
  for (std::size_t i = 0; i + 2 < tokens.size(); ++i) {
    if (tokens[i].kind != Token::Kind::number || tokens[i + 2].kind != Token::Kind::number) continue;
    const std::string& between = tokens[i + 1].text;
    if (between != "x" && between != "by" && between != "mal" && between != "par" && between != "auf") continue;
    tokens[i].number.role = tokens[i + 2].number.role = NumberRole::size;
    tokens[i + 1].used = true;
  }
}

void PhraseReader::set_units(std::vector<Token>& tokens, std::string& implied) const {
  const auto take = [&](Token& number, std::size_t at, const UnitWord& u) {
    for (std::size_t k = 0; k < u.words.size(); ++k) tokens[at + k].used = true;
    if (number.number.role == NumberRole::none) {
      number.number.role = u.role;
      number.number.value *= u.scale;
    }
    number.half = false;
    if (implied.empty()) implied = u.implies;
  };
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    Token& t = tokens[i];
    if (t.kind != Token::Kind::number) continue;
    bool found = false;
    for (const UnitWord& u : after_) {
      if (!stands_at(tokens, i + 1, u.words)) continue;
      take(t, i + 1, u);
      found = true;
      break;
    }
    if (found) continue;
    for (const UnitWord& u : before_) {
      if (u.words.size() > i || !stands_at(tokens, i - u.words.size(), u.words)) continue;
      take(t, i - u.words.size(), u);
      break;
    }
  }
}

std::string PhraseReader::known_form(const std::string& word, int& corrections, bool& strange) const {
  strange = false;
  if (known_.contains(word)) return word;
  for (const std::string_view ending : {"s", "es"}) {
    if (word.size() > ending.size() + 1 && word.ends_with(ending)) {
      const std::string stem = word.substr(0, word.size() - ending.size());
      if (known_.contains(stem)) return stem;
    }
  }
  if (word.size() >= kShortestCorrected) {
    for (const std::string& k : known_) {
      if (k.size() >= kShortestCorrected && one_slip_apart(word, k)) {
        ++corrections;
        return k;
      }
    }
  }
  strange = true;
  return word;
}

Phrase PhraseReader::read(std::string_view description) const {
  Phrase out;
  std::vector<Token> tokens = tokens_of(description);
  std::set<std::string> strange_words;
  for (Token& t : tokens) {
    if (t.kind != Token::Kind::word) continue;
    bool strange = false;
    t.text = known_form(t.text, out.corrections, strange);
    if (strange) strange_words.insert(t.text);
  }
  set_dimensions(tokens);
  std::string implied;
  set_units(tokens, implied);
  std::vector<std::string> colours;
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    Token& t = tokens[i];
    if (t.used) continue;
    if (t.kind == Token::Kind::number) {
      if (t.half) {
        out.words.insert("half");
      } else {
        out.numbers.push_back(t.number);
      }
      continue;
    }
    if (t.text == "\"") continue;
    bool replaced = false;
    if (const auto it = replacements_.find(t.text); it != replacements_.end()) {
      for (const Replacement& r : it->second) {
        if (!stands_at(tokens, i, r.from)) continue;
        for (std::size_t k = 0; k < r.from.size(); ++k) tokens[i + k].used = true;
        for (const std::string& w : r.to) {
          if (r.colour) {
            colours.push_back(w);
          } else if (!noise_.contains(w)) {
            out.words.insert(w);
          }
        }
        replaced = true;
        break;
      }
    }
    if (replaced || noise_.contains(t.text)) continue;
    out.words.insert(t.text);
    if (strange_words.contains(t.text)) out.strange.insert(t.text);
  }
  if (out.words.empty() && !implied.empty()) {
    out.words.insert(implied);
    out.implied_noun = true;
  }
  for (const std::string& c : colours) {
    if (out.colour.empty()) {
      out.colour = c;
    } else if (out.colour == "clear" && c != "clear") {
      out.colour = "clear " + c;
    } else if (c == "clear" && out.colour.rfind("clear", 0) != 0) {
      out.colour = "clear " + out.colour;
    }
  }
  return out;
}

bool PhraseReader::is_colour(std::string_view text) const {
  const Phrase p = read(text);
  return !p.colour.empty() && p.words.empty() && p.numbers.empty();
}

std::string PhraseReader::colour_of(std::string_view text) const {
  const Phrase p = read(text);
  if (!p.colour.empty() && p.words.empty() && p.numbers.empty() && p.corrections == 0) return p.colour;
  std::string out = lowered(text);
  const auto from = out.find_first_not_of(" \t\r\n");
  if (from == std::string::npos) return {};
  return out.substr(from, out.find_last_not_of(" \t\r\n") - from + 1);
}

}  // namespace stock
