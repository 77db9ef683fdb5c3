#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "assessment/access.h"
#include "assessment/internal.h"
#include "base/text.h"

namespace assessment {
namespace {

using Severity = Finding::Severity;

/// Least tipping angle that is not worth a warning when nobody asked for one: a carpet edge or a knock. Common
/// practice, no source.
constexpr double kUneasyTipping_deg = 8;
/// The functions were computed with the masses of the brief; further off than this and the user should know.
constexpr double kMassDrift = 0.10;

struct Context {
  const brief::Brief& brief;
  const std::vector<Chosen>& chosen;
  const Assessment& assessment;
  const Options& options;
  std::vector<Finding>& out;
};

std::string mm_text(double mm) {
  return base::plain(mm, 3) + " mm";
}

/// Moves a body that is only fixed to another one, a whole number of pitches forward or back; the least move that helps
/// enough, else the best move up to kMostPitches.
std::optional<Remedy> try_moves(const Context& c, double wanted_deg) {
  constexpr int kMostPitches = 8;
  const double pitch_mm = c.brief.system().pitch_mm;
  Options quick = c.options;
  quick.draws = 0;
  std::optional<Remedy> best;
  for (int k = 1; k <= kMostPitches; ++k) {
    for (std::size_t b = 1; b < c.brief.bodies.size(); ++b) {
      if (c.brief.bodies[b].joint.type != brief::Joint::Type::fixed) continue;
      for (const int sign : {-1, 1}) {
        std::vector<MassLine> moved = c.assessment.masses;
        moved[b].centre_mm.x_mm += sign * k * pitch_mm;
        const Stance after = judge_stance(c.brief, c.chosen, moved, quick);
        if (best && after.least_deg <= best->after + 1e-6) continue;
        if (after.least_deg <= c.assessment.stance.least_deg + 1e-6) continue;
        best = Remedy{fmt::format("move \"{}\" {} pitch{} ({}) {}", c.brief.bodies[b].id, k, k == 1 ? "" : "es",
                                  mm_text(k * pitch_mm), sign < 0 ? "back" : "forward"),
                      "least tipping angle",
                      c.assessment.stance.least_deg,
                      after.least_deg,
                      "deg",
                      after.least_deg >= wanted_deg};
      }
    }
    if (best && best->enough) break;
  }
  return best;
}

/// Ballast from the parts left, at the end of a body that does not luff; least mass that helps enough, to 10 g.
std::optional<Remedy> try_counterweight(const Context& c, double wanted_deg) {
  double left_g = 0;
  for (const PartLine& p : c.assessment.parts) {
    left_g += p.left() * c.brief.catalogue->at(p.part).mass_g.value.nominal;
  }
  constexpr double kStep_g = 10;
  const int most = static_cast<int>(std::floor(left_g / kStep_g));
  if (most < 1) return std::nullopt;
  Options quick = c.options;
  quick.draws = 0;
  std::optional<Remedy> best;
  for (std::size_t b = 0; b < c.brief.bodies.size(); ++b) {
    const brief::Body& body = c.brief.bodies[b];
    if (body.joint.type == brief::Joint::Type::pitch) continue;
    for (const int sign : {-1, 1}) {
      const brief::Vec3 at{body.centre_mm.x_mm + sign * body.size_mm.x_mm / 2, body.centre_mm.y_mm,
                           body.centre_mm.z_mm};
      const auto angle_with = [&](int steps) {
        std::vector<MassLine> masses = c.assessment.masses;
        MassLine& line = masses[b];
        const double added_g = steps * kStep_g, sum_g = line.mass_g.nominal + added_g;
        const auto mix = [&](double own, double ballast) {
          return (own * line.mass_g.nominal + ballast * added_g) / sum_g;
        };
        line.centre_mm = {mix(line.centre_mm.x_mm, at.x_mm), mix(line.centre_mm.y_mm, at.y_mm),
                          mix(line.centre_mm.z_mm, at.z_mm)};
        line.mass_g = base::Triple::exact(sum_g);
        return judge_stance(c.brief, c.chosen, masses, quick).least_deg;
      };
      // The least angle need not grow with the ballast for ever, so walk up in growing steps and refine the first hit.
      int hit = 0, before = 0, best_steps = 0;
      double best_deg = c.assessment.stance.least_deg;
      for (int steps = 1; steps <= most && hit == 0; steps = steps + std::max(1, steps / 2)) {
        const double deg = angle_with(steps);
        if (deg > best_deg + 1e-6) {
          best_deg = deg;
          best_steps = steps;
        }
        if (deg >= wanted_deg) {
          hit = steps;
        } else {
          before = steps;
        }
      }
      while (hit - before > 1) {
        const int middle = (hit + before) / 2;
        (angle_with(middle) >= wanted_deg ? hit : before) = middle;
      }
      const int steps = hit > 0 ? hit : best_steps;
      if (steps == 0) continue;
      const double after_deg = angle_with(steps);
      const bool enough = after_deg >= wanted_deg;
      const bool better = !best || (enough && !best->enough) || (enough == best->enough && after_deg > best->after);
      if (!better) continue;
      best = Remedy{fmt::format("put {} g of the {} g of parts left at the {} of \"{}\"", base::plain(steps * kStep_g),
                                base::plain(left_g, 3), sign < 0 ? "rear" : "front", body.id),
                    "least tipping angle",
                    c.assessment.stance.least_deg,
                    after_deg,
                    "deg",
                    enough};
    }
  }
  return best;
}

void stance_findings(const Context& c) {
  const Stance& s = c.assessment.stance;
  if (!s.judged) {
    c.out.push_back({Severity::note, "stance.not_judged", "Tipping was not judged: " + s.why_not + ".", "", {}, {}});
    return;
  }
  if (s.coarse) {
    c.out.push_back({Severity::note,
                     "stance.coarse",
                     "The joints have too many postures together; only their ends were looked at.",
                     "",
                     {},
                     {}});
  }
  const double wanted_deg = c.brief.limits.tipping_angle_deg.value_or(kUneasyTipping_deg);
  if (s.least_deg >= wanted_deg) return;
  Finding f;
  const bool asked = c.brief.limits.tipping_angle_deg.has_value();
  if (s.least_deg < 0) {
    f.severity = Severity::problem;
    f.code = "stance.falls";
    f.text = fmt::format("It falls over on level ground with {}.", s.worst_text);
  } else {
    f.severity = asked ? Severity::problem : Severity::warning;
    f.code = asked ? "stance.below_wanted" : "stance.low";
    f.text = fmt::format("It tips on a slope of {} deg with {}; {} {} deg.", base::plain(s.least_deg, 3), s.worst_text,
                         asked ? "you want at least" : "common practice is at least", base::plain(wanted_deg, 3));
  }
  f.numbers = {{"least tipping angle", s.least_deg, "deg"}, {"wanted", wanted_deg, "deg"}};
  for (auto& remedy : {try_moves(c, wanted_deg), try_counterweight(c, wanted_deg)}) {
    if (remedy) f.remedies.push_back(*remedy);
  }
  c.out.push_back(std::move(f));
}

void power_findings(const Context& c) {
  const Power& p = c.assessment.power;
  if (!p.fits) {
    Finding f{Severity::problem, "power.hub_current", "One hub has to give more current than it can.", "", {}, {}};
    for (std::size_t h = 0; h < p.hub_running_ma.size(); ++h) {
      f.numbers.push_back({fmt::format("hub {}", h + 1), p.hub_running_ma[h], "mA"});
      f.numbers.push_back({fmt::format("hub {} limit", h + 1), p.hub_limit_ma[h], "mA"});
    }
    c.out.push_back(std::move(f));
  }
  std::vector<std::string> told;
  for (const PortUse& u : p.ports) {
    if (u.limit_ma <= 0 || std::find(told.begin(), told.end(), u.function) != told.end()) continue;
    if (u.running_ma > u.limit_ma) {
      told.push_back(u.function);
      c.out.push_back({Severity::problem,
                       "power.port_current",
                       fmt::format("\"{}\" draws {} mA at its load; its socket gives {} mA.", u.function,
                                   base::plain(u.running_ma, 3), base::plain(u.limit_ma, 3)),
                       u.function,
                       {{"running current", u.running_ma, "mA"}, {"socket limit", u.limit_ma, "mA"}},
                       {}});
    } else if (u.stall_ma > u.limit_ma) {
      told.push_back(u.function);
      c.out.push_back({Severity::note,
                       "power.stall_current",
                       fmt::format("If \"{}\" is held fast it asks for {} mA; its socket gives {} mA and may cut out.",
                                   u.function, base::plain(u.stall_ma, 3), base::plain(u.limit_ma, 3)),
                       u.function,
                       {{"stall current", u.stall_ma, "mA"}, {"socket limit", u.limit_ma, "mA"}},
                       {}});
    }
  }
}

/// Lower the duty of the function that costs most, to what gives the wanted time.
std::optional<Remedy> try_less_duty(const Context& c, double wanted_min) {
  const Power& p = c.assessment.power;
  const Chosen* greediest = nullptr;
  double most_ma = 0;
  for (const Chosen& x : c.chosen) {
    if (x.candidate == nullptr) continue;
    const double ma = x.candidate->demand.running_current_ma * x.function->duty;
    if (ma > most_ma) {
      most_ma = ma;
      greediest = &x;
    }
  }
  if (greediest == nullptr) return std::nullopt;
  const double allowed_ma = 60 * p.capacity_mah / wanted_min;
  const double others_ma = p.average_ma - most_ma;
  const double running_ma = greediest->candidate->demand.running_current_ma;
  // Two decimals, rounded down, so that what is printed is what was computed.
  const double duty = std::max(0.0, std::floor(100 * (allowed_ma - others_ma) / running_ma) / 100);
  const double after_min = 60 * p.capacity_mah / (others_ma + running_ma * duty);
  return Remedy{fmt::format("work \"{}\" {} % of the time instead of {} %", greediest->function->id,
                            base::plain(duty * 100), base::plain(greediest->function->duty * 100)),
                "run time",
                p.run_time_min.nominal,
                after_min,
                "min",
                after_min >= wanted_min};
}

std::optional<Remedy> try_more_supply(const Context& c, double wanted_min) {
  const Power& p = c.assessment.power;
  std::optional<Remedy> best;
  for (const PartLine& line : c.assessment.parts) {
    const auto* hub = std::get_if<stock::Hub>(&c.brief.catalogue->at(line.part).data);
    if (hub == nullptr || line.left() < 1) continue;
    const double after_min = 60 * (p.capacity_mah + hub->capacity_mah.value.nominal) / p.average_ma;
    if (best && after_min <= best->after) continue;
    best =
        Remedy{fmt::format("share the motors out with one more \"{}\" ({} left in the stock)", line.name, line.left()),
               "run time",
               p.run_time_min.nominal,
               after_min,
               "min",
               after_min >= wanted_min};
  }
  return best;
}

void run_time_findings(const Context& c) {
  const Power& p = c.assessment.power;
  if (!c.brief.limits.run_time_min || !(p.average_ma > 0)) return;
  const double wanted_min = *c.brief.limits.run_time_min;
  if (p.run_time_min.low >= wanted_min) return;
  const bool sure = p.run_time_min.nominal < wanted_min;
  Finding f;
  f.severity = sure ? Severity::problem : Severity::warning;
  f.code = sure ? "run_time.short" : "run_time.unsure";
  f.text =
      fmt::format("The cells last {} min ({} to {}); you want {} min.", base::plain(p.run_time_min.nominal, 3),
                  base::plain(p.run_time_min.low, 3), base::plain(p.run_time_min.high, 3), base::plain(wanted_min, 3));
  f.numbers = {{"run time", p.run_time_min.nominal, "min"}, {"wanted", wanted_min, "min"}};
  if (sure) {
    for (auto& remedy : {try_less_duty(c, wanted_min), try_more_supply(c, wanted_min)}) {
      if (remedy) f.remedies.push_back(*remedy);
    }
  }
  c.out.push_back(std::move(f));
}

void mass_findings(const Context& c) {
  const Assessment& a = c.assessment;
  if (c.brief.limits.mass_g && a.mass_g > *c.brief.limits.mass_g) {
    c.out.push_back(
        {Severity::problem,
         "mass.over",
         fmt::format("It weighs {} g; you allow {} g.", base::plain(a.mass_g), base::plain(*c.brief.limits.mass_g)),
         "",
         {{"mass", a.mass_g, "g"}, {"allowed", *c.brief.limits.mass_g, "g"}},
         {}});
  }
  const double before_g = c.brief.total_mass_g();
  if (before_g > 0 && std::fabs(a.mass_g - before_g) > kMassDrift * before_g) {
    c.out.push_back(
        {Severity::warning,
         "mass.drift",
         fmt::format("The functions were computed for a machine of {} g; with the chosen parts it weighs {} g. "
                     "Enter \"mass_g\" of the bodies to settle it.",
                     base::plain(before_g), base::plain(a.mass_g)),
         "",
         {{"computed for", before_g, "g"}, {"with the chosen parts", a.mass_g, "g"}},
         {}});
  }
  if (a.mass_is_estimate) {
    std::vector<std::string> names;
    for (const MassLine& m : a.masses) {
      if (m.estimate) names.push_back("\"" + m.body + "\"");
    }
    c.out.push_back({Severity::note,
                     "mass.estimate",
                     fmt::format("The mass of {} is estimated from parts and envelope.", base::list_text(names)),
                     "",
                     {},
                     {}});
  }
}

void function_findings(const Context& c) {
  for (std::size_t f = 0; f < c.chosen.size(); ++f) {
    const Chosen& x = c.chosen[f];
    if (x.candidate == nullptr) {
      c.out.push_back({Severity::note,
                       "function.left_out",
                       fmt::format("The wished function \"{}\" is left out.", x.function->id),
                       x.function->id,
                       {},
                       {}});
      continue;
    }
    const double confidence = c.assessment.certainty.functions[f].confidence;
    // Four in five is where a builder stops believing in a figure: invented threshold.
    if (c.assessment.certainty.draws == 0 || confidence >= 0.8) continue;
    const auto& margins = x.candidate->nominal.margins;
    const auto& ratios = c.assessment.certainty.functions[f].ratio;
    std::size_t weakest = 0;
    for (std::size_t m = 1; m < margins.size(); ++m) {
      if (ratios[m].low < ratios[weakest].low) weakest = m;
    }
    c.out.push_back({Severity::warning,
                     "function.unsure",
                     fmt::format("\"{}\" holds in {} % of the draws; the weak point is \"{}\"{}.", x.function->id,
                                 base::plain(100 * confidence, 3), margins[weakest].name,
                                 margins[weakest].note.empty() ? "" : " " + margins[weakest].note),
                     x.function->id,
                     {{"confidence", confidence, ""},
                      {"margin", margins[weakest].ratio, ""},
                      {"margin, 5 % of the draws below", ratios[weakest].low, ""}},
                     {}});
  }
}

void part_findings(const Context& c) {
  Finding f{Severity::note, "parts.used_up", "", "", {}, {}};
  std::vector<std::string> names;
  for (const PartLine& p : c.assessment.parts) {
    if (p.used == 0 || p.left() > 0) continue;
    names.push_back(p.colour.empty() ? p.name : p.name + " (" + p.colour + ")");
    f.numbers.push_back({names.back(), static_cast<double>(p.used), "pieces"});
  }
  if (names.empty()) return;
  // Names of parts hold commas of their own.
  f.text = "No spare is left of: ";
  for (std::size_t i = 0; i < names.size(); ++i) f.text += (i > 0 ? "; " : "") + names[i];
  f.text += ".";
  c.out.push_back(std::move(f));
}

}  // namespace

const char* name_of(Severity severity) {
  switch (severity) {
    case Severity::note:
      return "note";
    case Severity::warning:
      return "warning";
    case Severity::problem:
      return "problem";
  }
  return "";
}

std::vector<Finding> find(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Assessment& assessment,
                          const Worlds& worlds, const Options& options) {
  std::vector<Finding> out;
  const Context c{brief, chosen, assessment, options, out};
  stance_findings(c);
  power_findings(c);
  run_time_findings(c);
  mass_findings(c);
  function_findings(c);
  part_findings(c);
  for (Finding& f : lifting_findings(brief, chosen, assessment, worlds, options)) out.push_back(std::move(f));
  for (Finding& f : access_findings(brief, chosen, assessment)) out.push_back(std::move(f));
  std::stable_sort(out.begin(), out.end(), [](const Finding& a, const Finding& b) { return a.severity > b.severity; });
  return out;
}

Assessment assess(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<Taken>& taken,
                  const Options& options, const base::RunControl& control) {
  Assessment out;
  const Worlds worlds = draw_worlds(brief, chosen, options, control);
  out.certainty = judge_certainty(chosen, worlds);
  weigh(brief, chosen, options, out);
  count_parts(brief, taken, out);
  out.power = judge_power(brief, chosen, worlds, options);
  out.stance = judge_stance(brief, chosen, out.masses, options);
  out.access = judge_access(brief, chosen, out.parts);
  out.lifting = judge_lifting(brief, chosen, out.masses, worlds, options, control.jobs);
  out.findings = find(brief, chosen, out, worlds, options);
  return out;
}

}  // namespace assessment
