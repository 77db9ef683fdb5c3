#include "stock/csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "base/text.h"

namespace stock {
namespace {

using document::Diagnostics;
using document::Location;

/// "sep=;" as some spreadsheets write it on the first line: length of that line with its end, and the delimiter.
struct SepLine {
  std::size_t length = 0;
  char delimiter = 0;
};

SepLine sep_line(std::string_view text) {
  const bool marked = text.size() >= 5 && base::lower_ascii(text.substr(0, 4)) == "sep=";
  if (!marked || text[4] == '\n' || text[4] == '\r') return {};
  std::size_t end = 5;
  if (end < text.size() && text[end] != '\n' && text[end] != '\r') return {};
  if (end < text.size() && text[end] == '\r') ++end;
  if (end < text.size() && text[end] == '\n') ++end;
  return {end, text[4]};
}

class Reader {
 public:
  Reader(std::string_view text, char delimiter, const std::string& file, Diagnostics& d)
      : text_(text), delimiter_(delimiter), file_(file), d_(d) {}

  CsvTable run(std::size_t start) {
    CsvTable out;
    out.delimiter = delimiter_;
    if (start > 0) line_ = 2;
    at_ = start;
    while (at_ < text_.size() && !stopped_) {
      Record r;
      r.line = line_;
      read_record(r);
      if (stopped_) break;
      bool blank = true;
      for (const Field& f : r.fields) blank = blank && f.text.empty();
      if (blank) continue;
      if (out.records.size() == kMostRecords) {
        d_.error("stock.too_many_rows", {file_, r.line, 1}, "",
                 fmt::format("more than {} rows; a donor kit has a few hundred", kMostRecords),
                 "is this the stock list?");
        break;
      }
      r.number = static_cast<int>(out.records.size()) + 1;
      out.records.push_back(std::move(r));
    }
    return out;
  }

 private:
  [[nodiscard]] char here() const { return text_[at_]; }
  [[nodiscard]] bool at_end_of_line() const { return at_ >= text_.size() || here() == '\n' || here() == '\r'; }

  void step() {
    const char c = text_[at_++];
    if (c == '\n' || (c == '\r' && (at_ >= text_.size() || text_[at_] != '\n'))) {
      ++line_;
      column_ = 1;
    } else if ((static_cast<unsigned char>(c) & 0xc0) != 0x80) {
      ++column_;
    }
  }

  void end_line() {
    if (at_ >= text_.size()) return;
    const bool crlf = here() == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n';
    step();
    if (crlf) step();
  }

  void read_record(Record& r) {
    while (!stopped_) {
      if (r.fields.size() == kMostFields) {
        d_.error("stock.too_many_fields", {file_, line_, column_}, "",
                 fmt::format("more than {} fields in one row", kMostFields), "is this a stock list?");
        stopped_ = true;
        return;
      }
      Field f;
      read_field(f);
      r.fields.push_back(std::move(f));
      if (at_ < text_.size() && here() == delimiter_) {
        step();
        continue;
      }
      end_line();
      return;
    }
  }

  void too_long(const Field& f, const char* hint) {
    d_.error("stock.field_too_long", {file_, f.line, f.column}, "",
             fmt::format("a field of more than {} bytes starts here", kLongestField), hint);
    stopped_ = true;
  }

  void read_field(Field& f) {
    while (at_ < text_.size() && (here() == ' ' || (here() == '\t' && delimiter_ != '\t'))) step();
    f.line = line_;
    f.column = column_;
    if (at_ < text_.size() && here() == '"') {
      read_quoted(f);
      return;
    }
    const std::size_t from = at_;
    while (!at_end_of_line() && here() != delimiter_) {
      if (at_ - from > kLongestField) {
        too_long(f, "is this a stock list?");
        return;
      }
      step();
    }
    f.text = std::string(base::trimmed(text_.substr(from, at_ - from)));
  }

  void read_quoted(Field& f) {
    step();
    while (at_ < text_.size()) {
      if (here() == '"') {
        if (at_ + 1 < text_.size() && text_[at_ + 1] == '"') {
          step();
        } else {
          break;
        }
      }
      f.text += here();
      if (f.text.size() > kLongestField) {
        too_long(f, "a closing quote may be missing");
        return;
      }
      step();
    }
    if (at_ >= text_.size()) {
      d_.error("stock.unclosed_quote", {file_, f.line, f.column}, "", "the quote that opens here is never closed",
               "close it, or double a quote that is part of the text");
      stopped_ = true;
      return;
    }
    step();
    f.text = std::string(base::trimmed(f.text));
    const int line = line_;
    const int column = column_;
    std::string rest;
    while (!at_end_of_line() && here() != delimiter_) {
      rest += here();
      if (rest.size() > kLongestField) {
        too_long(f, "is this a stock list?");
        return;
      }
      step();
    }
    if (!base::trimmed(rest).empty()) {
      d_.error("stock.after_quote", {file_, line, column}, "",
               fmt::format("text after a closing quote: {}", document::quoted(base::trimmed(rest))),
               "double the quotes that are part of the text");
    }
  }

  std::string_view text_;
  char delimiter_;
  const std::string& file_;
  Diagnostics& d_;
  std::size_t at_ = 0;
  int line_ = 1;
  int column_ = 1;
  bool stopped_ = false;
};

/// Delimiters outside quotes in each of the first records.
std::vector<int> counts_of(std::string_view text, char delimiter) {
  constexpr std::size_t kRecords = 200;    // plenty to see a pattern
  constexpr std::size_t kBytes = 200'000;  // bounds the look-ahead on files without line ends
  std::vector<int> out;
  bool quoted = false, any = false;
  bool field_start = true;
  int count = 0;
  const std::size_t end = std::min(text.size(), kBytes);
  for (std::size_t i = 0; i < end && out.size() < kRecords; ++i) {
    const char c = text[i];
    if (quoted) {
      if (c == '"') quoted = false;  // a doubled quote opens again at once
      continue;
    }
    if (c == '"' && (field_start || (i > 0 && text[i - 1] == '"'))) {
      quoted = any = true;
      field_start = false;
    } else if (c == '\n' || c == '\r') {
      if (any) out.push_back(count);
      count = 0;
      any = false;
      field_start = true;
    } else {
      if (c == delimiter) ++count;
      if (c != ' ') any = any || c != delimiter;
      field_start = c == delimiter || (field_start && c == ' ');
    }
  }
  if (any && out.size() < kRecords) out.push_back(count);
  return out;
}

}  // namespace

char detect_delimiter(std::string_view text) {
  if (const SepLine sep = sep_line(text); sep.length > 0) return sep.delimiter;
  char best = 0;
  double best_share = 0;
  for (const char delimiter : {'\t', ';', '|', ','}) {
    const std::vector<int> counts = counts_of(text, delimiter);
    std::map<int, int> frequency;
    for (const int c : counts) {
      if (c > 0) ++frequency[c];
    }
    int modal = 0;
    for (const auto& [count, times] : frequency) modal = std::max(modal, times);
    const double share = counts.empty() ? 0 : static_cast<double>(modal) / static_cast<double>(counts.size());
    if (share > best_share) {
      best = delimiter;
      best_share = share;
    }
  }
  return best;
}

CsvTable read_csv(std::string_view text, char delimiter, const std::string& file, Diagnostics& diagnostics) {
  return Reader(text, delimiter, file, diagnostics).run(sep_line(text).length);
}

}  // namespace stock
