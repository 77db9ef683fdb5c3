#include "functions/steer/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "document/fields.h"
#include "functions/drive/room.h"
#include "functions/drive/wants_reader.h"
#include "linkage/steering.h"

namespace functions::steer {
namespace {

using document::FieldTable;
using drive::Place;
using drive::place_of;

constexpr double kRadPerDeg = std::numbers::pi / 180;
/// Beam between tyre and kingpin, in pitches (common practice, no source).
constexpr double kKnuckle_p = 1;
constexpr int kFewestKingpins_hp = 6;
/// A track rod may be shorter than the kingpins' distance by two arms that end a pitch inside (Ackermann's sense).
constexpr int kArmsInside_p = 2;
/// Of time_s: what a driver still meters by tapping (common practice, no source).
constexpr double kQuickestShare = 0.25;

const FieldTable<Region>& region_fields() {
  static const FieldTable<Region> table =
      FieldTable<Region>("steer.region")
          .range(
              "x", &Region::x,
              {.unit = "p", .low = -40, .high = 40, .doc = "from the axle, away from the other one positive, pitches"})
          .required()
          .range("y", &Region::y,
                 {.unit = "p", .low = -40, .high = 40, .doc = "from the middle plane, left positive, pitches"})
          .required();
  return table;
}

const FieldTable<Wants>& table() {
  static const FieldTable<Wants> kTable = [] {
    FieldTable<Wants> t("steer");
    t.number("angle_deg", &Wants::angle_deg,
             {.unit = "deg", .low = 3, .high = 65, .doc = "largest steering angle to either side"})
        .required();
    t.choice("angle_of", &Wants::angle_of, {{"inner", AngleOf::inner}, {"mean", AngleOf::mean}},
             {.doc = "whether angle_deg is the inner wheel's or the mean of both", .default_text = "\"inner\""});
    t.number("time_s", &Wants::time_s,
             {.unit = "s", .low = 0.1, .high = 120, .doc = "longest time from stop to stop, machine standing"})
        .required();
    t.number("quickest_s", &Wants::quickest_s,
             {.unit = "s",
              .low = 0.01,
              .high = 120,
              .doc = "shortest time from stop to stop, wheels rolling: quicker ones cannot be metered by hand",
              .default_text = "a quarter of time_s"});
    t.choice(
        "by", &Wants::by, {{"crank", By::crank}, {"rack", By::rack}, {"either", By::either}},
        {.doc = "crank: a crank, a drag link and a track rod; rack: a pinion on a rack with two tie rods; either: both "
                "are tried",
         .default_text = "\"crank\""});
    t.number("wheelbase_mm", &Wants::wheelbase_mm,
             {.unit = "mm",
              .low = 20,
              .high = 3000,
              .doc = "between the axles",
              .default_text = "length of the support, type \"wheels\""});
    t.number("track_mm", &Wants::track_mm,
             {.unit = "mm",
              .low = 20,
              .high = 2000,
              .doc = "between the middles of left and right tyre",
              .default_text = "width of the support, type \"wheels\""});
    t.choice("axle", &Wants::axle, {{"front", End::front}, {"rear", End::rear}},
             {.doc = "which axle is steered", .default_text = "\"front\""});
    t.integer("axles", &Wants::axles,
              {.low = 1,
               .high = 2,
               .doc = "2: the other axle is steered the opposite way by a drive of its own",
               .default_text = "1"});
    t.number("wheel_load_g", &Wants::wheel_load_g,
             {.unit = "g",
              .low = 1,
              .high = 20000,
              .doc = "carried by one steered wheel",
              .default_text = "from the bodies' masses"});
    t.text("wheel", &Wants::wheel,
           {.doc = "part class of the wheels, for their size", .default_text = "largest of which the stock has four"});
    t.number("tyre_diameter_mm", &Wants::tyre_diameter_mm,
             {.unit = "mm", .low = 5, .high = 500, .doc = "of the wheels", .default_text = "the wheel's"});
    t.number("tyre_width_mm", &Wants::tyre_width_mm,
             {.unit = "mm", .low = 1, .high = 200, .doc = "of the wheels", .default_text = "the wheel's"});
    t.number("patch_mm", &Wants::patch_mm,
             {.unit = "mm",
              .low = 0.5,
              .high = 200,
              .doc = "diameter of the round patch on which a tyre stands",
              .default_text = "the tyre's width"});
    t.number("tyre_friction", &Wants::tyre_friction,
             {.low = 0.05, .high = 2, .doc = "of tyre and floor", .default_text = "parameter ground_friction"});
    t.boolean("wheels_roll", &Wants::wheels_roll,
              {.doc = "false: the wheels are locked on their axle while they are turned", .default_text = "true"});
    t.number("kingpins_mm", &Wants::kingpins_mm,
             {.unit = "mm",
              .low = 16,
              .high = 2000,
              .doc = "between the kingpins",
              .default_text = "as far apart as tyres, knuckles of one pitch and the longest beam allow"});
    t.number("height_mm", &Wants::height_mm,
             {.unit = "mm",
              .low = 0,
              .high = 1000,
              .doc = "of arms and crank above the ground",
              .default_text = "the wheel's centre"});
    t.number("max_error_deg", &Wants::max_error_deg,
             {.unit = "deg",
              .low = 0.1,
              .high = 30,
              .doc = "how far the outer wheel may stand off Ackermann's angle",
              .default_text = "3"});
    t.number("turning_circle_mm", &Wants::turning_circle_mm,
             {.unit = "mm", .low = 50, .high = 50000, .doc = "largest diameter between kerbs; left out = any"});
    t.boolean("hold", &Wants::hold,
              {.doc = "a push at a tyre must not turn the drive back while the motor is off", .default_text = "true"});
    t.number("push_n", &Wants::push_n,
             {.unit = "N",
              .low = 0,
              .high = 200,
              .doc = "push at one tyre that it must hold",
              .default_text = "friction x wheel load, the most a tyre passes on"});
    t.choice("stops", &Wants::stops, {{"hard", Stops::hard}, {"soft", Stops::soft}},
             {.doc = "hard: the motor may stall against the end stop; soft: the handset ends the travel before it",
              .default_text = "\"hard\""});
    t.table("crank_region_p", &Wants::crank_region_p, region_fields(),
            {.unit = "p",
             .doc = "where the crank's pivot may be, from the middle of the steered axle",
             .default_text = "{ x = [-6, 6], y = [-1, 1] }"});
    t.integer(
        "longest_arm_p", &Wants::longest_arm_p,
        {.unit = "p", .low = 1, .high = 10, .doc = "longest steering arm along the machine", .default_text = "5"});
    t.integer("most_stages", &Wants::most_stages,
              {.low = 1,
               .high = 4,
               .doc = "most meshes between motor and crank",
               .default_text = "2, and up to 4 when no shorter train meets every want"});
    return t;
  }();
  return kTable;
}

/// Wheelbase, track and where the axles are.
void resolve_ground(const brief::Function& fn, const brief::Brief& brief, Wants& w, document::Diagnostics& d) {
  const bool wheels = brief.support.type == brief::Support::Type::wheels;
  const drive::Footprint ground = wheels ? drive::footprint(brief.support) : drive::Footprint{};
  const auto missing = [&](std::string_view key, std::string_view what) {
    const Place place = place_of(fn, key);
    d.error(fmt::format("steer.{}", key), place.where, place.path,
            fmt::format("the {} is not known: the machine does not stand on wheels", what),
            fmt::format("{} = 160, or a support of type \"wheels\"", key));
  };
  const double wheelbase_mm = w.wheelbase_mm.value_or(ground.high_x_mm - ground.low_x_mm);
  w.tread_mm = w.track_mm.value_or(ground.high_y_mm - ground.low_y_mm);
  if (wheelbase_mm <= 0) missing("wheelbase_mm", "wheelbase");
  if (w.tread_mm <= 0) missing("track_mm", "track");
  const double half = wheelbase_mm / 2 * (w.axle == End::front ? 1 : -1);
  w.middle_x_mm = (ground.low_x_mm + ground.high_x_mm) / 2;
  w.axle_x_mm = w.middle_x_mm + half;
  w.other_x_mm = w.middle_x_mm - half;
  w.base_mm = w.axles == 2 ? wheelbase_mm / 2 : wheelbase_mm;
}

void resolve_wheel(const brief::Function& fn, const brief::Brief& brief, Wants& w, document::Diagnostics& d) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  const auto size_of = [&](stock::ClassId id) { return std::get_if<stock::Wheel>(&catalogue.at(id).data); };
  const stock::Wheel* wheel = nullptr;
  if (!w.wheel.empty()) {
    const auto found = drive::find_class(fn, brief, "wheel", w.wheel, stock::Family::wheel, d);
    if (!found) return;
    wheel = size_of(*found);
  } else if (!w.tyre_diameter_mm || !w.tyre_width_mm) {
    const stock::PartClass* best = nullptr;
    for (const stock::ClassId id : catalogue.of(stock::Family::wheel)) {
      const stock::Wheel* size = size_of(id);
      if (size == nullptr || brief.stock->count_of(id) < 4 || !(size->width_mm > 0)) continue;
      if (wheel != nullptr && size->diameter_mm <= wheel->diameter_mm) continue;
      wheel = size;
      best = &catalogue.at(id);
    }
    if (best == nullptr) {
      const Place place = place_of(fn, "wheel");
      d.error("steer.wheel", place.where, place.path,
              "the tyres' size is not known: the stock has no four wheels alike",
              "wheel = ..., or tyre_diameter_mm = 48 and tyre_width_mm = 20");
      return;
    }
    w.assumed.push_back(fmt::format("tyres taken as those of the {}, the largest the stock has four of", best->name));
  }
  w.diameter_mm = w.tyre_diameter_mm.value_or(wheel != nullptr ? wheel->diameter_mm : 0);
  w.width_mm = w.tyre_width_mm.value_or(wheel != nullptr ? wheel->width_mm : 0);
  w.patch_radius_mm = w.patch_mm.value_or(w.width_mm) / 2;
  if (!w.patch_mm)
    w.assumed.push_back(
        fmt::format("each tyre stands on a round patch as wide as itself, {} mm; a hard tyre's is a narrow strip and "
                    "turns more easily",
                    base::plain(w.width_mm)));
  w.level_mm = w.height_mm.value_or(w.diameter_mm / 2);
}

void resolve_kingpins(const brief::Function& fn, const brief::Brief& brief, Wants& w, document::Diagnostics& d) {
  const double pitch_mm = brief.system().pitch_mm;
  const double most_mm = w.tread_mm - w.width_mm - 2 * kKnuckle_p * pitch_mm;
  double wanted_p = w.kingpins_mm ? std::round(*w.kingpins_mm / pitch_mm) : std::floor(most_mm / pitch_mm + 1e-9);
  int longest_p = 0;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::beam)) {
    const auto* beam = std::get_if<stock::Beam>(&brief.catalogue->at(id).data);
    if (beam != nullptr && beam->width_p == 1 && brief.stock->count_of(id) > 0)
      longest_p = std::max(longest_p, beam->length_p - 1);
  }
  if (!w.kingpins_mm && longest_p > 0 && wanted_p > longest_p + kArmsInside_p) {
    wanted_p = longest_p + kArmsInside_p;
    w.assumed.push_back(fmt::format("kingpins are taken {} mm apart, what the longest beam spans as a track rod",
                                    base::plain(wanted_p * pitch_mm)));
  }
  w.kingpins_hp = 2 * static_cast<int>(wanted_p);
  w.kingpins_at_mm = wanted_p * pitch_mm;
  w.offset_mm = (w.tread_mm - w.kingpins_at_mm) / 2;
  if (w.kingpins_mm && std::fabs(*w.kingpins_mm - w.kingpins_at_mm) > drive::kOffLattice_mm)
    w.assumed.push_back(fmt::format("kingpins are taken {} mm apart, whole pitches", base::plain(w.kingpins_at_mm)));
  const Place place = place_of(fn, w.kingpins_mm ? "kingpins_mm" : "track_mm");
  if (w.kingpins_hp < kFewestKingpins_hp) {
    d.error(
        "steer.kingpins_mm", place.where, place.path,
        fmt::format("between tyres {} mm wide on a track of {} mm there are {} mm for the kingpins, {} at least are "
                    "needed",
                    base::plain(w.width_mm), base::plain(w.tread_mm), base::plain(std::max(0.0, w.kingpins_at_mm)),
                    base::plain(kFewestKingpins_hp * pitch_mm / 2)),
        "a wider track_mm, or a narrower wheel");
  } else if (w.offset_mm < 0) {
    d.error("steer.kingpins_mm", place.where, place.path, "the kingpins stand outside of the tyres",
            fmt::format("kingpins_mm = {}", base::plain(std::floor(most_mm / pitch_mm) * pitch_mm)));
  }
}

/// A mean angle belongs to the inner one whose Ackermann partner makes that mean.
double inner_of_mean(double mean_rad, double kingpins_mm, double base_mm) {
  double low = mean_rad, high = std::min(2 * mean_rad, 89 * kRadPerDeg);
  for (int i = 0; i < 100; ++i) {
    const double mid = (low + high) / 2;
    const double mean = (mid + linkage::ackermann_outer_rad(mid, kingpins_mm, base_mm)) / 2;
    (mean < mean_rad ? low : high) = mid;
  }
  return (low + high) / 2;
}

}  // namespace

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& fn, const brief::Brief& brief,
                                             document::Diagnostics& diagnostics) {
  document::Diagnostics own;
  auto wants = std::make_shared<Wants>();
  Wants& w = *wants;
  table().read(fn.wants, w, own);
  w.least_time_s = w.quickest_s.value_or(kQuickestShare * w.time_s);
  if (!own.has_errors() && w.least_time_s > w.time_s) {
    const Place place = place_of(fn, "quickest_s");
    own.error("steer.quickest_s", place.where, place.path, "the shortest time is longer than the longest one",
              fmt::format("quickest_s = {}", base::plain(kQuickestShare * w.time_s)));
  }
  if (!own.has_errors()) resolve_ground(fn, brief, w, own);
  if (!own.has_errors()) resolve_wheel(fn, brief, w, own);
  if (!own.has_errors()) resolve_kingpins(fn, brief, w, own);
  if (!own.has_errors()) {
    w.inner_rad = w.angle_of == AngleOf::inner ? w.angle_deg * kRadPerDeg
                                               : inner_of_mean(w.angle_deg * kRadPerDeg, w.kingpins_at_mm, w.base_mm);
    const auto low = [](double p) { return static_cast<int>(std::ceil(2 * p - 1e-9)); };
    const auto high = [](double p) { return static_cast<int>(std::floor(2 * p + 1e-9)); };
    const Region& r = w.crank_region_p;
    w.crank_box = {{low(std::min(r.x[0], r.x[1])), low(std::min(r.y[0], r.y[1]))},
                   {high(std::max(r.x[0], r.x[1])), high(std::max(r.y[0], r.y[1]))}};
    if (w.crank_box.points() == 0) {
      const Place place = place_of(fn, "crank_region_p");
      own.error("steer.empty_region", place.where, place.path, "the region holds no lattice point",
                "holes are half a pitch apart");
    }
  }
  if (fn.sides == 2) {
    const Place place = place_of(fn, "");
    own.warning("steer.sides", place.where, place.path, "an axle has both its wheels in one function",
                "sides = 1; axles = 2 steers the other axle too");
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::steer
