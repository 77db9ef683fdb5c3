#include "functions/drive/route_kit.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/check.h"

namespace functions::drive {
namespace {

/// A bush fills a hole's square but for its rounded corners (common practice, no source).
constexpr double kBushRadius_p = 0.45;

routing::PairType type_of(gearing::MeshType t) {
  switch (t) {
    case gearing::MeshType::spur:
      return routing::PairType::spur;
    case gearing::MeshType::bevel:
      return routing::PairType::bevel;
    case gearing::MeshType::crown:
      return routing::PairType::crown;
    case gearing::MeshType::worm:
      return routing::PairType::worm;
    case gearing::MeshType::ring_outer:
      return routing::PairType::ring_outer;
    case gearing::MeshType::ring_inner:
      return routing::PairType::ring_inner;
  }
  return routing::PairType::spur;
}

routing::Wheel wheel_of(const stock::PartClass& part, const stock::KitSystem& system) {
  const double module_mm = system.module_mm, addendum_mm = system.addendum * module_mm;
  routing::Wheel w;
  w.name = part.name;
  if (const auto* gear = std::get_if<stock::Gear>(&part.data)) {
    const bool worm = gear->form == stock::GearForm::worm;
    w.teeth = gear->teeth;
    w.pitch_radius_mm = worm ? gear->pitch_diameter_mm / 2 : module_mm * gear->teeth / 2;
    w.outer_radius_mm = w.pitch_radius_mm + addendum_mm;
    w.face_mm = gear->face_width_mm;
    w.sided = gear->form == stock::GearForm::crown;
  } else {
    const auto& ring = std::get<stock::Ring>(part.data);
    w.ring = true;
    w.teeth = ring.outer_teeth > 0 ? ring.outer_teeth : ring.inner_teeth;
    w.pitch_radius_mm = module_mm * w.teeth / 2;
    // Teeth inside only: a rim of two modules behind their roots (invented).
    w.outer_radius_mm =
        ring.outer_teeth > 0 ? w.pitch_radius_mm + addendum_mm : w.pitch_radius_mm + (system.dedendum + 2) * module_mm;
    if (ring.inner_teeth > 0 && ring.outer_teeth > 0) w.inner_pitch_radius_mm = module_mm * ring.inner_teeth / 2;
    if (ring.inner_teeth > 0) w.open_radius_mm = module_mm * ring.inner_teeth / 2 - addendum_mm;
    w.face_mm = ring.face_width_mm;
  }
  w.width_hp = std::max(1, static_cast<int>(std::ceil(w.face_mm / (system.pitch_mm / 2) - 1e-9)));
  return w;
}

/// Half-length bushes serve wherever full ones do. Only a stock without any half-length one uses the others.
int bush_slots(const brief::Brief& brief, const brief::Function& function) {
  const auto in_stock = [&](const std::vector<stock::ClassId>& ids) {
    return std::any_of(ids.begin(), ids.end(),
                       [&](stock::ClassId id) { return brief.stock->count_of(id) > 0 && allowed(function, id); });
  };
  const stock::Catalogue& catalogue = *brief.catalogue;
  return !in_stock(bushes_of(catalogue, 1)) && in_stock(bushes_of(catalogue, 2)) ? 2 : 1;
}

/// Length of a rigid joiner that the function may use; 0 = not one.
int slots_of_joiner(const brief::Brief& brief, const brief::Function& function, stock::ClassId id) {
  const auto* sleeve = std::get_if<stock::Bush>(&brief.catalogue->at(id).data);
  return sleeve == nullptr || !allowed(function, id) ? 0 : static_cast<int>(std::ceil(2 * sleeve->length_p - 1e-9));
}

}  // namespace

int joiner_slots(const brief::Brief& brief, const brief::Function& function) {
  int least_hp = 0;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::joiner)) {
    const int slots = slots_of_joiner(brief, function, id);
    if (slots > 0 && brief.stock->count_of(id) > 0 && (least_hp == 0 || slots < least_hp)) least_hp = slots;
  }
  return least_hp;
}

std::vector<stock::ClassId> joiners_of(const brief::Brief& brief, const brief::Function& function, int slots) {
  std::vector<stock::ClassId> out;
  if (slots == 0) return out;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::joiner))
    if (slots_of_joiner(brief, function, id) == slots) out.push_back(id);
  return out;
}

std::vector<stock::ClassId> bushes_of(const stock::Catalogue& catalogue, int slots) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : catalogue.of(stock::Family::bush)) {
    const auto* bush = std::get_if<stock::Bush>(&catalogue.at(id).data);
    if (bush != nullptr && bush->length_p > 0.5 * (slots - 1) && bush->length_p <= 0.5 * slots) out.push_back(id);
  }
  return out;
}

routing::Kit route_kit(const brief::Brief& brief, const brief::Function& function, const gearing::MeshTable& table,
                       std::span<const gearing::GearStock> gears, int copies) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  const stock::KitSystem& system = catalogue.system;
  routing::Kit kit;
  kit.pitch_mm = system.pitch_mm;
  kit.addendum_mm = system.addendum * system.module_mm;
  kit.axle_radius_mm = system.axle.width_mm / 2;
  kit.bush_radius_mm = kBushRadius_p * system.pitch_mm;
  kit.bush_hp = bush_slots(brief, function);
  kit.clearance_mm = kClearance_mm;
  kit.copies = copies;
  std::map<stock::ClassId, int> wheel;
  for (const gearing::GearStock& g : gears) {
    wheel.emplace(g.part, static_cast<int>(kit.wheels.size()));
    routing::Wheel w = wheel_of(catalogue.at(g.part), system);
    w.id = stock::index(g.part);
    w.count = g.count;
    kit.wheels.push_back(std::move(w));
  }
  for (std::size_t i = 0; i < table.meshes.size(); ++i) {
    const gearing::Mesh& m = table.meshes[i];
    routing::Pair pair{wheel.at(m.driver), wheel.at(m.driven), type_of(m.type), m.ratio, {}};
    if (m.centre_distance_mm > 0) {
      for (const lattice::Offset& o : table.offsets[i]) {
        pair.offsets.push_back(
            {o.dx_hp, o.dz_hp, static_cast<int>(std::lround(std::fabs(o.distance_mm - m.centre_distance_mm) * 1000))});
      }
    }
    kit.pairs.push_back(std::move(pair));
  }
  std::map<int, routing::AxleStock> axles;  // by length
  for (const stock::ClassId id : catalogue.of(stock::Family::axle)) {
    const auto* axle = std::get_if<stock::Axle>(&catalogue.at(id).data);
    const int count = brief.stock->count_of(id);
    if (axle == nullptr || count == 0 || !allowed(function, id)) continue;
    routing::AxleStock& entry =
        axles.try_emplace(axle->length_p, routing::AxleStock{stock::index(id), axle->length_p, 0}).first->second;
    entry.count += count;
  }
  for (const auto& [length_p, entry] : axles) kit.axles.push_back(entry);
  kit.joiner_hp = joiner_slots(brief, function);
  for (const stock::ClassId id : joiners_of(brief, function, kit.joiner_hp)) kit.joiners += brief.stock->count_of(id);
  return kit;
}

std::vector<int> pairs_of(const gearing::Train& train, const gearing::MeshTable& table) {
  std::vector<int> out;
  for (const gearing::Stage& s : train.stages) {
    const int at = table.find(s.driver, s.driven, s.type);
    KW_CHECK(at >= 0, "a train is made of meshes of its table");
    out.push_back(at);
  }
  return out;
}

routing::Box3 motor_box(const stock::PartClass& part, routing::Axis axis, routing::Point3 face, int direction,
                        bool turned) {
  const auto& motor = std::get<stock::Motor>(part.data);
  const routing::Axis u = lattice::u_axis(axis), v = lattice::v_axis(axis);
  // A hole pitch is two half-pitches, so a body w pitches wide reaches w half-pitches either side of its shaft.
  const int half_u_hp = turned ? motor.height_p : motor.width_p;
  const int half_v_hp = turned ? motor.width_p : motor.height_p;
  const int length_hp = 2 * motor.length_p;
  routing::Box3 box{face, face};
  box.low.set(u, face.at(u) - half_u_hp);
  box.high.set(u, face.at(u) + half_u_hp);
  box.low.set(v, face.at(v) - half_v_hp);
  box.high.set(v, face.at(v) + half_v_hp);
  if (direction > 0) {
    box.low.set(axis, face.at(axis) - length_hp);
  } else {
    box.high.set(axis, face.at(axis) + length_hp);
  }
  return box;
}

routing::Terminal motor_body(const stock::PartClass& part, routing::Axis axis, routing::Point3 face, int direction,
                             bool turned) {
  return {axis, face, direction, kInsert_hp, {motor_box(part, axis, face, direction, turned)}, part.name};
}

}  // namespace functions::drive
