#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "assessment/duty_model.h"
#include "base/text.h"

namespace assessment {
namespace {

using Severity = Finding::Severity;

constexpr double kHalfEmpty = 0.5;
constexpr double kWarm_k = 60;  // too hot to touch on a warm day: common practice, no source

/// Largest share of the load, to 1 %, at which a phase keeps turning within the hubs' limits.
double greatest_share(const DutyModel& model, const std::vector<std::size_t>& functions, double asked) {
  const std::vector<double> half(model.hubs(), kHalfEmpty);
  for (double share = std::floor(asked * 100) / 100; share > 0; share -= 0.01) {
    const auto state = model.run(functions, share, DutyModel::Load::peak, half);
    const bool stalls =
        std::any_of(functions.begin(), functions.end(), [&](std::size_t f) { return model.stalls(state, f); });
    if (!stalls && !state.over_limit()) return share;
  }
  return 0;
}

std::size_t index_of(const brief::Brief& brief, const std::string& id) {
  const auto at = std::find_if(brief.functions.begin(), brief.functions.end(),
                               [&](const brief::Function& f) { return f.id == id; });
  return static_cast<std::size_t>(at - brief.functions.begin());
}

/// Moving one of two functions to another hub with free sockets, when that lets both run.
std::optional<Remedy> try_other_hub(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Power& power,
                                    const Exclusion& e) {
  const std::vector<double> half(brief.supply.hubs.size(), kHalfEmpty);
  const std::size_t first = index_of(brief, e.first), second = index_of(brief, e.second);
  for (const std::size_t moved : {second, first}) {
    for (std::size_t h = 0; h < brief.supply.hubs.size(); ++h) {
      int used = 0, mine = 0;
      bool there = false;
      for (const PortUse& u : power.ports) {
        used += u.hub == h ? 1 : 0;
        if (u.function != brief.functions[moved].id) continue;
        ++mine;
        there = there || u.hub == h;
      }
      if (there || used + mine > candidate::hub_of(brief, h).ports) continue;
      DutyModel model(brief, chosen, power.ports);
      model.replug(moved, h);
      const auto both = model.run({first, second}, 1, DutyModel::Load::peak, half);
      double most_ma = 0;
      for (const motor::HubState& s : both.hubs) most_ma = std::max(most_ma, s.current_a * 1000);
      const bool enough = !both.over_limit() && !model.stalls(both, first) && !model.stalls(both, second);
      if (!enough) continue;
      return Remedy{fmt::format("plug \"{}\" into hub {}", brief.functions[moved].id, h + 1),
                    "greatest current of a hub",
                    e.unit == "mA" ? e.value : most_ma,
                    most_ma,
                    "mA",
                    true};
    }
  }
  return std::nullopt;
}

/// Function that takes the most charge in a cycle.
std::size_t greediest_of(const brief::Brief& brief, const DutyPower& duty) {
  std::vector<double> charge(brief.functions.size(), 0);
  for (const DutyPhasePower& phase : duty.phases) {
    for (const DutyRun& run : phase.runs) charge[index_of(brief, run.function)] += run.current_ma * phase.time_s;
  }
  return static_cast<std::size_t>(std::max_element(charge.begin(), charge.end()) - charge.begin());
}

/// The working cycle with the phases of a function cut to a share of their time and a pause instead.
brief::Brief with_pauses(const brief::Brief& brief, std::size_t function, double share) {
  brief::Brief out = brief;
  double saved_s = 0;
  for (brief::DutyPhase& phase : out.duty) {
    if (std::find(phase.functions.begin(), phase.functions.end(), static_cast<int>(function)) == phase.functions.end())
      continue;
    saved_s += phase.time_s * (1 - share);
    phase.time_s *= share;
  }
  out.duty.push_back({"pause", {}, 1, saved_s});
  return out;
}

/// with_pauses as the project file says it. A cycle that nobody told follows from the shares of time instead.
std::vector<Amendment> rest_in_cycle(const brief::Brief& brief, std::size_t function, double share) {
  const brief::Function& f = brief.functions[function];
  if (brief.duty_is_default) return {{"functions", f.id, "duty", number_value(f.duty * share)}};
  const brief::Brief changed = with_pauses(brief, function, share);
  std::vector<Amendment> out;
  for (std::size_t i = 0; i < brief.duty.size(); ++i) {
    if (changed.duty[i].time_s != brief.duty[i].time_s)
      out.push_back({"duty", brief.duty[i].id, "time_s", number_value(changed.duty[i].time_s)});
  }
  std::string name = "pause";
  for (int n = 2; std::any_of(brief.duty.begin(), brief.duty.end(), [&](const auto& d) { return d.id == name; }); ++n)
    name = fmt::format("pause {}", n);
  out.push_back(
      {"duty", "", "",
       table_value(
           {{"id", text_value(name)}, {"runs", list_value({})}, {"time_s", number_value(changed.duty.back().time_s)}}),
       Amendment::Op::add});
  return out;
}

}  // namespace

Amendment one_more_hub(const brief::Brief& brief, stock::ClassId more) {
  std::vector<document::Node> names;
  for (const stock::ClassId hub : brief.supply.hubs) names.push_back(text_value(brief.catalogue->at(hub).id));
  names.push_back(text_value(brief.catalogue->at(more).id));
  return {"supply", "", "hubs", list_value(std::move(names))};
}

std::vector<Remedy> run_time_remedies(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                      const Assessment& assessment, double wanted_min) {
  std::vector<Remedy> out;
  const Power& p = assessment.power;
  const std::size_t greediest = greediest_of(brief, p.duty);
  const auto minutes = [&](double share) {
    const brief::Brief changed = with_pauses(brief, greediest, share);
    return DutyModel(changed, chosen, p.ports).run_time().minutes;
  };
  // Whole percents, so that what is printed is what was computed.
  int low = 0, high = 100;
  while (high - low > 1) {
    const int middle = (low + high) / 2;
    (minutes(middle / 100.0) >= wanted_min ? low : high) = middle;
  }
  if (low > 0) {  // resting it altogether is no way to work
    const double after_min = minutes(low / 100.0);
    out.push_back({fmt::format("rest \"{}\" {} % of the time it works now", brief.functions[greediest].id, 100 - low),
                   "run time", p.run_time_min.nominal, after_min, "min", after_min >= wanted_min,
                   rest_in_cycle(brief, greediest, low / 100.0)});
  }
  std::optional<Remedy> best;
  for (const PartLine& line : assessment.parts) {
    const auto* hub = std::get_if<stock::Hub>(&brief.catalogue->at(line.part).data);
    if (hub == nullptr || line.left() < 1) continue;
    brief::Brief changed = brief;
    changed.supply.hubs.push_back(line.part);
    changed.supply.packs.push_back(
        {hub->chemistry, hub->cells, hub->voltage_v, hub->internal_resistance_ohm.value, hub->capacity_mah.value});
    DutyModel model(changed, chosen, p.ports);
    model.replug(greediest, changed.supply.hubs.size() - 1);
    const double more_min = model.run_time().minutes;
    if (best && more_min <= best->after) continue;
    best = Remedy{fmt::format("one more \"{}\" for \"{}\" ({} left in the stock)", line.name,
                              brief.functions[greediest].id, line.left()),
                  "run time",
                  p.run_time_min.nominal,
                  more_min,
                  "min",
                  more_min >= wanted_min,
                  {one_more_hub(brief, line.part)}};
  }
  if (best) out.push_back(*best);
  return out;
}

std::vector<Finding> duty_findings(const brief::Brief& brief, const std::vector<Chosen>& chosen,
                                   const Assessment& assessment) {
  std::vector<Finding> out;
  const DutyPower& duty = assessment.power.duty;
  if (!assessment.power.leads_reach) {
    Finding f{Severity::problem, "power.cable_short", "", "", {}, {}};
    std::vector<std::string> who;
    for (const PortUse& u : assessment.power.ports) {
      if (!(u.have_mm > 0) || u.lead_mm <= u.have_mm) continue;
      who.push_back("\"" + u.function + "\"");
      f.numbers.push_back({u.function + " to hub " + std::to_string(u.hub + 1), u.lead_mm, "mm"});
      f.numbers.push_back({u.function + ", own lead", u.have_mm, "mm"});
    }
    if (assessment.power.leads_known) {
      f.text = fmt::format("The cables of the stock do not reach from every motor to a hub with a free socket: {}.",
                           base::list_text(who, "and"));
    } else {
      f.severity = Severity::warning;
      f.text = fmt::format(
          "It is not known whether the cables reach: the search ended before it had tried every hub for every motor. "
          "As "
          "plugged in here they are too short for {}.",
          base::list_text(who, "and"));
    }
    out.push_back(std::move(f));
  }
  if (!duty.judged) return out;
  const DutyModel model(brief, chosen, assessment.power.ports);
  for (std::size_t p = 0; p < duty.phases.size(); ++p) {
    const DutyPhasePower& phase = duty.phases[p];
    std::vector<std::string> stalled;
    double worst = 0;
    for (const DutyRun& run : phase.runs) {
      worst = std::max(worst, run.stall_share);
      if (run.stall_share > 1) stalled.push_back("\"" + run.function + "\"");
    }
    if (stalled.empty() && !phase.over_limit) continue;
    Finding f;
    f.severity = duty.is_default ? Severity::warning : Severity::problem;
    f.code = stalled.empty() ? "duty.hub_limit" : "duty.stall";
    f.text = stalled.empty() ? fmt::format("In \"{}\" a hub gives more than it holds and switches off.", phase.id)
                             : fmt::format("In \"{}\" {} stall{} at the heaviest point with half-empty cells.",
                                           phase.id, base::list_text(stalled, "and"), stalled.size() == 1 ? "s" : "");
    f.numbers = {{"torque asked over stall torque", worst, ""}};
    const double asked = brief.duty[p].load;
    const double share = greatest_share(model, model.running(brief.duty[p]), asked);
    if (share > 0 && share < asked)
      f.remedies.push_back({fmt::format("run it under {} % of the load", base::plain(100 * share)), "share of the load",
                            asked, share, "", true});
    out.push_back(std::move(f));
  }
  for (const Exclusion& e : duty.exclusions) {
    Finding f;
    f.severity = Severity::warning;
    f.code = "duty.together";
    f.text = fmt::format("\"{}\" and \"{}\" must not run together under full load: {}.", e.first, e.second, e.why);
    f.numbers = {{"reached", e.value, e.unit}};
    if (e.limit > 0) f.numbers.push_back({"limit", e.limit, e.unit});
    if (auto remedy = try_other_hub(brief, chosen, assessment.power, e)) f.remedies.push_back(*remedy);
    out.push_back(std::move(f));
  }
  for (const Warmth& w : duty.warmth) {
    if (w.end_rise_k < kWarm_k) continue;
    Finding f;
    f.severity = Severity::warning;
    f.code = "duty.heat";
    f.text = std::isfinite(w.end_rise_k)
                 ? fmt::format("The motor of \"{}\" warms by {} K over the working cycle (estimated from its size).",
                               w.function, base::plain(w.end_rise_k, 3))
                 : fmt::format("The motor of \"{}\" overheats over the working cycle (estimated from its size).",
                               w.function);
    f.function = w.function;
    f.numbers = {{"rise", w.end_rise_k, "K"}};
    out.push_back(std::move(f));
  }
  return out;
}

}  // namespace assessment
