#include "balance/hold.h"

namespace balance {

Footing::Footing(const GroundLine& ground) : line_(ground) {
  for (std::size_t i = 0; i + 1 < line_.size(); ++i) {
    const double dx = line_[i + 1].x_mm - line_[i].x_mm, dz = line_[i + 1].z_mm - line_[i].z_mm;
    const double length = std::hypot(dx, dz);
    face_.push_back(dx > 0 ? Face{dz / length, dx / length} : Face{0, 0});
  }
}

Hold Footing::under_wheel(double x, double radius_mm) const {
  Hold out;
  for (std::size_t i = 0; i < line_.size(); ++i) {
    const SidePoint a = line_[i];
    const double off = x - a.x_mm;
    if (off < -radius_mm) break;  // the rest lies further ahead
    if (off <= radius_mm) {
      const double up = std::sqrt(radius_mm * radius_mm - off * off);
      if (a.z_mm + up > out.height) {
        out.height = a.z_mm + up;
        out.foot_x = a.x_mm;
        out.touch[0].normal_x = off / radius_mm;
        out.touch[0].normal_z = up / radius_mm;
      }
    }
    if (i + 1 == line_.size()) break;
    const SidePoint b = line_[i + 1];
    if (x - b.x_mm > radius_mm) continue;
    const Face face = face_[i];
    if (face.cosine <= 0) continue;
    const double foot = x + radius_mm * face.sine;
    if (foot < a.x_mm || foot > b.x_mm) continue;
    const double height = a.z_mm + (foot - a.x_mm) * face.sine / face.cosine + radius_mm * face.cosine;
    if (height > out.height) {
      out.height = height;
      out.foot_x = foot;
      out.touch[0].normal_x = -face.sine;
      out.touch[0].normal_z = face.cosine;
    }
  }
  return out;
}

}  // namespace balance
