#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "functions/drive/told_drive.h"
#include "functions/stabiliser/joining.h"
#include "functions/stabiliser/outrigger_rack.h"

namespace functions::stabiliser {
namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;
/// Reaches that the tipping angle is told at.
constexpr int kReaches = 9;
/// Sleeves so many times as long as one that jams need no word (invented).
constexpr double kSafeFromJam = 2;

struct Nominal {
  const RackDesign& design;
  const SlideProblem& problem;
  const Outrigger& beam;
  const Stance& stance;
  const brief::Brief& brief;
  brief::Sample sample;
  drive::Machine machine;
  RackCycle cycle;
  double friction, pitch_mm;

  explicit Nominal(const RackDesign& d)
      : design(d),
        problem(*d.problem),
        beam(problem.beam),
        stance(problem.nominal),
        brief(*problem.brief),
        sample(brief.parameters.nominal()),
        machine(drive::machine(d.powertrain, brief, sample)),
        cycle(rack_cycle(problem, d.mover, stance, sample)),
        friction(sample[brief::Parameter::pin_friction]),
        pitch_mm(brief.system().pitch_mm) {}
};

void add_figures(const Nominal& n, candidate::Candidate& c) {
  const Outrigger& o = n.beam;
  const drive::SpeedLine line = drive::speed_line(n.machine);
  const double radius_mm = n.design.mover.radius_mm;
  c.figures = {{"time to move out", drive::line_time_s(n.cycle.out_nmm, o.travel_mm, radius_mm, line), "s"},
               {"time to move in", drive::line_time_s(n.cycle.in_nmm, o.travel_mm, radius_mm, line), "s"},
               {"greatest force at a rack", n.cycle.peak_n, "N"},
               {"pinion pushes a beam aside with", n.cycle.aside_n, "N"},
               {"of the rack's force the sleeve's friction takes, out",
                100 * rack_share(n.problem, n.friction, Motion::deploying), "%"},
               {"of the rack's force the sleeve's friction takes, in",
                100 * rack_share(n.problem, n.friction, Motion::stowing), "%"},
               {"torque at the pinion", n.cycle.peak_nmm, "N mm"},
               {"weight of the machine", n.stance.weight_n, "N"},
               {"foot load when it tips", n.cycle.tipping_foot_n, "N"},
               {"foot pushed along the ground with", n.cycle.slips_n, "N"},
               {"sleeve's friction holds", n.cycle.rests_n, "N"},
               {"bending of the beam as it tips", n.cycle.bending_nmm, "N mm"},
               {"bending the beam bears", beam_nmm(n.problem), "N mm"},
               {"beam, length", o.leg.length_mm, "mm"},
               {"beam runs out", o.travel_mm, "mm"},
               {"beam in its sleeve", o.guide_mm, "mm"},
               {"beam beside the pinion's axle", o.leg.stagger_mm, "mm"},
               {"mouth from the middle", o.leg.hip_out_mm, "mm"},
               {"mouth above the ground", o.leg.hip_up_mm, "mm"},
               {"foot from the middle", o.leg.foot_out_mm, "mm"},
               {"foot from the middle at most", o.widest_mm, "mm"},
               {"foot above the ground, run in", o.clearance_mm, "mm"}};
  add_stance(n.stance, c);
  c.figures.push_back({"leans before a foot bears", lean_deg(n.problem), "deg"});
  drive::tell_racks(n.design.mover, n.brief, c);
}

void add_curves(const Nominal& n, candidate::Candidate& c) {
  c.curves.push_back({"force outward", "extension", "mm", "force", "N", n.problem.run_mm, n.cycle.out_n});
  c.curves.push_back({"force inward", "extension", "mm", "force", "N", n.problem.run_mm, n.cycle.in_n});
  candidate::Curve tips{"tipping angle by reach", "foot from the middle", "mm", "tipping angle", "deg", {}, {}};
  for (int i = 0; i < kReaches; ++i) {
    Leg leg = n.beam.leg;
    leg.foot_out_mm -= n.beam.travel_mm * (kReaches - 1 - i) / (kReaches - 1);
    tips.x.push_back(leg.foot_out_mm);
    tips.y.push_back(
        stance_of(n.brief, n.problem.wants, leg, n.sample[brief::Parameter::mass_factor]).feet.tipping_rad *
        kDegPerRad);
  }
  c.curves.push_back(std::move(tips));
}

/// From above: x outward to the left or to the front, so that the beam there lies below the middle line; the pinion's
/// axle in the origin.
void add_shapes(const Nominal& n, candidate::Candidate& c) {
  using Role = candidate::Shape::Role;
  const Outrigger& o = n.beam;
  const double mouth = o.leg.hip_out_mm, foot = o.leg.foot_out_mm, inner = foot - o.leg.length_mm;
  const double beside = o.leg.stagger_mm, line = n.design.mover.radius_mm, pitch = n.pitch_mm;
  const auto& rack = std::get<stock::Rack>(n.brief.catalogue->at(n.design.mover.rack).data);
  const double tooth_mm = std::numbers::pi * n.brief.system().module_mm;
  for (const double side : {1.0, -1.0}) {
    const auto bar = [&](Role role, double from, double to, double across, const char* label) {
      c.shapes.push_back({role, side * from, -side * across, side * to, -side * across, side > 0 ? label : ""});
    };
    for (const double wall : {pitch, -pitch})
      bar(Role::beam, wall > 0 ? mouth - o.guide_mm : mouth - pitch, mouth, beside + wall, wall > 0 ? "sleeve" : "");
    // Run in and run out lie on one line: of the former only the end that sticks out inwards is seen.
    bar(Role::ghost, inner - o.travel_mm, inner, beside, "run in");
    bar(Role::moving_beam, inner, foot, beside, "beam");
    bar(Role::actuator, -tooth_mm, n.design.mover.racks * rack.length_mm - tooth_mm, line + pitch / 4, "rack");
    c.shapes.push_back({Role::load, side * foot, -side * beside, pitch / 2, 0, ""});
  }
  c.shapes.push_back({Role::gear, 0, 0, line, 0, "pinion"});
}

void add_notes(const Nominal& n, candidate::Candidate& c) {
  const Outrigger& o = n.beam;
  const Wants& w = n.problem.wants;
  const Stance& s = n.stance;
  c.notes.push_back(fmt::format(
      "a level beam presses nothing down: it cannot lift, it only widens the stance; the machine leans by {} deg "
      "before a foot, {} mm above the ground, bears; tipping angle {} deg on the feet, {} deg on the wheels alone",
      base::plain(lean_deg(n.problem), 2), base::plain(o.gap_mm, 2), base::plain(s.feet.tipping_rad * kDegPerRad, 3),
      base::plain(s.wheels.tipping_rad * kDegPerRad, 3)));
  if (o.gap_mm > n.pitch_mm)
    c.notes.push_back(fmt::format("a post of {} mm under its end (foot_height_mm) lets a foot bear almost at once",
                                  base::plain(o.leg.hip_up_mm - kSlidingClearance_mm, 3)));
  c.notes.push_back(fmt::format(
      "one upright shaft between the two beams of a pair runs both out: they lie {} mm to either side of it, and so "
      "stand their feet; the drawing is seen from above",
      base::plain(o.leg.stagger_mm, 4)));
  c.notes.push_back(fmt::format("from a rack's pitch line to the middle of its beam {} p are taken (offset_p)",
                                base::plain(w.offset_p)));
  const bool locks = worm_holds(n.design, n.machine);
  if (locks)
    c.notes.emplace_back("with the motor off the worm holds the beams where they stand");
  else if (n.cycle.rests_n >= n.cycle.slips_n)
    c.notes.push_back(
        fmt::format("with the motor off the sleeve's friction holds a beam under its foot ({} N against {} N), not "
                    "against a knock: nothing in the train locks",
                    base::plain(n.cycle.rests_n, 3), base::plain(n.cycle.slips_n, 3)));
  else
    c.notes.push_back(fmt::format(
        "with the motor off {} N push a beam in that carries the machine, the sleeve's friction holds {} N: "
        "a worm in the train or a pin through sleeve and beam would hold it",
        base::plain(n.cycle.slips_n, 3), base::plain(n.cycle.rests_n, 3)));
  const double to_pinion_p = std::ceil(o.leg.hip_out_mm / n.pitch_mm - 1e-9) + 1;
  if (o.guide_mm < o.leg.hip_out_mm && o.guide_mm < kSafeFromJam * rack_sleeve_mm(n.problem, n.friction)) {
    SlideProblem longer = n.problem;
    longer.beam.guide_mm = to_pinion_p * n.pitch_mm;
    const RackCycle easier = rack_cycle(longer, n.design.mover, s, n.sample);
    c.notes.push_back(
        fmt::format("the pinion stands {} mm beyond the sleeve's inner end and pushes the beam aside there; a sleeve "
                    "that reaches it "
                    "(guide_p = {}) would need {} N at a rack instead of {} N",
                    base::plain(o.leg.hip_out_mm - o.guide_mm, 4), base::plain(to_pinion_p),
                    base::plain(easier.peak_n, 3), base::plain(n.cycle.peak_n, 3)));
  }
  c.notes.push_back(fmt::format("with this stock a foot comes {} mm out from the middle at most, limited by {}",
                                base::plain(o.widest_mm, 4), o.widest_by));
  if (s.feet.area_mm2 <= s.wheels.area_mm2)
    c.notes.push_back(fmt::format("the feet cover {} cm2, the wheels {} cm2: they do not widen the stance",
                                  base::plain(s.feet.area_mm2 / 100, 3), base::plain(s.wheels.area_mm2 / 100, 3)));
  if (o.leg.foot_miss_mm >= 0.1)
    c.notes.push_back(fmt::format("the line from a hole puts the foot {} mm out, {} mm from where it is wanted",
                                  base::plain(o.leg.foot_out_mm, 4), base::plain(o.leg.foot_miss_mm, 2)));
  if (n.design.drives == 2) c.notes.emplace_back("every pair has its own motor: run them out together");
  if (w.load_g <= 0) c.notes.emplace_back("no load_g: a foot holds the empty machine's weight when it tips");
  const drive::State state = drive::state(n.design.powertrain, n.machine, n.brief.system(), n.cycle.peak_nmm);
  if (state.stall_tooth_margin < 1 && !n.design.powertrain.train.stages.empty())
    c.notes.push_back(
        fmt::format("run against a stop, the stalled motor loads the teeth to {} times what they stand: "
                    "set soft end stops",
                    base::plain(1 / state.stall_tooth_margin, 3)));
  c.notes.insert(c.notes.end(), o.leg.notes.begin(), o.leg.notes.end());
  c.notes.emplace_back("pinch points at the sleeve's mouth, at the pinion and under the feet");
}

void add_drive(const Nominal& n, candidate::Candidate& c) {
  const drive::Placed* placed = n.design.placed ? &*n.design.placed : nullptr;
  candidate::Drive d = drive::drive_of(n.design.powertrain, n.machine, n.design.drives, placed);
  d.moves = "legs";
  d.plus = "out";
  d.minus = "in";
  d.angle = false;
  d.endless = false;
  d.at = n.problem.run_mm;
  d.per_rad.assign(d.at.size(), n.design.mover.radius_mm);
  d.plus_nmm = d.plus_free_nmm = n.cycle.out_nmm;
  d.minus_nmm = d.minus_free_nmm = n.cycle.in_nmm;
  d.heaviest_nmm = n.cycle.peak_nmm;
  // The beams lie where a pinion that turns counter-clockwise, seen from above, runs them out.
  d.sense = drive::sense_about_axis(placed);
  if (n.design.drives == 2) d.sense_note += drive::image_note(n.design.powertrain.train);
  c.drives = {std::move(d)};
}

}  // namespace

void present(const RackDesign& design, candidate::Candidate& candidate) {
  const Nominal nominal(design);
  add_figures(nominal, candidate);
  add_curves(nominal, candidate);
  add_shapes(nominal, candidate);
  add_drive(nominal, candidate);
  add_notes(nominal, candidate);
  if (!design.placed) return;
  drive::tell_place(*design.placed, nominal.brief, candidate);
  drive::tell_loads(design.powertrain, *design.placed, nominal.machine, nominal.brief, nominal.cycle.peak_nmm,
                    candidate);
}

}  // namespace functions::stabiliser
