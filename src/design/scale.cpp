#include "design/scale.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "design/read.h"

namespace design {
namespace {

struct Dimension {
  std::string name;
  double real_mm = 0;
  bool at_most = false;
  std::vector<std::pair<std::string, double>> parts;  ///< in the stock, by size
};

std::vector<Dimension> dimensions_of(const brief::Brief& brief) {
  const brief::RealMachine& real = *brief.real;
  std::vector<Dimension> out{{"wheel diameter", real.wheel_diameter_mm, false, {}},
                             {"track width", real.track_width_mm, false, {}},
                             {"ring diameter", real.ring_diameter_mm, false, {}},
                             {"closed actuator", real.actuator_closed_mm, true, {}}};
  const double module_mm = brief.system().module_mm;
  std::vector<stock::ClassId> seen;
  for (const stock::StockType& t : brief.stock->types) {
    if (t.count < 1 || std::find(seen.begin(), seen.end(), t.part) != seen.end()) continue;
    seen.push_back(t.part);
    const stock::PartClass& part = brief.catalogue->at(t.part);
    if (const auto* wheel = std::get_if<stock::Wheel>(&part.data)) {
      out[0].parts.emplace_back(part.name, wheel->diameter_mm);
    } else if (const auto* link = std::get_if<stock::TrackLink>(&part.data)) {
      out[1].parts.emplace_back(part.name, link->width_mm);
    } else if (const auto* ring = std::get_if<stock::Ring>(&part.data)) {
      out[2].parts.emplace_back(part.name, module_mm * std::max(ring->outer_teeth, ring->inner_teeth));
    } else if (const auto* actuator = std::get_if<stock::Actuator>(&part.data)) {
      out[3].parts.emplace_back(part.name, actuator->closed_mm);
    }
  }
  for (Dimension& d : out) {
    std::erase_if(d.parts, [](const auto& p) { return !(p.second > 0); });
    std::stable_sort(d.parts.begin(), d.parts.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  }
  std::erase_if(out, [](const Dimension& d) { return !(d.real_mm > 0) || d.parts.empty(); });
  return out;
}

void compare_parts(const std::vector<Dimension>& dimensions, ScaleAt& out) {
  for (const Dimension& d : dimensions) {
    const double wanted_mm = d.real_mm / out.scale;
    Mismatch best{d.name, "", wanted_mm, 0, 0};
    for (const auto& [part, part_mm] : d.parts) {
      double share = part_mm / wanted_mm - 1;
      if (d.at_most) share = std::max(0.0, share);
      if (best.part.empty() || std::fabs(share) < std::fabs(best.share) - 1e-12)
        best = {d.name, part, wanted_mm, part_mm, share};
    }
    out.worst_mismatch = std::max(out.worst_mismatch, std::fabs(best.share));
    out.mismatches.push_back(std::move(best));
  }
}

/// The nearest misses of a function without a candidate. Each rejection tells the nearest of its sort; ways that were
/// judged and fell short of a figure came nearer than those that a part was missing for.
std::string nearest_misses(const candidate::Proposal& p) {
  if (p.rejections.empty()) return "nothing was found";
  constexpr std::size_t kTold = 2;
  const auto lacks_a_part = [](const candidate::Rejection& r) {
    static constexpr std::array<std::string_view, 7> kCounted{"pieces", "parts", "links",   "axles",
                                                              "rows",   "booms", "linkages"};
    return std::find(kCounted.begin(), kCounted.end(), r.unit) != kCounted.end();
  };
  std::vector<candidate::Rejection> all = p.rejections;
  std::stable_partition(all.begin(), all.end(), [&](const auto& r) { return !lacks_a_part(r); });
  const bool judged = !lacks_a_part(all.front());
  std::string out;
  std::size_t told = 0;
  for (const candidate::Rejection& r : all) {
    if (told == kTold || lacks_a_part(r) == judged) break;
    out += fmt::format("{}{}", told == 0 ? "" : "; or ", r.text);
    ++told;
  }
  if (all.size() > told)
    out += fmt::format("; {} more sort{} of miss", all.size() - told, all.size() - told == 1 ? "" : "s");
  return (all.size() > 1 ? "nearest misses: " : "nearest miss: ") + out;
}

ScaleAt at_scale(const ScaleOptions& options, double own_scale, double scale, const base::RunControl& control) {
  ScaleAt out;
  out.scale = scale;
  out.factor = own_scale / scale;
  Options how = options.design;
  how.size_factor = out.factor;
  how.stop_after = Stage::allocation;
  how.front = false;
  how.ways_out = false;
  const Result r = run(how, control);
  if (r.bad_input) {
    for (const document::Diagnostic& d : r.diagnostics.sorted()) {
      if (d.severity == document::Severity::error && out.bad_input.empty()) out.bad_input = d.message;
    }
    return out;
  }
  for (const FunctionResult& f : r.functions) {
    ScaleAt::Function told{f.id, f.required, false, 0, ""};
    const candidate::Candidate* best = nullptr;
    for (const candidate::Candidate& c : f.proposal.candidates) {
      if (best == nullptr || c.nominal.worst() > best->nominal.worst()) best = &c;
    }
    if (best == nullptr) {
      told.why = nearest_misses(f.proposal);
    } else {
      told.worst = best->nominal.worst();
      told.served = told.worst >= 1;
      const auto& margins = best->nominal.margins;
      const auto weakest =
          std::min_element(margins.begin(), margins.end(),
                           [](const candidate::Margin& a, const candidate::Margin& b) { return a.ratio < b.ratio; });
      if (weakest != margins.end())
        told.why = fmt::format("{}: {} of {} {}", weakest->name, base::plain(weakest->capability, 3),
                               base::plain(weakest->requirement, 3), weakest->unit);
    }
    out.functions.push_back(std::move(told));
  }
  out.feasible = r.feasible();
  out.proven = r.allocated && r.allocated->gap_text.empty() && r.incomplete().empty();
  if (r.feasible()) out.worst_margin = r.allocated->worst_margin;
  return out;
}

}  // namespace

ScaleStudy study_scale(const ScaleOptions& options, const base::RunControl& control) {
  ScaleStudy out;
  Options reading = options.design;
  reading.size_factor = 1;
  const std::shared_ptr<const brief::Brief> brief = read_brief(reading, out.diagnostics);
  if (brief && !brief->real) {
    out.diagnostics.error("design.no_real_machine", {options.design.project, 0, 0}, "/real",
                          "a scale study needs the main dimensions of the machine that is modelled",
                          "[real] scale = 25, length_mm = 5200, wheel_diameter_mm = 1100, ...");
  }
  out.bad_input = out.diagnostics.has_errors();
  if (out.bad_input) return out;
  out.name = brief->name;
  out.own_scale = brief->real->scale;
  const std::vector<Dimension> dimensions = dimensions_of(*brief);
  for (const Dimension& d : dimensions) {
    for (const auto& [part, part_mm] : d.parts)
      out.parts.push_back({d.name, part, d.real_mm, part_mm, d.real_mm / part_mm, d.at_most});
  }
  const double from = options.from > 0 ? options.from : 0.7 * out.own_scale,
               to = options.to > 0 ? options.to : 1.5 * out.own_scale;
  std::vector<double> scales{out.own_scale};
  for (int i = 0; i < options.steps; ++i)
    scales.push_back(options.steps > 1 ? from * std::pow(to / from, static_cast<double>(i) / (options.steps - 1))
                                       : from);
  for (const PartScale& p : out.parts)
    if (!p.at_most) scales.push_back(p.scale);
  // A tenth of a scale is finer than anything is built; nearly equal ones are one.
  for (double& s : scales) s = std::round(10 * s) / 10;
  std::sort(scales.begin(), scales.end());
  scales.erase(std::unique(scales.begin(), scales.end()), scales.end());
  std::erase_if(scales, [&](double s) { return s < from - 0.05 || s > to + 0.05; });
  for (std::size_t i = 0; i < scales.size(); ++i) {
    if (control.stopped()) {
      out.stopped = true;
      break;
    }
    const std::string name = fmt::format("scale 1 to {} ({} of {})", base::plain(scales[i], 3), i + 1, scales.size());
    const double all = static_cast<double>(scales.size()), done = static_cast<double>(i);
    control.report(name, done / all);
    base::RunControl inner = control;
    if (control.progress) {
      inner.progress = [&](std::string_view what, double share) {
        control.report(fmt::format("{}: {}", name, what), (done + share) / all);
      };
    }
    ScaleAt at = at_scale(options, out.own_scale, scales[i], inner);
    compare_parts(dimensions, at);
    at.length_mm = brief->real->size_mm.x_mm / at.scale;
    at.width_mm = brief->real->size_mm.y_mm / at.scale;
    at.height_mm = brief->real->size_mm.z_mm / at.scale;
    out.scales.push_back(std::move(at));
  }
  for (std::size_t i = 0; i < out.scales.size(); ++i) {
    const ScaleAt& at = out.scales[i];
    if (!at.feasible) continue;
    const ScaleAt* best = out.best < 0 ? nullptr : &out.scales[static_cast<std::size_t>(out.best)];
    const bool better =
        best == nullptr || at.worst_mismatch < best->worst_mismatch - 1e-9 ||
        (at.worst_mismatch < best->worst_mismatch + 1e-9 && at.worst_margin > best->worst_margin + 1e-9);
    if (better) out.best = static_cast<int>(i);
  }
  return out;
}

}  // namespace design
