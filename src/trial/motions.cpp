// Luffing and slewing times of the chosen drives, in the engine beside the design's own figures.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/parallel.h"
#include "base/text.h"
#include "brief/body_tree.h"
#include "candidate/running.h"
#include "trial/movers.h"
#include "trial/trial.h"

namespace trial {
namespace {

using balance::Vec3;
using candidate::Candidate;
using candidate::Drive;

constexpr double kSlew_rad = std::numbers::pi;  // half a turn, or the whole range where that is less

Vec3 turned(const Vec3& p, brief::Joint::Type type, double rad) {
  const double c = std::cos(rad), s = std::sin(rad);
  if (type == brief::Joint::Type::slew) return {p.x_mm * c - p.y_mm * s, p.x_mm * s + p.y_mm * c, p.z_mm};
  return {p.x_mm * c - p.z_mm * s, p.y_mm, p.x_mm * s + p.z_mm * c};
}
Vec3 of(const brief::Vec3& v) {
  return {v.x_mm, v.y_mm, v.z_mm};
}

/// Where a point of a body stands from the pivot of `root` (whose joint is at 0) with the joints between at `at`.
Vec3 from_pivot(const brief::Brief& brief, int body, int root, const brief::Vec3& point,
                const std::vector<double>& at) {
  Vec3 p = of(point);
  for (int b = body; b != root; b = brief.bodies[static_cast<std::size_t>(b)].parent) {
    const brief::Joint& joint = brief.bodies[static_cast<std::size_t>(b)].joint;
    const Vec3 pivot = of(joint.pivot_mm);
    if (joint.type != brief::Joint::Type::fixed)
      p = pivot + turned(p - pivot, joint.type, at[static_cast<std::size_t>(b)]);
  }
  return p - of(brief.bodies[static_cast<std::size_t>(root)].joint.pivot_mm);
}

/// What hangs on the joint in one posture, the load as a lump where it hangs.
std::vector<Lump> lumps_of(const brief::Brief& brief, const Candidate& c, int root, const std::vector<double>& at) {
  std::vector<Lump> out;
  const double factor = brief.parameters.nominal()[brief::Parameter::mass_factor];
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    const brief::Body& body = brief.bodies[b];
    if (!brief::hangs_on(brief, static_cast<int>(b), root)) continue;
    out.push_back({body.mass_g.nominal * (body.mass_is_estimate ? factor : 1),
                   from_pivot(brief, static_cast<int>(b), root, body.centre_mm, at), of(body.size_mm)});
  }
  for (const candidate::Payload& p : c.payloads) {
    if (p.body < 0 || !brief::hangs_on(brief, p.body, root)) continue;
    out.push_back({p.mass_g, from_pivot(brief, p.body, root, p.at_mm, at), {}});
  }
  return out;
}

double figure(const Candidate& c, const char* name) {
  const auto at = std::find_if(c.figures.begin(), c.figures.end(), [&](const auto& f) { return f.name == name; });
  return at == c.figures.end() ? 0 : at->value;
}

struct Posture {
  std::vector<double> at;  ///< joints of all bodies
  double carrier_rad = 0;  ///< pitch of what carries the joint
};

/// Joints above and below at their ends: the design's figures are of the worst.
std::vector<Posture> postures(const brief::Brief& brief, int root) {
  std::vector<Posture> out{{std::vector<double>(brief.bodies.size(), 0.0), 0}};
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    const brief::Joint& joint = brief.bodies[b].joint;
    const int own = static_cast<int>(b);
    const bool below = own != root && brief::hangs_on(brief, own, root);
    const bool above = own != root && brief::hangs_on(brief, root, own);
    if (joint.type != brief::Joint::Type::pitch || (!below && !above)) continue;
    std::vector<Posture> next;
    for (const Posture& p : out) {
      for (const double rad : {joint.low_rad, joint.high_rad}) {
        Posture q = p;
        q.at[b] = rad;
        if (above) q.carrier_rad += rad;
        next.push_back(std::move(q));
        if (joint.high_rad - joint.low_rad < 1e-9) break;
      }
    }
    if (next.size() > 16) break;  // told by the caller's cause: the rest stands at 0
    out = std::move(next);
  }
  return out;
}

struct Job {
  const assessment::Chosen* chosen = nullptr;
  const Drive* drive = nullptr;
  bool up = true;
};

Beside tried(const brief::Brief& brief, const Job& job, const Options& options, const base::RunControl& control) {
  const Candidate& c = *job.chosen->candidate;
  const Drive& d = *job.drive;
  const std::string& id = job.chosen->function->id;
  Beside b;
  b.unit = "s";
  const brief::Body& body = brief.bodies[static_cast<std::size_t>(d.body)];
  MotionRig rig;
  add_motors(brief, d, rig);
  if (d.use == Drive::Use::slew) {
    b.id = "slew_time";
    rig.turns = true;
    rig.to_rad = std::min(kSlew_rad, body.joint.high_rad - body.joint.low_rad);
    rig.per_rad = candidate::travel_per_rad(d, d.at.empty() ? 0 : d.at.front());
    // On level ground what the design asks of it while it turns is the friction of its ring.
    rig.friction_nmm = candidate::torque_nmm(d, d.at.empty() ? 0 : d.at.front(), true, 1) * d.outputs;
    b.what = fmt::format("time to slew {} by {} deg with {}", body.id,
                         base::plain(rig.to_rad * 180 / std::numbers::pi, 3), id);
    const double rad_s = figure(c, "speed") * 2 * std::numbers::pi / 60;
    b.closed = rad_s > 0 ? rig.to_rad / rad_s : 0;
  } else {
    b.id = job.up ? "raise_time" : "lower_time";
    b.what = fmt::format("time to {} {} with {}", job.up ? "raise" : "lower", body.id, id);
    b.closed = figure(c, job.up ? "time to raise" : "time to lower");
    if (!add_screw(brief, c, d, rig)) {
      b.why_not = "its screw is not drawn";
      return b;
    }
    rig.from_rad = job.up ? d.at.front() : d.at.back();
    rig.to_rad = job.up ? d.at.back() : d.at.front();
  }
  if (d.outputs != 1) {
    b.why_not = "drives with several output shafts are not tried";
    return b;
  }
  if (!(b.closed > 0) || !std::isfinite(b.closed)) {
    b.why_not = "the design tells no time";
    return b;
  }
  MotionOptions how;
  how.stop = control.stop;
  how.step_ms = std::min(options.step_ms, 1.0);
  how.most_time_s = std::min(3 * b.closed + 5, 180.0);
  const auto run_in = [&](const Posture& p, double step_ms, bool weightless) {
    rig.lumps = lumps_of(brief, c, d.body, p.at);
    if (weightless) rig.lumps.clear();
    rig.carrier_pitch_rad = rig.turns ? 0 : p.carrier_rad;
    MotionOptions finer = how;
    finer.step_ms = step_ms;
    return move_joint(rig, finer);
  };
  const std::vector<Posture> all = postures(brief, d.body);
  const Posture* worst = nullptr;
  double least_s = 0;
  for (const Posture& p : all) {
    const MotionRun run = run_in(p, how.step_ms, false);
    if (!run.why_not.empty()) {
      b.why_not = run.why_not;
      return b;
    }
    if (!run.arrives) {
      b.trial = run.time_s;
      b.trial_open = true;
      b.trial_stop = "stall";
      b.cause = "in the trial it comes to a stop on the way: look at its least margin";
      return b;
    }
    least_s = worst == nullptr ? run.time_s : std::min(least_s, run.time_s);
    if (worst != nullptr && run.time_s <= b.trial) continue;
    b.trial = run.time_s;
    worst = &p;
  }
  if (options.doubts) {
    const MotionRun finer = run_in(*worst, how.step_ms / 2, false);
    if (!finer.arrives || std::fabs(finer.time_s - b.trial) > 0.01 * b.trial)
      b.doubts.push_back(fmt::format("half the time step gives {} s", base::plain(finer.time_s, 4)));
  }
  if (!b.told()) return b;
  if (b.id == "slew_time") {
    const double whole_rad = rig.to_rad;
    rig.to_rad = whole_rad / 2;
    const MotionRun first = run_in(*worst, how.step_ms, false);
    const double second_s = b.trial - first.time_s;
    b.cause = fmt::format(
        "the design's figure is the steady speed; in the trial the first half takes {} s and the second {} s: {}",
        base::plain(first.time_s, 3), base::plain(second_s, 3),
        std::fabs(2 * second_s - b.closed) < kTellGap * b.closed ? "the start makes the rest of the gap"
                                                                 : "it is still speeding up when it arrives");
  } else if (b.trial < b.closed && all.size() > 1) {
    b.cause = fmt::format(
        "the design takes the heaviest posture of the other joints at every angle, the trial one posture throughout "
        "({} to {} s over {} of them)",
        base::plain(least_s, 3), base::plain(b.trial, 3), all.size());
  } else {
    const MotionRun empty = run_in(*worst, how.step_ms, true);
    b.cause = fmt::format("without any weight the trial takes {} s: {}", base::plain(empty.time_s, 3),
                          std::fabs(empty.time_s - b.trial) < 0.05 * b.trial
                              ? "the motor runs free in both, look at its feed"
                              : "starting, and what the weight takes of the speed");
  }
  return b;
}

}  // namespace

double own_speed_mm_s(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen) {
  double slowest_mm_s = 0;
  for (const assessment::Chosen& c : chosen) {
    if (c.candidate == nullptr) continue;
    for (const Drive& d : c.candidate->drives) {
      if (d.use != Drive::Use::travel || d.angle || d.looks_only) continue;
      MotionRig rig;
      add_motors(brief, d, rig);
      const double mm_s =
          motor::line(rig.motor, rig.feed).no_load_speed_rad_s * d.ratio * candidate::travel_per_rad(d, d.start);
      if (mm_s > 0 && (slowest_mm_s == 0 || mm_s < slowest_mm_s)) slowest_mm_s = mm_s;
    }
  }
  return slowest_mm_s;
}

std::vector<Beside> try_motions(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                const Options& options, const base::RunControl& control) {
  std::vector<Job> jobs;
  for (const assessment::Chosen& c : chosen) {
    if (c.candidate == nullptr || c.function == nullptr) continue;
    for (const Drive& d : c.candidate->drives) {
      if (d.body < 0) continue;
      if (d.use == Drive::Use::raise && !d.endless)
        for (const bool up : {true, false}) jobs.push_back({&c, &d, up});
      if (d.use == Drive::Use::slew) jobs.push_back({&c, &d, true});
    }
  }
  std::vector<Beside> out(jobs.size());
  base::parallel_for(jobs.size(), control.jobs, [&](std::size_t n) {
    if (!control.stopped()) out[n] = tried(brief, jobs[n], options, control);
  });
  std::erase_if(out, [](const Beside& b) { return b.id.empty(); });
  return out;
}

Report try_design(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                  const assessment::Assessment& assessed, const Options& options, const base::RunControl& control) {
  Options own = options;
  if (!(own.speed_mm_s > 0)) own.speed_mm_s = own_speed_mm_s(brief, chosen);
  Report out = try_all(assessed, own, control);
  if (!engine_present()) return out;
  control.report("moving", 0.8);
  std::vector<Beside> motions = try_motions(brief, chosen, options, control);
  if (!motions.empty()) out.why_not.clear();
  std::move(motions.begin(), motions.end(), std::back_inserter(out.figures));
  return out;
}

}  // namespace trial
