#include <algorithm>
#include <map>
#include <tuple>

#include "base/check.h"
#include "gearing/train_search.h"

namespace gearing {
namespace {

__extension__ typedef __int128 Wide;
using base::Rational;

/// Every product of `stages` tooth counts, with the multisets that give it.
using Products = std::map<std::int64_t, std::vector<std::vector<int>>>;

void extend(int stages, int from, int to, std::int64_t product, std::vector<int>& teeth, Products& out) {
  if (static_cast<int>(teeth.size()) == stages) {
    out[product].push_back(teeth);
    return;
  }
  for (int z = from; z <= to; ++z) {
    teeth.push_back(z);
    extend(stages, z, to, product * z, teeth, out);
    teeth.pop_back();
  }
}

/// |target - a / b| as a fraction; not reduced.
struct Error {
  Wide num = 0, den = 1;
};

Error error_of(const Rational& target, std::int64_t a, std::int64_t b) {
  const Wide cross = static_cast<Wide>(target.num()) * b - static_cast<Wide>(a) * target.den();
  return {cross < 0 ? -cross : cross, static_cast<Wide>(target.den()) * b};
}

/// Exact without products of two denominators: compares whole parts, then the remainders' inverses (continued
/// fractions).
int compare(Error a, Error b) {
  for (int sign = 1;; sign = -sign) {
    const Wide qa = a.num / a.den;
    const Wide qb = b.num / b.den;
    if (qa != qb) return (qa < qb ? -1 : 1) * sign;
    const Wide ra = a.num % a.den;
    const Wide rb = b.num % b.den;
    if (ra == 0 || rb == 0) return (ra == rb ? 0 : ra == 0 ? -1 : 1) * sign;
    a = {a.den, ra};
    b = {b.den, rb};
  }
}

}  // namespace

FreeTrainResult closest_free_trains(Rational target, int stages, int teeth_low, int teeth_high) {
  KW_CHECK(stages >= 1 && stages <= kMostSearchStages, "stages of a free train");
  KW_CHECK(teeth_low >= 1 && teeth_low <= teeth_high && teeth_high <= 10000, "tooth range of a free train");
  KW_CHECK(Rational(0) < target, "target ratio");
  Products products;
  std::vector<int> teeth;
  extend(stages, teeth_low, teeth_high, 1, teeth, products);
  std::vector<std::int64_t> sorted;
  sorted.reserve(products.size());
  for (const auto& entry : products) sorted.push_back(entry.first);

  FreeTrainResult result;
  std::vector<std::pair<std::int64_t, std::int64_t>> ties;  // drivers, driven
  Error least;
  const auto consider = [&](std::int64_t a, std::int64_t b) {
    ++result.examined;
    const Error e = error_of(target, a, b);
    const int order = ties.empty() ? -1 : compare(e, least);
    if (order < 0) {
      ties.clear();
      least = e;
    }
    if (order <= 0) ties.emplace_back(a, b);
  };
  // For a driven product b the two driver products around target * b are the nearest; both ends move up with b.
  std::size_t at = 0;
  for (const std::int64_t b : sorted) {
    while (at < sorted.size() && static_cast<Wide>(sorted[at]) * target.den() < static_cast<Wide>(target.num()) * b) {
      ++at;
    }
    if (at < sorted.size()) consider(sorted[at], b);
    if (at > 0) consider(sorted[at - 1], b);
  }
  for (const auto& [a, b] : ties) {
    for (const std::vector<int>& drivers : products.at(a)) {
      for (const std::vector<int>& driven : products.at(b)) result.best.push_back({drivers, driven, Rational(a, b)});
    }
  }
  std::sort(result.best.begin(), result.best.end(), [](const FreeTrain& x, const FreeTrain& y) {
    return std::tie(x.drivers, x.driven) < std::tie(y.drivers, y.driven);
  });
  const Rational error = result.best.front().ratio - target;
  result.error = error.abs();
  return result;
}

}  // namespace gearing
