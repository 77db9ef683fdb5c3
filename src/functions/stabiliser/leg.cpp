#include "functions/stabiliser/leg.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "balance/mass.h"
#include "base/text.h"
#include "functions/drive/drive.h"
#include "functions/drive/room.h"

namespace functions::stabiliser {
namespace {

/// Beams may stick out beyond the hip by so much (common practice, no source).
constexpr int kBeamSlack_p = 2;
constexpr double kRad = std::numbers::pi / 180;
/// Least travel that is worth a drive.
constexpr double kLeastTravel_rad = 1 * kRad;
constexpr double kHair_mm = 1e-9;

/// Where the lattice's origin lies along the outward axis.
double outward_offset(const Wants& w, const drive::BodyLattice& lattice, int outward) {
  return w.swing == Swing::sideways ? lattice.origin_mm.y_mm : outward * lattice.origin_mm.x_mm;
}

/// Angles and foot of a leg; nothing when it does not reach the ground.
bool stand(Leg& leg, const Wants& w) {
  const double contact = (leg.hip_up_mm - leg.foot_height_mm) / leg.length_mm;
  const double deployed = (leg.hip_up_mm - leg.foot_height_mm + leg.lift_mm) / leg.length_mm;
  if (!(contact > -1 && deployed < 1)) return false;
  leg.contact_rad = -std::asin(contact);
  leg.deployed_rad = -std::asin(deployed);
  leg.foot_out_mm = leg.hip_out_mm + leg.length_mm * std::cos(leg.deployed_rad);
  leg.slip_mm = leg.length_mm * (std::cos(leg.contact_rad) - std::cos(leg.deployed_rad));
  const double wanted_mm = w.swing == Swing::sideways ? w.foot_mm[1] : std::fabs(w.foot_mm[0]);
  leg.foot_miss_mm = std::fabs(leg.foot_out_mm - wanted_mm);
  return true;
}

}  // namespace

double Leg::hip_above_foot_mm(double angle_rad) const {
  return foot_height_mm - length_mm * std::sin(angle_rad);
}

std::vector<brief::Vec3> Leg::feet_mm(const Wants& w) const {
  const bool sideways = w.swing == Swing::sideways;
  const double x = sideways ? across_mm : outward * foot_out_mm, y = sideways ? foot_out_mm : across_mm;
  const double along = sideways ? stagger_mm : 0, aside = sideways ? 0 : stagger_mm;
  std::vector<brief::Vec3> out{{x + along, y - aside, 0}, {x - along, -y + aside, 0}};
  if (w.legs == 4) {
    out.push_back({-x + along, -y - aside, 0});
    out.push_back({-x - along, y + aside, 0});
  }
  return out;
}

std::vector<stock::ClassId> beams_for(int length_p, const brief::Brief& brief, const brief::Function& function) {
  std::vector<std::pair<int, stock::ClassId>> found;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::beam)) {
    const auto* beam = std::get_if<stock::Beam>(&brief.catalogue->at(id).data);
    if (beam == nullptr || beam->width_p != 1 || beam->thickness_p != 1 || !drive::allowed(function, id)) continue;
    if (beam->length_p < length_p + 1 || beam->length_p > length_p + 1 + kBeamSlack_p) continue;
    if (brief.stock->count_of(id) > 0) found.emplace_back(beam->length_p, id);
  }
  std::sort(found.begin(), found.end());
  std::vector<stock::ClassId> out;
  for (const auto& [length, id] : found) out.push_back(id);
  return out;
}

std::vector<lattice::Point2> hips(const Wants& w, const brief::Brief& brief, const brief::Function& function,
                                  const Leg& start, std::vector<std::string>& notes) {
  const drive::BodyLattice lattice = drive::lattice_of(brief, function.body);
  const double h = lattice.half_pitch_mm, outward_offset_mm = outward_offset(w, lattice, start.outward);
  if (w.hip_mm) {
    const int out = static_cast<int>(std::lround(((*w.hip_mm)[0] - outward_offset_mm) / h));
    const int up = static_cast<int>(std::lround(((*w.hip_mm)[1] - lattice.origin_mm.z_mm) / h));
    const double off_mm =
        std::hypot((*w.hip_mm)[0] - outward_offset_mm - out * h, (*w.hip_mm)[1] - lattice.origin_mm.z_mm - up * h);
    if (off_mm > drive::kOffLattice_mm)
      notes.push_back(fmt::format("the {} is off the holes by {} mm and taken at {} mm out, {} mm up",
                                  w.way == Way::slides ? "sleeve's mouth" : "hip", base::plain(off_mm, 2),
                                  base::plain(out * h + outward_offset_mm),
                                  base::plain(up * h + lattice.origin_mm.z_mm)));
    return {{out, up}};
  }
  const brief::Body& chassis = brief.bodies.front();
  const bool sideways = w.swing == Swing::sideways;
  const double half_mm = (sideways ? chassis.size_mm.y_mm : chassis.size_mm.x_mm) / 2;
  const double centre_mm = sideways ? 0 : start.outward * chassis.centre_mm.x_mm;
  const int out = static_cast<int>(std::floor((centre_mm + half_mm - outward_offset_mm) / h + kHair_mm)) - 2;
  const double low_mm = chassis.centre_mm.z_mm - chassis.size_mm.z_mm / 2 + 2 * h;
  std::vector<lattice::Point2> all;
  for (int up = static_cast<int>(std::ceil((low_mm - lattice.origin_mm.z_mm) / h - kHair_mm));
       up * h + lattice.origin_mm.z_mm <= chassis.centre_mm.z_mm + kHair_mm; ++up)
    all.push_back({out, up});
  return all;
}

Leg leg_start(const Wants& w, const brief::Brief& brief, const brief::Function& function) {
  const drive::BodyLattice lattice = drive::lattice_of(brief, function.body);
  const double pitch_mm = brief.system().pitch_mm, h = lattice.half_pitch_mm;
  const bool sideways = w.swing == Swing::sideways;
  Leg base;
  base.outward = !sideways && w.foot_mm[0] < 0 ? -1 : 1;
  base.foot_height_mm = w.foot_height_mm.value_or(w.pad.empty() ? h : pitch_mm);
  base.lift_mm = w.lifts ? w.lift_mm : 0;
  if (!w.pad.empty()) {
    base.pad = *brief.catalogue->find(w.pad);
    base.has_pad = true;
  }
  const double across_mm = sideways ? w.foot_mm[0] : w.foot_mm[1];
  const double across_origin_mm = sideways ? lattice.origin_mm.x_mm : lattice.origin_mm.y_mm;
  const int across_hp = static_cast<int>(std::lround((across_mm - across_origin_mm) / h));
  base.across_mm = across_hp * h + across_origin_mm;
  if (std::fabs(base.across_mm - across_mm) > drive::kOffLattice_mm)
    base.notes.push_back(fmt::format("the legs' plane is rounded by {} mm to {} = {} mm",
                                     base::plain(std::fabs(base.across_mm - across_mm), 2), sideways ? "x" : "y",
                                     base::plain(base.across_mm)));
  return base;
}

void set_hip(lattice::Point2 hole, const Wants& w, const brief::Brief& brief, const brief::Function& function,
             Leg& leg) {
  const drive::BodyLattice lattice = drive::lattice_of(brief, function.body);
  const double h = lattice.half_pitch_mm;
  const bool sideways = w.swing == Swing::sideways;
  const double origin_mm = sideways ? lattice.origin_mm.x_mm : lattice.origin_mm.y_mm;
  const int across_hp = static_cast<int>(std::lround((leg.across_mm - origin_mm) / h));
  leg.hip_out_mm = hole.x_hp * h + outward_offset(w, lattice, leg.outward);
  leg.hip_up_mm = hole.z_hp * h + lattice.origin_mm.z_mm;
  leg.hip = sideways ? lattice::Point3{across_hp, hole.x_hp, hole.z_hp}
                     : lattice::Point3{leg.outward * hole.x_hp, across_hp, hole.z_hp};
}

void weigh(const Wants& w, const brief::Brief& brief, Leg& leg) {
  // The lightest that serves is what the demand's mass counts as well.
  const double beam_g = brief.catalogue->at(leg.beams.front()).mass_g.value.nominal * w.leg_beams;
  const double pad_g = leg.has_pad ? brief.catalogue->at(leg.pad).mass_g.value.nominal : 0;
  leg.weight_n = balance::weight_n(beam_g + pad_g);
  if (beam_g + pad_g > 0) leg.centre_mm = (beam_g * leg.length_mm / 2 + pad_g * leg.length_mm) / (beam_g + pad_g);
}

Leg find_leg(const Wants& w, const brief::Brief& brief, const brief::Function& function, candidate::RejectionLog& log) {
  const double pitch_mm = brief.system().pitch_mm;
  const Leg base = leg_start(w, brief, function);
  std::optional<Leg> best;
  double reach_short_mm = std::numeric_limits<double>::infinity();
  int longest_p = 0;
  bool any_length = false;
  for (int length_p = w.leg_p > 0 ? w.leg_p : 2; length_p <= (w.leg_p > 0 ? w.leg_p : kLongestLeg_p); ++length_p) {
    Leg leg = base;
    leg.beams = beams_for(length_p, brief, function);
    if (leg.beams.empty()) continue;
    any_length = true;
    leg.length_p = length_p;
    leg.length_mm = length_p * pitch_mm;
    std::vector<std::string> rounded;
    for (const lattice::Point2 hole : hips(w, brief, function, base, rounded)) {
      set_hip(hole, w, brief, function, leg);
      const double drop_mm = leg.hip_up_mm - leg.foot_height_mm + leg.lift_mm;
      if (!stand(leg, w)) {
        reach_short_mm = std::min(reach_short_mm, drop_mm - leg.length_mm);
        longest_p = std::max(longest_p, length_p);
        continue;
      }
      if (!best || leg.foot_miss_mm < best->foot_miss_mm - 1e-6) {
        best = leg;
        best->notes.insert(best->notes.end(), rounded.begin(), rounded.end());
      }
    }
  }
  const std::string asked = w.leg_p > 0 ? fmt::format("a leg of {} p", w.leg_p) : std::string("a leg");
  if (!any_length) {
    log.add("stabiliser.no_beam", 1, "pieces", [&] {
      return w.leg_p > 0 ? fmt::format("{} needs a beam of {} to {} p, the stock has none that this function may use",
                                       asked, w.leg_p + 1, w.leg_p + 1 + kBeamSlack_p)
                         : std::string("the stock has no beam for a leg that this function may use");
    });
    return base;
  }
  if (!best) {
    log.add("stabiliser.leg_too_short", std::max(reach_short_mm, kHair_mm), "mm", [&] {
      return fmt::format("{} of {} p ends {} mm above where the foot must press",
                         w.leg_p > 0 ? "the leg" : "the longest", longest_p,
                         base::plain(std::max(reach_short_mm, 0.0), 3));
    });
    return base;
  }
  Leg leg = *best;
  if (leg.foot_miss_mm > w.foot_tolerance_mm) {
    log.add("stabiliser.foot_off", leg.foot_miss_mm - w.foot_tolerance_mm, "mm", [&] {
      return fmt::format(
          "the nearest leg, {} p from a hip {} mm out and {} mm up, puts the foot {} mm out, {} mm from where it is "
          "wanted; {} mm are allowed",
          leg.length_p, base::plain(leg.hip_out_mm), base::plain(leg.hip_up_mm), base::plain(leg.foot_out_mm, 4),
          base::plain(leg.foot_miss_mm, 3), base::plain(w.foot_tolerance_mm));
    });
    return base;
  }
  const double clearance_mm = w.clearance_mm.value_or(kClearance_mm);
  const double rise_mm = clearance_mm + leg.foot_height_mm - leg.hip_up_mm;
  if (!w.stowed_deg && rise_mm >= leg.length_mm) {
    log.add("stabiliser.stowed_low", rise_mm - leg.length_mm + kHair_mm, "mm", [&] {
      return fmt::format("the leg of {} p clears the ground by {} mm at most, {} mm are wanted", leg.length_p,
                         base::plain(leg.length_mm + leg.hip_up_mm - leg.foot_height_mm, 3),
                         base::plain(clearance_mm, 3));
    });
    return base;
  }
  leg.stowed_rad = w.stowed_deg ? *w.stowed_deg * kRad : std::asin(rise_mm / leg.length_mm);
  if (leg.stowed_rad - leg.contact_rad < kLeastTravel_rad) {
    log.add("stabiliser.no_travel", (kLeastTravel_rad - (leg.stowed_rad - leg.contact_rad)) / kRad, "deg", [&] {
      return fmt::format("stowed at {} deg the foot is {} the ground, which it meets at {} deg",
                         base::plain(leg.stowed_rad / kRad, 3), leg.stowed_rad < leg.contact_rad ? "below" : "on",
                         base::plain(leg.contact_rad / kRad, 3));
    });
    return base;
  }
  if (!w.hip_mm)
    leg.notes.push_back(fmt::format("hip not given: taken {} mm out and {} mm up", base::plain(leg.hip_out_mm),
                                    base::plain(leg.hip_up_mm)));
  if (!w.clearance_mm && !w.stowed_deg)
    leg.notes.push_back(fmt::format("height of the stowed foot not given: taken {} mm", base::plain(kClearance_mm)));
  weigh(w, brief, leg);
  return leg;
}

}  // namespace functions::stabiliser
