#include "stock/count.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "base/text.h"
#include "stock/folding.h"

namespace stock {
namespace {

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/// Words that may stand beside a count.
constexpr std::array<std::string_view, 11> kUnits{"x",  "pcs",    "pc",  "pieces", "piece", "stk",
                                                  "st", "stueck", "pce", "pces",   "off"};

/// The number without sign, spaces and unit words; `negative` tells of a minus. Empty optional: not a number.
struct Plain {
  std::string digits;  ///< digits and separators only
  bool negative = false;
};

std::optional<Plain> plain_of(std::string_view cell) {
  std::string text = folded(cell);
  std::string_view view = base::trimmed(text);
  const auto drop_unit = [&](bool front) {
    for (const std::string_view u : kUnits) {
      if (front ? view.starts_with(u) : view.ends_with(u)) {
        const std::string_view rest =
            base::trimmed(front ? view.substr(u.size()) : view.substr(0, view.size() - u.size()));
        if (!rest.empty() && (is_digit(rest.front()) || rest.front() == '-' || rest.front() == '+')) {
          view = rest;
          return;
        }
      }
    }
  };
  if (view.ends_with('.') && view.size() > 1 && !is_digit(view[view.size() - 2])) view.remove_suffix(1);  // "12 stk."
  drop_unit(true);
  drop_unit(false);
  Plain out;
  if (!view.empty() && (view.front() == '-' || view.front() == '+')) {
    out.negative = view.front() == '-';
    view = base::trimmed(view.substr(1));
  }
  if (view.empty() || !is_digit(view.front()) || !is_digit(view.back())) return std::nullopt;
  for (std::size_t i = 0; i < view.size(); ++i) {
    const char c = view[i];
    if (is_digit(c)) {
      out.digits += c;
    } else if (c == '.' || c == ',') {
      out.digits += c;
    } else if (c == ' ' || c == '\'') {
      // A space or apostrophe only groups thousands: three digits must follow, and no fourth.
      const auto digit_at = [&](std::size_t k) { return k < view.size() && is_digit(view[k]); };
      if (!digit_at(i + 1) || !digit_at(i + 2) || !digit_at(i + 3) || digit_at(i + 4)) return std::nullopt;
    } else {
      return std::nullopt;
    }
  }
  return out;
}

/// Lengths of the digit runs and the separators between them.
struct Shape {
  std::vector<std::size_t> runs;
  std::string separators;
};

Shape shape_of(const std::string& digits) {
  Shape s;
  s.runs.push_back(0);
  for (const char c : digits) {
    if (is_digit(c)) {
      ++s.runs.back();
    } else {
      s.separators += c;
      s.runs.push_back(0);
    }
  }
  return s;
}

bool one_kind(const std::string& separators) {
  return std::all_of(separators.begin(), separators.end(), [&](char c) { return c == separators[0]; });
}

/// "1.200": one separator, one to three digits (not a lone 0) before it and exactly three after.
bool could_be_both(const std::string& digits, const Shape& s) {
  return s.separators.size() == 1 && s.runs[0] >= 1 && s.runs[0] <= 3 && s.runs[1] == 3 && digits[0] != '0';
}

}  // namespace

NumberStyle style_of(const std::vector<std::string>& cells) {
  NumberStyle style;
  char open = 0;  // the separator of cells that could be read both ways
  int numbers = 0, open_zeros = 0;
  for (const std::string& cell : cells) {
    const auto plain = plain_of(cell);
    if (!plain) continue;
    ++numbers;
    const Shape s = shape_of(plain->digits);
    if (s.separators.empty()) continue;
    if (s.separators.size() > 1) {
      if (one_kind(s.separators)) {
        style.thousands = s.separators[0];
      } else {
        style.decimal = s.separators.back();
        style.thousands = s.separators.front();
      }
    } else if (could_be_both(plain->digits, s)) {
      open = s.separators[0];
      if (plain->digits.ends_with("000")) ++open_zeros;
    } else {
      style.decimal = s.separators[0];
    }
  }
  if (open != 0 && style.decimal == 0 && style.thousands == 0 && numbers > 1 && open_zeros == numbers) {
    style.decimal = open;
  }
  return style;
}

Count parse_count(std::string_view cell, const NumberStyle& style) {
  Count out;
  if (base::trimmed(cell).empty()) return out;
  const auto plain = plain_of(cell);
  if (!plain) {
    out.state = Count::State::not_a_number;
    return out;
  }
  const Shape s = shape_of(plain->digits);
  std::size_t whole_runs = s.runs.size();  // how many runs belong to the whole part
  if (!s.separators.empty()) {
    const char last = s.separators.back();
    const bool mixed = !one_kind(s.separators);
    const bool open = could_be_both(plain->digits, s);
    const bool decimal = s.separators.size() == 1 ? (open ? style.decimal == last : true) : mixed;
    if (decimal) --whole_runs;
    out.grouped = open && !decimal;
    // Every group after the first has three digits.
    for (std::size_t i = 1; i < whole_runs; ++i) {
      if (s.runs[i] != 3) {
        out.state = Count::State::not_a_number;
        return out;
      }
    }
  }
  std::string whole, rest;
  std::size_t run = 0;
  for (const char c : plain->digits) {
    if (!is_digit(c)) {
      ++run;
    } else {
      (run < whole_runs ? whole : rest) += c;
    }
  }
  whole.erase(0, std::min(whole.find_first_not_of('0'), whole.size()));
  const bool zero = whole.empty() && rest.find_first_not_of('0') == std::string::npos;
  if (rest.find_first_not_of('0') != std::string::npos) {
    out.state = Count::State::fractional;
  } else if (plain->negative && !zero) {
    out.state = Count::State::negative;
  } else if (whole.size() > 6 || (!whole.empty() && std::stoi(whole) > kMostPieces)) {
    out.state = Count::State::absurd;
  } else {
    out.state = Count::State::good;
    out.value = whole.empty() ? 0 : std::stoi(whole);
  }
  return out;
}

}  // namespace stock
