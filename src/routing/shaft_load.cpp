#include "routing/shaft_load.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <span>

#include "base/check.h"
#include "routing/solids.h"

namespace routing {
namespace {

using Vec = std::array<double, 3>;

Vec unit(Axis a) {
  Vec e{};
  e[static_cast<std::size_t>(index(a))] = 1;
  return e;
}
Vec scaled(const Vec& a, double k) {
  return {a[0] * k, a[1] * k, a[2] * k};
}
Vec sum(const Vec& a, const Vec& b) {
  return {a[0] + b[0], a[1] + b[1], a[2] + b[2]};
}
Vec cross(const Vec& a, const Vec& b) {
  return {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]};
}
double dot(const Vec& a, const Vec& b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
double component(const Vec& v, Axis a) {
  return v[static_cast<std::size_t>(index(a))];
}

/// Middle of a wheel's face.
Vec middle(const Problem& p, const PlacedWheel& w) {
  const double half_mm = p.kit.half_pitch_mm();
  Vec m{};
  m[static_cast<std::size_t>(index(w.axis))] = (w.from_hp + w.to_hp) / 2 * half_mm;
  m[static_cast<std::size_t>(index(u_axis(w.axis)))] = w.at.u_hp * half_mm;
  m[static_cast<std::size_t>(index(v_axis(w.axis)))] = w.at.v_hp * half_mm;
  return m;
}

/// Where two wheels touch and what the driver presses on the driven one there; the driver feels the opposite.
struct Contact {
  Vec at{};
  Vec force_n{};
  int driven_sense = 0;
};

Contact contact(const Problem& p, const PlacedWheel& driver, const PlacedWheel& driven, const Pair& pair,
                double tangential_n, double angle_rad, int sense) {
  const Wheel& d = p.kit.wheels.at(static_cast<std::size_t>(pair.driver));
  const Wheel& n = p.kit.wheels.at(static_cast<std::size_t>(pair.driven));
  const Vec a = unit(driver.axis), b = unit(driven.axis);
  const Vec from = middle(p, driver), to = middle(p, driven), between = sum(to, scaled(from, -1));
  const double radial_n = tangential_n * std::tan(angle_rad);
  Contact c;
  if (parallel(pair.type)) {
    // `out` points from the driver's axis to the mesh; inside a ring that is away from the ring's centre.
    Vec out = sum(between, scaled(a, -dot(between, a)));
    out = scaled(out, 1 / std::sqrt(dot(out, out)));
    if (pair.type == PairType::ring_inner && !d.ring) out = scaled(out, -1);
    const Vec along = scaled(cross(a, out), sense);  // the way the driver's teeth move
    c.at = sum(from, scaled(out, mesh_radius_mm(d, pair.type)));
    // The separating force pushes the driven wheel's rim away from the driver's axis, the ring's outwards.
    c.force_n = sum(scaled(along, tangential_n), scaled(out, radial_n));
    c.driven_sense = pair.type == PairType::ring_inner ? sense : -sense;
    return c;
  }
  if (pair.type == PairType::worm) {
    // A right-handed worm that turns right-handed about +a moves the wheel's teeth towards -a, as it moves a nut.
    const Axis normal = lattice::other(driver.axis, driven.axis);
    const Vec out = scaled(unit(normal), component(between, normal) < 0 ? -1 : 1);
    const double module_mm = 2 * n.pitch_radius_mm / n.teeth;
    const double tan_lead = module_mm * d.teeth / (2 * d.pitch_radius_mm), cos_lead = 1 / std::hypot(1, tan_lead);
    c.at = sum(from, scaled(out, mesh_radius_mm(d, pair.type)));
    c.force_n = sum(scaled(a, -sense * tangential_n), scaled(out, radial_n / cos_lead));
    c.force_n = sum(c.force_n, scaled(cross(a, out), sense * tangential_n * tan_lead));
    // The wheel's rim moves towards -sense a at -r out from its centre: b x (-out) turned by its own sense.
    c.driven_sense = dot(cross(b, scaled(out, -1)), scaled(a, -sense)) > 0 ? 1 : -1;
    return c;
  }
  // The axes meet in X; the pitch circles touch where the driver's radius along b meets the driven one's along a.
  const double side_a = dot(between, a) > 0 ? -1 : 1, side_b = dot(between, b) > 0 ? 1 : -1;
  const Vec towards_b = scaled(b, side_b), towards_a = scaled(a, side_a);
  const Vec meeting = sum(from, scaled(a, dot(between, a)));
  c.at = sum(meeting, sum(scaled(towards_a, n.pitch_radius_mm), scaled(towards_b, d.pitch_radius_mm)));
  const Vec along = scaled(cross(a, towards_b), sense);
  Vec separating{};
  if (pair.type == PairType::crown) {
    // Off the pinion along the crown's axis: all radial on one wheel, all axial on the other.
    separating = n.sided ? scaled(towards_b, radial_n) : scaled(towards_a, -radial_n);
  } else {
    const double slant = std::hypot(d.pitch_radius_mm, n.pitch_radius_mm);
    separating = sum(scaled(towards_a, -radial_n * d.pitch_radius_mm / slant),
                     scaled(towards_b, radial_n * n.pitch_radius_mm / slant));
  }
  c.force_n = sum(scaled(along, tangential_n), separating);
  c.driven_sense = side_a * side_b > 0 ? -sense : sense;
  return c;
}

PointLoad load_on(const Problem& p, const PlacedWheel& w, const Contact& c, double sign) {
  const Vec f = scaled(c.force_n, sign), arm = sum(c.at, scaled(middle(p, w), -1));
  const Axis u = u_axis(w.axis), v = v_axis(w.axis);
  PointLoad load;
  load.at_mm = component(c.at, w.axis);
  load.u_n = component(f, u);
  load.v_n = component(f, v);
  load.axial_n = component(f, w.axis);
  load.couple_u_nmm = -load.axial_n * component(arm, u);
  load.couple_v_nmm = -load.axial_n * component(arm, v);
  return load;
}

/// One plane of the beam: a force and a couple at a place.
struct PlaneLoad {
  double at = 0, force = 0, couple = 0;
};

/// Reactions in one plane. The bending moment at s is that of everything before it: M = sum F (s - s_j) - sum C.
std::vector<double> plane_reactions(const std::vector<double>& s, const std::vector<PlaneLoad>& loads) {
  const std::size_t n = s.size();
  std::vector<double> room(5 * n, 0.0);
  const std::span<double> all(room);
  const auto moment = all.subspan(0, n), right_side = all.subspan(n, n), start_shear = all.subspan(2 * n, n),
             span_force = all.subspan(3 * n, n), upper = all.subspan(4 * n, n);
  double before = 0, beyond = 0;
  for (const PlaneLoad& q : loads) {
    if (q.at <= s.front()) {
      before += q.force;
      moment.front() += q.force * (s.front() - q.at) - q.couple;
    } else if (q.at >= s.back()) {
      beyond += q.force;
      moment.back() += q.force * (q.at - s.back()) + q.couple;
    } else {
      const std::size_t i = static_cast<std::size_t>(std::upper_bound(s.begin(), s.end(), q.at) - s.begin()) - 1;
      const double length = s[i + 1] - s[i], a = q.at - s[i], b = length - a;
      // Right side of Clapeyron's equation: end slopes of the simple span, for a force and, as its derivative by a,
      // for a couple.
      right_side[i + 1] +=
          (q.force * a * (length * length - a * a) + q.couple * (length * length - 3 * a * a)) / length;
      right_side[i] += (q.force * b * (length * length - b * b) - q.couple * (length * length - 3 * b * b)) / length;
      start_shear[i] += (-q.force * b + q.couple) / length;
      span_force[i] += q.force;
    }
  }
  // M[i-1] L[i-1] + 2 M[i] (L[i-1] + L[i]) + M[i+1] L[i] = right side, tridiagonal and diagonally dominant.
  for (std::size_t i = 1; i + 1 < n; ++i) {
    const double left = s[i] - s[i - 1], right = s[i + 1] - s[i];
    const double pivot = 2 * (left + right) - left * upper[i - 1];
    upper[i] = i + 2 < n ? right / pivot : 0;
    const double known = right_side[i] - (i + 2 < n ? 0 : right * moment[i + 1]);
    moment[i] = (known - left * moment[i - 1]) / pivot;
  }
  for (std::size_t i = n - 2; i-- > 1;) moment[i] -= upper[i] * moment[i + 1];
  std::vector<double> reactions(n);
  double shear = before;
  for (std::size_t i = 0; i < n; ++i) {
    const double after = i + 1 < n ? (moment[i + 1] - moment[i]) / (s[i + 1] - s[i]) + start_shear[i] : -beyond;
    reactions[i] = after - shear;
    shear = after + span_force[i];
  }
  return reactions;
}

}  // namespace

double Reaction::size_n() const {
  return std::hypot(u_n, v_n);
}

std::vector<ShaftSpan> shaft_spans(const Problem& p, const Layout& l) {
  const double half_mm = p.kit.half_pitch_mm();
  std::vector<ShaftSpan> out(l.shafts.size());
  std::vector<std::vector<double>> motors(l.shafts.size());
  std::vector<std::vector<double>> ways_out(l.shafts.size());
  for (std::size_t i = 0; i < l.shafts.size(); ++i) {
    for (const int w : l.shafts[i].bearings_hp) out[i].supports_mm.push_back(w * half_mm);
  }
  for (const HeldBy& h : terminals(p, l)) {
    KW_CHECK(h.shaft >= 0, "a terminal without its shaft: " + h.terminal->name);
    const auto s = static_cast<std::size_t>(h.shaft);
    const double face_mm = h.terminal->face.at(h.terminal->axis) * half_mm;
    out[s].supports_mm.push_back(face_mm);
    (h.input ? motors : ways_out)[s].push_back(face_mm);
  }
  for (std::size_t o = 0; o < p.outputs.size() && o < l.place.size(); ++o) {
    const Place& place = p.outputs[o].places.at(static_cast<std::size_t>(l.place[o]));
    for (std::size_t s = 0; s < l.shafts.size(); ++s) {
      if (l.shafts[s].output != static_cast<int>(o)) continue;
      for (const Attachment& a : place.attachments) ways_out[s].push_back((a.from_hp + a.to_hp) / 2.0 * half_mm);
    }
  }
  for (std::size_t i = 0; i < l.shafts.size(); ++i) {
    ShaftSpan& span = out[i];
    std::sort(span.supports_mm.begin(), span.supports_mm.end());
    if (!span.supports_mm.empty()) span.spacing_mm = span.supports_mm.back() - span.supports_mm.front();
    int driven = -1;
    std::vector<int> drivers;
    for (const PlacedMesh& m : l.meshes) {
      if (l.wheels.at(static_cast<std::size_t>(m.driven)).shaft == static_cast<int>(i)) driven = m.driven;
      if (l.wheels.at(static_cast<std::size_t>(m.driver)).shaft == static_cast<int>(i) &&
          std::find(drivers.begin(), drivers.end(), m.driver) == drivers.end()) {
        drivers.push_back(m.driver);
      }
    }
    const auto middle_mm = [&](int w) {
      const PlacedWheel& wheel = l.wheels[static_cast<std::size_t>(w)];
      return (wheel.from_hp + wheel.to_hp) / 2 * half_mm;
    };
    for (std::size_t w = 0; w < l.wheels.size(); ++w) {
      if (l.wheels[w].shaft != static_cast<int>(i)) continue;
      WheelStand stand{static_cast<int>(w), middle_mm(static_cast<int>(w)), 0};
      const auto& s = span.supports_mm;
      if (!s.empty() && stand.middle_mm < s.front()) stand.overhang_mm = s.front() - stand.middle_mm;
      if (!s.empty() && stand.middle_mm > s.back()) stand.overhang_mm = stand.middle_mm - s.back();
      span.wheels.push_back(stand);
    }
    const auto twist_to = [&](int to_wheel, double to_mm) {
      if (driven >= 0) {
        // An idler hands the motion on at its own rim: no axle is twisted.
        const double from_mm = middle_mm(driven);
        if (driven != to_wheel) span.twists.push_back({driven, to_wheel, std::fabs(to_mm - from_mm), from_mm, to_mm});
        return;
      }
      std::optional<double> nearest;  // motor's face
      for (const double m : motors[i]) {
        if (!nearest || std::fabs(to_mm - m) < std::fabs(to_mm - *nearest)) nearest = m;
      }
      if (nearest) span.twists.push_back({-1, to_wheel, std::fabs(to_mm - *nearest), *nearest, to_mm});
    };
    for (const int w : drivers) twist_to(w, middle_mm(w));
    for (const double to_mm : ways_out[i]) twist_to(-1, to_mm);
  }
  return out;
}

std::vector<std::vector<PointLoad>> tooth_loads(const Problem& p, const Layout& l,
                                                const std::vector<double>& tangential_n, double pressure_angle_rad,
                                                int input_sense) {
  KW_CHECK(tangential_n.size() == l.meshes.size(), "one force for every mesh");
  KW_CHECK(pressure_angle_rad > 0 && pressure_angle_rad < std::numbers::pi / 2, "pressure angle in (0, pi/2)");
  KW_CHECK(input_sense == 1 || input_sense == -1, "sense +1 or -1");
  std::vector<std::vector<PointLoad>> out(l.shafts.size());
  std::vector<int> sense(l.shafts.size(), 0);
  if (!sense.empty()) sense[0] = input_sense;
  for (std::size_t i = 0; i < l.meshes.size(); ++i) {
    const PlacedMesh& m = l.meshes[i];
    const PlacedWheel& driver = l.wheels.at(static_cast<std::size_t>(m.driver));
    const PlacedWheel& driven = l.wheels.at(static_cast<std::size_t>(m.driven));
    KW_CHECK(driver.shaft >= 0 && sense[static_cast<std::size_t>(driver.shaft)] != 0,
             "meshes stand from the input outwards");
    const Contact c = contact(p, driver, driven, p.kit.pairs.at(static_cast<std::size_t>(m.pair)), tangential_n[i],
                              pressure_angle_rad, sense[static_cast<std::size_t>(driver.shaft)]);
    const auto press = [&](int wheel, double sign) {
      const PlacedWheel& w = l.wheels[static_cast<std::size_t>(wheel)];
      PointLoad load = load_on(p, w, c, sign);
      load.wheel = wheel;
      out[static_cast<std::size_t>(w.shaft)].push_back(load);
    };
    press(m.driver, -1);
    if (driven.shaft < 0) continue;
    sense[static_cast<std::size_t>(driven.shaft)] = c.driven_sense;
    press(m.driven, 1);
  }
  return out;
}

std::vector<Reaction> bearing_reactions(const std::vector<double>& supports_mm, const std::vector<PointLoad>& loads) {
  KW_CHECK(supports_mm.size() >= 2, "a shaft needs two supports");
  for (std::size_t i = 1; i < supports_mm.size(); ++i) {
    KW_CHECK(supports_mm[i] > supports_mm[i - 1], "supports ascend");
  }
  std::vector<PlaneLoad> u, v;
  u.reserve(loads.size());
  v.reserve(loads.size());
  for (const PointLoad& q : loads) {
    u.push_back({q.at_mm, q.u_n, q.couple_u_nmm});
    v.push_back({q.at_mm, q.v_n, q.couple_v_nmm});
  }
  const std::vector<double> in_u = plane_reactions(supports_mm, u), in_v = plane_reactions(supports_mm, v);
  std::vector<Reaction> out;
  out.reserve(supports_mm.size());
  for (std::size_t i = 0; i < supports_mm.size(); ++i) out.push_back({supports_mm[i], in_u[i], in_v[i]});
  return out;
}

std::vector<Overhang> overhangs(const ShaftSpan& span, const std::vector<PointLoad>& loads) {
  std::vector<Overhang> out;
  for (const WheelStand& stand : span.wheels) {
    if (!(stand.overhang_mm > 0)) continue;
    const bool low = stand.middle_mm < span.supports_mm.front();
    const double end_mm = low ? span.supports_mm.front() : span.supports_mm.back();
    double u_n = 0, v_n = 0, u_nmm = 0, v_nmm = 0;
    for (const PointLoad& q : loads) {
      if (q.wheel == stand.wheel) {
        u_n += q.u_n;
        v_n += q.v_n;
      }
      if (low ? q.at_mm >= end_mm : q.at_mm <= end_mm) continue;
      // Seen from the support, a couple turns the other way at the other end.
      const double arm_mm = std::fabs(q.at_mm - end_mm), turn = low ? -1 : 1;
      u_nmm += q.u_n * arm_mm + turn * q.couple_u_nmm;
      v_nmm += q.v_n * arm_mm + turn * q.couple_v_nmm;
    }
    out.push_back({stand.wheel, stand.overhang_mm, std::hypot(u_n, v_n), std::hypot(u_nmm, v_nmm)});
  }
  return out;
}

double most_bending_nmm(const std::vector<Reaction>& reactions, const std::vector<PointLoad>& loads) {
  std::vector<double> places;
  for (const Reaction& r : reactions) places.push_back(r.at_mm);
  for (const PointLoad& q : loads) places.push_back(q.at_mm);
  double most = 0;
  // The moment is linear between places and jumps at couples, so both sides of every place are looked at.
  for (const double s : places) {
    for (const bool after : {false, true}) {
      double m_u = 0, m_v = 0;
      for (const Reaction& r : reactions) {
        if (r.at_mm >= s) continue;
        m_u += r.u_n * (s - r.at_mm);
        m_v += r.v_n * (s - r.at_mm);
      }
      for (const PointLoad& q : loads) {
        if (q.at_mm > s || (q.at_mm == s && !after)) continue;
        m_u += q.u_n * (s - q.at_mm) - q.couple_u_nmm;
        m_v += q.v_n * (s - q.at_mm) - q.couple_v_nmm;
      }
      most = std::max(most, std::hypot(m_u, m_v));
    }
  }
  return most;
}

}  // namespace routing
