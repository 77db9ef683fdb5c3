#include "functions/slide/wants.h"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "document/fields.h"
#include "functions/drive/wants_reader.h"

namespace functions::slide {
namespace {

const document::FieldTable<Wants>& table() {
  using document::FieldTable;
  using lattice::Axis;
  static const FieldTable<Wants> kTable =
      FieldTable<Wants>("slide")
          .number("travel_mm", &Wants::travel_mm,
                  {.unit = "mm", .low = 1, .high = 2000, .doc = "from run in to run out, at least"})
          .required()
          .number("load_g", &Wants::load_g,
                  {.unit = "g", .low = 0, .high = 20000, .doc = "mass of all that moves", .default_text = "0"})
          .number("lift_deg", &Wants::lift_deg,
                  {.unit = "deg",
                   .low = -90,
                   .high = 90,
                   .doc = "slope of the line, outward up; 90 = straight up",
                   .default_text = "0"})
          .number("push_n", &Wants::push_n,
                  {.unit = "N",
                   .low = 0,
                   .high = 500,
                   .doc = "force against the stage while it moves out",
                   .default_text = "0"})
          .number("time_s", &Wants::time_s,
                  {.unit = "s", .low = 0.1, .high = 600, .doc = "one way, at most; not by hand", .default_text = "6"})
          .boolean("hold", &Wants::hold,
                   {.doc = "load and push must not move it with the motor off", .default_text = "true"})
          .choice("by", &Wants::by,
                  {{"motor", By::motor}, {"screw", By::screw}, {"rack", By::rack}, {"hand", By::hand}},
                  {.doc = "motor: screw actuator or rack and pinion; hand: moved by hand and pinned",
                   .default_text = "\"motor\""})
          .choice("along", &Wants::along, {{"x", Axis::x}, {"y", Axis::y}, {"z", Axis::z}},
                  {.doc = "axis of the machine that the line follows; a slope is told by lift_deg alone",
                   .default_text = "\"x\""})
          .boolean("backward", &Wants::backward,
                   {.doc = "outward is towards smaller coordinates", .default_text = "false"})
          .range("at_mm", &Wants::at_mm,
                 {.unit = "mm",
                  .low = -3000,
                  .high = 3000,
                  .doc = "x and z of the actuator's foot or of the pinion, machine frame",
                  .default_text = "[0, 0]"})
          .number("at_y_mm", &Wants::at_y_mm,
                  {.unit = "mm", .low = -3000, .high = 3000, .doc = "its y", .default_text = "0"})
          .number("guide_p", &Wants::guide_p,
                  {.unit = "p",
                   .low = 1,
                   .high = 40,
                   .doc = "length of the bar that its sleeve holds, at every position",
                   .default_text = "5"})
          .number("overhang_mm", &Wants::overhang_mm,
                  {.unit = "mm",
                   .low = -1000,
                   .high = 2000,
                   .doc = "centre of the load beyond the sleeve's front when run in",
                   .default_text = "0"})
          .number("offset_p", &Wants::offset_p,
                  {.unit = "p",
                   .low = 0,
                   .high = 40,
                   .doc = "from the bar's middle to the line of what moves it, which tilts the bar in its sleeve",
                   .default_text = "2.5 by a screw actuator, 1 by a rack on the bar, 0 by hand"})
          .integer("positions", &Wants::positions,
                   {.low = 2, .high = 100, .doc = "by hand: pinned positions, at least", .default_text = "2"})
          .number(
              "hand_n", &Wants::hand_n,
              {.unit = "N", .low = 0.5, .high = 100, .doc = "by hand: force a hand pushes with", .default_text = "10"})
          .text("moves", &Wants::moves,
                {.doc = "body that it runs out, fixed to its parent otherwise: the load chart then shows its reaches"})
          .integer("most_stages", &Wants::most_stages,
                   {.low = 1,
                    .high = 4,
                    .doc = "most meshes between motor and actuator or pinion",
                    .default_text = "2, and up to 4 when no shorter train meets every want"});
  return kTable;
}

}  // namespace

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& fn, const brief::Brief& brief,
                                             document::Diagnostics& diagnostics) {
  document::Diagnostics own;
  auto wants = std::make_shared<Wants>();
  table().read(fn.wants, *wants, own);
  wants->lift_rad = wants->lift_deg * std::numbers::pi / 180;
  const drive::WantsErrors error(fn, own);
  if (!own.has_errors() && !wants->moves.empty()) {
    wants->moved_body = drive::find_body(fn, brief, "moves", wants->moves, own);
    if (wants->moved_body == 0)
      error("moves_chassis", "moves", "a slide is on the machine and cannot run its chassis out",
            "a body that hangs on it");
    else if (wants->moved_body > 0 &&
             brief.bodies[static_cast<std::size_t>(wants->moved_body)].joint.type != brief::Joint::Type::fixed)
      error("moves_joint", "moves",
            fmt::format("\"{}\" turns on a joint of its own; what slides is fixed otherwise", wants->moves),
            "a body of its own for the sliding part, with what turns on it");
  }
  if (!own.has_errors()) {
    if (wants->by == By::hand) {
      for (const std::string_view key : {"time_s", "most_stages"}) {
        if (fn.wants.find(key))
          error("motor_on_hand", key, fmt::format("{} belongs to a motor, but by = \"hand\"", key), "by = \"motor\"");
      }
      const double pitch_mm = brief.system().pitch_mm;
      const int offered = static_cast<int>(std::ceil(wants->travel_mm / pitch_mm - 1e-9)) + 1;
      if (wants->positions > offered)
        error("positions", "positions",
              fmt::format("holes are {:.4g} mm apart, so {:.4g} mm of travel has {} positions, not {}", pitch_mm,
                          wants->travel_mm, offered, wants->positions),
              fmt::format("positions = {}, or a travel of {:.4g} mm", offered, (wants->positions - 1) * pitch_mm));
    } else {
      for (const std::string_view key : {"positions", "hand_n"}) {
        if (fn.wants.find(key))
          error("hand_on_motor", key, fmt::format("{} belongs to a slide moved by hand", key), "by = \"hand\"");
      }
    }
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::slide
