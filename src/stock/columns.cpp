#include "stock/columns.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <set>

#include "base/check.h"
#include "base/text.h"
#include "stock/count.h"
#include "stock/folding.h"

namespace stock {
namespace {

using document::Diagnostics;

constexpr std::array<std::pair<Meaning, std::string_view>, kMeanings> kNames{{{Meaning::name, "name"},
                                                                              {Meaning::quantity, "quantity"},
                                                                              {Meaning::colour, "colour"},
                                                                              {Meaning::code, "code"},
                                                                              {Meaning::class_id, "class"}}};
constexpr const char* kHint = "say which, for example --columns name=2,quantity=1";

std::string collapsed(std::string_view text) {
  std::string out;
  for (const char c : folded(text)) {
    const bool space = c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '_' || c == ':' || c == '.';
    if (!space) {
      out += c;
    } else if (!out.empty() && out.back() != ' ') {
      out += ' ';
    }
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

const std::vector<std::string>& heads_of(const Words& words, Meaning m) {
  switch (m) {
    case Meaning::name:
      return words.columns.name;
    case Meaning::quantity:
      return words.columns.quantity;
    case Meaning::colour:
      return words.columns.colour;
    case Meaning::code:
      return words.columns.code;
    case Meaning::class_id:
      break;
  }
  return words.columns.class_id;
}

/// Place of a head in the list of telling words (0 = most telling), -1 when it is not one.
int rank_of(const std::string& head, const std::vector<std::string>& known) {
  const auto it = std::find(known.begin(), known.end(), head);
  return it == known.end() ? -1 : static_cast<int>(it - known.begin());
}

bool any_head(const Record& r, const Words& words) {
  for (const Field& f : r.fields) {
    const std::string head = collapsed(f.text);
    for (const auto& [m, name] : kNames) {
      if (rank_of(head, heads_of(words, m)) >= 0) return true;
    }
  }
  return false;
}

struct ColumnLook {
  int filled = 0;
  int numbers = 0;  ///< cells that are counts
  int colours = 0;
  int letters = 0;       ///< cells with at least one word of three letters
  double length = 0;     ///< mean length of the cells
  double size = 0;       ///< median of the numbers
  int different = 0;     ///< different cells
  bool sequence = true;  ///< 1, 2, 3, ...
};

ColumnLook look_at(const CsvTable& table, std::size_t column, std::size_t first, const PhraseReader& reader) {
  constexpr std::size_t kRows = 2000;  // more rows would not change the picture
  ColumnLook out;
  std::vector<std::string> cells;
  for (std::size_t i = first; i < table.records.size() && i < first + kRows; ++i) {
    const auto& fields = table.records[i].fields;
    if (column < fields.size() && !fields[column].text.empty()) cells.push_back(fields[column].text);
  }
  const NumberStyle style = style_of(cells);
  std::vector<int> values;
  std::set<std::string> different;
  std::map<std::string, bool> is_colour;
  for (const std::string& c : cells) {
    ++out.filled;
    out.length += static_cast<double>(c.size());
    different.insert(c);
    const Count n = parse_count(c, style);
    if (n.state == Count::State::good || n.state == Count::State::negative || n.state == Count::State::fractional ||
        n.state == Count::State::absurd) {
      ++out.numbers;
      values.push_back(n.state == Count::State::good ? n.value : n.state == Count::State::absurd ? kMostPieces : 1);
      out.sequence = out.sequence && n.state == Count::State::good && n.value == out.filled;
    } else {
      out.sequence = false;
    }
    auto it = is_colour.find(c);
    if (it == is_colour.end()) it = is_colour.emplace(c, reader.is_colour(c)).first;
    out.colours += it->second ? 1 : 0;
    int run = 0;
    bool word = false;
    for (const char ch : folded(c)) {
      run = (ch >= 'a' && ch <= 'z') ? run + 1 : 0;
      word = word || run >= 3;
    }
    out.letters += word ? 1 : 0;
  }
  if (out.filled > 0) out.length /= out.filled;
  out.different = static_cast<int>(different.size());
  if (!values.empty()) {
    std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2), values.end());
    out.size = values[values.size() / 2];
  }
  out.sequence = out.sequence && out.filled > 2;
  return out;
}

class Finder {
 public:
  Finder(const CsvTable& table, const Words& words, const PhraseReader& reader, const std::string& file, Diagnostics& d)
      : table_(table), words_(words), reader_(reader), file_(file), d_(d) {}

  std::optional<FoundColumns> run(const ColumnChoice& choice) {
    const Record& first = table_.records.front();
    bool told_by_text = false;
    for (const std::string& c : choice.of) {
      told_by_text = told_by_text || (!c.empty() && c.find_first_not_of("0123456789") != std::string::npos);
    }
    out_.has_head = told_by_text || any_head(first, words_);
    if (out_.has_head) {
      out_.widest = static_cast<int>(first.fields.size());
      for (const Field& f : first.fields) heads_.push_back(collapsed(f.text));
    } else {
      std::map<int, int> widths;
      for (const Record& r : table_.records) ++widths[static_cast<int>(r.fields.size())];
      int most = 0;
      for (const auto& [width, times] : widths) {
        if (times >= most) {
          most = times;
          out_.widest = width;
        }
      }
    }
    bool good = true;
    for (const auto& [m, name] : kNames) good = take_told(m, choice.of[static_cast<int>(m)]) && good;
    if (out_.has_head) {
      for (const Meaning m : {Meaning::class_id, Meaning::name, Meaning::quantity, Meaning::colour, Meaning::code}) {
        good = take_head(m) && good;
      }
    }
    if (!good) return std::nullopt;
    good = take_content();
    for (const Meaning m : {Meaning::name, Meaning::quantity}) {
      const bool class_serves = m == Meaning::name && out_.index_of(Meaning::class_id) >= 0;
      if (good && out_.index_of(m) < 0 && !class_serves) {
        good = false;
        report_missing(m);
      }
    }
    if (!good) return std::nullopt;
    return out_;
  }

 private:
  FoundColumn& of(Meaning m) { return out_.of[static_cast<int>(m)]; }
  [[nodiscard]] bool taken(int column) const {
    return std::any_of(std::begin(out_.of), std::end(out_.of), [&](const FoundColumn& f) { return f.index == column; });
  }
  void take(Meaning m, int column, FoundColumn::How how) {
    of(m) = {column, how, {}};
    const auto& fields = table_.records.front().fields;
    if (out_.has_head && column < static_cast<int>(fields.size())) {
      of(m).head = fields[static_cast<std::size_t>(column)].text;
    }
  }
  [[nodiscard]] std::string heads_text() const {
    std::vector<std::string> names;
    for (const Field& f : table_.records.front().fields) names.push_back(document::quoted(f.text));
    if (names.size() > 12) names.resize(12);
    return base::list_text(names);
  }

  bool take_told(Meaning m, const std::string& told) {
    if (told.empty()) return true;
    int column = -1;
    if (told.find_first_not_of("0123456789") == std::string::npos) {
      column = told.size() > 4 ? -1 : std::stoi(told) - 1;
      if (column < 0 || column >= out_.widest) {
        d_.error(
            "stock.no_such_column", {file_, table_.records.front().line, 1}, "",
            fmt::format("column {} was named for the {}, but the rows have {} columns", told, name_of(m), out_.widest),
            "columns count from 1");
        return false;
      }
    } else {
      const auto it = std::find(heads_.begin(), heads_.end(), collapsed(told));
      if (it == heads_.end()) {
        const auto near = base::nearest_name(collapsed(told), heads_);
        d_.error("stock.no_such_column", {file_, table_.records.front().line, 1}, "",
                 fmt::format("no column is headed {}; the heads are {}", document::quoted(told), heads_text()),
                 near ? document::quoted(*near) : "name the column by its number");
        return false;
      }
      column = static_cast<int>(it - heads_.begin());
    }
    if (taken(column)) {
      d_.error("stock.no_such_column", {file_, table_.records.front().line, 1}, "",
               fmt::format("column {} was named for two meanings", column + 1), kHint);
      return false;
    }
    take(m, column, FoundColumn::How::told);
    return true;
  }

  bool take_head(Meaning m) {
    if (of(m).index >= 0) return true;
    int best = -1, best_rank = 0;
    bool twice = false;
    for (int i = 0; i < static_cast<int>(heads_.size()); ++i) {
      if (taken(i)) continue;
      const int rank = rank_of(heads_[static_cast<std::size_t>(i)], heads_of(words_, m));
      if (rank < 0) continue;
      if (best < 0 || rank < best_rank) {
        best = i;
        best_rank = rank;
        twice = false;
      } else if (rank == best_rank) {
        twice = true;
      }
    }
    if (twice && (m == Meaning::name || m == Meaning::quantity)) {
      const Field& f = table_.records.front().fields[static_cast<std::size_t>(best)];
      d_.error("stock.columns_unclear", {file_, f.line, f.column}, "",
               fmt::format("two columns are headed {}", document::quoted(f.text)), kHint);
      return false;
    }
    if (best >= 0) take(m, best, FoundColumn::How::head);
    return true;
  }

  /// Fills in name, quantity and colour from what the cells look like.
  bool take_content() {
    const bool need = of(Meaning::quantity).index < 0 || of(Meaning::name).index < 0 || !out_.has_head;
    if (!need) return true;
    const std::size_t first = out_.has_head ? 1 : 0;
    std::vector<ColumnLook> looks;
    for (int i = 0; i < out_.widest; ++i) {
      looks.push_back(look_at(table_, static_cast<std::size_t>(i), first, reader_));
    }
    const auto share = [](int part, int whole) { return whole > 0 ? static_cast<double>(part) / whole : 0.0; };
    // A column of counts: nearly all numbers, no row numbers; of several the one with the smaller numbers, since codes
    // are long and counts are short.
    if (of(Meaning::quantity).index < 0) {
      int best = -1;
      bool unclear = false;
      for (int i = 0; i < out_.widest; ++i) {
        const ColumnLook& l = looks[static_cast<std::size_t>(i)];
        if (taken(i) || l.filled == 0 || share(l.numbers, l.filled) < 0.7 || l.sequence) continue;
        if (best < 0) {
          best = i;
          continue;
        }
        const ColumnLook& b = looks[static_cast<std::size_t>(best)];
        const double low = std::min(l.size, b.size), high = std::max(l.size, b.size);
        unclear = unclear || high < 10 * std::max(low, 1.0);
        if (l.size < b.size) best = i;
      }
      if (unclear) {
        d_.error("stock.columns_unclear", {file_, table_.records.front().line, 1}, "",
                 "more than one column could be the counts, and no head says which", kHint);
        return false;
      }
      if (best >= 0) take(Meaning::quantity, best, FoundColumn::How::content);
    }
    if (of(Meaning::colour).index < 0 && !out_.has_head) {
      for (int i = 0; i < out_.widest; ++i) {
        const ColumnLook& l = looks[static_cast<std::size_t>(i)];
        if (!taken(i) && share(l.colours, l.filled) >= 0.6) {
          take(Meaning::colour, i, FoundColumn::How::content);
          break;
        }
      }
    }
    if (of(Meaning::name).index < 0) {
      int best = -1;
      for (int i = 0; i < out_.widest; ++i) {
        const ColumnLook& l = looks[static_cast<std::size_t>(i)];
        if (taken(i) || share(l.letters, l.filled) < 0.5) continue;
        if (best < 0 || l.length > looks[static_cast<std::size_t>(best)].length) best = i;
      }
      if (best >= 0) take(Meaning::name, best, FoundColumn::How::content);
    }
    return true;
  }

  void report_missing(Meaning m) {
    std::string message = fmt::format("no column of {} was found", m == Meaning::name ? "descriptions" : "counts");
    if (out_.has_head) message += "; the heads are " + heads_text();
    d_.error("stock.column_missing", {file_, table_.records.front().line, 1}, "", message, kHint);
  }

  const CsvTable& table_;
  const Words& words_;
  const PhraseReader& reader_;
  const std::string& file_;
  Diagnostics& d_;
  FoundColumns out_;
  std::vector<std::string> heads_;
};

}  // namespace

std::string_view name_of(Meaning meaning) {
  return kNames[static_cast<std::size_t>(meaning)].second;
}

std::string_view name_of(FoundColumn::How how) {
  switch (how) {
    case FoundColumn::How::none:
      break;
    case FoundColumn::How::told:
      return "told";
    case FoundColumn::How::head:
      return "head";
    case FoundColumn::How::content:
      return "content";
  }
  return "none";
}

bool ColumnChoice::empty() const {
  return std::all_of(std::begin(of), std::end(of), [](const std::string& s) { return s.empty(); });
}

ColumnChoice parse_column_choice(std::string_view text, Diagnostics& d) {
  ColumnChoice out;
  int at = 1;
  std::vector<std::string> known;
  for (const auto& [m, name] : kNames) known.emplace_back(name);
  while (!text.empty()) {
    const std::size_t comma = text.find(',');
    const std::string_view item = base::trimmed(text.substr(0, comma));
    const document::Location where{"--columns", 1, at};
    const std::size_t equals = item.find('=');
    if (equals == std::string_view::npos) {
      d.error("columns.syntax", where, "", fmt::format("{} is not meaning=column", document::quoted(item)),
              "for example name=2,quantity=1");
    } else {
      std::string key = base::lower_ascii(base::trimmed(item.substr(0, equals)));
      if (key == "color") key = "colour";
      const std::string value(base::trimmed(item.substr(equals + 1)));
      const auto it = std::find(known.begin(), known.end(), key);
      if (it == known.end()) {
        const auto near = base::nearest_name(key, known);
        d.error("columns.unknown_meaning", where, "",
                fmt::format("{} is no meaning of a column", document::quoted(key)),
                near ? *near : "one of " + base::list_text(known, "or"));
      } else if (value.empty()) {
        d.error("columns.syntax", where, "", fmt::format("no column is named for the {}", key),
                "a number from 1, or the head of a column");
      } else {
        std::string& slot = out.of[it - known.begin()];
        if (!slot.empty()) d.error("columns.twice", where, "", fmt::format("the {} is named twice", key));
        slot = value;
      }
    }
    if (comma == std::string_view::npos) break;
    at += static_cast<int>(comma) + 1;
    text.remove_prefix(comma + 1);
  }
  return out;
}

std::optional<FoundColumns> find_columns(const CsvTable& table, const ColumnChoice& choice, const Words& words,
                                         const PhraseReader& reader, const std::string& file,
                                         Diagnostics& diagnostics) {
  KW_CHECK(!table.records.empty(), file);
  return Finder(table, words, reader, file, diagnostics).run(choice);
}

}  // namespace stock
