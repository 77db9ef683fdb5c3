#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "assessment/internal.h"
#include "assessment/posture_stance.h"
#include "assessment/undercarriage.h"
#include "balance/support.h"
#include "base/check.h"
#include "base/text.h"
#include "brief/body_tree.h"

namespace assessment {
namespace {

constexpr double kDeg = std::numbers::pi / 180;
/// Slewing joints are looked at every 15 deg: between two of them the angle changes by less than the masses are known.
constexpr double kSlewStep_rad = 15 * kDeg;
/// More postures than this and only the ends of every joint are looked at; keeps the answer under a second.
constexpr std::size_t kMostPostures = 50000;
constexpr int kDirections = 72;

brief::Vec3 to_brief(const balance::Vec3& v) {
  return {v.x_mm, v.y_mm, v.z_mm};
}

std::vector<double> stops_of(const brief::Joint& joint, bool ends_only) {
  if (joint.type == brief::Joint::Type::fixed) return {0};
  const double low = joint.low_rad, high = joint.high_rad;
  if (high <= low) return {low};
  if (joint.type == brief::Joint::Type::slew) {
    const double step = ends_only ? 90 * kDeg : kSlewStep_rad;
    const bool full = high - low >= 2 * std::numbers::pi - 1e-9;
    const double span = full ? 2 * std::numbers::pi : high - low;
    const int count = std::max(1, static_cast<int>(std::ceil(span / step - 1e-9)));
    std::vector<double> out;
    for (int i = 0; i < (full ? count : count + 1); ++i) out.push_back(low + span * i / count);
    return out;
  }
  // A boom reaches furthest when level, which its ends need not contain.
  std::vector<double> out{low};
  if (!ends_only && low < 0 && high > 0) out.push_back(0);
  out.push_back(high);
  return out;
}

std::vector<std::vector<double>> all_stops(const brief::Brief& brief, bool ends_only) {
  std::vector<std::vector<double>> out;
  for (const brief::Body& b : brief.bodies) out.push_back(stops_of(b.joint, ends_only));
  return out;
}

double product(const std::vector<std::vector<double>>& stops) {
  double n = 1;
  for (const auto& s : stops) n *= static_cast<double>(s.size());
  return n;
}

balance::Vec3 pivot_of(const brief::Brief& brief, int body) {
  return body < 0 ? balance::Vec3{} : to_balance(brief.bodies[static_cast<std::size_t>(body)].joint.pivot_mm);
}

/// The machine as bodies of the balance theory, loads as extra bodies at the end.
struct Machine {
  std::vector<balance::Body> bodies;
  std::size_t own = 0;  ///< bodies before the loads

  Machine(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses) {
    for (std::size_t b = 0; b < brief.bodies.size(); ++b) bodies.push_back(balance_body(brief, b, masses[b]));
    own = bodies.size();
    for (const candidate::Payload& p : loads_of(brief, chosen)) {
      balance::Body load;
      load.parent = p.body;
      load.mass_g = p.mass_g;
      load.centre = to_balance(p.at_mm) - pivot_of(brief, load.parent);
      bodies.push_back(load);
    }
  }

  void pose(const std::vector<double>& angle_rad) {
    for (std::size_t b = 0; b < own; ++b) bodies[b].angle_rad = angle_rad[b];
  }
  [[nodiscard]] balance::MassPoint centre(bool loaded) const {
    return balance::total_mass(std::span(bodies).first(loaded ? bodies.size() : own));
  }
};

std::string posture_text(const brief::Brief& brief, const Posture& posture, bool has_load) {
  std::vector<std::string> words;
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    if (brief.bodies[b].joint.type == brief::Joint::Type::fixed) continue;
    words.push_back(brief.bodies[b].id + " at " + base::plain(posture.angle_rad[b] / kDeg, 3) + " deg");
  }
  if (has_load) words.push_back(posture.loaded ? "loaded" : "without load");
  std::string out;
  for (const std::string& w : words) out += (out.empty() ? "" : ", ") + w;
  return out.empty() ? "as it stands" : out;
}

}  // namespace

std::vector<candidate::Payload> loads_of(const brief::Brief& brief, const std::vector<Chosen>& chosen) {
  std::vector<candidate::Payload> all;
  for (const Chosen& c : chosen) {
    if (c.candidate == nullptr) continue;
    for (candidate::Payload p : c.candidate->payloads) {
      p.body = std::max(p.body, 0);
      if (p.mass_g > 0) all.push_back(p);
    }
  }
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) {
    return std::lround(a.mass_g * 1000) != std::lround(b.mass_g * 1000) ? a.mass_g > b.mass_g : a.body > b.body;
  });
  std::vector<candidate::Payload> out;
  for (const candidate::Payload& p : all) {
    const bool told = std::any_of(out.begin(), out.end(), [&](const candidate::Payload& o) {
      return brief::hangs_on(brief, o.body, p.body) || brief::hangs_on(brief, p.body, o.body);
    });
    if (!told) out.push_back(p);
  }
  return out;
}

balance::Body balance_body(const brief::Brief& brief, std::size_t body, const MassLine& mass) {
  const brief::Body& from = brief.bodies[body];
  balance::Body out;
  out.parent = from.parent;
  out.joint = from.joint.type == brief::Joint::Type::fixed ? balance::Joint::fixed : balance::Joint::turns;
  // Right-hand rule about -y raises the front.
  out.axis = from.joint.type == brief::Joint::Type::pitch ? balance::Vec3{0, -1, 0} : balance::Vec3{0, 0, 1};
  out.origin = pivot_of(brief, static_cast<int>(body)) - pivot_of(brief, from.parent);
  out.mass_g = mass.mass_g.nominal;
  out.centre = to_balance(mass.centre_mm) - pivot_of(brief, static_cast<int>(body));
  return out;
}

Stance judge_stance(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses,
                    const Options& options) {
  KW_CHECK(masses.size() == brief.bodies.size(), "every body is weighed");
  Stance out;
  // Rocking beams hold the chassis at their pins only.
  const balance::SupportState state = undercarriage_of(brief, chosen).state;
  const bool rocks = !state.rockers.empty();
  const std::string fault = balance::fault_of(state);
  if (!fault.empty()) {
    out.why_not = fault;
    return out;
  }
  const std::vector<balance::Point2> hull = balance::tipping_polygon(state);
  for (const balance::Point2& p : hull) out.support_mm.push_back({p.x_mm, p.y_mm, 0});
  if (hull.size() < 3) {
    out.why_not = rocks ? "what it stands on rocks: fewer than three pins or wheels hold it level"
                        : "the project names fewer than three contact points with the ground";
    return out;
  }
  Machine machine(brief, chosen, masses);
  for (std::size_t b = machine.own; b < machine.bodies.size(); ++b) out.load_g += machine.bodies[b].mass_g;
  if (!(machine.centre(false).mass_g > 0)) {
    out.why_not = "no body has a mass: give \"mass_g\" or \"size_mm\"";
    return out;
  }
  out.judged = true;

  const int load_cases = out.load_g > 0 ? 2 : 1;
  std::vector<std::vector<double>> stops = all_stops(brief, false);
  if (product(stops) * load_cases > static_cast<double>(kMostPostures)) {
    stops = all_stops(brief, true);
    out.coarse = true;
  }
  for (int d = 0; d < kDirections; ++d) out.direction_deg.push_back(d * 360.0 / kDirections);
  out.tipping_deg.assign(kDirections, 90);

  std::vector<std::size_t> at(stops.size(), 0);
  std::vector<double> angle_rad(stops.size(), 0);
  double least_rad = 1e9;
  std::vector<balance::Vec3> worst_centre(kDirections);  ///< per direction, by the level polygon
  for (bool more = true; more && out.postures < kMostPostures;) {
    for (std::size_t b = 0; b < stops.size(); ++b) angle_rad[b] = stops[b][at[b]];
    machine.pose(angle_rad);
    for (int loaded = 0; loaded < load_cases; ++loaded) {
      const balance::Vec3 centre = machine.centre(loaded == 1).at;
      ++out.postures;
      out.centres_mm.push_back(to_brief(centre));
      const std::vector<double> slopes =
          options.draws > 0 ? balance::tipping_slopes_rad(hull, centre, kDirections) : std::vector<double>{};
      for (int d = 0; d < static_cast<int>(slopes.size()); ++d) {
        const auto way = static_cast<std::size_t>(d);
        if (slopes[way] / kDeg >= out.tipping_deg[way]) continue;
        out.tipping_deg[way] = slopes[way] / kDeg;
        worst_centre[way] = centre;
      }
      const balance::EdgeMargin edge = balance::least_margin(hull, centre);
      // Postures that mirror each other differ in the last digits only; the first of them stays the worst.
      if (edge.angle_rad < least_rad - 1e-9) {
        least_rad = edge.angle_rad;
        out.least_deg = edge.angle_rad / kDeg;
        out.least_direction_deg = edge.outward_rad / kDeg;
        out.worst = {angle_rad, loaded == 1};
        out.centre_mm = to_brief(centre);
      }
    }
    more = false;
    for (std::size_t b = 0; b < stops.size() && !more; ++b) {
      more = ++at[b] < stops[b].size();
      if (!more) at[b] = 0;
    }
  }
  out.coarse = out.coarse || product(stops) * load_cases > static_cast<double>(out.postures) + 0.5;
  out.worst_text = posture_text(brief, out.worst, load_cases == 2);

  if (rocks) {
    // On a slope a pin shifts what it holds downhill by its height; too slow to follow in every posture, so the worst
    // ones on the level are looked at again.
    const balance::Vec3 centre = to_balance(out.centre_mm);
    const double down_rad = out.least_direction_deg * kDeg;
    if (out.least_deg > 0) out.least_deg = balance::tipping_slope_rad(state, centre, down_rad) / kDeg;
    for (std::size_t d = 0; d < out.tipping_deg.size() && options.draws > 0; ++d) {
      if (out.tipping_deg[d] >= 90) continue;
      double& deg = out.tipping_deg[d];
      deg = balance::tipping_slope_rad(state, worst_centre[d], out.direction_deg[d] * kDeg) / kDeg;
      if (deg >= out.least_deg) continue;
      out.least_deg = deg;
      out.least_direction_deg = out.direction_deg[d];
    }
  }

  machine.pose(out.worst.angle_rad);
  std::vector<double> draws;
  for (int k = 0; k < options.draws; ++k) {
    for (std::size_t b = 0; b < machine.own; ++b) {
      machine.bodies[b].mass_g = draw_mass_g(masses[b], brief, options.seed, static_cast<std::uint64_t>(k));
    }
    const balance::Vec3 centre = machine.centre(out.worst.loaded).at;
    const double level_rad = balance::least_margin(hull, centre).angle_rad;
    draws.push_back(rocks && level_rad > 0
                        ? balance::tipping_slope_rad(state, centre, out.least_direction_deg * kDeg) / kDeg
                        : level_rad / kDeg);
  }
  out.least_interval_deg =
      draws.empty() ? base::Triple::exact(out.least_deg) : interval_of(std::move(draws), out.least_deg);
  return out;
}

struct PostureStance::Inside {
  Machine machine;
  std::vector<balance::Point2> hull;
  std::vector<double> load_g;
};

/// Rocking beams hold the chassis at their pins only; empty where it cannot stand.
static std::vector<balance::Point2> hull_of(const brief::Brief& brief, const std::vector<Chosen>& chosen) {
  const balance::SupportState state = undercarriage_of(brief, chosen).state;
  if (!balance::fault_of(state).empty()) return {};
  return balance::tipping_polygon(state);
}

PostureStance::PostureStance(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                             const std::vector<MassLine>& masses)
    : inside_(std::make_unique<Inside>(Inside{Machine(brief, chosen, masses), hull_of(brief, chosen), {}})) {
  const Machine& m = inside_->machine;
  for (std::size_t b = m.own; b < m.bodies.size(); ++b) inside_->load_g.push_back(m.bodies[b].mass_g);
}

PostureStance::~PostureStance() = default;

double PostureStance::least_deg(const std::vector<double>& angle_rad, double load_share) {
  if (inside_->hull.size() < 3) return std::numeric_limits<double>::quiet_NaN();
  Machine& machine = inside_->machine;
  machine.pose(angle_rad);
  for (std::size_t l = 0; l < inside_->load_g.size(); ++l)
    machine.bodies[machine.own + l].mass_g = load_share * inside_->load_g[l];
  const balance::MassPoint centre = machine.centre(load_share > 0);
  if (!(centre.mass_g > 0)) return std::numeric_limits<double>::quiet_NaN();
  return balance::least_margin(inside_->hull, centre.at).angle_rad / kDeg;
}

}  // namespace assessment
