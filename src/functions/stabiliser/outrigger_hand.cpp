// Level beams that are run out by hand and pinned in their sleeves: no motor, a reach at every hole.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "functions/drive/drive.h"
#include "functions/stabiliser/joining.h"
#include "functions/stabiliser/outrigger_design.h"
#include "structure/kit_parts.h"

namespace functions::stabiliser {

using brief::Parameter;

namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;

/// Of one beam: force that moves it, the heavier way; what its pin must and can hold.
struct Hand {
  double out_n = 0, in_n = 0;
  double slips_n = 0, pin_n = 0;
};

Hand hand_of(const SlideProblem& problem, const Stance& stance, const brief::Sample& sample) {
  const SlideContact contact{problem.wants.foot_friction.value_or(sample[Parameter::ground_friction]),
                             sample[Parameter::pin_friction], 0};
  Hand out;
  for (const double x_mm : problem.run_mm) {
    out.out_n = std::max(out.out_n, slide_force(problem.beam, x_mm, 0, contact, Motion::deploying).force_n);
    out.in_n = std::max(out.in_n, -slide_force(problem.beam, x_mm, 0, contact, Motion::stowing).force_n);
  }
  out.slips_n = stance.tipping_foot_n * contact.foot_friction;
  // A pin through sleeve and beam is cut twice; every beam of a leg has its own.
  out.pin_n = 2 * structure::pin_section(problem.brief->system()).area_mm2 * sample[Parameter::axle_shear_stress_mpa] *
              problem.wants.leg_beams;
  return out;
}

/// In the plane of the beam: x outward from the machine's middle.
void add_shapes(const SlideProblem& problem, candidate::Candidate& c) {
  using Role = candidate::Shape::Role;
  const Outrigger& o = problem.beam;
  const double pitch_mm = problem.brief->system().pitch_mm, half_mm = pitch_mm / 2;
  const double mouth = o.leg.hip_out_mm, up = o.leg.hip_up_mm;
  for (const double side : {pitch_mm, -pitch_mm})
    c.shapes.push_back({Role::beam, mouth - o.guide_mm, up + side, mouth, up + side, ""});
  // Run in and run out lie on one line: of the former only the end that sticks out inwards is seen.
  const double foot = mouth + o.reach_mm, inner = foot - o.leg.length_mm;
  c.shapes.push_back({Role::ghost, inner - o.travel_mm, up, inner, up, "run in"});
  c.shapes.push_back({Role::moving_beam, inner, up, foot, up, "beam"});
  c.shapes.push_back({Role::load, foot, up, half_mm, 0, ""});
  c.shapes.push_back({Role::pivot, mouth - pitch_mm, up, half_mm / 2, 0, "pin"});
  c.shapes.push_back({Role::ghost, 0, 0, o.leg.foot_out_mm + 4 * half_mm, 0, "ground"});
}

/// Every hole at which it may be pinned: where the foot then is, and how far the ground may tilt with all feet there.
void add_reaches(const SlideProblem& problem, double mass_factor, candidate::Candidate& c) {
  const double pitch_mm = problem.brief->system().pitch_mm;
  const int steps = static_cast<int>(std::lround(problem.beam.travel_mm / pitch_mm));
  candidate::Curve foot{"reaches", "pinned position", "", "foot from the middle", "mm", {}, {}};
  candidate::Curve tips{"tipping angle by reach", "foot from the middle", "mm", "tipping angle", "deg", {}, {}};
  for (int i = 0; i <= steps; ++i) {
    Leg leg = problem.beam.leg;
    leg.foot_out_mm -= (steps - i) * pitch_mm;
    foot.x.push_back(i + 1);
    foot.y.push_back(leg.foot_out_mm);
    tips.x.push_back(leg.foot_out_mm);
    tips.y.push_back(stance_of(*problem.brief, problem.wants, leg, mass_factor).feet.tipping_rad * kDegPerRad);
  }
  c.curves.push_back(std::move(foot));
  c.curves.push_back(std::move(tips));
}

void add_figures(const SlideProblem& problem, const Stance& s, const Hand& hand, candidate::Candidate& c) {
  const Outrigger& o = problem.beam;
  c.figures = {{"hand force out", hand.out_n, "N"},
               {"hand force in", hand.in_n, "N"},
               {"weight of the machine", s.weight_n, "N"},
               {"foot load when it tips", s.tipping_foot_n, "N"},
               {"load on the pin", hand.slips_n, "N"},
               {"bending of the beam as it tips", s.tipping_foot_n * o.reach_mm, "N mm"},
               {"bending the beam bears", beam_nmm(problem), "N mm"},
               {"beam, length", o.leg.length_mm, "mm"},
               {"beam runs out", o.travel_mm, "mm"},
               {"beam in its sleeve", o.guide_mm, "mm"},
               {"mouth from the middle", o.leg.hip_out_mm, "mm"},
               {"mouth above the ground", o.leg.hip_up_mm, "mm"},
               {"foot from the middle", o.leg.foot_out_mm, "mm"},
               {"foot from the middle at most", o.widest_mm, "mm"},
               {"foot above the ground, run in", o.clearance_mm, "mm"}};
  add_stance(s, c);
  c.figures.push_back({"leans before a foot bears", lean_deg(problem), "deg"});
}

void add_notes(const SlideProblem& problem, const Stance& s, candidate::Candidate& c) {
  const Outrigger& o = problem.beam;
  c.notes.push_back(fmt::format(
      "a level beam presses nothing down: it cannot lift, it only widens the stance; the machine leans by {} deg "
      "before a foot, {} mm above the ground, bears; tipping angle {} deg on the feet, {} deg on the wheels alone",
      base::plain(lean_deg(problem), 2), base::plain(o.gap_mm, 2), base::plain(s.feet.tipping_rad * kDegPerRad, 3),
      base::plain(s.wheels.tipping_rad * kDegPerRad, 3)));
  c.notes.push_back(fmt::format("with this stock a foot comes {} mm out from the middle at most, limited by {}",
                                base::plain(o.widest_mm, 4), o.widest_by));
  c.notes.emplace_back("move it unloaded, then push the pin through sleeve and beam");
  c.notes.insert(c.notes.end(), o.leg.notes.begin(), o.leg.notes.end());
  c.notes.emplace_back("pinch points at the sleeve's mouth and under the feet");
}

}  // namespace

candidate::Evaluation evaluate_by_hand(const SlideProblem& problem, const brief::Sample& sample) {
  const Wants& w = problem.wants;
  const Stance stance = stance_of(*problem.brief, w, problem.beam.leg, sample[Parameter::mass_factor]);
  const Hand hand = hand_of(problem, stance, sample);
  candidate::Evaluation e;
  e.margins.push_back(candidate::at_least("hand force", w.hand_n, std::max(hand.out_n, hand.in_n), "N",
                                          hand.out_n >= hand.in_n ? "running out" : "running in"));
  e.margins.push_back(candidate::at_least("beam", beam_nmm(problem), stance.tipping_foot_n * problem.beam.reach_mm,
                                          "N mm", "bends at the sleeve's mouth, all weight on one foot as it tips"));
  e.margins.push_back(candidate::at_least("hold", hand.pin_n, hand.slips_n, "N",
                                          "pin in double shear, the foot pushed along the ground as it tips"));
  if (w.tipping_deg)
    e.margins.push_back(candidate::at_least("tipping angle", stance.feet.tipping_rad * kDegPerRad, *w.tipping_deg,
                                            "deg", "empty machine on its feet"));
  return e;
}

void propose_by_hand(const std::shared_ptr<const SlideProblem>& problem, const brief::Function& function,
                     candidate::Proposal& proposal, candidate::RejectionLog& log) {
  const brief::Brief& brief = *problem->brief;
  const Wants& w = problem->wants;
  const Outrigger& o = problem->beam;
  const brief::Sample nominal = brief.parameters.nominal();
  candidate::Candidate c;
  const int steps = static_cast<int>(std::lround(o.travel_mm / brief.system().pitch_mm));
  c.key = fmt::format("by hand|{} x beam {}|{} p", w.legs, o.leg.length_p, steps);
  c.title =
      fmt::format("{} beams of {} p that slide out by hand, pinned in {} positions", w.legs, o.leg.length_p, steps + 1);
  add_legs(*problem, function, w.leg_beams * w.legs, c.demand);  // one pin holds a beam
  c.nominal = evaluate_by_hand(*problem, nominal);
  c.masses = {{function.body, candidate::parts_mass_g(c.demand, *brief.catalogue)}};
  c.stands_on_mm = problem->nominal.feet.contacts_mm;
  c.cells = drive::cells_of_all(*site_by_hand(*problem, function), {});
  c.evaluate = [problem](const brief::Sample& sample) { return evaluate_by_hand(*problem, sample); };
  const Hand hand = hand_of(*problem, problem->nominal, nominal);
  add_figures(*problem, problem->nominal, hand, c);
  add_reaches(*problem, nominal[Parameter::mass_factor], c);
  add_shapes(*problem, c);
  add_notes(*problem, problem->nominal, c);
  if (!drive::uses_all_wanted(function, c.demand)) {
    log.add("stabiliser.must_use", 1, "parts",
            [&] { return fmt::format("{} does without a part it must use", c.title); });
    return;
  }
  for (const candidate::Margin& m : c.nominal.margins) {
    if (m.ratio >= candidate::kNearMiss) continue;
    log.add("stabiliser.by_hand", std::fabs(m.requirement - m.capability), m.unit, [&] {
      return fmt::format("by hand: {} reaches {} {}, {} asked ({})", m.name, base::plain(m.capability), m.unit,
                         base::plain(m.requirement), m.note);
    });
    return;
  }
  if (drive::stock_serves(c, brief, log)) proposal.candidates.push_back(std::move(c));
}

}  // namespace functions::stabiliser
