#include "report/duty.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "report/json_values.h"

namespace report {
namespace {

using base::plain;
using Json = nlohmann::ordered_json;

constexpr std::array<std::string_view, 5> kInks{ink::kGood, ink::kWarm, ink::kThird, ink::kBad, ink::kFaint};

std::string percent(double share) {
  return plain(100 * share, 3) + " %";
}

std::string or_never(double value, const char* unit) {
  return std::isfinite(value) ? plain(value, 3) + " " + unit : std::string("never");
}

}  // namespace

std::string duty_text(const assessment::DutyPower& d, const TextOptions& o) {
  if (!d.judged) return "";
  std::string out = paragraph(
      "  ",
      d.is_default
          ? std::string("working cycle: nobody told one, so every function runs alone by its duty; add [[duty]] "
                        "tables to say what runs together")
          : fmt::format("working cycle of {} s, over and over, with half-empty cells:", plain(d.cycle_s, 4)),
      o);
  Table t;
  t.column("phase");
  t.column("s", Table::Align::right);
  t.column("function", Table::Align::left, true);
  t.column("mA", Table::Align::right);
  t.column("speed", Table::Align::right);
  t.column("of stall", Table::Align::right);
  for (const assessment::DutyPhasePower& p : d.phases) {
    // A cycle made from the functions' duties also has those that were left out.
    const bool left_out = d.is_default && p.id != "pause" && p.id != "rest";
    if (p.runs.empty()) t.row({p.id, plain(p.time_s, 3), left_out ? "nothing: left out" : "nothing", "0", "", ""});
    bool first = true;
    for (const assessment::DutyRun& r : p.runs) {
      const bool bad = r.stall_share > 1 || p.over_limit;
      t.row({first ? p.id : "", first ? plain(p.time_s, 3) : "", r.function, plain(r.current_ma, 3),
             r.speed_share > 0 ? percent(r.speed_share) : "stands", percent(r.stall_share)},
            bad ? Tint::bad : Tint::none);
      first = false;
    }
  }
  out += t.str(o);
  out += paragraph(
      "  ",
      fmt::format("{} on average, {} mA; under it {} V when fresh, {} V at the end; ends by: {}", d.cells,
                  plain(d.mean_current_ma, 3), plain(d.fresh_voltage_v, 3), plain(d.empty_voltage_v, 3), d.ends_by),
      o);
  if (!d.stalls_first.empty())
    out +=
        paragraph("  ",
                  std::isfinite(d.stalls_first_depth)
                      ? fmt::format("stalls first as the cells empty: {}, alone under its load, with {} of the charge "
                                    "used",
                                    d.stalls_first, percent(d.stalls_first_depth))
                      : fmt::format("nothing stalls alone down to the end; {} comes nearest", d.stalls_first),
                  o);
  for (const assessment::Exclusion& e : d.exclusions)
    out += paragraph("  never together under full load: ", fmt::format("{} and {}, {}", e.first, e.second, e.why), o);
  if (!d.warmth.empty()) {
    Table w;
    w.column("function");
    w.column("motor", Table::Align::left, true);
    w.column("warms by", Table::Align::right);
    w.column("without a pause", Table::Align::right);
    w.column("too hot after", Table::Align::right);
    w.column("held fast", Table::Align::right);
    for (const assessment::Warmth& x : d.warmth) {
      w.row({x.function, x.motor, or_never(x.end_rise_k, "K"), or_never(x.steady_rise_k, "K"),
             or_never(x.cut_out_min, "min"), or_never(x.stall_cut_out_s, "s")});
    }
    out += w.str(o);
    out += paragraph("  ", "heat estimated from the motors' mass and size; too hot = winding 80 K over the air", o);
  }
  return out;
}

Json duty_json(const assessment::DutyPower& d) {
  if (!d.judged) return nullptr;
  Json phases = Json::array();
  for (const assessment::DutyPhasePower& p : d.phases) {
    Json runs = Json::array();
    for (const assessment::DutyRun& r : p.runs)
      runs.push_back({{"function", r.function},
                      {"current_ma", number(r.current_ma)},
                      {"speed_share", number(r.speed_share)},
                      {"stall_share", number(r.stall_share)}});
    phases.push_back({{"id", p.id},
                      {"time_s", number(p.time_s)},
                      {"runs", std::move(runs)},
                      {"hub_current_ma", numbers(p.hub_current_ma)},
                      {"hub_voltage_v", numbers(p.hub_voltage_v)},
                      {"over_limit", p.over_limit}});
  }
  Json exclusions = Json::array();
  for (const assessment::Exclusion& e : d.exclusions)
    exclusions.push_back({{"first", e.first},
                          {"second", e.second},
                          {"why", e.why},
                          {"value", number(e.value)},
                          {"limit", number(e.limit)},
                          {"unit", e.unit}});
  Json warmth = Json::array();
  for (const assessment::Warmth& w : d.warmth)
    warmth.push_back({{"function", w.function},
                      {"motor", w.motor},
                      {"end_rise_k", number(w.end_rise_k)},
                      {"steady_rise_k", number(w.steady_rise_k)},
                      {"cut_out_min", number(w.cut_out_min)},
                      {"stall_cut_out_s", number(w.stall_cut_out_s)}});
  return {{"is_default", d.is_default},
          {"cycle_s", number(d.cycle_s)},
          {"phases", std::move(phases)},
          {"mean_current_ma", number(d.mean_current_ma)},
          {"cells", d.cells},
          {"fresh_voltage_v", number(d.fresh_voltage_v)},
          {"empty_voltage_v", number(d.empty_voltage_v)},
          {"ends_by", d.ends_by},
          {"stalls_first", d.stalls_first},
          {"stalls_first_depth", number(d.stalls_first_depth)},
          {"exclusions", std::move(exclusions)},
          {"warmth", std::move(warmth)}};
}

Svg duty_drawing(const assessment::DutyPower& d, double width) {
  Svg svg(width, 0, "Working cycle");
  svg.text({0, 14}, "Working cycle", {15, Anchor::start, ink::kText, true});
  std::vector<std::string> names;
  double most = 1;
  for (const assessment::DutyPhasePower& p : d.phases) {
    double sum = 0;
    for (const assessment::DutyRun& r : p.runs) {
      sum += r.current_ma;
      if (std::find(names.begin(), names.end(), r.function) == names.end()) names.push_back(r.function);
    }
    most = std::max(most, sum);
  }
  const auto ink_of = [&](const std::string& name) {
    const auto at = std::find(names.begin(), names.end(), name) - names.begin();
    return kInks[static_cast<std::size_t>(at) % kInks.size()];
  };
  const double name_px = 150;
  const Scale x{0, most, name_px, width - 90};
  double y = 38;
  for (const assessment::DutyPhasePower& p : d.phases) {
    svg.fitted_text({0, y + 4}, fmt::format("{} ({} s)", p.id, plain(p.time_s, 3)), name_px - 8, {11});
    double sum = 0;
    for (const assessment::DutyRun& r : p.runs) {
      svg.rect({x(sum), y - 6}, x(sum + r.current_ma) - x(sum), 12,
               {"#ffffff", 1, ink_of(r.function), "", r.stall_share > 1 ? 0.45 : 1.0});
      sum += r.current_ma;
    }
    svg.text({width, y + 4}, plain(sum, 3) + " mA", {11, Anchor::end, p.over_limit ? ink::kBad : ink::kText, false});
    y += 20;
  }
  double at = 0;
  y += 4;
  for (const std::string& name : names) {
    const double wide = text_width(name, 11) + 28;
    if (at > 0 && at + wide > width) {
      at = 0;
      y += 17;
    }
    svg.rect({at, y - 8}, 10, 10, {"none", 0, ink_of(name), "", 1});
    svg.text({at + 14, y + 1}, name, {11});
    at += wide;
  }
  y += 19;
  svg.text({0, y}, "mean currents with half-empty cells; pale: stalls at its heaviest point",
           {11, Anchor::start, ink::kFaint});
  svg.set_height(y + 8);
  return svg;
}

}  // namespace report
