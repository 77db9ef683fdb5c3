#include <algorithm>
#include <cmath>

#include "assessment/internal.h"
#include "base/check.h"

namespace assessment {
namespace {

std::size_t body_index(const brief::Brief& brief, int body) {
  const std::size_t at = body < 0 ? 0 : static_cast<std::size_t>(body);
  KW_CHECK(at < brief.bodies.size(), "a candidate or reserve names a body that is not there");
  return at;
}

double volume_cm3(const brief::Vec3& size_mm) {
  return size_mm.x_mm * size_mm.y_mm * size_mm.z_mm / 1000;
}

/// Share of a candidate's parts mass that motors and actuators make: what an envelope's filling does not contain.
double powered_share(const candidate::Candidate& c, const stock::Catalogue& catalogue) {
  candidate::Demand powered;
  for (const candidate::Need& need : c.demand.needs) {
    const stock::Family family = catalogue.at(need.accepts.front()).family;
    if (family == stock::Family::motor || family == stock::Family::actuator) powered.needs.push_back(need);
  }
  const double all_g = candidate::parts_mass_g(c.demand, catalogue);
  return all_g > 0 ? candidate::parts_mass_g(powered, catalogue) / all_g : 0;
}

}  // namespace

double draw_mass_g(const MassLine& line, const brief::Brief& brief, std::uint64_t seed, std::uint64_t k) {
  if (line.estimate) {
    return line.mass_g.nominal * brief.parameters.draw(seed, k)[brief::Parameter::mass_factor];
  }
  return base::triangular_draw(line.mass_g, base::uniform_draw(seed, base::stream_of("mass:" + line.body), k));
}

base::Triple interval_of(std::vector<double> values, double nominal) {
  KW_CHECK(!values.empty(), "an interval needs at least one draw");
  std::sort(values.begin(), values.end());
  const auto rank = [&](double share) {
    const auto at = static_cast<std::size_t>(std::ceil(share * static_cast<double>(values.size())));
    return values[std::clamp<std::size_t>(at, 1, values.size()) - 1];
  };
  return {rank(0.05), nominal, rank(0.95)};
}

void weigh(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Options& options, Assessment& out) {
  KW_CHECK(!brief.bodies.empty(), "a brief has at least the chassis");
  std::vector<double> parts_g(brief.bodies.size(), 0), reserve_g(brief.bodies.size(), 0);
  std::vector<double> powered_g(brief.bodies.size(), 0);  // motors, actuators, hubs
  for (const Chosen& c : chosen) {
    if (c.candidate == nullptr) continue;
    const double share = powered_share(*c.candidate, *brief.catalogue);
    for (const candidate::MassItem& m : c.candidate->masses) {
      parts_g[body_index(brief, m.body)] += m.mass_g;
      powered_g[body_index(brief, m.body)] += m.mass_g * share;
    }
  }
  // A reserve is weighed by the lightest part it accepts: which one is kept back may change with the next stock.
  for (const brief::Reserve& r : brief.reserves) {
    double lightest_g = 0;
    for (const stock::ClassId id : r.accepts) {
      const double mass_g = brief.catalogue->at(id).mass_g.value.nominal;
      lightest_g = lightest_g == 0 ? mass_g : std::min(lightest_g, mass_g);
    }
    reserve_g[body_index(brief, r.body)] += lightest_g * r.count;
  }
  for (const stock::ClassId hub : brief.supply.hubs) {
    const double mass_g = brief.catalogue->at(hub).mass_g.value.nominal;
    reserve_g[0] += mass_g;
    powered_g[0] += mass_g;
  }

  const base::Triple fill = brief.system().craft.fill_density_g_cm3.value;
  const base::Triple factor = brief.parameters.at(brief::Parameter::mass_factor).value;
  for (std::size_t b = 0; b < brief.bodies.size(); ++b) {
    const brief::Body& body = brief.bodies[b];
    MassLine line;
    line.body = body.id;
    line.centre_mm = body.centre_mm;
    line.estimate = body.mass_is_estimate;
    if (line.estimate) {
      line.parts_g = parts_g[b];
      line.reserve_g = reserve_g[b];
      // The filling of an envelope is all its parts, motors and hubs apart: chosen gears and kept-back panels are
      // inside it. What they leave of it is the rest of the body.
      const double inside_g = line.parts_g + line.reserve_g - powered_g[b];
      line.fill_g = std::max(0.0, volume_cm3(body.size_mm) * fill.nominal - inside_g);
      const double nominal_g = line.parts_g + line.reserve_g + line.fill_g;
      line.mass_g = {nominal_g * factor.low, nominal_g, nominal_g * factor.high};
    } else {
      line.mass_g = body.mass_g;
    }
    out.mass_is_estimate = out.mass_is_estimate || line.estimate;
    out.masses.push_back(std::move(line));
  }

  double moment_x = 0, moment_y = 0, moment_z = 0;
  for (const MassLine& line : out.masses) {
    out.mass_g += line.mass_g.nominal;
    moment_x += line.mass_g.nominal * line.centre_mm.x_mm;
    moment_y += line.mass_g.nominal * line.centre_mm.y_mm;
    moment_z += line.mass_g.nominal * line.centre_mm.z_mm;
  }
  if (out.mass_g > 0) {
    out.centre_mm = {moment_x / out.mass_g, moment_y / out.mass_g, moment_z / out.mass_g};
  }
  std::vector<double> draws;
  for (int k = 0; k < options.draws; ++k) {
    double sum_g = 0;
    for (const MassLine& line : out.masses) {
      sum_g += draw_mass_g(line, brief, options.seed, static_cast<std::uint64_t>(k));
    }
    draws.push_back(sum_g);
  }
  out.mass_interval_g = draws.empty() ? base::Triple::exact(out.mass_g) : interval_of(std::move(draws), out.mass_g);
}

}  // namespace assessment
