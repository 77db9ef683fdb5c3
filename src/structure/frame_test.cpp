// Covers the frame solver: published frames, handbook closed forms, and laws every linear frame obeys (no strain in
// rigid motion, turning the axes, mirror, reciprocity, shares that sum up).
#include "structure/frame.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/triple.h"
#include "structure/beam.h"
#include "structure/frame_matrices.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

constexpr double kPi = std::numbers::pi;
constexpr Material kPlastic{2300, 850};
constexpr BarSection kBar{50, 200, 300, 150};

std::size_t at(int i) {
  return static_cast<std::size_t>(i);
}

/// `parts` members along a straight line from the origin, first node clamped.
Frame straight(const Vec3& tip_mm, int parts, const BarSection& section = kBar, const Vec3& up = {0, 0, 1}) {
  Frame f;
  for (int i = 0; i <= parts; ++i) {
    const double s = double(i) / parts;
    f.nodes.push_back({"n" + std::to_string(i), {tip_mm[0] * s, tip_mm[1] * s, tip_mm[2] * s}, {}});
    if (i > 0) {
      FrameMember m{"m" + std::to_string(i), i - 1, i, section, kPlastic};
      m.up = up;
      f.members.push_back(m);
    }
  }
  f.nodes[0].held = kFixed;
  return f;
}

/// Something without any symmetry: bent in space, offsets, a loose end, a joint, a closed loop.
Frame crooked() {
  Frame f;
  f.nodes = {{"foot", {0, 0, 0}, kFixed},      {"knee", {80, 10, 30}, {}}, {"tip", {150, -20, 60}, {}},
             {"stay", {20, 70, -10}, kHinged}, {"twin", {80, 10, 30}, {}}, {"side", {120, 60, 10}, {}}};
  FrameMember a{"lower", 0, 1, {40, 120, 260, 90}, kPlastic, 0.02};
  a.offset_a_mm = {3, -2, 5};
  FrameMember b{"upper", 1, 2, {30, 90, 60, 50}, kPlastic, 0.015};
  b.offset_b_mm = {0, 4, -6};
  b.up = {0.3, 1, 0.2};
  FrameMember c{"strut", 3, 4, {20, 40, 40, 60}, kPlastic, 0.01};
  c.loose_b = {false, false, false, false, true, true};
  FrameMember d{"arm", 4, 5, {25, 50, 45, 40}, kPlastic, 0.01};
  FrameMember e{"tie", 5, 2, {15, 20, 30, 25}, kPlastic, 0.01};
  e.loose_a = {false, false, false, true, false, false};
  f.members = {a, b, c, d, e};
  f.joints = {{"hinge", 1, 4, {1, 2, -1}, {900, 1500, 1500, 0, 4e4, 4e4}}};
  return f;
}

Loads crooked_loads() {
  Loads l;
  l.nodes = {{2, {1, -2, 3, 40, -50, 60}}, {5, {-1, 0.5, 0, 0, 20, 0}}};
  l.spans = {{0, {0.01, -0.02, 0.005}}, {2, {0, 0.01, -0.03}}};
  l.gravity_m_s2 = {1, -2, -9.6};
  return l;
}

}  // namespace

TEST(Frame, PlaneFrameOfLogan) {
  // STRUCT-01: Logan, A First Course in the Finite Element Method, Example 5.1; inches and pounds; 1e-4 relative. The
  // member end forces are printed in the book to three digits (p. 241), the displacements are from memory.
  const Material steel{30e6, 11.5e6};
  const BarSection column{10, 200, 200, 1}, beam{10, 100, 100, 1};
  Frame f;
  const SixFlags plane{false, false, true, true, true, false};
  f.nodes = {
      {"1", {0, 0, 0}, kFixed}, {"2", {0, 120, 0}, plane}, {"3", {120, 120, 0}, plane}, {"4", {120, 0, 0}, kFixed}};
  f.members = {{"1-2", 0, 1, column, steel}, {"2-3", 1, 2, beam, steel}, {"3-4", 2, 3, column, steel}};
  const FrameModel model(f);
  Loads l;
  l.nodes = {{1, {10000, 0, 0, 0, 0, 0}}, {2, {0, 0, 0, 0, 0, 5000}}};
  const FrameState s = model.solve(l);
  const auto near = [](double value, double expected) { EXPECT_NEAR(value, expected, 1e-4 * std::fabs(expected)); };
  near(s.displacement[1][0], 0.211363);
  near(s.displacement[1][1], 0.00148133);
  near(s.displacement[1][5], -0.00152603);
  near(s.displacement[2][0], 0.209359);
  near(s.displacement[2][1], -0.00148133);
  near(s.displacement[2][5], -0.00148600);
  near(s.reaction[0][0], -4991.7);
  near(s.reaction[0][1], -3703.3);
  near(s.reaction[0][5], 375803);
  near(s.reaction[3][0], -5008.3);
  near(s.reaction[3][1], 3703.3);
  near(s.reaction[3][5], 374798);
  // Book p. 241: axial 3700, shears 4990 and 5010 lb, moments 376 000, 223 000, 221 000, 226 000, 375 000 lb in.
  EXPECT_NEAR(std::fabs(s.end_force[0][0]), 3700, 5);
  EXPECT_NEAR(std::fabs(s.end_force[0][1]), 4990, 5);
  EXPECT_NEAR(std::fabs(s.end_force[2][1]), 5010, 5);
  EXPECT_NEAR(std::fabs(s.end_force[0][5]), 376000, 500);
  EXPECT_NEAR(std::fabs(s.end_force[0][11]), 223000, 500);
  EXPECT_NEAR(std::fabs(s.end_force[1][11]), 221000, 500);
  EXPECT_NEAR(std::fabs(s.end_force[2][5]), 226000, 500);
  EXPECT_NEAR(std::fabs(s.end_force[2][11]), 375000, 500);
}

TEST(Frame, SpaceFrameOfLogan) {
  // STRUCT-02: Logan, Example 5.8; from memory, recomputed; 1e-4 relative; inches and kips.
  const Material steel{30000, 10000};
  const BarSection bar{10, 100, 100, 50};
  Frame f;
  f.nodes = {
      {"1", {100, 0, 0}, {}}, {"2", {0, 0, 0}, kFixed}, {"3", {100, 0, -100}, kFixed}, {"4", {100, -100, 0}, kFixed}};
  f.members = {{"a", 1, 0, bar, steel}, {"b", 2, 0, bar, steel}, {"c", 3, 0, bar, steel}};
  f.members[1].up = {0, 1, 0};
  const FrameModel model(f);
  Loads l;
  l.nodes = {{0, {0, -50, 0, -1000, 0, 0}}};
  const FrameState s = model.solve(l);
  const Six expected{7.0983e-5, -0.0139951, -0.00235189, -0.00399609, 1.78007e-5, -1.03343e-4};
  for (std::size_t i = 0; i < 6; ++i) {
    EXPECT_NEAR(s.displacement[0][i], expected[i], 1e-4 * std::fabs(expected[i])) << i;
  }
}

TEST(Frame, CantileverInAnyDirectionIsTheClosedForm) {
  // Shigley Table A-9 (beam.h) for bending in both planes, T L/(G K), F L/(E A); cut into any number of members.
  for (const Vec3& tip : {Vec3{120, 0, 0}, Vec3{0, 0, 120}, Vec3{40, -60, 80}}) {
    const Vec3 up = tip[0] == 0 ? Vec3{1, 0, 0} : Vec3{0, 0, 1};
    for (const int parts : {1, 2, 7}) {
      const FrameModel model(straight(tip, parts, kBar, up));
      const auto rows = internal::member_axes(model.frame(), model.frame().members[0]).rows;
      const double length = std::sqrt(tip[0] * tip[0] + tip[1] * tip[1] + tip[2] * tip[2]);
      const auto tip_in_own_axes = [&](int own, double size) {
        Loads l;
        Six load{};
        for (int i = 0; i < 3; ++i) load[at(i + (own < 3 ? 0 : 3))] = size * rows(own % 3, i);
        l.nodes = {{parts, load}};
        const Six u = model.solve(l).displacement.back();
        Six out{};
        for (int r = 0; r < 3; ++r) {
          for (int i = 0; i < 3; ++i) {
            out[at(r)] += rows(r, i) * u[at(i)];
            out[at(r + 3)] += rows(r, i) * u[at(i + 3)];
          }
        }
        return out;
      };
      const auto relative = [](double value, double expected) {
        EXPECT_NEAR(value, expected, 1e-9 * std::fabs(expected));
      };
      const double e = kPlastic.e_mpa;
      relative(tip_in_own_axes(0, 5)[0], 5 * length / (e * kBar.area_mm2));
      relative(tip_in_own_axes(1, 2)[1], cantilever_tip_mm(2, length, e, kBar.second_z_mm4));
      relative(tip_in_own_axes(1, 2)[5], cantilever_tip_slope_rad(2, length, e, kBar.second_z_mm4));
      relative(tip_in_own_axes(2, 2)[2], cantilever_tip_mm(2, length, e, kBar.second_y_mm4));
      relative(tip_in_own_axes(2, 2)[4], -cantilever_tip_slope_rad(2, length, e, kBar.second_y_mm4));
      relative(tip_in_own_axes(3, 90)[3], 90 * length / (kPlastic.g_mpa * kBar.torsion_mm4));
    }
  }
}

TEST(Frame, SelfWeightBendsAsAUniformLoad) {
  Frame f = straight({150, 0, 0}, 3);
  for (FrameMember& m : f.members) m.mass_g_mm = 0.04;
  Loads l;
  l.gravity_m_s2 = {0, 0, -9.81};
  const FrameState s = FrameModel(f).solve(l);
  const double q = 0.04e-3 * 9.81;
  EXPECT_NEAR(-s.displacement[3][2], cantilever_uniform_tip_mm(q, 150, kPlastic.e_mpa, kBar.second_y_mm4), 1e-10);
  EXPECT_NEAR(s.reaction[0][2], q * 150, 1e-12);
  EXPECT_NEAR(s.reaction[0][4], -q * 150 * 75, 1e-10);
}

TEST(Frame, LooseEndsGiveTheProppedAndTheHangingSpan) {
  // Uniform load, one end clamped, the other pinned: 3/8 q L at the pin, q L^2/8 at the clamp (Shigley Table A-9).
  Frame f = straight({100, 0, 0}, 1);
  f.nodes[1].held = kFixed;
  f.members[0].loose_b = {false, false, false, false, true, true};
  Loads l;
  l.spans = {{0, {0, 0.3, -0.2}}};
  const FrameState s = FrameModel(f).solve(l);
  EXPECT_NEAR(s.reaction[1][2], 0.2 * 100 * 3 / 8, 1e-10);
  EXPECT_NEAR(s.reaction[1][1], -0.3 * 100 * 3 / 8, 1e-10);
  EXPECT_NEAR(s.reaction[0][2], 0.2 * 100 * 5 / 8, 1e-10);
  EXPECT_NEAR(std::fabs(s.reaction[0][4]), 0.2 * 100 * 100 / 8, 1e-9);
  EXPECT_NEAR(s.reaction[1][4], 0, 1e-10);
  // Hinges at a third and two thirds of a clamped beam: two cantilevers carry a hanging span; the hinge sinks by
  // P a^3/(3 E I) with P = q a/2 and its own load, q a^4/(8 E I).
  Frame g = straight({90, 0, 0}, 3);
  g.nodes[3].held = kFixed;
  g.members[1].loose_a = g.members[1].loose_b = {false, false, false, false, true, true};
  Loads span;
  span.spans = {{0, {0, 0, -0.2}}, {1, {0, 0, -0.2}}, {2, {0, 0, -0.2}}};
  const FrameState t = FrameModel(g).solve(span);
  const double ei = kBar.second_y_mm4;
  EXPECT_NEAR(
      -t.displacement[1][2],
      cantilever_tip_mm(0.2 * 15, 30, kPlastic.e_mpa, ei) + cantilever_uniform_tip_mm(0.2, 30, kPlastic.e_mpa, ei),
      1e-10);
}

TEST(Frame, PortalWithFixedAndHingedFeet) {
  // Kleinlogel, Rigid Frame Formulas, portal under a side load W at beam level (from memory), k = I_b h/(I_c l) swapped
  // to k = (I_beam/I_column)(h/l): fixed feet M_foot = W h/2 (3k + 1)/(6k + 1), M_corner = W h/2 3k/(6k + 1); hinged
  // feet M_corner = W h/2. Without stretch: areas are made very large.
  const double h = 90, l = 130, w = 4;
  const BarSection column{1e7, 200, 200, 100}, beam{1e7, 350, 350, 100};
  const double k = 350.0 / 200 * h / l;
  for (const bool fixed : {true, false}) {
    Frame f;
    const SixFlags plane{false, true, false, true, false, true};
    SixFlags foot = kFixed;
    if (!fixed) foot[4] = false;
    f.nodes = {{"a", {0, 0, 0}, foot}, {"b", {0, 0, h}, plane}, {"c", {l, 0, h}, plane}, {"d", {l, 0, 0}, foot}};
    f.members = {{"left", 0, 1, column, kPlastic}, {"beam", 1, 2, beam, kPlastic}, {"right", 3, 2, column, kPlastic}};
    f.members[0].up = f.members[2].up = {1, 0, 0};
    Loads load;
    load.nodes = {{1, {w, 0, 0, 0, 0, 0}}};
    const FrameModel model(f);
    const FrameState s = model.solve(load);
    const double foot_nmm = fixed ? w * h / 2 * (3 * k + 1) / (6 * k + 1) : 0;
    const double corner_nmm = fixed ? w * h / 2 * 3 * k / (6 * k + 1) : w * h / 2;
    EXPECT_NEAR(std::fabs(s.reaction[0][4]), foot_nmm, 2e-3);
    EXPECT_NEAR(std::fabs(s.reaction[3][4]), foot_nmm, 2e-3);
    const auto bending = [](const std::array<double, 12>& force, std::size_t y) {
      return std::hypot(force[y], force[y + 1]);
    };
    EXPECT_NEAR(bending(s.end_force[1], 4), corner_nmm, 2e-3);
    EXPECT_NEAR(bending(s.end_force[1], 10), corner_nmm, 2e-3);
  }
}

TEST(Frame, QuarterCircleBowBendsAndTwists) {
  // Load square to the plane of a quarter circle at its free end: P R^3 (pi/4/(E I) + (3 pi/4 - 2)/(G K)), Castigliano;
  // Timoshenko, Strength of Materials (from memory). Chords instead of arcs: error falls with the square of their size.
  const double r = 80, p = 1.5;
  constexpr int kParts = 60;
  Frame f;
  for (int i = 0; i <= kParts; ++i) {
    const double a = kPi / 2 * i / kParts;
    f.nodes.push_back({"", {r * std::sin(a), r * (1 - std::cos(a)), 0}, {}});
    if (i > 0) f.members.push_back({"", i - 1, i, kBar, kPlastic});
  }
  f.nodes[0].held = kFixed;
  Loads l;
  l.nodes = {{kParts, {0, 0, p, 0, 0, 0}}};
  const FrameModel model(f);
  const FrameState s = model.solve(l), unit = model.solve_unit(kParts, Freedom::z);
  const double bend = p * r * r * r * kPi / 4 / (kPlastic.e_mpa * kBar.second_y_mm4);
  const double twist = p * r * r * r * (3 * kPi / 4 - 2) / (kPlastic.g_mpa * kBar.torsion_mm4);
  EXPECT_NEAR(s.displacement.back()[2], bend + twist, 2e-3 * (bend + twist));
  double bend_share = 0, twist_share = 0;
  for (int i = 0; i < kParts; ++i) {
    const MemberShare share = model.member_share(i, unit, s);
    bend_share += share.bend_y;
    twist_share += share.twist;
  }
  EXPECT_NEAR(bend_share, bend, 2e-3 * bend);
  EXPECT_NEAR(twist_share, twist, 3e-3 * twist);
}

TEST(Frame, OffsetIsAShortRigidArm) {
  // A bar beside the line of its nodes, pulled along the line: it stretches by F L/(E A) and bends by F e, so its end
  // turns by F e L/(E I), and the node at the arm's end goes e times that further. Closed form.
  const double e_mm = 12, l_mm = 100, force = 30;
  Frame f = straight({l_mm, 0, 0}, 1);
  f.members[0].offset_a_mm = f.members[0].offset_b_mm = {0, 0, e_mm};
  Loads l;
  l.nodes = {{1, {force, 0, 0, 0, 0, 0}}};
  const Six u = FrameModel(f).solve(l).displacement[1];
  const double ei = kPlastic.e_mpa * kBar.second_y_mm4, turn = force * e_mm * l_mm / ei;
  EXPECT_NEAR(u[4], -turn, 1e-12);
  EXPECT_NEAR(u[0], force * l_mm / (kPlastic.e_mpa * kBar.area_mm2) + e_mm * turn, 1e-10);
  EXPECT_NEAR(u[2], turn * l_mm / 2, 1e-10);
}

TEST(Frame, UnheldFrameHasSixMotionsWithoutStrain) {
  Frame f = crooked();
  for (FrameNode& n : f.nodes) n.held = {};
  // Close the hinges that would add motions of their own: about the joint's axis, and the strut's swing about its end.
  f.joints[0].stiffness[3] = 700;
  f.members[2].loose_b = {};
  const FrameModel model(f);
  ASSERT_TRUE(model.mechanism().has_value());
  const internal::FrameMatrices& m = model.matrices();
  const Eigen::MatrixXd k(m.assemble(m.condensed, m.springs));
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(k);
  int zero = 0;
  for (Eigen::Index i = 0; i < k.rows(); ++i)
    zero += eigen.eigenvalues()(i) < 1e-9 * eigen.eigenvalues().maxCoeff() ? 1 : 0;
  EXPECT_EQ(zero, 6);
  EXPECT_LT((k - k.transpose()).cwiseAbs().maxCoeff(), 1e-9 * k.cwiseAbs().maxCoeff());
  for (int motion = 0; motion < 6; ++motion) {
    Eigen::VectorXd u(6 * static_cast<int>(f.nodes.size()));
    for (std::size_t n = 0; n < f.nodes.size(); ++n) {
      Eigen::Vector3d shift = Eigen::Vector3d::Zero(), turn = Eigen::Vector3d::Zero();
      (motion < 3 ? shift : turn)(motion % 3) = 1;
      shift += turn.cross(internal::vector_of(f.nodes[n].at_mm));
      u.segment<3>(static_cast<Eigen::Index>(6 * n)) = shift;
      u.segment<3>(static_cast<Eigen::Index>(6 * n + 3)) = turn;
    }
    EXPECT_LT((k * u).cwiseAbs().maxCoeff(), 1e-9 * k.cwiseAbs().maxCoeff()) << motion;
  }
}

TEST(Frame, MechanismNamesWhatMoves) {
  // A strut pinned at both ends with a hinge in its middle folds there.
  Frame f = straight({100, 0, 0}, 2);
  f.nodes[0].held = f.nodes[2].held = {true, true, true, true, false, false};
  f.members[0].loose_b = {false, false, false, false, true, true};
  const FrameModel model(f);
  ASSERT_TRUE(model.mechanism().has_value());
  EXPECT_EQ(model.mechanism()->node, 1);
  EXPECT_TRUE(model.mechanism()->freedom == Freedom::y || model.mechanism()->freedom == Freedom::z);
  EXPECT_THROW((void)model.solve({}), base::InternalFault);
  // A long slender chain is soft, not a mechanism.
  EXPECT_FALSE(FrameModel(straight({4000, 0, 0}, 400)).mechanism().has_value());
}

TEST(Frame, TurningTheWholeModelTurnsTheAnswer) {
  const Frame plain = crooked();
  const Loads load = crooked_loads();
  const FrameState expected = FrameModel(plain).solve(load);
  const Eigen::Matrix3d turn = (Eigen::AngleAxisd(0.7, Eigen::Vector3d(1, 2, 3).normalized()) *
                                Eigen::AngleAxisd(-1.9, Eigen::Vector3d(0.3, -1, 0.2).normalized()))
                                   .toRotationMatrix();
  const auto turned = [&](const Vec3& v) {
    const Eigen::Vector3d w = turn * internal::vector_of(v);
    return Vec3{w.x(), w.y(), w.z()};
  };
  const auto turned_six = [&](const Six& v) {
    const Vec3 a = turned({v[0], v[1], v[2]}), b = turned({v[3], v[4], v[5]});
    return Six{a[0], a[1], a[2], b[0], b[1], b[2]};
  };
  Frame f = plain;
  for (FrameNode& n : f.nodes) n.at_mm = turned(n.at_mm);
  for (FrameMember& m : f.members) {
    m.up = turned(m.up);
    m.offset_a_mm = turned(m.offset_a_mm);
    m.offset_b_mm = turned(m.offset_b_mm);
  }
  for (FrameJoint& j : f.joints) j.axis = turned(j.axis);
  Loads l = load;
  for (NodeLoad& n : l.nodes) n.load = turned_six(n.load);
  for (SpanLoad& s : l.spans) s.force_n_mm = turned(s.force_n_mm);
  l.gravity_m_s2 = turned(l.gravity_m_s2);
  const FrameState got = FrameModel(f).solve(l);
  for (std::size_t n = 0; n < f.nodes.size(); ++n) {
    const Six want = turned_six(expected.displacement[n]), force = turned_six(expected.reaction[n]);
    for (std::size_t i = 0; i < 6; ++i) {
      EXPECT_NEAR(got.displacement[n][i], want[i], 1e-9);
      EXPECT_NEAR(got.reaction[n][i], force[i], 1e-7);
    }
  }
}

TEST(Frame, MirrorImageMovesAsAMirrorImage) {
  // Across y = 0: forces and shifts change sign in y, moments and turns in x and z.
  const auto mirror_vec = [](Vec3 v) {
    v[1] = -v[1];
    return v;
  };
  const auto mirror_six = [](Six v) {
    for (const std::size_t i : {1, 3, 5}) v[i] = -v[i];
    return v;
  };
  Frame f = crooked();
  Loads l = crooked_loads();
  const FrameState expected = FrameModel(f).solve(l);
  for (FrameNode& n : f.nodes) n.at_mm = mirror_vec(n.at_mm);
  for (FrameMember& m : f.members) {
    m.up = mirror_vec(m.up);
    m.offset_a_mm = mirror_vec(m.offset_a_mm);
    m.offset_b_mm = mirror_vec(m.offset_b_mm);
  }
  for (FrameJoint& j : f.joints) j.axis = mirror_vec(j.axis);
  for (NodeLoad& n : l.nodes) n.load = mirror_six(n.load);
  for (SpanLoad& s : l.spans) s.force_n_mm = mirror_vec(s.force_n_mm);
  l.gravity_m_s2 = mirror_vec(l.gravity_m_s2);
  const FrameState got = FrameModel(f).solve(l);
  for (std::size_t n = 0; n < f.nodes.size(); ++n) {
    for (std::size_t i = 0; i < 6; ++i) {
      EXPECT_NEAR(got.displacement[n][i], mirror_six(expected.displacement[n])[i], 1e-10);
    }
  }
}

TEST(Frame, ReciprocityBalanceAndSharesOnRandomFrames) {
  // Maxwell and Betti; equilibrium of ground and loads; the unit-load method's shares sum to the displacement.
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    const auto draw = [&](std::uint64_t stream, double low, double high) {
      return low + (high - low) * base::uniform_draw(seed, stream, 7);
    };
    Frame f = crooked();
    std::uint64_t stream = 0;
    const double moved_x = draw(stream++, -15, 15), moved_z = draw(stream++, -15, 15);
    for (const std::size_t n : {1, 4}) {
      f.nodes[n].at_mm[0] += moved_x;
      f.nodes[n].at_mm[2] += moved_z;
    }
    for (FrameMember& m : f.members) m.section.second_y_mm4 *= draw(stream++, 0.5, 3);
    const FrameModel model(f);
    ASSERT_FALSE(model.mechanism().has_value());
    const FrameState s = model.solve(crooked_loads());
    const auto first = model.solve_unit(2, Freedom::y), second = model.solve_unit(5, Freedom::turn_x);
    EXPECT_NEAR(first.displacement[5][3], second.displacement[2][1], 1e-12);

    double sum = 0;
    for (std::size_t m = 0; m < f.members.size(); ++m) sum += model.member_share(static_cast<int>(m), first, s).sum();
    sum += model.joint_share(0, first, s);
    EXPECT_NEAR(sum, s.displacement[2][1], 1e-9 * std::fabs(s.displacement[2][1]) + 1e-11);

    Eigen::Vector3d force = Eigen::Vector3d::Zero(), moment = Eigen::Vector3d::Zero();
    const auto add = [&](const Eigen::Vector3d& place, const Eigen::Vector3d& load, const Eigen::Vector3d& couple) {
      force += load;
      moment += place.cross(load) + couple;
    };
    const Loads l = crooked_loads();
    for (std::size_t n = 0; n < f.nodes.size(); ++n) {
      const Six& r = s.reaction[n];
      add(internal::vector_of(f.nodes[n].at_mm), {r[0], r[1], r[2]}, {r[3], r[4], r[5]});
    }
    for (const NodeLoad& n : l.nodes) {
      add(internal::vector_of(f.nodes[at(n.node)].at_mm), {n.load[0], n.load[1], n.load[2]},
          {n.load[3], n.load[4], n.load[5]});
    }
    for (std::size_t m = 0; m < f.members.size(); ++m) {
      const FrameMember& member = f.members[m];
      const Eigen::Vector3d a =
          internal::vector_of(f.nodes[at(member.a)].at_mm) + internal::vector_of(member.offset_a_mm);
      const Eigen::Vector3d b =
          internal::vector_of(f.nodes[at(member.b)].at_mm) + internal::vector_of(member.offset_b_mm);
      Eigen::Vector3d q = 1e-3 * member.mass_g_mm * internal::vector_of(l.gravity_m_s2);
      for (const SpanLoad& span : l.spans) {
        if (span.member == static_cast<int>(m)) q += internal::vector_of(span.force_n_mm);
      }
      add((a + b) / 2, q * (b - a).norm(), Eigen::Vector3d::Zero());
    }
    EXPECT_LT(force.norm(), 1e-9);
    EXPECT_LT(moment.norm(), 1e-7);
  }
}

TEST(Frame, DislocationIsTheUnitLoadsJointForce) {
  // Mueller-Breslau: shift of a gauge per unit of dislocation = joint force under a unit load at the gauge.
  const FrameModel model(crooked());
  for (const Freedom gauge : {Freedom::x, Freedom::z, Freedom::turn_y}) {
    const FrameState unit = model.solve_unit(2, gauge);
    for (std::size_t d = 0; d < 6; ++d) {
      Six relative{};
      relative[d] = 1;
      const FrameState moved = model.dislocate(0, relative);
      EXPECT_NEAR(moved.displacement[2][static_cast<std::size_t>(gauge)], unit.joint_force[0][d], 1e-9);
    }
  }
}

TEST(Frame, CuttingMembersChangesNothingStatic) {
  const Frame f = crooked();
  const Loads l{crooked_loads().nodes, {}, {1, -2, -9.6}};
  const FrameState whole = FrameModel(f).solve(l), cut = FrameModel(subdivided(f, 4)).solve(l);
  for (std::size_t n = 0; n < f.nodes.size(); ++n) {
    for (std::size_t i = 0; i < 6; ++i) EXPECT_NEAR(whole.displacement[n][i], cut.displacement[n][i], 1e-9);
  }
}

TEST(Frame, FaultsNameTheCulprit) {
  const auto expect = [](const Frame& f, const std::string& part) {
    const auto wrong = fault(f);
    ASSERT_TRUE(wrong.has_value()) << part;
    EXPECT_NE(wrong->find(part), std::string::npos) << *wrong;
  };
  EXPECT_FALSE(fault(crooked()).has_value());
  Frame f = crooked();
  f.members[1].up = {70, -26, 24};
  expect(f, "'upper' points along its own 'up'");
  f = crooked();
  f.members[2].b = 9;
  expect(f, "'strut' ends at a node that does not exist");
  f = crooked();
  f.members[3].section.torsion_mm4 = 0;
  expect(f, "'arm' needs a positive area");
  f = crooked();
  f.nodes[4].at_mm[0] += 1;
  expect(f, "'knee' and 'twin', which lie apart");
  f = crooked();
  f.members[0].loose_a[3] = f.members[0].loose_b[3] = true;
  expect(f, "'lower' is loose at both ends");
  f = crooked();
  f.joints[0].stiffness[2] = 3;
  expect(f, "'hinge' must be equally stiff");
  f = crooked();
  f.nodes[2].at_mm = {80, 6, 36};
  expect(f, "'upper' has no length");
}
