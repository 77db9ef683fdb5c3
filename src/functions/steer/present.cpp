#include "functions/steer/present.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "functions/drive/told_drive.h"
#include "structure/kit_parts.h"

namespace functions::steer {
namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;

/// The nominal state everything shown is taken from.
struct Nominal {
  const Design& design;
  const Problem& problem;
  const Wants& wants;
  const brief::Brief& brief;
  const RodChoice& rods;
  brief::Sample sample;
  drive::Machine machine;
  Reached reached;

  explicit Nominal(const Design& d)
      : design(d),
        problem(*d.problem),
        wants(problem.wants),
        brief(*problem.brief),
        rods(*d.rods),
        sample(brief.parameters.nominal()),
        machine(drive::machine(d.powertrain, brief, sample)),
        reached(
            reach(rods, rods.torque_nmm, d.powertrain, machine, wants, brief, push_moment_nmm(wants, brief, sample))) {}
};

/// Play of a wheel behind a rack: pins of its tie rod, half the kingpin's clearance.
double rack_play_deg(const Nominal& n, bool right) {
  const structure::KitFigures kit = structure::kit_figures(n.brief.system());
  double most = 0;
  for (const RackSpot& s : n.rods.rack_travel.spots)
    most = std::max(
        most, (kit.pin_diametral_mm.nominal + kit.axle_diametral_mm.nominal / 2) / (right ? s.right_mm : s.left_mm));
  return most * kDegPerRad;
}

/// What its tie rods differ from whole pitches turns each wheel in or out.
double toe_deg(const Nominal& n) {
  const Rack& r = *n.rods.rack;
  const auto straight = rack_spot(r, n.problem.axle, 0);
  return straight ? (r.tie_p * n.problem.axle.pitch_mm - tie_mm(r, n.problem.axle)) / straight->left_mm * kDegPerRad
                  : 0;
}

/// What differs between linkages in the figures that both have.
struct Told {
  std::string_view greatest, stalled, push;  ///< names of the torques at the last shaft
  double moment_nmm = 0;                     ///< at a kingpin
  std::vector<candidate::Figure> travel, forces, fit;
  double left_play_deg = 0, right_play_deg = 0;
};

void add_figures(const Nominal& n, const Told& told, candidate::Candidate& c) {
  const Travel& t = n.rods.travel;
  const auto add = [&](const std::vector<candidate::Figure>& more) {
    c.figures.insert(c.figures.end(), more.begin(), more.end());
  };
  c.figures = {
      {"largest angle, inner wheel", n.wants.inner_rad * kDegPerRad, "deg"},
      {"largest angle, outer wheel", t.outer_rad * kDegPerRad, "deg"},
      {"Ackermann error, largest", t.error_rad * kDegPerRad, "deg"},
      {"turning circle between kerbs", n.reached.circle_mm, "mm"},
      {"load of a steered wheel", wheel_load_n(n.wants, n.brief, n.sample[brief::Parameter::mass_factor]), "N"},
      {"moment at a kingpin, standing", told.moment_nmm, "N mm"},
      {std::string(told.greatest), n.reached.peak_nmm, "N mm"},
      {std::string(told.stalled), n.reached.stall_nmm, "N mm"},
  };
  add(told.travel);
  add({{"time from stop to stop, standing", n.reached.time_s, "s"},
       {"time from stop to stop, rolling", n.reached.rolling_s, "s"}});
  add(told.forces);
  add({{"least transmission angle", t.transmission_rad * kDegPerRad, "deg"}});
  add(told.fit);
  add({{"play of the left wheel, either way", told.left_play_deg, "deg"},
       {"play of the right wheel, either way", told.right_play_deg, "deg"},
       {std::string(told.push), n.reached.push_nmm, "N mm"}});
}

Told told_of_rack(const Nominal& n) {
  Told out{"torque at the pinion, greatest",
           "torque at the pinion, motor stalled",
           "torque of a push at the pinion",
           kingpin_moment_nmm(n.wants, n.brief, n.sample),
           {{"rack, from stop to stop", n.rods.rack_travel.travel_mm, "mm"},
            {"pinion turns, from stop to stop", n.rods.travel.range_rad / (2 * std::numbers::pi), ""}},
           {},
           {{"toe of each wheel by the tie rod's holes", toe_deg(n), "deg"}},
           rack_play_deg(n, false),
           rack_play_deg(n, true)};
  double tie_n = 0, rack_n = 0;
  for (const RackSpot& s : n.rods.rack_travel.spots) {
    const RackEffort e = rack_effort(*n.rods.rack, s, out.moment_nmm, pins_in(n.brief, n.sample));
    tie_n = std::max({tie_n, e.left_n, e.right_n});
    rack_n = std::max(rack_n, e.rack_n);
  }
  out.forces = {{"force along the rack, greatest", rack_n, "N"}, {"force in a tie rod", tie_n, "N"}};
  return out;
}

Told told_of_rods(const Nominal& n) {
  const Travel& t = n.rods.travel;
  const structure::KitFigures kit = structure::kit_figures(n.brief.system());
  const auto play_deg = [&](bool right) {
    return wheel_play_rad(t, kit.pin_diametral_mm.nominal, kit.axle_diametral_mm.nominal, right) * kDegPerRad;
  };
  Told out{"torque at the crank, greatest",
           "torque at the crank, motor stalled",
           "torque of a push at the crank",
           kingpin_moment_nmm(n.wants, n.brief, n.sample),
           {{"crank, from stop to stop", t.range_rad * kDegPerRad, "deg"},
            {"motor turns, from stop to stop", t.range_rad / n.machine.ratio / (2 * std::numbers::pi), ""}},
           {},
           {},
           play_deg(false),
           play_deg(true)};
  double drag_n = 0, track_rod_n = 0;
  for (const Spot& s : t.spots) {
    const Effort e = effort_at(s, out.moment_nmm, pins_in(n.brief, n.sample));
    drag_n = std::max(drag_n, e.drag_n);
    track_rod_n = std::max(track_rod_n, e.track_rod_n);
  }
  out.forces = {{"force in the drag link", drag_n, "N"}, {"force in the track rod", track_rod_n, "N"}};
  return out;
}

void add_curves(const Nominal& n, candidate::Candidate& c) {
  candidate::Curve error{"outer wheel against Ackermann", "angle of the inner wheel", "deg", "error", "deg", {}, {}};
  const linkage::Trapezoid t = n.problem.axle.trapezoid(n.rods.rods);
  const auto outer_at = [&](double inner) -> std::optional<double> {
    if (!n.rods.rack) return linkage::outer_angle_rad(t, inner);
    const auto s = rack_spot(*n.rods.rack, n.problem.axle, inner);
    return s ? std::optional(s->right_rad) : std::nullopt;
  };
  error.x.push_back(0);
  error.y.push_back(0);
  for (int k = 1; k < kPositions; ++k) {
    const double inner = n.wants.inner_rad * k / (kPositions - 1);
    const auto outer = outer_at(inner);
    if (!outer) break;
    error.x.push_back(inner * kDegPerRad);
    error.y.push_back((*outer - linkage::ackermann_outer_rad(inner, t.kingpins_mm, n.wants.base_mm)) * kDegPerRad);
  }
  c.curves.push_back(std::move(error));
  const auto over_left = [&](std::string name, std::string y_name, std::string unit, const auto& value) {
    candidate::Curve curve{
        std::move(name), "angle of the left wheel", "deg", std::move(y_name), std::move(unit), {}, {}};
    for (std::size_t i = 0; i < n.rods.travel.spots.size(); ++i) {
      curve.x.push_back(n.rods.travel.spots[i].left_rad * kDegPerRad);
      curve.y.push_back(value(i));
    }
    c.curves.push_back(std::move(curve));
  };
  if (n.rods.rack) {
    over_left("torque at the pinion, standing", "torque", "N mm", [&](std::size_t i) { return n.rods.torque_nmm[i]; });
    over_left("rack", "to the left", "mm", [&](std::size_t i) { return n.rods.rack_travel.spots[i].shift_mm; });
    const double moment_nmm = kingpin_moment_nmm(n.wants, n.brief, n.sample);
    over_left("force along the rack, standing", "force", "N", [&](std::size_t i) {
      return rack_effort(*n.rods.rack, n.rods.rack_travel.spots[i], moment_nmm, pins_in(n.brief, n.sample)).rack_n;
    });
    return;
  }
  over_left("torque at the crank, standing", "torque", "N mm", [&](std::size_t i) { return n.rods.torque_nmm[i]; });
  over_left("crank", "angle of the crank", "deg",
            [&](std::size_t i) { return n.rods.travel.spots[i].crank_rad * kDegPerRad; });
}

/// Plan of the steered axle as seen from above, travel upward.
void add_shapes(const Nominal& n, candidate::Candidate& c) {
  using Role = candidate::Shape::Role;
  const Travel& t = n.rods.travel;
  const double along = n.wants.axle == End::front ? 1 : -1;
  const auto line = [&](Role role, linkage::Vec2 a, linkage::Vec2 b, std::string label) {
    c.shapes.push_back({role, -a.z_mm, n.wants.axle_x_mm + along * a.x_mm, -b.z_mm, n.wants.axle_x_mm + along * b.x_mm,
                        std::move(label)});
  };
  const auto round = [&](Role role, linkage::Vec2 at, double radius, std::string label) {
    c.shapes.push_back({role, -at.z_mm, n.wants.axle_x_mm + along * at.x_mm, radius, 0, std::move(label)});
  };
  const auto wheel = [&](linkage::Vec2 kingpin, double angle, double side, Role role, std::string label) {
    const double cs = std::cos(angle), sn = std::sin(angle), r = n.wants.diameter_mm / 2;
    const linkage::Vec2 middle{kingpin.x_mm - side * n.wants.offset_mm * sn,
                               kingpin.z_mm + side * n.wants.offset_mm * cs};
    line(role, {middle.x_mm - r * cs, middle.z_mm - r * sn}, {middle.x_mm + r * cs, middle.z_mm + r * sn},
         std::move(label));
    line(role, kingpin, middle, "");
  };
  const double pin = n.brief.system().pitch_mm / 4;
  if (n.rods.rack) {
    const Rack& r = *n.rods.rack;
    const double half_mm = n.problem.axle.pitch_mm / 2, kingpin = n.problem.axle.kingpins_hp * half_mm / 2;
    const double at_mm = line_mm(r, n.problem.axle), e = r.half_bar_hp * half_mm;
    const auto plan = [&](const RackSpot& s, bool middle) {
      const Role rod = middle ? Role::moving_beam : Role::ghost;
      for (const int side : {1, -1}) {
        const double rad = side > 0 ? s.left_rad : s.right_rad, x = -r.arm.z_hp * half_mm,
                     y = -side * r.arm.x_hp * half_mm;
        const linkage::Vec2 king{0, side * kingpin};
        const linkage::Vec2 arm{std::cos(rad) * x - std::sin(rad) * y,
                                side * kingpin + std::sin(rad) * x + std::cos(rad) * y};
        const linkage::Vec2 end{at_mm, side * e + s.shift_mm};
        wheel(king, rad, side, middle ? Role::beam : Role::ghost, middle && side > 0 ? "left wheel" : "");
        line(rod, king, arm, "");
        line(middle ? Role::actuator : Role::ghost, arm, end, middle && side > 0 ? "tie rod" : "");
        if (!middle) continue;
        round(Role::pivot, king, pin, side < 0 ? "kingpin" : "");
        round(Role::rod_mount, arm, pin, "");
        round(Role::rod_mount, end, pin, "");
      }
      line(rod, {at_mm, -e + s.shift_mm}, {at_mm, e + s.shift_mm}, middle ? "rack's bar" : "");
    };
    plan(n.rods.rack_travel.spots.front(), false);
    plan(n.rods.rack_travel.spots.back(), false);
    plan(*rack_spot(r, n.problem.axle, 0), true);
    round(Role::base_mount, {r.pinion.x_hp * half_mm, 0}, r.radius_mm, "pinion " + hole_text(r.pinion));
    return;
  }
  const Spot straight = *spot_at(n.rods.rods, n.problem.axle, 0);
  const auto posture = [&](const Spot& s, bool middle) {
    const Ends e = ends_at(n.rods.rods, n.problem.axle, s);
    const Role rod = middle ? Role::moving_beam : Role::ghost;
    wheel(e.left_kingpin, s.left_rad, 1, middle ? Role::beam : Role::ghost, middle ? "left wheel" : "");
    wheel(e.right_kingpin, s.right_rad, -1, middle ? Role::beam : Role::ghost, "");
    line(rod, e.left_kingpin, e.left_arm, "");
    line(rod, e.right_kingpin, e.right_arm, "");
    line(rod, e.left_arm, e.right_arm, middle ? "track rod" : "");
    line(middle ? Role::actuator : Role::ghost, e.crank, e.left_arm, middle ? "drag link" : "");
    line(rod, e.pivot, e.crank, "");
  };
  posture(t.spots.front(), false);
  posture(t.spots.back(), false);
  posture(straight, true);
  const Ends e = ends_at(n.rods.rods, n.problem.axle, straight);
  round(Role::pivot, e.left_kingpin, pin, "");
  round(Role::pivot, e.right_kingpin, pin, "kingpin");
  round(Role::base_mount, e.pivot, pin, "crank pivot " + hole_text(n.rods.rods.pivot));
  round(Role::rod_mount, e.crank, pin, "");
  round(Role::rod_mount, e.left_arm, pin, "");
  round(Role::rod_mount, e.right_arm, pin, "");
}

void add_notes(const Nominal& n, candidate::Candidate& c) {
  const Rods& r = n.rods.rods;
  const bool front = n.wants.axle == End::front;
  c.notes.push_back(
      fmt::format("drawing: plan from above, travel upward; holes counted from the middle of the steered axle, {} and "
                  "left positive",
                  front ? "forward" : "backward"));
  const int back_p = r.arm.z_hp / 2, in_p = r.arm.x_hp / 2;
  if (n.rods.rack) {
    const Rack& k = *n.rods.rack;
    c.notes.push_back(fmt::format(
        "each arm ends {} p {} the axle and {} p {} its kingpin; bar {} holes, tie rods {} holes, {} rack{} on the bar",
        std::abs(back_p), (back_p > 0) == front ? "behind" : "ahead of", std::abs(in_p),
        in_p >= 0 ? "inside of" : "outside of", k.half_bar_hp + 1, k.tie_p + 1, k.racks, k.racks > 1 ? "s" : ""));
    c.notes.push_back(
        fmt::format("the bar stands {} mm {} the axle, the rack's pitch line half a pitch nearer to the pinion "
                    "(assumed): set it with "
                    "the sleeve",
                    base::plain(std::fabs(line_mm(k, n.problem.axle)), 3),
                    (line_mm(k, n.problem.axle) < 0) == front ? "behind" : "ahead of"));
    if (k.racks > 1)
      c.notes.push_back(
          fmt::format("{} racks in line: butt them in mesh with a spare gear so that the pitch goes on", k.racks));
    if (std::fabs(toe_deg(n)) >= 0.1)
      c.notes.push_back(fmt::format("tie rods of whole pitches {} each wheel by {} deg",
                                    (toe_deg(n) > 0) == (back_p > 0) ? "turn in" : "turn out",
                                    base::plain(std::fabs(toe_deg(n)), 2)));
  } else {
    c.notes.push_back(
        fmt::format("each arm ends {} p {} the axle and {} p {} its kingpin; track rod {} holes, drag link {} holes, "
                    "crank {} holes",
                    std::abs(back_p), (back_p > 0) == front ? "behind" : "ahead of", std::abs(in_p),
                    in_p >= 0 ? "inside of" : "outside of", r.track_rod_p + 1, r.drag_p + 1, r.crank_p + 1));
    const double crank_deg = std::remainder(spot_at(r, n.problem.axle, 0)->crank_rad * kDegPerRad, 360);
    c.notes.push_back(
        fmt::format("wheels straight the crank points {} deg from {} to the left: set it by the teeth of its last gear",
                    base::plain(crank_deg, 3), front ? "ahead" : "astern"));
    c.notes.emplace_back(
        "from below: drag link, arms and crank, track rod; one long pin through all three at the left arm");
  }
  if (n.wants.stops == Stops::hard) {
    c.notes.emplace_back("end stops: a pin or beam that each arm meets at its largest angle");
  } else if (n.reached.stop_margin < 1 && (n.rods.rack || !n.design.powertrain.train.stages.empty())) {
    c.notes.push_back(fmt::format(
        "run against a stop, the stalled motor loads the teeth to {} times what they stand: set soft end stops",
        base::plain(1 / n.reached.stop_margin, 3)));
  }
  c.notes.emplace_back(
      "upright kingpins do not centre themselves: the motor must bring the wheels back to straight ahead");
  if (!std::isfinite(n.reached.hold_nmm)) {
    c.notes.emplace_back("the train locks: a kerb cannot turn the wheels, and a knock goes into rods and teeth");
  } else if (n.reached.hold_nmm < n.reached.push_nmm) {
    c.notes.push_back(fmt::format("a push at one tyre brings {} N mm to the {} and turns the motor; {} N mm are held",
                                  base::plain(n.reached.push_nmm), n.rods.rack ? "pinion" : "crank",
                                  base::plain(n.reached.hold_nmm)));
  }
  if (n.wants.axles == 2)
    c.notes.emplace_back(
        "the other axle is the mirror image with a drive of its own; both on one channel, turning opposite");
  c.notes.insert(c.notes.end(), n.wants.assumed.begin(), n.wants.assumed.end());
  if (!n.wants.wheel_load_g) {
    const bool estimate = std::any_of(n.brief.bodies.begin(), n.brief.bodies.end(),
                                      [](const brief::Body& b) { return b.mass_is_estimate; });
    if (estimate) c.notes.emplace_back("the wheel load follows from estimated masses; weigh the machine to narrow it");
  }
  c.notes.emplace_back("pinch points between arms, rods and chassis");
}

void add_drive(const Nominal& n, candidate::Candidate& c) {
  candidate::Drive d =
      drive::drive_of(n.design.powertrain, n.machine, n.wants.axles, n.design.placed ? &*n.design.placed : nullptr);
  d.use = candidate::Drive::Use::steer;
  d.moves = "wheels";
  d.plus = "left";
  d.minus = "right";
  d.endless = false;
  // Wheel angles rise or fall along the spots; the tables want them rising.
  std::vector<std::size_t> order(n.rods.travel.spots.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  const auto& spots = n.rods.travel.spots;
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return spots[a].left_rad < spots[b].left_rad; });
  for (const std::size_t i : order) {
    if (!d.at.empty() && spots[i].left_rad <= d.at.back()) continue;
    d.at.push_back(spots[i].left_rad);
    d.per_rad.push_back(1 / std::fabs(spots[i].crank_turn));
    d.plus_nmm.push_back(n.rods.torque_nmm[i]);
  }
  d.minus_nmm = d.plus_free_nmm = d.minus_free_nmm = d.plus_nmm;
  d.heaviest_nmm = n.rods.peak_nmm;
  d.sense =
      drive::sense_about_axis(n.design.placed ? &*n.design.placed : nullptr) * (spots.front().crank_turn > 0 ? 1 : -1);
  c.drives = {std::move(d)};
}

}  // namespace

std::string hole_text(lattice::Point2 p) {
  return fmt::format("({}, {})", base::plain(p.x_hp / 2.0), base::plain(p.z_hp / 2.0));
}

std::string key_of(const Design& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  if (d.rods->rack) {
    const Rack& k = *d.rods->rack;
    return fmt::format("arm {},{}|{} {} {}|{} x{} bar {} tie {}|{}", k.arm.x_hp, k.arm.z_hp, catalogue.at(k.wheel).id,
                       k.pinion.x_hp, k.side > 0 ? "ahead" : "behind", catalogue.at(k.rack).id, k.racks, k.half_bar_hp,
                       k.tie_p, drive::key_of(d.powertrain, catalogue));
  }
  const Rods& r = d.rods->rods;
  return fmt::format("arm {},{}|crank {},{} {}p|drag {}p {}|{}", r.arm.x_hp, r.arm.z_hp, r.pivot.x_hp, r.pivot.z_hp,
                     r.crank_p, r.drag_p, r.side > 0 ? "left" : "right", drive::key_of(d.powertrain, catalogue));
}

std::string title_of(const Design& d) {
  const stock::Catalogue& catalogue = *d.problem->brief->catalogue;
  if (d.rods->rack) {
    const Rack& k = *d.rods->rack;
    return fmt::format("{} at {} p on {}{}, tie rods of {} p, arms {} p; {}", catalogue.at(k.wheel).name,
                       hole_text(k.pinion), k.racks > 1 ? fmt::format("{} x ", k.racks) : "", catalogue.at(k.rack).name,
                       k.tie_p, base::plain(std::hypot(k.arm.x_hp, k.arm.z_hp) / 2, 3),
                       drive::title_of(d.powertrain, catalogue));
  }
  const Rods& r = d.rods->rods;
  return fmt::format("crank of {} p at {} p, drag link of {} p, arms {} p; {}", r.crank_p, hole_text(r.pivot), r.drag_p,
                     base::plain(std::hypot(r.arm.x_hp, r.arm.z_hp) / 2, 3), drive::title_of(d.powertrain, catalogue));
}

void present(const Design& design, candidate::Candidate& candidate) {
  const Nominal nominal(design);
  add_figures(nominal, design.rods->rack ? told_of_rack(nominal) : told_of_rods(nominal), candidate);
  add_curves(nominal, candidate);
  add_shapes(nominal, candidate);
  add_drive(nominal, candidate);
  add_notes(nominal, candidate);
  if (!design.placed) return;
  drive::tell_place(*design.placed, nominal.brief, candidate);
  drive::tell_loads(design.powertrain, *design.placed, nominal.machine, nominal.brief, nominal.reached.peak_nmm,
                    candidate);
}

}  // namespace functions::steer
