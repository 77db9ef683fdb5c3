#include "handset/travel.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "assessment/plugged.h"
#include "candidate/running.h"
#include "motor/supply.h"

namespace handset {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

/// Speed of the drive along its travel at a position.
double speed(const candidate::Drive& d, const motor::Constants& m, const motor::Feed& feed, double at, bool plus,
             double share, double load_factor) {
  const double nmm = candidate::motor_torque_nmm(d, candidate::torque_nmm(d, at, plus, share)) * load_factor;
  const motor::Operation op = motor::operate(m, feed, nmm);
  return op.turns ? op.speed_rad_s * d.ratio * candidate::travel_per_rad(d, at) : 0;
}

/// Trapezoid rule over the tables' own positions.
double time_s(const candidate::Drive& d, const motor::Constants& m, const motor::Feed& feed, bool plus, double share,
              double load_factor) {
  if (d.endless) {
    const double v = speed(d, m, feed, 0, plus, share, load_factor);
    return v > 0 ? (d.angle ? 2 * std::numbers::pi : 1000) / v : kInfinity;
  }
  double out = 0;
  for (std::size_t i = 0; i < d.at.size(); ++i) {
    const double before = i > 0 ? d.at[i] - d.at[i - 1] : 0, after = i + 1 < d.at.size() ? d.at[i + 1] - d.at[i] : 0;
    const double v = speed(d, m, feed, d.at[i], plus, share, load_factor);
    if (!(v > 0)) return kInfinity;
    out += (before + after) / 2 / v;
  }
  return out;
}

base::Triple interval(std::vector<double> values, double nominal) {
  std::sort(values.begin(), values.end());
  const auto rank = [&](double share) {
    return values[std::min(values.size() - 1, static_cast<std::size_t>(share * static_cast<double>(values.size())))];
  };
  return {std::min(rank(0.05), nominal), nominal, std::max(rank(0.95), nominal)};
}

}  // namespace

TravelClock::TravelClock(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                         const std::vector<assessment::PortUse>& ports, std::size_t function)
    : brief_(brief), candidate_(*chosen[function].candidate), hub_(candidate_.drives.size()) {
  const auto motors = assessment::socket_motors(chosen, ports);
  for (std::size_t p = 0; p < ports.size(); ++p) {
    if (motors[p] && motors[p]->function == function && !hub_[motors[p]->drive]) hub_[motors[p]->drive] = ports[p].hub;
  }
  for (int k = 0; k < brief.draws; ++k) {
    World world{brief.parameters.draw(brief.seed, static_cast<std::uint64_t>(k)), 1};
    if (candidate_.evaluate)
      world.load_factor = candidate::load_factor(candidate_.drives, brief, world.sample,
                                                 candidate_.evaluate(world.sample).running_current_ma,
                                                 candidate_.nominal.running_current_ma);
    draws_.push_back(world);
  }
}

std::array<double, 2> TravelClock::both_s(std::size_t drive, double load_share, double input, double depth,
                                          const World& world) const {
  const candidate::Drive& d = candidate_.drives[drive];
  const motor::Constants m = candidate::motor_constants(d, brief_, world.sample);
  motor::Supply supply;
  supply.open_voltage_v = brief_.supply.voltage_v;
  supply.resistance_ohm = brief_.supply.resistance_ohm;
  double port_ma = brief_.supply.port_current_ma;
  if (hub_[drive] && *hub_[drive] < brief_.supply.hubs.size()) {
    supply = motor::supply_at(candidate::cells_of(brief_, *hub_[drive]), depth);
    port_ma = candidate::hub_of(brief_, *hub_[drive]).port_current_ma;
  }
  // A chopped input: the mean voltage, and the supply's resistance as the motor sees it.
  supply.open_voltage_v *= input * world.sample[brief::Parameter::supply_voltage_factor];
  supply.resistance_ohm *= input * input;
  if (port_ma > 0) supply.port_current_limit_a = port_ma / 1000 / input;
  const motor::Feed feed = motor::feed_of_equal(supply, d.motors);
  return {time_s(d, m, feed, true, load_share, world.load_factor),
          time_s(d, m, feed, false, load_share, world.load_factor)};
}

double TravelClock::usual_s(std::size_t drive, double load_share, double input, double depth) const {
  const auto both = both_s(drive, load_share, input, depth, {brief_.parameters.nominal(), 1});
  return std::max(both[0], both[1]);
}

TravelTimes TravelClock::times(std::size_t drive, double load_share, double input) const {
  const auto nominal = both_s(drive, load_share, input, 0, {brief_.parameters.nominal(), 1});
  std::vector<double> plus{nominal[0]}, minus{nominal[1]};
  for (const World& world : draws_) {
    const auto drawn = both_s(drive, load_share, input, 0, world);
    plus.push_back(drawn[0]);
    minus.push_back(drawn[1]);
  }
  return {interval(std::move(plus), nominal[0]), interval(std::move(minus), nominal[1])};
}

}  // namespace handset
