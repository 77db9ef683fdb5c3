#include "linkage/loops.h"

#include <algorithm>
#include <cmath>

#include "base/check.h"

namespace linkage {
namespace {

std::size_t no(int index) {
  return static_cast<std::size_t>(index);
}

Vec2 turned(Vec2 v, double angle_rad) {
  const double c = std::cos(angle_rad), s = std::sin(angle_rad);
  return {c * v.x_mm - s * v.z_mm, s * v.x_mm + c * v.z_mm};
}

std::string name_of(const Mechanism& m, int joint) {
  const Joint& j = m.joints[no(joint)];
  return "joint " + std::to_string(joint + 1) + (j.name.empty() ? "" : " (" + j.name + ")");
}

bool good_body(const Mechanism& m, int body) {
  return body >= 0 && body < static_cast<int>(m.bodies.size());
}

/// The body two pins share, and the gear of either; -1 when they share none or both.
struct Meshed {
  int carrier = -1, gear_a = -1, gear_b = -1;
  double sense_a = 1, sense_b = 1;  ///< +1 when the gear is the pin's b
};
Meshed meshed(const Mechanism& m, const Gear& gear) {
  const Joint& p = m.joints[no(gear.pin_a)];
  const Joint& q = m.joints[no(gear.pin_b)];
  Meshed out;
  for (const int carrier : {p.a, p.b}) {
    if (carrier != q.a && carrier != q.b) continue;
    if (out.carrier >= 0) return {};  // both bodies shared
    out.carrier = carrier;
    out.gear_a = carrier == p.a ? p.b : p.a;
    out.gear_b = carrier == q.a ? q.b : q.a;
    out.sense_a = carrier == p.a ? 1 : -1;
    out.sense_b = carrier == q.a ? 1 : -1;
  }
  return out;
}

void check_references(const Mechanism& m, std::vector<std::string>& faults) {
  const int joints = static_cast<int>(m.joints.size());
  for (int j = 0; j < joints; ++j) {
    const Joint& joint = m.joints[no(j)];
    if (!good_body(m, joint.a) || !good_body(m, joint.b)) {
      faults.push_back(name_of(m, j) + " names a body that does not exist");
    } else if (joint.a == joint.b) {
      faults.push_back(name_of(m, j) + " joins " + m.bodies[no(joint.a)] + " to itself");
    }
    const double numbers[] = {joint.at_a.x_mm, joint.at_a.z_mm, joint.at_b.x_mm, joint.at_b.z_mm, joint.axis_rad,
                              joint.turn_rad,  joint.friction,  joint.radius_mm, joint.guide_mm};
    if (!std::all_of(std::begin(numbers), std::end(numbers), [](double v) { return std::isfinite(v); })) {
      faults.push_back(name_of(m, j) + " has a number that is not finite");
    }
    if (joint.friction < 0 || joint.radius_mm < 0 || joint.guide_mm < 0) {
      faults.push_back(name_of(m, j) + ": friction, pin radius and guide length cannot be negative");
    }
  }
  for (const int input : m.inputs) {
    if (input < 0 || input >= joints) faults.push_back("an input names a joint that does not exist");
  }
  if (!faults.empty()) return;
  for (std::size_t g = 0; g < m.gears.size(); ++g) {
    const Gear& gear = m.gears[g];
    const std::string who = "gear pair " + std::to_string(g + 1) + (gear.name.empty() ? "" : " (" + gear.name + ")");
    if (gear.pin_a < 0 || gear.pin_b < 0 || gear.pin_a >= joints || gear.pin_b >= joints || gear.pin_a == gear.pin_b ||
        m.joints[no(gear.pin_a)].kind != Joint::Kind::pin || m.joints[no(gear.pin_b)].kind != Joint::Kind::pin) {
      faults.push_back(who + " needs two different pins");
    } else if (meshed(m, gear).carrier < 0) {
      faults.push_back(who + ": its two pins must share exactly one body, the carrier");
    } else if (!std::isfinite(gear.ratio) || gear.ratio == 0 || gear.ratio == 1) {
      faults.push_back(who + ": ratio must be finite, not 0 and not 1 (draw an idler as a body of its own)");
    }
  }
}

}  // namespace

std::vector<std::string> problems(const Mechanism& mechanism) {
  return Loops(mechanism, Loops::Prepared{}).faults_;
}

Loops::Loops(Mechanism mechanism) : Loops(std::move(mechanism), Prepared{}) {
  KW_CHECK(faults_.empty(), faults_.empty() ? "" : faults_.front());
}

Loops::Loops(Mechanism mechanism, Prepared) : mechanism_(std::move(mechanism)) {
  check_references(mechanism_, faults_);
  if (faults_.empty()) grow_tree();
  if (faults_.empty()) eliminate();
  if (faults_.empty()) close_loops();
}

void Loops::grow_tree() {
  const auto& m = mechanism_;
  const std::size_t bodies = m.bodies.size(), joints = m.joints.size();
  // Kruskal: sliders first (a slider outside the tree would hold an angle twice), then inputs, then the other pins.
  std::vector<int> group(bodies);
  for (std::size_t b = 0; b < bodies; ++b) group[b] = static_cast<int>(b);
  const auto root = [&](int b) {
    while (group[no(b)] != b) b = group[no(b)];
    return b;
  };
  const auto is_input = [&](int j) { return std::find(m.inputs.begin(), m.inputs.end(), j) != m.inputs.end(); };
  in_tree_.assign(joints, 0);
  for (int pass = 0; pass < 3; ++pass) {
    for (int j = 0; j < static_cast<int>(joints); ++j) {
      const Joint& joint = m.joints[no(j)];
      const int rank = joint.kind == Joint::Kind::slider ? 0 : is_input(j) ? 1 : 2;
      if (rank != pass) continue;
      const int ra = root(joint.a), rb = root(joint.b);
      if (ra != rb) {
        group[no(std::max(ra, rb))] = std::min(ra, rb);
        in_tree_[no(j)] = 1;
      } else if (pass == 0) {
        faults_.push_back(name_of(m, j) + " closes a ring of sliders: the turn of its bodies would be held twice");
      }
    }
  }
  holds_.assign(bodies, {});
  order_ = {0};
  std::vector<char> reached(bodies, 0);
  reached[0] = 1;
  for (std::size_t next = 0; next < order_.size(); ++next) {
    const int parent = order_[next];
    for (int j = 0; j < static_cast<int>(joints); ++j) {
      const Joint& joint = m.joints[no(j)];
      if (!in_tree_[no(j)] || (joint.a != parent && joint.b != parent)) continue;
      const int child = joint.a == parent ? joint.b : joint.a;
      if (reached[no(child)]) continue;
      reached[no(child)] = 1;
      order_.push_back(child);
      Hold& hold = holds_[no(child)];
      hold.joint = j;
      hold.parent = parent;
      const int coordinate = static_cast<int>(travel_.size());
      if (joint.kind == Joint::Kind::pin) {
        hold.angle = coordinate;
        travel_.push_back(0);
      } else {
        hold.travel = coordinate;
        travel_.push_back(1);
        hold.angle = holds_[no(parent)].angle;
        hold.offset_rad = holds_[no(parent)].offset_rad + (joint.a == parent ? joint.turn_rad : -joint.turn_rad);
        hold.offset_cosine = std::cos(hold.offset_rad);
        hold.offset_sine = std::sin(hold.offset_rad);
        hold.axis = {std::cos(joint.axis_rad), std::sin(joint.axis_rad)};
      }
    }
  }
  for (std::size_t b = 0; b < bodies; ++b) {
    if (!reached[b]) faults_.push_back(m.bodies[b] + " hangs on no joint that leads to the frame");
  }
}

void Loops::eliminate() {
  // Rows over [coordinates | inputs | 1]: what gears and inputs demand, equal to zero.
  const auto& m = mechanism_;
  const std::size_t n = travel_.size(), inputs = m.inputs.size(), width = n + inputs + 1;
  std::vector<std::vector<double>> rows;
  std::vector<std::string> who;
  const auto add_angle = [&](std::vector<double>& row, int body, double weight) {
    const Hold& hold = holds_[no(body)];
    if (hold.angle >= 0) row[no(hold.angle)] += weight;
    row[n + inputs] += weight * hold.offset_rad;
  };
  for (std::size_t g = 0; g < m.gears.size(); ++g) {
    const Meshed mesh = meshed(m, m.gears[g]);
    std::vector<double> row(width, 0);
    add_angle(row, mesh.gear_b, 1);
    add_angle(row, mesh.carrier, -1);
    add_angle(row, mesh.gear_a, -m.gears[g].ratio);
    add_angle(row, mesh.carrier, m.gears[g].ratio);
    row[n + inputs] -= m.gears[g].phase_rad;
    rows.push_back(std::move(row));
    who.push_back("gear pair " + std::to_string(g + 1));
  }
  for (std::size_t k = 0; k < inputs; ++k) {
    const Joint& joint = m.joints[no(m.inputs[k])];
    std::vector<double> row(width, 0);
    if (joint.kind == Joint::Kind::pin) {
      add_angle(row, joint.b, 1);
      add_angle(row, joint.a, -1);
    } else {
      const int child = holds_[no(joint.b)].joint == m.inputs[k] ? joint.b : joint.a;
      row[no(holds_[no(child)].travel)] = 1;
    }
    row[n + k] = -1;
    rows.push_back(std::move(row));
    who.push_back("the input at " + name_of(m, m.inputs[k]));
  }
  constexpr double kZero = 1e-12;
  std::vector<int> pivot_of(rows.size(), -1);
  std::vector<char> dependent(n, 0);
  for (std::size_t r = 0; r < rows.size(); ++r) {
    int pivot = -1;
    for (std::size_t c = 0; c < n; ++c) {
      const double size = std::fabs(rows[r][c]);
      // The later body of equal ones: it hangs further out and drags fewer terms along.
      if (size > kZero && (pivot < 0 || size >= std::fabs(rows[r][no(pivot)]))) pivot = static_cast<int>(c);
    }
    if (pivot < 0) {
      faults_.push_back(who[r] + " demands what other inputs, gears or sliders already hold");
      return;
    }
    const double scale = rows[r][no(pivot)];
    for (double& v : rows[r]) v /= scale;
    for (std::size_t o = 0; o < rows.size(); ++o) {
      if (o == r) continue;
      const double factor = rows[o][no(pivot)];
      if (factor == 0) continue;
      for (std::size_t c = 0; c < width; ++c) rows[o][c] -= factor * rows[r][c];
      rows[o][no(pivot)] = 0;
      for (std::size_t c = 0; c < n; ++c) {
        if (std::fabs(rows[o][c]) < kZero) rows[o][c] = 0;
      }
    }
    pivot_of[r] = pivot;
    dependent[no(pivot)] = 1;
  }
  std::vector<int> free_of(n, -1);
  for (std::size_t c = 0; c < n; ++c) {
    if (dependent[c]) continue;
    free_of[c] = unknowns_++;
    free_.push_back(static_cast<int>(c));
    is_travel_.push_back(travel_[c]);
  }
  coordinates_.resize(n);
  for (std::size_t c = 0; c < n; ++c) {
    if (free_of[c] >= 0) coordinates_[c].free = {{free_of[c], 1.0}};
  }
  for (std::size_t r = 0; r < rows.size(); ++r) {
    Affine& out = coordinates_[no(pivot_of[r])];
    out.constant = -rows[r][n + inputs];
    for (std::size_t c = 0; c < n; ++c) {
      if (free_of[c] >= 0 && rows[r][c] != 0) out.free.push_back({free_of[c], -rows[r][c]});
    }
    for (std::size_t k = 0; k < inputs; ++k) {
      if (rows[r][n + k] != 0) out.input.push_back({static_cast<int>(k), -rows[r][n + k]});
    }
  }
}

std::vector<Term> Loops::chain(int body, Vec2 point) const {
  std::vector<Term> out;
  const auto add = [&](int owner_body, Vec2 v, int travel) {
    const Hold& hold = holds_[no(owner_body)];
    const Vec2 w = hold.offset_rad == 0 ? v : turned(v, hold.offset_rad);
    if (travel < 0) {
      for (Term& t : out) {
        if (t.travel < 0 && t.angle == hold.angle) {
          t.x += w.x_mm;
          t.z += w.z_mm;
          return;
        }
      }
    }
    out.push_back({hold.angle, travel, w.x_mm, w.z_mm});
  };
  for (int b = body; b != 0;) {
    const Hold& hold = holds_[no(b)];
    const Joint& joint = mechanism_.joints[no(hold.joint)];
    const bool child_is_b = joint.b == b;
    const Vec2 here = child_is_b ? joint.at_b : joint.at_a, there = child_is_b ? joint.at_a : joint.at_b;
    add(b, {point.x_mm - here.x_mm, point.z_mm - here.z_mm}, -1);
    if (hold.travel >= 0) {
      const double sign = child_is_b ? 1 : -1;
      add(joint.a, {sign * std::cos(joint.axis_rad), sign * std::sin(joint.axis_rad)}, hold.travel);
    }
    point = there;
    b = hold.parent;
  }
  add(0, point, -1);
  return out;
}

void Loops::close_loops() {
  const auto& m = mechanism_;
  double size = 0;
  for (int j = 0; j < static_cast<int>(m.joints.size()); ++j) {
    if (in_tree_[no(j)]) continue;
    const Joint& joint = m.joints[no(j)];
    std::vector<Term> loop = chain(joint.b, joint.at_b);
    for (const Term& t : chain(joint.a, joint.at_a)) {
      const auto same = std::find_if(loop.begin(), loop.end(), [&](const Term& other) {
        return other.angle == t.angle && other.travel == t.travel;
      });
      if (same != loop.end()) {
        same->x -= t.x;
        same->z -= t.z;
      } else {
        loop.push_back({t.angle, t.travel, -t.x, -t.z});
      }
    }
    std::erase_if(loop, [](const Term& t) { return t.x == 0 && t.z == 0; });
    for (const Term& t : loop) {
      if (t.travel < 0) size += std::hypot(t.x, t.z);
    }
    closures_.push_back(std::move(loop));
  }
  size_mm_ = std::max(1.0, size);
  const int spare = unknowns_ - 2 * static_cast<int>(closures_.size());
  if (spare == 0) return;
  const int moves = mobility(m).value;
  faults_.push_back(
      "mobility is " + std::to_string(moves) + " but " + std::to_string(m.inputs.size()) + " input" +
      (m.inputs.size() == 1 ? " is" : "s are") + " given: " +
      (spare > 0 ? "drive " + std::to_string(spare) + " more" : "drive " + std::to_string(-spare) + " less") +
      (spare < 0 && moves < 1 ? ", or take links or joints away" : ""));
}

void Loops::expand(std::span<const double> free, std::span<const double> input, Coordinates& out) const {
  const std::size_t n = coordinates_.size();
  out.value.resize(n);
  out.cosine.resize(n);
  out.sine.resize(n);
  for (std::size_t c = 0; c < n; ++c) {
    const Affine& a = coordinates_[c];
    double value = a.constant;
    for (const auto& p : a.free) value += p.weight * free[no(p.index)];
    for (const auto& p : a.input) value += p.weight * input[no(p.index)];
    out.value[c] = value;
    if (travel_[c]) continue;
    out.cosine[c] = std::cos(value);
    out.sine[c] = std::sin(value);
  }
}

void Loops::expand_rates(std::span<const double> free_rates, int input, std::vector<double>& rates) const {
  rates.resize(coordinates_.size());
  for (std::size_t c = 0; c < coordinates_.size(); ++c) {
    double rate = 0;
    for (const auto& p : coordinates_[c].free) rate += p.weight * free_rates[no(p.index)];
    for (const auto& p : coordinates_[c].input) rate += p.index == input ? p.weight : 0;
    rates[c] = rate;
  }
}

void Loops::evaluate(const Coordinates& at, std::span<double> residual_mm, std::span<double> by_free,
                     std::span<double> by_input) const {
  const std::size_t n = no(unknowns_), inputs = mechanism_.inputs.size();
  std::fill(by_free.begin(), by_free.end(), 0.0);
  std::fill(by_input.begin(), by_input.end(), 0.0);
  const auto add = [&](std::size_t row, int coordinate, double x, double z) {
    const Affine& a = coordinates_[no(coordinate)];
    if (!by_free.empty()) {
      for (const auto& p : a.free) {
        by_free[row * n + no(p.index)] += p.weight * x;
        by_free[(row + 1) * n + no(p.index)] += p.weight * z;
      }
    }
    if (!by_input.empty()) {
      for (const auto& p : a.input) {
        by_input[row * inputs + no(p.index)] += p.weight * x;
        by_input[(row + 1) * inputs + no(p.index)] += p.weight * z;
      }
    }
  };
  for (std::size_t l = 0; l < closures_.size(); ++l) {
    double sum_x = 0, sum_z = 0;
    for (const Term& t : closures_[l]) {
      double x = t.x, z = t.z;
      if (t.angle >= 0) {
        const double c = at.cosine[no(t.angle)], s = at.sine[no(t.angle)];
        x = c * t.x - s * t.z;
        z = s * t.x + c * t.z;
      }
      if (t.travel >= 0) {
        add(2 * l, t.travel, x, z);
        x *= at.value[no(t.travel)];
        z *= at.value[no(t.travel)];
      }
      sum_x += x;
      sum_z += z;
      if (t.angle >= 0) add(2 * l, t.angle, -z, x);
    }
    residual_mm[2 * l] = sum_x;
    residual_mm[2 * l + 1] = sum_z;
  }
}

void Loops::place(const Coordinates& at, std::span<BodyPose> poses) const {
  poses[0] = {};
  for (const int body : order_) {
    if (body == 0) continue;
    const Hold& hold = holds_[no(body)];
    const Joint& joint = mechanism_.joints[no(hold.joint)];
    const bool child_is_b = joint.b == body;
    const BodyPose& parent = poses[no(hold.parent)];
    BodyPose& pose = poses[no(body)];
    pose.angle_rad = (hold.angle >= 0 ? at.value[no(hold.angle)] : 0) + hold.offset_rad;
    const double c = hold.angle >= 0 ? at.cosine[no(hold.angle)] : 1, s = hold.angle >= 0 ? at.sine[no(hold.angle)] : 0;
    pose.cosine = c * hold.offset_cosine - s * hold.offset_sine;
    pose.sine = s * hold.offset_cosine + c * hold.offset_sine;
    Vec2 point = parent.world(child_is_b ? joint.at_a : joint.at_b);
    if (hold.travel >= 0) {
      const BodyPose& guide = child_is_b ? parent : pose;
      const double travel = (child_is_b ? 1 : -1) * at.value[no(hold.travel)];
      const Vec2 axis = guide.direction(hold.axis);
      point.x_mm += travel * axis.x_mm;
      point.z_mm += travel * axis.z_mm;
    }
    const Vec2 here = child_is_b ? joint.at_b : joint.at_a;
    pose.at = {point.x_mm - pose.cosine * here.x_mm + pose.sine * here.z_mm,
               point.z_mm - pose.sine * here.x_mm - pose.cosine * here.z_mm};
  }
}

void Loops::move(const Coordinates& at, std::span<const BodyPose> poses, std::span<const double> rates,
                 std::span<BodyRate> bodies) const {
  bodies[0] = {};
  for (const int body : order_) {
    if (body == 0) continue;
    const Hold& hold = holds_[no(body)];
    const Joint& joint = mechanism_.joints[no(hold.joint)];
    const bool child_is_b = joint.b == body;
    const BodyPose& parent = poses[no(hold.parent)];
    const BodyPose& pose = poses[no(body)];
    const BodyRate& from = bodies[no(hold.parent)];
    BodyRate& rate = bodies[no(body)];
    rate.turn = hold.angle >= 0 ? rates[no(hold.angle)] : 0;
    Vec2 velocity = from.of(parent.direction(child_is_b ? joint.at_a : joint.at_b));
    if (hold.travel >= 0) {
      // d(s u)/dt = s' u + s turn x u; both bodies of a slider turn alike.
      const double sign = child_is_b ? 1 : -1;
      const Vec2 axis = (child_is_b ? parent : pose).direction(hold.axis);
      const double ux = sign * axis.x_mm, uz = sign * axis.z_mm;
      const double travel = at.value[no(hold.travel)];
      velocity.x_mm += rates[no(hold.travel)] * ux - travel * rate.turn * uz;
      velocity.z_mm += rates[no(hold.travel)] * uz + travel * rate.turn * ux;
    }
    const Vec2 here = pose.direction(child_is_b ? joint.at_b : joint.at_a);
    rate.velocity = {velocity.x_mm + rate.turn * here.z_mm, velocity.z_mm - rate.turn * here.x_mm};
  }
}

std::vector<double> Loops::measure(std::span<const BodyPose> poses) const {
  std::vector<double> out(coordinates_.size());
  for (const int body : order_) {
    if (body == 0) continue;
    const Hold& hold = holds_[no(body)];
    const Joint& joint = mechanism_.joints[no(hold.joint)];
    if (hold.travel < 0) {
      out[no(hold.angle)] = poses[no(body)].angle_rad - hold.offset_rad;
      continue;
    }
    const Vec2 a = poses[no(joint.a)].world(joint.at_a), b = poses[no(joint.b)].world(joint.at_b);
    const Vec2 axis = poses[no(joint.a)].direction(hold.axis);
    out[no(hold.travel)] = (b.x_mm - a.x_mm) * axis.x_mm + (b.z_mm - a.z_mm) * axis.z_mm;
  }
  return out;
}

double Loops::joint_value(int joint, const Coordinates& at) const {
  const Joint& j = mechanism_.joints[no(joint)];
  if (j.kind == Joint::Kind::slider) {
    const Hold& hold = holds_[no(holds_[no(j.b)].joint == joint ? j.b : j.a)];
    return at.value[no(hold.travel)];
  }
  const auto angle = [&](int body) {
    const Hold& hold = holds_[no(body)];
    return (hold.angle >= 0 ? at.value[no(hold.angle)] : 0) + hold.offset_rad;
  };
  return angle(j.b) - angle(j.a);
}

double Loops::joint_rate(int joint, std::span<const double> rates) const {
  const Joint& j = mechanism_.joints[no(joint)];
  if (j.kind == Joint::Kind::slider) {
    const Hold& hold = holds_[no(holds_[no(j.b)].joint == joint ? j.b : j.a)];
    return rates[no(hold.travel)];
  }
  const auto turn = [&](int body) { return holds_[no(body)].angle >= 0 ? rates[no(holds_[no(body)].angle)] : 0; };
  return turn(j.b) - turn(j.a);
}

}  // namespace linkage
