#include "structure/boom.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/check.h"

namespace structure {
namespace {

using Sums = std::map<std::pair<std::string, Way>, double>;

/// Elastic and play shares of one gauge, brought to positive = adds.
GaugeReport report(const BoomFrame& boom, const FrameModel& model, const FrameState& state, Freedom freedom,
                   double base_play) {
  const FrameState unit = model.solve_unit(boom.tip, freedom);
  const FreePlay play = free_play(model, unit, boom.tip, freedom, boom.clearances);
  const double elastic = state.displacement[static_cast<std::size_t>(boom.tip)][static_cast<std::size_t>(freedom)];
  const double sign = freedom == Freedom::z ? -1 : 1;
  GaugeReport out;
  out.elastic = sign * elastic;
  const double adds = elastic < 0 ? -1 : 1;
  Sums sums;
  for (std::size_t i = 0; i < boom.frame.members.size(); ++i) {
    const MemberShare share = model.member_share(static_cast<int>(i), unit, state);
    const std::string& name = boom.frame.members[i].name;
    sums[{name, Way::bends}] += adds * (share.bend_y + share.bend_z);
    sums[{name, Way::twists}] += adds * share.twist;
    sums[{name, Way::stretches}] += adds * share.stretch;
  }
  for (std::size_t i = 0; i < boom.frame.joints.size(); ++i) {
    const std::string& name = boom.frame.joints[i].name;
    sums[{name, Way::yields}] += adds * model.joint_share(static_cast<int>(i), unit, state);
    sums[{name, Way::plays}] += play.by_joint[i];
  }
  sums[{"turntable", Way::plays}] += base_play;
  out.play = play.free + base_play;
  out.play_at_least = play.at_least + base_play;
  out.play_bound = play.bound + base_play;
  out.total = std::fabs(elastic) + out.play;
  for (const auto& [key, value] : sums) {
    if (value == 0) continue;
    out.sources.push_back({key.first, key.second, value, out.total > 0 ? value / out.total : 0});
  }
  std::stable_sort(out.sources.begin(), out.sources.end(),
                   [](const Source& a, const Source& b) { return std::fabs(a.value) > std::fabs(b.value); });
  return out;
}

Freedom freedom_of(Gauge gauge) {
  return gauge == Gauge::sag ? Freedom::z : gauge == Gauge::sway ? Freedom::y : Freedom::turn_x;
}

/// Force and moment that a unit load at the tip puts on the turntable, in axes whose x is the turntable's.
Six turntable_influence(const Boom& boom, const BoomLoad& load, Freedom freedom) {
  const double p = boom.parts.pitch_mm, c = std::cos(load.luff_rad), s = std::sin(load.luff_rad);
  const double below = boom.foot.turntable_below_p * p;
  // Chassis axes: the gauge from the turntable's centre, and the unit load turned out of the boom's axes.
  const double ahead = boom.length_p * p + load.gauge_mm[0], above = load.gauge_mm[1];
  const Vec3 arm{ahead * c - above * s, 0, ahead * s + above * c + below};
  const auto out_of_boom = [&](const Vec3& v) { return Vec3{v[0] * c - v[2] * s, v[1], v[0] * s + v[2] * c}; };
  Vec3 force{}, moment{};
  const auto f = static_cast<std::size_t>(freedom);
  (f < 3 ? force : moment)[f % 3] = 1;
  force = out_of_boom(force);
  moment = out_of_boom(moment);
  moment[0] += arm[1] * force[2] - arm[2] * force[1];
  moment[1] += arm[2] * force[0] - arm[0] * force[2];
  moment[2] += arm[0] * force[1] - arm[1] * force[0];
  // Axis up first, then x and y.
  return {force[2], force[0], force[1], moment[2], moment[0], moment[1]};
}

}  // namespace

std::string_view name_of(Gauge gauge) {
  switch (gauge) {
    case Gauge::sag:
      return "sag";
    case Gauge::sway:
      return "sway";
    case Gauge::roll:
      return "roll";
  }
  return "";
}

std::string_view name_of(Way way) {
  switch (way) {
    case Way::bends:
      return "bends";
    case Way::twists:
      return "twists";
    case Way::stretches:
      return "stretches";
    case Way::yields:
      return "yields";
    case Way::plays:
      return "plays";
  }
  return "";
}

double GaugeReport::share_of(std::string_view part) const {
  double sum = 0;
  for (const Source& s : sources) sum += s.part == part ? s.share : 0;
  return sum;
}

double GaugeReport::share_of(Way way) const {
  double sum = 0;
  for (const Source& s : sources) sum += s.way == way ? s.share : 0;
  return sum;
}

double turntable_play(const Boom& boom, const BoomLoad& load, Gauge gauge) {
  return greatest_motion(boom.foot.turntable, turntable_influence(boom, load, freedom_of(gauge)));
}

const GaugeReport& BoomReport::at(Gauge gauge) const {
  return gauge == Gauge::sag ? sag : gauge == Gauge::sway ? sway : roll;
}

namespace {

BoomReport judge_gauges(const Boom& boom, const BoomLoad& load, std::optional<Gauge> only) {
  const BoomFrame f = frame_of(boom, load);
  const FrameModel model(f.frame);
  BoomReport out;
  if (const auto& loose = model.mechanism()) {
    static constexpr std::string_view kMotions[] = {"along",      "sideways",  "up and down", "about its long axis",
                                                    "in luffing", "in slewing"};
    out.mechanism = f.frame.nodes[static_cast<std::size_t>(loose->node)].name + " moves freely, " +
                    std::string(kMotions[static_cast<std::size_t>(loose->freedom)]);
    return out;
  }
  const FrameState state = model.solve(f.loads);
  const auto gauge = [&](Gauge which, GaugeReport& into) {
    if (only && *only != which) return;
    into = report(f, model, state, freedom_of(which), turntable_play(boom, load, which));
  };
  gauge(Gauge::sag, out.sag);
  gauge(Gauge::sway, out.sway);
  gauge(Gauge::roll, out.roll);
  out.rock_rad = std::atan2(out.sway.total, boom.length_p * boom.parts.pitch_mm + load.gauge_mm[0]);
  for (std::size_t i = 0; i < f.frame.joints.size(); ++i) {
    // The joint's force on the boom, along from base to boom: minus the spring's pull.
    if (f.actuator[i]) out.actuator_force_n -= state.joint_force[i][0];
  }
  for (const FrameMember& m : f.frame.members) {
    const Vec3 &a = f.frame.nodes[static_cast<std::size_t>(m.a)].at_mm,
               &b = f.frame.nodes[static_cast<std::size_t>(m.b)].at_mm;
    out.mass_g += m.mass_g_mm * std::hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]);
  }
  out.mass_g += boom.parts.pin_mass_g *
                (static_cast<double>(boom.pins.size()) * boom.sides + 4 * static_cast<double>(boom.ties.size()));
  return out;
}

}  // namespace

BoomReport judge(const Boom& boom, const BoomLoad& load) {
  return judge_gauges(boom, load, std::nullopt);
}

BoomReport judge(const Boom& boom, const BoomLoad& load, Gauge only) {
  return judge_gauges(boom, load, only);
}

Buckling buckling(const Boom& boom, const BoomLoad& load, const BucklingOptions& options) {
  const BoomFrame f = frame_of(boom, load);
  // Two cuts a member: beams are cut at every used hole anyway.
  return buckling(FrameModel(subdivided(f.frame, 2)), f.loads, options);
}

}  // namespace structure
