#include "functions/stabiliser/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "functions/drive/room.h"
#include "functions/drive/wants_reader.h"

namespace functions::stabiliser {
namespace {

using document::Diagnostics;
using document::FieldTable;

const FieldTable<drive::MountRegion>& region_fields() {
  static const FieldTable<drive::MountRegion> table =
      drive::mount_region_fields("stabiliser.region", "outward or towards the foot");
  return table;
}

const FieldTable<Wants>& table() {
  static const FieldTable<Wants> built =
      FieldTable<Wants>("stabiliser")
          .point2(
              "foot_mm", &Wants::foot_mm,
              {.unit = "mm",
               .low = -5000,
               .high = 5000,
               .doc = "Where one foot stands when deployed, [x, y] in the machine's frame, y to the left; the other "
                      "feet are its mirror images."})
          .required()
          .integer("legs", &Wants::legs,
                   {.low = 2,
                    .high = 4,
                    .doc = "2: left and right. 4: front and rear too, mirrored about x = 0.",
                    .default_text = "2"})
          .choice(
              "swing", &Wants::swing, {{"sideways", Swing::sideways}, {"lengthways", Swing::lengthways}},
              {.doc = "Plane the legs swing or slide in: across the machine or along it.", .default_text = "sideways"})
          .choice("way", &Wants::way, {{"swings", Way::swings}, {"slides", Way::slides}},
                  {.doc = "How a leg comes out: swung down about a hip, or run out of a sleeve as a beam.",
                   .default_text = "swings"})
          .choice(
              "by", &Wants::by, {{"motor", RunBy::motor}, {"hand", RunBy::hand}, {"rack", RunBy::rack}},
              {.doc =
                   "What runs a sliding beam out: a screw actuator with its motor, a hand, with a pin through sleeve "
                   "and beam, or a motor's pinion between the racks of two opposite beams, which lie side by side, as "
                   "do their feet.",
               .default_text = "motor"})
          .number("hand_n", &Wants::hand_n,
                  {.unit = "N",
                   .low = 0.5,
                   .high = 100,
                   .doc = "By hand: force that a hand moves one beam with.",
                   .default_text = "10"})
          .number("offset_p", &Wants::offset_p,
                  {.unit = "p",
                   .low = 0,
                   .high = 10,
                   .doc = "By rack: from its pitch line to the middle of the beam it lies on.",
                   .default_text = "1, half the beam and half a rack"})
          .point2(
              "slope_p", &Wants::slope_p,
              {.unit = "p",
               .low = 0,
               .high = 30,
               .doc = "Line of a sliding beam: pitches out and pitches down from one hole of the chassis to the next.",
               .default_text = "[1, 0], level, when it only widens; [4, 3] when it lifts"})
          .number("guide_p", &Wants::guide_p,
                  {.unit = "p",
                   .low = 1,
                   .high = 40,
                   .doc = "Length of a sliding beam that stays in its sleeve when run out.",
                   .default_text = "5, and from hole to hole of its line at least"})
          .boolean("lifts", &Wants::lifts,
                   {.doc = "Lifts the machine off its wheels; false: the feet only widen the stance.",
                    .default_text = "true"})
          .number("lift_mm", &Wants::lift_mm,
                  {.unit = "mm",
                   .low = 0.5,
                   .high = 200,
                   .doc = "How far the wheels come off the ground.",
                   .default_text = "4"})
          .number("preload_n", &Wants::preload_n,
                  {.unit = "N",
                   .low = 0.01,
                   .high = 1000,
                   .doc = "Force that presses a foot to the ground when the feet only widen the stance.",
                   .default_text = "a tenth of an equal share of the weight"})
          .number("clearance_mm", &Wants::clearance_mm,
                  {.unit = "mm",
                   .low = 1,
                   .high = 1000,
                   .doc = "Ground to the underside of a stowed foot.",
                   .default_text = "32; of a beam that slides out and down a pitch, level 1"})
          .number("stowed_deg", &Wants::stowed_deg,
                  {.unit = "deg",
                   .low = -80,
                   .high = 100,
                   .doc = "Instead of clearance_mm: the stowed leg above the horizontal."})
          .number("time_s", &Wants::time_s,
                  {.unit = "s",
                   .low = 0.1,
                   .high = 600,
                   .doc = "Longest time from stowed to deployed, in the slower direction.",
                   .default_text = "10"})
          .point2(
              "hip_mm", &Wants::hip_mm,
              {.unit = "mm",
               .low = 0,
               .high = 5000,
               .doc = "Hinge of the leg, or mouth of its sleeve: out from the machine's middle plane in the plane of "
                      "the swing, and up from the ground.",
               .default_text = "a pitch inside the chassis' envelope, at the height that suits a beam in stock"})
          .integer("leg_p", &Wants::leg_p,
                   {.unit = "p",
                    .low = 2,
                    .high = kLongestLeg_p,
                    .doc = "Length of the leg from hip to foot, in whole hole pitches.",
                    .default_text = "the one that puts the foot nearest to foot_mm"})
          .integer("leg_beams", &Wants::leg_beams,
                   {.low = 1,
                    .high = 2,
                    .doc = "Beams of a leg; of a swinging one 2 with the actuator between them.",
                    .default_text = "2, of a sliding leg 1"})
          .number("foot_tolerance_mm", &Wants::foot_tolerance_mm,
                  {.unit = "mm",
                   .low = 0.1,
                   .high = 100,
                   .doc = "How far a foot may stand from foot_mm, because legs are whole pitches long.",
                   .default_text = "8"})
          .text("pad", &Wants::pad,
                {.doc = "Part under every foot, an id of the kit system.", .default_text = "none, the leg's own end"})
          .number("foot_height_mm", &Wants::foot_height_mm,
                  {.unit = "mm",
                   .low = 0,
                   .high = 200,
                   .doc = "From the ground to the foot's pin, or to the last hole of the leg.",
                   .default_text = "half a pitch, one pitch with a pad"})
          .number("foot_friction", &Wants::foot_friction,
                  {.low = 0,
                   .high = 2,
                   .doc = "Friction of the foot on the ground.",
                   .default_text = "the machine's ground friction"})
          .number("load_g", &Wants::load_g,
                  {.unit = "g",
                   .low = 0,
                   .high = 50000,
                   .doc = "Payload on the machine while it stands on its feet; counts in what a foot must hold.",
                   .default_text = "0"})
          .number("tipping_deg", &Wants::tipping_deg,
                  {.unit = "deg",
                   .low = 0.1,
                   .high = 89,
                   .doc = "Least tipping angle of the empty machine on its feet.",
                   .default_text = "none, the gain is only told"})
          .integer("legs_per_motor", &Wants::legs_per_motor,
                   {.low = 1,
                    .high = 2,
                    .doc = "1: every leg has its own motor. 2: one motor turns two actuators through a cross shaft.",
                    .default_text = "both are tried where a cross shaft can join two legs"})
          .table("base_region_p", &Wants::base_region_p, region_fields(),
                 {.unit = "p",
                  .doc = "Where the actuator may be mounted on the chassis, from the hip, x outward.",
                  .default_text = "{ x = [-8, 3], z = [-3, 12] }"})
          .table("rod_region_p", &Wants::rod_region_p, region_fields(),
                 {.unit = "p",
                  .doc = "Where it may be mounted on the leg, from the hip, x towards the foot; whole pitches count.",
                  .default_text = "every hole of the leg but the foot's"})
          .number("min_lever_mm", &Wants::min_lever_mm,
                  {.unit = "mm",
                   .low = 0.5,
                   .high = 500,
                   .doc = "Least distance of the actuator's line from the hip anywhere in the travel.",
                   .default_text = "8"})
          .number("end_clearance_mm", &Wants::end_clearance_mm,
                  {.unit = "mm",
                   .low = 0,
                   .high = 50,
                   .doc = "Length kept free at both ends of the actuator's stroke.",
                   .default_text = "1"})
          .integer("most_stages", &Wants::most_stages,
                   {.low = 0,
                    .high = 4,
                    .doc = "Most meshes between motor and actuator; every train up to it is searched.",
                    .default_text = "2, by rack 1, and up to 4 when no shorter train meets every want"});
  return built;
}

/// The line of a sliding beam: whole pitches whose diagonal is whole too, or the sleeve's beams meet no holes.
template <class Error>
void read_slope(Wants& w, const brief::Brief& brief, bool guide_given, const Error& error) {
  if (!w.slope_p) {
    if (w.lifts) {
      w.out_p = kSlope_p[0];
      w.down_p = kSlope_p[1];
    }
  } else {
    const double out = (*w.slope_p)[0], down = (*w.slope_p)[1];
    w.out_p = static_cast<int>(std::lround(out));
    w.down_p = static_cast<int>(std::lround(down));
    const double along = std::hypot(w.out_p, w.down_p);
    const double off_mm = std::fabs(along - std::round(along)) * brief.system().pitch_mm;
    if (w.out_p != out || w.down_p != down || w.out_p < 1) {
      error("slope_p", "slope", "holes are whole pitches apart, and a beam slides outward.",
            "[1, 0], [4, 3] or [12, 5]");
      return;
    }
    if (off_mm > brief.system().max_misfit_mm) {
      error("slope_p", "slope",
            fmt::format("a beam along {} p out and {} p down misses the holes by {} mm; {} mm are allowed.", w.out_p,
                        w.down_p, base::plain(off_mm, 2), base::plain(brief.system().max_misfit_mm)),
            "[4, 3], [12, 5], [15, 8] or [24, 7]");
      return;
    }
  }
  // A level sleeve is pinned to any two holes, a sloping one to those at the ends of the diagonal.
  const double least_p = w.down_p > 0 ? std::round(std::hypot(w.out_p, w.down_p)) : 1;
  if (!guide_given) {
    w.guide_p = std::max(kGuide_p, least_p);
  } else if (w.guide_p < least_p - 1e-9) {
    error("guide_p", "sleeve",
          fmt::format("the sleeve of a beam along {} p out and {} p down is pinned {} p apart.", w.out_p, w.down_p,
                      base::plain(least_p)),
          fmt::format("guide_p = {}", base::plain(least_p)));
  }
  if (w.lifts && w.down_p == 0)
    error("slope_p", "level", "a beam that slides out level presses nothing down and cannot lift.",
          "lifts = false, or a slope such as [4, 3]");
}

}  // namespace

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& function, const brief::Brief& brief,
                                             Diagnostics& diagnostics) {
  auto wants = std::make_shared<Wants>();
  Wants& w = *wants;
  Diagnostics own;
  table().read(function.wants, w, own);
  const auto error = [&](std::string_view key, std::string code, std::string message, std::string hint) {
    const drive::Place place = drive::place_of(function, key);
    own.error("stabiliser." + code, place.where, place.path, std::move(message), std::move(hint));
  };
  const bool sideways = w.swing == Swing::sideways;
  if (w.legs == 3) error("legs", "legs", "3 legs have no mirror image each.", "2 or 4");
  if (drive::lattice_of(brief, function.body).body != 0)
    error("foot_mm", "body",
          fmt::format("legs stand on what carries the machine, and \"{}\" moves against it.",
                      brief.bodies.at(static_cast<std::size_t>(function.body)).id),
          "leave body out, or name a body that is fixed to the chassis");
  if (function.wants.find("foot_mm") != nullptr) {
    if (!(w.foot_mm[1] > 0))
      error("foot_mm", "foot_side",
            fmt::format("the foot stands at y = {} mm; the one on the left, y > 0, is asked for.",
                        base::plain(w.foot_mm[1])),
            "give the left foot; the right one is its mirror image");
    if (w.legs == 4 && !(w.foot_mm[0] > 0))
      error("foot_mm", "foot_front",
            fmt::format("the foot stands at x = {} mm; of four, the front left one, x > 0, is asked for.",
                        base::plain(w.foot_mm[0])),
            "give the front left foot; the others are its mirror images about x = 0 and y = 0");
    if (w.legs == 2 && !sideways && w.foot_mm[0] == 0)
      error("foot_mm", "foot_front", "a leg that swings lengthways ends before or behind x = 0.",
            "give x, or swing = \"sideways\"");
  }
  if (w.clearance_mm && w.stowed_deg)
    error("stowed_deg", "stowed_twice", "clearance_mm and stowed_deg both say where the leg is stowed.",
          "leave one of them out");
  if (w.legs_per_motor == 2 && sideways && w.legs == 2)
    error("legs_per_motor", "cross_shaft",
          "the actuators of two legs that swing sideways turn on parallel shafts, which no cross shaft joins.",
          "swing = \"lengthways\", or legs_per_motor = 1");
  if (w.legs_per_motor == 2 && !sideways && function.sides == 2)
    error("legs_per_motor", "sides", "a cross shaft from left to right has no mirror image of its own.",
          "leave sides out, or legs_per_motor = 1");
  if (!w.pad.empty() && !brief.catalogue->find(w.pad)) {
    std::vector<std::string> ids;
    for (const stock::PartClass& c : brief.catalogue->classes) ids.push_back(c.id);
    const auto near = base::nearest_name(w.pad, ids);
    error("pad", "unknown_part", fmt::format("{} is no part of the kit system.", document::quoted(w.pad)),
          near ? fmt::format("\"{}\"", *near) : "an id of the catalogue");
  }
  const brief::Vec3& size = brief.bodies.front().size_mm;
  if (!w.hip_mm && !(size.x_mm > 0 && size.y_mm > 0 && size.z_mm > 0))
    error("hip_mm", "hip", "where the leg is hinged is not known: the chassis has no size.",
          "give hip_mm, or the size of the chassis");
  w.base_box = drive::box_of(w.base_region_p);
  drive::check_mounts(function, w.base_box, w.rod_region_p ? drive::box_of(*w.rod_region_p) : lattice::Box2{}, own);
  if (w.way == Way::slides) {
    if (function.wants.find("leg_beams") == nullptr) w.leg_beams = 1;
    for (const std::string_view key : {"stowed_deg", "leg_p", "base_region_p", "rod_region_p", "min_lever_mm"}) {
      if (function.wants.find(key) != nullptr)
        error(key, "swings_only", fmt::format("{} belongs to a leg that swings.", key), "leave it out");
    }
    if (w.by == RunBy::hand) {
      for (const std::string_view key : {"time_s", "legs_per_motor", "end_clearance_mm", "most_stages", "preload_n"}) {
        if (function.wants.find(key) != nullptr)
          error(key, "motor_on_hand", fmt::format("{} belongs to a motor, but by = \"hand\".", key), "by = \"motor\"");
      }
      if (w.lifts || (w.slope_p && (*w.slope_p)[1] != 0))
        error(w.lifts ? "by" : "slope_p", "hand_lifts",
              "a beam that is run out by hand is pinned level: nothing presses it down.",
              w.lifts ? "lifts = false, or by = \"motor\"" : "slope_p = [1, 0], or by = \"motor\"");
    } else if (w.by == RunBy::rack) {
      for (const std::string_view key : {"legs_per_motor", "end_clearance_mm", "preload_n"}) {
        if (function.wants.find(key) != nullptr)
          error(key, "screw_on_rack", fmt::format("{} belongs to a screw actuator, but by = \"rack\".", key),
                "leave it out, or by = \"motor\"");
      }
      if (w.lifts || (w.slope_p && (*w.slope_p)[1] != 0))
        error(w.lifts ? "by" : "slope_p", "rack_lifts",
              "beams on racks run out level: they can widen the stance, not lift.",
              w.lifts ? "lifts = false, or by = \"motor\"" : "slope_p = [1, 0], or by = \"motor\"");
      if (!sideways && w.legs == 2)
        error("by", "rack_pair", "a pinion runs two beams out opposite ways; these two run out the same way.",
              "swing = \"sideways\", legs = 4, or by = \"motor\"");
      if (w.leg_beams != 1) error("leg_beams", "rack_beams", "a rack lies on one beam.", "leave it out");
    }
    if (w.by != RunBy::hand && function.wants.find("hand_n") != nullptr) {
      error("hand_n", "hand_on_motor", "hand_n belongs to a beam that is moved by hand.", "by = \"hand\"");
    }
    if (w.by != RunBy::rack && function.wants.find("offset_p") != nullptr)
      error("offset_p", "rack_only", "offset_p belongs to a beam with a rack.", "by = \"rack\"");
    read_slope(w, brief, function.wants.find("guide_p") != nullptr, error);
  } else {
    for (const std::string_view key : {"slope_p", "guide_p", "by", "hand_n", "offset_p"}) {
      if (function.wants.find(key) != nullptr)
        error(key, "slides_only", fmt::format("{} belongs to a leg that slides.", key), "way = \"slides\"");
    }
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::stabiliser
