#include "lattice/space.h"

#include "base/text.h"

namespace lattice {

std::string pitches_text(const Point3& p) {
  return "(" + base::plain(p.x_hp / 2.0) + ", " + base::plain(p.y_hp / 2.0) + ", " + base::plain(p.z_hp / 2.0) + ")";
}

std::string pitches_text(const Box3& b) {
  std::string out;
  for (const Axis a : kAxes) {
    if (a != Axis::x) out += ", ";
    out += letter(a);
    out += " " + base::plain(b.low.at(a) / 2.0) + " to " + base::plain(b.high.at(a) / 2.0);
  }
  return out;
}

}  // namespace lattice
