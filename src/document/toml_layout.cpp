#include "document/toml_layout.h"

#include <toml++/toml.h>

#include <algorithm>

#include "base/check.h"

namespace document {
namespace {

class Scanner {
 public:
  explicit Scanner(std::string_view text) : text_(text) {}

  std::vector<LaidStatement> run() {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    if (text_.substr(0, kByteOrderMark.size()) == kByteOrderMark) at_ = kByteOrderMark.size();
    std::vector<LaidStatement> out;
    std::size_t comments = at_;  // start of the comment lines directly above
    while (at_ < text_.size()) {
      const std::size_t line = at_;
      skip_blanks();
      if (at_ >= text_.size()) break;
      if (text_[at_] == '#') {
        skip_to_next_line();
        continue;
      }
      if (is_newline()) {
        skip_to_next_line();
        comments = at_;
        continue;
      }
      LaidStatement s;
      s.begin = at_;
      s.block_begin = comments;
      if (text_[at_] == '[') {
        const bool list = peek(1) == '[';
        s.form = list ? LaidStatement::Form::list_header : LaidStatement::Form::header;
        at_ += list ? 2 : 1;
        s.key = key();
        skip_blanks();
        at_ += list ? 2 : 1;
      } else {
        s.key = key();
        skip_blanks();
        expect('=');
        skip_blanks();
        s.value = value();
      }
      skip_to_next_line();
      s.line = {line, at_};
      comments = at_;
      out.push_back(std::move(s));
    }
    return out;
  }

 private:
  [[nodiscard]] char peek(std::size_t ahead = 0) const {
    return at_ + ahead < text_.size() ? text_[at_ + ahead] : '\0';
  }
  [[nodiscard]] bool is_newline() const { return peek() == '\n' || (peek() == '\r' && peek(1) == '\n'); }
  void expect(char c) {
    KW_CHECK(peek() == c, "the text was not accepted by the parser before");
    ++at_;
  }
  void skip_blanks() {
    while (peek() == ' ' || peek() == '\t') ++at_;
  }
  void skip_to_next_line() {
    at_ = std::min(text_.find('\n', at_), text_.size());
    if (at_ < text_.size()) ++at_;
  }
  /// Blanks, newlines and comments inside brackets.
  void skip_filling() {
    for (;;) {
      skip_blanks();
      if (peek() == '#') {
        skip_to_next_line();
      } else if (is_newline()) {
        skip_to_next_line();
      } else {
        return;
      }
    }
  }
  /// One of the four kinds of string; leaves at_ behind it.
  Span string() {
    const std::size_t begin = at_;
    const char quote = text_[at_];
    const std::string_view triple = quote == '"' ? R"(""")" : "'''";
    const bool multi_line = text_.substr(at_, 3) == triple;
    at_ += multi_line ? 3 : 1;
    while (at_ < text_.size()) {
      if (quote == '"' && text_[at_] == '\\') {
        at_ += 2;
      } else if (multi_line && text_.substr(at_, 3) == triple) {
        at_ += 3;
        while (peek() == quote) ++at_;  // up to two more belong to the text
        break;
      } else if (!multi_line && text_[at_] == quote) {
        ++at_;
        break;
      } else {
        ++at_;
      }
    }
    at_ = std::min(at_, text_.size());
    return {begin, at_};
  }
  std::string key_part() {
    skip_blanks();
    if (peek() == '"' || peek() == '\'') {
      const Span s = string();
      const std::string_view written = text_.substr(s.begin, s.end - s.begin);
      if (written[0] == '\'') return std::string(written.substr(1, written.size() - 2));
      // Escapes are the parser's business.
      return toml::parse("k = " + std::string(written))["k"].value_or(std::string());
    }
    const std::size_t begin = at_;
    const auto bare = [](char c) {
      return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
    };
    while (bare(peek())) ++at_;
    KW_CHECK(at_ > begin, "the text was not accepted by the parser before");
    return std::string(text_.substr(begin, at_ - begin));
  }
  std::vector<std::string> key() {
    std::vector<std::string> out{key_part()};
    for (skip_blanks(); peek() == '.'; skip_blanks()) {
      ++at_;
      out.push_back(key_part());
    }
    return out;
  }
  LaidValue value() {
    LaidValue out;
    out.span.begin = at_;
    if (peek() == '[') {
      out.form = LaidValue::Form::array;
      ++at_;
      for (skip_filling(); peek() != ']' && at_ < text_.size(); skip_filling()) {
        out.items.push_back(value());
        skip_filling();
        if (peek() == ',') ++at_;
      }
      expect(']');
    } else if (peek() == '{') {
      out.form = LaidValue::Form::table;
      ++at_;
      for (skip_filling(); peek() != '}' && at_ < text_.size(); skip_filling()) {
        LaidMember m;
        m.span.begin = at_;
        m.key = key();
        skip_blanks();
        expect('=');
        skip_blanks();
        m.value = value();
        m.span.end = at_;
        out.members.push_back(std::move(m));
        skip_filling();
        if (peek() == ',') ++at_;
      }
      expect('}');
    } else if (peek() == '"' || peek() == '\'') {
      string();
    } else {
      // Numbers, true, false, dates (which may hold one blank between day and hour).
      while (at_ < text_.size() && std::string_view(",]}#\r\n").find(text_[at_]) == std::string_view::npos) ++at_;
      while (at_ > out.span.begin && (text_[at_ - 1] == ' ' || text_[at_ - 1] == '\t')) --at_;
    }
    out.span.end = at_;
    return out;
  }

  std::string_view text_;
  std::size_t at_ = 0;
};

LaidItem& member_of(LaidItem& section, const std::string& key) {
  for (LaidItem::Member& m : section.members) {
    if (m.key == key) return m.item;
  }
  return section.members.emplace_back(LaidItem::Member{key, {}}).item;
}

/// The table a header stands under: of a list, its latest element.
LaidItem& entered(LaidItem& item) {
  return item.form == LaidItem::Form::list ? item.elements.back() : item;
}

}  // namespace

const LaidItem* LaidItem::find(std::string_view key) const {
  for (const Member& m : members) {
    if (m.key == key) return &m.item;
  }
  return nullptr;
}

std::vector<LaidStatement> lay_out_toml(std::string_view text) {
  return Scanner(text).run();
}

LaidItem laid_tree(const std::vector<LaidStatement>& statements) {
  LaidItem root;
  std::vector<std::string> open;  // key of the header in force
  for (std::size_t i = 0; i < statements.size(); ++i) {
    const LaidStatement& s = statements[i];
    const int index = static_cast<int>(i);
    if (s.form != LaidStatement::Form::pair) open = s.key;
    LaidItem* at = &root;
    const std::size_t steps = s.form == LaidStatement::Form::pair ? open.size() : s.key.size() - 1;
    for (std::size_t k = 0; k < steps; ++k) at = &entered(member_of(*at, open[k]));
    if (s.form == LaidStatement::Form::pair) {
      for (std::size_t k = 0; k + 1 < s.key.size(); ++k) {
        at = &member_of(*at, s.key[k]);
        at->dotted.push_back(index);
      }
      LaidItem& leaf = member_of(*at, s.key.back());
      leaf.form = LaidItem::Form::value;
      leaf.value = &s.value;
      leaf.statement = index;
    } else {
      LaidItem& named = member_of(*at, s.key.back());
      if (s.form == LaidStatement::Form::header) {
        entered(named).statement = index;
      } else {
        named.form = LaidItem::Form::list;
        named.elements.emplace_back().statement = index;
      }
    }
  }
  return root;
}

std::size_t block_end(const std::vector<LaidStatement>& statements, int h, std::string_view text) {
  for (std::size_t i = static_cast<std::size_t>(h + 1); i < statements.size(); ++i) {
    if (statements[i].form != LaidStatement::Form::pair) return statements[i].block_begin;
  }
  return text.size();
}

}  // namespace document
