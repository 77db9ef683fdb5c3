// The search: the body alone, then with one and two beams tied along either side of it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "functions/drive/drive.h"
#include "functions/drive/placing.h"
#include "functions/drive/running.h"
#include "functions/frame/carry.h"
#include "functions/frame/frame.h"
#include "structure/kit_parts.h"

namespace functions::frame {
namespace {

using brief::Parameter;
using candidate::Candidate;

constexpr double kDegPerRad = 180 / std::numbers::pi;
/// A beam may be so much longer than the holes it is pinned at.
constexpr int kBeamSlack_p = 2;

struct Design {
  std::shared_ptr<const brief::Brief> brief;
  Wants wants;
  int beams = 0;
  Carried nominal;
};

/// Sag and sway go with one over the stiffness, forces and stresses do not change: all that gives is scaled alike.
candidate::Evaluation evaluate(const Design& d, const brief::Sample& sample) {
  const double give = 1 / sample[Parameter::stiffness_factor];
  const Wants& w = d.wants;
  const Carried& c = d.nominal;
  const stock::KitSystem& system = d.brief->system();
  candidate::Evaluation e;
  e.margins.push_back(candidate::at_most("sag", c.sag_mm * give, w.sag_mm, "mm", "where the load acts"));
  e.margins.push_back(candidate::at_most("sway", c.sway_mm * give, w.sway_mm, "mm", "across, under side_n"));
  e.margins.push_back(candidate::at_least("pin", structure::pin_strength(system).shear_n.nominal, c.pin_n, "N",
                                          "most loaded fixing pin, one cut"));
  e.margins.push_back(
      candidate::at_least("housing", kHousing_mpa.nominal, c.housing_mpa, "MPa", "bending of the housing's wall"));
  if (d.beams > 0)
    e.margins.push_back(candidate::at_least("beam", structure::kit_figures(system).beam_stress_mpa.nominal, c.beam_mpa,
                                            "MPa", "at a hole"));
  return e;
}

/// Holes of a beam that is pinned at all holes of one row.
int beam_holes(const Wants& w, double pitch_mm) {
  double low = 0, high = 0;
  for (const structure::FixingHole& h : w.holes) {
    low = std::min(low, h.at_mm[0]);
    high = std::max(high, h.at_mm[0]);
  }
  return static_cast<int>(std::lround((high - low) / pitch_mm)) + 1;
}

/// Rows of holes that run from the held to the carried half.
int rows_through(const Wants& w) {
  std::vector<std::array<long, 2>> near, far;
  for (const structure::FixingHole& h : w.holes)
    (h.at_mm[0] <= 0 ? near : far).push_back({std::lround(h.at_mm[1] * 1000), std::lround(h.at_mm[2] * 1000)});
  std::sort(near.begin(), near.end());
  near.erase(std::unique(near.begin(), near.end()), near.end());
  return static_cast<int>(std::count_if(
      near.begin(), near.end(), [&](const auto& row) { return std::find(far.begin(), far.end(), row) != far.end(); }));
}

/// The part from the side and what holds and hangs on it.
void add_shapes(const Wants& w, const Carried& carried, double pitch_mm, Candidate& c) {
  using Role = candidate::Shape::Role;
  const double x = w.shape.length_mm / 2, z = w.shape.height_mm / 2;
  const auto turned = [&](double along, double up) -> std::array<double, 2> {
    return w.upright ? std::array<double, 2>{-up, along} : std::array<double, 2>{along, up};
  };
  const auto line = [&](Role role, double x1, double z1, double x2, double z2, std::string label) {
    const auto a = turned(x1, z1), b = turned(x2, z2);
    c.shapes.push_back({role, a[0], a[1], b[0], b[1], std::move(label)});
  };
  line(Role::beam, -x, -z, x, -z, "");
  line(Role::beam, x, -z, x, z, "");
  line(Role::beam, x, z, -x, z, "");
  line(Role::beam, -x, z, -x, -z, "");
  for (const structure::FixingHole& h : w.holes) {
    const auto at = turned(h.at_mm[0], h.at_mm[2]);
    c.shapes.push_back({h.at_mm[0] <= 0 ? Role::base_mount : Role::rod_mount, at[0], at[1], pitch_mm / 4, 0, ""});
  }
  const auto at = turned(w.load_at_mm[0], w.load_at_mm[2]);
  c.shapes.push_back({Role::load, at[0], at[1], pitch_mm / 2, 0,
                      fmt::format("{} g, sinks {} mm", base::plain(w.load_g), base::plain(carried.sag_mm, 2))});
}

Candidate make_candidate(const std::shared_ptr<const Design>& d, const brief::Function& fn) {
  const Wants& w = d->wants;
  const brief::Brief& brief = *d->brief;
  const stock::Catalogue& catalogue = *brief.catalogue;
  const stock::PartClass& part = catalogue.at(w.carrier);
  Candidate c;
  c.key = fmt::format("{}|beams {}", part.id, d->beams);
  c.title = d->beams == 0 ? fmt::format("{} carries by itself", part.name)
                          : fmt::format("{} carries with {} beam{} along either side", part.name, d->beams,
                                        d->beams == 1 ? "" : "s");
  if (!w.shared) drive::add_need(c.demand, {w.carrier}, fn.sides, part.name, "carries; nothing is plugged into it");
  drive::add_need(c.demand, catalogue.of(stock::Family::pin), static_cast<int>(w.holes.size()) * fn.sides, "pin",
                  "fixing holes");
  const int holes = beam_holes(w, brief.system().pitch_mm);
  if (d->beams > 0)
    drive::add_need(c.demand, drive::full_beams(brief, fn, holes, holes + kBeamSlack_p),
                    d->beams * rows_through(w) * fn.sides,
                    fmt::format("beam, length {} to {}", holes, holes + kBeamSlack_p), "beside the body");
  c.nominal = evaluate(*d, brief.parameters.nominal());
  c.evaluate = [d](const brief::Sample& sample) { return evaluate(*d, sample); };
  c.masses.push_back({fn.body, candidate::parts_mass_g(c.demand, catalogue)});
  const Carried& r = d->nominal;
  const Carried soft = carry(w, brief.system(), d->beams, structure::Level::low),
                stiff = carry(w, brief.system(), d->beams, structure::Level::high);
  c.figures = {{"sinks by", r.sag_mm, "mm"},
               {"sinks by, softest housing", soft.sag_mm, "mm"},
               {"sinks by, stiffest housing", stiff.sag_mm, "mm"},
               {"moves across by", r.sway_mm, "mm"},
               {"rolls by", r.roll_rad * kDegPerRad, "deg"},
               {"of the sag from the housing", 100 * r.housing_share, "%"},
               {"of the sag from pins in their holes", 100 * r.pin_share, "%"},
               {"of the sag from beams", 100 * r.beam_share, "%"},
               {"load on a pin", r.pin_n, "N"},
               {"stress of the housing", r.housing_mpa, "MPa"}};
  add_shapes(w, r, brief.system().pitch_mm, c);
  if (w.shared)
    c.notes.push_back(w.of.empty() ? std::string("the hub is the supply's own; it is counted once")
                                   : fmt::format("the motor is that of \"{}\"; it is counted once, and has to stand "
                                                 "where its holes meet both halves",
                                                 w.of));
  else
    c.notes.push_back(fmt::format("{} carries and does nothing else", part.name));
  c.notes.emplace_back("leave the cells' hatch and the sockets reachable; tell its room by a placed thing");
  for (std::string& assumption : structure::body_assumptions()) c.notes.push_back(std::move(assumption));
  const structure::PinStrength pin = structure::pin_strength(brief.system());
  c.notes.push_back(fmt::format("A pin bears {} N in one cut ({} to {}): from the stress that beams bear, assumed.",
                                base::plain(pin.shear_n.nominal, 3), base::plain(pin.shear_n.low, 3),
                                base::plain(pin.shear_n.high, 3)));
  return c;
}

candidate::Proposal propose(const brief::Function& fn, const candidate::Wants& base_wants, const brief::Brief& brief,
                            const base::RunControl& control) {
  const auto& w = dynamic_cast<const Wants&>(base_wants);
  candidate::Proposal out;
  candidate::RejectionLog log;
  if (control.stopped()) {
    out.complete = false;
    out.limit_text = "stopped before the search";
    return out;
  }
  const auto shared = std::make_shared<const brief::Brief>(brief);
  const int most = rows_through(w) > 0 ? w.beams : 0;
  const int holes = beam_holes(w, brief.system().pitch_mm);
  std::optional<double> bare_sag_mm;
  for (int beams = 0; beams <= most; ++beams) {
    ++out.examined;
    if (beams > 0 && drive::full_beams(brief, fn, holes, holes + kBeamSlack_p).empty()) {
      log.add("frame.no_beam", 1, "pieces", [&] {
        return fmt::format("beams beside it need {} to {} holes, there are none to use", holes, holes + kBeamSlack_p);
      });
      break;
    }
    auto design = std::make_shared<Design>(Design{shared, w, beams, {}});
    design->nominal = carry(w, brief.system(), beams, structure::Level::nominal);
    Candidate c = make_candidate(design, fn);
    if (!bare_sag_mm) bare_sag_mm = design->nominal.sag_mm;
    if (beams > 0)
      c.figures.push_back({"less sag than by itself", 100 * (1 - design->nominal.sag_mm / *bare_sag_mm), "%"});
    if (!drive::uses_all_wanted(fn, c.demand)) {
      log.add("frame.must_use", 1, "parts", [&] { return fmt::format("{} does without a part it must use", c.title); });
      continue;
    }
    const auto worst =
        std::min_element(c.nominal.margins.begin(), c.nominal.margins.end(),
                         [](const candidate::Margin& a, const candidate::Margin& b) { return a.ratio < b.ratio; });
    if (worst->ratio < candidate::kNearMiss) {
      log.add("frame." + worst->name, std::fabs(worst->requirement - worst->capability), worst->unit, [&] {
        return fmt::format("{}: {} is {} {}, {} {} asked", c.title, worst->name, base::plain(worst->capability),
                           worst->unit, base::plain(worst->requirement), worst->unit);
      });
      continue;
    }
    if (drive::stock_serves(c, brief, log)) out.candidates.push_back(std::move(c));
  }
  candidate::keep_non_dominated(out.candidates, *brief.catalogue);
  out.rejections = log.take();
  return out;
}

}  // namespace

candidate::Kind kind() {
  return {"frame", "a motor or hub that carries a part of the machine by its fixing holes", &fields, &read, &propose};
}

}  // namespace functions::frame
