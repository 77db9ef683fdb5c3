#include <algorithm>

#include "assessment/internal.h"
#include "base/check.h"
#include "base/parallel.h"

namespace assessment {

Worlds draw_worlds(const brief::Brief& brief, const std::vector<Chosen>& chosen, const Options& options,
                   const base::RunControl& control) {
  Worlds worlds(static_cast<std::size_t>(std::max(options.draws, 0)));
  base::parallel_for(worlds.size(), control.jobs, [&](std::size_t k) {
    if (control.stopped()) return;
    const brief::Sample sample = brief.parameters.draw(options.seed, k);
    std::vector<candidate::Evaluation> world(chosen.size());
    for (std::size_t f = 0; f < chosen.size(); ++f) {
      const candidate::Candidate* c = chosen[f].candidate;
      if (c != nullptr) world[f] = c->evaluate ? c->evaluate(sample) : c->nominal;
    }
    worlds[k] = std::move(world);
  });
  std::erase_if(worlds, [](const auto& world) { return world.empty(); });
  return worlds;
}

Certainty judge_certainty(const std::vector<Chosen>& chosen, const Worlds& worlds) {
  Certainty out;
  out.draws = static_cast<int>(worlds.size());
  out.functions.resize(chosen.size());
  if (worlds.empty()) return out;
  const double count = static_cast<double>(worlds.size());
  const auto holds = [](const candidate::Evaluation& e) { return e.worst() >= 1; };
  for (std::size_t f = 0; f < chosen.size(); ++f) {
    if (chosen[f].candidate == nullptr) continue;
    const std::vector<candidate::Margin>& margins = chosen[f].candidate->nominal.margins;
    FunctionCertainty& certainty = out.functions[f];
    for (std::size_t m = 0; m < margins.size(); ++m) {
      std::vector<double> ratios;
      ratios.reserve(worlds.size());
      for (const auto& world : worlds) {
        KW_CHECK(world[f].margins.size() == margins.size(), "a candidate has the same margins in every draw");
        ratios.push_back(world[f].margins[m].ratio);
      }
      certainty.ratio.push_back(interval_of(std::move(ratios), margins[m].ratio));
    }
    certainty.confidence =
        static_cast<double>(std::count_if(worlds.begin(), worlds.end(), [&](const auto& w) { return holds(w[f]); })) /
        count;
  }
  out.confidence = static_cast<double>(std::count_if(worlds.begin(), worlds.end(),
                                                     [&](const auto& w) {
                                                       for (std::size_t f = 0; f < chosen.size(); ++f) {
                                                         if (chosen[f].candidate && !holds(w[f])) return false;
                                                       }
                                                       return true;
                                                     })) /
                   count;
  return out;
}

}  // namespace assessment
