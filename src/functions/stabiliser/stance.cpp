#include "functions/stabiliser/stance.h"

#include <algorithm>
#include <cmath>

#include "balance/mass.h"
#include "balance/support.h"

namespace functions::stabiliser {
namespace {

std::vector<balance::Point2> flat(const std::vector<brief::Vec3>& points) {
  std::vector<balance::Point2> out;
  for (const brief::Vec3& p : points) out.push_back({p.x_mm, p.y_mm});
  return out;
}

Standing standing_on(std::vector<brief::Vec3> contacts_mm, const balance::Vec3& centre) {
  Standing out;
  out.contacts_mm = std::move(contacts_mm);
  const std::vector<balance::Point2> hull = balance::convex_hull(flat(out.contacts_mm));
  for (std::size_t i = 0; i < hull.size(); ++i) {
    const balance::Point2 &a = hull[i], &b = hull[(i + 1) % hull.size()];
    out.area_mm2 += (a.x_mm * b.y_mm - b.x_mm * a.y_mm) / 2;
  }
  out.margin_mm = balance::stability_margin_mm(hull, {centre.x_mm, centre.y_mm});
  if (hull.size() >= 3) out.tipping_rad = balance::least_margin(hull, centre).angle_rad;
  return out;
}

/// Contacts that stay on the ground when two feet lift their end: those furthest from the feet along the machine.
std::vector<brief::Vec3> far_contacts(const brief::Brief& brief, double feet_x_mm) {
  constexpr double kSame_mm = 0.5;
  double far_mm = 0;
  for (const brief::Vec3& p : brief.support.points_mm) far_mm = std::max(far_mm, std::fabs(p.x_mm - feet_x_mm));
  std::vector<brief::Vec3> out;
  for (const brief::Vec3& p : brief.support.points_mm) {
    if (std::fabs(p.x_mm - feet_x_mm) > far_mm - kSame_mm) out.push_back(p);
  }
  return out;
}

}  // namespace

Stance stance_of(const brief::Brief& brief, const Wants& w, const Leg& leg, double mass_factor) {
  Stance s;
  std::vector<balance::MassPoint> masses;
  for (const brief::Body& b : brief.bodies) {
    const double mass_g = b.mass_g.nominal * (b.mass_is_estimate ? mass_factor : 1);
    masses.push_back({mass_g, {b.centre_mm.x_mm, b.centre_mm.y_mm, b.centre_mm.z_mm}});
  }
  const balance::MassPoint all = balance::combined(masses);
  s.weight_n = balance::weight_n(all.mass_g);
  s.centre_mm = {all.at.x_mm, all.at.y_mm, all.at.z_mm};
  s.wheels = standing_on(brief.support.points_mm, all.at);
  const balance::Vec3 raised{all.at.x_mm, all.at.y_mm, all.at.z_mm + leg.lift_mm};
  std::vector<brief::Vec3> contacts = leg.feet_mm(w);
  const std::size_t feet = contacts.size();
  if (!w.lifts) {
    contacts.insert(contacts.end(), brief.support.points_mm.begin(), brief.support.points_mm.end());
  } else if (w.legs == 2) {
    const std::vector<brief::Vec3> far = far_contacts(brief, contacts.front().x_mm);
    contacts.insert(contacts.end(), far.begin(), far.end());
  }
  s.feet = standing_on(contacts, raised);
  s.stands = s.feet.margin_mm >= 0;
  if (w.lifts) {
    const balance::SupportLoads loads = balance::support_loads(flat(contacts), s.weight_n, raised);
    s.stands = s.stands && loads.stands;
    s.foot_n.assign(loads.load_n.begin(), loads.load_n.begin() + static_cast<std::ptrdiff_t>(feet));
    s.greatest_foot_n = *std::max_element(s.foot_n.begin(), s.foot_n.end());
  } else {
    s.greatest_foot_n = w.preload_n.value_or(kPreloadShare * s.weight_n / w.legs);
  }
  s.tipping_foot_n = s.weight_n + balance::weight_n(w.load_g);
  return s;
}

}  // namespace functions::stabiliser
