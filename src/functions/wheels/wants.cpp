#include "functions/wheels/wants.h"

#include <fmt/format.h>

#include <numbers>

#include "document/fields.h"
#include "functions/drive/wants_reader.h"

namespace functions::wheels {
namespace {

const document::FieldTable<Wants>& table() {
  using document::FieldTable;
  static const FieldTable<Wants> kTable =
      FieldTable<Wants>("wheels")
          .number("speed_mm_s", &Wants::speed_mm_s,
                  {.unit = "mm/s", .low = 1, .high = 5000, .doc = "least speed on a level floor"})
          .required()
          .number("slope_deg", &Wants::slope_deg,
                  {.unit = "deg", .low = 0, .high = 60, .doc = "slope to climb straight up", .default_text = "10"})
          .number("step_mm", &Wants::step_mm,
                  {.unit = "mm", .low = 0.5, .high = 500, .doc = "height of a step to climb; left out = none"})
          .number("curve_radius_mm", &Wants::curve_radius_mm,
                  {.unit = "mm",
                   .low = 20,
                   .high = 20000,
                   .doc = "tightest curve to drive with the front axle steered; left out = straight on only"})
          .integer("axles", &Wants::axles,
                   {.low = 2, .high = 6, .doc = "axles, spread evenly over the wheelbase", .default_text = "2"})
          .integer("driven_axles", &Wants::driven_axles,
                   {.low = 1, .high = 6, .doc = "driven axles, each with a drive of its own", .default_text = "1"})
          .choice("driven_from", &Wants::driven_from, {{"rear", End::rear}, {"front", End::front}},
                  {.doc = "end from which the driven axles are counted", .default_text = "\"rear\""})
          .choice("split", &Wants::split,
                  {{"any", Split::any}, {"differential", Split::differential}, {"solid_axle", Split::solid_axle}},
                  {.doc = "how the torque gets to both wheels of an axle (sides = 2: every driven wheel has a drive of "
                          "its own)",
                   .default_text = "\"any\""})
          .choice("frame", &Wants::frame, {{"fixed", Frame::fixed}, {"rocking", Frame::rocking}},
                  {.doc = "fixed axles, or neighbouring axles in pairs on rocking bogies (3 or 4 axles)",
                   .default_text = "\"fixed\""})
          .number(
              "wheelbase_mm", &Wants::wheelbase_mm,
              {.unit = "mm", .low = 16, .high = 2000, .doc = "first to last axle; left out = the machine's support"})
          .number("track_mm", &Wants::track_mm,
                  {.unit = "mm",
                   .low = 16,
                   .high = 2000,
                   .doc = "between the middles of left and right tyres; left out = the machine's support"})
          .text("wheel", &Wants::wheel, {.doc = "part class of the wheel; left out = any"})
          .integer("most_stages", &Wants::most_stages,
                   {.low = 1,
                    .high = 4,
                    .doc = "most meshes between motor and axle",
                    .default_text = "2, and up to 4 when no shorter train meets every want"});
  return kTable;
}

using drive::Place;
using drive::place_of;

}  // namespace

Undercarriage undercarriage_of(const Wants& wants, double radius_mm) {
  Undercarriage u;
  u.radius_mm = radius_mm;
  u.frame = wants.frame;
  for (int i = 0; i < wants.axles; ++i) {
    u.axle_x_mm.push_back(-wants.base_mm / 2 + wants.base_mm * i / (wants.axles - 1));
    const int from_end = wants.driven_from == End::rear ? i : wants.axles - 1 - i;
    u.driven.push_back(from_end < wants.driven_axles);
  }
  return u;
}

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& fn, const brief::Brief& brief,
                                             document::Diagnostics& diagnostics) {
  document::Diagnostics own;
  auto wants = std::make_shared<Wants>();
  table().read(fn.wants, *wants, own);
  wants->slope_rad = wants->slope_deg * std::numbers::pi / 180;
  static_cast<void>(drive::find_class(fn, brief, "wheel", wants->wheel, stock::Family::wheel, own));
  const drive::WantsErrors error(fn, own);
  if (!own.has_errors()) {
    const bool rolls = brief.support.type == brief::Support::Type::wheels;
    const drive::Footprint ground = rolls ? drive::footprint(brief.support) : drive::Footprint{};
    wants->middle_x_mm = (ground.low_x_mm + ground.high_x_mm) / 2;
    wants->base_mm = wants->wheelbase_mm.value_or(ground.high_x_mm - ground.low_x_mm);
    wants->tread_mm = wants->track_mm.value_or(ground.high_y_mm - ground.low_y_mm);
    if (wants->base_mm <= 0)
      error("wheelbase_mm", "wheelbase_mm", "the wheelbase is not known: the machine's support has no wheels",
            "wheelbase_mm = 160, or support points of type \"wheels\"");
    if (wants->tread_mm <= 0)
      error("track_mm", "track_mm", "the track is not known: the machine's support has no wheels",
            "track_mm = 112, or support points of type \"wheels\"");
    if (wants->driven_axles > wants->axles)
      error("driven_axles", "driven_axles",
            fmt::format("{} driven axles of {} axles", wants->driven_axles, wants->axles),
            fmt::format("driven_axles = {}", wants->axles));
    if (wants->frame == Frame::rocking && wants->axles != 3 && wants->axles != 4)
      error("rocking", "frame", fmt::format("rocking bogies carry 3 or 4 axles, not {}", wants->axles),
            "frame = \"fixed\", or axles = 3");
    if (fn.sides == 2 && wants->split != Split::any) {
      const Place place = place_of(fn, "split");
      own.warning("wheels.split", place.where, place.path,
                  "with sides = 2 every driven wheel has a drive of its own, so nothing is split", "sides = 1");
    }
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::wheels
