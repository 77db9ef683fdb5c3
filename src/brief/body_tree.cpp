#include "brief/body_tree.h"

#include <algorithm>
#include <optional>
#include <utility>
#include <vector>

#include "base/check.h"

namespace brief {

int lattice_body(const std::vector<Body>& bodies, int body) {
  int at = std::max(body, 0);
  const auto body_at = [&](int i) -> const Body& { return bodies.at(static_cast<std::size_t>(i)); };
  while (at > 0 && body_at(at).joint.type == Joint::Type::fixed && body_at(at).parent >= 0) at = body_at(at).parent;
  return at;
}

Vec3 lattice_origin_mm(const std::vector<Body>& bodies, int lattice_body) {
  const Joint& joint = bodies.at(static_cast<std::size_t>(lattice_body)).joint;
  return lattice_body > 0 && joint.type != Joint::Type::fixed ? joint.pivot_mm : Vec3{};
}

bool hangs_on(const Brief& brief, int body, int root) {
  for (int b = body; b >= 0; b = brief.bodies[static_cast<std::size_t>(b)].parent)
    if (b == root) return true;
  return false;
}

int body_index(const Brief& brief, std::string_view id) {
  for (std::size_t i = 0; i < brief.bodies.size(); ++i)
    if (brief.bodies[i].id == id) return static_cast<int>(i);
  return -1;
}

int outermost_body(const Brief& brief, int from) {
  KW_CHECK(from >= 0 && from < static_cast<int>(brief.bodies.size()), "index of a body");
  using Reach = std::pair<int, int>;  // moving joints, bodies
  std::vector<std::optional<Reach>> reach(brief.bodies.size());
  std::size_t best = static_cast<std::size_t>(from);
  reach[best] = Reach{0, 0};
  for (std::size_t i = best + 1; i < brief.bodies.size(); ++i) {
    const int parent = brief.bodies[i].parent;
    if (parent < 0 || !reach[static_cast<std::size_t>(parent)]) continue;
    const auto [joints, bodies] = *reach[static_cast<std::size_t>(parent)];
    const bool moves = brief.bodies[i].joint.type != Joint::Type::fixed;
    reach[i] = Reach{joints + (moves ? 1 : 0), bodies + 1};
    if (*reach[i] > *reach[best]) best = i;
  }
  return static_cast<int>(best);
}

Vec3 far_end_mm(const Body& body) {
  const double forward = body.centre_mm.x_mm >= body.joint.pivot_mm.x_mm ? 1 : -1;
  return {body.centre_mm.x_mm + forward * body.size_mm.x_mm / 2, body.centre_mm.y_mm, body.centre_mm.z_mm};
}

}  // namespace brief
