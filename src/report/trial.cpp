#include "report/trial.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "base/text.h"
#include "report/ground.h"
#include "report/json_values.h"

namespace report {
namespace {

using base::plain;
using Json = nlohmann::ordered_json;

constexpr double kDeg = 180 / std::numbers::pi;

std::string size_text(double value, bool open, const std::string& unit) {
  return fmt::format("{}{} {}", open ? "at least " : "", plain(value, 3), unit);
}
std::string stop_text(const std::string& stop) {
  return stop.empty() ? std::string("nothing") : stop;
}

/// What a run came to: "passed", "stopped by friction after 120 mm".
std::string verdict(const trial::DriveRun& run) {
  if (!run.why_not.empty()) return "not tried: " + run.why_not;
  if (run.passed()) return "passed";
  if (run.end == trial::End::passed) return "got over, but the underside touches";
  const std::string stop = run.stop == balance::Stop::nothing ? "" : fmt::format(" ({})", balance::name_of(run.stop));
  return fmt::format("{}{}, its centre at {} mm", trial::name_of(run.end), stop, plain(run.stopped_at_mm, 3));
}

std::string closed_verdict(bool passed, const std::string& stop) {
  return passed ? "passes" : fmt::format("stopped by {}", stop_text(stop));
}

std::string cautions(const std::vector<std::string>& cannot_say, const TextOptions& options) {
  std::string out = heading("What a trial cannot say", options);
  for (const std::string& s : cannot_say) out += paragraph("  - ", s, options);
  return out +
         paragraph("  ", "For models only: never plan the lifting or driving of a real machine with it.", options);
}

}  // namespace

std::string trial_text(const trial::Report& report, const TextOptions& options) {
  if (!report.why_not.empty()) return paragraph("", "No trial: " + report.why_not + ".", options);
  std::string out = heading("Trials beside the closed forms", options);
  Table table;
  table.column("what", Table::Align::left, true);
  table.column("closed form", Table::Align::right);
  table.column("stopped by");
  table.column("trial", Table::Align::right);
  table.column("stopped by");
  table.column("apart", Table::Align::right);
  std::string notes;
  for (const trial::Beside& b : report.figures) {
    if (!b.why_not.empty()) {
      table.row({b.what, "", "", "not tried", "", ""}, Tint::faint);
      notes += paragraph("  ", fmt::format("{}: {}.", b.what, b.why_not), options);
      continue;
    }
    const bool lifting = b.unit == "g" || b.unit == "s";  // what stops it is known
    table.row({b.what, size_text(b.closed, b.closed_open, b.unit), lifting ? "" : stop_text(b.closed_stop),
               size_text(b.trial, b.trial_open, b.unit), lifting ? "" : stop_text(b.trial_stop),
               fmt::format("{} %", plain(100 * b.gap(), 2))},
              b.told() || !b.doubts.empty() ? Tint::warm : Tint::none);
    for (const std::string& doubt : b.doubts) notes += paragraph("  ", fmt::format("{}: {}.", b.what, doubt), options);
    if (b.told()) notes += paragraph("  ", fmt::format("{}: {}.", b.what, b.cause), options);
  }
  out += table.str(options);
  out += paragraph("  ", "Sizes are sought in steps, of 2 mm and 1 deg: apart is what lies beyond one step.", options);
  if (!notes.empty()) out += heading("Where they differ", options) + notes;
  if (!report.obstacles.empty()) {
    out += heading("The project's obstacles", options);
    Table ways;
    ways.column("obstacle");
    ways.column("friction", Table::Align::right);
    ways.column("closed form");
    ways.column("trial", Table::Align::left, true);
    for (const trial::ObstacleTrial& o : report.obstacles) {
      if (!o.why_not.empty()) {
        ways.row({o.id, "", "", "not tried: " + o.why_not}, Tint::faint);
        continue;
      }
      for (const trial::ObstacleTrial::At& at : o.at)
        ways.row({o.id, plain(at.friction, 3), closed_verdict(at.closed_passed, at.closed_stop), verdict(at.run)},
                 at.closed_passed != at.run.passed() ? Tint::warm : Tint::none);
    }
    out += ways.str(options);
  }
  return out + cautions(report.cannot_say, options);
}

std::string trial_text(const trial::CourseTrial& c, const TextOptions& options) {
  std::string out = heading(fmt::format("A {} at friction {}", c.course.text(), plain(c.friction, 3)), options);
  out += paragraph("  trial        ", verdict(c.run) + ".", options);
  out += paragraph("  closed form  ",
                   closed_verdict(c.closed_stop == balance::Stop::nothing,
                                  c.closed_stop == balance::Stop::nothing ? "" : balance::name_of(c.closed_stop)) +
                       ".",
                   options);
  if (!c.run.why_not.empty()) return out;
  if (!c.cause.empty()) out += paragraph("  they differ  ", c.cause + ".", options);
  if (c.course.type == trial::CourseType::side_slope) {
    out += paragraph(
        "  statics      ",
        fmt::format("slides at {} deg, tips at {} deg.", plain(c.slides_rad * kDeg, 3), plain(c.tips_rad * kDeg, 3)),
        options);
    out += paragraph("  leans by     ",
                     fmt::format("{} deg at most, drifts {} mm downhill.", plain(c.run.most_roll_rad * kDeg, 2),
                                 plain(std::fabs(c.run.drift_mm), 2)),
                     options);
    return out + paragraph("  ", fmt::format("{} s in {} steps.", plain(c.run.time_s, 3), c.run.steps), options);
  }
  Table table;
  table.column("");
  table.column("trial", Table::Align::right);
  table.column("closed form", Table::Align::right);
  const auto degrees = [](double rad) { return plain(rad * kDeg, 2) + " deg"; };
  table.row({"nose highest", degrees(c.run.most_pitch_rad), degrees(c.closed.most_pitch_rad)});
  table.row({"nose lowest", degrees(c.run.least_pitch_rad), degrees(c.closed.least_pitch_rad)});
  table.row({"most pull", plain(c.run.most_pull_n, 3) + " N", plain(c.closed.needed_pull_n, 3) + " N"});
  out += "\n" + table.str(options);
  out += paragraph("  ",
                   fmt::format("{} s in {} steps. The trial's pull has jolts in it that the slow closed form has not.",
                               plain(c.run.time_s, 3), c.run.steps),
                   options);
  return out;
}

Json json_of(const trial::Beside& b) {
  Json j{{"id", b.id}, {"what", b.what}, {"unit", b.unit}};
  if (!b.why_not.empty()) {
    j["why_not"] = b.why_not;
    return j;
  }
  if (b.friction > 0) j["friction"] = number(b.friction);
  j["closed"] = number(b.closed);
  if (b.bound) j["bound"] = true;
  j["closed_open"] = b.closed_open;
  j["closed_stop"] = b.closed_stop;
  j["trial"] = number(b.trial);
  j["trial_open"] = b.trial_open;
  j["trial_stop"] = b.trial_stop;
  j["grid"] = number(b.grid);
  j["gap"] = number(b.gap());
  j["doubts"] = b.doubts;
  if (b.told()) j["cause"] = b.cause;
  return j;
}

Json json_of(const trial::Report& report) {
  Json figures = Json::array();
  for (const trial::Beside& b : report.figures) figures.push_back(json_of(b));
  Json obstacles = Json::array();
  for (const trial::ObstacleTrial& o : report.obstacles) {
    Json j{{"id", o.id}, {"type", o.text}};
    if (!o.why_not.empty()) j["why_not"] = o.why_not;
    Json at = Json::array();
    if (o.why_not.empty())
      for (const trial::ObstacleTrial::At& a : o.at)
        at.push_back({{"friction", number(a.friction)},
                      {"closed_passed", a.closed_passed},
                      {"closed_stop", a.closed_stop},
                      {"passed", a.run.passed()},
                      {"stop", a.run.stop == balance::Stop::nothing ? "" : balance::name_of(a.run.stop)},
                      {"stopped_at_mm", number(a.run.stopped_at_mm)}});
    j["at"] = std::move(at);
    obstacles.push_back(std::move(j));
  }
  Json out{{"engine", trial::engine_text()}};
  if (!report.why_not.empty()) out["why_not"] = report.why_not;
  out["figures"] = std::move(figures);
  out["obstacles"] = std::move(obstacles);
  out["cannot_say"] = report.cannot_say;
  return out;
}

Json json_of(const balance::GroundLine& line) {
  Json out = Json::array();
  for (const balance::SidePoint& p : line) out.push_back({number(p.x_mm), number(p.z_mm)});
  return out;
}

Json json_of(const trial::DriveRig& rig) {
  Json wheels = Json::array(), rockers = Json::array();
  for (const balance::SideWheel& w : rig.vehicle.wheels)
    wheels.push_back({{"x_mm", number(w.axle.x_mm)},
                      {"z_mm", number(w.axle.z_mm)},
                      {"radius_mm", number(w.radius_mm)},
                      {"driven", w.driven},
                      {"rocker", w.rocker}});
  for (const balance::SideRocker& r : rig.vehicle.rockers)
    rockers.push_back({{"x_mm", number(r.pivot.x_mm)}, {"z_mm", number(r.pivot.z_mm)}});
  return {{"belt", rig.vehicle.belt},
          {"gauge_mm", number(rig.gauge_mm)},
          {"speed_mm_s", number(rig.speed_mm_s)},
          {"pull_n", number(rig.pull_n)},
          {"wheels", std::move(wheels)},
          {"rockers", std::move(rockers)},
          {"underside_mm", json_of(rig.vehicle.underside)}};
}

Json json_of(const trial::DriveSample& s) {
  Json rockers = Json::array();
  for (const double r : s.rocker_rad) rockers.push_back(number(r * kDeg));
  return {{"time_s", number(s.time_s)},
          {"x_mm", number(s.x_mm)},
          {"y_mm", number(s.y_mm)},
          {"z_mm", number(s.z_mm)},
          {"yaw_deg", number(s.yaw_rad * kDeg)},
          {"pitch_deg", number(s.pitch_rad * kDeg)},
          {"roll_deg", number(s.roll_rad * kDeg)},
          {"rocker_deg", std::move(rockers)},
          {"speed_mm_s", number(s.speed_mm_s)},
          {"pull_n", number(s.pull_n)},
          {"contacts", s.contacts},
          {"underside", s.underside}};
}

Json json_of(const trial::MachineSample& s) {
  Json out = json_of(s.drive), joints = Json::array();
  for (const double j : s.joint) joints.push_back(number(j * kDeg));
  out["joint_deg"] = std::move(joints);
  out["steer_deg"] = number(s.steer_rad * kDeg);
  const auto point = [](const balance::Vec3& p) { return Json{number(p.x_mm), number(p.y_mm), number(p.z_mm)}; };
  out["hook_mm"] = s.hangs ? point(s.hook) : Json(nullptr);
  out["load_mm"] = s.hangs ? point(s.load) : Json(nullptr);
  return out;
}

Json json_of(const trial::CourseTrial& c) {
  Json out{{"engine", trial::engine_text()},
           {"course", c.course.text()},
           {"friction", number(c.friction)},
           {"ground_mm", json_of(c.line)},
           {"closed",
            {{"passed", c.closed_stop == balance::Stop::nothing},
             {"stop", c.closed_stop == balance::Stop::nothing ? "" : balance::name_of(c.closed_stop)},
             {"most_pitch_deg", number(c.closed.most_pitch_rad * kDeg)},
             {"least_pitch_deg", number(c.closed.least_pitch_rad * kDeg)}}}};
  if (!c.run.why_not.empty()) {
    out["why_not"] = c.run.why_not;
    return out;
  }
  if (!c.cause.empty()) out["cause"] = c.cause;
  if (c.course.type == trial::CourseType::side_slope) {
    out["across"] = {{"tips_at_deg", number(c.tips_rad * kDeg)},
                     {"slides_at_deg", number(c.slides_rad * kDeg)},
                     {"most_roll_deg", number(c.run.most_roll_rad * kDeg)},
                     {"drift_mm", number(c.run.drift_mm)}};
  }
  out["passed"] = c.run.passed();
  out["end"] = trial::name_of(c.run.end);
  out["stop"] = c.run.stop == balance::Stop::nothing ? "" : balance::name_of(c.run.stop);
  out["stopped_at_mm"] = number(c.run.stopped_at_mm);
  out["most_pitch_deg"] = number(c.run.most_pitch_rad * kDeg);
  out["least_pitch_deg"] = number(c.run.least_pitch_rad * kDeg);
  out["most_pull_n"] = number(c.run.most_pull_n);
  out["time_s"] = number(c.run.time_s);
  out["steps"] = c.run.steps;
  Json samples = Json::array();
  for (const trial::DriveSample& s : c.run.samples) samples.push_back(json_of(s));
  out["samples"] = std::move(samples);
  return out;
}

std::string trial_csv(const trial::CourseTrial& c) {
  std::string out = "time_s,x_mm,y_mm,z_mm,yaw_deg,pitch_deg,roll_deg,speed_mm_s,pull_n,contacts,underside";
  for (std::size_t k = 0; k < c.rig.vehicle.rockers.size(); ++k) out += fmt::format(",rocker_{}_deg", k + 1);
  out += "\n";
  for (const trial::DriveSample& s : c.run.samples) {
    out += fmt::format("{:.4f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.3f},{:.2f},{:.4f},{},{}", s.time_s, s.x_mm, s.y_mm,
                       s.z_mm, s.yaw_rad * kDeg, s.pitch_rad * kDeg, s.roll_rad * kDeg, s.speed_mm_s, s.pull_n,
                       s.contacts, s.underside ? 1 : 0);
    for (std::size_t k = 0; k < c.rig.vehicle.rockers.size(); ++k)
      out += fmt::format(",{:.3f}", k < s.rocker_rad.size() ? s.rocker_rad[k] * kDeg : 0.0);
    out += "\n";
  }
  return out;
}

Svg trial_drawing(const trial::CourseTrial& c, double width) {
  return crossing_drawing(
      c.rig.vehicle, c.line, trial::walk_of(c.rig, c.line, c.run), {c.friction, c.friction, c.friction},
      fmt::format("Trial: {} at friction {}: {}", c.course.text(), plain(c.friction, 3), verdict(c.run)), width);
}

}  // namespace report
