#include "trial/trial.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "balance/mass.h"
#include "base/parallel.h"
#include "base/text.h"
#include "trial/live.h"
#include "trial/machine.h"

namespace trial {
namespace {

using balance::Stop;

constexpr double kDeg = std::numbers::pi / 180;
constexpr double kStepGrid_mm = 2, kSlopeGrid_deg = 1;
constexpr int kSmallerTried = 6;
constexpr double kSlow = 0.3;       // of the speed, when a gap's cause is looked for
constexpr double kCreep_mm_s = 30;  // of a course, likewise
constexpr double kGramPerNewton = 1000 / balance::kGravity;

std::string text_of(Stop stop) {
  return stop == Stop::nothing ? std::string() : balance::name_of(stop);
}

struct Try {
  bool passed = false;
  Stop stop = Stop::nothing;
  std::string why_not;
};
/// Passes a size at a friction with a time step, at a share of its speed.
using Tried = std::function<Try(double size, double friction, double step_ms, double speed)>;

struct Found {
  double size = 0;
  bool open = false;
  Stop stop = Stop::nothing;
  std::string why_not;
};

/// Largest size of the grid that passes where the next does not, by halving: passing need not be monotone, which is
/// looked at afterwards.
Found largest(const Tried& tried, double grid, double most, double friction, double step_ms, double speed = 1) {
  Found out;
  const auto top = static_cast<int>(std::floor(most / grid + 1e-9));
  Try last = tried(top * grid, friction, step_ms, speed);
  if (!last.why_not.empty()) {
    out.why_not = last.why_not;
    return out;
  }
  if (last.passed) return {top * grid, true, Stop::nothing, ""};
  int passed = 0, failed = top;
  out.stop = last.stop;
  while (failed - passed > 1) {
    const int middle = (passed + failed) / 2;
    const Try t = tried(middle * grid, friction, step_ms, speed);
    if (!t.why_not.empty()) {
      out.why_not = t.why_not;
      return out;
    }
    (t.passed ? passed : failed) = middle;
    if (!t.passed) out.stop = t.stop;
  }
  out.size = passed * grid;
  return out;
}

/// The checks before a figure is shown.
void look_twice(Beside& b, const Tried& tried, const Found& found, double step_ms) {
  const double grid = b.grid;
  for (int i = 1; i <= kSmallerTried; ++i) {
    const double size = grid * std::round(found.size * i / (kSmallerTried + 1) / grid);
    if (size <= 0 || size >= found.size) continue;
    if (tried(size, b.friction, step_ms, 1).passed) continue;
    b.doubts.push_back(
        fmt::format("not monotone: {} {} failed, {} passed", base::plain(size, 4), b.unit, base::plain(found.size, 4)));
    break;
  }
  if (found.size > 0 && !tried(found.size, b.friction, step_ms / 2, 1).passed) {
    const Found finer = largest(tried, grid, found.size, b.friction, step_ms / 2);
    if (found.size - finer.size > 2 * grid + 1e-9)
      b.doubts.push_back(fmt::format("half the time step gives {} {}", base::plain(finer.size, 4), b.unit));
  } else if (!found.open && tried(found.size + 2 * grid, b.friction, step_ms / 2, 1).passed) {
    b.doubts.push_back(fmt::format("half the time step passes {} {}", base::plain(found.size + 2 * grid, 4), b.unit));
  }
}

/// Why the two may differ, of the causes known for each kind of trial.
std::string cause_of(const Beside& b, bool belt) {
  if (b.id == "tipping")
    return "the trial's load swings and its supports give as springs; look at the machine's softest joint";
  if (b.closed_open != b.trial_open || b.closed_stop != b.trial_stop)
    return fmt::format(
        "another thing stops it ({} against {}): a figure near the change from one to the other jumps "
        "with little friction",
        b.closed_open ? "nothing" : b.closed_stop, b.trial_open ? "nothing" : b.trial_stop);
  if (belt) return "the closed form lets every contact use its whole friction at once, a moving belt does not always";
  return "momentum and give of the contacts, which the closed form leaves out";
}

Beside beside(std::string id, std::string what, std::string unit, double grid, double friction, const Found& closed,
              double most, const Tried& tried, const Options& options, bool belt) {
  Beside b;
  b.id = std::move(id);
  b.what = std::move(what);
  b.unit = std::move(unit);
  b.grid = grid;
  b.friction = friction;
  b.closed = closed.size;
  b.closed_open = closed.open;
  b.closed_stop = text_of(closed.stop);
  const Found found = largest(tried, grid, most, friction, options.step_ms);
  if (!found.why_not.empty()) {
    b.why_not = found.why_not;
    return b;
  }
  b.trial = found.size;
  b.trial_open = found.open;
  b.trial_stop = text_of(found.stop);
  if (options.doubts) {
    look_twice(b, tried, found, options.step_ms);
  }
  if (!b.told()) return b;
  b.cause = cause_of(b, belt);
  if (b.closed_open || b.trial_open || !(b.trial > b.closed)) return b;
  // A run-up carries it over more than a slow push does: slower, the two must come together, or that is not the cause.
  const Found slow = largest(tried, grid, found.size, friction, options.step_ms, kSlow);
  b.cause = fmt::format(
      "at {} % of the speed the trial passes {} {}: {}", base::plain(100 * kSlow, 2), base::plain(slow.size, 4), b.unit,
      slow.size < found.size - 1e-9 ? "the run-up carries it over the rest" : "not its run-up, then; " + b.cause);
  return b;
}

double slow_mm_s(const Options& options) {
  const double usual_mm_s = DriveRig{}.speed_mm_s;
  return options.speed_mm_s > 0 ? std::min(options.speed_mm_s, usual_mm_s) : usual_mm_s;
}

/// The vehicle from its front, standing across a slope: a bar on the ground from the left support to the right one.
DriveRig front_of(const assessment::Ground& ground) {
  constexpr double kBar_mm = 5;
  DriveRig out;
  double left_mm = 0, right_mm = 0;
  for (const balance::Support& s : ground.state.supports)
    for (const balance::Point2& p : {s.from, s.to}) {
      left_mm = std::max(left_mm, p.y_mm);
      right_mm = std::min(right_mm, p.y_mm);
    }
  out.vehicle.belt = true;
  out.vehicle.wheels = {{{right_mm, kBar_mm}, kBar_mm}, {{left_mm, kBar_mm}, kBar_mm}};
  out.vehicle.weight_n = ground.vehicle.weight_n;
  out.vehicle.centre = {ground.mass.total.at.y_mm, ground.vehicle.centre.z_mm};
  return out;
}

/// Whether it stands for three seconds on ground that rises towards its left.
Try stands_across(const DriveRig& front, double slope_rad, double friction, double step_ms) {
  // The engine's friction creeps by millimetres a second near its limit; a degree beyond it half a metre is slid.
  constexpr double kSettled_s = 0.5, kLooked_s = 3, kSlid_mm = 50;
  constexpr double kLeans_rad = 5 * kDeg;
  DriveOptions how;
  how.friction = friction;
  how.step_ms = step_ms;
  how.slope_rad = slope_rad;
  LiveDrive standing(front, Course{}.ground(100, 100), how);
  if (!standing.why_not().empty()) return {false, Stop::nothing, standing.why_not()};
  standing.advance(kSettled_s, 0);
  const double from_mm = standing.now().x_mm;
  standing.advance(kLooked_s, 0);
  if (standing.tipped() || std::fabs(standing.now().pitch_rad) > kLeans_rad) return {false, Stop::balance, ""};
  if (std::fabs(standing.now().x_mm - from_mm) > kSlid_mm) return {false, Stop::friction, ""};
  return {true, Stop::nothing, ""};
}

std::vector<Beside> drive_figures(const assessment::Ground& ground, const Options& options,
                                  const base::RunControl& control) {
  // Slowly, as the closed form sees it: a run-up would carry it over more.
  const DriveRig rig = rig_of(ground, slow_mm_s(options));
  const Extent extent = extent_of(rig.vehicle);
  const double top_mm = extent.top_mm;
  const auto over = [&](CourseType type) -> Tried {
    return [&, type](double size, double friction, double step_ms, double speed) {
      DriveOptions how;
      how.friction = friction;
      how.step_ms = step_ms;
      how.sample_ms = 0;
      how.stop = control.stop;
      DriveRig slower = rig;
      slower.speed_mm_s *= speed;
      const DriveRun run = drive(slower, Course{type, size}.ground(extent.length_mm(), top_mm), how);
      return Try{run.passed(), run.stop, run.why_not};
    };
  };
  const Tried up = [&](double size_deg, double friction, double step_ms, double speed) {
    DriveOptions how;
    how.friction = friction;
    how.step_ms = step_ms;
    how.sample_ms = 0;
    how.stop = control.stop;
    how.slope_rad = size_deg * kDeg;
    DriveRig slower = rig;
    slower.speed_mm_s *= speed;
    const DriveRun run = drive(slower, Course{}.ground(extent.length_mm() / 2, top_mm), how);
    return Try{run.end == End::passed, run.stop, run.why_not};
  };
  const std::array<double, assessment::kFrictions> frictions{ground.friction.low, ground.friction.nominal,
                                                             ground.friction.high};
  struct Job {
    int kind = 0;
    std::size_t at = 0;
  };
  std::vector<Job> jobs;
  for (int kind = 0; kind < 4; ++kind)
    for (std::size_t i = 0; i < frictions.size(); ++i) jobs.push_back({kind, i});
  std::vector<Beside> out(jobs.size());
  base::parallel_for(jobs.size(), control.jobs, [&](std::size_t n) {
    if (control.stopped()) return;
    const auto [kind, i] = jobs[n];
    const double friction = frictions[i];
    const std::string at = fmt::format(" at friction {}", base::plain(friction, 3));
    const auto family = [&](const char* id, CourseType type, const assessment::SizeRange& range) {
      const balance::Largest& l = range.at[i];
      const Found closed{l.size_mm, l.stop == Stop::nothing, l.stop, ""};
      out[n] = beside(id, fmt::format("largest {}{}", id, at), "mm", kStepGrid_mm, friction, closed,
                      range.looked_up_to_mm, over(type), options, rig.vehicle.belt);
    };
    if (kind == 0) family("step", CourseType::step, ground.step);
    if (kind == 1) family("trench", CourseType::trench, ground.trench);
    if (kind == 2) {
      const balance::Grade& g = ground.grade[i];
      Found closed{g.slope_rad / kDeg, false,
                   g.stop == balance::GradeStop::adhesion ? Stop::friction
                   : g.stop == balance::GradeStop::effort ? Stop::pull
                                                          : Stop::balance,
                   ""};
      out[n] = beside("slope", "steepest slope straight up" + at, "deg", kSlopeGrid_deg, friction, closed, 75, up,
                      options, rig.vehicle.belt);
    }
    if (kind == 3) {
      // It leans about the lower support, here its right; atan(way to it / height) or the angle of friction.
      const DriveRig front = front_of(ground);
      const double tips_deg =
          std::atan2(front.vehicle.centre.x_mm - front.vehicle.wheels.front().axle.x_mm, front.vehicle.centre.z_mm) /
          kDeg;
      const double slides_deg = std::atan(friction) / kDeg;
      const Found closed{std::min(tips_deg, slides_deg), false, tips_deg < slides_deg ? Stop::balance : Stop::friction,
                         ""};
      const Tried across = [&](double size_deg, double mu, double step_ms, double) {
        return stands_across(front, size_deg * kDeg, mu, step_ms);
      };
      out[n] = beside("side_slope", "steepest slope it stands across" + at, "deg", kSlopeGrid_deg, friction, closed, 75,
                      across, options, true);
    }
  });
  std::erase_if(out, [](const Beside& b) { return b.id.empty(); });
  return out;
}

std::vector<ObstacleTrial> obstacle_trials(const assessment::Ground& ground, const Options& options,
                                           const base::RunControl& control) {
  const DriveRig rig = rig_of(ground, options.speed_mm_s);
  std::vector<ObstacleTrial> out;
  for (const assessment::ObstacleWay& way : ground.obstacles) {
    ObstacleTrial o;
    o.id = way.id;
    o.text = way.type;
    const std::array<double, assessment::kFrictions> frictions{way.friction.low, way.friction.nominal,
                                                               way.friction.high};
    for (std::size_t i = 0; i < frictions.size() && !control.stopped(); ++i) {
      ObstacleTrial::At& at = o.at[i];
      at.friction = frictions[i];
      at.closed_passed = way.passed(i);
      at.closed_stop = way.stop[i];
      DriveOptions how;
      how.friction = at.friction;
      how.step_ms = options.step_ms;
      how.stop = control.stop;
      if (way.slope) {
        if (std::fabs(way.heading_deg) > 1e-9) {
          o.why_not = "only slopes straight up are tried";
          break;
        }
        how.slope_rad = way.wanted_deg * kDeg;
        const Extent extent = extent_of(rig.vehicle);
        at.run = drive(rig, Course{}.ground(extent.length_mm() / 2, extent.top_mm), how);
      } else {
        at.run = drive(rig, way.line, how);
      }
      if (!at.run.why_not.empty()) o.why_not = at.run.why_not;
    }
    out.push_back(std::move(o));
  }
  return out;
}

/// Every support state at the wanted radius, in the first posture that reaches it, slewed to the four quarters and to
/// the worst angle of the chart.
std::vector<Beside> tipping_figures(const assessment::Lifting& lifting, const Options& options,
                                    const base::RunControl& control) {
  const balance::LiftingMachine& machine = *lifting.machine;
  struct Job {
    std::size_t state = 0;
    int posture = 0;
    double slew_rad = 0, radius_mm = 0;
  };
  std::vector<Job> jobs;
  balance::Lifter lifter(machine, {});
  for (std::size_t s = 0; s < machine.states.size(); ++s) {
    int posture = 0;
    for (std::size_t p = 0; p < machine.postures.size(); ++p)
      if (s < lifting.at_wanted.size() && machine.postures[p].name == lifting.at_wanted[s].posture)
        posture = static_cast<int>(p);
    const auto [low_mm, high_mm] = lifter.radius_range_mm(posture);
    const double radius_mm = std::clamp(lifting.wanted_radius_mm, low_mm, high_mm);
    std::vector<double> slews{0};
    if (machine.slew_body >= 0) {
      slews.clear();
      const double low_deg = lifting.slew_deg.front(), high_deg = lifting.slew_deg.back();
      for (const double deg : {0.0, 90.0, 180.0, -90.0})
        if (deg >= low_deg - 1e-9 && deg <= high_deg + 1e-9) slews.push_back(deg * kDeg);
      if (slews.empty()) slews.push_back(low_deg * kDeg);
      if (s < lifting.at_wanted.size()) {
        const double worst = lifting.at_wanted[s].slew_deg * kDeg;
        if (std::none_of(slews.begin(), slews.end(), [&](double a) { return std::fabs(a - worst) < 1e-6; }))
          slews.push_back(worst);
      }
    }
    for (const double slew : slews) jobs.push_back({s, posture, slew, radius_mm});
  }
  std::vector<Beside> out(jobs.size());
  base::parallel_for(jobs.size(), control.jobs, [&](std::size_t n) {
    if (control.stopped()) return;
    const Job& job = jobs[n];
    const int state = static_cast<int>(job.state);
    Beside& b = out[n];
    b.id = "tipping";
    b.unit = "g";
    b.what = fmt::format(
        "load that tips it {}{} at a radius of {} mm", machine.states[job.state].name,
        machine.slew_body >= 0 ? fmt::format(", slewed to {} deg,", base::plain(job.slew_rad / kDeg, 3)) : "",
        base::plain(job.radius_mm, 4));
    balance::Lifter own(machine, {});
    const balance::LiftDetail detail = own.detail(state, job.posture, job.slew_rad, job.radius_mm);
    if (!detail.cell.reached) {
      b.why_not = "the hook does not stand there";
      return;
    }
    if (!std::isfinite(detail.cell.tipping_n)) {
      b.why_not = "it tips under no load that its joints hold";
      return;
    }
    const double expected_n = detail.cell.tipping_n + machine.tare_n;
    b.closed = detail.cell.tipping_n * kGramPerNewton;
    TippingOptions how;
    how.step_ms = std::min(options.step_ms, 1.0);
    how.stop = control.stop;
    how.expected_n = std::max(expected_n, 0.05);
    const TippingRun run = ramp_until_it_tips(machine, state, job.posture, job.slew_rad, detail.cell.luff_rad, how);
    b.why_not = run.why_not;
    if (!run.why_not.empty()) return;
    b.trial = (run.load_n - machine.tare_n) * kGramPerNewton;
    b.trial_open = !run.tipped;
    if (options.doubts && run.tipped) {
      TippingOptions finer = how;
      finer.step_ms /= 2;
      const TippingRun again =
          ramp_until_it_tips(machine, state, job.posture, job.slew_rad, detail.cell.luff_rad, finer);
      if (std::fabs(again.load_n - run.load_n) > 0.01 * run.load_n)
        b.doubts.push_back(fmt::format("half the time step gives {} g",
                                       base::plain((again.load_n - machine.tare_n) * kGramPerNewton, 4)));
    }
    if (b.told()) b.cause = cause_of(b, false);
  });
  std::erase_if(out, [](const Beside& b) { return b.id.empty(); });
  return out;
}

}  // namespace

double Beside::gap() const {
  if (closed_open && trial_open) return 0;
  const double apart = bound ? trial - closed : std::fabs(trial - closed);
  const double beyond = std::max(0.0, apart - grid);
  return beyond / std::max({closed, grid, 1e-9});
}

DriveRig rig_of(const assessment::Ground& ground, double speed_mm_s) {
  DriveRig rig;
  if (speed_mm_s > 0) rig.speed_mm_s = speed_mm_s;
  rig.vehicle = ground.vehicle;
  rig.pull_n = ground.pull_n;
  double left_mm = 0, right_mm = 0;
  for (const balance::Support& s : ground.state.supports) {
    left_mm = std::max(left_mm, s.from.y_mm);
    right_mm = std::min(right_mm, s.from.y_mm);
  }
  rig.gauge_mm = left_mm - right_mm;
  rig.centre_left_mm = ground.mass.total.at.y_mm - (left_mm + right_mm) / 2;
  return rig;
}

AcrossClosed across_closed(const DriveRig& rig, double friction) {
  const double along = rig.vehicle.rolling_resistance;
  return {std::atan2(rig.gauge_mm / 2 + rig.centre_left_mm, rig.vehicle.centre.z_mm),
          std::atan(std::sqrt(std::max(friction * friction - along * along, 0.0)))};
}

/// Along a slope across, beside its statics.
static void try_across(CourseTrial& out, const DriveOptions& how) {
  const double slope_rad = out.course.size;
  const AcrossClosed closed = across_closed(out.rig, out.friction);
  out.tips_rad = closed.tips_rad;
  out.slides_rad = closed.slides_rad;
  out.closed_stop = slope_rad < std::min(closed.tips_rad, closed.slides_rad) ? Stop::nothing
                    : closed.tips_rad < closed.slides_rad                    ? Stop::balance
                                                                             : Stop::friction;
  out.run = drive_across(out.rig, slope_rad, how);
  if (!out.run.why_not.empty() || out.run.passed() == (out.closed_stop == Stop::nothing)) return;
  const double limit_rad = std::min(closed.tips_rad, closed.slides_rad);
  DriveRig slower = out.rig;
  slower.speed_mm_s = std::min(kCreep_mm_s, kSlow * slower.speed_mm_s);
  DriveOptions brief_run = how;
  brief_run.sample_ms = 0;
  const DriveRun slow = drive_across(slower, slope_rad, brief_run);
  if (slow.passed() == (out.closed_stop == Stop::nothing))
    out.cause =
        fmt::format("at {} mm/s instead of {} the two agree: pulling away takes friction that holding across needs",
                    base::plain(slower.speed_mm_s, 2), base::plain(out.rig.speed_mm_s, 3));
  else
    out.cause = fmt::format(
        "statics has its limit at {} deg; so near to it the give of contacts, and how unevenly the wheels are loaded, "
        "decide",
        base::plain(limit_rad / kDeg, 3));
}

CourseTrial try_course(const assessment::Ground& ground, const Course& course, double friction,
                       const DriveOptions& options, double speed_mm_s) {
  CourseTrial out;
  out.course = course;
  out.friction = friction;
  out.rig = rig_of(ground, speed_mm_s);
  const Extent extent = extent_of(out.rig.vehicle);
  out.line = course.ground(extent.length_mm(), extent.top_mm);
  DriveOptions how = options;
  how.friction = friction;
  if (course.type == CourseType::side_slope) {
    try_across(out, how);
    return out;
  }
  out.run = drive(out.rig, out.line, how);
  balance::CrossingOptions walks;
  if (out.rig.pull_n > 0) walks.pull_n = out.rig.pull_n;
  out.closed = balance::cross(out.rig.vehicle, out.line, walks);
  out.closed_stop = out.closed.stopped_by(friction);
  const bool closed_passed = out.closed_stop == Stop::nothing;
  if (!out.run.why_not.empty() || out.run.passed() == closed_passed) return out;
  // The closed form knows no run-up: slowly, the two must agree, or it is something else.
  DriveRig slower = out.rig;
  slower.speed_mm_s = std::min(kCreep_mm_s, kSlow * slower.speed_mm_s);
  how.sample_ms = 0;
  const DriveRun slow = drive(slower, out.line, how);
  const std::string at =
      fmt::format("at {} mm/s instead of {}", base::plain(slower.speed_mm_s, 2), base::plain(out.rig.speed_mm_s, 3));
  if (!slow.why_not.empty())
    out.cause = "not found: a slower run " + slow.why_not;
  else if (slow.passed() == closed_passed)
    out.cause = fmt::format("{} the trial says what the closed form says: {}", at,
                            closed_passed ? "its own speed is too much for it" : "the run-up carries it over");
  else
    out.cause = fmt::format(
        "{} the trial says the same, so it is not the run-up: the size is near its limit, where friction and the give "
        "of "
        "contacts decide",
        at);
  return out;
}

Report try_all(const assessment::Assessment& assessed, const Options& options, const base::RunControl& control) {
  Report out;
  out.cannot_say = {"strength: whether a part pops off, bends for good or a tooth cracks",
                    "rattle, backlash, a belt that jumps, motors that grow warm, cells that sag"};
  if (assessed.ground.judged) {
    out.cannot_say.insert(
        out.cannot_say.begin() + 1,
        {"the friction of your belts, tyres and floor: it is put in, and decides steps by a factor of three",
         fmt::format(
             "what a run-up does for the largest step, trench and slope: these are driven at {} mm/s without load, "
             "obstacles at {}",
             base::plain(slow_mm_s(options), 3),
             base::plain(rig_of(assessed.ground, options.speed_mm_s).speed_mm_s, 3))});
    out.cannot_say.push_back("how hard tracks turn, and anything on ground that is not even across");
  }
  if (!engine_present()) {
    out.why_not = engine_text();
    return out;
  }
  const assessment::Ground& ground = assessed.ground;
  control.report("driving", 0.1);
  if (ground.judged) {
    const std::string why_not = not_tried_because(rig_of(ground));
    if (why_not.empty()) {
      out.figures = drive_figures(ground, options, control);
      out.obstacles = obstacle_trials(ground, options, control);
    } else {
      Beside b;
      b.id = "drive";
      b.what = "driving over steps, trenches and slopes";
      b.why_not = why_not;
      out.figures.push_back(std::move(b));
    }
  }
  control.report("lifting", 0.6);
  if (assessed.lifting.judged && assessed.lifting.machine) {
    std::vector<Beside> lifting = tipping_figures(assessed.lifting, options, control);
    std::move(lifting.begin(), lifting.end(), std::back_inserter(out.figures));
  }
  if (out.figures.empty())
    out.why_not = fmt::format("nothing to try: {}; {}", ground.judged ? "it drives nowhere" : ground.why_not,
                              assessed.lifting.judged ? "it lifts nothing" : assessed.lifting.why_not);
  return out;
}

}  // namespace trial
