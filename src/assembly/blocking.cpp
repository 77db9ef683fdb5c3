#include "assembly/blocking.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

namespace assembly {
namespace {

using lattice::Axis;
using lattice::Way;
using Role = routing::PlacedSolid::Role;

/// Meshing teeth come straight apart within the pressure angle of the line of centres: there the flanks at the pitch
/// point lean no more than the motion does. ISO 21771: 20 deg.
const double kPartingCosine = std::cos(20 * std::numbers::pi / 180);

std::size_t at(Axis a) {
  return static_cast<std::size_t>(lattice::index(a));
}

/// Whether a slab on its way out passes through one that stands: their shadows along the way overlap and it does not
/// lie wholly behind.
bool meets(const Slab& moving, const Slab& standing, Way way) {
  for (const Axis a : lattice::kAxes) {
    if (a == way.axis) continue;
    if (std::min(moving.high_hp[at(a)], standing.high_hp[at(a)]) -
            std::max(moving.low_hp[at(a)], standing.low_hp[at(a)]) <=
        kTouchHp)
      return false;
  }
  const std::size_t w = at(way.axis);
  return way.sign > 0 ? standing.high_hp[w] > moving.low_hp[w] + kTouchHp
                      : standing.low_hp[w] < moving.high_hp[w] - kTouchHp;
}

bool meets(const PieceSolid& moving, const PieceSolid& standing, Way way) {
  if (!meets(moving.hull, standing.hull, way)) return false;
  for (const Slab& a : moving.slabs) {
    if (!meets(a, standing.hull, way)) continue;
    for (const Slab& b : standing.slabs) {
      if (meets(a, b, way)) return true;
    }
  }
  return false;
}

/// An axle goes through everything that has a bore on its line, and what has a bore goes along it.
bool slides_through(const PieceSolid& a, const PieceSolid& b, Way way) {
  const auto bored = [](Role r) {
    return r == Role::wheel || r == Role::bush || r == Role::bearing || r == Role::attachment;
  };
  return way.axis == a.axis && a.axis == b.axis && a.at == b.at &&
         ((a.role == Role::axle && bored(b.role)) || (b.role == Role::axle && bored(a.role)));
}

/// Where the middle of a wheel stands, by axis.
std::array<double, 3> middle_of(const Piece& p) {
  std::array<double, 3> m{};
  m[at(p.axis)] = (p.from_hp + p.to_hp) / 2;
  m[at(lattice::u_axis(p.axis))] = p.at.u_hp;
  m[at(lattice::v_axis(p.axis))] = p.at.v_hp;
  return m;
}

/// Whether the wheel `a` may leave the wheel `b` that it meshes with along a way.
bool parts(const Piece& a, const Piece& b, routing::PairType type, bool a_drives, Way way) {
  const std::array<double, 3> ma = middle_of(a), mb = middle_of(b);
  const auto apart = [&](Axis axis) { return (ma[at(axis)] - mb[at(axis)]) * way.sign; };
  switch (type) {
    case routing::PairType::ring_inner:
      return way.axis == a.axis;
    case routing::PairType::spur:
    case routing::PairType::ring_outer: {
      if (way.axis == a.axis) return true;
      const double du = apart(lattice::u_axis(a.axis)), dv = apart(lattice::v_axis(a.axis));
      return apart(way.axis) >= kPartingCosine * std::hypot(du, dv) - kTouchHp;
    }
    case routing::PairType::bevel:
    case routing::PairType::crown:
      // The shafts meet; each wheel draws back along its own shaft, away from the other's.
      return way.axis != lattice::other(a.axis, b.axis) && apart(way.axis) > 0;
    case routing::PairType::worm: {
      const Axis wheel = a_drives ? b.axis : a.axis, across = lattice::other(a.axis, b.axis);
      return way.axis == wheel || (way.axis == across && apart(across) > 0);
    }
  }
  return false;
}

}  // namespace

Blocking blocking_of(const Assembly& assembly) {
  const std::size_t count = assembly.pieces.size();
  // What is special between two pieces, by pair.
  std::vector<std::vector<const MeshParting*>> mesh(count, std::vector<const MeshParting*>(count, nullptr));
  std::vector<std::vector<const TerminalHold*>> hold(count, std::vector<const TerminalHold*>(count, nullptr));
  for (const MeshParting& m : assembly.meshes) {
    mesh[static_cast<std::size_t>(m.driver)][static_cast<std::size_t>(m.driven)] = &m;
    mesh[static_cast<std::size_t>(m.driven)][static_cast<std::size_t>(m.driver)] = &m;
  }
  for (const TerminalHold& t : assembly.terminals) {
    hold[static_cast<std::size_t>(t.body)][static_cast<std::size_t>(t.axle)] = &t;
    hold[static_cast<std::size_t>(t.axle)][static_cast<std::size_t>(t.body)] = &t;
  }
  const auto blocked = [&](std::size_t i, std::size_t j, Way way) {
    if (const MeshParting* m = mesh[i][j]; m != nullptr) {
      return !parts(assembly.pieces[i], assembly.pieces[j], m->type, m->driver == static_cast<int>(i), way);
    }
    if (const TerminalHold* t = hold[i][j]; t != nullptr) {
      const int sign = t->axle == static_cast<int>(i) ? t->out.sign : -t->out.sign;
      return way.axis != t->out.axis || way.sign != sign;
    }
    for (const PieceSolid& a : assembly.solids[i]) {
      for (const PieceSolid& b : assembly.solids[j]) {
        if (!slides_through(a, b, way) && meets(a, b, way)) return true;
      }
    }
    return false;
  };
  Blocking out;
  for (std::size_t w = 0; w < lattice::kWays.size(); ++w) {
    out.blockers[w].resize(count);
    for (std::size_t i = 0; i < count; ++i) {
      for (std::size_t j = 0; j < count; ++j) {
        if (i != j && blocked(i, j, lattice::kWays[w])) out.blockers[w][i].push_back(static_cast<int>(j));
      }
    }
  }
  return out;
}

bool is_free(const Blocking& blocking, std::size_t way, const std::vector<int>& moved, const std::vector<char>& left) {
  return std::all_of(moved.begin(), moved.end(), [&](int i) {
    const std::vector<int>& in_way = blocking.blockers[way][static_cast<std::size_t>(i)];
    return std::all_of(in_way.begin(), in_way.end(), [&](int j) {
      return left[static_cast<std::size_t>(j)] == 0 || std::find(moved.begin(), moved.end(), j) != moved.end();
    });
  });
}

std::vector<std::vector<int>> closed_groups(const std::vector<std::vector<int>>& arrows) {
  const std::size_t n = arrows.size();
  std::vector<int> number(n, -1), low(n, 0), group(n, -1), stack;
  int next = 0;
  std::vector<std::vector<int>> groups;
  // Recursion is as deep as there are pieces: some dozens.
  const std::function<void(int)> visit = [&](int v) {
    const auto at_v = static_cast<std::size_t>(v);
    number[at_v] = low[at_v] = next++;
    stack.push_back(v);
    for (const int to : arrows[at_v]) {
      const auto at_to = static_cast<std::size_t>(to);
      if (number[at_to] < 0) visit(to);
      if (group[at_to] < 0) low[at_v] = std::min(low[at_v], low[at_to]);
    }
    if (low[at_v] != number[at_v]) return;
    std::vector<int> members;
    int taken = -1;
    while (taken != v) {
      taken = stack.back();
      stack.pop_back();
      group[static_cast<std::size_t>(taken)] = static_cast<int>(groups.size());
      members.push_back(taken);
    }
    std::sort(members.begin(), members.end());
    groups.push_back(std::move(members));
  };
  for (std::size_t v = 0; v < n; ++v) {
    if (number[v] < 0) visit(static_cast<int>(v));
  }
  std::vector<std::vector<int>> closed;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    const bool leaves = std::any_of(groups[g].begin(), groups[g].end(), [&](int v) {
      const std::vector<int>& to = arrows[static_cast<std::size_t>(v)];
      return std::any_of(to.begin(), to.end(),
                         [&](int t) { return group[static_cast<std::size_t>(t)] != static_cast<int>(g); });
    });
    if (!leaves) closed.push_back(groups[g]);
  }
  std::sort(closed.begin(), closed.end());
  return closed;
}

}  // namespace assembly
