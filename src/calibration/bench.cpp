#include "calibration/bench.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <variant>

#include "base/text.h"
#include "calibration/fit.h"
#include "document/fields.h"
#include "stock/csv.h"

namespace calibration {
namespace {

using base::plain;
using document::Diagnostics;
using document::quoted;

// Usual spreads of readings by hand, common practice, no source: a stop watch, a spring balance, a kitchen scale.
constexpr double kTimeSpread = 0.03, kOtherSpread = 0.05, kScale_g = 1, kScaleShare = 0.01;
constexpr const char* kLifted = "lifted_mass_g";
constexpr double kTold = 0.02;  // changes below this are not worth telling

/// Standard deviation of the triangular law.
double sigma_of(const base::Triple& t) {
  return std::sqrt((t.low * t.low + t.nominal * t.nominal + t.high * t.high - t.low * t.nominal - t.low * t.high -
                    t.nominal * t.high) /
                   18);
}

/// The triple with a mode and a spread, within bounds.
base::Triple triple_of(double mode, double sigma, const base::Triple& within) {
  const double half = std::sqrt(6.0) * sigma;  // a symmetrical triangular law has sigma = half width / sqrt 6
  return {std::clamp(mode - half, within.low, mode), mode, std::clamp(mode + half, mode, within.high)};
}

const candidate::Margin* margin_of(const candidate::Evaluation& e, const std::string& name) {
  const auto at =
      std::find_if(e.margins.begin(), e.margins.end(), [&](const candidate::Margin& m) { return m.name == name; });
  return at == e.margins.end() ? nullptr : &*at;
}

/// One reading that the fit takes, and how a set of parameters predicts it.
struct Predicted {
  std::size_t reading = 0;
  std::size_t chosen = 0;  ///< of a function's margin
  double per_factor = 0;   ///< of a motor's figure: nominal value
  std::string margin;      ///< of a function: which of its margins; empty: the mass that it lifts
  brief::Parameter factor = brief::Parameter::motor_torque_factor;
};

class Calibration {
 public:
  Calibration(brief::Brief& brief, const std::vector<assessment::Chosen>& chosen, Diagnostics& d)
      : brief_(brief), chosen_(chosen), d_(d) {}

  void take(const Row& row) {
    Reading reading{row, "", 0, 0, 0, 0};
    const bool of_a_part = row.what == "mass_g" || row.what == "stall_torque_nmm" || row.what == "no_load_speed_rpm";
    if (of_a_part && row.input < 1) {
      d_.error("bench.input", row.where, "", fmt::format("{} is not read at a share of the input", quoted(row.what)),
               "leave input_percent empty");
      return;
    }
    if (row.what == "mass_g") {
      weigh(row, reading);
    } else if (row.what == "stall_torque_nmm" || row.what == "no_load_speed_rpm") {
      take_motor(row, reading);
    } else {
      take_margin(row, reading);
    }
  }

  std::optional<Outcome> finish() {
    if (d_.has_errors()) return std::nullopt;
    if (!predicted_.empty()) fit_parameters();
    if (d_.has_errors()) return std::nullopt;
    return std::move(out_);
  }

 private:
  void unknown(const Row& row, const char* what, const std::vector<std::string>& known) {
    const auto near = base::nearest_name(row.of, known);
    d_.error("bench.unknown_name", row.where, "", fmt::format("there is no {} {}", what, quoted(row.of)),
             near ? quoted(*near) : "one of " + document::choices_text(known));
  }

  void weigh(const Row& row, Reading& reading) {
    std::vector<std::string> known;
    for (brief::Body& body : brief_.bodies) {
      known.push_back(body.id);
      if (body.id != row.of) continue;
      reading.unit = "g";
      reading.sigma = row.spread.value_or(std::max(kScale_g, kScaleShare * row.value));
      reading.before = body.mass_g.nominal;
      const double prior = sigma_of(body.mass_g);
      const bool entered = !body.mass_is_estimate;
      // An estimate is replaced; an entered mass is held against the scale.
      const double weight = entered && prior > 0 ? 1 / (prior * prior) : 0;
      const double scale = 1 / (reading.sigma * reading.sigma);
      const double mean = (weight * body.mass_g.nominal + scale * row.value) / (weight + scale);
      const double sigma = std::sqrt(1 / (weight + scale));
      reading.after = mean;
      if (entered) {
        reading.normalised = (row.value - body.mass_g.nominal) / std::hypot(prior, reading.sigma);
        if (std::fabs(reading.normalised) > kRefused) {
          d_.error("bench.inconsistent", row.where, "",
                   fmt::format("{} was weighed with {} g, and the project says {} to {} g", quoted(row.of),
                               plain(row.value, 4), plain(body.mass_g.low, 4), plain(body.mass_g.high, 4)),
                   "weigh again, or correct mass_g of the body");
          return;
        }
      }
      const base::Triple after{mean - std::sqrt(6.0) * sigma, mean, mean + std::sqrt(6.0) * sigma};
      out_.narrowed.push_back(
          {"mass of " + body.id, body.mass_g, after, prior > 0 ? std::max(0.0, 1 - sigma / prior) : 0});
      body.mass_g = after;
      body.mass_is_estimate = false;
      out_.readings.push_back(std::move(reading));
      return;
    }
    unknown(row, "body", known);
  }

  void take_motor(const Row& row, Reading& reading) {
    std::vector<std::string> known;
    for (const stock::ClassId id : brief_.catalogue->of(stock::Family::motor)) {
      known.push_back(brief_.catalogue->at(id).id);
      if (known.back() != row.of) continue;
      const auto& part = std::get<stock::Motor>(brief_.catalogue->at(id).data);
      const bool torque = row.what == "stall_torque_nmm";
      Predicted p;
      p.per_factor = torque ? part.stall_torque_nmm.value.nominal : part.no_load_speed_rpm.value.nominal;
      p.factor = torque ? brief::Parameter::motor_torque_factor : brief::Parameter::motor_speed_factor;
      reading.unit = torque ? "N mm" : "rpm";
      reading.sigma = row.spread.value_or(kOtherSpread * row.value);
      add(p, reading);
      return;
    }
    unknown(row, "motor", known);
  }

  void take_margin(const Row& row, Reading& reading) {
    std::vector<std::string> known;
    for (std::size_t f = 0; f < chosen_.size(); ++f) {
      known.push_back(chosen_[f].function->id);
      if (known.back() != row.of) continue;
      const candidate::Candidate* c = chosen_[f].candidate;
      if (c == nullptr || !c->evaluate) {
        d_.error("bench.not_built", row.where, "",
                 fmt::format("nothing is chosen for {}, so a reading of it cannot be held against anything",
                             quoted(row.of)));
        return;
      }
      const bool lifted = row.what == kLifted;
      if (lifted && !c->lifts_g) {
        d_.error("bench.lifts_nothing", row.where, "",
                 fmt::format("{} raises no load of its own: it is no hoist and no boom with a load_g", quoted(row.of)),
                 "time its travel under a known load instead");
        return;
      }
      const candidate::Margin* m = lifted ? nullptr : margin_of(c->nominal, row.what);
      if (m == nullptr && !lifted) {
        std::vector<std::string> names{"mass_g", "stall_torque_nmm", "no_load_speed_rpm"};
        for (const candidate::Margin& other : c->nominal.margins) names.push_back(other.name);
        const auto near = base::nearest_name(row.what, names);
        d_.error("bench.unknown_what", row.where, "", fmt::format("{} has no {}", quoted(row.of), quoted(row.what)),
                 near ? quoted(*near) : "one of " + document::choices_text(names));
        return;
      }
      Predicted p;
      p.chosen = f;
      if (!lifted) p.margin = m->name;
      reading.unit = lifted ? "g" : m->unit;
      reading.sigma = row.spread.value_or((row.what == "time" ? kTimeSpread : kOtherSpread) * std::fabs(row.value));
      add(p, reading);
      return;
    }
    unknown(row, "function", known);
  }

  void add(Predicted p, Reading& reading) {
    if (!(reading.sigma > 0)) {
      d_.error("bench.no_spread", reading.row.where, "", "the spread must be above 0",
               "how far two readings of the same thing lie apart");
      return;
    }
    p.reading = out_.readings.size();
    predicted_.push_back(p);
    out_.readings.push_back(std::move(reading));
  }

  [[nodiscard]] document::Location where_of(const Predicted& p) const { return out_.readings[p.reading].row.where; }

  [[nodiscard]] std::vector<double> predict(const brief::Sample& sample) const {
    std::map<std::pair<std::size_t, double>, candidate::Evaluation> evaluated;  // by function and input
    std::vector<double> out;
    for (const Predicted& p : predicted_) {
      if (p.per_factor > 0) {
        out.push_back(p.per_factor * sample[p.factor]);
        continue;
      }
      const double input = out_.readings[p.reading].row.input;
      brief::Sample shared = sample;  // a control at a share of its travel gives the motors that share of the voltage
      shared.value[static_cast<std::size_t>(brief::Parameter::supply_voltage_factor)] *= input;
      if (p.margin.empty()) {
        out.push_back(chosen_[p.chosen].candidate->lifts_g(shared));
        continue;
      }
      const auto [at, fresh] = evaluated.try_emplace({p.chosen, input});
      if (fresh) at->second = chosen_[p.chosen].candidate->evaluate(shared);
      const candidate::Margin* m = margin_of(at->second, p.margin);
      out.push_back(m != nullptr ? m->capability : std::numeric_limits<double>::quiet_NaN());
    }
    return out;
  }

  void fit_parameters() {
    std::vector<Prior> priors;
    std::vector<std::size_t> which;
    for (std::size_t i = 0; i < brief_.parameters.figure.size(); ++i) {
      const base::Triple& t = brief_.parameters.figure[i].value;
      if (!(t.high > t.low)) continue;
      priors.push_back({t.nominal, sigma_of(t), t.low, t.high});
      which.push_back(i);
    }
    std::vector<Measured> measured;
    for (const Predicted& p : predicted_) {
      const Reading& r = out_.readings[p.reading];
      measured.push_back({r.row.value, r.sigma});
    }
    const brief::Sample nominal = brief_.parameters.nominal();
    const Fit f = fit(priors, measured, [&](const std::vector<double>& x) {
      brief::Sample sample = nominal;
      for (std::size_t j = 0; j < x.size(); ++j) sample.value[which[j]] = x[j];
      return predict(sample);
    });
    std::size_t worst = 0;
    for (std::size_t i = 0; i < predicted_.size(); ++i) {
      Reading& r = out_.readings[predicted_[i].reading];
      r.before = f.before[i];
      r.after = f.after[i];
      r.normalised = f.normalised[i];
      if (std::fabs(f.normalised[i]) > std::fabs(f.normalised[worst])) worst = i;
    }
    if (!predicted_.empty() && std::fabs(f.normalised[worst]) > kRefused) {
      const Reading& r = out_.readings[predicted_[worst].reading];
      const double spread = std::hypot(f.told_sigma[worst], r.sigma);
      d_.error("bench.inconsistent", r.row.where, "",
               fmt::format("{} of {} read as {} {}; by what is known of the parts {} to {} was to be expected",
                           quoted(r.row.what), quoted(r.row.of), plain(r.row.value, 4), r.unit,
                           plain(f.before[worst] - 2 * spread, 3), plain(f.before[worst] + 2 * spread, 3)),
               "measure again, or look whether the model was built as designed; a larger spread lets it count less");
      return;
    }
    if (!f.converged) {
      d_.warning("bench.unsettled", predicted_.empty() ? document::Location{} : where_of(predicted_.front()), "",
                 "the fit of the readings had not settled when it ended; its figures may still move",
                 "look whether two readings contradict each other");
    }
    for (std::size_t j = 0; j < which.size(); ++j) {
      const double narrower = 1 - f.sigma[j] / priors[j].sigma;
      if (narrower < kTold) continue;
      stock::Figure& figure = brief_.parameters.figure[which[j]];
      const base::Triple after = triple_of(f.estimate[j], f.sigma[j], figure.value);
      out_.narrowed.push_back(
          {std::string(brief::name_of(static_cast<brief::Parameter>(which[j]))), figure.value, after, narrower});
      figure = {after, stock::Source::measured, "from bench tests"};
    }
  }

  brief::Brief& brief_;
  const std::vector<assessment::Chosen>& chosen_;
  Diagnostics& d_;
  std::vector<Predicted> predicted_;
  Outcome out_;
};

}  // namespace

std::optional<Outcome> calibrate(brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                                 const std::vector<Row>& rows, Diagnostics& diagnostics) {
  Diagnostics own;
  Calibration work(brief, chosen, own);
  for (const Row& row : rows) work.take(row);
  auto out = work.finish();
  diagnostics.add_all(own);
  return out;
}

}  // namespace calibration
