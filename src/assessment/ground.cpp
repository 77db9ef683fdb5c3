#include "assessment/ground.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "assessment/changes.h"
#include "assessment/internal.h"
#include "assessment/undercarriage.h"
#include "base/text.h"

namespace assessment {
namespace {

using balance::Stop;

constexpr double kDeg = std::numbers::pi / 180;

std::array<double, kFrictions> values_of(const base::Triple& t) {
  return {t.low, t.nominal, t.high};
}

std::string text_of(Stop stop) {
  return stop == Stop::nothing ? std::string() : balance::name_of(stop);
}

std::string_view type_of(brief::Obstacle::Type type) {
  switch (type) {
    case brief::Obstacle::Type::step:
      return "step";
    case brief::Obstacle::Type::drop:
      return "drop";
    case brief::Obstacle::Type::trench:
      return "trench";
    case brief::Obstacle::Type::ridge:
      return "ridge";
    case brief::Obstacle::Type::slope:
      break;
  }
  return "slope";
}

/// Everything that a try may change.
struct Rig {
  Undercarriage under;
  balance::MassSpread mass;
  double rolling_resistance = 0;

  [[nodiscard]] double weight_n() const { return balance::weight_n(mass.total.mass_g); }
  [[nodiscard]] balance::SideView side() const {
    balance::SideView out = *under.side;
    out.weight_n = weight_n();
    out.centre = {mass.total.at.x_mm, mass.total.at.z_mm};
    out.rolling_resistance = rolling_resistance;
    return out;
  }
  /// Walks in steps of `step_mm`, with the motors' pull where it is known.
  [[nodiscard]] balance::CrossingOptions walks(double step_mm) const {
    balance::CrossingOptions out;
    out.step_mm = step_mm;
    if (under.pull_n > 0) out.pull_n = under.pull_n;
    return out;
  }
  [[nodiscard]] balance::Grade climbs(double friction, double heading_rad) const {
    balance::Climber v;
    v.state = under.wheels;
    v.driven = under.driven;
    v.weight_n = weight_n();
    v.centre = mass.total.at;
    v.friction = friction;
    v.rolling_resistance = rolling_resistance;
    v.effort_n = under.pull_n;
    v.own_motors = true;
    return balance::gradeability(v, heading_rad);
  }
};

/// Every joint at zero or its nearest end, no load.
balance::MassSpread driving_mass(const brief::Brief& brief, const std::vector<MassLine>& masses) {
  std::vector<balance::WeighedBody> bodies;
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    balance::WeighedBody body;
    body.body = balance_body(brief, b, masses[b]);
    const brief::Joint& joint = brief.bodies[b].joint;
    body.body.angle_rad =
        std::clamp(0.0, std::min(joint.low_rad, joint.high_rad), std::max(joint.low_rad, joint.high_rad));
    body.source = masses[b].estimate ? balance::MassSource::estimated : balance::MassSource::measured;
    body.mass_sd_g = balance::sd_of(masses[b].mass_g);
    bodies.push_back(std::move(body));
  }
  return balance::mass_spread(bodies);
}

balance::GroundLine line_of(const brief::Obstacle& o, const balance::SideView& vehicle) {
  switch (o.type) {
    case brief::Obstacle::Type::step:
      return balance::step_up(o.height_mm);
    case brief::Obstacle::Type::drop:
      return balance::step_down(o.height_mm);
    case brief::Obstacle::Type::ridge:
      return balance::ridge(o.slope_rad, o.height_mm);
    case brief::Obstacle::Type::trench:
    case brief::Obstacle::Type::slope:
      break;
  }
  double high_mm = vehicle.centre.z_mm;
  for (const balance::SideWheel& w : vehicle.wheels) high_mm = std::max(high_mm, w.axle.z_mm + w.radius_mm);
  return balance::trench(o.width_mm, o.depth_mm > 0 ? o.depth_mm : 2 * high_mm);
}

double length_of(const balance::SideView& v) {
  double low = std::numeric_limits<double>::infinity(), high = -low;
  for (const balance::SideWheel& w : v.wheels) {
    low = std::min(low, w.axle.x_mm - w.radius_mm);
    high = std::max(high, w.axle.x_mm + w.radius_mm);
  }
  return high - low;
}

constexpr double kSizeStep_mm = 3;  // changes of contact are looked for below it

/// Sizes of a family up to `most_mm`, told to 1/640 of that.
SizeRange range_of(const Rig& rig, std::function<balance::GroundLine(double)> ground, double most_mm,
                   const base::Triple& friction) {
  constexpr int kTried = 20, kHalvings = 5;
  SizeRange out;
  out.looked_up_to_mm = most_mm;
  const std::array<double, kFrictions> frictions = values_of(friction);
  const std::vector<balance::Largest> found = balance::largest_passed(
      rig.side(), {std::move(ground), most_mm, kTried, kHalvings}, frictions, rig.walks(kSizeStep_mm));
  std::copy(found.begin(), found.end(), out.at.begin());
  return out;
}

SizeRange steps_of(const Rig& rig, const base::Triple& friction) {
  double radius_mm = 0;
  for (const balance::SideWheel& w : rig.under.side->wheels) radius_mm = std::max(radius_mm, w.axle.z_mm + w.radius_mm);
  return range_of(rig, balance::step_up, 1.5 * radius_mm, friction);
}

SizeRange trenches_of(const Rig& rig, const base::Triple& friction) {
  const double length_mm = length_of(*rig.under.side);
  return range_of(
      rig, [=](double width) { return balance::trench(width, 2 * length_mm); }, length_mm, friction);
}

/// Grades climbed and what is left to tipping on it.
void judge_slope(const Rig& rig, const brief::Obstacle& o, ObstacleWay& out) {
  out.slope = true;
  out.wanted_deg = o.slope_rad / kDeg;
  out.heading_deg = o.heading_rad / kDeg;
  out.tips_at_deg =
      balance::tipping_slope_rad(rig.under.wheels, rig.mass.total.at, o.heading_rad + std::numbers::pi) / kDeg;
  const std::array<double, kFrictions> frictions = values_of(out.friction);
  for (std::size_t i = 0; i < kFrictions; ++i) {
    out.grade[i] = rig.climbs(frictions[i], o.heading_rad);
    if (out.grade[i].slope_rad >= o.slope_rad - 1e-9) continue;
    out.stop[i] = out.grade[i].stop == balance::GradeStop::tipping  ? "balance"
                  : out.grade[i].stop == balance::GradeStop::effort ? "pull"
                                                                    : "friction";
  }
}

constexpr double kWalkStep_mm = 2;

ObstacleWay judge_obstacle(const Rig& rig, const brief::Brief& brief, const brief::Obstacle& o, bool whole_walk) {
  ObstacleWay out;
  out.id = o.id;
  out.type = type_of(o.type);
  out.friction = o.friction.value_or(brief.parameters.at(brief::Parameter::ground_friction).value);
  if (o.type == brief::Obstacle::Type::slope) {
    judge_slope(rig, o, out);
    return out;
  }
  const balance::SideView vehicle = rig.side();
  out.line = line_of(o, vehicle);
  balance::CrossingOptions how = rig.walks(kWalkStep_mm);
  how.pull_friction = out.friction.nominal;
  how.each_station = whole_walk;
  if (!whole_walk) how.enough_friction = out.friction.high;
  out.walk = balance::cross(vehicle, out.line, how);
  const std::array<double, kFrictions> frictions = values_of(out.friction);
  for (std::size_t i = 0; i < kFrictions; ++i) out.stop[i] = text_of(out.walk.stopped_by(frictions[i]));
  return out;
}

/// Share of the draws of friction in which the obstacle is passed.
double confidence_of(const Rig& rig, const brief::Brief& brief, const brief::Obstacle& o, const ObstacleWay& way,
                     const Options& options) {
  if (options.draws < 1) return way.passed(1) ? 1 : 0;
  const std::uint64_t stream = base::stream_of("obstacle:" + o.id);
  int passed = 0;
  for (int k = 0; k < options.draws; ++k) {
    if (k % 16 == 0) options.check();
    const auto draw = static_cast<std::uint64_t>(k);
    const double friction = o.friction
                                ? base::triangular_draw(*o.friction, base::uniform_draw(options.seed, stream, draw))
                                : brief.parameters.draw(options.seed, draw)[brief::Parameter::ground_friction];
    if (!way.slope) {
      passed += way.walk.stopped_by(friction) == Stop::nothing;
      continue;
    }
    // On that slope more friction never hurts; tipping and the motors' pull do not depend on it.
    const balance::Standing on = balance::stand(rig.under.wheels, rig.weight_n(), rig.mass.total.at,
                                                {o.slope_rad, o.heading_rad + std::numbers::pi});
    double driven_n = 0, free_n = 0;
    for (std::size_t i = 0; i < on.supports.size(); ++i)
      (rig.under.driven[i] ? driven_n : free_n) += on.supports[i].load_n;
    const bool holds = friction * driven_n >= rig.weight_n() * std::sin(o.slope_rad) + rig.rolling_resistance * free_n;
    passed += on.stands && holds && way.stop[2] != "pull";
  }
  return static_cast<double>(passed) / options.draws;
}

Rig rig_of(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses) {
  return {undercarriage_of(brief, chosen), driving_mass(brief, masses),
          brief.parameters.at(brief::Parameter::rolling_resistance).value.nominal};
}

/// The largest of the obstacle's own kind that is passed at the nominal friction, for "no more than".
std::optional<double> passed_size_mm(const Rig& rig, const brief::Obstacle& o, double friction) {
  const balance::SideView vehicle = rig.side();
  using Type = brief::Obstacle::Type;
  if (o.type == Type::slope) return std::nullopt;
  const auto ground = [&](double size_mm) {
    brief::Obstacle smaller = o;
    (o.type == Type::trench ? smaller.width_mm : smaller.height_mm) = size_mm;
    return line_of(smaller, vehicle);
  };
  const std::vector<double> one{friction};
  return balance::largest_passed(vehicle, {ground, o.type == Type::trench ? o.width_mm : o.height_mm, 12, 5}, one,
                                 rig.walks(kSizeStep_mm))[0]
      .size_mm;
}

/// What a change is measured by: how steep it climbs, the room under it, the pull or the friction it needs.
enum class Measure { slope, clearance, pull, friction };

double measure_of(const ObstacleWay& way, Measure by) {
  switch (by) {
    case Measure::slope:
      return way.grade[1].slope_rad / kDeg;
    case Measure::clearance:
      return way.walk.least_clearance_mm;
    case Measure::pull:
      return way.walk.keeps_balance ? way.walk.needed_pull_n : std::numeric_limits<double>::infinity();
    case Measure::friction:
      break;
  }
  return way.walk.keeps_balance ? way.walk.needed_friction : std::numeric_limits<double>::infinity();
}

class Remedies {
 public:
  Remedies(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses,
           const brief::Obstacle& obstacle, const ObstacleWay& now, const Options& options)
      : brief_(brief),
        options_(options),
        chosen_(chosen),
        obstacle_(obstacle),
        now_(now),
        rig_(rig_of(brief, chosen, masses)),
        machine_(brief, chosen, masses),
        by_(now.slope                    ? Measure::slope
            : now.stop[1] == "clearance" ? Measure::clearance
            : now.stop[1] == "pull"      ? Measure::pull
                                         : Measure::friction) {}

  [[nodiscard]] std::vector<Remedy> all() {
    std::vector<Remedy> out;
    for (auto& r : {moved(), raised(), geared(), rocking(), all_driven(), smaller()}) {
      if (r) out.push_back(*r);
    }
    std::stable_sort(out.begin(), out.end(), [](const Remedy& a, const Remedy& b) { return a.enough > b.enough; });
    return out;
  }

 private:
  [[nodiscard]] ObstacleWay judged(const Rig& rig) const {
    options_.check();
    // The pull is told by whole walks only.
    return judge_obstacle(rig, brief_, obstacle_, by_ == Measure::pull);
  }
  [[nodiscard]] Remedy told(std::string text, const ObstacleWay& after) const {
    const char* what = by_ == Measure::slope       ? "steepest slope"
                       : by_ == Measure::clearance ? "least room under it"
                       : by_ == Measure::pull      ? "pull needed"
                                                   : "friction needed";
    const char* unit = by_ == Measure::slope       ? "deg"
                       : by_ == Measure::clearance ? "mm"
                       : by_ == Measure::pull      ? "N"
                                                   : "";
    return {std::move(text), what, measure_of(now_, by_), measure_of(after, by_), unit, after.passed(1)};
  }
  /// Larger for the better; infinite: passed.
  [[nodiscard]] double worth(const ObstacleWay& way) const {
    if (way.passed(1)) return std::numeric_limits<double>::infinity();
    const double measured = measure_of(way, by_);
    return by_ == Measure::slope || by_ == Measure::clearance ? measured : -measured;
  }
  [[nodiscard]] bool better(const ObstacleWay& after) const {
    return after.passed(1) || worth(after) > worth(now_) + 1e-6;
  }

  /// The least move of a fixed body that is enough, else the best one.
  std::optional<Remedy> moved() {
    const auto way_of = [&](const Setup& tried) {
      Rig rig = rig_;
      rig.mass = driving_mass(tried.brief, tried.masses);
      return judged(rig);
    };
    const Sought sought{"", "", worth(now_), std::numeric_limits<double>::infinity(),
                        [&](const Setup& tried) { return worth(way_of(tried)); }};
    const std::vector<Change> family = moved_bodies(machine_);
    std::optional<std::pair<const Change*, int>> done;
    const std::optional<Remedy> found = best_of(machine_, family, sought, &done);
    if (!found) return std::nullopt;
    Setup tried = machine_;
    done->first->make(tried, done->second);
    return told(found->text, way_of(tried));
  }

  /// Slower and stronger: the drive geared down as far as the pull asks for.
  std::optional<Remedy> geared() {
    const bool pulls = now_.slope ? now_.grade[1].stop == balance::GradeStop::effort : by_ == Measure::pull;
    if (!pulls) return std::nullopt;
    const double needed_n = now_.slope ? rig_.weight_n() * (std::sin(obstacle_.slope_rad) +
                                                            rig_.rolling_resistance * std::cos(obstacle_.slope_rad))
                                       : now_.walk.needed_pull_n;
    if (!std::isfinite(needed_n)) return std::nullopt;
    const auto hundredths = [](double times) { return std::ceil(100 * times * (1 - 1e-9)) / 100; };
    const auto enough = [&](double times) {
      Rig rig = rig_;
      rig.under.pull_n *= times;
      return judged(rig).passed(1);
    };
    double times = hundredths(needed_n / rig_.under.pull_n * (1 + 2e-9));
    bool done = enough(times);
    // On a slope with motors of their own, wheels that slip early leave more to the others than their part.
    constexpr double kMost = 8;  // further than that no wheel that grips asks for
    if (!done && now_.slope && enough(kMost * times)) {
      double low = times, high = kMost * times;
      while (high - low > 0.005) {
        const double middle = (low + high) / 2;
        (enough(middle) ? high : low) = middle;
      }
      times = hundredths(high);
      done = enough(times);
    }
    return Remedy{fmt::format("gear its drive down {} times further, for so much less speed", base::plain(times, 3)),
                  "pull at the ground",
                  rig_.under.pull_n,
                  times * rig_.under.pull_n,
                  "N",
                  done};
  }

  /// Raises the underside by half-pitches.
  std::optional<Remedy> raised() {
    if (by_ != Measure::clearance) return std::nullopt;
    constexpr int kMostHalfPitches = 16;
    const double half_mm = brief_.system().pitch_mm / 2;
    for (int k = 1; k <= kMostHalfPitches; ++k) {
      Rig rig = rig_;
      for (balance::SidePoint& p : rig.under.side->underside) p.z_mm += k * half_mm;
      const ObstacleWay after = judged(rig);
      const bool free = after.stop[1] != "clearance";
      if (!free && k < kMostHalfPitches) continue;
      return told(fmt::format("raise the underside by {} mm", base::plain(k * half_mm, 3)), after);
    }
    return std::nullopt;
  }

  /// Lets the wheels rock in pairs.
  std::optional<Remedy> rocking() {
    if (now_.slope || !rig_.under.side->rockers.empty()) return std::nullopt;
    brief::Brief other = brief_;
    other.support.rocking = brief::Support::Rocking::pairs;
    if (other.support.rocks_rad <= 0) return std::nullopt;
    Rig rig = rig_;
    rig.under = undercarriage_of(other, chosen_);
    // Two wheels a side on one beam would leave nothing else to stand on.
    if (balance::tipping_polygon(rig.under.wheels).size() < 3) return std::nullopt;
    const ObstacleWay after = judged(rig);
    if (!better(after)) return std::nullopt;
    return told("let the wheels rock in pairs", after);
  }

  std::optional<Remedy> all_driven() {
    if (by_ == Measure::clearance || by_ == Measure::pull || rig_.under.side->belt) return std::nullopt;
    Rig rig = rig_;
    bool changed = false;
    for (balance::SideWheel& w : rig.under.side->wheels) {
      changed = changed || !w.driven;
      w.driven = true;
    }
    // Each further axle has motors of its own.
    rig.under.pull_n *= static_cast<double>(rig.under.side->pulls()) / rig_.under.side->pulls();
    rig.under.driven.assign(rig.under.driven.size(), true);
    if (!changed) return std::nullopt;
    const ObstacleWay after = judged(rig);
    if (!better(after)) return std::nullopt;
    return told("drive all wheels", after);
  }

  std::optional<Remedy> smaller() {
    if (now_.slope) {
      const double least_deg = std::floor(10 * now_.grade[1].slope_rad / kDeg) / 10;
      return Remedy{fmt::format("no more than {} deg", base::plain(least_deg, 3)),
                    "slope",
                    now_.wanted_deg,
                    least_deg,
                    "deg",
                    true,
                    {{"obstacles", obstacle_.id, "slope_deg", number_value(least_deg)}}};
    }
    const std::optional<double> size_mm = passed_size_mm(rig_, obstacle_, now_.friction.nominal);
    const double before_mm = obstacle_.type == brief::Obstacle::Type::trench ? obstacle_.width_mm : obstacle_.height_mm;
    const double told_mm = std::floor(10 * *size_mm) / 10;
    if (!(told_mm > 0)) return std::nullopt;
    const bool wide = obstacle_.type == brief::Obstacle::Type::trench;
    return Remedy{fmt::format("no {} than {} mm", wide ? "wider" : "higher", base::plain(told_mm, 3)),
                  wide ? "width" : "height",
                  before_mm,
                  told_mm,
                  "mm",
                  true,
                  {{"obstacles", obstacle_.id, wide ? "width_mm" : "height_mm", number_value(told_mm)}}};
  }

  const brief::Brief& brief_;
  const Options& options_;
  const std::vector<Chosen>& chosen_;
  const brief::Obstacle& obstacle_;
  const ObstacleWay& now_;
  Rig rig_;
  Setup machine_;
  Measure by_;
};

}  // namespace

Ground judge_ground(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses,
                    const Options& options) {
  Ground out;
  const Rig rig = rig_of(brief, chosen, masses);
  out.note = rig.under.note;
  out.function = rig.under.function;
  out.friction = brief.parameters.at(brief::Parameter::ground_friction).value;
  out.mass = rig.mass;
  out.state = rig.under.wheels;
  if (!rig.under.side) {
    out.why_not = "no chosen function drives it along";
    return out;
  }
  if (!(out.mass.total.mass_g > 0)) {
    out.why_not = "no body has a mass";
    return out;
  }
  out.vehicle = rig.side();
  out.why_not = balance::fault_of(out.vehicle);
  if (out.why_not.empty()) out.why_not = balance::fault_of(out.state);
  if (!out.why_not.empty()) return out;
  out.standing = balance::stand(out.state, rig.weight_n(), out.mass.total.at);
  if (!out.standing.stands) {
    out.why_not = "it does not stand on the level";
    return out;
  }
  out.judged = true;
  out.underside_known = !out.vehicle.underside.empty();
  if (out.underside_known) {
    out.clearance_mm = balance::ground_clearance_mm(out.vehicle);
    out.approach_deg = balance::approach_angle_rad(out.vehicle) / kDeg;
    out.departure_deg = balance::departure_angle_rad(out.vehicle) / kDeg;
    out.breakover_deg = balance::breakover_angle_rad(out.vehicle) / kDeg;
  }
  const std::array<double, kFrictions> frictions = values_of(out.friction);
  for (std::size_t i = 0; i < kFrictions; ++i) out.grade[i] = rig.climbs(frictions[i], 0);
  out.pull_n = rig.under.pull_n;
  if (rig.under.steers_by_skidding && rig.under.gauge_mm > 0) {
    const balance::SpotTurn turn = balance::spot_turn(out.state, out.standing, out.friction.nominal);
    out.turn_moment_nmm = turn.moment_nmm;
    // Both sides push alike, against rolling as well.
    out.turn_force_n = rig.rolling_resistance * rig.weight_n() / 2 + turn.moment_nmm / rig.under.gauge_mm;
    out.turn_friction_along = out.turn_force_n / (rig.weight_n() / 2);
  }
  options.check();
  out.step = steps_of(rig, out.friction);
  options.check();
  out.trench = trenches_of(rig, out.friction);
  for (const brief::Obstacle& o : brief.obstacles) {
    options.check();
    out.obstacles.push_back(judge_obstacle(rig, brief, o, true));
    out.obstacles.back().confidence = confidence_of(rig, brief, o, out.obstacles.back(), options);
  }
  return out;
}

std::vector<Finding> ground_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                     const Assessment& assessment, const Options& options) {
  std::vector<Finding> out;
  const Ground& g = assessment.ground;
  if (!g.judged) {
    if (!brief.obstacles.empty()) {
      out.push_back({Finding::Severity::warning,
                     "ground.not_judged",
                     "The obstacles were not judged: " + g.why_not + ".",
                     "",
                     {},
                     {}});
    }
    return out;
  }
  for (std::size_t i = 0; i < g.obstacles.size(); ++i) {
    const ObstacleWay& way = g.obstacles[i];
    if (way.passed(0) && way.passed(1)) continue;
    const bool never = !way.passed(1);
    Finding f;
    f.severity = never ? Finding::Severity::problem : Finding::Severity::warning;
    f.code = never ? "ground.obstacle_stops" : "ground.obstacle_unsure";
    f.function = g.function;
    const std::string mu = base::plain(never ? way.friction.nominal : way.friction.low, 2);
    const std::string& stop = way.stop[never ? 1 : 0];
    if (way.slope) {
      f.text = fmt::format("It does not get up the {} \"{}\" of {} deg with friction {}: {} ends it at {} deg.",
                           way.type, way.id, base::plain(way.wanted_deg, 3), mu, stop,
                           base::plain(way.grade[never ? 1 : 0].slope_rad / kDeg, 3));
      f.numbers = {{"slope", way.wanted_deg, "deg"},
                   {"climbed, low friction", way.grade[0].slope_rad / kDeg, "deg"},
                   {"climbed, nominal friction", way.grade[1].slope_rad / kDeg, "deg"},
                   {"tips at", way.tips_at_deg, "deg"},
                   {"confidence", way.confidence, ""}};
    } else {
      f.text =
          fmt::format("It does not get over the {} \"{}\" with friction {}: {} stops it", way.type, way.id, mu, stop);
      if (stop == "friction" && std::isfinite(way.walk.needed_friction))
        f.text += fmt::format(", {} is needed", base::plain(way.walk.needed_friction, 2));
      if (stop == "friction" && !std::isfinite(way.walk.needed_friction)) f.text += ", none would do";
      if (stop == "clearance")
        f.text += fmt::format(", {} mm are missing under it", base::plain(-way.walk.least_clearance_mm, 3));
      if (stop == "pull") {
        const int pulls = g.vehicle.pulls();
        f.text += std::isfinite(way.walk.needed_pull_n)
                      ? fmt::format(", {}{} N are needed and {} stalled motors give {} N",
                                    pulls > 1 ? "at one axle " : "", base::plain(way.walk.needed_pull_n / pulls, 3),
                                    pulls > 1 ? "its" : "the", base::plain(g.pull_n / pulls, 3))
                      : std::string(", none would do");
      }
      f.text += ".";
      if (std::isfinite(way.walk.needed_friction))
        f.numbers.push_back({"friction needed", way.walk.needed_friction, ""});
      if (std::isfinite(way.walk.least_clearance_mm))
        f.numbers.push_back({"least room under it", way.walk.least_clearance_mm, "mm"});
      if (g.pull_n > 0) {
        if (std::isfinite(way.walk.needed_pull_n)) f.numbers.push_back({"pull needed", way.walk.needed_pull_n, "N"});
        f.numbers.push_back({"pull of the stalled motors", g.pull_n, "N"});
      }
      f.numbers.push_back({"confidence", way.confidence, ""});
    }
    if (never) f.remedies = Remedies(brief, chosen, assessment.masses, brief.obstacles[i], way, options).all();
    out.push_back(std::move(f));
  }
  return out;
}

}  // namespace assessment
