#include "balance/lifting_machine.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"

namespace balance {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
// Each round of settling leaves about a tenth of the error on real booms, whose sag moves the load by under 10 %.
constexpr int kMostRounds = 60;
constexpr double kSettledShare = 1e-10;
// A joint that sags further is no linear spring any more; the cell then says that it is too soft to judge.
constexpr double kMostSag_rad = 0.35;

double dot(Vec3 a, Vec3 b) {
  return a.x_mm * b.x_mm + a.y_mm * b.y_mm + a.z_mm * b.z_mm;
}
Vec3 cross(Vec3 a, Vec3 b) {
  return {a.y_mm * b.z_mm - a.z_mm * b.y_mm, a.z_mm * b.x_mm - a.x_mm * b.z_mm, a.x_mm * b.y_mm - a.y_mm * b.x_mm};
}
Vec3 turned(const Pose& pose, Vec3 v) {
  return pose.apply(v) - pose.t;
}

double upper_tail(double z) {
  return 0.5 * std::erfc(z / std::numbers::sqrt2);
}

double without_tare(double load_n, double tare_n) {
  return std::max(0.0, load_n - tare_n);
}

std::string fault_of(const Curve& curve, const std::string& owner) {
  if (curve.at.size() != curve.value.size()) return owner + " has a curve with unequal columns";
  for (std::size_t i = 0; i < curve.at.size(); ++i) {
    if (!std::isfinite(curve.at[i]) || !(curve.value[i] >= 0))
      return owner + " has a curve with a value that is not >= 0";
    if (i > 0 && !(curve.at[i] > curve.at[i - 1])) return owner + " has a curve whose positions do not rise";
  }
  return "";
}

}  // namespace

const char* name_of(Limit limit) {
  switch (limit) {
    case Limit::none:
      return "none";
    case Limit::tipping:
      return "tipping";
    case Limit::luff:
      return "luff";
    case Limit::knuckle:
      return "knuckle";
    case Limit::slew:
      return "slew";
    case Limit::hoist:
      return "hoist";
    case Limit::tooth:
      return "tooth";
    case Limit::structure:
      return "structure";
    case Limit::sag:
      break;
  }
  return "sag";
}

double Curve::operator()(double x) const {
  if (at.empty()) return 0;
  if (x <= at.front()) return value.front();
  if (x >= at.back()) return value.back();
  const auto right = static_cast<std::size_t>(std::upper_bound(at.begin(), at.end(), x) - at.begin());
  const double share = (x - at[right - 1]) / (at[right] - at[right - 1]);
  return value[right - 1] + share * (value[right] - value[right - 1]);
}

std::string fault_of(const LiftingMachine& m) {
  const int bodies = static_cast<int>(m.bodies.size());
  const auto known = [&](int body) { return body >= 0 && body < bodies; };
  if (!known(m.luff_body)) return "the machine names no luffing body";
  if (!known(m.hook_body)) return "the machine names no body that carries the hook";
  if (m.slew_body >= bodies) return "the slewing body is not there";
  if (!(m.luff_low_rad <= m.luff_high_rad)) return "the luffing range is upside down";
  if (m.luff_high_rad - m.luff_low_rad > 2 * std::numbers::pi) return "the luffing range is more than a turn";
  for (const int b : {m.slew_body, m.luff_body}) {
    if (b >= 0 && m.bodies[static_cast<std::size_t>(b)].weighed.body.joint != Joint::turns) {
      return "the bodies that slew and luff need a joint that turns";
    }
  }
  for (int b = 0; b < bodies; ++b) {
    const LiftingBody& body = m.bodies[static_cast<std::size_t>(b)];
    if (body.weighed.body.parent >= b) return "body " + std::to_string(b) + " hangs on a later one";
    const std::string fault = fault_of(body.give, "the give of body " + std::to_string(b));
    if (!fault.empty()) return fault;
  }
  for (const JointLimit& limit : m.joint_limits) {
    if (!known(limit.body)) return "limit \"" + limit.name + "\" names a body that is not there";
    const std::string fault = fault_of(limit.holds, "limit \"" + limit.name + "\"");
    if (!fault.empty()) return fault;
  }
  for (const PayloadLimit& limit : m.payload_limits) {
    if (!limit.greatest_n) return "limit \"" + limit.name + "\" has no function";
  }
  if (m.postures.empty()) return "the machine has no posture";
  for (const LiftPosture& p : m.postures) {
    if (p.joint.size() != m.bodies.size()) return "posture \"" + p.name + "\" does not set every body's joint";
  }
  if (m.states.empty()) return "the machine stands on nothing";
  for (const SupportState& s : m.states) {
    const std::string fault = fault_of(s);
    if (!fault.empty()) return fault;
    if (tipping_polygon(s, m.slope).size() < 3) return "\"" + s.name + "\" is no polygon to stand on, on this slope";
  }
  return "";
}

Lifter::Lifter(const LiftingMachine& machine, const LiftOptions& options) : machine_(machine), options_(options) {
  const std::string fault = fault_of(machine);
  KW_CHECK(fault.empty(), fault);
  const std::size_t n = machine.bodies.size();
  for (const LiftingBody& b : machine.bodies) {
    bodies_.push_back(b.weighed.body);
    weight_n_ += balance::weight_n(b.weighed.body.mass_g);
  }
  below_.resize(n);
  carries_hook_.assign(n, 0);
  for (std::size_t i = 0; i < n; ++i) {
    for (int j = static_cast<int>(i); j >= 0; j = bodies_[static_cast<std::size_t>(j)].parent) {
      below_[static_cast<std::size_t>(j)].push_back(static_cast<int>(i));
      if (static_cast<int>(i) == machine.hook_body) carries_hook_[static_cast<std::size_t>(j)] = 1;
    }
  }
  for (std::size_t j = 0; j < n; ++j) {
    bool asked = options.sagged && !machine.bodies[j].give.at.empty();
    for (const JointLimit& limit : machine.joint_limits) asked = asked || limit.body == static_cast<int>(j);
    if (asked && bodies_[j].joint != Joint::fixed) asked_.push_back(static_cast<int>(j));
  }
  const Slope& slope = machine.slope;
  const double s = std::sin(slope.angle_rad), c = std::cos(slope.angle_rad), t = std::tan(slope.angle_rad);
  const double dx = std::cos(slope.downhill_rad), dy = std::sin(slope.downhill_rad);
  gravity_ = {s * dx, s * dy, -c};
  for (const SupportState& state : machine.states) {
    std::vector<Edge> edges;
    for (const TippingEdge& e : tipping_edges(state, slope)) {
      const double ex = e.to.x_mm - e.from.x_mm, ey = e.to.y_mm - e.from.y_mm, length = std::hypot(ex, ey);
      Edge edge;
      edge.inwards = {-ey / length, ex / length, 0};
      edge.inwards.z_mm = t * (edge.inwards.x_mm * dx + edge.inwards.y_mm * dy);
      edge.offset_mm = -(edge.inwards.x_mm * e.from.x_mm + edge.inwards.y_mm * e.from.y_mm);
      if (options.sagged && e.back_mm > 0) edge.lean_per_n = c / (e.stiffness_n_per_mm * e.back_mm);
      edges.push_back(edge);
    }
    edges_.push_back(edges);
  }
  centre_of_.resize(n);
  effort_.resize(n);
}

void Lifter::set(int state, int posture, double slew_rad, double luff_rad) {
  set_ = machine_.postures[static_cast<std::size_t>(posture)].joint;
  if (machine_.slew_body >= 0) set_[static_cast<std::size_t>(machine_.slew_body)] = slew_rad;
  set_[static_cast<std::size_t>(machine_.luff_body)] = luff_rad;
  joint_ = set_;
  give_.assign(set_.size(), 0);
  if (options_.sagged) {
    for (const int j : asked_) {
      const auto b = static_cast<std::size_t>(j);
      give_[b] = machine_.bodies[b].give(set_[b]);
    }
  }
  hold_.clear();
  for (const JointLimit& limit : machine_.joint_limits) {
    hold_.push_back(limit.holds(set_[static_cast<std::size_t>(limit.body)]));
  }
  asked_pose_.state = state;
  asked_pose_.posture = posture;
  asked_pose_.slew_rad = slew_rad;
  asked_pose_.luff_rad = luff_rad;
}

void Lifter::evaluate() {
  for (std::size_t i = 0; i < bodies_.size(); ++i) {
    (bodies_[i].joint == Joint::slides ? bodies_[i].travel_mm : bodies_[i].angle_rad) = joint_[i];
  }
  poses(bodies_, pose_);
  double mass = 0;
  Vec3 sum;
  for (std::size_t i = 0; i < bodies_.size(); ++i) {
    centre_of_[i] = pose_[i].apply(bodies_[i].centre);
    mass += bodies_[i].mass_g;
    sum = sum + bodies_[i].mass_g * centre_of_[i];
  }
  centre_ = mass > 0 ? (1 / mass) * sum : Vec3{};
  hook_ = pose_[static_cast<std::size_t>(machine_.hook_body)].apply(machine_.hook);
  for (const int joint : asked_) {
    const auto j = static_cast<std::size_t>(joint);
    const Vec3 axis = turned(pose_[j], bodies_[j].axis);
    double below_g = 0;
    Vec3 moment;
    for (const int i : below_[j]) {
      const auto b = static_cast<std::size_t>(i);
      below_g += bodies_[b].mass_g;
      moment = moment + bodies_[b].mass_g * (centre_of_[b] - pose_[j].t);
    }
    Effort& e = effort_[j];
    if (bodies_[j].joint == Joint::slides) {
      const double along = dot(gravity_, axis);
      e = {balance::weight_n(below_g) * along, carries_hook_[j] ? along : 0};
    } else {
      // (r x g) . axis, with the masses' g and mm already summed; weight_n(1) turns grams into newtons.
      e.own = balance::weight_n(1) * dot(cross(moment, gravity_), axis);
      e.per_n = carries_hook_[j] ? dot(cross(hook_ - pose_[j].t, gravity_), axis) : 0;
    }
  }
}

double Lifter::sag(double load_n) {
  double change = 0;
  for (const int joint : asked_) {
    const auto j = static_cast<std::size_t>(joint);
    if (give_[j] == 0) continue;
    const double next = set_[j] + give_[j] * (effort_[j].own + load_n * effort_[j].per_n);
    change = std::max(change, std::fabs(next - joint_[j]));
    joint_[j] = next;
  }
  return change;
}

bool Lifter::settle_under(double load_n) {
  for (int round = 0; round < kMostRounds; ++round) {
    evaluate();
    if (sag(load_n) < 1e-12) return true;
    for (const int joint : asked_) {
      const auto j = static_cast<std::size_t>(joint);
      if (bodies_[j].joint == Joint::turns && std::fabs(joint_[j] - set_[j]) > kMostSag_rad) return false;
    }
  }
  return false;
}

double Lifter::distance_mm(const Edge& edge, Vec3 point, double lean) const {
  return edge.offset_mm + dot(edge.inwards, point) - lean * point.z_mm;
}

Lifter::Found Lifter::tipping_here(double load_n) const {
  Found out{kInfinity, -1, true};
  const auto& edges = edges_[static_cast<std::size_t>(asked_pose_.state)];
  for (std::size_t e = 0; e < edges.size(); ++e) {
    const double lean = edges[e].lean_per_n * (weight_n_ + load_n);
    const double resisting = weight_n_ * distance_mm(edges[e], centre_, lean);
    const double arm = -distance_mm(edges[e], hook_, lean);
    if (resisting < 0) return {0, static_cast<int>(e), true};
    if (arm > 0 && resisting < out.load_n * arm) out = {resisting / arm, static_cast<int>(e), true};
  }
  return out;
}

double Lifter::limit_here(std::size_t limit) const {
  const std::size_t joints = machine_.joint_limits.size();
  if (limit >= joints) {
    return std::max(0.0, machine_.payload_limits[limit - joints].greatest_n(asked_pose_));
  }
  const auto body = static_cast<std::size_t>(machine_.joint_limits[limit].body);
  if (bodies_[body].joint == Joint::fixed) return kInfinity;
  const Effort& e = effort_[body];
  const double hold = hold_[limit];
  if (std::fabs(e.own) > hold) return 0;
  if (e.per_n == 0) return kInfinity;
  return (e.per_n > 0 ? hold - e.own : hold + e.own) / std::fabs(e.per_n);
}

Lifter::Found Lifter::drive_here() const {
  Found out{kInfinity, -1, true};
  const std::size_t count = machine_.joint_limits.size() + machine_.payload_limits.size();
  for (std::size_t i = 0; i < count; ++i) {
    const double load_n = limit_here(i);
    if (load_n < out.load_n) out = {load_n, static_cast<int>(i), true};
  }
  return out;
}

template <class Here>
Lifter::Found Lifter::settle_on(const Here& here, double most_n) {
  joint_ = set_;
  evaluate();
  if (!options_.sagged) return here(0.0);
  // Load and sag together: each round sags under the load the last pose holds.
  Found found = here(0.0);
  double load_n = 0;
  for (int round = 0; round < kMostRounds && std::isfinite(found.load_n); ++round) {
    load_n = found.load_n;
    const double change = sag(load_n);
    evaluate();
    found = here(load_n);
    if (change < kSettledShare && std::fabs(found.load_n - load_n) <= kSettledShare * (load_n + 1e-3)) return found;
  }
  // No plain answer: either nothing tips before the machine has sagged, or it is very soft. Bracket, then halve.
  const auto holds = [&](double load) {
    if (!settle_under(load)) return 0;  // too soft to say
    found = here(load);
    return found.load_n >= load ? 1 : -1;
  };
  joint_ = set_;
  const int empty = holds(0);
  if (empty == 0) return {0, -1, false};
  if (!(found.load_n > 0)) return found;
  double low = 0, high = std::min(most_n, 1000 * (weight_n_ + 1));
  const int full = holds(high);
  if (full > 0) return {kInfinity, -1, true};
  for (int i = 0; i < 100 && high - low > kSettledShare * high; ++i) {
    const double middle = (low + high) / 2;
    joint_ = set_;
    if (holds(middle) > 0) {
      low = middle;
    } else {
      high = middle;
    }
  }
  joint_ = set_;
  const bool settled = settle_under(low);
  found = here(low);
  // At the end of what can be judged the load is still held: it is the sag that stops here.
  if (!settled || found.load_n > low * (1 + 1e-6) + 1e-6) return {low, -1, false};
  return {low, found.index, true};
}

double Lifter::confidence(double load_n) const {
  // Union of the failures, each by a normal distribution: a lower bound whatever their correlation.
  double miss = 0;
  const auto& edges = edges_[static_cast<std::size_t>(asked_pose_.state)];
  for (const Edge& edge : edges) {
    const double lean = edge.lean_per_n * (weight_n_ + load_n);
    double mean = load_n * distance_mm(edge, hook_, lean), variance = 0;
    const Vec3 along = edge.inwards - Vec3{0, 0, lean};
    for (std::size_t i = 0; i < bodies_.size(); ++i) {
      const double distance = distance_mm(edge, centre_of_[i], lean), weight = balance::weight_n(bodies_[i].mass_g);
      const WeighedBody& body = machine_.bodies[i].weighed;
      const double by_mass = balance::weight_n(body.mass_sd_g) * distance;
      const double* r = pose_[i].r;
      const double own[3] = {body.centre_sd_mm.x_mm * (r[0] * along.x_mm + r[3] * along.y_mm + r[6] * along.z_mm),
                             body.centre_sd_mm.y_mm * (r[1] * along.x_mm + r[4] * along.y_mm + r[7] * along.z_mm),
                             body.centre_sd_mm.z_mm * (r[2] * along.x_mm + r[5] * along.y_mm + r[8] * along.z_mm)};
      mean += weight * distance;
      variance += by_mass * by_mass + weight * weight * (own[0] * own[0] + own[1] * own[1] + own[2] * own[2]);
    }
    if (variance > 0) {
      miss += upper_tail(mean / std::sqrt(variance));
    } else if (mean < 0) {
      miss += 1;
    }
  }
  const std::size_t joints = machine_.joint_limits.size();
  for (std::size_t i = 0; i < joints; ++i) {
    const JointLimit& limit = machine_.joint_limits[i];
    const auto body = static_cast<std::size_t>(limit.body);
    if (limit.sd_share <= 0 || bodies_[body].joint == Joint::fixed) continue;
    const double spare = hold_[i] - std::fabs(effort_[body].own + load_n * effort_[body].per_n);
    miss += hold_[i] > 0 ? upper_tail(spare / (limit.sd_share * hold_[i])) : 0;
  }
  for (std::size_t i = 0; i < machine_.payload_limits.size(); ++i) {
    const double share = machine_.payload_limits[i].sd_share, holds = limit_here(joints + i);
    if (share > 0 && std::isfinite(holds) && holds > 0) miss += upper_tail((holds - load_n) / (share * holds));
  }
  return std::clamp(1 - miss, 0.0, 1.0);
}

void Lifter::solve(LiftDetail& out) {
  LiftCell& cell = out.cell;
  const double tipping_share = machine_.states[static_cast<std::size_t>(asked_pose_.state)].tipping_share;
  const auto see_pose = [&] {
    asked_pose_.hook = hook_;
    asked_pose_.joint = joint_;
  };
  const Found drive = settle_on(
      [&](double) {
        see_pose();
        return drive_here();
      },
      kInfinity);
  drive_joint_ = joint_;
  // Beyond this load tipping no longer matters, not even for the rated load.
  const double matters_n = drive.load_n * std::max(1.0, options_.drive_share / tipping_share) * (1 + 1e-9);
  const Found tipping = settle_on([&](double load) { return tipping_here(load); }, matters_n);
  const bool tips = tipping.load_n <= drive.load_n;
  const double greatest = std::min(tipping.load_n, drive.load_n);
  const double by_tipping = tipping_share * tipping.load_n, by_drive = options_.drive_share * drive.load_n;
  const double rated = std::min(by_tipping, by_drive);

  const auto limit_kind = [&](int index) {
    const auto i = static_cast<std::size_t>(index), joints = machine_.joint_limits.size();
    return i < joints ? machine_.joint_limits[i].kind : machine_.payload_limits[i - joints].kind;
  };
  const auto kind_of = [&](bool by_tip, const Found& by) {
    if (!by.settled) return Limit::sag;
    if (!std::isfinite(by.load_n)) return Limit::none;
    return by_tip ? Limit::tipping : limit_kind(by.index);
  };
  cell.governs = kind_of(tips, tips ? tipping : drive);
  cell.rated_governs = kind_of(by_tipping <= by_drive, by_tipping <= by_drive ? tipping : drive);
  const double tare = machine_.tare_n;
  cell.tipping_n = without_tare(tipping.load_n, tare);
  cell.drive_n = without_tare(drive.load_n, tare);
  cell.greatest_n = without_tare(greatest, tare);
  cell.rated_n = without_tare(rated, tare);

  if (!tips) {
    joint_ = drive_joint_;
    evaluate();
  } else if (!std::isfinite(greatest)) {
    joint_ = set_;
    (void)settle_under(0);
  }
  see_pose();
  cell.confidence = confidence(std::isfinite(rated) ? std::max(rated, 0.0) : 0);
  const Vec3 axis = machine_.slew_body >= 0 ? pose_[static_cast<std::size_t>(machine_.slew_body)].t : Vec3{};
  cell.sagged_radius_mm = std::hypot(hook_.x_mm - axis.x_mm, hook_.y_mm - axis.y_mm);
  cell.hook_height_mm = hook_.z_mm;
  out.tipping_edge = tipping.index;
  out.drive_limit = drive.index;
}

LiftCell Lifter::cell(int state, int posture, double slew_rad, double radius_mm, const Reach& reach) {
  LiftDetail out;
  if (!reach.reached) return out.cell;
  set(state, posture, slew_rad, reach.luff_rad);
  asked_pose_.radius_mm = radius_mm;
  out.cell.reached = true;
  out.cell.luff_rad = reach.luff_rad;
  solve(out);
  return out.cell;
}

LiftDetail Lifter::detail(int state, int posture, double slew_rad, double radius_mm) {
  LiftDetail out;
  const Reach at = reach(posture, radius_mm);
  if (!at.reached) return out;
  set(state, posture, slew_rad, at.luff_rad);
  asked_pose_.radius_mm = radius_mm;
  out.cell.reached = true;
  out.cell.luff_rad = at.luff_rad;
  solve(out);
  out.joint = joint_;
  out.hook = hook_;
  if (out.tipping_edge >= 0) {
    const Edge& edge = edges_[static_cast<std::size_t>(state)][static_cast<std::size_t>(out.tipping_edge)];
    out.lean_rad = edge.lean_per_n * (weight_n_ + out.cell.tipping_n + machine_.tare_n);
  }
  for (std::size_t i = 0; i < machine_.joint_limits.size() + machine_.payload_limits.size(); ++i) {
    out.limit_payload_n.push_back(without_tare(limit_here(i), machine_.tare_n));
  }
  return out;
}

}  // namespace balance
