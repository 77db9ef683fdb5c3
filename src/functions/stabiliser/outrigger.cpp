#include "functions/stabiliser/outrigger.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "base/text.h"
#include "functions/drive/drive.h"
#include "functions/stabiliser/site.h"

namespace functions::stabiliser {
namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;
constexpr double kHair_mm = 1e-9;
constexpr int kMostRounds = 200;
constexpr double kStill = 1e-14;

/// Longest beam of the stock that a leg may be made of, holes.
int longest_holes(const brief::Brief& brief, const brief::Function& function) {
  int longest = 0;
  for (int length_p = 1; length_p <= 2 * kLongestLeg_p; ++length_p)
    if (!beams_for(length_p, brief, function).empty()) longest = length_p + 1;
  return longest;
}

/// What keeps one mouth from serving, the nearest of all is told.
struct Miss {
  double by = std::numeric_limits<double>::infinity();
  std::string text;
  void take(double miss, const auto& say) {
    if (miss >= by) return;
    by = miss;
    text = say();
  }
  [[nodiscard]] bool any() const { return std::isfinite(by); }
};

}  // namespace

Outrigger find_outrigger(const Wants& w, const brief::Brief& brief, const brief::Function& function, double stroke_mm,
                         candidate::RejectionLog& log) {
  const double pitch_mm = brief.system().pitch_mm;
  Outrigger base;
  base.leg = leg_start(w, brief, function);
  base.slope_rad = std::atan2(w.down_p, w.out_p);
  base.guide_mm = w.guide_p * pitch_mm;
  const double cosine = std::cos(base.slope_rad), sine = std::sin(base.slope_rad), run_in_mm = kRunIn_p * pitch_mm;
  const double clearance_mm = w.clearance_mm.value_or(base.level() ? kSlidingClearance_mm : pitch_mm);
  const bool by_rack = w.by == RunBy::rack;
  // What of the beam lies inwards of the mouth when it is run out.
  const auto kept_mm = [&](const Outrigger& o) {
    const double to_pinion_mm = o.leg.hip_out_mm + kMeshBeyond * std::numbers::pi * brief.system().module_mm;
    return by_rack ? std::max(o.guide_mm, to_pinion_mm) : o.guide_mm;
  };
  const double wanted_mm = w.swing == Swing::sideways ? w.foot_mm[1] : std::fabs(w.foot_mm[0]);
  const int longest = longest_holes(brief, function);
  // Furthest that beams of the stock, the actuators' stroke and the middle of the machine let a foot come.
  const auto widest = [&](Outrigger& o) {
    const double by_beam = (longest - 1) * pitch_mm - kept_mm(o), by_stroke = run_in_mm + stroke_mm;
    // On racks, level, the whole beam, which is whole pitches long, has room between its own mouth and the other one.
    const double by_middle =
        by_rack
            ? std::floor((2 * o.leg.hip_out_mm - pitch_mm / 2 + run_in_mm) / pitch_mm + 1e-9) * pitch_mm - kept_mm(o)
            : o.leg.hip_out_mm / cosine - pitch_mm / 2 + run_in_mm - kept_mm(o);
    double reach = std::min(by_beam, by_stroke);
    o.widest_by = by_beam <= by_stroke ? "the longest beam" : "the actuator's stroke";
    if (faces_its_image(w) && by_middle < reach) {
      reach = by_middle;
      o.widest_by = by_rack ? "the opposite mouth, which its inner end reaches when run in"
                            : "the opposite beam, which it meets in the middle when run in";
    }
    o.widest_mm = o.leg.hip_out_mm + std::max(0.0, reach) * cosine;
  };
  std::optional<Outrigger> best;
  Miss low, still, shorter, meets, sticks_out;
  std::vector<std::string> rounded;
  for (const lattice::Point2 hole : hips(w, brief, function, base.leg, rounded)) {
    Outrigger o = base;
    Leg& leg = o.leg;
    set_hip(hole, w, brief, function, leg);
    const double height_mm = leg.hip_up_mm - leg.foot_height_mm;
    o.reach_mm = o.level() ? wanted_mm - leg.hip_out_mm : (height_mm + leg.lift_mm) / sine;
    o.clearance_mm = height_mm - run_in_mm * sine;
    if (o.clearance_mm < clearance_mm - kHair_mm) {
      low.take(clearance_mm - o.clearance_mm, [&] {
        return fmt::format("run in, the foot clears the ground by {} mm; {} mm are wanted",
                           base::plain(o.clearance_mm, 3), base::plain(clearance_mm, 3));
      });
      continue;
    }
    // A pin goes through holes only.
    if (w.by == RunBy::hand) o.reach_mm = std::round(o.reach_mm / pitch_mm) * pitch_mm;
    o.travel_mm = o.reach_mm - run_in_mm;
    if (o.travel_mm < pitch_mm) {
      still.take(pitch_mm - o.travel_mm, [&] {
        return fmt::format("the foot is {} mm beyond where it stands run in; a travel of {} mm is the least",
                           base::plain(o.travel_mm, 3), base::plain(pitch_mm));
      });
      continue;
    }
    leg.length_p = static_cast<int>(std::ceil((o.reach_mm + kept_mm(o)) / pitch_mm - 1e-9));
    leg.length_mm = leg.length_p * pitch_mm;
    leg.foot_out_mm = leg.hip_out_mm + o.reach_mm * cosine;
    leg.foot_miss_mm = std::fabs(leg.foot_out_mm - wanted_mm);
    o.gap_mm = o.level() ? height_mm : 0;
    o.loaded_mm = o.level() ? 0 : leg.lift_mm / sine;
    widest(o);
    const double inner_mm = leg.hip_out_mm + (run_in_mm - leg.length_mm - pitch_mm / 2) * cosine;
    if (by_rack && -inner_mm > leg.hip_out_mm + kHair_mm) {
      sticks_out.take(-inner_mm - leg.hip_out_mm, [&] {
        return fmt::format(
            "run in, a beam of {} holes sticks {} mm out of the other side's mouth; with its mouth there a foot comes "
            "{} "
            "mm out at most",
            leg.length_p + 1, base::plain(-inner_mm - leg.hip_out_mm, 3), base::plain(o.widest_mm, 4));
      });
      continue;
    }
    if (!by_rack && faces_its_image(w) && inner_mm < -kHair_mm) {
      meets.take(-inner_mm, [&] {
        return fmt::format(
            "run in, a beam of {} holes reaches {} mm over the middle and meets the opposite one; with {} p in the "
            "sleeve a foot comes {} mm out at most",
            leg.length_p + 1, base::plain(-inner_mm, 3), base::plain(w.guide_p), base::plain(o.widest_mm, 4));
      });
      continue;
    }
    leg.beams = beams_for(leg.length_p, brief, function);
    if (leg.beams.empty()) {
      shorter.take(std::max(1, leg.length_p + 1 - longest), [&] {
        return fmt::format(
            "{} mm of reach and {} p {} need a beam of {} to {} holes; the longest that this function may "
            "use has {}, with which a foot comes {} mm out",
            base::plain(o.reach_mm, 4), base::plain(kept_mm(o) / pitch_mm, 3),
            by_rack && kept_mm(o) > o.guide_mm ? "from the mouth to the pinion" : "in the sleeve", leg.length_p + 1,
            leg.length_p + 3, longest, base::plain(o.widest_mm, 4));
      });
      continue;
    }
    if (!best || leg.foot_miss_mm < best->leg.foot_miss_mm - 1e-6) best = o;
  }
  if (!best) {
    for (const auto& [code, miss, unit] :
         {std::tuple{"beam_too_short", &shorter, "holes"}, std::tuple{"beams_meet", &meets, "mm"},
          std::tuple{"beam_sticks_out", &sticks_out, "mm"}, std::tuple{"no_travel", &still, "mm"},
          std::tuple{"stowed_low", &low, "mm"}})
      if (miss->any())
        log.add(fmt::format("stabiliser.{}", code), std::max(miss->by, kHair_mm), unit,
                [miss = miss] { return miss->text; });
    return base;
  }
  Outrigger o = *best;
  Leg& leg = o.leg;
  if (leg.foot_miss_mm > w.foot_tolerance_mm) {
    log.add("stabiliser.foot_off", leg.foot_miss_mm - w.foot_tolerance_mm, "mm", [&] {
      return fmt::format(
          "from a mouth {} mm out and {} mm up a beam that falls by {} deg puts its foot {} mm out, {} mm from where "
          "it "
          "is wanted; {} mm are allowed",
          base::plain(leg.hip_out_mm), base::plain(leg.hip_up_mm), base::plain(o.slope_rad * kDegPerRad, 3),
          base::plain(leg.foot_out_mm, 4), base::plain(leg.foot_miss_mm, 3), base::plain(w.foot_tolerance_mm));
    });
    return base;
  }
  leg.notes.insert(leg.notes.end(), rounded.begin(), rounded.end());
  if (!w.hip_mm)
    leg.notes.push_back(fmt::format("sleeve's mouth not given: taken {} mm out and {} mm up",
                                    base::plain(leg.hip_out_mm), base::plain(leg.hip_up_mm)));
  weigh(w, brief, leg);
  return o;
}

SlideForce slide_force(const Outrigger& o, double out_mm, double foot_n, const SlideContact& c, Motion motion) {
  const double way = motion == Motion::deploying ? 1 : -1;
  const double cosine = std::cos(o.slope_rad), sine = std::sin(o.slope_rad);
  // The foot's end is where the pad hangs; centre_mm counts from the inner end.
  const double foot_at = o.reach_mm - o.travel_mm + out_mm, weight_at = foot_at - (o.leg.length_mm - o.leg.centre_mm);
  const double along = foot_n * (sine + way * c.foot_friction * cosine) - o.leg.weight_n * sine;
  const double foot_across = foot_n * (cosine - way * c.foot_friction * sine), weight_across = -o.leg.weight_n * cosine;
  SlideForce out;
  for (int i = 0; i < kMostRounds; ++i) {
    const double inner = (foot_across * foot_at + weight_across * weight_at - out.force_n * c.offset_mm) / o.guide_mm;
    const double mouth = -(foot_across + weight_across) - inner;
    out.guide_n = std::fabs(inner) + std::fabs(mouth);
    const double next = along + way * c.guide_friction * out.guide_n;
    const bool rests = std::fabs(next - out.force_n) <= kStill * std::fabs(next);
    out.force_n = next;
    if (rests) break;
  }
  return out;
}

double slide_foot_n(const Outrigger& o, double out_mm, double rod_n, const SlideContact& c) {
  const auto asks = [&](double foot_n) { return slide_force(o, out_mm, foot_n, c, Motion::deploying).force_n; };
  if (o.level() || asks(0) > rod_n) return 0;
  double low = 0, high = 1;
  while (asks(high) < rod_n) high *= 2;
  // The force grows with the foot's; 60 halvings reach the last digits.
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (asks(middle) > rod_n ? high : low) = middle;
  }
  return low;
}

}  // namespace functions::stabiliser
