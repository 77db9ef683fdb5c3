// Where a function's drive stands: the room, where its outputs must come out, what else of it takes room, and the
// mirror images of the other sides. From it the problems of routing are made.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "candidate/candidate.h"
#include "functions/drive/room.h"
#include "routing/problem.h"

namespace functions::drive {

/// Another copy of everything: a mirrored coordinate c becomes about - c (about = twice the plane's coordinate), then
/// all is shifted along x.
struct Image {
  std::optional<int> about_x_hp, about_y_hp;
  int shift_x_hp = 0;
};

/// Where a motor must stand, when the user says it.
struct MotorAt {
  routing::Point3 face;
  routing::Axis axis = routing::Axis::y;
};

struct Site {
  int body = 0;                          ///< whose lattice everything is in (BodyLattice::body)
  lattice::Box3 room;                    ///< of one side
  std::vector<routing::Output> outputs;  ///< places; the windows are filled in for a train
  std::vector<routing::Box3> keep_outs;  ///< what the drive must keep clear of besides
  std::vector<routing::Box3> occupied;   ///< solids of the function that stand whatever the drive; only for its cells
  std::vector<Image> images;             ///< of the other sides
  std::optional<MotorAt> motor_at;
  std::vector<std::string> notes;  ///< what was assumed or rounded
};

/// The room of a function on the body that carries it, without outputs; for a mirrored pair the half towards positive y
/// with the image in the body's own middle plane y = 0.
[[nodiscard]] Site site_of(const brief::Brief&, const brief::Function&, int body);

/// A shaft that carries one solid of revolution.
[[nodiscard]] routing::Place shaft_with(routing::Axis axis, lattice::Cross at, int from_hp, int to_hp, double radius_mm,
                                        std::string name);
/// Slots that a length takes.
[[nodiscard]] int slots_of(double length_mm, const stock::KitSystem&);

/// How beams may run: slots between neighbouring walls across the outputs' axis, and from an output's line to the first
/// wall across the other axes. Wheels at a right angle stand within four slots of where their shafts meet, so there the
/// first wall keeps that far off; the second style suits shafts that meet an intermediate shaft.
struct WallStyle {
  int bay_hp = 2;
  int cross_hp = 4;
};
/// Styles that are tried, in this order (measured on the example projects: docs/theory/routing.md).
inline constexpr WallStyle kWallStyles[] = {{2, 4}, {4, 2}};

/// A routing problem without trains and windows: box (room and outputs), walls, keep-outs and every place of `motors`
/// motors (1, or 2 that face each other on one shaft) of a class with its face at a wall. `reach_hp`: inputs further
/// from every output than this are left out, because no train spans it. Without inputs where an output has no place
/// (routing::blocked_output).
[[nodiscard]] routing::Problem problem_of(const Site&, const routing::Kit&, const stock::PartClass& motor, int motors,
                                          WallStyle style, int most_stages, int reach_hp);

/// Greatest distance of two shafts of one mesh of the kit, half-pitches, rounded up.
[[nodiscard]] int longest_offset_hp(const routing::Kit&);

/// Cells of one side, ascending and without repeats, and all its images with the site's own solids, ready for a
/// candidate.
[[nodiscard]] std::vector<candidate::BodyCells> cells_of_all(const Site&, lattice::Cells one_side);

/// Unit cells inside a box.
void add_cells(const lattice::Box3&, std::vector<lattice::Point3>& cells);

/// The part of `hull` outside all of `open`, as boxes that do not overlap.
[[nodiscard]] std::vector<lattice::Box3> outside(const lattice::Box3& hull, const std::vector<lattice::Box3>& open);

}  // namespace functions::drive
