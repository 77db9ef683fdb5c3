#include "routing/sense.h"

namespace routing {
namespace {

int sign(double value) {
  return value > 0 ? 1 : value < 0 ? -1 : 0;
}

/// Coordinate of a wheel's line along an axis across its own, half-pitches.
int line_at(const PlacedWheel& w, Axis along) {
  return lattice::point(w.axis, w.at, 0).at(along);
}

double middle_hp(const PlacedWheel& w) {
  return (w.from_hp + w.to_hp) / 2;
}

/// +1 for a right-handed system of axes a, b and the third.
int handedness(Axis a, Axis b) {
  return (lattice::index(b) - lattice::index(a) + 3) % 3 == 1 ? 1 : -1;
}

int across_mesh(PairType type, const PlacedWheel& driver, const PlacedWheel& driven) {
  switch (type) {
    case PairType::spur:
    case PairType::ring_outer:
      return -1;
    case PairType::ring_inner:
      return 1;
    case PairType::bevel:
    case PairType::crown: {
      const int a = sign(middle_hp(driver) - line_at(driven, driver.axis));
      const int b = sign(middle_hp(driven) - line_at(driver, driven.axis));
      return -a * b;
    }
    case PairType::worm: {
      const Axis third = lattice::other(driver.axis, driven.axis);
      return sign(line_at(driven, third) - line_at(driver, third)) * handedness(driver.axis, driven.axis);
    }
  }
  return 0;
}

}  // namespace

std::vector<int> output_senses(const Problem& problem, const Layout& layout) {
  // Sense of every shaft, then of every ring; the meshes come from the input outwards.
  std::vector<int> shaft(layout.shafts.size(), 0), wheel(layout.wheels.size(), 0);
  for (std::size_t s = 0; s < layout.shafts.size(); ++s) {
    if (layout.shafts[s].input) shaft[s] = 1;
  }
  if (!shaft.empty()) shaft[0] = 1;
  for (const PlacedMesh& m : layout.meshes) {
    const PlacedWheel& driver = layout.wheels[static_cast<std::size_t>(m.driver)];
    const PlacedWheel& driven = layout.wheels[static_cast<std::size_t>(m.driven)];
    const int from =
        driver.shaft >= 0 ? shaft[static_cast<std::size_t>(driver.shaft)] : wheel[static_cast<std::size_t>(m.driver)];
    const int to = from * across_mesh(problem.kit.pairs[static_cast<std::size_t>(m.pair)].type, driver, driven);
    if (driven.shaft >= 0) {
      shaft[static_cast<std::size_t>(driven.shaft)] = to;
    } else {
      wheel[static_cast<std::size_t>(m.driven)] = to;
    }
  }
  std::vector<int> out(problem.outputs.size(), 0);
  for (std::size_t s = 0; s < layout.shafts.size(); ++s) {
    if (layout.shafts[s].output >= 0) out[static_cast<std::size_t>(layout.shafts[s].output)] = shaft[s];
  }
  for (std::size_t o = 0; o < out.size(); ++o) {
    if (o >= layout.place.size() || layout.place[o] < 0) continue;
    const Place& place = problem.outputs[o].places[static_cast<std::size_t>(layout.place[o])];
    if (place.ring < 0) continue;
    for (std::size_t w = 0; w < layout.wheels.size(); ++w) {
      if (layout.wheels[w].shaft < 0 && layout.wheels[w].wheel == place.ring) out[o] = wheel[w];
    }
  }
  return out;
}

}  // namespace routing
