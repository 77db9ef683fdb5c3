#include "brief/body_tree.h"

#include <optional>
#include <utility>
#include <vector>

#include "base/check.h"

namespace brief {

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
