#include "functions/grip/wants.h"

#include <fmt/format.h>

#include "document/fields.h"
#include "functions/drive/wants_reader.h"

namespace functions::grip {
namespace {

const document::FieldTable<Wants>& table() {
  using document::FieldTable;
  static const FieldTable<drive::MountRegion> kRegion =
      drive::mount_region_fields("grip.crank_region", "towards the grip");
  static const FieldTable<Wants> kTable =
      FieldTable<Wants>("grip")
          .range("opening_mm", &Wants::opening_mm,
                 {.unit = "mm",
                  .low = 0,
                  .high = 1000,
                  .doc = "between the jaws where they grip, smallest and widest object"})
          .required()
          .number("force_n", &Wants::force_n,
                  {.unit = "N", .low = 0.01, .high = 500, .doc = "squeeze at every opening between them"})
          .required()
          .number("time_s", &Wants::time_s,
                  {.unit = "s",
                   .low = 0.1,
                   .high = 600,
                   .doc = "from open to closed without an object, at most",
                   .default_text = "3"})
          .boolean("hold", &Wants::hold, {.doc = "keeps its squeeze with the motor off", .default_text = "true"})
          .choice(
              "jaws", &Wants::jaws, {{"both", Jaws::both}, {"one", Jaws::one}},
              {.doc = "both jaws turn, joined by equal gears; or one against a fixed one", .default_text = "\"both\""})
          .integer(
              "jaw_p", &Wants::jaw_p,
              {.unit = "p", .low = 1, .high = 40, .doc = "from a jaw's pivot to where it grips", .default_text = "6"})
          .range("at_mm", &Wants::at_mm,
                 {.unit = "mm",
                  .low = -3000,
                  .high = 3000,
                  .doc = "x and z of the driven jaw's pivot, machine frame; jaws point forward",
                  .default_text = "[0, 0]"})
          .number("at_y_mm", &Wants::at_y_mm,
                  {.unit = "mm", .low = -3000, .high = 3000, .doc = "y of the jaws' plane", .default_text = "0"})
          .number("load_g", &Wants::load_g,
                  {.unit = "g",
                   .low = 0,
                   .high = 100000,
                   .doc = "mass of what the jaws carry, for the load chart and the balance",
                   .default_text = "0"})
          .table("crank_region_p", &Wants::crank_region_p, kRegion,
                 {.unit = "p",
                  .doc = "holes where the crank may have its pivot, from the driven jaw's pivot",
                  .default_text = "{ x = [-6, -1], z = [-3, 3] }"})
          .integer("longest_bar_p", &Wants::longest_bar_p,
                   {.unit = "p", .low = 1, .high = 16, .doc = "longest crank, coupler or rocker", .default_text = "6"})
          .number("transmission_deg", &Wants::transmission_deg,
                  {.unit = "deg",
                   .low = 5,
                   .high = 80,
                   .doc = "least transmission angle of the linkage",
                   .default_text = "35"})
          .integer("most_stages", &Wants::most_stages,
                   {.low = 1,
                    .high = 4,
                    .doc = "most meshes between motor and crank",
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
  const drive::WantsErrors error(fn, own);
  if (!own.has_errors()) {
    wants->crank_box = drive::box_of(wants->crank_region_p);
    const double most_mm = wants->jaw_p * brief.system().pitch_mm;
    if (wants->jaws == Jaws::one && wants->opening_mm[1] >= most_mm)
      error("jaw_too_short", "opening_mm",
            fmt::format("jaws of {} pitches open {:.4g} mm at most", wants->jaw_p, most_mm),
            fmt::format("jaw_p = {}", static_cast<int>(wants->opening_mm[1] / brief.system().pitch_mm) + 2));
    bool any = false;
    for (int x = wants->crank_box.low.x_hp; x <= wants->crank_box.high.x_hp; ++x)
      for (int z = wants->crank_box.low.z_hp; z <= wants->crank_box.high.z_hp; ++z)
        any = any || (x % 2 == 0 && z % 2 == 0 && (x != 0 || z != 0));
    if (!any)
      error("empty_region", "crank_region_p", "no hole lies in the crank's region",
            "crank_region_p = { x = [-6, -1], z = [-3, 3] }");
  }
  const bool good = !own.has_errors();
  diagnostics.add_all(own);
  return good ? wants : nullptr;
}

}  // namespace functions::grip
