#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "assessment/access.h"
#include "assessment/changes.h"
#include "assessment/duty_model.h"
#include "assessment/internal.h"
#include "base/parallel.h"
#include "base/text.h"

namespace assessment {
namespace {

using Severity = Finding::Severity;

/// The functions were computed with the masses of the brief; further off than this and the user should know.
constexpr double kMassDrift = 0.10;

struct Context {
  const brief::Brief& brief;
  const std::vector<Chosen>& chosen;
  const Assessment& assessment;
  const Options& options;
  std::vector<Finding>& out;
};

double left_parts_g(const Assessment& a, const brief::Brief& brief) {
  double out = 0;
  for (const PartLine& p : a.parts) out += p.left() * brief.catalogue->at(p.part).mass_g.value.nominal;
  return out;
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
  const Setup machine(c.brief, c.chosen, c.assessment.masses);
  Options quick = c.options;
  quick.draws = 0;
  const Sought sought{"least tipping angle", "deg", s.least_deg, wanted_deg, [&](const Setup& tried) {
                        c.options.check();
                        return judge_stance(tried.brief, tried.chosen(), tried.masses, quick).least_deg;
                      }};
  for (const auto& family : {moved_bodies(machine), ballast(machine, left_parts_g(c.assessment, c.brief)),
                             larger_stands(machine), lighter_loads(machine)}) {
    if (auto remedy = best_of(machine, family, sought)) f.remedies.push_back(std::move(*remedy));
  }
  std::stable_sort(f.remedies.begin(), f.remedies.end(),
                   [](const Remedy& x, const Remedy& y) { return x.enough > y.enough; });
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
    const double ma = x.candidate->nominal.running_current_ma * x.function->duty;
    if (ma > most_ma) {
      most_ma = ma;
      greediest = &x;
    }
  }
  if (greediest == nullptr) return std::nullopt;
  const double allowed_ma = 60 * p.capacity_mah / wanted_min;
  const double others_ma = p.average_ma - most_ma;
  const double running_ma = greediest->candidate->nominal.running_current_ma;
  // Two decimals, rounded down, so that what is printed is what was computed.
  const double duty = std::max(0.0, std::floor(100 * (allowed_ma - others_ma) / running_ma) / 100);
  const double after_min = 60 * p.capacity_mah / (others_ma + running_ma * duty);
  return Remedy{fmt::format("work \"{}\" {} % of the time instead of {} %", greediest->function->id,
                            base::plain(duty * 100), base::plain(greediest->function->duty * 100)),
                "run time",
                p.run_time_min.nominal,
                after_min,
                "min",
                after_min >= wanted_min,
                {{"functions", greediest->function->id, "duty", number_value(duty)}}};
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
               after_min >= wanted_min,
               {one_more_hub(c.brief, line.part)}};
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
  if (sure && p.duty.judged) {
    f.remedies = run_time_remedies(c.brief, c.chosen, c.assessment, wanted_min);
  } else if (sure) {
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
  options.check();
  power_findings(c);
  options.check();
  run_time_findings(c);
  options.check();
  for (Finding& f : duty_findings(brief, chosen, assessment)) out.push_back(std::move(f));
  options.check();
  mass_findings(c);
  function_findings(c);
  part_findings(c);
  options.check();
  for (Finding& f : lifting_findings(brief, chosen, assessment, worlds, options, left_parts_g(assessment, brief)))
    out.push_back(std::move(f));
  for (Finding& f : ground_findings(brief, chosen, assessment, options)) out.push_back(std::move(f));
  options.check();
  for (Finding& f : site_findings(brief, chosen, assessment)) out.push_back(std::move(f));
  options.check();
  for (Finding& f : access_findings(brief, chosen, assessment)) out.push_back(std::move(f));
  std::stable_sort(out.begin(), out.end(), [](const Finding& a, const Finding& b) { return a.severity > b.severity; });
  return out;
}

Stance stance_with(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<MassLine>& masses) {
  Options quick;
  quick.draws = 0;
  return judge_stance(brief, chosen, masses, quick);
}

Assessment assess(const brief::Brief& brief, const std::vector<Chosen>& chosen, const std::vector<Taken>& taken,
                  const Options& options, const base::RunControl& control) {
  Assessment out;
  Options how = options;
  how.control = &control;
  const Worlds worlds = draw_worlds(brief, chosen, how, control);
  how.check();
  out.certainty = judge_certainty(chosen, worlds);
  weigh(brief, chosen, how, out);
  count_parts(brief, taken, out);
  // None of these asks what another one found. The longest first.
  const std::vector<std::function<void()>> judges{
      [&] { out.lifting = judge_lifting(brief, chosen, out.masses, worlds, how, control.jobs); },
      [&] { out.ground = judge_ground(brief, chosen, out.masses, how); },
      [&] { out.stance = judge_stance(brief, chosen, out.masses, how); },
      [&] { out.power = judge_power(brief, chosen, worlds, how); },
      [&] { out.access = judge_access(brief, chosen, out.parts); },
  };
  base::parallel_for(judges.size(), control.jobs, [&](std::size_t i) {
    how.check();
    judges[i]();
  });
  how.check();
  out.site = judge_site(brief, chosen, out);
  how.check();
  out.findings = find(brief, chosen, out, worlds, how);
  return out;
}

}  // namespace assessment
