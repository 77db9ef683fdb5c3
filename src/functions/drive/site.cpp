#include "functions/drive/site.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "functions/drive/route_kit.h"
#include "lattice/sweep.h"
#include "routing/route.h"

namespace functions::drive {
namespace {

using lattice::Axis;
using lattice::Box3;
using lattice::Point3;

constexpr int kMostWalls = 3;    ///< each way from an output; further ones only lengthen axles
constexpr int kCrossBay_hp = 2;  ///< bays of the walls across the other axes, for shafts behind a right angle
constexpr int kWall_hp = 2;      ///< thickness of a beam

/// What a place takes along its axis before any wheel: [low, high], and which sides of it a wall may stand on.
struct Load {
  int low_hp = 0, high_hp = 0;
  bool below = true, above = true;
};

Load load_of(const routing::Place& p, const routing::Kit& kit) {
  if (p.ring >= 0) {
    // A thin rim leaves room for the widest wheel that drives it.
    int width_hp = kit.wheels.at(static_cast<std::size_t>(p.ring)).width_hp;
    for (const routing::Pair& pair : kit.pairs) {
      if (pair.driven == p.ring)
        width_hp = std::max(width_hp, kit.wheels.at(static_cast<std::size_t>(pair.driver)).width_hp);
    }
    return {p.ring_from_hp, p.ring_from_hp + width_hp};
  }
  if (p.terminal) {
    const int face_hp = p.terminal->face.at(p.axis);
    return {face_hp, face_hp, p.terminal->direction<0, p.terminal->direction> 0};
  }
  if (p.attachments.empty()) return {0, 0};
  Load out{p.attachments.front().from_hp, p.attachments.front().to_hp};
  for (const routing::Attachment& a : p.attachments) {
    out.low_hp = std::min(out.low_hp, a.from_hp);
    out.high_hp = std::max(out.high_hp, a.to_hp);
  }
  return out;
}

Box3 square(Axis axis, lattice::Cross at, int half_hp, int from_hp, int to_hp) {
  return {lattice::point(axis, {at.u_hp - half_hp, at.v_hp - half_hp}, from_hp),
          lattice::point(axis, {at.u_hp + half_hp, at.v_hp + half_hp}, to_hp)};
}

int half_hp(double radius_mm, const routing::Kit& kit) {
  return static_cast<int>(std::ceil((radius_mm + kit.clearance_mm) / kit.half_pitch_mm() - 1e-9));
}

/// Boxes that a place needs free beside the room.
void open_place(const routing::Place& p, const routing::Kit& kit, std::vector<Box3>& open) {
  const int axle_hp = half_hp(kit.axle_radius_mm, kit);
  if (p.ring >= 0) {
    const routing::Wheel& w = kit.wheels.at(static_cast<std::size_t>(p.ring));
    open.push_back(square(p.axis, p.at, half_hp(w.outer_radius_mm, kit), p.ring_from_hp, p.ring_from_hp + w.width_hp));
    return;
  }
  for (const routing::Attachment& a : p.attachments) {
    // An axle may end beyond what it carries by what its length has too much.
    open.push_back(square(p.axis, p.at, half_hp(a.radius_mm, kit), a.from_hp, a.to_hp));
    open.push_back(square(p.axis, p.at, axle_hp, a.from_hp - 2, a.to_hp + 2));
  }
}

/// Middles of walls beyond `from_hp`, outward, inside the room.
void walls_beyond(int from_hp, int way, int bay_hp, int limit_hp, std::vector<int>& walls) {
  int at = from_hp + way;
  for (int i = 0; i < kMostWalls && way * (limit_hp - at) >= 1; ++i, at += way * (bay_hp + kWall_hp))
    walls.push_back(at);
}

/// Walls across an axis: round the outputs' loads on their own axis, evenly round their lines across the others.
std::vector<int> walls_on(Axis axis, const Site& site, const routing::Kit& kit, WallStyle style) {
  std::vector<int> walls;
  const int low = site.room.low.at(axis), high = site.room.high.at(axis);
  for (const routing::Output& o : site.outputs) {
    for (const routing::Place& p : o.places) {
      if (p.axis != axis) continue;
      if (p.far_terminal) {
        // A cross shaft is held between its two ends.
        const int a = p.terminal->face.at(axis), b = p.far_terminal->face.at(axis);
        walls_beyond(std::min(a, b), 1, style.bay_hp, std::max(a, b), walls);
        walls_beyond(std::max(a, b), -1, style.bay_hp, std::min(a, b), walls);
        continue;
      }
      // A shaft with a load at each end is held between them.
      for (std::size_t i = 0; i + 1 < p.attachments.size(); ++i) {
        const int from_hp = p.attachments[i].to_hp, to_hp = p.attachments[i + 1].from_hp;
        walls_beyond(from_hp, 1, style.bay_hp, to_hp, walls);
        walls_beyond(to_hp, -1, style.bay_hp, from_hp, walls);
      }
      const Load load = load_of(p, kit);
      if (load.above) walls_beyond(load.high_hp, 1, style.bay_hp, high, walls);
      if (load.below) walls_beyond(load.low_hp, -1, style.bay_hp, low, walls);
    }
  }
  if (walls.empty()) {
    for (const routing::Place& p : site.outputs.front().places) {
      const int line = lattice::u_axis(p.axis) == axis ? p.at.u_hp : p.at.v_hp;
      walls_beyond(line + style.cross_hp, 1, kCrossBay_hp, high, walls);
      walls_beyond(line - style.cross_hp, -1, kCrossBay_hp, low, walls);
    }
  }
  std::sort(walls.begin(), walls.end());
  walls.erase(std::unique(walls.begin(), walls.end()), walls.end());
  // Walls of different places may come too close: the first of each group stays.
  std::vector<int> apart;
  for (const int w : walls) {
    if (w - 1 < low || w + 1 > high) continue;
    if (apart.empty() || w - apart.back() >= kWall_hp + 1) apart.push_back(w);
  }
  return apart;
}

/// Distance from a point's line along `axis` to the nearest output, for leaving out what no train can span.
bool within_reach(const Site& site, Axis axis, const Point3& face, int reach_hp) {
  for (const routing::Output& o : site.outputs) {
    for (const routing::Place& p : o.places) {
      std::int64_t d2 = 0;
      for (const Axis a : lattice::kAxes) {
        if (a == p.axis || a == axis) continue;  // lines run on along their own axes
        const int at = lattice::u_axis(p.axis) == a ? p.at.u_hp : p.at.v_hp;
        d2 += std::int64_t{face.at(a) - at} * (face.at(a) - at);
      }
      if (d2 <= std::int64_t{reach_hp} * reach_hp) return true;
    }
  }
  return false;
}

/// Lines of a room along an axis that a train can span from: within_reach() of each.
class Reachable {
 public:
  Reachable(const Site& site, Axis axis, int reach_hp)
      : low_(lattice::across(axis, site.room.low)), high_(lattice::across(axis, site.room.high)) {
    const auto rows = static_cast<std::size_t>(high_.v_hp - low_.v_hp + 1);
    yes_.resize(static_cast<std::size_t>(high_.u_hp - low_.u_hp + 1) * rows);
    std::size_t i = 0;
    for (int u = low_.u_hp; u <= high_.u_hp; ++u) {
      for (int v = low_.v_hp; v <= high_.v_hp; ++v)
        yes_[i++] = within_reach(site, axis, lattice::point(axis, {u, v}, 0), reach_hp) ? 1 : 0;
    }
  }
  /// Sets which lines of a field inside the room are free.
  void onto(routing::InputField& field) const {
    const int rows = high_.v_hp - low_.v_hp + 1;
    field.free.clear();
    for (int u = 0; u < field.columns; ++u) {
      const auto first = yes_.begin() + (field.low.u_hp + u - low_.u_hp) * rows + field.low.v_hp - low_.v_hp;
      field.free.insert(field.free.end(), first, first + field.rows);
    }
  }

 private:
  lattice::Cross low_, high_;
  std::vector<std::uint8_t> yes_;
};

}  // namespace

Site site_of(const brief::Brief& brief, const brief::Function& function, int body) {
  Site site;
  site.body = lattice_of(brief, body).body;
  Room room = room_of(brief, function, body);
  site.room = room.box;
  if (!room.note.empty()) site.notes.push_back(std::move(room.note));
  if (function.sides == 2) {
    site.room.low.y_hp = std::max(site.room.low.y_hp, 0);
    site.images = {{std::nullopt, 0, 0}};
  }
  for (const brief::TakenRoom& room_taken : brief.taken_room()) {
    if (room_taken.body != site.body) continue;
    Box3 taken = room_taken.box;
    site.keep_outs.push_back(taken);
    if (function.sides != 2) continue;
    // What is in the way of the other side is in the way of this one's mirror image.
    std::swap(taken.low.y_hp, taken.high.y_hp);
    taken.low.y_hp = -taken.low.y_hp;
    taken.high.y_hp = -taken.high.y_hp;
    site.keep_outs.push_back(taken);
  }
  return site;
}

routing::Place shaft_with(Axis axis, lattice::Cross at, int from_hp, int to_hp, double radius_mm, std::string name) {
  routing::Place place;
  place.axis = axis;
  place.at = at;
  place.attachments.push_back({from_hp, to_hp, radius_mm, std::move(name)});
  return place;
}

int slots_of(double length_mm, const stock::KitSystem& system) {
  return std::max(1, static_cast<int>(std::ceil(length_mm / (system.pitch_mm / 2) - 1e-9)));
}

int longest_offset_hp(const routing::Kit& kit) {
  double most_hp = 0;
  for (const routing::Pair& p : kit.pairs) {
    for (const routing::PairOffset& o : p.offsets) most_hp = std::max(most_hp, std::hypot(o.dx_hp, o.dz_hp));
  }
  return static_cast<int>(std::ceil(most_hp));
}

routing::Problem problem_of(const Site& site, const routing::Kit& kit, const stock::PartClass& motor, int motors,
                            WallStyle style, int most_stages, int reach_hp) {
  routing::Problem p;
  p.kit = kit;
  p.outputs = site.outputs;
  p.most_stages = std::clamp(most_stages, 1, routing::kMostStages);
  p.box = site.room;
  std::vector<Box3> open{site.room};
  for (const routing::Output& o : site.outputs) {
    for (const routing::Place& place : o.places) open_place(place, kit, open);
  }
  for (const Box3& b : open) p.box = hull_of(p.box, b);
  p.keep_outs = outside(p.box, open);
  p.keep_outs.insert(p.keep_outs.end(), site.keep_outs.begin(), site.keep_outs.end());
  for (const Axis a : lattice::kAxes)
    p.walls.at_hp[static_cast<std::size_t>(lattice::index(a))] = walls_on(a, site, kit, style);

  // Where an output has no place itself, motors need none.
  if (routing::blocked_output(p) >= 0) return p;

  // Motors that would stand in what is always there are no places at all.
  std::vector<Box3> taken = p.keep_outs;
  for (const routing::Output& o : site.outputs) {
    const routing::Terminal* first = o.places.front().terminal ? &*o.places.front().terminal : nullptr;
    const bool always = first != nullptr && std::all_of(o.places.begin(), o.places.end(), [&](const auto& place) {
                          return place.terminal && place.terminal->solids == first->solids;
                        });
    if (always) taken.insert(taken.end(), first->solids.begin(), first->solids.end());
    if (always && o.places.size() == 1 && o.places.front().far_terminal) {
      const std::vector<Box3>& far = o.places.front().far_terminal->solids;
      taken.insert(taken.end(), far.begin(), far.end());
    }
  }
  const auto stands_free = [&](const Box3& solid, const std::vector<Box3>& among) {
    return solid.inside(site.room) &&
           std::none_of(among.begin(), among.end(), [&](const Box3& b) { return b.overlaps(solid); });
  };
  const auto& body = std::get<stock::Motor>(motor.data);
  // Of the thousands one is used in the end: their names are left out.
  const auto nameless = [&](Axis axis, const Point3& face, int direction, bool turned) {
    return routing::Terminal{axis, face, direction, kInsert_hp, {motor_box(motor, axis, face, direction, turned)}, {}};
  };
  if (site.motor_at) {
    const auto [face, axis] = *site.motor_at;
    if (!within_reach(site, axis, face, reach_hp)) return p;
    for (const bool turned : {false, true}) {
      if (turned && body.width_p == body.height_p) continue;
      for (const int direction : {1, -1}) {
        if (motors > 1 && direction < 0) continue;  // each pair once, by its lower motor
        if (!stands_free(motor_box(motor, axis, face, direction, turned), taken)) continue;
        if (motors == 1) {
          p.inputs.push_back({{nameless(axis, face, direction, turned)}});
          continue;
        }
        for (const int w : p.walls.along(axis)) {
          if (w <= face.at(axis)) continue;
          Point3 other = face;
          other.set(axis, w + 1);
          if (stands_free(motor_box(motor, axis, other, -1, turned), taken))
            p.inputs.push_back({{nameless(axis, face, direction, turned), nameless(axis, other, -1, turned)}});
        }
      }
    }
    return p;
  }
  for (const Axis axis : lattice::kAxes) {
    const Axis u = lattice::u_axis(axis), v = lattice::v_axis(axis);
    std::optional<Reachable> reachable;
    for (const bool turned : {false, true}) {
      if (turned && body.width_p == body.height_p) continue;
      /// Motors of this direction at a wall, on the lines on which the body stays in the room; free where it stands in
      /// nothing and a train spans the way to an output. Without a line where it stands nowhere.
      const auto field_at = [&](int wall_hp, int direction) {
        routing::InputField field;
        const Point3 face = lattice::point(axis, {}, wall_hp - direction);
        const Box3 body_box = motor_box(motor, axis, face, direction, turned);
        if (body_box.low.at(axis) < site.room.low.at(axis) || body_box.high.at(axis) > site.room.high.at(axis))
          return field;
        const lattice::Cross low{site.room.low.at(u) - body_box.low.at(u), site.room.low.at(v) - body_box.low.at(v)};
        const lattice::Cross high{site.room.high.at(u) - body_box.high.at(u),
                                  site.room.high.at(v) - body_box.high.at(v)};
        if (low.u_hp > high.u_hp || low.v_hp > high.v_hp) return field;
        field.at_origin.motors = {nameless(axis, face, direction, turned)};
        field.low = low;
        field.columns = high.u_hp - low.u_hp + 1;
        field.rows = high.v_hp - low.v_hp + 1;
        // Every turn and direction has its lines within the room.
        if (!reachable) reachable.emplace(site, axis, reach_hp);
        reachable->onto(field);
        for (const Box3& b : taken) {
          if (b.low.at(axis) >= body_box.high.at(axis) || b.high.at(axis) <= body_box.low.at(axis)) continue;
          const int from_v = std::max(low.v_hp, b.low.at(v) - body_box.high.at(v) + 1);
          const int to_v = std::min(high.v_hp, b.high.at(v) - body_box.low.at(v) - 1);
          if (from_v > to_v) continue;
          for (int cu = std::max(low.u_hp, b.low.at(u) - body_box.high.at(u) + 1);
               cu <= std::min(high.u_hp, b.high.at(u) - body_box.low.at(u) - 1); ++cu) {
            const auto row = field.free.begin() + (cu - low.u_hp) * field.rows - low.v_hp;
            std::fill(row + from_v, row + to_v + 1, std::uint8_t{0});
          }
        }
        return field;
      };
      const auto add = [&](routing::InputField field) {
        if (std::any_of(field.free.begin(), field.free.end(), [](std::uint8_t free) { return free != 0; }))
          p.input_fields.push_back(std::move(field));
      };
      const std::vector<int>& walls = p.walls.along(axis);
      if (motors == 1) {
        for (const int direction : {1, -1}) {
          for (const int w : walls) add(field_at(w, direction));
        }
        continue;
      }
      // Two that face each other at the two ends of their shaft.
      for (std::size_t i = 0; i + 1 < walls.size(); ++i) {
        const routing::InputField lower = field_at(walls[i], 1);
        if (lower.lines() == 0) continue;
        for (std::size_t j = i + 1; j < walls.size(); ++j) {
          routing::InputField both = field_at(walls[j], -1);
          if (both.lines() == 0) continue;
          KW_CHECK(both.low == lower.low && both.lines() == lower.lines(), "motors of one class lie on the same lines");
          for (std::size_t k = 0; k < both.free.size(); ++k) both.free[k] &= lower.free[k];
          both.at_origin.motors.insert(both.at_origin.motors.begin(), lower.at_origin.motors.front());
          add(std::move(both));
        }
      }
    }
  }
  return p;
}

void add_cells(const Box3& b, std::vector<Point3>& cells) {
  for (int x = b.low.x_hp; x < b.high.x_hp; ++x) {
    for (int y = b.low.y_hp; y < b.high.y_hp; ++y) {
      for (int z = b.low.z_hp; z < b.high.z_hp; ++z) cells.push_back({x, y, z});
    }
  }
}

std::vector<candidate::BodyCells> cells_of_all(const Site& site, lattice::Cells cells) {
  // Moved into place: a list in braces would copy what may be thousands of cells.
  std::vector<candidate::BodyCells> out(1);
  out.front().body = site.body;
  if (site.occupied.empty() && site.images.empty()) {
    out.front().cells = std::move(cells);
    return out;
  }
  std::vector<lattice::Cells::Run> runs = cells.runs();
  for (const Box3& b : site.occupied) {
    for (int x = b.low.x_hp; x < b.high.x_hp; ++x)
      for (int y = b.low.y_hp; y < b.high.y_hp; ++y)
        if (b.low.z_hp < b.high.z_hp) runs.push_back({{x, y, b.low.z_hp}, b.high.z_hp - b.low.z_hp});
  }
  const std::size_t one_side = runs.size();
  for (const Image& image : site.images) {
    for (std::size_t i = 0; i < one_side; ++i) {
      // A unit cell [c, c + 1] becomes [about - c - 1, about - c].
      lattice::Cells::Run r = runs[i];
      if (image.about_x_hp) r.low.x_hp = *image.about_x_hp - r.low.x_hp - 1;
      if (image.about_y_hp) r.low.y_hp = *image.about_y_hp - r.low.y_hp - 1;
      r.low.x_hp += image.shift_x_hp;
      runs.push_back(r);
    }
  }
  out.front().cells = lattice::Cells(std::move(runs));
  return out;
}

std::vector<Box3> outside(const Box3& hull, const std::vector<Box3>& open) {
  std::vector<Box3> rest{hull};
  for (const Box3& hole : open) {
    std::vector<Box3> next;
    for (Box3 b : rest) {
      if (!b.overlaps(hole)) {
        next.push_back(b);
        continue;
      }
      // Slabs beside the hole, axis by axis; what is left in the middle is inside it.
      for (const Axis a : lattice::kAxes) {
        if (b.low.at(a) < hole.low.at(a)) {
          Box3 slab = b;
          slab.high.set(a, hole.low.at(a));
          next.push_back(slab);
          b.low.set(a, hole.low.at(a));
        }
        if (b.high.at(a) > hole.high.at(a)) {
          Box3 slab = b;
          slab.low.set(a, hole.high.at(a));
          next.push_back(slab);
          b.high.set(a, hole.high.at(a));
        }
      }
    }
    rest = std::move(next);
  }
  std::sort(rest.begin(), rest.end());
  return rest;
}

}  // namespace functions::drive
