// The search: sprocket or wheel x track link x motors a side x powertrain. Inside one roller the powertrain search
// keeps every non-dominated one, then all rollers are compared together.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <numbers>
#include <tuple>
#include <utility>
#include <vector>

#include "balance/mass.h"
#include "balance/traction.h"
#include "base/text.h"
#include "functions/crawler/crawler.h"
#include "functions/crawler/evaluate.h"
#include "functions/crawler/gear.h"
#include "functions/crawler/site.h"
#include "functions/drive/placing.h"
#include "functions/drive/running.h"
#include "functions/drive/told_drive.h"
#include "motor/motor.h"
#include "structure/torsion.h"

namespace functions::crawler {
namespace {

using brief::Parameter;
using candidate::Candidate;
using candidate::RejectionLog;

constexpr double kDegPerRad = 180 / std::numbers::pi;
/// Axle length a sprocket or wheel takes beside gears and bearings, in hole pitches (common practice, no source).
constexpr int kRollerLength_p = 2;
/// A belt may be this much shorter than a link's pitch without one link more: the end wheels are on slotted holes
/// (common practice, no source).
constexpr double kStretchShare = 0.02;

/// Links run on a sprocket whose tooth pitch (chord) differs by no more than this (common practice, no source).
constexpr double kPitchShare = 0.05;

/// A roller with the belt round it.
struct Roller {
  stock::ClassId part{};
  double radius_mm = 0;
  int a_side = 0;  ///< pieces on one side
  std::optional<stock::ClassId> link;
  int links = 0;  ///< a side
  double belt_mm = 0;
};

std::vector<Roller> track_rollers(const Wants& wants, const brief::Brief& brief, const brief::Function& fn,
                                  RejectionLog& log) {
  std::vector<Roller> out;
  const std::vector<stock::ClassId> sprockets = drive::choices(brief, fn, stock::Family::sprocket, wants.sprocket);
  const std::vector<stock::ClassId> links = drive::choices(brief, fn, stock::Family::track_link, wants.track_link);
  if (sprockets.empty())
    log.add("crawler.no_sprocket", 1, "pieces",
            [] { return std::string("the kit system has no sprocket that this function may use"); });
  if (links.empty())
    log.add("crawler.no_link", 1, "pieces",
            [] { return std::string("the kit system has no track link that this function may use"); });
  for (const stock::ClassId sprocket : sprockets) {
    const auto* data = std::get_if<stock::Sprocket>(&brief.catalogue->at(sprocket).data);
    if (data == nullptr || data->pitch_radius_mm <= 0) continue;
    if (!drive::in_stock(brief, fn, sprocket, wants.sprockets_per_side * fn.sides, log, "too_few_sprockets")) continue;
    for (const stock::ClassId link : links) {
      const auto* chain = std::get_if<stock::TrackLink>(&brief.catalogue->at(link).data);
      if (chain == nullptr || chain->pitch_mm <= 0) continue;
      const double tooth_mm =
          data->teeth > 2 ? 2 * data->pitch_radius_mm * std::sin(std::numbers::pi / data->teeth) : chain->pitch_mm;
      if (std::fabs(tooth_mm / chain->pitch_mm - 1) > kPitchShare) {
        log.add("crawler.link_does_not_fit", std::fabs(tooth_mm - chain->pitch_mm), "mm", [&] {
          return fmt::format("{} has {} mm from tooth to tooth, {} has {} mm", brief.catalogue->at(sprocket).name,
                             base::plain(tooth_mm), brief.catalogue->at(link).name, base::plain(chain->pitch_mm));
        });
        continue;
      }
      Roller r{sprocket, data->pitch_radius_mm, wants.sprockets_per_side, link, 0, 0};
      r.belt_mm = belt_length_mm(outline_of(wants, r.radius_mm));
      r.links = static_cast<int>(std::ceil(r.belt_mm / chain->pitch_mm - kStretchShare));
      const int have = brief.stock->count_of(link), needed = r.links * fn.sides;
      if (have < needed) {
        log.add("crawler.too_few_links", needed - have, "links", [&] {
          const double most_mm = wants.contact_mm - (needed - have) * chain->pitch_mm / (2.0 * fn.sides);
          return fmt::format(
              "a belt of {} mm round {} needs {} of {} on {} side(s), the stock has {}; about {} mm of ground contact "
              "would do with them",
              base::plain(r.belt_mm), brief.catalogue->at(sprocket).name, needed, brief.catalogue->at(link).name,
              fn.sides, have, base::plain(std::max(0.0, most_mm)));
        });
        continue;
      }
      out.push_back(r);
    }
  }
  return out;
}

std::vector<Roller> wheel_rollers(const Wants& wants, const brief::Brief& brief, const brief::Function& fn,
                                  RejectionLog& log) {
  std::vector<Roller> out;
  const std::vector<stock::ClassId> wheels = drive::choices(brief, fn, stock::Family::wheel, wants.wheel);
  if (wheels.empty())
    log.add("crawler.no_wheel", 1, "pieces",
            [] { return std::string("the kit system has no wheel that this function may use"); });
  for (const stock::ClassId wheel : wheels) {
    const auto* data = std::get_if<stock::Wheel>(&brief.catalogue->at(wheel).data);
    if (data == nullptr || data->diameter_mm <= 0) continue;
    if (!drive::in_stock(brief, fn, wheel, wants.wheels_per_side * fn.sides, log, "too_few_wheels")) continue;
    const double room_mm = wants.contact_mm / (wants.wheels_per_side - 1);
    if (data->diameter_mm > room_mm) {
      log.add("crawler.wheels_touch", data->diameter_mm - room_mm, "mm", [&] {
        return fmt::format("{} is {} mm across, but the wheels stand {} mm apart", brief.catalogue->at(wheel).name,
                           base::plain(data->diameter_mm), base::plain(room_mm));
      });
      continue;
    }
    out.push_back({wheel, data->diameter_mm / 2, wants.wheels_per_side, std::nullopt, 0, 0});
  }
  return out;
}

void add_figures(Candidate& c, const Variant& v, const Wants& wants, const Ground& g, const brief::Brief& brief,
                 int sides, const Roller& roller) {
  const brief::Sample nominal = brief.parameters.nominal();
  const drive::Machine m = drive::machine(v.powertrain, brief, nominal);
  const double flat_nmm = shaft_torque_nmm(v, sides, g.flat_force_n);
  const double stall_nmm = drive::stall_torque_nmm(m);
  const double pull_n = stall_nmm / v.radius_mm * sides * v.driven_wheels;
  const drive::QuickState flat = drive::quick_state(m, flat_nmm);
  const drive::QuickState slope = drive::quick_state(m, shaft_torque_nmm(v, sides, g.slope_force_n));
  c.figures.push_back({"speed on the level", flat.speed_rad_s * v.radius_mm, "mm/s"});
  c.figures.push_back({"speed up the slope", slope.speed_rad_s * v.radius_mm, "mm/s"});
  c.figures.push_back(
      {"steepest slope by pull",
       balance::effort_slope_rad(pull_n, g.weight_n, nominal[Parameter::rolling_resistance]) * kDegPerRad, "deg"});
  c.figures.push_back({"pull at stall", pull_n, "N"});
  if (wants.turns_on_spot) {
    c.figures.push_back({"turning moment",
                         g.turn_force_n > 0 ? g.turn_friction_needed * g.weight_n / 2 * wants.tread_mm : 0.0, "N mm"});
    const drive::QuickState turn = drive::quick_state(m, shaft_torque_nmm(v, sides, g.turn_force_n));
    c.figures.push_back(
        {"turning speed", turn.speed_rad_s * v.radius_mm / (wants.tread_mm / 2) * 30 / std::numbers::pi, "rpm"});
  }
  if (v.link) {
    const auto& link = std::get<stock::TrackLink>(brief.catalogue->at(*v.link).data);
    c.figures.push_back({"links a side", static_cast<double>(v.links), ""});
    c.figures.push_back({"belt to spare a side", v.links * link.pitch_mm - roller.belt_mm, "mm"});
    if (link.width_mm > 0 && sides == 2)
      c.figures.push_back(
          {"ground pressure", balance::ground_pressure_kpa(g.weight_n, link.width_mm, wants.contact_mm), "kPa"});
  }
  const double axle_mm = kRollerLength_p * 2 * brief.system().pitch_mm;
  c.figures.push_back({"twist of the output axle at stall",
                       structure::twist_rad(structure::section_of(brief.system().axle), stall_nmm, axle_mm,
                                            nominal[Parameter::axle_shear_modulus_mpa]) *
                           kDegPerRad,
                       "deg"});
}

/// Friction decides the step several times over, so it is told as a range, never as one number. The same for every
/// drive on a roller.
struct StepRange {
  std::vector<candidate::Figure> figures;
  std::vector<candidate::Curve> curves;
};
StepRange step_range(const Wants& wants, const brief::Brief& brief, double radius_mm, int driven, int sides) {
  StepRange out;
  if (!wants.step_mm) return out;
  const brief::Sample nominal = brief.parameters.nominal();
  const base::Triple friction = brief.parameters.at(Parameter::ground_friction).value;
  const auto step_at = [&](double mu) {
    brief::Sample sample = nominal;
    sample.value[static_cast<std::size_t>(Parameter::ground_friction)] = mu;
    return ground(wants, brief, radius_mm, driven, sides, sample).step_mm;
  };
  out.figures.push_back({"step at the lowest friction", step_at(friction.low), "mm"});
  out.figures.push_back({"step at the nominal friction", step_at(friction.nominal), "mm"});
  out.figures.push_back({"step at the highest friction", step_at(friction.high), "mm"});
  candidate::Curve curve{"step over friction", "friction of the floor", "", "highest step", "mm", {}, {}};
  constexpr int kPoints = 25;
  for (int i = 0; i < kPoints; ++i) {
    const double mu = friction.low + (friction.high - friction.low) * i / (kPoints - 1);
    curve.x.push_back(mu);
    curve.y.push_back(step_at(mu));
  }
  out.curves.push_back(std::move(curve));
  return out;
}

void add_notes(Candidate& c, const Variant& v, const Wants& wants, const Ground& g, const brief::Brief& brief,
               int sides) {
  const drive::Machine m = drive::machine(v.powertrain, brief, brief.parameters.nominal());
  const drive::State s = drive::state(v.powertrain, m, brief.system(), shaft_torque_nmm(v, sides, g.slope_force_n));
  if (s.stall_tooth_margin < 1 && s.weakest_stage >= 0) {
    c.notes.push_back(fmt::format(
        "stalled against a wall the motor overloads {} ({} of its strength is missing); limit the stall time or the "
        "speed setting",
        gearing::stage_name(v.powertrain.train, s.weakest_stage), base::plain(1 - s.stall_tooth_margin, 2)));
  }
  if (s.self_locking) c.notes.emplace_back("the worm holds the machine on a slope with the motors off");
  if (wants.tracked()) {
    c.notes.push_back(fmt::format(
        "{} end wheels a side on slotted holes set the belt's tension; road wheels between them are not counted here",
        wants.sprockets_per_side));
  }
  if (wants.turns_on_spot) c.notes.emplace_back("each side on a channel of its own; both ahead is straight on");
}

/// One drive for all, or one a side when the machine turns on the spot.
void add_drives(Candidate& c, const Variant& v, const drive::Placed* placed, const Wants& wants,
                const brief::Function& fn, const Ground& g, const drive::Machine& m) {
  const bool apart = wants.turns_on_spot && fn.sides == 2;
  const int sides = apart ? 1 : fn.sides;
  candidate::Drive d = drive::drive_of(v.powertrain, m, sides * v.driven_wheels, placed);
  d.use = candidate::Drive::Use::travel;
  d.moves = "machine";
  d.plus = "forward";
  d.minus = "back";
  d.angle = false;
  const double flat_nmm = shaft_torque_nmm(v, fn.sides, g.flat_force_n);
  drive::set_steady(d, 0, 0, v.radius_mm, flat_nmm, flat_nmm, flat_nmm, flat_nmm);
  for (const double force_n : {g.slope_force_n, g.turn_force_n, g.step_force_n})
    d.heaviest_nmm = std::max(d.heaviest_nmm, shaft_torque_nmm(v, fn.sides, force_n));
  d.inertia_g_mm2 = g.weight_n / balance::weight_n(1) / (fn.sides * v.driven_wheels) * v.radius_mm * v.radius_mm;
  d.sense = drive::sense_about_axis(placed);  // a wheel that turns positively about y (left) rolls forward
  if (!apart && fn.sides == 2)
    d.sense_note +=
        std::string("this is for the left side; ") +
        (drive::image_sense(v.powertrain.train) < 0
             ? "the motors of the right one face the other way and are set the other way"
             : "the motors of the right one are set the same way, because their worms have the same thread");
  c.drives = apart ? drive::mirrored(std::move(d), v.powertrain.train, placed) : std::vector{std::move(d)};
}

Candidate make_candidate(const Variant& v, const drive::Placed* placed, const Wants& wants, const brief::Brief& brief,
                         const brief::Function& fn, const brief::Function& copies, const Roller& roller,
                         const Ground& g) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  Candidate c;
  c.key = fmt::format("{}|{}", drive::key_of(v.powertrain, catalogue), catalogue.at(roller.part).id);
  if (v.link) c.key += fmt::format("|{} x{}", catalogue.at(*v.link).id, v.links);
  if (v.driven_wheels > 1) c.key += fmt::format("|{} driven", v.driven_wheels);
  c.title = fmt::format("{} on {}", drive::title_of(v.powertrain, catalogue), catalogue.at(roller.part).name);
  drive::set_demand(v.powertrain, placed, brief, copies, c);
  c.demand.channels = wants.turns_on_spot ? fn.sides : 1;
  drive::add_need(c.demand, {roller.part}, roller.a_side * fn.sides, catalogue.at(roller.part).name,
                  wants.tracked() ? "end wheels" : "wheels");
  if (v.link) drive::add_need(c.demand, {*v.link}, v.links * fn.sides, catalogue.at(*v.link).name, "tracks");
  c.nominal = evaluate(v, wants, g, brief, fn.sides, brief.parameters.nominal());
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, fn.sides * v.driven_wheels);
  const drive::Machine m = drive::machine(v.powertrain, brief, brief.parameters.nominal());
  c.demand.stall_current_ma =
      motor::line(m.motor, m.feed).stall_current_a * 1000 * v.powertrain.motors * v.driven_wheels * fn.sides;
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, catalogue)});
  c.running_gear = gear_of(v, wants, brief, fn.sides);
  add_drives(c, v, placed, wants, fn, g, m);
  return c;
}

}  // namespace

static candidate::Proposal search(const brief::Function& fn, const candidate::Wants& base_wants,
                                  const brief::Brief& brief, const base::RunControl& control) {
  const auto& wants = dynamic_cast<const Wants&>(base_wants);
  candidate::Proposal out;
  RejectionLog log;
  const brief::Sample nominal = brief.parameters.nominal();
  const std::vector<Roller> rollers =
      wants.tracked() ? track_rollers(wants, brief, fn, log) : wheel_rollers(wants, brief, fn, log);
  // The evaluations outlive this call, so they share copies of what they read.
  const auto shared_wants = std::make_shared<const Wants>(wants);
  const auto shared_brief = std::make_shared<const brief::Brief>(brief);

  std::map<std::tuple<stock::ClassId, int, double>, drive::Powertrains> searched;
  std::map<int, std::shared_ptr<drive::Placers>> placers_of;  // by driven wheels
  std::vector<drive::Draft> drafts;
  for (std::size_t i = 0; i < rollers.size() && out.complete; ++i) {
    const Roller& roller = rollers[i];
    control.report("crawler drives", static_cast<double>(i) / static_cast<double>(rollers.size()));
    const int most_driven = wants.tracked() ? 1 : wants.motors_per_side;
    for (int driven = 1; driven <= most_driven && out.complete; ++driven) {
      const Ground g = ground(wants, brief, roller.radius_mm, driven, fn.sides, nominal);
      if (!drive::floor_allows(fn.kind, ground_margins(wants, g), brief.catalogue->at(roller.part).name, log)) {
        ++out.examined;
        continue;
      }
      const StepRange steps = step_range(wants, brief, roller.radius_mm, driven, fn.sides);
      brief::Function copies = fn;  // every driven wheel has a powertrain of its own
      copies.sides = fn.sides * driven;
      Variant v{{}, roller.part, roller.radius_mm, driven, roller.link, roller.links};

      drive::Query query;
      query.least_torque_nmm = shaft_torque_nmm(v, fn.sides, g.flat_force_n);
      query.least_speed_rad_s = wants.speed_mm_s / roller.radius_mm;
      query.most_torque_nmm =
          shaft_torque_nmm(v, fn.sides, std::max({g.slope_force_n, g.turn_force_n, g.step_force_n}));
      for (const candidate::Margin& m : ground_margins(wants, g)) query.ceiling = std::min(query.ceiling, m.ratio);
      query.train.min_stages = 0;
      query.train.max_stages = wants.most_stages;
      query.motors_per_side = wants.tracked() && wants.motors_per_side > 1 ? std::vector{1, 2} : std::vector{1};
      query.judge = [&](const drive::Powertrain& p) {
        v.powertrain = p;
        const candidate::Evaluation e = evaluate(v, wants, g, brief, fn.sides, nominal);
        const auto governs =
            std::min_element(e.margins.begin(), e.margins.end(),
                             [](const candidate::Margin& a, const candidate::Margin& b) { return a.ratio < b.ratio; });
        // Judged is of one powertrain.
        return drive::Judged{e.worst(),
                             drive::stepped_current_ma(e.running_current_ma / (fn.sides * v.driven_wheels)),
                             governs->name,
                             governs->capability,
                             governs->requirement,
                             governs->unit};
      };
      std::shared_ptr<drive::Placers>& placers = placers_of[driven];
      if (placers == nullptr) placers = std::make_shared<drive::Placers>(brief, copies, wants.most_stages);
      query.placers = placers.get();
      query.site = site_for(wants, brief, fn, v, roller.a_side);
      // Links of one width on the same sprocket share one search.
      const double width_mm =
          roller.link ? std::get<stock::TrackLink>(brief.catalogue->at(*roller.link).data).width_mm : 0;
      const std::tuple<stock::ClassId, int, double> what{roller.part, driven, width_mm};
      auto known = searched.find(what);
      if (known == searched.end()) {
        known = searched.emplace(what, drive::powertrains(brief, copies, query, log, control)).first;
        drive::count_search(known->second, out);
      }
      for (std::size_t k = 0; k < known->second.kept.size(); ++k) {
        v.powertrain = known->second.kept[k];
        drive::Draft draft{make_candidate(v, nullptr, wants, brief, fn, copies, roller, g), {}};
        draft.place = [&, v, g, copies, steps, roller, placers, site = known->second.sites[k]](int layouts,
                                                                                               RejectionLog& own) {
          std::vector<Candidate> made;
          for (const drive::Placed& placed : placers->best(v.powertrain, site, layouts, control)) {
            Candidate c = make_candidate(v, &placed, wants, brief, fn, copies, roller, g);
            if (!drive::uses_all_wanted(fn, c.demand)) {
              own.add("crawler.must_use", 1, "parts",
                      [&] { return fmt::format("{} does without a part it must use", c.title); });
              continue;
            }
            c.evaluate = [v, shared_wants, shared_brief, sides = fn.sides](const brief::Sample& sample) {
              const Ground at = ground(*shared_wants, *shared_brief, v.radius_mm, v.driven_wheels, sides, sample);
              return evaluate(v, *shared_wants, at, *shared_brief, sides, sample);
            };
            add_figures(c, v, wants, g, brief, fn.sides, roller);
            c.figures.insert(c.figures.end(), steps.figures.begin(), steps.figures.end());
            c.curves = steps.curves;
            add_notes(c, v, wants, g, brief, fn.sides);
            drive::tell_place(placed, brief, c);
            drive::tell_loads(v.powertrain, placed, drive::machine(v.powertrain, brief, nominal), brief,
                              shaft_torque_nmm(v, fn.sides, g.slope_force_n), c);
            made.push_back(std::move(c));
          }
          return made;
        };
        drafts.push_back(std::move(draft));
      }
    }
  }
  out.candidates = drive::place_drafts(std::move(drafts), brief, fn, log, control);
  for (const auto& [driven, placers] : placers_of) {
    if (out.candidates.empty()) placers->tell_wider_room(log, control);
  }
  out.rejections = log.take();
  return out;
}

candidate::Proposal propose(const brief::Function& function, const candidate::Wants& wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  return drive::propose_by_length<Wants>(function, wants, brief, control, search);
}

candidate::Kind kind() {
  return {"crawler", "tracks or rows of wheels, driven side by side", &fields, &read, &propose};
}

}  // namespace functions::crawler
