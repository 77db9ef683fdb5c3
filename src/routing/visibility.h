// What can be seen of solids from one side: outlines cut into visible and hidden runs.
#pragma once

#include <vector>

#include "routing/drawing.h"
#include "routing/solids.h"

namespace routing {

/// The way one looks: axes of the paper and the side of the eye.
struct Sight {
  Axis right = Axis::x, up = Axis::z;
  int eye = -1;  ///< +1: the eye is at the greater coordinates of the third axis
  [[nodiscard]] Axis depth() const { return lattice::other(right, up); }
};

/// A piece of outline that is seen, hidden by another solid, or inside what sits on the same shaft and not drawn.
struct Run {
  enum class State { seen, hidden, buried };
  State state = State::seen;
  std::vector<Spot> points;
};

class Scene {
 public:
  Scene(const std::vector<PlacedSolid>& solids, Sight sight) : solids_(solids), sight_(sight) {}

  [[nodiscard]] Spot project(const Millimetres& p) const;
  /// Seen along its axis: a circle; otherwise a rectangle.
  [[nodiscard]] bool end_on(const PlacedSolid& s) const { return s.round && s.axis == sight_.depth(); }
  /// Nearness of the face towards the eye; greater is nearer.
  [[nodiscard]] double near_face_mm(const PlacedSolid& s) const;
  /// Is solid i what one sees at this point of the paper?
  [[nodiscard]] bool on_top(std::size_t i, Spot at) const;
  /// Outline of solid i: circle (`open`: the inner one of a ring) or rectangle, cut where its state changes.
  [[nodiscard]] std::vector<Run> outline(std::size_t i, bool open = false) const;
  /// A circle at the near face of solid i, concentric with it.
  [[nodiscard]] std::vector<Run> circle(std::size_t i, double radius_mm) const;

 private:
  struct Point {
    Spot at;
    double nearness_mm = 0;
  };
  [[nodiscard]] std::vector<Run> cut(std::size_t i, const std::vector<Point>& points) const;
  [[nodiscard]] Run::State state(std::size_t i, const Point& p) const;
  /// Nearness of the surface of s at a point of the paper strictly inside it; false when it is outside.
  [[nodiscard]] bool surface(const PlacedSolid& s, Spot at, double& nearness_mm) const;

  const std::vector<PlacedSolid>& solids_;
  Sight sight_;
};

}  // namespace routing
