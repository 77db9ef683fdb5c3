#include "functions/hoist/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "base/text.h"
#include "brief/body_tree.h"
#include "functions/drive/wants_reader.h"

namespace functions::hoist {
namespace {

using document::Diagnostics;
using document::FieldTable;
using document::Node;

/// Rope run assumed when neither the user nor the carrying body's size tells it. Invented; only the length of rope
/// needed depends on it.
constexpr double kGuessedRunMm = 200;

const FieldTable<Wants>& table() {
  static const FieldTable<Wants> built =
      FieldTable<Wants>("hoist")
          .number("load_g", &Wants::load_g,
                  {.unit = "g", .low = 1, .high = 50000, .doc = "Load on the hook, the hook itself not counted."})
          .required()
          .number("hook_travel_mm", &Wants::hook_travel_mm,
                  {.unit = "mm", .low = 1, .high = 20000, .doc = "Way of the hook from lowest to highest."})
          .required()
          .number("speed_mm_s", &Wants::speed_mm_s,
                  {.unit = "mm/s",
                   .low = 0.1,
                   .high = 5000,
                   .doc = "Least speed of the hook under load, at the slowest layer of the drum. Give this or time_s."})
          .number("time_s", &Wants::time_s,
                  {.unit = "s",
                   .low = 0.1,
                   .high = 3600,
                   .doc = "Longest time for the whole travel under load. Give this or speed_mm_s."})
          .range("falls", &Wants::falls,
                 {.low = 1,
                  .high = 4,
                  .doc = "Fewest and most parts of line carrying the hook; the search chooses.",
                  .default_text = "[1, 1]"})
          .integer("lead_sheaves", &Wants::lead_sheaves,
                   {.low = 0,
                    .high = 6,
                    .doc = "Fixed sheaves the rope passes before the first fall, such as one at the boom's tip.",
                    .default_text = "1"})
          .number("sheave_diameter_mm", &Wants::sheave_diameter_mm,
                  {.unit = "mm",
                   .low = 4,
                   .high = 300,
                   .doc = "Diameter on which the rope runs over the sheaves; small sheaves lose more in their pins.",
                   .default_text = "16"})
          .text("sheave_part", &Wants::sheave_part,
                {.doc = "Part class used as sheave, counted once for each. Left out: sheaves are not counted."})
          .number("rope_run_mm", &Wants::rope_run_mm,
                  {.unit = "mm",
                   .low = 0,
                   .high = 20000,
                   .doc = "Rope from the drum to where the falls hang.",
                   .default_text = "length of the body that carries the drum, or 200"})
          .number("dead_turns", &Wants::dead_turns,
                  {.low = 0,
                   .high = 20,
                   .doc = "Turns that stay on the drum when the hook is lowest (common practice).",
                   .default_text = "3"})
          .number("rope_safety", &Wants::rope_safety,
                  {.low = 1,
                   .high = 20,
                   .doc = "Breaking force of the rope over the pull while raising.",
                   .default_text = "3"})
          .text("hangs_on", &Wants::hangs_on,
                {.doc = "Body the falls hang from; it feels the load in the stance of the machine.",
                 .default_text = "the outermost body on the one that carries the drum"})
          .point3("hangs_at_mm", &Wants::hangs_at_mm,
                  {.unit = "mm",
                   .low = -5000,
                   .high = 5000,
                   .doc = "Point the falls hang from, machine frame, zero pose.",
                   .default_text = "far end of that body's envelope"})
          .point3("drum_at_p", &Wants::drum_at_p,
                  {.unit = "p",
                   .low = -1000,
                   .high = 1000,
                   .doc = "Middle of the drum on the lattice of the body that carries it; its shaft lies across the "
                          "machine.",
                   .default_text = "rear, middle or front of the room"})
          .integer("most_stages", &Wants::most_stages,
                   {.low = 0,
                    .high = 4,
                    .doc = "Most meshes between motor and drum; every train up to it is searched.",
                    .default_text = "2, and up to 4 when no shorter train meets every want"})
          .boolean("hold", &Wants::hold,
                   {.doc = "The load must not sink when the motor is off.", .default_text = "true"});
  return built;
}

std::optional<stock::ClassId> find_sheave(const std::string& id, const brief::Brief& brief, const Node& at,
                                          Diagnostics& diagnostics) {
  const std::optional<stock::ClassId> found = brief.catalogue->find(id);
  if (found) return found;
  std::vector<std::string> ids;
  for (const stock::PartClass& c : brief.catalogue->classes) ids.push_back(c.id);
  const auto near = base::nearest_name(id, ids);
  diagnostics.error(
      "hoist.unknown_part", at.where, at.path,
      fmt::format("{} is not a part class of kit system \"{}\".", document::quoted(id), brief.catalogue->system.id),
      near ? fmt::format("\"{}\"", *near) : "leave sheave_part out");
  return std::nullopt;
}

void resolve_hanging(const brief::Function& function, const brief::Brief& brief, std::size_t carrier, Wants& w,
                     Diagnostics& diagnostics) {
  int body = carrier < brief.bodies.size() ? brief::outermost_body(brief, static_cast<int>(carrier)) : 0;
  if (!w.hangs_on.empty()) body = drive::find_body(function, brief, "hangs_on", w.hangs_on, diagnostics);
  if (body < 0) return;
  w.hang_body = body;
  if (w.hangs_at_mm) {
    w.hang_mm = {(*w.hangs_at_mm)[0], (*w.hangs_at_mm)[1], (*w.hangs_at_mm)[2]};
  } else if (body < static_cast<int>(brief.bodies.size())) {
    w.hang_mm = brief::far_end_mm(brief.bodies[static_cast<std::size_t>(body)]);
  }
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
  const Node& all = function.wants;

  const Node* speed = all.find("speed_mm_s");
  const Node* time = all.find("time_s");
  if (speed == nullptr && time == nullptr) {
    own.error("hoist.no_speed", all.where, all.path, "how fast the hook shall rise is not said.",
              "give speed_mm_s, or time_s for the whole travel");
  } else if (speed != nullptr && time != nullptr) {
    own.error("hoist.two_speeds", time->where, time->path, "speed_mm_s and time_s are both given.", "keep one of them");
  }
  if (w.time_s && w.hook_travel_mm > 0) {
    w.wanted_speed_mm_s = w.hook_travel_mm / *w.time_s;
    w.wanted_as_time = true;
  } else if (w.speed_mm_s) {
    w.wanted_speed_mm_s = *w.speed_mm_s;
  }

  if (std::floor(w.falls[0]) != w.falls[0] || std::floor(w.falls[1]) != w.falls[1]) {
    const Node* falls = all.find("falls");
    own.error("hoist.falls", falls->where, falls->path, "parts of line are whole numbers.", "write falls = [1, 2]");
  } else {
    w.falls_low = static_cast<int>(w.falls[0]);
    w.falls_high = static_cast<int>(w.falls[1]);
  }

  if (!w.sheave_part.empty()) w.sheave = find_sheave(w.sheave_part, brief, *all.find("sheave_part"), own);

  const double axle_mm = brief.system().axle.width_mm;
  if (w.sheave_diameter_mm <= axle_mm) {
    const Node* at = all.find("sheave_diameter_mm");
    own.error("hoist.sheave", at != nullptr ? at->where : all.where, at != nullptr ? at->path : all.path,
              fmt::format("a sheave of {} mm is not larger than its axle, {} mm.", base::plain(w.sheave_diameter_mm),
                          base::plain(axle_mm)),
              "give the diameter the rope runs on");
  }

  const std::size_t carrier = function.body >= 0 ? static_cast<std::size_t>(function.body) : 0;
  const double carrier_mm = carrier < brief.bodies.size() ? brief.bodies[carrier].size_mm.x_mm : 0;
  w.run_is_guess = !w.rope_run_mm;
  w.run_mm = w.rope_run_mm ? *w.rope_run_mm : (carrier_mm > 0 ? carrier_mm : kGuessedRunMm);

  resolve_hanging(function, brief, carrier, w, own);

  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::hoist
