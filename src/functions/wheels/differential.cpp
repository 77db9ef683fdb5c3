#include "functions/wheels/differential.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "functions/drive/drive.h"
#include "functions/drive/running.h"

namespace functions::wheels {
namespace {

/// Beams beside each wheel and beside the case that hold the half shafts, and pins for each (common practice, no
/// source).
constexpr int kBeamsAnAxle = 4;
constexpr int kPinsABeam = 2;
constexpr int kBushesAnAxle = 4;
/// A half shaft may be this much longer than needed.
constexpr int kShaftSlack_p = 1;

std::vector<stock::ClassId> shafts(const brief::Brief& brief, const brief::Function& fn, int least_p) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : drive::choices(brief, fn, stock::Family::axle, "")) {
    const auto* axle = std::get_if<stock::Axle>(&brief.catalogue->at(id).data);
    if (axle != nullptr && axle->length_p >= least_p && axle->length_p <= least_p + kShaftSlack_p) out.push_back(id);
  }
  return out;
}

}  // namespace

std::vector<Differential> differentials(const brief::Brief& brief, const brief::Function& fn, int count,
                                        double to_wheel_mm, candidate::RejectionLog& log) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  std::vector<Differential> out;
  const std::vector<stock::ClassId> cases = drive::choices(brief, fn, stock::Family::differential, "");
  if (cases.empty())
    log.add("wheels.no_differential", 1, "pieces",
            [] { return std::string("the kit system has no differential that this function may use"); });
  for (const stock::ClassId id : cases) {
    const auto* data = std::get_if<stock::Differential>(&catalogue.at(id).data);
    if (data == nullptr || data->outer_teeth <= 0) continue;
    if (!drive::in_stock(brief, fn, id, count, log, "too_few_differentials")) continue;
    Differential d{id, {}, data->inner_bevels, 0};
    int bevels = 0;
    for (const stock::ClassId gear : drive::choices(brief, fn, stock::Family::gear, "")) {
      const auto* bevel = std::get_if<stock::Gear>(&catalogue.at(gear).data);
      if (data->inner_bevels == 0 || bevel == nullptr || bevel->form != stock::GearForm::bevel ||
          bevel->teeth != data->inner_teeth)
        continue;
      d.bevel.push_back(gear);
      bevels += brief.stock->count_of(gear);
    }
    if (d.bevels > 0 && d.bevel.empty()) {
      log.add("wheels.no_bevel", data->inner_bevels, "pieces", [&] {
        return fmt::format("{} holds {} bevels of {} teeth, and the kit system has none that this function may use",
                           catalogue.at(id).name, data->inner_bevels, data->inner_teeth);
      });
      continue;
    }
    if (bevels < d.bevels * count) {
      log.add("wheels.too_few_bevels", d.bevels * count - bevels, "pieces", [&] {
        return fmt::format("{} bevels of {} teeth needed inside {}, the stock has {}", d.bevels * count,
                           data->inner_teeth, catalogue.at(id).name, bevels);
      });
      continue;
    }
    d.half_shaft_p = static_cast<int>(std::ceil(to_wheel_mm / brief.system().pitch_mm - 1e-9));
    int have = 0, longest_p = 0;
    for (const stock::ClassId axle : shafts(brief, fn, d.half_shaft_p)) have += brief.stock->count_of(axle);
    for (const stock::ClassId axle : drive::choices(brief, fn, stock::Family::axle, "")) {
      const auto* a = std::get_if<stock::Axle>(&catalogue.at(axle).data);
      if (a != nullptr && brief.stock->count_of(axle) > 0) longest_p = std::max(longest_p, a->length_p);
    }
    if (have < 2 * count) {
      log.add("wheels.half_shafts", 2 * count - have, "axles", [&] {
        return fmt::format(
            "{} half shafts of {} or {} pitches needed, the stock has {} (its longest axle is {} pitches)", 2 * count,
            d.half_shaft_p, d.half_shaft_p + kShaftSlack_p, have, longest_p);
      });
      continue;
    }
    out.push_back(d);
  }
  return out;
}

brief::Brief with_case_as_ring(const brief::Brief& brief, stock::ClassId part) {
  brief::Brief out = brief;
  stock::Catalogue catalogue = *brief.catalogue;
  stock::PartClass& c = catalogue.classes.at(static_cast<std::size_t>(stock::index(part)));
  const stock::Differential data = std::get<stock::Differential>(c.data);
  c.family = stock::Family::ring;
  c.data = stock::Ring{data.outer_teeth, 0, data.face_width_mm, 0};
  out.catalogue = std::make_shared<const stock::Catalogue>(std::move(catalogue));
  const auto at = [&](brief::Parameter p) -> stock::Figure& {
    return out.parameters.figure[static_cast<std::size_t>(p)];
  };
  at(brief::Parameter::ring_efficiency) = at(brief::Parameter::spur_efficiency);
  return out;
}

brief::Sample for_case(brief::Sample sample) {
  sample.value[static_cast<std::size_t>(brief::Parameter::ring_efficiency)] = sample[brief::Parameter::spur_efficiency];
  return sample;
}

void add_differential(const Differential& d, int count, const brief::Brief& brief, const brief::Function& fn,
                      candidate::Demand& demand) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  if (d.bevels > 0)
    drive::add_need(demand, d.bevel, d.bevels * count, catalogue.at(d.bevel.front()).name, "inside the differential");
  drive::add_need(demand, shafts(brief, fn, d.half_shaft_p), 2 * count,
                  fmt::format("axle, length {} to {}", d.half_shaft_p, d.half_shaft_p + kShaftSlack_p), "half shafts");
  drive::add_need(demand, drive::full_beams(brief, fn, 3, 7), kBeamsAnAxle * count, "beam, length 3 to 7",
                  "bearings of half shafts");
  drive::add_need(demand, catalogue.of(stock::Family::pin), kBeamsAnAxle * kPinsABeam * count, "pin", "fixing");
  drive::add_need(demand, catalogue.of(stock::Family::bush), kBushesAnAxle * count, "bush", "half shafts");
}

}  // namespace functions::wheels
