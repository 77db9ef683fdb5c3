#include "trial/tipping.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "trial/body_text.h"
#include "trial/engine.h"
#include "trial/feet.h"

namespace trial {
namespace {

using balance::Body;
using balance::LiftingMachine;
using balance::SupportState;
using balance::Vec3;

constexpr double kM = 1e-3;
constexpr double kRest_s = 0.8, kRise_s = 1.2, kStart = 0.88;
constexpr double kTipped_rad = 2 * std::numbers::pi / 180;
constexpr double kSample_s = 0.05;
constexpr double kGyration_mm = 30;  ///< of every body: the load is raised too slowly for it to count
constexpr double kViolation_m = 1e-3;

struct Posed {
  const LiftingMachine& machine;
  std::vector<double> set;
};

std::string body_tree(const Posed& posed, int parent) {
  std::string out;
  for (std::size_t b = 0; b < posed.machine.bodies.size(); ++b) {
    const balance::LiftingBody& body = posed.machine.bodies[b];
    const Body& own = body.weighed.body;
    if (own.parent != parent) continue;
    out += open_frame(fmt::format("body{}", b), own, posed.set[b]) + give_joint(body, posed.set[b]) +
           inertial_text(own, kGyration_mm);
    if (static_cast<int>(b) == posed.machine.hook_body)
      out += fmt::format("<site name=\"hook\" pos=\"{}\"/>\n", place_text(posed.machine.hook));
    out += body_tree(posed, static_cast<int>(b)) + "</body>\n";
  }
  return out;
}

std::string description_of(const Posed& posed, const SupportState& state, const Vec3& gravity, double step_ms) {
  double proud_mm = 0;
  for (const balance::Support& s : state.supports) proud_mm = std::max(proud_mm, s.proud_mm);
  return fmt::format(
             "<mujoco><option timestep=\"{:.9g}\" gravity=\"{:.12g} {:.12g} {:.12g}\" integrator=\"implicit\" "
             "cone=\"elliptic\" impratio=\"10\" iterations=\"60\" tolerance=\"1e-12\"/>\n<size njmax=\"600\" "
             "nconmax=\"150\"/>\n<default><geom condim=\"3\" solref=\"0.004 1\" solimp=\"0.95 0.99 "
             "0.0005\"/></default>\n"
             "<worldbody><geom name=\"ground\" type=\"plane\" size=\"5 5 1\" friction=\"1 0 0\"/>\n"
             "<body name=\"base\" pos=\"0 0 {:.9g}\"><freejoint/>\n"
             "<inertial pos=\"0 0 0.02\" mass=\"1e-4\" diaginertia=\"1e-6 1e-6 1e-6\"/>\n",
             step_ms * 1e-3, gravity.x_mm, gravity.y_mm, gravity.z_mm, proud_mm * kM) +
         feet_description(state) + body_tree(posed, -1) + "</body></worldbody></mujoco>\n";
}

}  // namespace

TippingRun ramp_until_it_tips(const LiftingMachine& machine, int state, int posture, double slew_rad, double luff_rad,
                              const TippingOptions& options) {
  TippingRun out;
  out.why_not = balance::fault_of(machine);
  if (!out.why_not.empty()) return out;
  Posed posed{machine, machine.postures[static_cast<std::size_t>(posture)].joint};
  if (machine.slew_body >= 0) posed.set[static_cast<std::size_t>(machine.slew_body)] = slew_rad;
  posed.set[static_cast<std::size_t>(machine.luff_body)] = luff_rad;
  const double tilt = machine.slope.angle_rad, down = machine.slope.downhill_rad;
  const Vec3 gravity =
      balance::kGravity * Vec3{std::sin(tilt) * std::cos(down), std::sin(tilt) * std::sin(down), -std::cos(tilt)};

  Engine engine(description_of(posed, machine.states[static_cast<std::size_t>(state)], gravity, options.step_ms));
  out.why_not = engine.fault();
  if (!out.why_not.empty()) return out;
  const double violation_m = engine.violation();
  if (violation_m > kViolation_m) {
    out.why_not = fmt::format("the model starts with a contact {:.2f} mm deep: nothing it says could be trusted",
                              violation_m / kM);
    return out;
  }
  mjData& d = engine.data();
  const mjModel& m = engine.model();
  const int base = engine.id(mjOBJ_BODY, "base"), hook = engine.id(mjOBJ_SITE, "hook");
  const int hook_body = engine.id(mjOBJ_BODY, fmt::format("body{}", machine.hook_body));
  const mjtNum up[3] = {d.xmat[9 * base + 2], d.xmat[9 * base + 5], d.xmat[9 * base + 8]};
  const auto lean = [&] {
    const double c = up[0] * d.xmat[9 * base + 2] + up[1] * d.xmat[9 * base + 5] + up[2] * d.xmat[9 * base + 8];
    return std::acos(std::clamp(c, -1.0, 1.0));
  };
  double next_sample_s = 0, stood_rad = 0;
  for (;;) {
    const double t = d.time - kRest_s;
    const double rise = std::clamp(t / kRise_s, 0.0, 1.0);
    double share = kStart * rise * rise * (3 - 2 * rise);
    if (t > kRise_s + kRest_s) share += (t - kRise_s - kRest_s) * options.ramp_share_per_s;
    out.load_n = share * options.expected_n;
    if (t < 0) stood_rad = lean();
    std::fill_n(d.qfrc_applied, m.nv, 0.0);
    const mjtNum force[3] = {out.load_n * gravity.x_mm / balance::kGravity,
                             out.load_n * gravity.y_mm / balance::kGravity,
                             out.load_n * gravity.z_mm / balance::kGravity};
    const mjtNum none[3] = {0, 0, 0};
    if (options.stop != nullptr && options.stop->load(std::memory_order_relaxed)) {
      out.why_not = "given up";
      return out;
    }
    if (!engine.begin_step()) break;
    mj_applyFT(&m, &d, force, none, d.site_xpos + 3 * hook, hook_body, d.qfrc_applied);
    if (!engine.end_step()) break;
    if (d.time >= next_sample_s) {
      const mjtNum* p = d.site_xpos + 3 * hook;
      out.samples.push_back({d.time, out.load_n, lean() - stood_rad, {p[0] / kM, p[1] / kM, p[2] / kM}});
      next_sample_s += kSample_s;
    }
    if (lean() - stood_rad > kTipped_rad || (t < 0 && lean() > kTipped_rad)) {
      out.tipped = true;
      break;
    }
    if (share > options.most_share) break;
  }
  out.lean_rad = stood_rad;
  out.why_not = engine.fault();
  out.steps = engine.steps();
  out.state_hash = engine.state_hash();
  return out;
}

}  // namespace trial
