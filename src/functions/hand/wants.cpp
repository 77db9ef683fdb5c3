#include "functions/hand/wants.h"

#include <fmt/format.h>

#include <string_view>
#include <vector>

#include "base/text.h"
#include "document/fields.h"
#include "functions/drive/wants_reader.h"

namespace functions::hand {
namespace {

const document::FieldTable<Wants>& table() {
  using document::FieldTable;
  using lattice::Axis;
  static const FieldTable<Wants> kTable =
      FieldTable<Wants>("hand")
          .choice("device", &Wants::device,
                  {{"knob", Device::knob}, {"pusher", Device::pusher}, {"latch", Device::latch}},
                  {.doc = "knob: a wheel turned by fingers, with a train behind it; pusher: an axle that reaches a "
                          "switch inside; latch: a pin that is drawn",
                   .default_text = "\"knob\""})
          .number("finger_n", &Wants::finger_n,
                  {.unit = "N",
                   .low = 0.5,
                   .high = 50,
                   .doc = "force of a finger, at a knob's rim or on a pusher",
                   .default_text = "8"})
          .number("torque_nmm", &Wants::torque_nmm,
                  {.unit = "N mm", .low = 0.1, .high = 100000, .doc = "knob: torque at the driven shaft"})
          .number("turn_deg", &Wants::turn_deg,
                  {.unit = "deg",
                   .low = 1,
                   .high = 36000,
                   .doc = "knob: turn of the driven shaft from end to end",
                   .default_text = "360"})
          .number("most_turns", &Wants::most_turns,
                  {.low = 0.05, .high = 1000, .doc = "knob: turns of the knob for it, at most", .default_text = "10"})
          .text("knob", &Wants::knob, {.doc = "knob: part class of the wheel that fingers turn; left out = any"})
          .boolean("hold", &Wants::hold, {.doc = "knob: the load must not turn it back", .default_text = "false"})
          .choice("axis", &Wants::axis, {{"x", Axis::x}, {"y", Axis::y}, {"z", Axis::z}},
                  {.doc = "knob: along which the driven shaft runs", .default_text = "\"y\""})
          .range("at_mm", &Wants::at_mm,
                 {.unit = "mm",
                  .low = -3000,
                  .high = 3000,
                  .doc = "knob: x and z of the driven shaft's load, machine frame",
                  .default_text = "[0, 0]"})
          .number("at_y_mm", &Wants::at_y_mm,
                  {.unit = "mm", .low = -3000, .high = 3000, .doc = "knob: its y", .default_text = "0"})
          .text("moves", &Wants::moves,
                {.doc = "knob: id of the body whose joint the driven shaft is, for the load chart; left out = none"})
          .integer("most_stages", &Wants::most_stages,
                   {.low = 1,
                    .high = 4,
                    .doc = "knob: most meshes behind it",
                    .default_text = "2, and up to 4 when no shorter train meets every want"})
          .number("reach_mm", &Wants::reach_mm,
                  {.unit = "mm", .low = 1, .high = 1000, .doc = "pusher: from the model's skin to the switch at rest"})
          .number("stroke_mm", &Wants::stroke_mm,
                  {.unit = "mm", .low = 0.1, .high = 50, .doc = "pusher: stroke of the switch", .default_text = "3"})
          .number("press_n", &Wants::press_n,
                  {.unit = "N",
                   .low = 0.1,
                   .high = 50,
                   .doc = "pusher: force that the switch asks for",
                   .default_text = "4"})
          .number("load_n", &Wants::load_n,
                  {.unit = "N", .low = 0, .high = 1000, .doc = "latch: force across its pin", .default_text = "0"})
          .number("grip_p", &Wants::grip_p,
                  {.unit = "p",
                   .low = 1,
                   .high = 12,
                   .doc = "latch: thickness that the pin holds together",
                   .default_text = "2"});
  return kTable;
}

constexpr std::string_view kKnobKeys[] = {"torque_nmm", "turn_deg", "most_turns", "knob",        "hold",
                                          "axis",       "at_mm",    "at_y_mm",    "most_stages", "moves"};
constexpr std::string_view kPusherKeys[] = {"reach_mm", "stroke_mm", "press_n"};
constexpr std::string_view kLatchKeys[] = {"load_n", "grip_p"};

}  // namespace

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& fn, const brief::Brief& brief,
                                             document::Diagnostics& diagnostics) {
  document::Diagnostics own;
  auto wants = std::make_shared<Wants>();
  table().read(fn.wants, *wants, own);
  const drive::WantsErrors error(fn, own);
  const auto foreign = [&](auto&& keys, Device owner, std::string_view name) {
    if (wants->device == owner) return;
    for (const std::string_view key : keys) {
      if (fn.wants.find(key))
        error("other_device", key, fmt::format("{} belongs to a {}", key, name), fmt::format("device = \"{}\"", name));
    }
  };
  if (!own.has_errors()) {
    foreign(kKnobKeys, Device::knob, "knob");
    foreign(kPusherKeys, Device::pusher, "pusher");
    foreign(kLatchKeys, Device::latch, "latch");
    if (wants->device == Device::knob && !fn.wants.find("torque_nmm"))
      error("no_torque", "device", "a knob needs the torque of what it turns", "torque_nmm = 50");
    if (wants->device == Device::pusher && !fn.wants.find("reach_mm"))
      error("no_reach", "device", "a pusher needs the way to its switch", "reach_mm = 40");
    if (!wants->moves.empty() && !own.has_errors()) {
      wants->moved = drive::find_body(fn, brief, "moves", wants->moves, own);
      if (wants->moved >= 0 &&
          brief.bodies[static_cast<std::size_t>(wants->moved)].joint.type == brief::Joint::Type::fixed)
        error("body_is_fixed", "moves", fmt::format("body \"{}\" does not turn", wants->moves),
              "give it joint = { type = \"pitch\", ... } or \"slew\", or leave moves out");
    }
    if (!wants->knob.empty() && !own.has_errors())
      static_cast<void>(drive::find_class(fn, brief, "knob", wants->knob, stock::Family::wheel, own));
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::hand
