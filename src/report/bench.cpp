#include "report/bench.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "report/json_values.h"

namespace report {
namespace {

using base::plain;
using Json = nlohmann::ordered_json;

std::string span(const base::Triple& t) {
  return fmt::format("{} ({} to {})", plain(t.nominal, 3), plain(t.low, 3), plain(t.high, 3));
}

}  // namespace

std::string bench_text(const calibration::Outcome& b, const TextOptions& o) {
  std::string out = heading("Bench tests", o);
  Table t;
  t.column("reading");
  t.column("of");
  t.column("read", Table::Align::right);
  t.column("expected", Table::Align::right);
  t.column("now", Table::Align::right);
  t.column("off by", Table::Align::right);
  for (const calibration::Reading& r : b.readings)
    t.row({r.row.what, r.row.of, plain(r.row.value, 4) + (r.unit.empty() ? "" : " " + r.unit), plain(r.before, 4),
           plain(r.after, 4), plain(r.normalised, 2) + " sd"});
  out += t.str(o);
  if (b.narrowed.empty()) return out + "  no interval became narrower: the readings say what was known\n";
  Table n;
  n.column("learnt", Table::Align::left, true);
  n.column("before");
  n.column("now");
  n.column("narrower by", Table::Align::right);
  for (const calibration::Narrowed& x : b.narrowed)
    n.row({x.name, span(x.before), span(x.after), plain(std::round(100 * x.narrower)) + " %"});
  return out + n.str(o);
}

Json bench_json(const calibration::Outcome& b) {
  Json readings = Json::array();
  for (const calibration::Reading& r : b.readings)
    readings.push_back({{"what", r.row.what},
                        {"of", r.row.of},
                        {"line", r.row.where.line},
                        {"value", number(r.row.value)},
                        {"unit", r.unit},
                        {"spread", number(r.sigma)},
                        {"before", number(r.before)},
                        {"after", number(r.after)},
                        {"normalised", number(r.normalised)}});
  Json narrowed = Json::array();
  for (const calibration::Narrowed& n : b.narrowed)
    narrowed.push_back(
        {{"name", n.name}, {"before", triple(n.before)}, {"after", triple(n.after)}, {"narrower", number(n.narrower)}});
  return {{"readings", std::move(readings)}, {"narrowed", std::move(narrowed)}};
}

Svg residual_drawing(const calibration::Outcome& b, double width) {
  constexpr double kMost = 5;
  Svg svg(width, 0, "Bench tests");
  svg.text({0, 14}, "Bench tests", {15, Anchor::start, ink::kText, true});
  const double name = 170;
  const Scale x{-kMost, kMost, name, width - 70};
  const double top = 28, bottom = top + 20.0 * static_cast<double>(b.readings.size());
  for (int k = -4; k <= 4; k += 2) {
    svg.line({x(k), top}, {x(k), bottom}, {ink::kLine, k == 0 ? 1.5 : 0.7});
    svg.text({x(k), bottom + 13}, std::to_string(k), {10, Anchor::middle, ink::kFaint});
  }
  double y = top + 12;
  for (const calibration::Reading& r : b.readings) {
    const auto at = [&](double predicted) { return x(std::clamp((r.row.value - predicted) / r.sigma, -kMost, kMost)); };
    svg.text({name - 8, y + 4}, fitted(r.row.what + " of " + r.row.of, name - 10, 11),
             {11, Anchor::end, ink::kText, false});
    svg.line({at(r.before), y}, {at(r.after), y}, {ink::kLine, 2});
    svg.circle({at(r.before), y}, 4, {ink::kFaint, 1.4, "#ffffff", "", 1});
    svg.circle({at(r.after), y}, 4.5, {"none", 0, ink::kGood, "", 1});
    svg.text({width, y + 4}, plain(r.row.value, 3) + " " + r.unit, {11, Anchor::end, ink::kText, false});
    y += 20;
  }
  svg.text({0, bottom + 30}, "read minus expected, in spreads of the reading; ring: before, disc: with what was learnt",
           {11, Anchor::start, ink::kFaint});
  svg.set_height(bottom + 38);
  return svg;
}

}  // namespace report
