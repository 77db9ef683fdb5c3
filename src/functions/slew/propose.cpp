// The search: turntable x where the train ends (on the ring, or by a bevel pair or a worm on the slewing axle) x
// powertrain with up to `most_stages` meshes.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <utility>
#include <vector>

#include "base/text.h"
#include "functions/drive/placing.h"
#include "functions/drive/route_kit.h"
#include "functions/drive/running.h"
#include "functions/drive/told_drive.h"
#include "functions/slew/evaluate.h"
#include "functions/slew/slew.h"
#include "motor/motor.h"

namespace functions::slew {
namespace {

using brief::Parameter;
using candidate::Candidate;
using candidate::RejectionLog;

constexpr double kRpmPerRadS = 30 / std::numbers::pi;
constexpr std::string_view kWrongEnd = "another end";

/// One way to end the train.
struct Ending {
  Final final = Final::outer;
  stock::ClassId last_driven{};
};

bool ends_as(const gearing::Train& train, Final final) {
  if (train.stages.empty()) return false;
  const gearing::MeshType type = train.stages.back().type;
  switch (final) {
    case Final::outer:
      return type == gearing::MeshType::ring_outer;
    case Final::inner:
      return type == gearing::MeshType::ring_inner;
    case Final::bevel:
      return type == gearing::MeshType::bevel;
    case Final::worm:
      return type == gearing::MeshType::worm;
    case Final::any:
      return true;
  }
  return false;
}

/// The same meshes with the wanted one last, where the train has one that drives `last`; ratio and losses do not
/// depend on the order, so what the search promised of the train still holds.
gearing::Train finished(gearing::Train train, const Ending& ending) {
  if (ends_as(train, ending.final) || ending.final == Final::outer || ending.final == Final::inner) return train;
  const auto wanted = std::find_if(train.stages.begin(), train.stages.end(), [&](const gearing::Stage& s) {
    const gearing::MeshType type = ending.final == Final::bevel ? gearing::MeshType::bevel : gearing::MeshType::worm;
    return s.type == type && s.driven == ending.last_driven;
  });
  if (wanted != train.stages.end()) std::rotate(wanted, wanted + 1, train.stages.end());
  return train;
}

/// Rings this function may use, in catalogue order; says why there is none.
std::vector<stock::ClassId> rings(const Wants& wants, const brief::Brief& brief, const brief::Function& fn,
                                  RejectionLog& log) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::ring)) {
    const stock::PartClass& part = brief.catalogue->at(id);
    if (!std::holds_alternative<stock::Ring>(part.data) || !drive::allowed(fn, id)) continue;
    if (!wants.ring.empty() && part.id != wants.ring) continue;
    const int have = brief.stock->count_of(id);
    if (have >= fn.sides) {
      out.push_back(id);
      continue;
    }
    log.add("slew.too_few_rings", fn.sides - have, "pieces",
            [&] { return fmt::format("{}: {} needed, the stock has {}", part.name, fn.sides, have); });
  }
  if (out.empty())
    log.add("slew.no_ring", fn.sides, "pieces",
            [] { return std::string("no turntable in the stock that this function may use"); });
  return out;
}

/// Driven gears a bevel pair or a worm could turn on the slewing axle, in catalogue order.
std::vector<Ending> endings(const Wants& wants, const brief::Brief& brief, const brief::Function& fn,
                            stock::ClassId ring_id) {
  std::vector<Ending> out;
  const auto asked = [&](Final f) { return wants.final == Final::any || wants.final == f; };
  const auto& ring = std::get<stock::Ring>(brief.catalogue->at(ring_id).data);
  if (asked(Final::outer) && ring.outer_teeth > 0) out.push_back({Final::outer, ring_id});
  if (asked(Final::inner) && ring.inner_teeth > 0) out.push_back({Final::inner, ring_id});
  bool worms = false;
  std::vector<stock::ClassId> gears;
  for (std::size_t i = 0; i < brief.catalogue->classes.size(); ++i) {
    const stock::ClassId id{static_cast<int>(i)};
    const auto* gear = std::get_if<stock::Gear>(&brief.catalogue->at(id).data);
    if (gear == nullptr || brief.stock->count_of(id) < fn.sides || !drive::allowed(fn, id)) continue;
    worms = worms || gear->form == stock::GearForm::worm;
    gears.push_back(id);
  }
  for (const stock::ClassId id : gears) {
    const auto& gear = std::get<stock::Gear>(brief.catalogue->at(id).data);
    const bool bevel = gear.form == stock::GearForm::bevel || (gear.form == stock::GearForm::spur && gear.bevelled_too);
    if (asked(Final::bevel) && bevel) out.push_back({Final::bevel, id});
  }
  for (const stock::ClassId id : gears) {
    const auto& gear = std::get<stock::Gear>(brief.catalogue->at(id).data);
    if (asked(Final::worm) && worms && gear.form == stock::GearForm::spur) out.push_back({Final::worm, id});
  }
  return out;
}

drive::Query query_for(const Ending& ending, int most_stages) {
  drive::Query query;
  query.train.max_stages = most_stages;
  query.train.last_driven = ending.last_driven;
  switch (ending.final) {
    case Final::outer:
    case Final::inner:
    case Final::any:
      query.train.end_on_ring = true;
      break;
    case Final::bevel:
      break;
    case Final::worm:
      query.train.worm = gearing::WormRule::required;
      break;
  }
  return query;
}

void add_figures(Candidate& c, const Variant& v, const Wants& wants, const brief::Brief& brief) {
  const brief::Sample nominal = brief.parameters.nominal();
  const Need need = needed(wants, brief, v.bearing_radius_mm, nominal);
  const drive::Machine m = drive::machine(v.powertrain, brief, nominal);
  const drive::QuickState run = drive::quick_state(m, need.running_nmm());
  const double rpm = run.speed_rad_s * kRpmPerRadS;
  c.figures.push_back({"speed", rpm, "rpm"});
  if (rpm > 0) c.figures.push_back({"time for 90 deg", 15 / rpm, "s"});
  c.figures.push_back({"bearing friction", need.friction_nmm, "N mm"});
  c.figures.push_back({"torque of the slope", need.slope_nmm, "N mm"});
  c.figures.push_back({"torque to start", need.start_nmm, "N mm"});
  c.figures.push_back({"overturning moment", need.overturning_nmm, "N mm"});
  if (wants.rope_mm > 0) {
    c.figures.push_back({"swing of the load after a stop",
                         stop_swing_mm(run.speed_rad_s * wants.radius_mm, wants.rope_mm, wants.start_s), "mm"});
  }
  if (wants.slope_deg <= 0) return;
  candidate::Curve curve{"torque over slew angle", "slew angle from downhill", "deg", "torque", "N mm", {}, {}};
  for (int deg = 0; deg <= 360; deg += 15) {
    curve.x.push_back(deg);
    curve.y.push_back(need.friction_nmm + need.slope_nmm * std::sin(deg * std::numbers::pi / 180));
  }
  c.curves.push_back(std::move(curve));
}

void add_notes(Candidate& c, const Variant& v, const Wants& wants, const Ending& ending, const brief::Brief& brief) {
  const brief::Sample nominal = brief.parameters.nominal();
  const drive::Machine m = drive::machine(v.powertrain, brief, nominal);
  const Need need = needed(wants, brief, v.bearing_radius_mm, nominal);
  if (ending.final == Final::bevel || ending.final == Final::worm) {
    c.notes.emplace_back(
        "the driven gear sits on the slewing axle and is held on one side only; hold both sides and its teeth stand "
        "more");
  }
  if (m.backward <= 0) {
    c.notes.emplace_back("the train locks: it holds anywhere, and a knock on the boom goes into the teeth");
  } else if (need.friction_nmm > need.slope_nmm && need.slope_nmm > 0) {
    c.notes.emplace_back("the bearing's friction alone holds it; a smoother bearing would let it turn back");
  }
  const drive::State s = drive::state(v.powertrain, m, brief.system(), need.starting_nmm());
  if (s.stall_tooth_margin < 1 && s.weakest_stage >= 0) {
    c.notes.push_back(fmt::format("stalled against a stop the motor overloads {}: stop it before its end",
                                  gearing::stage_name(v.powertrain.train, s.weakest_stage)));
  }
}

/// The ring at the pivot of the moved body; or, for an ending on the slewing axle, that axle held in the other body.
/// Carried by the moved body the drive stands on the ring and walks round it, otherwise it hangs below.
std::shared_ptr<const drive::Site> site_for(const Wants& wants, const Ending& ending, stock::ClassId ring_id,
                                            const drive::Placers& placers, const brief::Brief& brief,
                                            const brief::Function& fn) {
  auto site = std::make_shared<drive::Site>(drive::site_of(brief, fn, fn.body));
  const drive::BodyLattice lattice = drive::lattice_of(brief, fn.body);
  const bool on_top = lattice.body == drive::lattice_of(brief, wants.body).body;
  const brief::Body& moved = brief.bodies[static_cast<std::size_t>(wants.body)];
  const lattice::Point3 pivot = lattice.nearest(moved.joint.pivot_mm, "the pivot of " + moved.id, site->notes);
  const auto& wheels = placers.kit().wheels;
  const auto ring = std::find_if(wheels.begin(), wheels.end(),
                                 [&](const routing::Wheel& w) { return w.id == stock::index(ring_id); });
  routing::Output out;
  out.name = "turntable";
  routing::Place place;
  place.axis = lattice::Axis::z;
  place.at = lattice::across(place.axis, pivot);
  const int width_hp = ring->width_hp;
  if (ending.final == Final::outer || ending.final == Final::inner) {
    place.ring = static_cast<int>(ring - wheels.begin());
    place.ring_from_hp = on_top ? pivot.z_hp : pivot.z_hp - width_hp;
  } else {
    // The ring only bears, flat between the bodies; its axle is fixed in the other one and comes out through it.
    const int half_hp = drive::slots_of(ring->outer_radius_mm, brief.system());
    const int low = on_top ? pivot.z_hp : pivot.z_hp - width_hp;
    place.terminal = routing::Terminal{
        place.axis,
        lattice::point(place.axis, place.at, on_top ? low + width_hp : low),
        on_top ? 1 : -1,
        std::min(drive::kInsert_hp, width_hp),  // no deeper than the ring is thick
        {{lattice::point(place.axis, {place.at.u_hp - half_hp, place.at.v_hp - half_hp}, low),
          lattice::point(place.axis, {place.at.u_hp + half_hp, place.at.v_hp + half_hp}, low + width_hp)}},
        ring->name};
  }
  out.places = {std::move(place)};
  site->outputs = {std::move(out)};
  return site;
}

Candidate make_candidate(const Variant& v, const drive::Placed* placed, const Wants& wants, const Ending& ending,
                         const brief::Brief& brief, const brief::Function& fn) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  const bool on_axle = ending.final == Final::bevel || ending.final == Final::worm;
  Candidate c;
  c.key =
      fmt::format("{}|{}|{}", drive::key_of(v.powertrain, catalogue), catalogue.at(v.ring).id, name_of(ending.final));
  c.title = fmt::format("{}{}", drive::title_of(v.powertrain, catalogue),
                        on_axle ? fmt::format(", {} on the slewing axle", name_of(ending.final))
                                : fmt::format(" on {}, {} teeth", catalogue.at(v.ring).name, name_of(ending.final)));
  drive::set_demand(v.powertrain, placed, brief, fn, c);
  if (on_axle) drive::add_need(c.demand, {v.ring}, fn.sides, catalogue.at(v.ring).name, "bearing");
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = evaluate(v, wants, brief, fn.sides, nominal);
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, fn.sides);
  const drive::Machine m = drive::machine(v.powertrain, brief, nominal);
  c.demand.stall_current_ma = motor::line(m.motor, m.feed).stall_current_a * 1000 * v.powertrain.motors * fn.sides;
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, catalogue)});
  const Need need = needed(wants, brief, v.bearing_radius_mm, nominal);
  c.holdings.push_back({candidate::Holding::Limit::slew,
                        "motor, stalled",
                        wants.body,
                        {},
                        {std::max(0.0, drive::stall_torque_nmm(m) - need.friction_nmm) * fn.sides},
                        "torque"});
  if (wants.load_g > 0) {
    brief::Vec3 at = brief.bodies[static_cast<std::size_t>(wants.body)].joint.pivot_mm;
    at.x_mm += wants.radius_mm;
    at.z_mm += wants.load_height_mm;
    c.payloads.push_back({wants.body, at, wants.load_g});
  }
  candidate::Drive d = drive::drive_of(v.powertrain, m, fn.sides, placed);
  const brief::Body& moved = brief.bodies[static_cast<std::size_t>(wants.body)];
  d.use = candidate::Drive::Use::slew;
  d.moves = moved.id;
  d.plus = "left";
  d.minus = "right";
  d.body = wants.body;
  Wants empty = wants;
  empty.load_g = 0;
  const double free_nmm = needed(empty, brief, v.bearing_radius_mm, nominal).running_nmm();
  const bool all_round = moved.joint.high_rad - moved.joint.low_rad > 2 * std::numbers::pi - 1e-6;
  drive::set_steady(d, all_round ? 0 : moved.joint.low_rad, all_round ? 0 : moved.joint.high_rad, 1, need.running_nmm(),
                    need.running_nmm(), free_nmm, free_nmm);
  d.heaviest_nmm = need.starting_nmm();
  d.inertia_g_mm2 = slewed(wants, brief, nominal[brief::Parameter::mass_factor]).inertia_g_mm2;
  // Standing on the body that turns, the drive walks round: the body turns against the ring as the drive sees it.
  const bool rides = drive::lattice_of(brief, fn.body).body == drive::lattice_of(brief, wants.body).body;
  d.sense = drive::sense_about_axis(placed) * (rides ? -1 : 1);
  c.drives = {std::move(d)};
  return c;
}

}  // namespace

static candidate::Proposal search(const brief::Function& fn, const candidate::Wants& base_wants,
                                  const brief::Brief& brief, const base::RunControl& control) {
  const auto& wants = dynamic_cast<const Wants&>(base_wants);
  candidate::Proposal out;
  RejectionLog log;
  const brief::Sample nominal = brief.parameters.nominal();
  // The evaluations outlive this call, so they share copies of what they read.
  const auto shared_wants = std::make_shared<const Wants>(wants);
  const auto shared_brief = std::make_shared<const brief::Brief>(brief);

  drive::Placers placers(brief, fn, wants.most_stages);
  std::vector<drive::Draft> drafts;
  for (const stock::ClassId ring_id : rings(wants, brief, fn, log)) {
    const auto& ring = std::get<stock::Ring>(brief.catalogue->at(ring_id).data);
    const std::vector<Ending> ways = endings(wants, brief, fn, ring_id);
    if (ways.empty()) {
      log.add("slew.no_ending", 1, "ways", [&] {
        return fmt::format("{} has {} outer and {} inner teeth, and the stock has no gear for \"{}\"",
                           brief.catalogue->at(ring_id).name, ring.outer_teeth, ring.inner_teeth, name_of(wants.final));
      });
    }
    const Need need = needed(wants, brief, ring.bearing_radius_mm, nominal);
    std::shared_ptr<const drive::Site> ring_site, axle_site;
    for (std::size_t i = 0; i < ways.size() && out.complete; ++i) {
      const Ending& ending = ways[i];
      control.report("slewing drives", static_cast<double>(i) / static_cast<double>(ways.size()));
      Variant v{{}, ring_id, ring.bearing_radius_mm};
      drive::Query query = query_for(ending, wants.most_stages);
      query.least_torque_nmm = need.running_nmm();
      query.least_speed_rad_s = wants.speed_rad_s;
      query.most_torque_nmm = need.starting_nmm();
      query.placers = &placers;
      // Endings on the ring's teeth share one place, those on its axle another.
      const bool on_axle = ending.final == Final::bevel || ending.final == Final::worm;
      std::shared_ptr<const drive::Site>& site = on_axle ? axle_site : ring_site;
      if (site == nullptr) site = site_for(wants, ending, ring_id, placers, brief, fn);
      query.site = site;
      query.arrange = [&](gearing::Train train) { return finished(std::move(train), ending); };
      query.judge = [&](const drive::Powertrain& p) {
        v.powertrain = p;
        if (!ends_as(v.powertrain.train, ending.final))
          return drive::Judged{0, 0, std::string(kWrongEnd), 0, 1, "meshes"};
        const candidate::Evaluation e = evaluate(v, wants, brief, fn.sides, nominal);
        const auto governs =
            std::min_element(e.margins.begin(), e.margins.end(),
                             [](const candidate::Margin& a, const candidate::Margin& b) { return a.ratio < b.ratio; });
        return drive::Judged{e.worst(),
                             drive::stepped_current_ma(e.running_current_ma / fn.sides),
                             governs->name,
                             governs->capability,
                             governs->requirement,
                             governs->unit};
      };
      RejectionLog own;
      drive::Powertrains found = drive::powertrains(brief, fn, query, own, control);
      drive::count_search(found, out);
      // A train that ends otherwise belongs to another ending, so it is no rejection.
      for (candidate::Rejection& r : own.take()) {
        if (r.code != fmt::format("drive.{}", kWrongEnd))
          log.add(
              r.code, r.shortfall, r.unit, [&] { return r.text; }, r.count);
      }
      for (std::size_t k = 0; k < found.kept.size(); ++k) {
        v.powertrain = std::move(found.kept[k]);
        drive::Draft draft{make_candidate(v, nullptr, wants, ending, brief, fn), {}};
        draft.place = [&, v, ending, need, site = found.sites[k]](int layouts, RejectionLog& told) {
          std::vector<Candidate> made;
          for (const drive::Placed& placed : placers.best(v.powertrain, site, layouts, control)) {
            Candidate c = make_candidate(v, &placed, wants, ending, brief, fn);
            if (!drive::uses_all_wanted(fn, c.demand)) {
              told.add("slew.must_use", 1, "parts",
                       [&] { return fmt::format("{} does without a part it must use", c.title); });
              continue;
            }
            c.evaluate = [v, shared_wants, shared_brief, sides = fn.sides](const brief::Sample& sample) {
              return evaluate(v, *shared_wants, *shared_brief, sides, sample);
            };
            add_figures(c, v, wants, brief);
            add_notes(c, v, wants, ending, brief);
            drive::tell_place(placed, brief, c);
            const drive::Machine m = drive::machine(v.powertrain, brief, nominal);
            drive::tell_loads(v.powertrain, placed, m, brief, need.running_nmm(), c);
            made.push_back(std::move(c));
          }
          return made;
        };
        drafts.push_back(std::move(draft));
      }
    }
  }
  out.candidates = drive::place_drafts(std::move(drafts), brief, fn, log, control);
  if (out.candidates.empty()) placers.tell_wider_room(log, control);
  out.rejections = log.take();
  return out;
}

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  return drive::propose_by_length<Wants>(function, wants, brief, control, search);
}

candidate::Kind kind() {
  return {"slew", "turns an upper body on a turntable", &fields, &read, &propose};
}

}  // namespace functions::slew
