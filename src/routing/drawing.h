// Three views of a layout as lists of plain marks in millimetres, for any kind of paper or screen.
//
// Every view is an orthographic projection: `right` and `up` are axes of the frame (x forward, y left, z up) that run
// to the right and upwards on the paper, so that coordinates on paper are coordinates of the frame. Gears are drawn as
// ISO 2203 has them: tip circle in full, pitch circle chain-dotted. What stands behind something else is marked hidden
// and is to be dashed; what stands farther off is to be lighter.
#pragma once

#include <array>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "routing/layout.h"
#include "routing/problem.h"

namespace routing {

/// A point on the paper, millimetres of the frame.
struct Spot {
  double right_mm = 0, up_mm = 0;
};

struct Window {
  Spot low, high;
  [[nodiscard]] double width_mm() const { return high.right_mm - low.right_mm; }
  [[nodiscard]] double height_mm() const { return high.up_mm - low.up_mm; }
  [[nodiscard]] bool overlaps(const Window& o) const {
    return low.right_mm < o.high.right_mm && o.low.right_mm < high.right_mm && low.up_mm < o.high.up_mm &&
           o.low.up_mm < high.up_mm;
  }
};

enum class MarkRole {
  lattice_point,  ///< a hole, one every pitch
  lattice_edge,   ///< ticks and numbers along the edges, in pitches
  wall,           ///< where beams run
  keep_out,
  wheel,
  ring,
  pitch_circle,
  axle,
  centre_line,
  bearing,
  bush,
  joiner,
  terminal,
  sweep,  ///< room that a moving body of a terminal passes through
  attachment,
  hole_label,   ///< "B: x 2, z 2"
  shaft_label,  ///< "B · axle 4" beside a shaft seen from its side
  wheel_label,  ///< "24"
  part_label,   ///< name of a motor, joiner, attachment, keep-out; "sweep of actuator"
  misfit,
  dimension,
  view_title
};

struct Mark {
  enum class Form { circle, line, rect, polyline, text, dimension };
  Form form = Form::line;
  MarkRole role = MarkRole::axle;
  /// circle: centre; line and dimension (arrow heads at both ends): two ends; rect: two corners; text: middle.
  std::vector<Spot> points;
  double radius_mm = 0;
  bool fill = false;    ///< an area without outline
  bool hidden = false;  ///< behind something else
  bool leader = false;  ///< a line from a label to what it names
  double depth = 0;     ///< 0 = nearest to the eye, 1 = farthest
  std::string text;
  double width_mm = 0;  ///< of a text; its height is DrawingOptions::text_mm times `size`
  double size = 1;
};

struct View {
  std::string name;  ///< "seen from above"
  Axis right = Axis::x, up = Axis::z;
  std::vector<Mark> marks;  ///< in the order of painting
  Window lattice;           ///< the part of the lattice that is shown
  Window paper;             ///< everything, labels and edges included
};

struct DrawingOptions {
  double text_mm = 3;  ///< height of the letters, millimetres of the frame; > 0
  /// Width of a text as a multiple of its height.
  std::function<double(std::string_view)> width_em;
  double misfit_shown_mm = 0.05;  ///< greater ones are called out at the mesh
};

/// Views from above (x right, y up), from the right (x right, z up) and from the front (y right, z up): as they stand
/// in third-angle projection with the view from the right as the main one.
struct Drawing {
  View above, from_right, from_front;
};

[[nodiscard]] Drawing drawing(const Problem&, const Layout&, const DrawingOptions&);

}  // namespace routing
