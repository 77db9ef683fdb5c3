#include "report/ground.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>

#include "base/text.h"
#include "report/json.h"

namespace report {
namespace {

using assessment::Ground;
using assessment::kFrictionNames;
using assessment::kFrictions;
using assessment::ObstacleWay;
using base::plain;
using Align = Table::Align;
using Json = nlohmann::ordered_json;

constexpr double kDeg = std::numbers::pi / 180;

std::string stop_text(balance::Stop stop) {
  return stop == balance::Stop::nothing ? std::string()
         : stop == balance::Stop::pull  ? std::string("motors' pull")
                                        : std::string(balance::name_of(stop));
}

std::string stop_text(balance::GradeStop stop) {
  return stop == balance::GradeStop::adhesion ? "friction"
         : stop == balance::GradeStop::effort ? "motors' pull"
                                              : "tipping over";
}

std::array<double, kFrictions> values_of(const base::Triple& t) {
  return {t.low, t.nominal, t.high};
}

/// "passed", or what stops it.
std::string passed_text(const ObstacleWay& way, std::size_t friction) {
  return way.passed(friction) ? "passed" : way.stop[friction];
}

struct Bar {
  std::string label;
  double value = 0, most = 0;
  std::string text;
};

std::vector<Bar> bars_of(const Ground& g) {
  std::vector<Bar> out;
  const std::array<double, kFrictions> mu = values_of(g.friction);
  const auto add_sizes = [&](const char* what, const assessment::SizeRange& range) {
    for (std::size_t i = 0; i < kFrictions; ++i) {
      const balance::Largest& l = range.at[i];
      out.push_back({fmt::format("{}, friction {}", what, plain(mu[i], 2)), l.size_mm, range.looked_up_to_mm,
                     l.stop == balance::Stop::nothing
                         ? fmt::format("{} mm and more", plain(l.size_mm, 3))
                         : fmt::format("{} mm, then {}", plain(l.size_mm, 3), stop_text(l.stop))});
    }
  };
  add_sizes("step", g.step);
  add_sizes("trench", g.trench);
  for (std::size_t i = 0; i < kFrictions; ++i) {
    out.push_back({fmt::format("slope, friction {}", plain(mu[i], 2)), g.grade[i].slope_rad / kDeg, 60,
                   fmt::format("{} deg, then {}", plain(g.grade[i].slope_rad / kDeg, 3), stop_text(g.grade[i].stop))});
  }
  return out;
}

std::string ramps_text(const Ground& g) {
  if (!g.underside_known) return "clearance, approach, departure and breakover are not known: " + g.note;
  const auto angle = [](double deg, double none) {
    return deg >= none - 1e-6 ? std::string("nothing touches") : plain(deg, 3) + " deg";
  };
  return fmt::format("clearance {} mm; approach {}; departure {}; breakover {}{}", plain(g.clearance_mm, 3),
                     angle(g.approach_deg, 90), angle(g.departure_deg, 90), angle(g.breakover_deg, 180),
                     g.note.empty() ? "" : "; " + g.note);
}

std::string turning_text(const Ground& g) {
  return fmt::format("moment {} N mm, {} N on either side, which asks for friction {} along the wheels or tracks",
                     plain(g.turn_moment_nmm, 3), plain(g.turn_force_n, 3), plain(g.turn_friction_along, 2));
}

}  // namespace

std::string friction_text(double needed) {
  return needed < 0.005 ? std::string("0") : plain(needed, 2);
}

Svg ground_drawing(const Ground& g, double width) {
  Svg svg(width, 0, "Ground");
  svg.text({0, 14}, "Ground: what it passes, over friction", {14, Anchor::start, ink::kText, true});
  constexpr double kName = 128, kText = 184;
  double y = 38;
  std::size_t row = 0;
  for (const Bar& b : bars_of(g)) {
    const Scale x{0, std::max(b.most, b.value), kName, width - kText};
    svg.fitted_text({0, y + 4}, b.label, kName - 6, {11, Anchor::start, ink::kFaint, false});
    svg.rect({x.from, y - 5}, x.to - x.from, 10, {"none", 0, ink::kGround, "", 1});
    if (b.value > 0) svg.rect({x.from, y - 5}, x(b.value) - x.from, 10, {"none", 0, ink::kGood, "", 1});
    svg.fitted_text({x.to + 8, y + 4}, b.text, kText - 8, {11, Anchor::start, ink::kText, false});
    y += ++row % kFrictions == 0 ? 24 : 16;
  }
  std::vector<std::string> notes{ramps_text(g)};
  if (g.turn_moment_nmm > 0) notes.push_back("turning on the spot: " + turning_text(g));
  for (const std::string& note : notes)
    y += 13 * static_cast<double>(svg.paragraph({0, y}, note, width, 13, {10, Anchor::start, ink::kFaint, false}));
  svg.set_height(y);
  return svg;
}

std::string ground_text(const Ground& g, const TextOptions& o) {
  std::string out = heading("Ground", o);
  if (!g.judged) return out + paragraph("  ", "not judged: " + g.why_not, o);
  const std::array<double, kFrictions> mu = values_of(g.friction);
  Table t;
  t.column("friction");
  t.column("step mm", Align::right);
  t.column("then");
  t.column("trench mm", Align::right);
  t.column("then");
  t.column("slope deg", Align::right);
  t.column("then", Align::left, true);
  for (std::size_t i = 0; i < kFrictions; ++i) {
    const auto size = [](const balance::Largest& l) {
      return (l.stop == balance::Stop::nothing ? ">= " : "") + plain(l.size_mm, 3);
    };
    t.row({fmt::format("{} {}", kFrictionNames[i], plain(mu[i], 2)), size(g.step.at[i]), stop_text(g.step.at[i].stop),
           size(g.trench.at[i]), stop_text(g.trench.at[i].stop), plain(g.grade[i].slope_rad / kDeg, 3),
           stop_text(g.grade[i].stop)});
  }
  out += t.str(o);
  out += paragraph("  ramps: ", ramps_text(g), o);
  if (g.turn_moment_nmm > 0) out += paragraph("  turning on the spot: ", turning_text(g), o);
  if (g.obstacles.empty()) return out;
  Table w;
  w.column("obstacle");
  w.column("type");
  w.column("low");
  w.column("nominal");
  w.column("high friction");
  w.column("confidence", Align::right);
  w.column("", Align::left, true);
  for (const ObstacleWay& way : g.obstacles) {
    std::string more;
    if (way.slope) {
      more = fmt::format("climbs {} to {} deg of {}, tips at {}", plain(way.grade[0].slope_rad / kDeg, 3),
                         plain(way.grade[2].slope_rad / kDeg, 3), plain(way.wanted_deg, 3), plain(way.tips_at_deg, 3));
    } else {
      more = std::isfinite(way.walk.needed_friction) ? "needs friction " + friction_text(way.walk.needed_friction)
                                                     : std::string("no friction holds it");
      if (std::isfinite(way.walk.least_clearance_mm))
        more += fmt::format(", least room under it {} mm", plain(way.walk.least_clearance_mm, 3));
      if (g.pull_n > 0 && std::isfinite(way.walk.needed_pull_n))
        more +=
            fmt::format(", pull{} {} N of {} N", g.vehicle.pulls() > 1 ? " of the hardest worked axle" : "",
                        plain(way.walk.needed_pull_n / g.vehicle.pulls(), 2), plain(g.pull_n / g.vehicle.pulls(), 2));
      if (!way.walk.keeps_balance) more += ", loses its balance";
    }
    w.row({way.id, way.type, passed_text(way, 0), passed_text(way, 1), passed_text(way, 2),
           plain(100 * way.confidence, 3) + " %", more},
          !way.passed(1)   ? Tint::bad
          : !way.passed(0) ? Tint::warm
                           : Tint::none);
  }
  return out + w.str(o);
}

Json json_of(const Ground& g) {
  const auto number = [](double x) { return std::isfinite(x) ? Json(rounded(x)) : Json(nullptr); };
  const auto triple = [&](const base::Triple& t) {
    return Json{{"low", number(t.low)}, {"nominal", number(t.nominal)}, {"high", number(t.high)}};
  };
  Json out{{"judged", g.judged}, {"why_not", g.why_not}, {"note", g.note}};
  if (!g.judged) return out;
  const std::array<double, kFrictions> mu = values_of(g.friction);
  const auto sizes = [&](const assessment::SizeRange& range) {
    Json at = Json::array();
    for (std::size_t i = 0; i < kFrictions; ++i) {
      at.push_back({{"friction", number(mu[i])},
                    {"passed_mm", number(range.at[i].size_mm)},
                    {"fails_mm", number(range.at[i].next_mm)},
                    {"stop", stop_text(range.at[i].stop)}});
    }
    return Json{{"looked_up_to_mm", number(range.looked_up_to_mm)}, {"at", std::move(at)}};
  };
  const auto grades = [&](const std::array<balance::Grade, kFrictions>& grade, const base::Triple& friction) {
    const std::array<double, kFrictions> with = values_of(friction);
    Json at = Json::array();
    for (std::size_t i = 0; i < kFrictions; ++i) {
      at.push_back({{"friction", number(with[i])},
                    {"slope_deg", number(grade[i].slope_rad / kDeg)},
                    {"stop", balance::name_of(grade[i].stop)},
                    {"driven_share", number(grade[i].driven_share)}});
    }
    return at;
  };
  Json loads = Json::array();
  for (std::size_t i = 0; i < g.state.supports.size(); ++i) {
    const balance::Support& s = g.state.supports[i];
    loads.push_back({{"support", s.name},
                     {"x_mm", number((s.from.x_mm + s.to.x_mm) / 2)},
                     {"y_mm", number((s.from.y_mm + s.to.y_mm) / 2)},
                     {"load_n", number(g.standing.supports[i].load_n)},
                     {"mean_kpa", number(g.standing.supports[i].mean_kpa)},
                     {"peak_kpa", number(g.standing.supports[i].peak_kpa)}});
  }
  Json obstacles = Json::array();
  for (const ObstacleWay& way : g.obstacles) {
    Json stops = Json::array();
    const std::array<double, kFrictions> with = values_of(way.friction);
    for (std::size_t i = 0; i < kFrictions; ++i)
      stops.push_back({{"friction", number(with[i])}, {"passed", way.passed(i)}, {"stop", way.stop[i]}});
    Json one{{"id", way.id},
             {"type", way.type},
             {"friction", triple(way.friction)},
             {"at", std::move(stops)},
             {"confidence", number(way.confidence)}};
    if (way.slope) {
      one["slope"] = {{"wanted_deg", number(way.wanted_deg)},
                      {"heading_deg", number(way.heading_deg)},
                      {"tips_at_deg", number(way.tips_at_deg)},
                      {"climbs", grades(way.grade, way.friction)}};
    } else {
      one["way"] = {{"needed_friction", number(way.walk.needed_friction)},
                    {"needed_at_mm", number(way.walk.friction_at_mm)},
                    {"needed_pull_n", g.pull_n > 0 ? number(way.walk.needed_pull_n) : Json(nullptr)},
                    {"keeps_balance", way.walk.keeps_balance},
                    {"least_clearance_mm", number(way.walk.least_clearance_mm)},
                    {"clearance_at_mm", number(way.walk.clearance_at_mm)},
                    {"most_pitch_deg", number(way.walk.most_pitch_rad / kDeg)},
                    {"least_pitch_deg", number(way.walk.least_pitch_rad / kDeg)},
                    {"largest_drop_deg", number(way.walk.largest_drop_rad / kDeg)}};
    }
    obstacles.push_back(std::move(one));
  }
  out["function"] = g.function;
  out["friction"] = triple(g.friction);
  out["loads"] = std::move(loads);
  out["underside_known"] = g.underside_known;
  const auto known = [&](double x) { return g.underside_known ? number(x) : Json(nullptr); };
  out["clearance_mm"] = known(g.clearance_mm);
  out["approach_deg"] = known(g.approach_deg);
  out["departure_deg"] = known(g.departure_deg);
  out["breakover_deg"] = known(g.breakover_deg);
  out["climbs"] = grades(g.grade, g.friction);
  out["turn"] = {{"moment_nmm", number(g.turn_moment_nmm)},
                 {"force_n", number(g.turn_force_n)},
                 {"friction_along", number(g.turn_friction_along)}};
  out["pull_n"] = number(g.pull_n);
  out["step"] = sizes(g.step);
  out["trench"] = sizes(g.trench);
  out["obstacles"] = std::move(obstacles);
  return out;
}

}  // namespace report
