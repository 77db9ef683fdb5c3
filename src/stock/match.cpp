#include "stock/match.h"

#include <algorithm>
#include <cmath>

namespace stock {
namespace {

constexpr double kStrangeWeight = 0.6;    // about a quarter of a common noun: three strange words make a row doubtful
constexpr double kMissingNumber = 0.7;    // the class has a number the row does not say: doubtful at best
constexpr double kStrayNumber = 0.55;     // the row says a number the class cannot explain: doubtful at best
constexpr double kStrayLength = 0.92;     // a further length in mm on a row whose numbers already agree
constexpr double kOtherOfGroup = 0.2;     // "small" against "large"
constexpr double kGroupNotInClass = 0.6;  // "bevel" against a class that says nothing of the kind
constexpr double kGroupNotInRow = 0.85;   // the class is "large", the row does not say
constexpr double kCorrection = 0.95;      // one letter of a word was wrong
constexpr double kImplied = 0.75;         // the noun was guessed from a unit
constexpr double kTie = 0.04;
constexpr double kTied = 0.79;  // just below kMatched: two classes fit equally well

constexpr double kFarApart = 10;  // of logarithms: no number of the class can be meant

constexpr double kSame = 1e-6;  // numbers are typed, not computed

bool same(double a, double b) {
  return std::fabs(a - b) <= kSame * std::max(1.0, std::fabs(a));
}

bool along(NumberRole r) {
  return r == NumberRole::length || r == NumberRole::size || r == NumberRole::width;
}

/// Whether a number of a row can be meant by a number of a class at all.
bool comparable(NumberRole row, NumberRole pattern) {
  return row == NumberRole::none || pattern == NumberRole::none || row == pattern || (along(row) && along(pattern)) ||
         (row == NumberRole::mm && along(pattern));
}

bool agrees(const Number& row, const Number& pattern, double pitch_mm) {
  if (!comparable(row.role, pattern.role)) return false;
  // Lengths in mm name a part of whole pitches; a twentieth of a pitch covers "1.5 in" and rounded figures.
  if (row.role == NumberRole::mm && along(pattern.role)) {
    return std::fabs(row.value - pattern.value * pitch_mm) <= 0.05 * pitch_mm;
  }
  return same(row.value, pattern.value);
}

}  // namespace

Matcher::Matcher(const Catalogue& catalogue) : catalogue_(catalogue), reader_(catalogue.words) {
  for (const PartClass& c : catalogue.classes) {
    reader_.learn(c.name);
    for (const std::string& a : c.also) reader_.learn(a);
  }
  for (std::size_t i = 0; i < catalogue.classes.size(); ++i) {
    const PartClass& c = catalogue.classes[i];
    const ClassId id{static_cast<int>(i)};
    patterns_.push_back({id, reader_.read(c.name), 0});
    for (const std::string& a : c.also) patterns_.push_back({id, reader_.read(a), 0});
  }
  for (std::size_t i = 0; i < patterns_.size(); ++i) {
    for (const std::string& w : patterns_[i].phrase.words) by_word_[w].push_back(i);
  }
  for (Pattern& p : patterns_) p.weight = weight_of(p.phrase);
}

double Matcher::weight_of(const std::string& word) const {
  const auto it = by_word_.find(word);
  if (it == by_word_.end()) return kStrangeWeight;
  return std::log1p(static_cast<double>(patterns_.size()) / static_cast<double>(it->second.size()));
}

double Matcher::weight_of(const Phrase& phrase) const {
  double sum = 0;
  for (const std::string& w : phrase.words) sum += weight_of(w);
  return sum;
}

double Matcher::number_factor(const Phrase& row, const Pattern& pattern) const {
  const double pitch_mm = catalogue_.system.pitch_mm;
  std::vector<bool> taken(pattern.phrase.numbers.size(), false);
  std::vector<Number> left;
  // Numbers that say what they count are placed first, so that a bare one cannot take their place.
  std::vector<Number> ordered = row.numbers;
  std::stable_sort(ordered.begin(), ordered.end(), [](const Number& a, const Number& b) {
    return (a.role != NumberRole::none) > (b.role != NumberRole::none);
  });
  for (const Number& n : ordered) {
    bool placed = false;
    for (std::size_t i = 0; i < taken.size() && !placed; ++i) {
      if (taken[i] || !agrees(n, pattern.phrase.numbers[i], pitch_mm)) continue;
      taken[i] = true;
      placed = true;
    }
    if (!placed) left.push_back(n);
  }
  double factor = 1;
  for (const Number& n : left) {
    bool contradicts = false;
    bool repeats = false;
    for (std::size_t i = 0; i < taken.size(); ++i) {
      const Number& p = pattern.phrase.numbers[i];
      if (!taken[i] && comparable(n.role, p.role)) contradicts = true;
      // "axle 5, 40 mm" says the same twice; "axle 5, length 6" contradicts itself.
      if (taken[i] && n.role != NumberRole::none && comparable(n.role, p.role)) {
        if (agrees(n, p, pitch_mm)) {
          repeats = true;
        } else if (n.role == p.role) {
          contradicts = true;
        }
      }
    }
    if (contradicts) return 0;
    if (repeats || (n.role == NumberRole::size && same(n.value, 1))) continue;  // "beam 1 x 7" is a beam of 7
    factor *= n.role == NumberRole::mm || n.role == NumberRole::grams ? kStrayLength : kStrayNumber;
  }
  for (const bool t : taken) {
    if (!t) factor *= kMissingNumber;
  }
  return factor;
}

double Matcher::group_factor(const Phrase& row, const Phrase& pattern) const {
  double factor = 1;
  for (const auto& group : catalogue_.words.groups) {
    bool in_row = false, in_pattern = false, common = false;
    for (const std::string& w : group) {
      const bool r = row.words.contains(w);
      const bool p = pattern.words.contains(w);
      in_row |= r;
      in_pattern |= p;
      common |= r && p;
    }
    if (common) continue;
    if (in_row && in_pattern) {
      factor *= kOtherOfGroup;
    } else if (in_row) {
      factor *= kGroupNotInClass;
    } else if (in_pattern) {
      factor *= kGroupNotInRow;
    }
  }
  return factor;
}

double Matcher::likeness(const Phrase& row, double row_weight, const Pattern& pattern, bool& row_is_part) const {
  double common = 0;
  row_is_part = true;  // every word of the row is one of the class
  for (const std::string& w : row.words) {
    if (pattern.phrase.words.contains(w)) {
      common += weight_of(w);
    } else {
      row_is_part = false;
    }
  }
  return 2 * common / (row_weight + pattern.weight);
}

double Matcher::score(const Phrase& row, double row_weight, const Pattern& pattern) const {
  bool row_is_part = false;
  const double words = likeness(row, row_weight, pattern, row_is_part);
  if (words <= 0) return 0;
  const double numbers = number_factor(row, pattern);
  if (numbers <= 0) return 0;
  const double groups = group_factor(row, pattern.phrase);
  double confidence = words * numbers * groups;
  confidence *= std::pow(kCorrection, row.corrections);
  if (row.implied_noun) confidence *= kImplied;
  // A row that says too little ("pin") but nothing wrong is a question to the user, not a stranger.
  if (row_is_part && numbers > kStrayNumber) confidence = std::max(confidence, kDoubtful);
  return confidence;
}

std::vector<Alternative> Matcher::of_other_sizes(const Phrase& row, double row_weight,
                                                 const std::vector<std::size_t>& patterns, std::size_t most) const {
  struct Size {
    double apart = 0;  ///< sum over the row's numbers of how many times the nearest number of the class is off
    ClassId part{};
  };
  std::map<ClassId, double> found;
  for (const std::size_t i : patterns) {
    const Pattern& pattern = patterns_[i];
    bool row_is_part = false;
    const double words = likeness(row, row_weight, pattern, row_is_part) * group_factor(row, pattern.phrase);
    if (words < kDoubtful && !row_is_part) continue;
    double apart = 0;
    for (const Number& n : row.numbers) {
      double nearest = kFarApart;
      for (const Number& p : pattern.phrase.numbers) {
        if (!comparable(n.role, p.role) || n.value <= 0 || p.value <= 0) continue;
        const double offered =
            n.role == NumberRole::mm && along(p.role) ? p.value * catalogue_.system.pitch_mm : p.value;
        nearest = std::min(nearest, std::fabs(std::log(n.value / offered)));
      }
      apart += nearest;
    }
    const auto [at, fresh] = found.emplace(pattern.part, apart);
    if (!fresh) at->second = std::min(at->second, apart);
  }
  std::vector<Size> sizes;
  for (const auto& [part, apart] : found) sizes.push_back({apart, part});
  std::stable_sort(sizes.begin(), sizes.end(), [](const Size& a, const Size& b) { return a.apart < b.apart; });
  std::vector<Alternative> out;
  for (std::size_t i = 0; i < std::min(sizes.size(), most); ++i) out.push_back({sizes[i].part, 0});
  return out;
}

std::vector<Alternative> Matcher::match(const Phrase& phrase, std::size_t most) const {
  std::vector<std::size_t> candidates;
  for (const std::string& w : phrase.words) {
    if (const auto it = by_word_.find(w); it != by_word_.end()) {
      candidates.insert(candidates.end(), it->second.begin(), it->second.end());
    }
  }
  std::sort(candidates.begin(), candidates.end());
  candidates.erase(std::unique(candidates.begin(), candidates.end()), candidates.end());
  const double row_weight = weight_of(phrase);
  std::map<ClassId, double> best;
  for (const std::size_t i : candidates) {
    const double s = score(phrase, row_weight, patterns_[i]);
    double& b = best[patterns_[i].part];
    b = std::max(b, s);
  }
  std::vector<Alternative> out;
  for (const auto& [part, confidence] : best) {
    if (confidence > 0) out.push_back({part, std::min(confidence, 1.0)});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Alternative& a, const Alternative& b) { return a.confidence > b.confidence; });
  if (out.size() > 1 && out[0].confidence - out[1].confidence < kTie) {
    out[0].confidence = std::min(out[0].confidence, kTied);
    out[1].confidence = std::min(out[1].confidence, kTied);
  }
  if (out.empty() || out[0].confidence < kDoubtful) {
    std::vector<Alternative> sizes = of_other_sizes(phrase, row_weight, candidates, most);
    if (!sizes.empty()) return sizes;
  }
  std::size_t keep = 0;
  while (keep < out.size() && keep < most && (keep == 0 || out[keep].confidence >= kDoubtful)) ++keep;
  out.resize(keep);
  return out;
}

}  // namespace stock
