#include "project/archetype.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "base/text.h"
#include "document/fields.h"
#include "document/toml_reader.h"

namespace project {
namespace {

using document::Diagnostics;
using document::FieldTable;

const FieldTable<Dimension>& dimension_fields() {
  static const FieldTable<Dimension> table =
      FieldTable<Dimension>("archetype.dimension")
          .text("name", &Dimension::name, {.doc = "name, also of the option"})
          .required()
          .text("doc", &Dimension::doc, {.doc = "what it measures"})
          .required()
          .text("unit", &Dimension::unit, {.doc = "unit"})
          .required()
          .number("low", &Dimension::low, {.doc = "least that makes sense"})
          .required()
          .number("high", &Dimension::high, {.doc = "most that makes sense"})
          .required()
          .text("default", &Dimension::default_text, {.doc = "expression over the dimensions before it"})
          .required();
  return table;
}

const FieldTable<DerivedFigure>& figure_fields() {
  static const FieldTable<DerivedFigure> table = FieldTable<DerivedFigure>("archetype.figure")
                                                     .text("name", &DerivedFigure::name, {.doc = "name"})
                                                     .required()
                                                     .text("value", &DerivedFigure::value, {.doc = "expression"})
                                                     .required();
  return table;
}

const FieldTable<Archetype>& archetype_fields() {
  static const FieldTable<Archetype> table =
      FieldTable<Archetype>("archetype")
          .text("title", &Archetype::title, {.doc = "one line for people"})
          .required()
          .text("summary", &Archetype::summary, {.doc = "what it does"})
          .required()
          .texts("systems", &Archetype::systems, {.doc = "kit systems it suits"})
          .required()
          .tables("dimensions", &Archetype::dimensions, dimension_fields(), {.doc = "what the user is asked"})
          .required()
          .tables("figures", &Archetype::figures, figure_fields(), {.doc = "numbers worked out from them"})
          .text("project", &Archetype::project, {.doc = "the project file with ${places}"})
          .required();
  return table;
}

class Parser {
 public:
  Parser(std::string_view text, const std::map<std::string, double>& names, std::string& problem)
      : text_(text), names_(names), problem_(problem) {}

  std::optional<double> run() {
    const double value = sum();
    skip();
    if (problem_.empty() && at_ < text_.size()) fail(fmt::format("\"{}\" was not expected", text_.substr(at_)));
    if (problem_.empty() && !std::isfinite(value)) fail("the result is not a finite number");
    return problem_.empty() ? std::optional(value) : std::nullopt;
  }

 private:
  void fail(std::string why) {
    if (problem_.empty()) problem_ = std::move(why);
    at_ = text_.size();
  }
  void skip() {
    while (at_ < text_.size() && text_[at_] == ' ') ++at_;
  }
  bool take(char c) {
    skip();
    if (at_ >= text_.size() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  double sum() {
    double value = product();
    for (;;) {
      if (take('+')) {
        value += product();
      } else if (take('-')) {
        value -= product();
      } else {
        return value;
      }
    }
  }
  double product() {
    double value = factor();
    for (;;) {
      if (take('*')) {
        value *= factor();
      } else if (take('/')) {
        value /= factor();
      } else {
        return value;
      }
    }
  }
  double factor() {
    // Depth is bounded by the text of an archetype, which its own tests read; a runaway is refused all the same.
    if (++depth_ > 200) {
      fail("nested too deep");
      return 0;
    }
    const double value = take('-') ? -factor() : atom();
    --depth_;
    return value;
  }
  double atom() {
    skip();
    if (take('(')) {
      const double value = sum();
      if (!take(')')) fail("a \")\" is missing");
      return value;
    }
    const std::size_t start = at_;
    const auto word = [](char c) { return (c >= 'a' && c <= 'z') || c == '_' || (c >= '0' && c <= '9') || c == '.'; };
    while (at_ < text_.size() && word(text_[at_])) ++at_;
    const std::string token(text_.substr(start, at_ - start));
    if (token.empty()) {
      fail("a number or a name was expected");
      return 0;
    }
    if (token[0] >= '0' && token[0] <= '9') return number(token);
    if (token == "min" || token == "max") return extreme(token == "max");
    const auto found = names_.find(token);
    if (found != names_.end()) return found->second;
    std::vector<std::string> known;
    for (const auto& [name, value] : names_) known.push_back(name);
    const auto near = base::nearest_name(token, known);
    fail(fmt::format("\"{}\" is not known{}", token, near ? fmt::format(", did you mean \"{}\"?", *near) : ""));
    return 0;
  }
  double number(const std::string& token) {
    double value = 0, place = 1;
    bool point = false;
    for (const char c : token) {
      if (c == '.' && !point) {
        point = true;
      } else if (c >= '0' && c <= '9') {
        value = value * 10 + (c - '0');
        if (point) place *= 10;
      } else {
        fail(fmt::format("\"{}\" is not a number", token));
        return 0;
      }
    }
    return value / place;
  }
  double extreme(bool most) {
    if (!take('(')) fail("min and max take two numbers: min(a, b)");
    const double a = sum();
    if (!take(',')) fail("min and max take two numbers: min(a, b)");
    const double b = sum();
    if (!take(')')) fail("a \")\" is missing");
    return most ? std::max(a, b) : std::min(a, b);
  }

  std::string_view text_;
  const std::map<std::string, double>& names_;
  std::string& problem_;
  std::size_t at_ = 0;
  int depth_ = 0;
};

std::string formed(double value, std::string_view form, double pitch_mm, std::string& problem) {
  const auto nearest = [](double v, double step) { return std::floor(v / step + 0.5 + 1e-9) * step; };
  if (form.empty()) return base::plain(nearest(value, 0.1), 8);
  if (form == "hp") return base::plain(nearest(value, pitch_mm / 2), 8);
  if (form == "p") return base::plain(nearest(value / pitch_mm, 0.5), 8);
  if (form == "g") return base::plain(nearest(value, 10), 8);
  if (form == "n") return base::plain(nearest(value, 1), 8);
  problem = fmt::format("\"{}\" is no form; hp, p, g, n or none", form);
  return "";
}

void fault(const Archetype& a, Diagnostics& d, const std::string& place, const std::string& problem) {
  d.error("archetype.expression", a.where, "", fmt::format("archetype \"{}\", {}: {}.", a.id, place, problem),
          "this is a fault of the archetype, not of your dimensions");
}

}  // namespace

std::optional<double> evaluate(std::string_view expression, const std::map<std::string, double>& names,
                               std::string& problem) {
  problem.clear();
  return Parser(expression, names, problem).run();
}

std::vector<Archetype> read_archetypes(const std::string& folder, Diagnostics& diagnostics) {
  namespace fs = std::filesystem;
  std::vector<std::string> files;
  std::error_code error;
  for (fs::directory_iterator it(folder, error), end; !error && it != end; it.increment(error)) {
    if (it->path().extension() == ".toml") files.push_back(it->path().string());
  }
  if (error || files.empty()) {
    diagnostics.error("archetype.none", {folder, 0, 0}, "", "no archetypes were found in this folder.",
                      "point --catalogue at the folder that came with the program");
  }
  std::sort(files.begin(), files.end());
  std::vector<Archetype> out;
  for (const std::string& file : files) {
    const auto node = document::read_toml(file, diagnostics);
    if (!node) continue;
    Archetype a;
    a.id = fs::path(file).stem().string();
    a.where = {file, 1, 1};
    if (archetype_fields().read(*node, a, diagnostics)) out.push_back(std::move(a));
  }
  return out;
}

std::optional<std::string> grow(const Archetype& a, const Wishes& wishes, Diagnostics& diagnostics) {
  Diagnostics own;
  std::map<std::string, double> names{{"pitch", wishes.pitch_mm}};
  std::vector<std::string> known;
  std::string problem;
  for (const Dimension& d : a.dimensions) {
    known.push_back(d.name);
    const auto given = wishes.dimensions.find(d.name);
    if (given == wishes.dimensions.end()) {
      const auto value = evaluate(d.default_text, names, problem);
      if (!value) fault(a, own, "default of " + d.name, problem);
      // A default worked out from an extreme other dimension is kept within what makes sense.
      names[d.name] = std::clamp(value.value_or(d.low), d.low, d.high);
      continue;
    }
    names[d.name] = given->second;
    if (!(given->second >= d.low && given->second <= d.high)) {
      own.error("new.out_of_range", {"--" + d.name, 0, 0}, "",
                fmt::format("{} {} is outside {} to {} {} for a {}.", base::plain(given->second), d.unit,
                            base::plain(d.low), base::plain(d.high), d.unit, a.title),
                fmt::format("--{} {}", d.name, base::plain(std::clamp(given->second, d.low, d.high))));
    }
  }
  for (const auto& [name, value] : wishes.dimensions) {
    if (std::find(known.begin(), known.end(), name) != known.end()) continue;
    own.error("new.unknown_dimension", {"--" + name, 0, 0}, "",
              fmt::format("a {} has no dimension \"{}\".", a.title, name), "it has " + base::list_text(known));
  }
  for (const DerivedFigure& f : a.figures) {
    const auto value = evaluate(f.value, names, problem);
    if (!value) fault(a, own, "figure " + f.name, problem);
    names[f.name] = value.value_or(0);
  }

  std::string out;
  std::size_t at = 0;
  while (at < a.project.size()) {
    const std::size_t open = a.project.find("${", at);
    out += a.project.substr(at, open == std::string::npos ? open : open - at);
    if (open == std::string::npos) break;
    const std::size_t close = a.project.find('}', open);
    if (close == std::string::npos) {
      fault(a, own, "project text", "a ${ is never closed");
      break;
    }
    const std::string_view inside = std::string_view(a.project).substr(open + 2, close - open - 2);
    const std::size_t colon = inside.find(':');
    const std::string_view expression = base::trimmed(inside.substr(0, colon));
    const std::string_view form = colon == std::string_view::npos ? "" : base::trimmed(inside.substr(colon + 1));
    at = close + 1;
    if (expression == "text") {
      const auto word = wishes.words.find(std::string(form));
      if (word == wishes.words.end()) {
        fault(a, own, "project text", fmt::format("\"{}\" is no word", form));
      } else {
        out += word->second;
      }
      continue;
    }
    const auto value = evaluate(expression, names, problem);
    if (value) out += formed(*value, form, wishes.pitch_mm, problem);
    if (!problem.empty()) fault(a, own, fmt::format("${{{}}}", inside), problem);
  }
  diagnostics.add_all(own);
  if (own.has_errors()) return std::nullopt;
  return out;
}

}  // namespace project
