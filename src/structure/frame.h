// Space frames by the stiffness method: straight Euler-Bernoulli bars with Saint-Venant torsion, springy joints between
// nodes at one place, rigid offsets, loose ends, self weight; small displacements.
//
// Right-handed global axes; mm, N, N mm, rad, MPa. Six numbers belong to a node: x y z and the turns about x y z.
// A member's own axes: x from end a to end b, z towards `up`, y = z x x. Source: any text on matrix analysis of
// structures, e.g. Logan, A First Course in the Finite Element Method, chapter 5.
#pragma once

#include <array>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "structure/sections.h"

namespace structure {

using Vec3 = std::array<double, 3>;
using Six = std::array<double, 6>;  ///< displacement and turn (mm, rad) or force and moment (N, N mm)
using SixFlags = std::array<bool, 6>;

enum class Freedom { x, y, z, turn_x, turn_y, turn_z };
inline constexpr SixFlags kFixed{true, true, true, true, true, true};
inline constexpr SixFlags kHinged{true, true, true, false, false, false};

struct Material {
  double e_mpa = 0;
  double g_mpa = 0;
};

struct FrameNode {
  std::string name;
  Vec3 at_mm{};
  SixFlags held{};  ///< by the ground
};

struct FrameMember {
  std::string name;
  int a = 0, b = 0;  ///< nodes
  BarSection section;
  Material material;
  double mass_g_mm = 0;           ///< per mm of its elastic length; self weight
  Vec3 up{0, 0, 1};               ///< any vector that is not along the member
  Vec3 offset_a_mm{};             ///< from node a to the elastic end, rigid
  Vec3 offset_b_mm{};             ///< from node b
  SixFlags loose_a{}, loose_b{};  ///< in the member's own axes: what this end does not hand on
};

/// Two nodes at one place with springs between them, in axes whose x is `axis`; 0 = free. Radial stiffnesses of y and z
/// must be equal in pairs (the joint does not know where its y points).
struct FrameJoint {
  std::string name;
  int a = 0, b = 0;
  Vec3 axis{0, 1, 0};
  Six stiffness{};  ///< N/mm and N mm/rad: along the axis, across (twice), about the axis, tilt (twice)
};

struct Frame {
  std::vector<FrameNode> nodes;
  std::vector<FrameMember> members;
  std::vector<FrameJoint> joints;
};

/// What is wrong with a description, by name: nodes out of range, no length, `up` along the member, a section or
/// material that is not positive, ends so loose that the member moves by itself, joints between distant nodes.
[[nodiscard]] std::optional<std::string> fault(const Frame& frame);

struct NodeLoad {
  int node = 0;
  Six load{};
};
struct SpanLoad {
  int member = 0;
  Vec3 force_n_mm{};  ///< per mm of the elastic length, global axes
};
struct Loads {
  std::vector<NodeLoad> nodes;
  std::vector<SpanLoad> spans;
  Vec3 gravity_m_s2{};  ///< acts on mass_g_mm of every member
};

/// Displacements and forces of one load case.
struct FrameState {
  std::vector<Six> displacement;                  ///< per node
  std::vector<Six> reaction;                      ///< per node, of the ground on the frame; 0 where free
  std::vector<std::array<double, 12>> end_force;  ///< per member, on its ends a and b, own axes
  std::vector<Six> joint_force;                   ///< per joint, on b, own axes; also what each play is multiplied by
};

/// What a member adds to a displacement, by the way it gives.
struct MemberShare {
  double stretch = 0, twist = 0, bend_y = 0, bend_z = 0;
  [[nodiscard]] double sum() const { return stretch + twist + bend_y + bend_z; }
};

/// A frame that is not held: the shape it moves in without resistance, largest component 1.
struct Mechanism {
  int node = 0;  ///< that moves most
  Freedom freedom = Freedom::x;
  std::vector<Six> shape;
};

namespace internal {
struct FrameMatrices;
}

/// A frame with its stiffness matrix factored once; immutable, cheap to copy.
class FrameModel {
 public:
  /// KW_CHECK: no fault.
  explicit FrameModel(Frame frame);

  [[nodiscard]] const Frame& frame() const;
  /// Set when the frame can move without resistance; nothing can be solved then.
  [[nodiscard]] const std::optional<Mechanism>& mechanism() const;

  /// KW_CHECK on all of these: no mechanism, indices in range.
  [[nodiscard]] FrameState solve(const Loads& loads) const;
  /// A force of 1 N or a moment of 1 N mm at a node.
  [[nodiscard]] FrameState solve_unit(int node, Freedom freedom) const;
  /// No load, but b of a joint put off from a by `relative` (joint axes) before the springs act.
  [[nodiscard]] FrameState dislocate(int joint, const Six& relative) const;

  /// Unit-load method: the members' and joints' shares sum to the displacement at the unit load's place that `load`
  /// causes, sign included: q_unit' k q_load, which is the integral of m M/(E I) and its likes over the member.
  [[nodiscard]] MemberShare member_share(int member, const FrameState& unit, const FrameState& load) const;
  [[nodiscard]] double joint_share(int joint, const FrameState& unit, const FrameState& load) const;

  [[nodiscard]] const internal::FrameMatrices& matrices() const { return *matrices_; }

 private:
  std::shared_ptr<const internal::FrameMatrices> matrices_;
};

/// Every member cut into `parts` equal ones (loose ends and offsets stay at the outer ends): buckling needs it.
[[nodiscard]] Frame subdivided(const Frame& frame, int parts);

}  // namespace structure
