// Tables of a layout for people: which hole, which axle, what sits where, how well every mesh fits.
#pragma once

#include <string>
#include <vector>

#include "routing/layout.h"
#include "routing/problem.h"

namespace routing {

/// Letters of the shafts by index into Layout::shafts: A carries the motor, then in the order the motion reaches them.
/// I and O are left out, as they read like numbers (common practice, no source); after Z come A1, B1 ...
[[nodiscard]] std::vector<std::string> shaft_names(const Layout&);

/// A lattice coordinate in hole pitches: "3½", "−1", "½", "0".
[[nodiscard]] std::string pitches_text(int value_hp);
/// A length along a shaft that need not be whole: "2–2½", "3.13–4.63".
[[nodiscard]] std::string pitches_text(double from_hp, double to_hp);
/// The hole a shaft runs through, "x 3½, z 2" for a shaft along y.
[[nodiscard]] std::string hole_text(Axis, Cross);

struct ShaftRow {
  struct Item {
    int wheel = -1;    ///< index into Layout::wheels; -1: an attachment or a joiner
    std::string name;  ///< "24"
    double from_hp = 0, to_hp = 0;
    bool overhung = false;
  };
  std::string name;     ///< "B"
  std::string carries;  ///< name of the motor, of the output, or empty
  Axis axis = Axis::y;
  Cross at;
  std::string hole;              ///< "x 3½, z 2"
  int axle_p = 0;                ///< whole length
  std::string axle;              ///< "6", of two joined ones "7 + 8"
  int from_hp = 0, to_hp = 0;    ///< ends of the axle
  std::vector<Item> items;       ///< wheels and attachments, from the low end up
  std::vector<int> bearings_hp;  ///< middles of the walls
  std::vector<int> bushes_hp;    ///< low sides
  int bush_hp = 1;               ///< length of each
  bool overhung = false;         ///< anything sits beyond the last bearing
};

struct MeshRow {
  int mesh = -1;               ///< index into Layout::meshes
  std::string driver, driven;  ///< "8 on A", "24 on B", "ring 52"
  std::string type;            ///< "spur", "bevel", "crown", "worm", "ring outside", "ring inside"
  base::Rational ratio;        ///< driven / driver, signed
  bool has_distance = false;   ///< false where the shafts meet: bevel, crown
  double wanted_mm = 0;        ///< nominal centre distance: sum of the pitch radii, ring inside: difference
  double offered_mm = 0;       ///< between the two holes
  double misfit_mm = 0;        ///< offered - wanted, > 0: too far apart
};

/// In the order of the letters.
[[nodiscard]] std::vector<ShaftRow> shaft_table(const Problem&, const Layout&);
/// In the order of Layout::meshes.
[[nodiscard]] std::vector<MeshRow> mesh_table(const Problem&, const Layout&);

/// "0.06 mm too far apart", "0.06 mm too close", "fits".
[[nodiscard]] std::string misfit_text(double misfit_mm);

/// Both tables as text, one line a shaft and one a mesh, each ending with a newline.
[[nodiscard]] std::string tables_text(const Problem&, const Layout&);

}  // namespace routing
