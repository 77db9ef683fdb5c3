#include "handset/guide.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "assessment/plugged.h"
#include "base/text.h"
#include "candidate/running.h"

namespace handset {
namespace {

using base::plain;
using Figure = GuideStep::Figure;

GuideStep cells_step(const brief::Brief& brief) {
  GuideStep s{"Put the cells in", {}, Figure::cells};
  for (std::size_t h = 0; h < brief.supply.hubs.size(); ++h) {
    s.lines.push_back(fmt::format("hub {} ({}): {}", h + 1, brief.catalogue->at(brief.supply.hubs[h]).name,
                                  candidate::text_of(candidate::cells_of(brief, h))));
  }
  s.lines.push_back("all of one kind and age, none mixed with old ones; mind plus and minus; never short them");
  s.lines.push_back("keep the hub switched off until the motors are plugged in");
  return s;
}

GuideStep sockets_step(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                       const assessment::Assessment& assessed) {
  GuideStep s{"Plug the motors in", {}, Figure::sockets};
  const std::vector<std::string> names = socket_names(chosen, assessed);
  for (std::size_t i = 0; i < names.size(); ++i) {
    const assessment::PortUse& u = assessed.power.ports[i];
    const auto alike = std::count(names.begin(), names.end(), names[i]);
    const auto number = std::count(names.begin(), names.begin() + static_cast<std::ptrdiff_t>(i) + 1, names[i]);
    std::string lead = alike > 1 ? fmt::format(", motor {} of {}", number, alike) : "";
    lead += u.lead_mm > 0 ? fmt::format(", {} mm of lead needed", plain(u.lead_mm, 3)) : "";
    if (stock::index(u.cable) >= 0) lead += ", with " + brief.catalogue->at(u.cable).name;
    s.lines.push_back(fmt::format("hub {}, socket {}: {}{}", u.hub + 1, u.port, names[i], lead));
  }
  s.lines.push_back("leave a loop of every lead at each joint that turns, and none near open gears");
  return s;
}

/// "push - left" as "push minus left".
std::string in_words(std::string mixing) {
  if (const std::size_t at = mixing.find(" - "); at != std::string::npos) return mixing.replace(at, 3, " minus ");
  if (const std::size_t at = mixing.find(" + "); at != std::string::npos) return mixing.replace(at, 3, " plus ");
  return mixing;
}

GuideStep controls_step(const Plan& plan) {
  GuideStep s{"Lay the controls out", {}, Figure::controls};
  if (plan.assumed_handset)
    s.lines.push_back(
        "taken here: a handset with two sticks, two sliders and four buttons; what the project says in a [handset] "
        "table counts instead");
  for (const Assignment& a : plan.assignments) {
    if (a.control.type == Control::Type::none) continue;  // the shortage below names them
    const std::string mix =
        a.mixing.empty()
            ? ""
            : fmt::format("; it gets {}, so that the same stick pushed to the left turns left", in_words(a.mixing));
    s.lines.push_back(fmt::format("{}: {}, {}{}", text_of(a.control), a.name, a.ways, mix));
  }
  if (!plan.shortage.empty()) s.lines.push_back(plan.shortage);
  return s;
}

GuideStep senses_step(const Plan& plan, const std::vector<assessment::Chosen>& chosen,
                      const assessment::Assessment& assessed) {
  GuideStep s{"Set the senses", {}, Figure::senses};
  const std::vector<std::string> names = socket_names(chosen, assessed);
  for (const Assignment& a : plan.assignments) {
    if (a.control.type == Control::Type::none) continue;
    std::vector<std::string> sockets;
    for (std::size_t i = 0; i < names.size(); ++i) {
      const assessment::PortUse& u = assessed.power.ports[i];
      if (names[i] == a.name) sockets.push_back(fmt::format("hub {} socket {}", u.hub + 1, u.port));
    }
    const std::string name = sockets.empty() ? a.name : fmt::format("{} ({})", a.name, base::list_text(sockets));
    std::string line = a.invert == Invert::yes ? fmt::format("{}: tick \"invert\"", name)
                       : a.invert == Invert::no
                           ? fmt::format("{}: leave \"invert\" off", name)
                           : fmt::format("{}: try it, and tick \"invert\" if it goes the other way", name);
    if (!a.invert_note.empty()) line += "; " + a.invert_note;
    s.lines.push_back(std::move(line));
  }
  s.lines.push_back("if everything goes the wrong way, your hub counts the other way round: change every tick");
  return s;
}

GuideStep limits_step(const Plan& plan) {
  GuideStep s{"Set ramps and limits", {}, Figure::limits};
  for (const Assignment& a : plan.assignments) {
    if (a.control.type == Control::Type::none || a.control.type == Control::Type::rule) continue;
    std::string line =
        fmt::format("{}: from rest to full in {} s, {}", a.name, plain(a.ramp_s),
                    a.speed_limit < 1 ? fmt::format("at most {} % of the input", plain(100 * a.speed_limit))
                                      : std::string("up to the whole input"));
    if (!a.limit_note.empty()) line += " (" + a.limit_note + ")";
    s.lines.push_back(std::move(line));
  }
  return s;
}

GuideStep ends_step(const Plan& plan) {
  GuideStep s{"Keep off the ends", {}, Figure::ends};
  for (const Assignment& a : plan.assignments) {
    if (!a.has_ends || !std::isfinite(a.plus_s.nominal) || !std::isfinite(a.minus_s.nominal)) continue;
    s.lines.push_back(fmt::format(
        "{}: from end to end {} takes {} s and {} takes {} s; down to {} % of its input over "
        "the last {} s before an end{}",
        a.name, a.plus, plain(a.plus_s.nominal, 2), a.minus, plain(a.minus_s.nominal, 2), plain(100 * kSoftEndInput),
        plain(a.soft_end_s, 2), a.soft_end_note.empty() ? "" : "; " + a.soft_end_note));
  }
  return s;
}

GuideStep interlocks_step(const Plan& plan) {
  GuideStep s{"Never together", {}, Figure::interlocks};
  for (const Interlock& i : plan.interlocks) s.lines.push_back(i.text + ": " + i.why);
  return s;
}

GuideStep engine_step(const Plan& plan) {
  GuideStep s{"Let the engine follow", {}, Figure::engine};
  if (!plan.engine_program.empty())
    s.lines.push_back("the program, step by step, all figures in %; := gives a name a new value");
  s.lines.insert(s.lines.end(), plan.engine_program.begin(), plan.engine_program.end());
  s.lines.push_back(plan.engine_simple);
  return s;
}

GuideStep checks_step(const Plan& plan) {
  GuideStep s{"Check the first start", {}, Figure::checks};
  s.lines.push_back(
      "which way each goes: without load, wheels off the ground, a hand at the switch; the times after that");
  for (const Check& c : plan.checks) s.lines.push_back(c.text + " If not: " + c.otherwise + ".");
  return s;
}

}  // namespace

std::vector<std::string> socket_names(const std::vector<assessment::Chosen>& chosen,
                                      const assessment::Assessment& assessed) {
  std::vector<std::string> out;
  const auto motors = assessment::socket_motors(chosen, assessed.power.ports);
  for (std::size_t p = 0; p < motors.size(); ++p) {
    std::string name = assessed.power.ports[p].function;
    if (motors[p]) {
      const candidate::Drive& d = chosen[motors[p]->function].candidate->drives[motors[p]->drive];
      if (!d.name.empty()) name += " " + d.name;
    }
    out.push_back(std::move(name));
  }
  return out;
}

std::vector<GuideStep> guide(const brief::Brief& brief, const std::vector<assessment::Chosen>& chosen,
                             const assessment::Assessment& assessed, const Plan& plan) {
  std::vector<GuideStep> out{cells_step(brief), sockets_step(brief, chosen, assessed), controls_step(plan),
                             senses_step(plan, chosen, assessed), limits_step(plan)};
  if (GuideStep ends = ends_step(plan); !ends.lines.empty()) out.push_back(std::move(ends));
  if (!plan.interlocks.empty()) out.push_back(interlocks_step(plan));
  if (plan.has_engine) out.push_back(engine_step(plan));
  out.push_back(checks_step(plan));
  return out;
}

}  // namespace handset
