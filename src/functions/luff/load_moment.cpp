#include "functions/luff/load_moment.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "balance/mass.h"
#include "base/check.h"
#include "brief/body_tree.h"

namespace functions::luff {
namespace {

constexpr double kSampleStepRad = 3 * std::numbers::pi / 180;

struct Row3 {
  double x = 0, y = 0, z = 0;
};
double dot(const Row3& a, const brief::Vec3& v) {
  return a.x * v.x_mm + a.y * v.y_mm + a.z * v.z_mm;
}

/// The row a J(q): what is horizontal, seen from behind a joint turned by q.
Row3 turned(const Row3& a, brief::Joint::Type type, double q) {
  const double c = std::cos(q), s = std::sin(q);
  if (type == brief::Joint::Type::pitch) return {a.x * c + a.z * s, a.y, a.z * c - a.x * s};
  if (type == brief::Joint::Type::slew) return {a.x * c + a.y * s, a.y * c - a.x * s, a.z};
  return a;
}

struct Span {
  double most = 0, least = 0;
};

/// Bodies rigidly joined to each other, hanging on one movable joint.
struct Cluster {
  brief::Joint joint;
  brief::Vec3 moment_gmm;  ///< sum of mass x (centre - pivot)
  double mass_g = 0;       ///< own
  double all_g = 0;        ///< own and everything below
  std::vector<int> children;
};

class Tree {
 public:
  Tree(const brief::Brief& brief, const Wants& wants, double mass_factor) {
    std::vector<int> cluster_of(brief.bodies.size(), -1);
    for (std::size_t i = static_cast<std::size_t>(wants.body); i < brief.bodies.size(); ++i) {
      const brief::Body& body = brief.bodies[i];
      const bool root = static_cast<int>(i) == wants.body;
      const int above = root || body.parent < 0 ? -1 : cluster_of[static_cast<std::size_t>(body.parent)];
      if (!root && above < 0) continue;
      if (!root && body.joint.type == brief::Joint::Type::fixed) {
        cluster_of[i] = above;
      } else {
        cluster_of[i] = static_cast<int>(clusters_.size());
        clusters_.push_back({body.joint, {}, 0, 0, {}});
        if (above >= 0) clusters_[static_cast<std::size_t>(above)].children.push_back(cluster_of[i]);
      }
      const double factor = body.mass_is_estimate ? mass_factor : 1;
      add(cluster_of[i], body.mass_g.nominal * factor, body.centre_mm);
    }
    if (wants.load_g > 0) {
      const int at = cluster_of[static_cast<std::size_t>(wants.load_body)];
      KW_CHECK(at >= 0, "the payload hangs on the moved body");
      add(at, wants.load_g, {wants.load_at_mm[0], wants.load_at_mm[1], wants.load_at_mm[2]});
    }
    for (std::size_t i = clusters_.size(); i-- > 0;) {
      clusters_[i].all_g += clusters_[i].mass_g;
      for (const int c : clusters_[i].children) clusters_[i].all_g += clusters_[static_cast<std::size_t>(c)].all_g;
    }
  }

  /// Extremes of the moment about the luff pivot with the moved body at an absolute pitch.
  [[nodiscard]] Span at(double absolute_rad) const {
    return moment(0, turned({1, 0, 0}, brief::Joint::Type::pitch, absolute_rad));
  }
  [[nodiscard]] double weight_n() const { return balance::weight_n(clusters_.front().all_g); }

 private:
  void add(int cluster, double mass_g, const brief::Vec3& at) {
    Cluster& c = clusters_[static_cast<std::size_t>(cluster)];
    c.mass_g += mass_g;
    c.moment_gmm.x_mm += mass_g * (at.x_mm - c.joint.pivot_mm.x_mm);
    c.moment_gmm.y_mm += mass_g * (at.y_mm - c.joint.pivot_mm.y_mm);
    c.moment_gmm.z_mm += mass_g * (at.z_mm - c.joint.pivot_mm.z_mm);
  }

  [[nodiscard]] Span moment(int index, const Row3& a) const {
    const Cluster& c = clusters_[static_cast<std::size_t>(index)];
    const double own = balance::weight_n(1) * dot(a, c.moment_gmm);
    Span sum{own, own};
    for (const int child : c.children) {
      const Cluster& k = clusters_[static_cast<std::size_t>(child)];
      const brief::Vec3 offset{k.joint.pivot_mm.x_mm - c.joint.pivot_mm.x_mm,
                               k.joint.pivot_mm.y_mm - c.joint.pivot_mm.y_mm,
                               k.joint.pivot_mm.z_mm - c.joint.pivot_mm.z_mm};
      const double hung = balance::weight_n(k.all_g) * dot(a, offset);
      const Span below = k.children.empty() ? leaf(k, a) : sampled(child, a);
      sum.most += hung + below.most;
      sum.least += hung + below.least;
    }
    return sum;
  }

  /// K + P cos q + Q sin q over [low, high].
  [[nodiscard]] static Span leaf(const Cluster& k, const Row3& a) {
    const double g = balance::weight_n(1);
    const brief::Vec3& s = k.moment_gmm;
    double still = 0, p = 0, q = 0;
    if (k.joint.type == brief::Joint::Type::pitch) {
      still = g * a.y * s.y_mm;
      p = g * (a.x * s.x_mm + a.z * s.z_mm);
      q = g * (a.z * s.x_mm - a.x * s.z_mm);
    } else {
      still = g * a.z * s.z_mm;
      p = g * (a.x * s.x_mm + a.y * s.y_mm);
      q = g * (a.y * s.x_mm - a.x * s.y_mm);
    }
    const auto value = [&](double angle) { return still + p * std::cos(angle) + q * std::sin(angle); };
    const double first = value(k.joint.low_rad), last = value(k.joint.high_rad);
    Span span{std::max(first, last), std::min(first, last)};
    const auto contains = [&](double angle) {  // modulo a full turn
      const double turns = std::ceil((k.joint.low_rad - angle) / (2 * std::numbers::pi));
      return angle + turns * 2 * std::numbers::pi <= k.joint.high_rad;
    };
    const double peak = std::atan2(q, p);
    if (contains(peak)) span.most = still + std::hypot(p, q);
    if (contains(peak + std::numbers::pi)) span.least = still - std::hypot(p, q);
    return span;
  }

  [[nodiscard]] Span sampled(int index, const Row3& a) const {
    const brief::Joint& joint = clusters_[static_cast<std::size_t>(index)].joint;
    const int steps = static_cast<int>(std::ceil((joint.high_rad - joint.low_rad) / kSampleStepRad - 1e-9));
    Span span{-std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity()};
    for (int i = 0; i <= steps; ++i) {
      const double q = steps == 0 ? joint.low_rad : joint.low_rad + (joint.high_rad - joint.low_rad) * i / steps;
      const Span here = moment(index, turned(a, joint.type, q));
      span.most = std::max(span.most, here.most);
      span.least = std::min(span.least, here.least);
    }
    return span;
  }

  std::vector<Cluster> clusters_;
};

/// Window extremes of the moment over the parent's range, on a grid whose step divides the travel's.
Extremes extremes_of(const Tree& tree, const std::vector<double>& angles, const std::array<double, 2>& parent) {
  constexpr double kParentStepRad = std::numbers::pi / 180;  // same error bound as the sampled joints, and finer
  const int steps = static_cast<int>(std::ceil((parent[1] - parent[0]) / kParentStepRad - 1e-9));
  const double travel_step = angles[1] - angles[0];
  Extremes out;
  out.weight_n = tree.weight_n();
  const auto fold = [&](std::size_t i, double parent_rad, const Span& s) {
    if (s.most > out.most_nmm[i]) {
      out.most_nmm[i] = s.most;
      out.most_parent_rad[i] = parent_rad;
    }
    out.least_nmm[i] = std::min(out.least_nmm[i], s.least);
  };
  out.most_nmm.assign(angles.size(), -std::numeric_limits<double>::infinity());
  out.least_nmm.assign(angles.size(), std::numeric_limits<double>::infinity());
  out.most_parent_rad.assign(angles.size(), parent[0]);
  // Absolute angles are shared between neighbouring travel angles: one pass over a grid with the travel's step split.
  const int split = std::max(1, static_cast<int>(std::ceil(travel_step / kParentStepRad - 1e-9)));
  const double grid = travel_step / split;
  const int last =
      static_cast<int>(angles.size() - 1) * split + (steps == 0 ? 0 : static_cast<int>((parent[1] - parent[0]) / grid));
  if (steps > 0) {
    std::vector<Span> table;
    for (int k = 0; k <= last; ++k) table.push_back(tree.at(angles[0] + parent[0] + k * grid));
    for (std::size_t i = 0; i < angles.size(); ++i) {
      for (int k = static_cast<int>(i) * split;
           k <= last && (k - static_cast<int>(i) * split) * grid <= parent[1] - parent[0]; ++k)
        fold(i, parent[0] + (k - static_cast<int>(i) * split) * grid, table[static_cast<std::size_t>(k)]);
    }
  }
  for (std::size_t i = 0; i < angles.size(); ++i) {
    fold(i, parent[0], tree.at(angles[i] + parent[0]));
    if (steps > 0) fold(i, parent[1], tree.at(angles[i] + parent[1]));
  }
  return out;
}

}  // namespace

std::array<double, 2> parent_range_rad(const brief::Brief& brief, int body) {
  std::array<double, 2> range{0, 0};
  for (int b = brief.bodies[static_cast<std::size_t>(body)].parent; b >= 0;
       b = brief.bodies[static_cast<std::size_t>(b)].parent) {
    const brief::Joint& joint = brief.bodies[static_cast<std::size_t>(b)].joint;
    if (joint.type != brief::Joint::Type::pitch) continue;
    range[0] += joint.low_rad;
    range[1] += joint.high_rad;
  }
  return range;
}

MomentTable::Row MomentTable::row(std::size_t i, double mass_factor) const {
  const auto mix = [&](double low, double nominal, double high) {
    const bool below = mass_factor < factor[1];
    const double a = below ? low : nominal, b = below ? nominal : high;
    const double fa = below ? factor[0] : factor[1], fb = below ? factor[1] : factor[2];
    return fb > fa ? a + (b - a) * (mass_factor - fa) / (fb - fa) : nominal;
  };
  return {mix(at[0].most_nmm[i], at[1].most_nmm[i], at[2].most_nmm[i]),
          mix(at[0].least_nmm[i], at[1].least_nmm[i], at[2].least_nmm[i])};
}

double MomentTable::weight_n(double mass_factor) const {
  const double slope = factor[2] > factor[0] ? (at[2].weight_n - at[0].weight_n) / (factor[2] - factor[0]) : 0;
  return at[1].weight_n + slope * (mass_factor - factor[1]);
}

MomentTable load_moments(const brief::Brief& brief, const Wants& wants, int samples) {
  KW_CHECK(samples >= 2 && wants.high_rad > wants.low_rad, "a travel needs two angles");
  MomentTable table;
  for (int i = 0; i < samples; ++i)
    table.angle_rad.push_back(wants.low_rad + (wants.high_rad - wants.low_rad) * i / (samples - 1));
  for (std::size_t i = 0; i < brief.bodies.size(); ++i)
    if (brief.bodies[i].mass_is_estimate && hangs_on(brief, static_cast<int>(i), wants.body)) table.any_estimate = true;
  const base::Triple& factor = brief.parameters.at(brief::Parameter::mass_factor).value;
  table.factor = {factor.low, factor.nominal, factor.high};
  const std::array<double, 2> parent = parent_range_rad(brief, wants.body);
  for (std::size_t f = 0; f < 3; ++f) {
    if (f > 0 && (!table.any_estimate || table.factor[f] == table.factor[f - 1])) {
      table.at[f] = table.at[f - 1];
      continue;
    }
    table.at[f] = extremes_of(Tree(brief, wants, table.factor[f]), table.angle_rad, parent);
  }
  return table;
}

}  // namespace functions::luff
