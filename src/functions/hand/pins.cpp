#include "functions/hand/pins.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "functions/drive/placing.h"
#include "functions/drive/running.h"
#include "structure/beam.h"
#include "structure/kit_parts.h"
#include "structure/sections.h"
#include "structure/torsion.h"

namespace functions::hand {
namespace {

using brief::Parameter;
using candidate::Candidate;

/// A longer axle stands further out of the skin; more than this looks and catches (common practice, no source).
constexpr int kProudSlack_p = 1;

std::vector<stock::ClassId> axles_of(const brief::Brief& brief, const brief::Function& fn, int length_p) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : drive::choices(brief, fn, stock::Family::axle, "")) {
    const auto* axle = std::get_if<stock::Axle>(&brief.catalogue->at(id).data);
    if (axle != nullptr && axle->length_p == length_p) out.push_back(id);
  }
  return out;
}

int longest_axle_p(const brief::Brief& brief, const brief::Function& fn) {
  int longest = 0;
  for (const stock::ClassId id : drive::choices(brief, fn, stock::Family::axle, "")) {
    const auto* axle = std::get_if<stock::Axle>(&brief.catalogue->at(id).data);
    if (axle != nullptr && brief.stock->count_of(id) >= fn.sides) longest = std::max(longest, axle->length_p);
  }
  return longest;
}

/// Takes a candidate in, or says why not.
void offer(Candidate c, const brief::Brief& brief, const brief::Function& fn, std::vector<Candidate>& out,
           candidate::RejectionLog& log) {
  if (!drive::uses_all_wanted(fn, c.demand)) {
    log.add("hand.must_use", 1, "parts", [&] { return fmt::format("{} does without a part it must use", c.title); });
    return;
  }
  const auto worst =
      std::min_element(c.nominal.margins.begin(), c.nominal.margins.end(),
                       [](const candidate::Margin& a, const candidate::Margin& b) { return a.ratio < b.ratio; });
  if (worst->ratio < candidate::kNearMiss) {
    std::string code = worst->name;
    std::replace(code.begin(), code.end(), ' ', '_');
    log.add("hand." + code, std::fabs(worst->requirement - worst->capability), worst->unit, [&] {
      return fmt::format("{}: {} reaches {} {}, {} asked", c.title, worst->name, base::plain(worst->capability),
                         worst->unit, base::plain(worst->requirement));
    });
    return;
  }
  if (drive::stock_serves(c, brief, log)) out.push_back(std::move(c));
}

void finish(Candidate& c, const brief::Brief& brief, const brief::Function& fn) {
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, *brief.catalogue)});
}

}  // namespace

double needed_length_mm(const Wants& w, double pitch_mm) {
  return w.reach_mm + w.stroke_mm + pitch_mm / 2;
}

double pusher_finger_n(const Wants& w, double friction) {
  return w.press_n * (1 + 2 * friction * kAskew);
}

double pusher_buckling_n(const Wants& w, const stock::KitSystem& system, double shear_modulus_mpa) {
  const double e_mpa = 2 * (1 + structure::kit_figures(system).poisson) * shear_modulus_mpa;
  const structure::BarSection section = structure::bar_section(structure::section_of(system.axle));
  return structure::euler_load_n(w.reach_mm / 2, e_mpa, section.second_y_mm4);
}

candidate::Evaluation evaluate_pusher(const Wants& w, const Pusher& pusher, const brief::Brief& brief,
                                      const brief::Sample& sample) {
  const double pitch_mm = brief.system().pitch_mm;
  candidate::Evaluation e;
  e.margins.push_back(candidate::at_least("length", pusher.length_p * pitch_mm, needed_length_mm(w, pitch_mm), "mm",
                                          "way, stroke and what stands proud"));
  e.margins.push_back(candidate::at_least("finger force", w.finger_n,
                                          pusher_finger_n(w, sample[Parameter::pin_friction]), "N",
                                          "switch and friction in two guides"));
  e.margins.push_back(
      candidate::at_least("buckling", pusher_buckling_n(w, brief.system(), sample[Parameter::axle_shear_modulus_mpa]),
                          w.finger_n, "N", "between guides, under all a finger gives"));
  return e;
}

candidate::Evaluation evaluate_latch(const Wants& w, const brief::Brief& brief, const brief::Sample& sample) {
  const structure::BarSection pin = structure::pin_section(brief.system());
  candidate::Evaluation e;
  e.margins.push_back(candidate::at_least("hold", pin.area_mm2 * sample[Parameter::axle_shear_stress_mpa], w.load_n,
                                          "N", "pin in single shear"));
  // The load presses the pin against both holes; a finger draws it against the friction there.
  e.margins.push_back(candidate::at_least("finger force", w.finger_n, 2 * sample[Parameter::pin_friction] * w.load_n,
                                          "N", "to draw it under load"));
  return e;
}

candidate::Proposal propose_pins(const brief::Function& fn, const Wants& wants, const brief::Brief& brief,
                                 const base::RunControl& control) {
  candidate::Proposal out;
  candidate::RejectionLog log;
  if (control.stopped()) {
    out.complete = false;
    out.limit_text = "stopped before the search";
    return out;
  }
  const auto w = std::make_shared<const Wants>(wants);
  const auto shared = std::make_shared<const brief::Brief>(brief);
  const stock::Catalogue& catalogue = *brief.catalogue;
  const brief::Sample nominal = brief.parameters.nominal();
  const double pitch_mm = brief.system().pitch_mm;
  if (w->device == Device::latch) {
    out.examined = 1;
    Candidate c;
    const int length_p = static_cast<int>(std::ceil(w->grip_p - 1e-9)) + 1;  // one pitch to draw it by
    c.key = fmt::format("latch {}", length_p);
    c.title = fmt::format("latch: axle of {} pitches through {} pitches of beams", length_p, base::plain(w->grip_p));
    std::vector<stock::ClassId> accepts = axles_of(brief, fn, length_p), longer = axles_of(brief, fn, length_p + 1);
    accepts.insert(accepts.end(), longer.begin(), longer.end());
    if (accepts.empty()) {
      log.add("hand.no_axle", 1, "pieces", [&] {
        return fmt::format("a latch needs an axle of {} or {} pitches, the kit system has none", length_p,
                           length_p + 1);
      });
    } else {
      std::sort(accepts.begin(), accepts.end());
      drive::add_need(c.demand, std::move(accepts), fn.sides,
                      fmt::format("axle, length {} to {}", length_p, length_p + 1), "latch");
      drive::add_need(c.demand, catalogue.of(stock::Family::bush), fn.sides, "bush", "head of the latch");
      c.nominal = evaluate_latch(*w, brief, nominal);
      c.evaluate = [w, shared](const brief::Sample& s) { return evaluate_latch(*w, *shared, s); };
      c.figures.push_back({"force to draw it under load", c.nominal.margins[1].requirement, "N"});
      c.notes.emplace_back("take the load off before it is drawn; what it holds may fall");
      finish(c, brief, fn);
      offer(std::move(c), brief, fn, out.candidates, log);
    }
    out.rejections = log.take();
    return out;
  }

  const double needed_mm = needed_length_mm(*w, pitch_mm);
  const int least_p = static_cast<int>(std::ceil(needed_mm / pitch_mm - 1e-9));
  const auto propose = [&](const Pusher& p, candidate::Demand parts, const std::string& what) {
    ++out.examined;
    Candidate c;
    c.key = "pusher " + what;
    c.title =
        fmt::format("pusher: {}, {} mm for {} mm", what, base::plain(p.length_p * pitch_mm), base::plain(needed_mm));
    c.demand = std::move(parts);
    drive::add_need(c.demand, catalogue.of(stock::Family::bush), 2 * fn.sides, "bush", "head and stop of the pusher");
    c.nominal = evaluate_pusher(*w, p, brief, nominal);
    c.evaluate = [w, p, shared](const brief::Sample& s) { return evaluate_pusher(*w, p, *shared, s); };
    c.figures.push_back({"length needed", needed_mm, "mm"});
    c.figures.push_back({"stands proud when pressed", p.length_p * pitch_mm - w->reach_mm - w->stroke_mm, "mm"});
    c.figures.push_back({"finger force", c.nominal.margins[1].requirement, "N"});
    c.notes.emplace_back("guide it in two holes, at the skin and half way; the switch's own spring brings it back");
    finish(c, brief, fn);
    offer(std::move(c), brief, fn, out.candidates, log);
  };
  for (int length_p = least_p; length_p <= least_p + kProudSlack_p; ++length_p) {
    std::vector<stock::ClassId> accepts = axles_of(brief, fn, length_p);
    if (accepts.empty()) continue;
    candidate::Demand parts;
    drive::add_need(parts, std::move(accepts), fn.sides, fmt::format("axle, length {}", length_p), "pusher");
    propose({1, length_p}, std::move(parts), fmt::format("axle {}", length_p));
  }
  // Two axles in a joiner: the pair that is most even, at each total length.
  const std::vector<stock::ClassId> joiners = drive::choices(brief, fn, stock::Family::joiner, "");
  for (int length_p = least_p; !joiners.empty() && length_p <= least_p + kProudSlack_p; ++length_p) {
    for (int shorter_p = length_p / 2; shorter_p >= 2; --shorter_p) {
      std::vector<stock::ClassId> a = axles_of(brief, fn, shorter_p), b = axles_of(brief, fn, length_p - shorter_p);
      if (a.empty() || b.empty()) continue;
      candidate::Demand parts;
      drive::add_need(parts, std::move(b), fn.sides, fmt::format("axle, length {}", length_p - shorter_p), "pusher");
      drive::add_need(parts, std::move(a), fn.sides, fmt::format("axle, length {}", shorter_p), "pusher");
      drive::add_need(parts, joiners, fn.sides, "axle joiner", "pusher");
      propose({2, length_p}, std::move(parts), fmt::format("axles {} and {} joined", length_p - shorter_p, shorter_p));
      break;
    }
  }
  if (out.candidates.empty()) {
    const int longest_p = longest_axle_p(brief, fn);
    if (longest_p < least_p)
      log.add("hand.axle_too_short", least_p - longest_p, "p", [&] {
        return fmt::format(
            "the switch is {} mm inside, so the pusher needs {} pitches; the longest axle in stock has {}",
            base::plain(w->reach_mm), least_p, longest_p);
      });
  }
  candidate::keep_non_dominated(out.candidates, catalogue);
  out.rejections = log.take();
  return out;
}

}  // namespace functions::hand
