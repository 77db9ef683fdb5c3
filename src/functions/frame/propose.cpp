// The search: the body alone, then with one and two beams tied along either side of it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "base/text.h"
#include "functions/drive/drive.h"
#include "functions/drive/placing.h"
#include "functions/drive/running.h"
#include "functions/frame/carry.h"
#include "functions/frame/frame.h"
#include "functions/frame/pinning.h"
#include "structure/kit_parts.h"

namespace functions::frame {
namespace {

using brief::Parameter;
using candidate::Candidate;

constexpr double kDegPerRad = 180 / std::numbers::pi;
/// A beam may be so much longer than the holes it is pinned at.
constexpr int kBeamSlack_p = 2;
/// Less than this along a pin is rounding.
constexpr double kNoPull_n = 1e-6;

struct Design {
  std::shared_ptr<const brief::Brief> brief;
  Wants wants;  ///< with the holes of its pinning only
  Pinning pinning;
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
  if (c.pull_n > kNoPull_n)
    e.margins.push_back(candidate::at_least("pull", structure::pin_strength(system).pull_n.nominal, c.pull_n, "N",
                                            "fixing pin pulled out of its hole"));
  e.margins.push_back(
      candidate::at_least("housing", kHousing_mpa.nominal, c.housing_mpa, "MPa", "bending of the housing's wall"));
  if (d.beams > 0)
    e.margins.push_back(candidate::at_least("beam", structure::kit_figures(system).beam_stress_mpa.nominal, c.beam_mpa,
                                            "MPa", "at a hole"));
  return e;
}

/// Beams of one copy by the holes they need.
std::map<int, int> beams_by_length(const Wants& w, double pitch_mm) {
  std::map<int, int> out;
  for (const structure::BeamRow& row : structure::beam_rows(w.holes, pitch_mm)) ++out[row.length_p];
  return out;
}

/// Where the holes are from, and which of them are used.
std::vector<std::string> hole_notes(const Design& d, const stock::PartClass& part) {
  const Wants& w = d.wants;
  std::vector<std::string> out;
  if (w.holes_from == HolesFrom::assumed)
    out.push_back(
        fmt::format("The catalogue tells no fixing holes of {}: eight across, two at each corner a pitch apart, half a "
                    "pitch above the lower edge: assumed.",
                    part.name));
  else if (w.holes_from == HolesFrom::catalogue)
    out.push_back(part.source == stock::Source::invented
                      ? fmt::format("Fixing holes of {} as the catalogue tells them; they are invented.", part.name)
                      : fmt::format("Fixing holes of {} as the catalogue tells them.", part.name));
  else
    out.emplace_back("Fixing holes as told in holes_p.");
  if (!w.unknown_holes_p.empty()) {
    std::vector<std::string> places;
    for (const auto& h : w.unknown_holes_p)
      places.push_back(fmt::format("[{}, {}, {}]", base::plain(h[0]), base::plain(h[1]), base::plain(h[2])));
    out.push_back(
        fmt::format("The catalogue tells no hole of {} at {} p; measure yours.", part.name, base::list_text(places)));
  }
  const double pitch_mm = d.brief->system().pitch_mm;
  out.push_back(fmt::format("held in its holes (along / across / up from its middle, in pitches): {}",
                            hole_list(w.holes, false, pitch_mm)));
  out.push_back(fmt::format("carries in its holes (along / across / up from its middle, in pitches): {}",
                            hole_list(w.holes, true, pitch_mm)));
  return out;
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
    if (std::fabs(h.axis[1]) > 0.5) {
      const auto at = turned(h.at_mm[0], h.at_mm[2]);
      c.shapes.push_back({h.at_mm[0] <= 0 ? Role::base_mount : Role::rod_mount, at[0], at[1], pitch_mm / 4, 0, ""});
    } else if (std::fabs(h.axis[2]) > 0.5) {
      // Seen from the side a pin that goes in along the drawing is a line out of its face.
      const double out = h.at_mm[2] < 0 ? -1 : 1;
      line(Role::ghost, h.at_mm[0], h.at_mm[2], h.at_mm[0], out * (z + pitch_mm / 2), "");
    } else {
      const double out = h.at_mm[0] < 0 ? -1 : 1;
      line(Role::ghost, h.at_mm[0], h.at_mm[2], out * (x + pitch_mm / 2), h.at_mm[2], "");
    }
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
  c.key = fmt::format("{}|beams {}{}{}", part.id, d->beams, d->pinning.key.empty() ? "" : "|", d->pinning.key);
  if (d->pinning.key.empty())
    c.title = d->beams == 0 ? fmt::format("{} carries by itself", part.name)
                            : fmt::format("{} carries with {} beam{} along either side", part.name, d->beams,
                                          d->beams == 1 ? "" : "s");
  else
    c.title = d->beams == 0
                  ? fmt::format("{} carries by itself, held in {}, loaded in {}", part.name, d->pinning.held,
                                d->pinning.loaded)
                  : fmt::format("{} carries with {} beam{} along each row of holes, held in {}, loaded in {}",
                                part.name, d->beams, d->beams == 1 ? "" : "s", d->pinning.held, d->pinning.loaded);
  if (!w.shared) drive::add_need(c.demand, {w.carrier}, fn.sides, part.name, "carries; nothing is plugged into it");
  drive::add_need(c.demand, catalogue.of(stock::Family::pin), static_cast<int>(w.holes.size()) * fn.sides, "pin",
                  "fixing holes");
  if (d->beams > 0)
    for (const auto& [holes, rows] : beams_by_length(w, brief.system().pitch_mm))
      drive::add_need(c.demand, drive::full_beams(brief, fn, holes, holes + kBeamSlack_p), d->beams * rows * fn.sides,
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
  if (r.pull_n > kNoPull_n) c.figures.push_back({"pull along a pin", r.pull_n, "N"});
  add_shapes(w, r, brief.system().pitch_mm, c);
  if (w.shared)
    c.notes.push_back(w.of.empty() ? std::string("the hub is the supply's own; it is counted once")
                                   : fmt::format("the motor is that of \"{}\"; it is counted once, and has to stand "
                                                 "where its holes meet both halves",
                                                 w.of));
  else
    c.notes.push_back(fmt::format("{} carries and does nothing else", part.name));
  c.notes.emplace_back("leave the cells' hatch and the sockets reachable; tell its room by a placed thing");
  for (std::string& note : hole_notes(*d, part)) c.notes.push_back(std::move(note));
  for (std::string& assumption : structure::body_assumptions()) c.notes.push_back(std::move(assumption));
  const structure::PinStrength pin = structure::pin_strength(brief.system());
  c.notes.push_back(fmt::format("A pin bears {} N in one cut ({} to {}): from the stress that beams bear, assumed.",
                                base::plain(pin.shear_n.nominal, 3), base::plain(pin.shear_n.low, 3),
                                base::plain(pin.shear_n.high, 3)));
  if (d->beams > 0 && !brief.system().axle.cross)
    c.notes.emplace_back("An angle bar counts as the leg that is pinned, alone: on the safe side.");
  if (r.pull_n > kNoPull_n)
    c.notes.push_back(brief.system().axle.cross
                          ? fmt::format("A pin slips out of its hole at {} N ({} to {}): assumed.",
                                        base::plain(pin.pull_n.nominal, 3), base::plain(pin.pull_n.low, 3),
                                        base::plain(pin.pull_n.high, 3))
                          : std::string("A bolt bears its stress over its area when it is pulled."));
  return c;
}

bool good_enough(const Candidate& c, const brief::Function& fn, candidate::RejectionLog& log) {
  if (!drive::uses_all_wanted(fn, c.demand)) {
    log.add("frame.must_use", 1, "parts", [&] { return fmt::format("{} does without a part it must use", c.title); });
    return false;
  }
  const auto worst =
      std::min_element(c.nominal.margins.begin(), c.nominal.margins.end(),
                       [](const candidate::Margin& a, const candidate::Margin& b) { return a.ratio < b.ratio; });
  if (worst->ratio >= candidate::kNearMiss) return true;
  log.add("frame." + worst->name, std::fabs(worst->requirement - worst->capability), worst->unit, [&] {
    return fmt::format("{}: {} is {} {}, {} {} asked", c.title, worst->name, base::plain(worst->capability),
                       worst->unit, base::plain(worst->requirement), worst->unit);
  });
  return false;
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
  // The first is by itself, in the holes at its sides where it has them.
  std::optional<double> bare_sag_mm;
  for (const Pinning& pinning : pinnings(w.holes)) {
    Wants pinned = w;
    pinned.holes = pinning.holes;
    const std::map<int, int> rows = beams_by_length(pinned, brief.system().pitch_mm);
    for (int beams = 0; beams <= (rows.empty() ? 0 : w.beams); ++beams) {
      ++out.examined;
      const auto missing = std::find_if(rows.begin(), rows.end(), [&](const auto& row) {
        return beams > 0 && drive::full_beams(brief, fn, row.first, row.first + kBeamSlack_p).empty();
      });
      if (missing != rows.end()) {
        log.add("frame.no_beam", 1, "pieces", [&] {
          return fmt::format("beams beside it need {} to {} holes, there are none to use", missing->first,
                             missing->first + kBeamSlack_p);
        });
        break;
      }
      auto design = std::make_shared<Design>(Design{shared, pinned, pinning, beams, {}});
      design->nominal = carry(pinned, brief.system(), beams, structure::Level::nominal);
      Candidate c = make_candidate(design, fn);
      if (!bare_sag_mm)
        bare_sag_mm = design->nominal.sag_mm;
      else
        c.figures.push_back({"less sag than by itself", 100 * (1 - design->nominal.sag_mm / *bare_sag_mm), "%"});
      if (good_enough(c, fn, log) && drive::stock_serves(c, brief, log)) out.candidates.push_back(std::move(c));
    }
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
