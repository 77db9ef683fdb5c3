// The search: the pair of gears that joins the jaws x four-bars on the lattice, the best of each pivot; then the
// powertrain behind the crank.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <numbers>
#include <utility>
#include <vector>

#include "base/text.h"
#include "functions/drive/running.h"
#include "functions/drive/told_drive.h"
#include "functions/grip/evaluate.h"
#include "functions/grip/grip.h"
#include "functions/grip/site.h"
#include "motor/motor.h"

namespace functions::grip {
namespace {

using candidate::Candidate;
using candidate::RejectionLog;

constexpr double kDegPerRad = 180 / std::numbers::pi;
/// Linkages, each at another pivot, that get a search for powertrains.
constexpr int kLinkages = 3;
constexpr int kBarSlack_p = 2;
/// Pivots and pins of one grip (common practice, no source): two pins of the coupler, two that fix the jaw on its
/// rocker's bar, two a jaw gear.
constexpr int kPins = 4, kPinsAGear = 2;
constexpr int kPivotAxleShort_p = 3, kPivotAxleLong_p = 5;

std::vector<linkage::Bar> bars_of(const brief::Brief& brief, const brief::Function& fn, int longest_p) {
  std::map<int, int> pieces;
  for (const stock::ClassId id : drive::full_beams(brief, fn, 2, 1 << 20))
    pieces[std::get<stock::Beam>(brief.catalogue->at(id).data).length_p] += brief.stock->count_of(id);
  std::map<int, int> usable;  // what is longer than needed counts as the longest one that is
  for (const auto& [holes, count] : pieces) usable[std::min(holes, longest_p + 1)] += count / fn.sides;
  std::vector<linkage::Bar> out;
  for (const auto& [holes, count] : usable)
    if (count > 0) out.push_back({holes, count, fmt::format("bar of {} holes", holes)});
  return out;
}

/// Ways to join the jaws whose pivots stand on holes and whose jaws reach both openings.
std::vector<Closer> joins(const Problem& problem, const brief::Function& fn, RejectionLog& log) {
  const brief::Brief& brief = *problem.brief;
  const Wants& w = problem.wants;
  const double jaw_mm = w.jaw_p * brief.system().pitch_mm;
  std::vector<Closer> out;
  if (w.jaws == Jaws::one) {
    out.push_back({{jaw_mm, 0, false}, std::nullopt, {}});
    return out;
  }
  for (const stock::ClassId id : drive::choices(brief, fn, stock::Family::gear, "")) {
    const auto* gear = std::get_if<stock::Gear>(&brief.catalogue->at(id).data);
    if (gear == nullptr || gear->form != stock::GearForm::spur) continue;
    const double apart_mm = brief.system().module_mm * gear->teeth, half_mm = brief.system().pitch_mm / 2;
    const double off_mm = std::fabs(apart_mm - std::round(apart_mm / half_mm) * half_mm);
    if (off_mm > brief.system().max_misfit_mm + 1e-9) continue;
    if (!drive::in_stock(brief, fn, id, 2 * fn.sides, log, "too_few_jaw_gears")) continue;
    const JawPair pair{jaw_mm, apart_mm / 2, true};
    const double low_mm = 2 * (pair.half_spread_mm - jaw_mm), high_mm = 2 * (pair.half_spread_mm + jaw_mm);
    if (w.opening_mm[0] <= low_mm || w.opening_mm[1] >= high_mm) {
      log.add("grip.jaw_too_short", std::max(low_mm - w.opening_mm[0], w.opening_mm[1] - high_mm), "mm", [&] {
        return fmt::format("jaws of {} pitches on {} open up to {} mm, {} are asked", w.jaw_p,
                           brief.catalogue->at(id).name, base::plain(high_mm), base::plain(w.opening_mm[1]));
      });
      continue;
    }
    out.push_back({pair, id, {}});
  }
  return out;
}

Candidate make_candidate(const std::shared_ptr<const Design>& design, const brief::Function& fn) {
  const Problem& problem = *design->problem;
  const brief::Brief& brief = *problem.brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const Closer& closer = design->closer;
  const JawDrive& d = closer.drive;
  const int sides = fn.sides, jaws = closer.pair.both ? 2 : 1;
  Candidate c;
  c.key = fmt::format("{}|{},{},{} at {},{} {}{}{}", drive::key_of(design->powertrain, catalogue), d.crank_p,
                      d.coupler_p, d.rocker_p, d.crank_pivot.x_hp, d.crank_pivot.z_hp, d.closure > 0 ? "+" : "-",
                      90 * d.quarter, closer.gear ? "|" + catalogue.at(*closer.gear).id : "");
  c.title = fmt::format("{}, crank {} p, coupler {} p, rocker {} p{}", drive::title_of(design->powertrain, catalogue),
                        d.crank_p, d.coupler_p, d.rocker_p,
                        closer.gear ? ", jaws on " + catalogue.at(*closer.gear).name : "");
  drive::set_demand(design->powertrain, design->placed ? &*design->placed : nullptr, brief, fn, c);
  const auto beam = [&](int length_p, int count, const char* role) {
    drive::add_need(c.demand, drive::full_beams(brief, fn, length_p + 1, length_p + 1 + kBarSlack_p), count * sides,
                    fmt::format("beam, length {} to {}", length_p + 1, length_p + 1 + kBarSlack_p), role);
  };
  beam(d.crank_p, 1, "crank");
  beam(d.coupler_p, 1, "coupler");
  beam(d.rocker_p, 1, "rocker");
  beam(problem.wants.jaw_p, jaws, "jaws");
  if (closer.gear)
    drive::add_need(c.demand, {*closer.gear}, 2 * sides, catalogue.at(*closer.gear).name, "joins the jaws");
  std::vector<stock::ClassId> axles;
  for (const stock::ClassId id : drive::choices(brief, fn, stock::Family::axle, "")) {
    const auto* axle = std::get_if<stock::Axle>(&catalogue.at(id).data);
    if (axle != nullptr && axle->length_p >= kPivotAxleShort_p && axle->length_p <= kPivotAxleLong_p)
      axles.push_back(id);
  }
  drive::add_need(c.demand, std::move(axles), jaws * sides,
                  fmt::format("axle, length {} to {}", kPivotAxleShort_p, kPivotAxleLong_p), "pivots of jaws");
  drive::add_need(c.demand, catalogue.of(stock::Family::pin), (kPins + (closer.gear ? 2 * kPinsAGear : 0)) * sides,
                  "pin", "linkage and jaws");
  drive::add_need(c.demand, catalogue.of(stock::Family::connector), sides, "connector with an axle hole",
                  "holds the crank on its axle");
  const brief::Sample nominal = brief.parameters.nominal();
  c.nominal = evaluate(problem, closer, design->powertrain, nominal);
  c.demand.running_current_ma = drive::stepped_current_ma(c.nominal.running_current_ma, sides);
  const drive::Machine m = drive::machine(design->powertrain, brief, nominal);
  c.demand.stall_current_ma = motor::line(m.motor, m.feed).stall_current_a * 1000 * m.motors * sides;
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, catalogue)});
  const Wants& w = problem.wants;
  if (w.load_g > 0) {
    // Between the jaws where they grip; two jaws meet half a spread below the driven one's pivot.
    c.payloads = {{std::max(fn.body, 0),
                   {w.at_mm[0] + closer.pair.jaw_mm, w.at_y_mm, w.at_mm[1] - closer.pair.half_spread_mm},
                   w.load_g * sides}};
  }
  candidate::Drive jaws_drive =
      drive::drive_of(design->powertrain, m, sides, design->placed ? &*design->placed : nullptr);
  jaws_drive.moves = "jaws";
  jaws_drive.plus = "open";
  jaws_drive.minus = "close";
  jaws_drive.angle = false;
  jaws_drive.endless = false;
  const std::vector<double> squeeze_nmm = crank_torque_nmm(problem, closer, nominal);
  const double pitch_mm = brief.system().pitch_mm;
  const std::array<double, 2>& opening = problem.wants.opening_mm;
  for (int i = 0; i < kOpenings; ++i)
    jaws_drive.at.push_back(opening[0] + (opening[1] - opening[0]) * i / (kOpenings - 1));
  for (std::size_t i = 0; i < jaws_drive.at.size(); ++i) {
    // Opening per turn of the crank, by differences between neighbours.
    const std::size_t a = i == 0 ? 0 : i - 1, b = i + 1 < jaws_drive.at.size() ? i + 1 : i;
    const double turn_rad = crank_at(closer.drive, closer.pair, pitch_mm, jaws_drive.at[b]) -
                            crank_at(closer.drive, closer.pair, pitch_mm, jaws_drive.at[a]);
    jaws_drive.per_rad.push_back(std::fabs((jaws_drive.at[b] - jaws_drive.at[a]) / turn_rad));
  }
  // Closing squeezes over the whole travel, the hardest case; opening is free.
  jaws_drive.minus_nmm = squeeze_nmm;
  jaws_drive.plus_nmm.assign(squeeze_nmm.size(), 0);
  jaws_drive.plus_free_nmm = jaws_drive.minus_free_nmm = jaws_drive.plus_nmm;
  jaws_drive.heaviest_nmm = *std::max_element(squeeze_nmm.begin(), squeeze_nmm.end());
  jaws_drive.start = jaws_drive.at.back();
  // Angles of the plane run from forward to up: about -y.
  jaws_drive.sense = -drive::sense_about_axis(design->placed ? &*design->placed : nullptr) *
                     (closer.drive.open_rad > closer.drive.closed_rad ? 1 : -1);
  if (sides == 2) jaws_drive.sense_note += drive::image_note(design->powertrain.train);
  c.drives = {std::move(jaws_drive)};
  c.evaluate = [design](const brief::Sample& sample) {
    return evaluate(*design->problem, design->closer, design->powertrain, sample);
  };
  return c;
}

void add_shapes(const Problem& problem, const Closer& closer, Candidate& c) {
  using candidate::Shape;
  const JawDrive& d = closer.drive;
  const double pitch = problem.brief->system().pitch_mm;
  const double x0 = problem.wants.at_mm[0], z0 = problem.wants.at_mm[1];
  const double jaw_mm = closer.pair.jaw_mm;
  for (const bool open : {false, true}) {
    const double crank = open ? d.open_rad : d.closed_rad, rocker = rocker_rad(d, pitch, crank);
    const double jaw = rocker + d.quarter * std::numbers::pi / 2;
    const double cx = x0 + d.crank_pivot.x_hp * pitch / 2, cz = z0 + d.crank_pivot.z_hp * pitch / 2;
    const double px = cx + d.crank_p * pitch * std::cos(crank), pz = cz + d.crank_p * pitch * std::sin(crank);
    const double qx = x0 + d.rocker_p * pitch * std::cos(rocker), qz = z0 + d.rocker_p * pitch * std::sin(rocker);
    const Shape::Role moving = open ? Shape::Role::ghost : Shape::Role::moving_beam;
    c.shapes.push_back({moving, cx, cz, px, pz, open ? "" : "crank"});
    c.shapes.push_back({moving, px, pz, qx, qz, open ? "" : "coupler"});
    c.shapes.push_back({moving, x0, z0, qx, qz, open ? "" : "rocker"});
    c.shapes.push_back({moving, x0, z0, x0 + jaw_mm * std::cos(jaw), z0 + jaw_mm * std::sin(jaw), open ? "" : "jaw"});
    if (closer.pair.both) {
      const double zl = z0 - 2 * closer.pair.half_spread_mm;
      c.shapes.push_back({moving, x0, zl, x0 + jaw_mm * std::cos(jaw), zl - jaw_mm * std::sin(jaw), ""});
    }
    if (open) continue;
    c.shapes.push_back({Shape::Role::pivot, x0, z0, pitch / 4, 0, "jaw pivot"});
    c.shapes.push_back({Shape::Role::pivot, cx, cz, pitch / 4, 0, "crank pivot"});
    if (closer.pair.both) {
      c.shapes.push_back({Shape::Role::gear, x0, z0, closer.pair.half_spread_mm, 0, ""});
      c.shapes.push_back(
          {Shape::Role::gear, x0, z0 - 2 * closer.pair.half_spread_mm, closer.pair.half_spread_mm, 0, ""});
    }
  }
}

void tell(const Design& design, Candidate& c) {
  const Problem& problem = *design.problem;
  const brief::Brief& brief = *problem.brief;
  const Wants& w = problem.wants;
  const JawDrive& d = design.closer.drive;
  const brief::Sample nominal = brief.parameters.nominal();
  const drive::Machine m = drive::machine(design.powertrain, brief, nominal);
  const double stall_nmm = drive::stall_torque_nmm(m);
  const std::vector<double> torque = crank_torque_nmm(problem, design.closer, nominal);
  const double swing = std::fabs(d.open_rad - d.closed_rad);
  c.figures.push_back({"squeeze at the smallest object", w.force_n * stall_nmm / torque.front(), "N"});
  c.figures.push_back({"squeeze at the widest object", w.force_n * stall_nmm / torque.back(), "N"});
  c.figures.push_back({"turn of the crank", swing * kDegPerRad, "deg"});
  c.figures.push_back({"time to close", swing / drive::speed_line(m).no_load_rad_s, "s"});
  candidate::Curve squeeze{"squeeze at stall", "opening", "mm", "squeeze", "N", {}, {}};
  candidate::Curve need{"crank torque for the wanted squeeze", "opening", "mm", "torque", "N mm", {}, {}};
  double most = 0;
  for (int i = 0; i < kOpenings; ++i) {
    const double opening = w.opening_mm[0] + (w.opening_mm[1] - w.opening_mm[0]) * i / (kOpenings - 1);
    const double t = torque[static_cast<std::size_t>(i)];
    squeeze.x.push_back(opening);
    need.x.push_back(opening);
    squeeze.y.push_back(w.force_n * stall_nmm / t);
    need.y.push_back(t);
    most = std::max(most, squeeze.y.back());
  }
  c.curves.push_back(std::move(squeeze));
  c.curves.push_back(std::move(need));
  add_shapes(problem, design.closer, c);
  if (most > 3 * w.force_n)
    c.notes.push_back(fmt::format(
        "the motor squeezes with up to {} N when it stalls: mind fingers, and what is gripped", base::plain(most, 3)));
  c.notes.emplace_back("jaw and rocker's bar are one body: pin them together with two pins, in line or crossed");
  c.notes.emplace_back("friction in the linkage's pins is not counted; keep them loose");
  drive::tell_place(*design.placed, brief, c);
  drive::tell_loads(design.powertrain, *design.placed, m, brief, *std::max_element(torque.begin(), torque.end()), c);
}

candidate::Proposal search(const brief::Function& fn, const candidate::Wants& base_wants, const brief::Brief& brief,
                           const base::RunControl& control) {
  candidate::Proposal out;
  RejectionLog log;
  auto problem = std::make_shared<Problem>();
  problem->brief = std::make_shared<const brief::Brief>(brief);
  problem->wants = dynamic_cast<const Wants&>(base_wants);
  problem->sides = fn.sides;
  const Wants& w = problem->wants;
  if (control.stopped()) {
    out.complete = false;
    out.limit_text = "stopped before the linkages were searched";
    return out;
  }
  JawTask task;
  task.pitch_mm = brief.system().pitch_mm;
  task.opening_mm = w.opening_mm;
  for (int x = w.crank_box.low.x_hp; x <= w.crank_box.high.x_hp; ++x) {
    for (int z = w.crank_box.low.z_hp; z <= w.crank_box.high.z_hp; ++z)
      if (x % 2 == 0 && z % 2 == 0 && (x != 0 || z != 0)) task.crank_pivots.push_back({x, z});
  }
  task.bars = bars_of(brief, fn, w.longest_bar_p);
  task.min_transmission_rad = w.transmission_deg / kDegPerRad;
  task.keep = kLinkages;
  if (task.bars.empty())
    log.add("grip.no_bars", 1, "pieces", [] { return std::string("the stock has no beams for the linkage"); });

  const std::vector<Closer> joined = joins(*problem, fn, log);
  for (const Closer& join : joined) task.pairs.push_back(join.pair);
  const JawDrives found = find_jaw_drives(task, control);
  out.examined = found.examined;
  if (!found.complete) {
    out.complete = false;
    out.limit_text = found.covered;
  }
  for (const linkage::Misfit& m : found.misfits)
    log.add(
        fmt::format("grip.{}", linkage::code_of(m.reason)), std::max(m.shortfall, 1e-9), "",
        [&] { return linkage::text(m); }, m.count);
  std::vector<Closer> closers;
  for (std::size_t i = 0; i < joined.size() && out.complete; ++i) {
    if (found.best[i].empty())
      log.add("grip.no_linkage", 1, "linkages", [&] {
        return fmt::format("no four-bar covers openings from {} to {} mm ({})", base::plain(w.opening_mm[0]),
                           base::plain(w.opening_mm[1]), found.covered);
      });
    if (found.beyond[i] > 0)
      log.add(
          "grip.more_torque", found.least_beyond[i], "",
          [&] {
            return fmt::format(
                "crank pivots that ask at least {} % more torque than the {} best of their jaws were not "
                "given drives",
                base::plain(100 * found.least_beyond[i], 2), kLinkages);
          },
          found.beyond[i]);
    for (const JawDrive& d : found.best[i]) {
      closers.push_back(joined[i]);
      closers.back().drive = d;
    }
  }
  const brief::Sample nominal = brief.parameters.nominal();
  drive::Placers placers(brief, fn, w.most_stages);
  std::vector<drive::Draft> drafts;
  for (std::size_t i = 0; i < closers.size() && out.complete; ++i) {
    const Closer& closer = closers[i];
    control.report("grip drives", static_cast<double>(i) / static_cast<double>(closers.size()));
    const std::vector<double> torque = crank_torque_nmm(*problem, closer, nominal);
    drive::Query query;
    query.least_torque_nmm = 0;
    query.most_torque_nmm = *std::max_element(torque.begin(), torque.end());
    query.least_speed_rad_s = std::fabs(closer.drive.open_rad - closer.drive.closed_rad) / w.time_s * (1 - 1e-9);
    query.train.min_stages = 0;
    query.train.max_stages = w.most_stages;
    query.judge = [&](const drive::Powertrain& p) {
      return drive::judged_of(evaluate(*problem, closer, p, nominal), fn.sides);
    };
    query.placers = &placers;
    query.site = site_for(*problem, fn, closer);
    const drive::Powertrains kept = drive::powertrains(brief, fn, query, log, control);
    drive::count_search(kept, out);
    drive::add_drafts(
        kept, Design{problem, closer, {}}, placers, fn, control,
        [&fn](const std::shared_ptr<const Design>& d) { return make_candidate(d, fn); },
        [](const Design& d, Candidate& c) { tell(d, c); }, drafts);
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

}  // namespace

candidate::Kind kind() {
  return {"grip", "jaws closed by a four-bar on the lattice", &fields, &read, &propose, true};
}

}  // namespace functions::grip
