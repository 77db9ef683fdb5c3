#include "functions/spin/wants.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "base/text.h"
#include "document/fields.h"

namespace functions::spin {
namespace {

const document::FieldTable<Output>& output_table() {
  using document::FieldTable;
  static const FieldTable<Output> kTable = [] {
    FieldTable<Output> t("spin");
    t.text("name", &Output::name, {.doc = "the user's name of this output, \"fan\""}).required();
    t.range("ratio", &Output::ratio,
            {.low = 1e-4, .high = 1e3, .doc = "output speed / motor speed, lowest and highest; or rpm"});
    t.range("rpm", &Output::rpm,
            {.unit = "rpm", .low = 0.01, .high = 10000, .doc = "lowest and highest speed of the output; or ratio"});
    t.choice("turns", &Output::turns, {{"any", Turns::any}, {"same", Turns::same}, {"opposite", Turns::opposite}},
             {.doc = "sense of rotation against the motor's", .default_text = "\"any\""});
    t.triple("friction_nmm", &Output::friction_nmm,
             {.unit = "N mm",
              .low = 0,
              .high = 1000,
              .doc = "torque the turning part and its bearings take",
              .default_text = "{ low = 2, nominal = 5, high = 12 }"});
    t.point3("at_p", &Output::at_p,
             {.unit = "p",
              .low = -1000,
              .high = 1000,
              .doc = "where its shaft comes out, on the lattice of the body that carries the drive",
              .default_text = "anywhere on the upper, left or front face of the room"});
    t.choice("axis", &Output::axis, {{"x", lattice::Axis::x}, {"y", lattice::Axis::y}, {"z", lattice::Axis::z}},
             {.doc = "direction of its shaft, with at_p", .default_text = "\"z\""});
    t.text("carries", &Output::carries, {.doc = "part class on the output's axle, taken from the stock"});
    return t;
  }();
  return kTable;
}

const document::FieldTable<Wants>& table() {
  using document::FieldTable;
  static const FieldTable<Wants> kTable = [] {
    FieldTable<Wants> t("spin");
    t.tables("outputs", &Wants::outputs, output_table(), {.doc = "what turns: fans, drums, drills, faces"}).required();
    t.integer("most_stages", &Wants::most_stages,
              {.low = 1, .high = 3, .doc = "most meshes between the motor and an output", .default_text = "2"});
    t.boolean("shared_stage", &Wants::shared_stage,
              {.doc = "outputs may share the first stage", .default_text = "true"});
    t.number("sticking", &Wants::sticking,
             {.low = 1,
              .high = 5,
              .doc = "torque to break loose / torque to keep turning (invented default)",
              .default_text = "1.5"});
    return t;
  }();
  return kTable;
}

struct Place {
  document::Location where;
  std::string path;
};
Place place_of(const document::Node& table, std::string_view key, const document::Location& fallback) {
  if (const document::Node* node = table.find(key)) return {node->where, node->path};
  return {table.where.line > 0 ? table.where : fallback, table.path};
}

void check_output(const document::Node& node, const Output& output, const brief::Function& fn,
                  const brief::Brief& brief, std::set<std::string>& names, document::Diagnostics& diagnostics) {
  const bool ratio = node.find("ratio") != nullptr, rpm = node.find("rpm") != nullptr;
  if (ratio == rpm) {
    const Place place = place_of(node, ratio ? "ratio" : "", fn.where);
    diagnostics.error("spin.speed", place.where, place.path,
                      ratio ? "ratio and rpm both ask for a speed" : "neither ratio nor rpm asks for a speed",
                      ratio ? "leave one of them out" : "ratio = [0.2, 0.5], or rpm = [20, 60]");
  }
  if (!output.name.empty() && !names.insert(output.name).second) {
    const Place place = place_of(node, "name", fn.where);
    diagnostics.error("spin.duplicate_name", place.where, place.path,
                      fmt::format("two outputs are called {}", document::quoted(output.name)),
                      "give each output a name of its own");
  }
  if (!output.carries.empty() && !brief.catalogue->find(output.carries)) {
    std::vector<std::string> known;
    for (const stock::PartClass& c : brief.catalogue->classes) known.push_back(c.id);
    const std::optional<std::string> near = base::nearest_name(output.carries, known);
    const Place place = place_of(node, "carries", fn.where);
    diagnostics.error(
        "spin.unknown_part", place.where, place.path,
        fmt::format("{} is not a part class of kit system {}", document::quoted(output.carries), brief.system().id),
        near ? fmt::format("\"{}\"", *near) : "");
  }
}

}  // namespace

std::vector<document::FieldDoc> fields() {
  return table().docs();
}

std::shared_ptr<const candidate::Wants> read(const brief::Function& fn, const brief::Brief& brief,
                                             document::Diagnostics& diagnostics) {
  constexpr std::size_t kMostOutputs = 8;
  document::Diagnostics own;
  auto wants = std::make_shared<Wants>();
  table().read(fn.wants, *wants, own);
  const document::Node* outputs = fn.wants.find("outputs");
  if (outputs != nullptr && outputs->kind == document::Node::Kind::array) {
    if (outputs->items.empty() || outputs->items.size() > kMostOutputs) {
      own.error(
          "spin.outputs", outputs->where, outputs->path,
          fmt::format("{} outputs; from 1 to {} can turn on one motor", outputs->items.size(), kMostOutputs),
          outputs->items.empty() ? "[[functions.wants.outputs]] with name and ratio" : "split them into two functions");
    }
    std::set<std::string> names;
    for (std::size_t i = 0; i < std::min(outputs->items.size(), wants->outputs.size()); ++i)
      check_output(outputs->items[i], wants->outputs[i], fn, brief, names, own);
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::spin
