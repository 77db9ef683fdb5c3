#include "brief/duty.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "document/fields.h"

namespace brief {
namespace {

using document::quoted;

/// Length of the cycle that is made when nobody tells one; long enough for every travel, short against the cells.
constexpr double kCycle_s = 60;

/// Every function alone for its share of the time. Where the shares add up to more than all of it they overlap:
/// functions that never pause run through all phases, the rest is scaled.
std::vector<DutyPhase> default_duty(const Brief& brief) {
  std::vector<int> always;
  double sum = 0;
  for (std::size_t f = 0; f < brief.functions.size(); ++f) {
    if (brief.functions[f].duty >= 1) {
      always.push_back(static_cast<int>(f));
    } else {
      sum += brief.functions[f].duty;
    }
  }
  const double scale = std::max(1.0, sum);
  std::vector<DutyPhase> out;
  for (std::size_t f = 0; f < brief.functions.size(); ++f) {
    const Function& function = brief.functions[f];
    if (function.duty >= 1 || function.duty <= 0) continue;
    DutyPhase phase{function.id, always, 1, kCycle_s * function.duty / scale};
    phase.functions.push_back(static_cast<int>(f));
    std::sort(phase.functions.begin(), phase.functions.end());
    out.push_back(std::move(phase));
  }
  if (sum < 1 && !brief.functions.empty()) {
    const char* name = always.empty() ? "pause" : out.empty() ? "all at once" : "rest";
    out.push_back({name, always, 1, kCycle_s * (1 - sum)});
  }
  return out;
}

}  // namespace

void build_duty(const project::Project& project, Brief& brief, document::Diagnostics& d) {
  if (const auto& h = project.handset) {
    brief.handset = {h->sticks, h->sliders, h->buttons, h->left_handed, h->programs, true};
  }
  brief.duty_is_default = project.duty.empty();
  if (brief.duty_is_default) {
    brief.duty = default_duty(brief);
    return;
  }
  std::vector<std::string> ids;
  for (const Function& f : brief.functions) ids.push_back(f.id);
  for (const project::DutyPhase& from : project.duty) {
    DutyPhase phase{from.id.text, {}, from.load, from.time_s};
    for (const project::LocatedText& name : from.runs) {
      const auto at = std::find(ids.begin(), ids.end(), name.text);
      if (at == ids.end()) {
        const auto near = base::nearest_name(name.text, ids);
        d.error("duty.unknown_function", name.where, name.path,
                fmt::format("there is no function {}", quoted(name.text)),
                near ? quoted(*near) : "one of " + document::choices_text(ids));
        continue;
      }
      phase.functions.push_back(static_cast<int>(at - ids.begin()));
    }
    std::sort(phase.functions.begin(), phase.functions.end());
    const auto twice = std::adjacent_find(phase.functions.begin(), phase.functions.end());
    if (twice != phase.functions.end()) {
      d.error("duty.twice", from.where, from.path,
              fmt::format("{} runs twice in {}", quoted(ids[static_cast<std::size_t>(*twice)]), quoted(phase.id)),
              "name it once");
    }
    brief.duty.push_back(std::move(phase));
  }
}

}  // namespace brief
