#include "functions/stabiliser/present.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "functions/drive/told_drive.h"
#include "functions/stabiliser/joining.h"
#include "functions/stabiliser/nominal_state.h"
#include "functions/stabiliser/site.h"
#include "structure/kit_parts.h"
#include "structure/torsion.h"
#include "structure/wind_up.h"

namespace functions::stabiliser {

namespace {

using brief::Parameter;

constexpr double kDegPerRad = 180 / std::numbers::pi;

struct Nominal : NominalState<Design> {
  const Leg& leg;
  Cycle cycle;
  Reached reached;

  explicit Nominal(const Design& d)
      : NominalState(d),
        leg(problem.leg),
        cycle(cycle_of(problem, stance, d.mount, part, sample)),
        reached(reach(problem, part, d.on_shaft, d.mount, cycle, body_of(problem, d.mount, cycle, part), d.powertrain,
                      machine, drive::speed_line(machine))) {}
};

void add_figures(const Nominal& n, candidate::Candidate& c) {
  const drive::ActuatorTravel& g = n.design.mount.travel;
  const Stance& s = n.stance;
  const auto [shortest, longest] = std::minmax(g.length_mm.front(), g.length_mm.back());
  const double usable_mm = n.part.open_mm - n.part.closed_mm;
  const double pitch_mm = n.brief.system().pitch_mm;
  c.figures = {{"time to deploy", n.reached.deploy_s, "s"},
               {"time to stow", n.reached.stow_s, "s"},
               {"foot force needed", n.cycle.foot_need_n, "N"},
               {"foot force given", n.reached.foot.force_n, "N"},
               {"weight of the machine", s.weight_n, "N"},
               {"foot load when it tips", n.cycle.tipping_foot_n, "N"},
               {"foot load the actuator holds", n.reached.held_foot_n, "N"},
               {"greatest rod force", n.cycle.peak_rod_n, "N"},
               {"torque at one actuator's input", n.cycle.peak_nmm, "N mm"},
               {"leg, hip to foot", n.leg.length_mm, "mm"},
               {"hip from the middle", n.leg.hip_out_mm, "mm"},
               {"hip above the ground", n.leg.hip_up_mm, "mm"},
               {"foot from the middle", n.leg.foot_out_mm, "mm"},
               {"foot slips under load", n.leg.slip_mm, "mm"},
               {"leg stowed, above the horizontal", n.leg.stowed_rad * kDegPerRad, "deg"},
               {"leg deployed, below the horizontal", -n.leg.deployed_rad * kDegPerRad, "deg"},
               {"shortest length", shortest, "mm"},
               {"longest length", longest, "mm"},
               {"stroke used", g.stroke_mm, "mm"},
               {"share of the stroke", usable_mm > 0 ? 100 * g.stroke_mm / usable_mm : 0, "%"},
               {"least lever arm", g.least_lever_mm, "mm"},
               {"base mount from hip, outward", n.design.mount.base.x_hp * pitch_mm / 2, "mm"},
               {"base mount from hip, up", n.design.mount.base.z_hp * pitch_mm / 2, "mm"},
               {"rod mount from hip, along the leg", n.design.mount.rod.x_hp * pitch_mm / 2, "mm"},
               {"rod mount from hip, above the leg", n.design.mount.rod.z_hp * pitch_mm / 2, "mm"}};
  add_stance(s, c);
}

void add_curves(const Nominal& n, candidate::Candidate& c) {
  std::vector<double> angle;
  for (const double a : n.problem.angle_rad) angle.push_back(a * kDegPerRad);
  const auto add = [&](std::string name, std::string y_name, std::string y_unit, const auto& value) {
    candidate::Curve curve{
        std::move(name), "leg above the horizontal", "deg", std::move(y_name), std::move(y_unit), angle, {}};
    for (std::size_t i = 0; i < angle.size(); ++i) curve.y.push_back(value(i));
    c.curves.push_back(std::move(curve));
  };
  const double rod_n =
      std::min(n.part.max_force_n.value.nominal, n.reached.stall_nmm / n.design.on_shaft / n.cycle.raise_nmm_per_n);
  const Mount& m = n.design.mount;
  add("foot force given", "force", "N",
      [&](std::size_t i) { return foot_force_n(n.leg, m.pose[i], rod_n, n.cycle.contact); });
  add("foot force needed", "force", "N",
      [&](std::size_t i) { return i < n.problem.loaded ? n.cycle.foot_need_n : 0.0; });
  add("rod force", "force", "N", [&](std::size_t i) { return n.cycle.rod_n[i]; });
  add("lever arm", "lever arm", "mm", [&](std::size_t i) { return m.travel.lever_mm[i]; });
  add("actuator length", "length", "mm", [&](std::size_t i) { return m.travel.length_mm[i]; });
}

/// In the plane of the swing: x outward from the machine's middle.
void add_shapes(const Nominal& n, candidate::Candidate& c) {
  using Role = candidate::Shape::Role;
  const double half_mm = n.brief.system().pitch_mm / 2;
  const double px = n.leg.hip_out_mm, pz = n.leg.hip_up_mm;
  const lattice::Point2 base = n.design.mount.base, rod = n.design.mount.rod;
  const double bx = px + base.x_hp * half_mm, bz = pz + base.z_hp * half_mm;
  c.shapes.push_back({Role::beam, px, pz, bx, bz, ""});
  for (const bool deployed : {false, true}) {
    const double a = deployed ? n.leg.deployed_rad : n.leg.stowed_rad;
    const double cs = std::cos(a), sn = std::sin(a);
    const double fx = px + n.leg.length_mm * cs, fz = pz + n.leg.length_mm * sn;
    const double rx = px + (rod.x_hp * cs - rod.z_hp * sn) * half_mm;
    const double rz = pz + (rod.x_hp * sn + rod.z_hp * cs) * half_mm;
    c.shapes.push_back({deployed ? Role::moving_beam : Role::ghost, px, pz, fx, fz, deployed ? "leg" : "stowed"});
    c.shapes.push_back({deployed ? Role::actuator : Role::ghost, bx, bz, rx, rz, ""});
    c.shapes.push_back(
        {Role::rod_mount, rx, rz, half_mm / 2, 0, deployed ? "rod mount " + drive::mount_text(rod) : std::string()});
    if (deployed) c.shapes.push_back({Role::load, fx, fz, half_mm, 0, ""});
  }
  c.shapes.push_back(
      {Role::ghost, 0, -n.leg.lift_mm, n.leg.foot_out_mm + 4 * half_mm, -n.leg.lift_mm, "foot on the ground"});
  c.shapes.push_back({Role::pivot, px, pz, half_mm / 2, 0, "hip"});
  c.shapes.push_back({Role::base_mount, bx, bz, half_mm / 2, 0, "base mount " + drive::mount_text(base)});
}

void add_notes(const Nominal& n, candidate::Candidate& c) {
  const Stance& s = n.stance;
  const auto deg = [](double rad) { return base::plain(rad * kDegPerRad, 3); };
  const std::string gain = fmt::format("tipping angle {} deg on the feet, {} deg on the wheels alone",
                                       deg(s.feet.tipping_rad), deg(s.wheels.tipping_rad));
  if (n.wants.lifts) {
    c.notes.push_back(fmt::format("lifts the machine {} mm off {}; {}", base::plain(n.leg.lift_mm),
                                  n.wants.legs == 4 ? "its wheels" : "the wheels at the feet's end", gain));
    c.notes.push_back("foot loads for all joints at zero: bring booms in before lifting");
  } else {
    c.notes.push_back(fmt::format("only widens the stance, the wheels stay on the ground; {}", gain));
    // The compromise: what the same legs would have to give to lift.
    Wants lifting = n.wants;
    lifting.lifts = true;
    const Stance lifted = stance_of(n.brief, lifting, n.leg, n.sample[Parameter::mass_factor]);
    const double most_n = n.reached.foot.force_n;
    c.notes.push_back(
        lifted.stands
            ? fmt::format("lifting would take {} N at the most loaded foot; this drive gives {} N",
                          base::plain(lifted.greatest_foot_n, 3), base::plain(most_n, 3))
            : std::string("these feet alone could not lift it: its centre of gravity is outside what would carry it"));
  }
  if (s.feet.area_mm2 <= s.wheels.area_mm2)
    c.notes.push_back(fmt::format("the feet cover {} cm2, the wheels {} cm2: they do not widen the stance",
                                  base::plain(s.feet.area_mm2 / 100, 3), base::plain(s.wheels.area_mm2 / 100, 3)));
  if (n.wants.lifts && n.leg.slip_mm >= 0.1)
    c.notes.push_back(
        fmt::format("a foot slips {} mm inward under load while it lifts", base::plain(n.leg.slip_mm, 2)));
  if (n.leg.foot_miss_mm >= 0.1)
    c.notes.push_back(fmt::format("a leg of whole pitches puts the foot {} mm out, {} mm from where it is wanted",
                                  base::plain(n.leg.foot_out_mm, 4), base::plain(n.leg.foot_miss_mm, 2)));
  c.notes.push_back(n.design.on_shaft == 2
                        ? "one motor for two legs: both screws must start at the same length"
                        : "every leg has its own motor: deploy them together, each alone tilts the machine");
  if (n.wants.load_g <= 0) c.notes.push_back("no load_g: a foot holds the empty machine's weight when it tips");
  if (n.reached.stall_tooth_margin < 1 && !n.design.powertrain.train.stages.empty())
    c.notes.push_back(
        fmt::format("run against a stop, the stalled motor loads the teeth to {} times what they stand: "
                    "set soft end stops",
                    base::plain(1 / n.reached.stall_tooth_margin, 3)));
  c.notes.insert(c.notes.end(), n.leg.notes.begin(), n.leg.notes.end());
  c.notes.push_back("pinch and shear points between leg, actuator and ground");
}

void add_drive(const Nominal& n, candidate::Candidate& c) {
  candidate::Drive d =
      drive::drive_of(n.design.powertrain, n.machine, n.design.drives, n.design.placed ? &*n.design.placed : nullptr);
  d.use = candidate::Drive::Use::stand;
  d.moves = "legs";
  d.plus = "up";
  d.minus = "down";
  d.endless = false;
  d.at = n.problem.angle_rad;
  for (std::size_t i = 0; i < d.at.size(); ++i) {
    d.per_rad.push_back(n.part.lead_mm / (2 * std::numbers::pi) / n.design.mount.travel.lever_mm[i]);
    d.plus_nmm.push_back(n.cycle.stow_nmm[i] * n.design.on_shaft);
    d.minus_nmm.push_back(n.cycle.deploy_nmm[i] * n.design.on_shaft);
  }
  d.plus_free_nmm = d.plus_nmm;  // the load on a foot is the machine itself
  d.minus_free_nmm = d.minus_nmm;
  d.heaviest_nmm = n.reached.torque_nmm;
  d.start = d.at.back();
  d.sense = drive::sense_at_terminal(n.design.placed ? &*n.design.placed : nullptr) * drive::kRodOutCounterClockwise *
            (n.design.mount.travel.lengthens_to_raise ? 1 : -1);
  d.sense_note += "taken that the rod comes out when the actuator's input turns counter-clockwise";
  c.drives = {std::move(d)};
}

}  // namespace

std::string key_of(const Design& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  const Mount& m = d.mount;
  return fmt::format("{} {}x{}|leg {}|base {},{}|rod {},{}|{}", catalogue.at(d.actuator).id, d.drives, d.on_shaft,
                     d.problem->leg.length_p, m.base.x_hp, m.base.z_hp, m.rod.x_hp, m.rod.z_hp,
                     drive::key_of(d.powertrain, catalogue));
}

std::string title_of(const Design& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  return fmt::format("{} legs of {} p, {}; {}, base {} p, rod {} p; {}{}", d.problem->wants.legs,
                     d.problem->leg.length_p, d.on_shaft == 2 ? "joined by cross shafts" : "a motor each",
                     catalogue.at(d.actuator).name, drive::mount_text(d.mount.base), drive::mount_text(d.mount.rod),
                     d.drives > 1 ? fmt::format("{} x ", d.drives) : "", drive::title_of(d.powertrain, catalogue));
}

CrossShaft cross_shaft_of(const drive::Placed& placed, const brief::Brief& brief, const stock::Actuator& part,
                          double torque_nmm, double shear_modulus_mpa, double foot_per_rod) {
  CrossShaft out;
  const routing::Layout& layout = *placed.layout;
  const routing::Place& place = placed.problem->outputs.front().places.front();
  const double half_mm = placed.problem->kit.half_pitch_mm();
  double wheel_mm = 0;
  for (const routing::PlacedMesh& m : layout.meshes) {
    const routing::PlacedWheel& w = layout.wheels[static_cast<std::size_t>(m.driven)];
    if (w.shaft >= 0 && layout.shafts[static_cast<std::size_t>(w.shaft)].output == 0)
      wheel_mm = (w.from_hp + w.to_hp) / 2 * half_mm;
  }
  const structure::Section section = structure::section_of(brief.system().axle);
  const auto twist_rad = [&](const routing::Terminal& t) {
    const double length_mm = std::fabs(t.face.at(t.axis) * half_mm - wheel_mm);
    return structure::twist_rad(section, torque_nmm, length_mm, shear_modulus_mpa);
  };
  const double a = twist_rad(*place.terminal), b = twist_rad(*place.far_terminal);
  const double near_rad = std::min(a, b), far_rad = std::max(a, b);
  out.near_deg = near_rad * kDegPerRad;
  out.far_deg = far_rad * kDegPerRad;
  out.foot_mm = part.lead_mm * (far_rad - near_rad) / (2 * std::numbers::pi) * foot_per_rod;
  // Between the wheel and either actuator there is nothing else on the axle: wherever the joiner stands it is on the
  // way to one of them.
  const auto shaft =
      std::find_if(layout.shafts.begin(), layout.shafts.end(), [](const auto& s) { return s.output == 0; });
  const stock::KitSystem& system = brief.system();
  if (shaft != layout.shafts.end() && system.axle.cross && routing::joint_hp(placed.problem->kit, *shaft)) {
    const double turn_rad =
        structure::joiner_turn_rad(structure::kit_figures(system).axle_diametral_mm.nominal, system.axle.width_mm);
    out.joiner_deg = turn_rad * kDegPerRad;
    out.joiner_foot_mm = part.lead_mm * turn_rad / (2 * std::numbers::pi) * foot_per_rod;
  }
  return out;
}

CrossShaft cross_shaft_of(const Design& design, double torque_nmm, double shear_modulus_mpa) {
  if (!design.placed || design.on_shaft != 2) return {};
  const brief::Brief& brief = *design.problem->brief;
  // da = ds/h, dz = L cos a da
  const LegPose& pose = design.mount.pose.front();
  const double foot_per_rod = design.problem->leg.length_mm * std::cos(pose.angle_rad) / std::fabs(pose.lever_mm);
  return cross_shaft_of(*design.placed, brief, std::get<stock::Actuator>(brief.catalogue->at(design.actuator).data),
                        torque_nmm, shear_modulus_mpa, foot_per_rod);
}

void tell_cross_shaft(const CrossShaft& cross, candidate::Candidate& candidate) {
  candidate.figures.push_back({"wind-up, near actuator", cross.near_deg, "deg"});
  candidate.figures.push_back({"wind-up, far actuator", cross.far_deg, "deg"});
  candidate.figures.push_back({"far foot lags behind by", cross.foot_mm, "mm"});
  if (cross.joiner_deg > 0)
    candidate.figures.push_back({"play between the feet, by the joiner", cross.joiner_foot_mm, "mm"});
}

void present(const Design& design, candidate::Candidate& candidate) {
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
  tell_cross_shaft(cross_shaft_of(design, nominal.cycle.peak_nmm, nominal.sample[Parameter::axle_shear_modulus_mpa]),
                   candidate);
}

}  // namespace functions::stabiliser
