// Covers frames and sections against CalculiX (program ccx, Debian package calculix-ccx), which shares no code and no
// theory with the frame solver: it blows beam elements up into three-dimensional solids. Hence what can be compared:
//   - slender rectangular bars that bend and stretch as quadratic beam elements (B32R), fine enough that the clamped
//     cross contraction at the ends (Poisson) no longer shows; circular ones are only roughly circular there;
//   - twist, crosses and holes as solid bricks of our own mesh (C3D20R), never as beam elements, whose single brick
//   over
//     the section cannot warp properly.
#include <gtest/gtest.h>
#include <stdlib.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <numbers>
#include <sstream>
#include <string>
#include <vector>

#include "structure/buckling.h"

using namespace structure;  // NOLINT: a test of one namespace

namespace {

namespace fs = std::filesystem;

constexpr double kE = 2300, kG = 850, kPoisson = kE / (2 * kG) - 1;
constexpr Material kPlastic{kE, kG};

/// Blocks of a .dat file in order: title words, then node -> three numbers; buckling factors apart.
struct Answer {
  std::vector<std::map<int, Vec3>> displacements, forces;
  std::vector<double> buckling;
};

/// Runs a deck in a directory of its own; empty answer and a failed expectation when ccx does not run.
Answer run(const std::string& deck) {
  std::string name = (fs::temp_directory_path() / "kw_ccx_XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) {
    ADD_FAILURE() << "no temporary directory";
    return {};
  }
  const fs::path directory = name;
  std::ofstream(directory / "model.inp") << deck;
  const std::string command = "cd '" + directory.string() + "' && OMP_NUM_THREADS=1 ccx model >log 2>&1";
  const int status = std::system(command.c_str());
  Answer out;
  std::ifstream dat(directory / "model.dat");
  std::ifstream log_file(directory / "log");
  std::stringstream log;
  log << log_file.rdbuf();
  EXPECT_TRUE(status == 0 && dat && log.str().find("*ERROR") == std::string::npos)
      << "ccx did not run (Debian package calculix-ccx):\n"
      << log.str();
  std::map<int, Vec3>* block = nullptr;
  bool factors = false;
  for (std::string line; std::getline(dat, line);) {
    if (line.find("displacements") != std::string::npos) {
      block = &out.displacements.emplace_back();
    } else if (line.find("forces") != std::string::npos) {
      block = &out.forces.emplace_back();
    } else if (line.find("B U C K L I N G") != std::string::npos) {
      factors = true;
      block = nullptr;
    } else {
      std::istringstream words(line);
      int node = 0;
      Vec3 v{};
      if (!(words >> node >> v[0])) continue;
      if (words >> v[1] >> v[2]) {
        if (block != nullptr) (*block)[node] = v;
      } else if (factors) {
        out.buckling.push_back(v[0]);
      }
    }
  }
  fs::remove_all(directory);
  return out;
}

std::string number(double x) {
  char text[32];
  std::snprintf(text, sizeof text, "%.12g", x);
  return text;
}

constexpr std::string_view kMaterialName = "PLASTIC";
std::string material(double density_t_mm3 = 0) {
  std::string out =
      "*MATERIAL,NAME=" + std::string(kMaterialName) + "\n*ELASTIC\n" + number(kE) + "," + number(kPoisson) + "\n";
  if (density_t_mm3 > 0) out += "*DENSITY\n" + number(density_t_mm3) + "\n";
  return out;
}

/// A frame of rectangular bars as a deck of B32R: every member cut into `per_member` quadratic elements. Node i of the
/// frame is node i + 1 of the deck.
class BeamDeck {
 public:
  struct Rectangle {
    double along_up_mm, across_mm;
  };
  BeamDeck(const Frame& frame, const std::vector<Rectangle>& rectangles, int per_member, double density_t_mm3 = 0) {
    std::string nodes = "*NODE,NSET=ALL\n", elements, sections;
    int next_node = static_cast<int>(frame.nodes.size()) + 1, next_element = 1;
    const auto node_line = [&](int id, const Vec3& at) {
      nodes += std::to_string(id) + "," + number(at[0]) + "," + number(at[1]) + "," + number(at[2]) + "\n";
    };
    for (std::size_t n = 0; n < frame.nodes.size(); ++n) node_line(static_cast<int>(n) + 1, frame.nodes[n].at_mm);
    for (std::size_t m = 0; m < frame.members.size(); ++m) {
      const FrameMember& member = frame.members[m];
      const Vec3& a = frame.nodes[static_cast<std::size_t>(member.a)].at_mm;
      const Vec3& b = frame.nodes[static_cast<std::size_t>(member.b)].at_mm;
      std::vector<int> line{member.a + 1};
      for (int i = 1; i < 2 * per_member; ++i) {
        const double s = i / (2.0 * per_member);
        node_line(next_node, {a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1]), a[2] + s * (b[2] - a[2])});
        line.push_back(next_node++);
      }
      line.push_back(member.b + 1);
      const std::string set = "M" + std::to_string(m);
      elements += "*ELEMENT,TYPE=B32R,ELSET=" + set + "\n";
      for (std::size_t i = 0; i + 2 < line.size(); i += 2) {
        elements += std::to_string(next_element++) + "," + std::to_string(line[i]) + "," + std::to_string(line[i + 1]) +
                    "," + std::to_string(line[i + 2]) + "\n";
      }
      sections += "*BEAM SECTION,ELSET=" + set + ",MATERIAL=" + std::string(kMaterialName) + ",SECTION=RECT\n" +
                  number(rectangles[m].along_up_mm) + "," + number(rectangles[m].across_mm) + "\n" +
                  number(member.up[0]) + "," + number(member.up[1]) + "," + number(member.up[2]) + "\n";
    }
    text_ = nodes + elements + "*ELSET,ELSET=BARS\n";
    for (std::size_t m = 0; m < frame.members.size(); ++m) text_ += "M" + std::to_string(m) + "\n";
    text_ += material(density_t_mm3) + sections + "*BOUNDARY\n";
    for (std::size_t n = 0; n < frame.nodes.size(); ++n) {
      for (std::size_t f = 0; f < 6; ++f) {
        if (frame.nodes[n].held[f]) text_ += std::to_string(n + 1) + "," + std::to_string(f + 1) + "\n";
      }
    }
  }
  [[nodiscard]] std::string with(const std::string& step, const std::vector<NodeLoad>& loads,
                                 const std::string& other_loads, int print_node) const {
    std::string out = text_ + "*NSET,NSET=SEEN\n" + std::to_string(print_node + 1) + "\n*STEP\n" + step + "\n";
    if (!loads.empty()) out += "*CLOAD\n";
    for (const NodeLoad& l : loads) {
      for (std::size_t f = 0; f < 6; ++f) {
        if (l.load[f] != 0) {
          out += std::to_string(l.node + 1) + "," + std::to_string(f + 1) + "," + number(l.load[f]) + "\n";
        }
      }
    }
    return out + other_loads + "*NODE PRINT,NSET=SEEN\nU\n*END STEP\n";
  }

 private:
  std::string text_;
};

FrameMember bar(int a, int b, BeamDeck::Rectangle r, const Vec3& up) {
  FrameMember m{"", a, b, bar_section({Form::rectangle, r.along_up_mm, r.across_mm}), kPlastic};
  m.up = up;
  return m;
}

/// Compares the three shifts of a node, 1 % of the largest.
void compare(const Frame& frame, const Loads& loads, const std::vector<BeamDeck::Rectangle>& rectangles, int per_member,
             int node, double density_t_mm3 = 0) {
  std::string gravity;
  if (density_t_mm3 > 0) {
    // ccx: magnitude and unit direction, tonnes and mm/s^2.
    const Vec3& g = loads.gravity_m_s2;
    const double size = std::sqrt(g[0] * g[0] + g[1] * g[1] + g[2] * g[2]);
    gravity = "*DLOAD\nBARS,GRAV," + number(size * 1000) + "," + number(g[0] / size) + "," + number(g[1] / size) + "," +
              number(g[2] / size) + "\n";
  }
  const Answer a =
      run(BeamDeck(frame, rectangles, per_member, density_t_mm3).with("*STATIC", loads.nodes, gravity, node));
  ASSERT_EQ(a.displacements.size(), 1U);
  const FrameState s = FrameModel(frame).solve(loads);
  const Vec3 theirs = a.displacements[0].at(node + 1);
  const Six& ours = s.displacement[static_cast<std::size_t>(node)];
  const double size = std::sqrt(theirs[0] * theirs[0] + theirs[1] * theirs[1] + theirs[2] * theirs[2]);
  ASSERT_GT(size, 0);
  for (std::size_t i = 0; i < 3; ++i) EXPECT_NEAR(ours[i], theirs[i], 0.01 * size) << i;
  testing::Test::RecordProperty(
      "worst_permille", std::to_string(1000 *
                                       std::sqrt(std::pow(ours[0] - theirs[0], 2) + std::pow(ours[1] - theirs[1], 2) +
                                                 std::pow(ours[2] - theirs[2], 2)) /
                                       size));
}

/// Bricks with 20 nodes from a mapping of a box of half steps to space; coincident corners of neighbouring blocks
/// merge.
class BrickDeck {
 public:
  using Map = std::function<Vec3(double, double, double)>;
  /// i x j x k bricks; `map` takes 0..i, 0..j, 0..k. Right-handed mapping.
  void add_block(int ni, int nj, int nk, const Map& map) {
    for (int i = 0; i < ni; ++i) {
      for (int j = 0; j < nj; ++j) {
        for (int k = 0; k < nk; ++k) {
          // Corners of the lower face, of the upper face, then mid-sides below, above, between: the order ccx wants.
          constexpr int kPlaces[20][3] = {{0, 0, 0}, {2, 0, 0}, {2, 2, 0}, {0, 2, 0}, {0, 0, 2}, {2, 0, 2}, {2, 2, 2},
                                          {0, 2, 2}, {1, 0, 0}, {2, 1, 0}, {1, 2, 0}, {0, 1, 0}, {1, 0, 2}, {2, 1, 2},
                                          {1, 2, 2}, {0, 1, 2}, {0, 0, 1}, {2, 0, 1}, {2, 2, 1}, {0, 2, 1}};
          std::array<int, 20> ids{};
          for (std::size_t n = 0; n < 20; ++n) {
            ids[n] = node(map(i + kPlaces[n][0] / 2.0, j + kPlaces[n][1] / 2.0, k + kPlaces[n][2] / 2.0));
          }
          elements_.push_back(ids);
        }
      }
    }
  }
  [[nodiscard]] const std::vector<Vec3>& nodes() const { return nodes_; }

  /// `prescribed`: node (from 0), freedom 1..3, value. Several steps, each with all its conditions.
  struct Condition {
    int node;
    int freedom;
    double value;
  };
  [[nodiscard]] std::string text(const std::vector<std::vector<Condition>>& steps, const std::vector<int>& seen) const {
    std::string out = "*NODE,NSET=ALL\n";
    for (std::size_t n = 0; n < nodes_.size(); ++n) {
      out += std::to_string(n + 1) + "," + number(nodes_[n][0]) + "," + number(nodes_[n][1]) + "," +
             number(nodes_[n][2]) + "\n";
    }
    out += "*ELEMENT,TYPE=C3D20R,ELSET=BARS\n";
    for (std::size_t e = 0; e < elements_.size(); ++e) {
      out += std::to_string(e + 1);
      for (std::size_t n = 0; n < 20; ++n) out += (n == 10 ? ",\n" : ",") + std::to_string(elements_[e][n]);
      out += "\n";
    }
    out += material() + "*SOLID SECTION,ELSET=BARS,MATERIAL=" + std::string(kMaterialName) + "\n*NSET,NSET=SEEN\n";
    for (const int n : seen) out += std::to_string(n + 1) + ",\n";
    for (const auto& step : steps) {
      out += "*STEP\n*STATIC\n*BOUNDARY,OP=NEW\n";
      for (const Condition& c : step) {
        out += std::to_string(c.node + 1) + "," + std::to_string(c.freedom) + "," + std::to_string(c.freedom) + "," +
               number(c.value) + "\n";
      }
      out += "*NODE PRINT,NSET=SEEN\nRF\n*NODE PRINT,NSET=SEEN\nU\n*END STEP\n";
    }
    return out;
  }

 private:
  int node(const Vec3& at) {
    const std::array<long, 3> key{std::lround(at[0] * 1e5), std::lround(at[1] * 1e5), std::lround(at[2] * 1e5)};
    const auto [place, fresh] = ids_.try_emplace(key, static_cast<int>(nodes_.size()) + 1);
    if (fresh) nodes_.push_back(at);
    return place->second;
  }
  std::map<std::array<long, 3>, int> ids_;
  std::vector<Vec3> nodes_;
  std::vector<std::array<int, 20>> elements_;
};

/// Stiffnesses of a prismatic or periodic bar along x from x = 0 to `length`, centred on the x axis: its end faces stay
/// plane when stretched and bent (both ends alike, so the force is the same all along) and keep their outline when
/// twisted, free to warp. Returns the section that an equally stiff uniform bar has.
BarSection measured_section(const BrickDeck& deck, double length_mm) {
  std::vector<int> low, high, seen;
  int middle = -1, side = -1, top = -1;
  double best_middle = 1e9;
  for (std::size_t n = 0; n < deck.nodes().size(); ++n) {
    const Vec3& p = deck.nodes()[n];
    const int id = static_cast<int>(n);
    if (std::fabs(p[0]) < 1e-6) low.push_back(id);
    if (std::fabs(p[0] - length_mm) < 1e-6) high.push_back(id);
  }
  seen = high;
  // Rigid motions across the axis are stopped at nodes of the low face: near its middle, beside it and above it.
  for (const int n : low) {
    const Vec3& p = deck.nodes()[static_cast<std::size_t>(n)];
    if (std::hypot(p[1], p[2]) < best_middle) {
      best_middle = std::hypot(p[1], p[2]);
      middle = n;
    }
    if (side < 0 || p[1] > deck.nodes()[static_cast<std::size_t>(side)][1] + 1e-6) side = n;
    if (top < 0 || p[2] > deck.nodes()[static_cast<std::size_t>(top)][2] + 1e-6) top = n;
  }
  const auto ends = [&](const std::function<double(const Vec3&)>& shift_x) {
    std::vector<BrickDeck::Condition> out;
    for (const int n : low) out.push_back({n, 1, -shift_x(deck.nodes()[static_cast<std::size_t>(n)]) / 2});
    for (const int n : high) out.push_back({n, 1, shift_x(deck.nodes()[static_cast<std::size_t>(n)]) / 2});
    // Symmetric deformation: no shift of the middle; no turn about x.
    out.push_back({middle, 2, 0});
    out.push_back({middle, 3, 0});
    const Vec3& m = deck.nodes()[static_cast<std::size_t>(middle)];
    // A point straight above the middle keeps its y.
    int above = middle;
    for (const int n : low) {
      const Vec3& p = deck.nodes()[static_cast<std::size_t>(n)];
      if (std::fabs(p[1] - m[1]) < 1e-6 && p[2] > deck.nodes()[static_cast<std::size_t>(above)][2]) above = n;
    }
    out.push_back({above, 2, 0});
    return out;
  };
  const double angle = 1e-3;
  std::vector<std::vector<BrickDeck::Condition>> steps{
      ends([&](const Vec3&) { return angle; }),
      ends([&](const Vec3& p) { return angle * p[2]; }),
      ends([&](const Vec3& p) { return angle * p[1]; }),
      {},
  };
  for (const auto& [face, sign] : {std::pair{&low, -0.5}, std::pair{&high, 0.5}}) {
    for (const int n : *face) {
      const Vec3& p = deck.nodes()[static_cast<std::size_t>(n)];
      steps[3].push_back({n, 2, -sign * angle * p[2]});
      steps[3].push_back({n, 3, sign * angle * p[1]});
    }
  }
  steps[3].push_back({middle, 1, 0});
  const Answer a = run(deck.text(steps, seen));
  if (a.forces.size() != 4) {
    ADD_FAILURE() << "ccx gave " << a.forces.size() << " of 4 answers";
    return {};
  }
  double pull = 0, bend_y = 0, bend_z = 0, twist = 0;
  for (const int n : high) {
    const Vec3& p = deck.nodes()[static_cast<std::size_t>(n)];
    pull += a.forces[0].at(n + 1)[0];
    bend_y += a.forces[1].at(n + 1)[0] * p[2];
    bend_z += a.forces[2].at(n + 1)[0] * p[1];
    const Vec3& f = a.forces[3].at(n + 1);
    twist += p[1] * f[2] - p[2] * f[1];
  }
  const double factor = length_mm / angle;
  return {pull * factor / kE, bend_y * factor / kE, bend_z * factor / kE, twist * factor / kG};
}

/// A bar with `pitches` round holes along y, one cell of four fans per hole. `around` bricks per quarter.
BrickDeck holed_bar(const HoledBar& b, int pitches, int around, int radial, int through) {
  BrickDeck deck;
  for (int cell = 0; cell < pitches; ++cell) {
    const double centre = (cell + 0.5) * b.pitch_mm;
    for (int quarter = 0; quarter < 4; ++quarter) {
      deck.add_block(through, around, radial, [&](double i, double j, double k) {
        // Side of the cell from one corner to the next; the circle's point lies on the ray at the same share of angle.
        constexpr double kCorner[5][2] = {{1, -1}, {1, 1}, {-1, 1}, {-1, -1}, {1, -1}};
        const double s = j / around;
        const double x = (kCorner[quarter][0] * (1 - s) + kCorner[quarter + 1][0] * s) * b.pitch_mm / 2;
        const double z = (kCorner[quarter][1] * (1 - s) + kCorner[quarter + 1][1] * s) * b.height_mm / 2;
        const double angle = std::numbers::pi / 2 * (quarter - 0.5 + s);
        const double r = b.hole_mm / 2, out = k / radial;
        const double px = r * std::cos(angle) * (1 - out) + x * out, pz = r * std::sin(angle) * (1 - out) + z * out;
        // Right-handed: i along y, j from x towards z, k outward.
        return Vec3{centre + px, b.breadth_mm * (i / through - 0.5), pz};
      });
    }
  }
  return deck;
}

void expect_share(double ours, double theirs, double tolerance, const char* what) {
  EXPECT_NEAR(ours, theirs, tolerance * theirs) << what << ": " << 100 * (ours / theirs - 1) << " % off";
}

}  // namespace

TEST(Calculix, CantileverUnderTwoForcesAndItsWeight) {
  Frame f;
  f.nodes = {{"foot", {0, 0, 0}, kFixed}, {"tip", {180, 40, 30}, {}}};
  f.members = {bar(0, 1, {3, 2}, {0, 0, 1})};
  const double density_t_mm3 = 1.05e-9;
  f.members[0].mass_g_mm = density_t_mm3 * 1e6 * 6;
  Loads l;
  l.nodes = {{1, {0, 0.02, -0.03, 0, 0, 0}}};
  l.gravity_m_s2 = {0, 0, -9.81};
  compare(f, l, {{3, 2}}, 120, 1, density_t_mm3);
}

TEST(Calculix, PortalUnderSideAndTopLoad) {
  Frame f;
  f.nodes = {{"a", {0, 0, 0}, kFixed}, {"b", {0, 0, 150}, {}}, {"c", {220, 0, 150}, {}}, {"d", {220, 0, 0}, kFixed}};
  const std::vector<BeamDeck::Rectangle> r{{2, 2}, {3, 2}, {2, 2}};
  f.members = {bar(0, 1, r[0], {1, 0, 0}), bar(1, 2, r[1], {0, 0, 1}), bar(2, 3, r[2], {1, 0, 0})};
  Loads l;
  l.nodes = {{1, {0.1, 0, 0, 0, 0, 0}}, {2, {0, 0, -0.5, 0, 0, 0}}};
  compare(f, l, r, 100, 1);
}

TEST(Calculix, LadderOfTwoRailsSways) {
  // A boom without play: two rails, five rungs, pushed sideways at the tip.
  Frame f;
  std::vector<BeamDeck::Rectangle> r;
  for (int i = 0; i <= 5; ++i) {
    for (const double y : {-50.0, 50.0}) f.nodes.push_back({"", {100.0 * i, y, 0}, i == 0 ? kFixed : SixFlags{}});
  }
  for (int i = 0; i <= 5; ++i) {
    if (i > 0) {
      f.members.push_back(bar(2 * i, 2 * i + 1, {1.5, 1.2}, {0, 0, 1}));
      r.push_back({1.5, 1.2});
    }
    if (i == 5) break;
    for (int side = 0; side < 2; ++side) {
      f.members.push_back(bar(2 * i + side, 2 * i + 2 + side, {2, 1.5}, {0, 0, 1}));
      r.push_back({2, 1.5});
    }
  }
  Loads l;
  l.nodes = {{10, {0, 0.05, 0, 0, 0, 0}}};
  compare(f, l, r, 80, 11);
}

TEST(Calculix, TripodOfUnequalLegs) {
  Frame f;
  f.nodes = {{"apex", {0, 0, 160}, {}},
             {"1", {90, 0, 0}, kFixed},
             {"2", {-60, 80, 0}, kFixed},
             {"3", {-40, -110, 20}, kFixed}};
  const std::vector<BeamDeck::Rectangle> r{{2, 3}, {2.5, 2}, {2, 2}};
  for (int leg = 0; leg < 3; ++leg) f.members.push_back(bar(leg + 1, 0, r[static_cast<std::size_t>(leg)], {1, 0, 0.2}));
  Loads l;
  l.nodes = {{0, {3, -2, -8, 0, 0, 0}}};
  compare(f, l, r, 80, 0);
}

TEST(Calculix, ColumnAndPortalBuckle) {
  const auto both = [](const Frame& f, const Loads& l, const std::vector<BeamDeck::Rectangle>& r) {
    // ccx looks for factors from 1 upwards and misses smaller ones, hence loads far below the critical ones.
    const Answer a = run(BeamDeck(f, r, 60).with("*BUCKLE\n3", l.nodes, "", 1));
    ASSERT_FALSE(a.buckling.empty());
    const Buckling ours = buckling(FrameModel(subdivided(f, 8)), l);
    ASSERT_TRUE(ours.found);
    expect_share(ours.factor, a.buckling[0], 0.01, "buckling factor");
  };
  Frame column;
  column.nodes = {{"foot", {0, 0, 0}, kFixed}, {"head", {0, 0, 200}, {}}};
  column.members = {bar(0, 1, {3, 2}, {1, 0, 0})};
  Loads push;
  push.nodes = {{1, {0, 0, -0.01, 0, 0, 0}}};
  both(column, push, {{3, 2}});

  Frame portal;
  const SixFlags plane{false, true, false, true, false, true};
  portal.nodes = {
      {"a", {0, 0, 0}, kFixed}, {"b", {0, 0, 150}, plane}, {"c", {220, 0, 150}, plane}, {"d", {220, 0, 0}, kFixed}};
  const std::vector<BeamDeck::Rectangle> r{{2, 2}, {3, 2}, {2, 2}};
  portal.members = {bar(0, 1, r[0], {1, 0, 0}), bar(1, 2, r[1], {0, 0, 1}), bar(2, 3, r[2], {1, 0, 0})};
  Loads top;
  top.nodes = {{1, {0, 0, -0.01, 0, 0, 0}}, {2, {0, 0, -0.01, 0, 0, 0}}};
  both(portal, top, r);
}

TEST(Calculix, BentBarBendsAndTwists) {
  // An L of square bar, pushed square to its plane: the first arm twists. Solid bricks, 3 x 3 over the section.
  const double a = 240, b = 180, w = 3;
  constexpr int kAcross = 3;
  BrickDeck deck;
  const int na = 60, nb = 45;
  const auto box = [&](Vec3 from, Vec3 to, int ni, int nj, int nk) {
    deck.add_block(ni, nj, nk, [=](double i, double j, double k) {
      return Vec3{from[0] + (to[0] - from[0]) * i / ni, from[1] + (to[1] - from[1]) * j / nj,
                  from[2] + (to[2] - from[2]) * k / nk};
    });
  };
  box({0, -w / 2, -w / 2}, {a - w / 2, w / 2, w / 2}, na, kAcross, kAcross);
  box({a - w / 2, -w / 2, -w / 2}, {a + w / 2, w / 2, w / 2}, kAcross, kAcross, kAcross);
  box({a - w / 2, w / 2, -w / 2}, {a + w / 2, b, w / 2}, kAcross, nb, kAcross);
  std::vector<BrickDeck::Condition> step;
  std::vector<int> tip;
  for (std::size_t n = 0; n < deck.nodes().size(); ++n) {
    const Vec3& p = deck.nodes()[n];
    const int id = static_cast<int>(n);
    if (std::fabs(p[0]) < 1e-6) {
      for (int freedom = 1; freedom <= 3; ++freedom) step.push_back({id, freedom, 0});
    }
    if (std::fabs(p[1] - b) < 1e-6) {
      tip.push_back(id);
      step.push_back({id, 3, 1.0});
    }
  }
  const Answer answer = run(deck.text({step}, tip));
  ASSERT_EQ(answer.forces.size(), 1U);
  double force = 0;
  for (const auto& [node, f] : answer.forces[0]) force += f[2];
  Frame f;
  f.nodes = {{"foot", {0, 0, 0}, kFixed}, {"corner", {a, 0, 0}, {}}, {"tip", {a, b, 0}, {}}};
  f.members = {bar(0, 1, {w, w}, {0, 0, 1}), bar(1, 2, {w, w}, {0, 0, 1})};
  // The whole end face was pushed 1 mm without turning about the arm (a line of nodes across it stays level).
  const FrameModel model(f);
  const FrameState push = model.solve_unit(2, Freedom::z), turn = model.solve_unit(2, Freedom::turn_y);
  const double zz = push.displacement[2][2], zt = turn.displacement[2][2], tt = turn.displacement[2][4];
  expect_share(1 / (zz - zt * zt / tt), force, 0.01, "stiffness of the bent bar");
}

TEST(Calculix, CrossAxleTwistsAndBendsAsItsTable) {
  // The kit's cross of 4.8 mm with arms of 1.8 mm: STRUCT-05's table and the handbook trap meet a solid model. It warps
  // freely, so a short piece twists like a long one; the inner corners need the fine bricks.
  const double w = 4.8, t = 1.8, length = 9.6;
  BrickDeck deck;
  const double cut[4] = {-w / 2, -t / 2, t / 2, w / 2};
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 3; ++column) {
      if (row != 1 && column != 1) continue;
      constexpr int kFine = 6, kAlong = 3;
      deck.add_block(kAlong, kFine, kFine, [&](double i, double j, double k) {
        return Vec3{length * i / kAlong, cut[column] + (cut[column + 1] - cut[column]) * j / kFine,
                    cut[row] + (cut[row + 1] - cut[row]) * k / kFine};
      });
    }
  }
  const BarSection theirs = measured_section(deck, length), ours = bar_section({Form::cross, w, t});
  expect_share(ours.torsion_mm4, theirs.torsion_mm4, 0.01, "torsion");
  expect_share(ours.second_y_mm4, theirs.second_y_mm4, 0.002, "bending");
  expect_share(ours.second_z_mm4, theirs.second_z_mm4, 0.002, "bending sideways");
  expect_share(ours.area_mm2, theirs.area_mm2, 0.002, "stretch");
}

TEST(Calculix, HoledBarsBetweenTheRowsOfTheTable) {
  // Sizes of the two kit systems' beams, half beams and strips, with clearance, so pitch and height differ; and one
  // between the rows in every way. 1 %, torsion 2 %: the cell is not quite square here.
  for (const HoledBar& b : {HoledBar{7.8, 7.4, 4.9, 8}, HoledBar{7.8, 3.7, 4.9, 8}, HoledBar{12.5, 1.6, 4.2, 12.7},
                            HoledBar{10, 7, 5.5, 10}}) {
    const BarSection theirs = measured_section(holed_bar(b, 2, 4, 3, 4), 2 * b.pitch_mm), ours = holed_section(b);
    expect_share(ours.area_mm2, theirs.area_mm2, 0.01, "stretch");
    expect_share(ours.second_y_mm4, theirs.second_y_mm4, 0.01, "bending across the holes");
    expect_share(ours.second_z_mm4, theirs.second_z_mm4, 0.01, "bending sideways");
    expect_share(ours.torsion_mm4, theirs.torsion_mm4, 0.02, "torsion");
  }
}

TEST(Calculix, DISABLED_PrintTheTableOfHoledBars) {
  // Remakes the table in sections.cpp: shares of the solid square-cell bar's A, I_y, I_z and K.
  const double h = 8;
  for (const double breadth : {0.125, 0.25, 0.5, 1.0}) {
    for (const double hole : {0.2, 0.35, 0.5, 0.6, 0.7, 0.8}) {
      const HoledBar b{h, breadth * h, hole * h, h};
      const BarSection theirs = measured_section(holed_bar(b, 2, 4, 3, 4), 2 * h);
      const BarSection solid = bar_section({Form::rectangle, b.height_mm, b.breadth_mm});
      std::printf("b/h %.3f d/h %.2f: %.4f %.4f %.4f %.4f\n", breadth, hole, theirs.area_mm2 / solid.area_mm2,
                  theirs.second_y_mm4 / solid.second_y_mm4, theirs.second_z_mm4 / solid.second_z_mm4,
                  theirs.torsion_mm4 / solid.torsion_mm4);
    }
  }
  for (const int n : {2, 4}) {
    for (const int fine : {1, 2}) {
      if (n == 4 && fine == 2) continue;
      const HoledBar b{h, h, 0.6 * h, h};
      const BarSection theirs = measured_section(holed_bar(b, n, 4 * fine, 3 * fine, 4 * fine), n * h);
      std::printf("check %d pitches, fineness %d: %.4f %.4f %.4f %.4f\n", n, fine, theirs.area_mm2, theirs.second_y_mm4,
                  theirs.second_z_mm4, theirs.torsion_mm4);
    }
  }
}
