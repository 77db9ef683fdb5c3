#include "functions/luff/present.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "balance/mass.h"
#include "base/text.h"
#include "functions/drive/told_drive.h"

namespace functions::luff {

namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;

Mounted mounted_of(const Design&, const brief::Sample& nominal, const Friction&);

/// The nominal state everything shown is taken from.
struct Nominal {
  const Design& design;
  const Problem& problem;
  const brief::Brief& brief;
  const stock::Actuator& part;
  brief::Sample sample;
  drive::Machine machine;
  Friction friction;
  std::shared_ptr<const Mounted> mounted;
  const Cycle& cycle;
  Reached reached;

  explicit Nominal(const Design& d)
      : design(d),
        problem(*d.problem),
        brief(*problem.brief),
        part(std::get<stock::Actuator>(brief.catalogue->at(d.actuator).data)),
        sample(brief.parameters.nominal()),
        machine(drive::machine(d.powertrain, brief, sample)),
        friction(friction_in(brief, part, sample)),
        mounted(problem.mounts->at(d.actuator, d.base, d.rod, [&] { return mounted_of(d, sample, friction); })),
        cycle(mounted->cycle),
        reached(reach(brief, part, d.actuators, d.geometry, cycle, drive::screw_in(part, sample), d.powertrain, machine,
                      drive::speed_line(machine))) {}

  [[nodiscard]] double degrees(std::size_t i) const { return problem.moments.angle_rad[i] * kDegPerRad; }
};

/// Rod force by the moment alone, as placements are compared: worst over both extremes of the load.
double peak_force_n(const Design& d, const brief::Sample& sample) {
  const Problem& problem = *d.problem;
  double peak_n = 0;
  for (std::size_t i = 0; i < problem.moments.size(); ++i) {
    const MomentTable::Row row = problem.moments.row(i, sample[brief::Parameter::mass_factor]);
    peak_n = std::max(
        {peak_n, std::fabs(row.most_nmm) / d.geometry.lever_mm[i], std::fabs(row.least_nmm) / d.geometry.lever_mm[i]});
  }
  return peak_n;
}

void add_figures(const Nominal& n, candidate::Candidate& c) {
  const Geometry& g = n.design.geometry;
  const double usable_mm = n.part.open_mm - n.part.closed_mm;
  const auto [shortest, longest] = std::minmax(g.length_mm.front(), g.length_mm.back());
  const double pitch_mm = n.brief.system().pitch_mm;
  c.figures = {
      {"time to raise", n.reached.raise_s, "s"},
      {"time to lower", n.reached.lower_s, "s"},
      {"greatest force", n.reached.force_needed_n, "N"},
      {"force by the motor", n.reached.force_by_motor_n, "N"},
      {"force the actuator takes", n.reached.force_by_body_n, "N"},
      {"torque at the actuator's input", n.reached.torque_nmm, "N mm"},
      {"shortest length", shortest, "mm"},
      {"longest length", longest, "mm"},
      {"stroke used", g.stroke_mm, "mm"},
      {"share of the stroke", usable_mm > 0 ? 100 * g.stroke_mm / usable_mm : 0, "%"},
      {"least lever arm", g.least_lever_mm, "mm"},
      {"actuator clears the pivot's axle by", g.least_lever_mm - n.problem.wants.clear_lever_mm, "mm"},
      {"base mount from pivot, forward", n.design.base.x_hp * pitch_mm / 2, "mm"},
      {"base mount from pivot, up", n.design.base.z_hp * pitch_mm / 2, "mm"},
      {"rod mount from pivot, along the boom", n.design.rod.x_hp * pitch_mm / 2, "mm"},
      {"rod mount from pivot, above the boom", n.design.rod.z_hp * pitch_mm / 2, "mm"},
      {"greatest moment about the pivot",
       *std::max_element(n.problem.moments.at[1].most_nmm.begin(), n.problem.moments.at[1].most_nmm.end()), "N mm"},
  };
}

void add_curves(const Nominal& n, candidate::Candidate& c) {
  const Geometry& g = n.design.geometry;
  const std::size_t count = g.length_mm.size();
  std::vector<double> angle;
  angle.reserve(count);
  for (std::size_t i = 0; i < count; ++i) angle.push_back(n.degrees(i));
  const auto add = [&](std::string name, std::string y_name, std::string y_unit, const auto& value) {
    candidate::Curve curve{std::move(name), "angle", "deg", std::move(y_name), std::move(y_unit), angle, {}};
    curve.y.reserve(count);
    for (std::size_t i = 0; i < count; ++i) curve.y.push_back(value(i));
    c.curves.push_back(std::move(curve));
  };
  const double stall_nmm = drive::stall_torque_nmm(n.machine);
  const auto speed_mm_s = [&](double torque_nmm) {
    return drive::quick_state(n.machine, torque_nmm).speed_rad_s * n.part.lead_mm / (2 * std::numbers::pi);
  };
  add("force needed", "force", "N", [&](std::size_t i) { return n.cycle.force_n[i]; });
  add("force available", "force", "N", [&](std::size_t i) {
    const double asked_nmm = std::max(n.cycle.raise_nmm[i], n.cycle.lower_nmm[i]);
    const double by_motor_n = asked_nmm > 0 ? n.cycle.force_n[i] * stall_nmm / asked_nmm : n.reached.force_by_body_n;
    return std::min(by_motor_n, n.reached.force_by_body_n);
  });
  add("lever arm", "lever arm", "mm", [&](std::size_t i) { return g.lever_mm[i]; });
  add("actuator length", "length", "mm", [&](std::size_t i) { return g.length_mm[i]; });
  add("rod speed raising", "speed", "mm/s", [&](std::size_t i) { return speed_mm_s(n.cycle.raise_nmm[i]); });
  add("rod speed lowering", "speed", "mm/s", [&](std::size_t i) { return speed_mm_s(n.cycle.lower_nmm[i]); });
}

/// Moments about the pivot that the stalled motor, the actuators' bodies and the teeth hold over the travel.
void add_holdings(const Nominal& n, candidate::Candidate& c) {
  const Geometry& g = n.design.geometry;
  const Wants& w = n.problem.wants;
  const double weight_n = n.problem.moments.weight_n(n.sample[brief::Parameter::mass_factor]);
  const double circle_mm = n.friction.pin * n.friction.pin_radius_mm;
  const bool knuckle = n.brief.bodies[static_cast<std::size_t>(w.parent)].joint.type == brief::Joint::Type::pitch;
  using Limit = candidate::Holding::Limit;
  const auto add = [&](Limit limit, const char* name, const char* margin, double rod_n) {
    if (!std::isfinite(rod_n)) return;
    candidate::Holding h{limit, name, w.body, n.problem.moments.angle_rad, {}, margin};
    h.holds.reserve(g.lever_mm.size());
    for (std::size_t i = 0; i < g.lever_mm.size(); ++i) {
      const double held_nmm = rod_n * (g.lever_mm[i] - circle_mm * (g.eyes[i] + 1)) - circle_mm * weight_n;
      h.holds.push_back(std::max(0.0, held_nmm) * n.problem.sides);
    }
    c.holdings.push_back(std::move(h));
  };
  const auto by_torque_n = [&](double torque_nmm) {
    return n.friction.raise_nmm_per_n > 0 ? torque_nmm / n.friction.raise_nmm_per_n
                                          : std::numeric_limits<double>::infinity();
  };
  const Limit own = knuckle ? Limit::knuckle : Limit::luff;
  add(own, "motor, stalled", "force", by_torque_n(drive::stall_torque_nmm(n.machine)));
  add(own, "actuator", "force", n.reached.force_by_body_n);
  if (!n.design.powertrain.train.stages.empty())
    add(Limit::tooth, "teeth", "tooth", by_torque_n(n.reached.tooth_margin * n.reached.torque_nmm));
  if (n.problem.booms == nullptr) return;
  Booms::InPlane beams = n.problem.booms->in_plane(n.design.base, n.design.rod, n.design.actuators);
  if (beams.at_rad.empty()) return;
  for (double& holds_nmm : beams.holds_nmm) holds_nmm *= n.problem.sides;
  for (double& give : beams.rad_per_nmm) give /= n.problem.sides;
  c.holdings.push_back({Limit::structure, beams.weakest, w.body, beams.at_rad, std::move(beams.holds_nmm), ""});
  c.gives.push_back({w.body, beams.at_rad, std::move(beams.rad_per_nmm)});
}

/// What moving the rod mount half a pitch further out does, or why it cannot be done.
std::string adjustment(const Nominal& n) {
  const Geometry& g = n.mounted->further;
  const auto [shortest, longest] = std::minmax(g.length_mm.front(), g.length_mm.back());
  const double clear = n.problem.wants.end_clearance_mm;
  const std::string& to = n.mounted->further_rod;
  if (longest > n.part.open_mm - clear)
    return fmt::format("moving the rod mount half a pitch out, to {}, would need {} mm more length", to,
                       base::plain(longest - (n.part.open_mm - clear), 3));
  if (shortest < n.part.closed_mm + clear)
    return fmt::format("moving the rod mount half a pitch out, to {}, would need {} mm less length", to,
                       base::plain(n.part.closed_mm + clear - shortest, 3));
  const Reached r =
      reach(n.brief, n.part, n.design.actuators, g, n.mounted->further_cycle, drive::screw_in(n.part, n.sample),
            n.design.powertrain, n.machine, drive::speed_line(n.machine));
  return fmt::format("to adjust: rod mount half a pitch out, at {}: {} N instead of {} N, {} s instead of {} s", to,
                     base::plain(r.force_needed_n, 3), base::plain(n.reached.force_needed_n, 3),
                     base::plain(std::max(r.raise_s, r.lower_s), 3),
                     base::plain(std::max(n.reached.raise_s, n.reached.lower_s), 3));
}

/// Beams, actuator and mounts at both ends of the travel and in its middle.
std::vector<candidate::Shape> shapes_of(const Design& d, const std::string& base, const std::string& rod) {
  const Problem& problem = *d.problem;
  std::vector<candidate::Shape> out;
  using Role = candidate::Shape::Role;
  const brief::Body& body = problem.brief->bodies[static_cast<std::size_t>(problem.wants.body)];
  const double half_mm = problem.brief->system().pitch_mm / 2;
  const double px = body.joint.pivot_mm.x_mm, pz = body.joint.pivot_mm.z_mm;
  const double bx = px + d.base.x_hp * half_mm, bz = pz + d.base.z_hp * half_mm;
  const double rx = d.rod.x_hp * half_mm, rz = d.rod.z_hp * half_mm;
  double tx = problem.wants.load_at_mm[0] - px, tz = problem.wants.load_at_mm[2] - pz;
  if (problem.wants.load_g <= 0) {
    tx = 2 * (body.centre_mm.x_mm - px);
    tz = 2 * (body.centre_mm.z_mm - pz);
  }
  out.push_back({Role::beam, px, pz, bx, bz, ""});
  const double low = problem.wants.low_rad, high = problem.wants.high_rad;
  struct Posture {
    double angle_rad;
    const char* name;
  };
  for (const Posture& p : {Posture{low, "low"}, Posture{high, "high"}, Posture{(low + high) / 2, "middle"}}) {
    const bool middle = p.angle_rad > low && p.angle_rad < high;
    const double cs = std::cos(p.angle_rad), sn = std::sin(p.angle_rad);
    const auto turned_x = [&](double x, double z) { return px + x * cs - z * sn; };
    const auto turned_z = [&](double x, double z) { return pz + x * sn + z * cs; };
    out.push_back({middle ? Role::moving_beam : Role::ghost, px, pz, turned_x(tx, tz), turned_z(tx, tz),
                   middle ? body.id : fmt::format("{}, {}", body.id, p.name)});
    out.push_back({middle ? Role::actuator : Role::ghost, bx, bz, turned_x(rx, rz), turned_z(rx, rz), ""});
    out.push_back({Role::rod_mount, turned_x(rx, rz), turned_z(rx, rz), half_mm / 2, 0,
                   middle ? "rod mount " + rod : std::string()});
    if (middle && problem.wants.load_g > 0)
      out.push_back({Role::load, turned_x(tx, tz), turned_z(tx, tz), half_mm, 0,
                     fmt::format("{} g", base::plain(problem.wants.load_g))});
  }
  out.push_back({Role::pivot, px, pz, half_mm / 2, 0, "pivot"});
  out.push_back({Role::base_mount, bx, bz, half_mm / 2, 0, "base mount " + base});
  return out;
}

/// Which side of the pivot the actuator passes, what that means, and what the other side would give.
std::string side_text(const Design& d, const brief::Sample& sample) {
  const Problem& problem = *d.problem;
  const Geometry& g = d.geometry;
  const bool below = g.lengthens_to_raise != problem.wants.reaches_back;
  const SideFound& other = below ? problem.above : problem.below;
  const std::string& body = problem.brief->bodies[static_cast<std::size_t>(problem.wants.body)].id;
  const double frictionless_n = peak_force_n(d, sample);
  std::string out = fmt::format(
      "the actuator passes {} the pivot of {}: it {} to raise it and the load {} it ({} N without friction, lever arm "
      "{} mm at least, stroke {} mm)",
      below ? "below" : "above", body, below ? "lengthens" : "shortens", below ? "pushes on" : "pulls on",
      base::plain(frictionless_n, 3), base::plain(g.least_lever_mm, 3), base::plain(g.stroke_mm, 3));
  const std::string there = below ? "above it, pulled" : "below it, pushed";
  if (problem.wants.side != linkage::Side::either) return out + fmt::format("; that side was asked for");
  if (!other.best)
    return out + fmt::format("; {}, no mount serves: {}", there,
                             other.miss.empty() ? "the regions have none there" : other.miss);
  const linkage::Placement& b = *other.best;
  std::vector<std::string> gains;
  const auto gain = [&](double here, double best, bool more, const char* what) {
    if (more ? here > best * 1.01 : here < best * 0.99) gains.emplace_back(what);
  };
  gain(frictionless_n, b.peak_force_n, false, "less force");
  gain(g.least_lever_mm, b.min_lever_mm, true, "more lever arm");
  gain(g.stroke_mm, b.stroke_mm, false, "less stroke");
  return out + fmt::format("; {}, the least force is {} N (lever arm {} mm, stroke {} mm): {}", there,
                           base::plain(b.peak_force_n, 3), base::plain(b.min_lever_mm, 3), base::plain(b.stroke_mm, 3),
                           gains.empty() ? "hardly any difference, so drive and room decide"
                                         : "this one has " + base::list_text(gains, "and"));
}

Mounted mounted_of(const Design& d, const brief::Sample& nominal, const Friction& friction) {
  const Problem& problem = *d.problem;
  const double mass_factor = nominal[brief::Parameter::mass_factor];
  const lattice::Point2 further{d.rod.x_hp + (d.rod.x_hp >= 0 ? 1 : -1), d.rod.z_hp};
  Mounted out;
  out.cycle = cycle_of(d.geometry, problem.moments, mass_factor, friction);
  out.free = cycle_of(d.geometry, problem.free_moments, mass_factor, friction);
  out.further = drive::travel_of(drive::triangle_of(d.base, further, problem.brief->system().pitch_mm),
                                 problem.moments.angle_rad);
  out.further_cycle = cycle_of(out.further, problem.moments, mass_factor, friction);
  out.further_rod = drive::mount_text(further);
  out.side = side_text(d, nominal);
  out.shapes = shapes_of(d, drive::mount_text(d.base), drive::mount_text(d.rod));
  return out;
}

/// What hangs on this stage and is served by other functions.
void add_stage_notes(const Nominal& n, candidate::Candidate& c) {
  const Wants& w = n.problem.wants;
  if (!w.load_from.empty())
    c.notes.push_back(
        fmt::format("the {} g that \"{}\" raises hang on this pivot too", base::plain(w.load_g), w.load_from));
  if (w.carried_drives.empty()) return;
  const auto lightest_g = [&](stock::Family family) {
    double least_g = 0;
    for (const stock::ClassId id : n.brief.catalogue->of(family)) {
      const double mass_g = n.brief.catalogue->at(id).mass_g.value.nominal;
      if (n.brief.stock->count_of(id) > 0 && (least_g == 0 || mass_g < least_g)) least_g = mass_g;
    }
    return least_g;
  };
  const double drive_g = lightest_g(stock::Family::motor) + lightest_g(stock::Family::actuator);
  const brief::Body& body = n.brief.bodies[static_cast<std::size_t>(w.body)];
  for (const std::string& id : w.carried_drives)
    c.notes.push_back(fmt::format(
        "motor and actuator of \"{}\" ride on {}: at least {} g, which its {} of {} g must contain; every 10 g at its "
        "centre add {} N mm to the moment",
        id, body.id, base::plain(drive_g, 3), body.mass_is_estimate ? "estimate" : "mass",
        base::plain(body.mass_g.nominal, 3),
        base::plain(balance::weight_n(10) * std::fabs(body.centre_mm.x_mm - body.joint.pivot_mm.x_mm), 3)));
}

/// "53 % play at the pivot, 28 % bending of the beams": what makes at least a hundredth.
std::string shares_text(const structure::GaugeReport& gauge) {
  std::vector<std::string> out;
  for (const SwayShare& share : shares_of(gauge)) {
    if (share.percent >= 1) out.push_back(fmt::format("{} % {}", base::plain(share.percent, 2), share.source));
  }
  return base::list_text(out, "and");
}

/// An actuator that passes so near to the pivot that an axle through it is in its way.
void add_pivot_note(const Nominal& n, candidate::Candidate& c) {
  const Wants& w = n.problem.wants;
  const double short_mm = w.clear_lever_mm - n.design.geometry.least_lever_mm;
  if (short_mm <= 1e-6) return;
  c.notes.push_back(fmt::format(
      "an axle through the pivot of {} would stand {} mm in the actuator's way: turn it on two short axles, one at "
      "either side, or ask for min_lever_mm = {}",
      n.brief.bodies[static_cast<std::size_t>(w.body)].id, base::plain(short_mm, 3),
      base::plain(std::ceil(10 * w.clear_lever_mm - 1e-9) / 10)));
}

void add_sway(const Nominal& n, candidate::Candidate& c) {
  if (!n.design.sway) return;
  const Gauged& s = *n.design.sway;
  const Booms& booms = *n.problem.booms;
  if (s.fault) {
    c.notes.push_back("sway could not be judged: " + *s.fault);
    return;
  }
  const double sway_mm = s.value_mm(n.sample);
  const double rock_deg = std::atan2(sway_mm, s.reach_mm) * kDegPerRad;
  c.figures.push_back({"sway at the load, to either side", sway_mm, "mm"});
  c.figures.push_back({"rock angle, to either side", rock_deg, "deg"});
  c.figures.push_back({"boom's beams, axles, pins and bushes", booms.parts_mass_g(s.boom), "g"});
  for (const SwayShare& share : shares_of(s.report.sway)) {
    if (std::fabs(share.percent) >= 0.01)
      c.figures.push_back({fmt::format("sway from {}", share.source), share.percent, "%"});
  }
  c.notes.push_back(fmt::format(
      "on a slope of {} deg the load sways {} mm to either side (rock angle {} deg){}: {}",
      base::plain(n.problem.wants.side_slope_deg), base::plain(sway_mm, 3), base::plain(rock_deg, 2),
      booms.stage_beyond() ? ", the stage beyond taken as stiff and stretched out" : "", shares_text(s.report.sway)));
  const std::shared_ptr<const Gauged> sag = booms.sag(n.design.base, n.design.rod, n.design.actuators);
  if (!sag->fault) {
    c.figures.push_back({"sag at the load", sag->value_mm(n.sample), "mm"});
    c.notes.push_back(
        fmt::format("the load sags {} mm with the boom at {} deg: {}", base::plain(sag->value_mm(n.sample), 3),
                    base::plain(std::fabs(sag->load.luff_rad) * kDegPerRad, 3), shares_text(sag->report.sag)));
  }
  for (const TriedRemedy& r : booms.remedies(n.design.base, n.design.rod, n.design.actuators)) {
    if (!r.possible) {
      c.notes.push_back(fmt::format("{} was tried against the sway: {}", r.name, r.what));
      continue;
    }
    c.figures.push_back({fmt::format("sway cut by {}", r.name), 100 * r.cut, "%"});
    const std::string missing = r.lacking.empty() ? "" : fmt::format("; the stock lacks {}", r.lacking);
    c.notes.push_back(r.cut > 0.005
                          ? fmt::format("{} cuts the sway by {} %, to {} mm ({}){}", r.name,
                                        base::plain(100 * r.cut, 2), base::plain(r.after_mm, 3), r.what, missing)
                          : fmt::format("{} does not help against the sway ({})", r.name, r.what));
  }
  c.notes.insert(c.notes.end(), booms.notes().begin(), booms.notes().end());
}

void add_drive(const Nominal& n, candidate::Candidate& c) {
  candidate::Drive d =
      drive::drive_of(n.design.powertrain, n.machine, n.problem.sides, n.design.placed ? &*n.design.placed : nullptr);
  d.use = candidate::Drive::Use::raise;
  d.moves = n.brief.bodies[static_cast<std::size_t>(n.problem.wants.body)].id;
  d.plus = "up";
  d.minus = "down";
  d.body = n.problem.wants.body;
  d.endless = false;
  const Geometry& g = n.design.geometry;
  const Cycle& free = n.mounted->free;
  d.at = n.problem.moments.angle_rad;
  d.per_rad.reserve(g.lever_mm.size());
  for (const double lever_mm : g.lever_mm) d.per_rad.push_back(n.part.lead_mm / (2 * std::numbers::pi) / lever_mm);
  d.plus_nmm = n.cycle.raise_nmm;
  d.minus_nmm = n.cycle.lower_nmm;
  d.plus_free_nmm = free.raise_nmm;
  d.minus_free_nmm = free.lower_nmm;
  d.heaviest_nmm = n.cycle.peak_torque_nmm;
  d.start = d.at.front();
  d.sense = drive::sense_at_terminal(n.design.placed ? &*n.design.placed : nullptr) * drive::kRodOutCounterClockwise *
            (g.lengthens_to_raise ? 1 : -1);
  d.sense_note += "taken that the rod comes out when the actuator's input turns counter-clockwise";
  c.drives = {std::move(d)};
}

void add_notes(const Nominal& n, candidate::Candidate& c) {
  c.notes.push_back(n.mounted->side);
  add_stage_notes(n, c);
  add_pivot_note(n, c);
  add_sway(n, c);
  if (n.design.actuators > 1)
    c.notes.push_back(fmt::format("{} actuators side by side on one shaft: both screws must start at the same length",
                                  n.design.actuators));
  c.notes.push_back(adjustment(n));
  const Extremes& load = n.problem.moments.at[1];
  const auto worst = std::max_element(load.most_nmm.begin(), load.most_nmm.end());
  const auto at = static_cast<std::size_t>(worst - load.most_nmm.begin());
  const std::array<double, 2> parent = parent_range_rad(n.brief, n.problem.wants.body);
  if (parent[1] > parent[0])
    c.notes.push_back(fmt::format("heaviest with the stage below at {} deg and this one at {} deg: {} N mm",
                                  base::plain(load.most_parent_rad[at] * kDegPerRad, 3), base::plain(n.degrees(at), 3),
                                  base::plain(*worst)));
  const double least = *std::min_element(load.least_nmm.begin(), load.least_nmm.end());
  if (least < 0 && *worst > 0)
    c.notes.push_back(
        fmt::format("the load passes over the pivot ({} to {} N mm): the actuator both pushes and pulls, "
                    "and its play is felt where the sign changes",
                    base::plain(least), base::plain(*worst)));
  if (n.problem.moments.any_estimate)
    c.notes.push_back("some masses are estimates; weigh the moved bodies to narrow the margins");
  if (n.reached.stall_tooth_margin < 1 && !n.design.powertrain.train.stages.empty())
    c.notes.push_back(
        fmt::format("run against a stop, the stalled motor loads the teeth to {} times what they stand: "
                    "set soft end stops",
                    base::plain(1 / n.reached.stall_tooth_margin, 3)));
  if (!n.problem.wants.hold && n.reached.hold_reached < n.reached.hold_needed)
    c.notes.push_back("sinks when the motor is off");
  c.notes.push_back("pinch and shear points between actuator and boom");
}

}  // namespace

std::string key_of(const Design& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  return fmt::format("{} x{}|base {},{}|rod {},{}|{}", catalogue.at(d.actuator).id, d.actuators, d.base.x_hp,
                     d.base.z_hp, d.rod.x_hp, d.rod.z_hp, drive::key_of(d.powertrain, catalogue));
}

std::string title_of(const Design& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  return fmt::format("{}{}, base {} p, rod {} p; {}", d.actuators > 1 ? fmt::format("{} x ", d.actuators) : "",
                     catalogue.at(d.actuator).name, drive::mount_text(d.base), drive::mount_text(d.rod),
                     drive::title_of(d.powertrain, catalogue));
}

void present(const Design& design, candidate::Candidate& candidate) {
  const Nominal nominal(design);
  add_figures(nominal, candidate);
  add_curves(nominal, candidate);
  add_holdings(nominal, candidate);
  add_drive(nominal, candidate);
  candidate.shapes = nominal.mounted->shapes;
  add_notes(nominal, candidate);
  if (!design.placed) return;
  drive::tell_place(*design.placed, nominal.brief, candidate);
  drive::tell_loads(design.powertrain, *design.placed, nominal.machine, nominal.brief, nominal.reached.torque_nmm,
                    candidate);
}

}  // namespace functions::luff
