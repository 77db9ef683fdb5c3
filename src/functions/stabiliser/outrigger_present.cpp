#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "functions/drive/told_drive.h"
#include "functions/stabiliser/joining.h"
#include "functions/stabiliser/nominal_state.h"
#include "functions/stabiliser/outrigger_design.h"
#include "functions/stabiliser/present.h"

namespace functions::stabiliser {

namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;

struct Nominal : NominalState<SlideDesign> {
  const Outrigger& beam;
  SlideCycle cycle;
  SlideReached reached;

  explicit Nominal(const SlideDesign& d)
      : NominalState(d),
        beam(problem.beam),
        cycle(slide_cycle(problem, stance, part, d.seat.offset_mm, sample)),
        reached(slide_reach(problem, part, d.on_shaft, cycle, d.powertrain, machine)) {}
};

/// Furthest that this actuator and the beams let a foot come, from the middle.
double widest_mm(const Nominal& n) {
  const double most_mm = n.part.open_mm - n.wants.end_clearance_mm - n.design.seat.closed_mm;
  const double by_stroke =
      n.beam.leg.hip_out_mm + (n.beam.reach_mm - n.beam.travel_mm + most_mm) * std::cos(n.beam.slope_rad);
  return std::min(by_stroke, n.beam.widest_mm);
}

void add_figures(const Nominal& n, candidate::Candidate& c) {
  const Outrigger& o = n.beam;
  const Stance& s = n.stance;
  const double pitch_mm = n.brief.system().pitch_mm, usable_mm = n.part.open_mm - n.part.closed_mm;
  c.figures = {{"time to deploy", n.reached.deploy_s, "s"}, {"time to stow", n.reached.stow_s, "s"}};
  if (!o.level()) {
    c.figures.push_back({"foot force needed", n.cycle.foot_need_n, "N"});
    c.figures.push_back({"foot force given", n.reached.foot_n, "N"});
  }
  const std::vector<candidate::Figure> more{
      {"weight of the machine", s.weight_n, "N"},
      {"foot load when it tips", n.cycle.tipping_foot_n, "N"},
      {"greatest rod force", n.cycle.peak_n, "N"},
      {"torque at one actuator's input", n.cycle.peak_nmm, "N mm"},
      {"bending of the beam as it tips", n.cycle.bending_nmm, "N mm"},
      {"bending the beam bears", n.reached.beam_nmm, "N mm"},
      {"beam, length", o.leg.length_mm, "mm"},
      {"beam runs out", o.travel_mm, "mm"},
      {"beam falls by", o.slope_rad * kDegPerRad, "deg"},
      {"beam in its sleeve", o.guide_mm, "mm"},
      {"mouth from the middle", o.leg.hip_out_mm, "mm"},
      {"mouth above the ground", o.leg.hip_up_mm, "mm"},
      {"foot from the middle", o.leg.foot_out_mm, "mm"},
      {"foot from the middle at most", widest_mm(n), "mm"},
      {"foot above the ground, run in", o.clearance_mm, "mm"},
      {"share of the stroke", usable_mm > 0 ? 100 * o.travel_mm / usable_mm : 0, "%"},
      {"base mount from mouth, outward", n.design.seat.base.x_hp * pitch_mm / 2, "mm"},
      {"base mount from mouth, up", n.design.seat.base.z_hp * pitch_mm / 2, "mm"},
      {"actuator above the beam", n.design.seat.offset_mm, "mm"}};
  c.figures.insert(c.figures.end(), more.begin(), more.end());
  add_stance(s, c);
  if (o.level()) c.figures.push_back({"leans before a foot bears", lean_deg(n.problem), "deg"});
}

void add_curves(const Nominal& n, candidate::Candidate& c) {
  const auto add = [&](std::string name, const auto& value) {
    candidate::Curve curve{std::move(name), "extension", "mm", "force", "N", n.problem.run_mm, {}};
    for (std::size_t i = 0; i < curve.x.size(); ++i) curve.y.push_back(value(i));
    c.curves.push_back(std::move(curve));
  };
  if (!n.beam.level()) {
    add("foot force given",
        [&](std::size_t i) { return slide_foot_n(n.beam, n.problem.run_mm[i], n.reached.rod_n, n.cycle.contact); });
    add("foot force needed", [&](std::size_t i) { return i >= n.problem.loaded_from ? n.cycle.foot_need_n : 0.0; });
  }
  add("rod force, deploying", [&](std::size_t i) { return n.cycle.out_n[i]; });
  add("rod force, stowing", [&](std::size_t i) { return n.cycle.in_n[i]; });
}

/// In the plane of the beam: x outward from the machine's middle.
void add_shapes(const Nominal& n, candidate::Candidate& c) {
  using Role = candidate::Shape::Role;
  const Outrigger& o = n.beam;
  const double pitch_mm = n.brief.system().pitch_mm, half_mm = pitch_mm / 2;
  const double cosine = std::cos(o.slope_rad), sine = std::sin(o.slope_rad);
  const auto x = [&](double along, double across) { return o.leg.hip_out_mm + along * cosine + across * sine; };
  const auto z = [&](double along, double across) { return o.leg.hip_up_mm - along * sine + across * cosine; };
  for (const double side : {pitch_mm, -pitch_mm})
    c.shapes.push_back({Role::beam, x(-o.guide_mm, side), z(-o.guide_mm, side), x(0, side), z(0, side), ""});
  const double off = n.design.seat.offset_mm, run_in_mm = o.reach_mm - o.travel_mm;
  const double base_mm = run_in_mm - pitch_mm - n.design.seat.closed_mm;
  for (const bool deployed : {false, true}) {
    const double foot = deployed ? o.reach_mm : run_in_mm, rod = foot - pitch_mm;
    c.shapes.push_back({deployed ? Role::moving_beam : Role::ghost, x(foot - o.leg.length_mm, 0),
                        z(foot - o.leg.length_mm, 0), x(foot, 0), z(foot, 0), deployed ? "beam" : "run in"});
    if (deployed) c.shapes.push_back({Role::actuator, x(base_mm, off), z(base_mm, off), x(rod, off), z(rod, off), ""});
    c.shapes.push_back({Role::rod_mount, x(rod, off), z(rod, off), half_mm / 2, 0, deployed ? "rod mount" : ""});
    if (deployed) c.shapes.push_back({Role::load, x(foot, 0), z(foot, 0), half_mm, 0, ""});
  }
  const double ground_mm = o.level() ? 0 : -o.leg.lift_mm;
  c.shapes.push_back({Role::ghost, 0, ground_mm, o.leg.foot_out_mm + 4 * half_mm, ground_mm,
                      o.level() ? "ground" : "foot on the ground"});
  c.shapes.push_back({Role::base_mount, x(base_mm, off), z(base_mm, off), half_mm / 2, 0,
                      "base mount " + drive::mount_text(n.design.seat.base)});
}

void add_notes(const Nominal& n, candidate::Candidate& c) {
  const Stance& s = n.stance;
  const Outrigger& o = n.beam;
  const std::string gain =
      fmt::format("tipping angle {} deg on the feet, {} deg on the wheels alone",
                  base::plain(s.feet.tipping_rad * kDegPerRad, 3), base::plain(s.wheels.tipping_rad * kDegPerRad, 3));
  if (n.wants.lifts) {
    c.notes.push_back(fmt::format("lifts the machine {} mm off {}; {}", base::plain(o.leg.lift_mm),
                                  n.wants.legs == 4 ? "its wheels" : "the wheels at the feet's end", gain));
    c.notes.push_back("foot loads for all joints at zero: bring booms in before lifting");
  } else if (o.level()) {
    c.notes.push_back(fmt::format(
        "a level beam presses nothing down: it cannot lift, it only widens the stance; the machine leans by {} deg "
        "before a foot, {} mm above the ground, bears; {}",
        base::plain(lean_deg(n.problem), 2), base::plain(o.gap_mm, 2), gain));
    if (n.beam.gap_mm > n.brief.system().pitch_mm)
      c.notes.push_back(fmt::format("a post of {} mm under its end (foot_height_mm) lets a foot bear almost at once",
                                    base::plain(o.leg.hip_up_mm - kSlidingClearance_mm, 3)));
  } else {
    Wants lifting = n.wants;
    lifting.lifts = true;
    const Stance lifted = stance_of(n.brief, lifting, o.leg, n.sample[brief::Parameter::mass_factor]);
    c.notes.push_back(fmt::format("only widens the stance, the wheels stay on the ground; {}", gain));
    c.notes.push_back(
        lifted.stands
            ? fmt::format("lifting would take {} N at the most loaded foot; this drive gives {} N",
                          base::plain(lifted.greatest_foot_n, 3), base::plain(n.reached.foot_n, 3))
            : std::string("these feet alone could not lift it: its centre of gravity is outside what would carry it"));
  }
  const double widest = widest_mm(n);
  c.notes.push_back(fmt::format("with this stock a foot comes {} mm out from the middle at most, limited by {}",
                                base::plain(widest, 4),
                                widest < o.widest_mm - 1e-9 ? "the actuator's stroke" : o.widest_by));
  if (s.feet.area_mm2 <= s.wheels.area_mm2)
    c.notes.push_back(fmt::format("the feet cover {} cm2, the wheels {} cm2: they do not widen the stance",
                                  base::plain(s.feet.area_mm2 / 100, 3), base::plain(s.wheels.area_mm2 / 100, 3)));
  if (o.leg.foot_miss_mm >= 0.1)
    c.notes.push_back(fmt::format("the line from a hole puts the foot {} mm out, {} mm from where it is wanted",
                                  base::plain(o.leg.foot_out_mm, 4), base::plain(o.leg.foot_miss_mm, 2)));
  c.notes.push_back(n.design.on_shaft == 2
                        ? "one motor for two legs: both screws must start at the same length"
                        : "every leg has its own motor: deploy them together, each alone tilts the machine");
  if (n.wants.load_g <= 0) c.notes.push_back("no load_g: a foot holds the empty machine's weight when it tips");
  if (n.reached.stall_tooth_margin < 1 && !n.design.powertrain.train.stages.empty())
    c.notes.push_back(
        fmt::format("run against a stop, the stalled motor loads the teeth to {} times what they stand: "
                    "set soft end stops",
                    base::plain(1 / n.reached.stall_tooth_margin, 3)));
  c.notes.push_back("line up the actuator with the beam: what stands askew bends its rod");
  c.notes.insert(c.notes.end(), o.leg.notes.begin(), o.leg.notes.end());
  c.notes.push_back("pinch points at the sleeve's mouth and under the feet");
}

void add_drive(const Nominal& n, candidate::Candidate& c) {
  candidate::Drive d =
      drive::drive_of(n.design.powertrain, n.machine, n.design.drives, n.design.placed ? &*n.design.placed : nullptr);
  d.moves = "legs";
  d.plus = "out";
  d.minus = "in";
  d.angle = false;
  d.endless = false;
  d.at = n.problem.run_mm;
  d.per_rad.assign(d.at.size(), n.part.lead_mm / (2 * std::numbers::pi));
  for (std::size_t i = 0; i < d.at.size(); ++i) {
    d.plus_nmm.push_back(n.cycle.out_nmm[i] * n.design.on_shaft);
    d.minus_nmm.push_back(n.cycle.in_nmm[i] * n.design.on_shaft);
  }
  d.plus_free_nmm = d.plus_nmm;
  d.minus_free_nmm = d.minus_nmm;
  d.heaviest_nmm = n.reached.torque_nmm;
  d.sense = drive::sense_at_terminal(n.design.placed ? &*n.design.placed : nullptr) * drive::kRodOutCounterClockwise;
  d.sense_note += "taken that the rod comes out when the actuator's input turns counter-clockwise";
  c.drives = {std::move(d)};
}

}  // namespace

double lean_deg(const SlideProblem& problem) {
  const Outrigger& o = problem.beam;
  double far_mm = 0;
  const bool sideways = problem.wants.swing == Swing::sideways;
  for (const brief::Vec3& p : problem.brief->support.points_mm)
    far_mm = std::max(far_mm, o.leg.foot_out_mm + (sideways ? -p.y_mm : -o.leg.outward * p.x_mm));
  return far_mm > 0 ? std::atan2(o.gap_mm, far_mm) * kDegPerRad : 0;
}

std::string key_of(const SlideDesign& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  return fmt::format("{} {}x{}|beam {}|base {},{}|{}", catalogue.at(d.actuator).id, d.drives, d.on_shaft,
                     d.problem->beam.leg.length_p, d.seat.base.x_hp, d.seat.base.z_hp,
                     drive::key_of(d.powertrain, catalogue));
}

std::string title_of(const SlideDesign& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  return fmt::format("{} beams of {} p that slide out{}, {}; {}, base {} p; {}{}", d.problem->wants.legs,
                     d.problem->beam.leg.length_p, d.problem->beam.level() ? "" : " and down",
                     d.on_shaft == 2 ? "joined by cross shafts" : "a motor each", catalogue.at(d.actuator).name,
                     drive::mount_text(d.seat.base), d.drives > 1 ? fmt::format("{} x ", d.drives) : "",
                     drive::title_of(d.powertrain, catalogue));
}

void present(const SlideDesign& design, candidate::Candidate& candidate) {
  const Nominal nominal(design);
  add_figures(nominal, candidate);
  add_curves(nominal, candidate);
  add_shapes(nominal, candidate);
  add_drive(nominal, candidate);
  add_notes(nominal, candidate);
  if (!design.placed) return;
  drive::tell_place(*design.placed, nominal.brief, candidate);
  if (design.on_shaft == 1) {
    drive::tell_loads(design.powertrain, *design.placed, nominal.machine, nominal.brief, nominal.reached.torque_nmm,
                      candidate);
    return;
  }
  drive::tell_overhang(*design.placed, candidate);
  tell_cross_shaft(cross_shaft_of(*design.placed, nominal.brief, nominal.part, nominal.cycle.peak_nmm,
                                  nominal.sample[brief::Parameter::axle_shear_modulus_mpa], 1),
                   candidate);
}

}  // namespace functions::stabiliser
