// The searches and the frame solver beside a straightforward peer each, in one run: the same question, answers
// compared, processor time of both (best of several runs of ours, one of the peer's) and their ratio.
//   trains      every combination of as many meshes, looked at one by one, in floating point where that decides
//   layouts     the tests' enumerator of every layout, over small random problems
//   placements  every pair of mounts swept through all angles in a scalar loop; and how long the bare arithmetic of
//   that
//               sweep takes at the fastest this machine multiplies and adds, in vectors of eight floats
//   frames      CalculiX (program ccx, Debian package calculix-ccx) on the same bars as B32R, four elements a bar (with
//               fewer the bars are too stiff); its time for a frame of one bay is taken off, so that starting it does
//               not count
// Ends with 1 when an answer differs.
#include <fmt/format.h>
#include <sys/resource.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <numbers>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "bench/measure.h"
#include "bench/twelve_wheels.h"
#include "gearing/train_search.h"
#include "linkage/placement.h"
#include "routing/brute_force.h"
#include "routing/random_problem.h"
#include "routing/route.h"
#include "structure/frame.h"
#include "structure/sections.h"

namespace {

using base::Rational;

double thread_ms() {
  return bench::now_ms(CLOCK_THREAD_CPUTIME_ID);
}

/// Least of `runs` times.
double best_ms(int runs, const std::function<void()>& work) {
  double best = 1e300;
  for (int i = 0; i < runs; ++i) {
    const double start = thread_ms();
    work();
    best = std::min(best, thread_ms() - start);
  }
  return best;
}

int differing = 0;

void told(const std::string& what, double ours_ms, double theirs_ms, bool same, const std::string& answer) {
  differing += same ? 0 : 1;
  fmt::print("{:<58} {:>10.3f} {:>12.3f} {:>9.1f} x  {}{}\n", what, ours_ms, theirs_ms, theirs_ms / ours_ms, answer,
             same ? "" : "  DIFFERENT");
}

// Trains.

using bench::kCounts;
using bench::kTeeth;

/// Unordered trains, told apart as the search does: by their wheels, their ratio and their sorts of mesh.
std::size_t trains_one_by_one(const gearing::MeshTable& table, const gearing::TrainQuery& q) {
  std::set<std::vector<std::int64_t>> found;
  std::vector<std::size_t> chosen;
  const double low = q.low.value() * (1 - 1e-9), high = q.high.value() * (1 + 1e-9);
  const std::function<void(std::size_t, double)> go = [&](std::size_t from, double ratio) {
    if (chosen.size() == static_cast<std::size_t>(q.max_stages)) {
      if (ratio < low || ratio > high) return;
      std::array<int, kTeeth.size()> used{};
      Rational exact(1);
      std::vector<std::int64_t> key;
      for (const std::size_t m : chosen) {
        const gearing::Mesh& mesh = table.meshes[m];
        for (const stock::ClassId part : {mesh.driver, mesh.driven}) {
          const auto i = static_cast<std::size_t>(part);
          if (++used[i] > kCounts[i]) return;
          key.push_back(static_cast<std::int64_t>(part));
        }
        exact = exact * mesh.ratio.abs();
      }
      if (exact < q.low || q.high < exact) return;
      std::sort(key.begin(), key.end());
      key.push_back(exact.num());
      key.push_back(exact.den());
      found.insert(std::move(key));
      return;
    }
    for (std::size_t m = from; m < table.meshes.size(); ++m) {
      chosen.push_back(m);
      go(m, ratio * std::abs(table.meshes[m].ratio.value()));
      chosen.pop_back();
    }
  };
  go(0, 1);
  return found.size();
}

void trains() {
  std::vector<gearing::GearStock> gears;
  for (int i = 0; i < static_cast<int>(kTeeth.size()); ++i)
    gears.push_back({stock::ClassId{i}, kCounts[static_cast<std::size_t>(i)]});
  for (const bool lattice : {false, true}) {
    const stock::Catalogue c = bench::twelve_wheels(lattice ? 0.2 : 3.0);
    gearing::MeshOptions options;
    if (!lattice) options.min_contact_ratio = 0;
    const gearing::MeshTable table = gearing::find_meshes(c, options);
    for (const Rational target : {Rational(6), Rational(120)}) {
      for (const int stages : {3, 4}) {
        gearing::TrainQuery q;
        q.low = (target * Rational(103, 100)).inverse();
        q.high = (target * Rational(97, 100)).inverse();
        q.min_stages = q.max_stages = stages;
        gearing::TrainSearchResult ours;
        const double ours_ms = best_ms(10, [&] { ours = gearing::search_trains(table, gears, q); });
        std::size_t theirs = 0;
        const double theirs_ms = best_ms(1, [&] { theirs = trains_one_by_one(table, q); });
        told(fmt::format("trains: {} meshes, ratio {}, {} of {}", stages, target.text(),
                         lattice ? "on the lattice" : "free", table.meshes.size()),
             ours_ms, theirs_ms, ours.trains.size() == theirs, fmt::format("{} trains", ours.trains.size()));
      }
    }
  }
}

// Layouts.

void layouts() {
  struct Asked {
    std::string name;
    routing::test::Sort sort;
  };
  routing::test::Sort parallel;
  parallel.right_angle_percent = 0;
  for (const Asked& a :
       {Asked{"layouts: random problems, every sort", {}}, Asked{"layouts: without corners", parallel}}) {
    double ours_ms = 0, theirs_ms = 0;
    bool same = true;
    int feasible = 0, problems = 0;
    std::uint64_t hash = bench::kHashStart;
    for (std::uint64_t seed = 5000; seed < 5040; ++seed, ++problems) {
      const routing::Problem p = routing::test::random_problem(seed, a.sort);
      routing::Routes got;
      ours_ms += best_ms(3, [&] { got = routing::route(p, {.best = 1}); });
      routing::test::BruteResult all;
      theirs_ms += best_ms(1, [&] { all = routing::test::enumerate(p); });
      same &= got.complete && got.layouts.empty() == !all.best;
      if (got.layouts.empty() || !all.best) continue;
      ++feasible;
      same &= got.layouts.front().cost == all.best->cost;
      bench::mix(hash, static_cast<double>(got.layouts.front().cost));
    }
    told(fmt::format("{} ({}, {} can be built)", a.name, problems, feasible), ours_ms, theirs_ms, same,
         fmt::format("hash {:016x}", hash));
  }
}

// Placements.

constexpr int kAngles = 64;
constexpr double kDeg = std::numbers::pi / 180;

/// Placements that serve, by a sweep of all angles.
std::vector<std::int64_t> placements_one_by_one(const linkage::PlacementTask& t) {
  std::array<double, kAngles> cosine{}, sine{};
  for (std::size_t k = 0; k < kAngles; ++k) {
    const double angle = t.low_rad + static_cast<double>(k) * (t.high_rad - t.low_rad) / (kAngles - 1);
    cosine[k] = std::cos(angle);
    sine[k] = std::sin(angle);
  }
  const double half_mm = t.pitch_mm / 2;
  std::vector<std::int64_t> serve(t.actuators.size(), 0);
  for (const lattice::Point2& base : t.base_mounts) {
    const double ax = (base.x_hp - t.pivot_base.x_hp) * half_mm, az = (base.z_hp - t.pivot_base.z_hp) * half_mm;
    for (const lattice::Point2& rod : t.rod_mounts) {
      const double rx = (rod.x_hp - t.pivot_body.x_hp) * half_mm, rz = (rod.z_hp - t.pivot_body.z_hp) * half_mm;
      double shortest = 1e300, longest = 0, peak = 0, low_lever = 1e300, high_lever = -1e300;
      for (std::size_t k = 0; k < kAngles; ++k) {
        const double x = rx * cosine[k] - rz * sine[k], z = rx * sine[k] + rz * cosine[k];
        const double length = std::sqrt((x - ax) * (x - ax) + (z - az) * (z - az));
        const double lever = (ax * z - az * x) / length;
        shortest = std::min(shortest, length);
        longest = std::max(longest, length);
        low_lever = std::min(low_lever, lever);
        high_lever = std::max(high_lever, lever);
        peak = std::max(peak, std::abs(t.cases[0].moment_nmm[k] / lever));
      }
      if (!(low_lever >= t.min_lever_mm || high_lever <= -t.min_lever_mm)) continue;
      for (std::size_t a = 0; a < t.actuators.size(); ++a) {
        const linkage::ActuatorType& type = t.actuators[a];
        serve[a] += shortest >= type.closed_mm && longest <= type.open_mm && peak <= type.max_force_n ? 1 : 0;
      }
    }
  }
  return serve;
}

using Eight = float __attribute__((vector_size(32)));

/// Multiply-adds a second on one core, in `Eight` (two operations where the machine has no AVX).
#if defined(__x86_64__)
__attribute__((target_clones("avx2", "default")))
#endif
double
multiply_adds_per_s() {
  std::array<Eight, 12> sums{};
  Eight factor{}, addend{};
  for (int i = 0; i < 8; ++i) {
    factor[i] = 0.999F + 0.0001F * static_cast<float>(i);
    addend[i] = 0.5F;
  }
  constexpr int kRounds = 4'000'000;
  const double start = thread_ms();
  for (int r = 0; r < kRounds; ++r) {
    for (Eight& s : sums) s = s * factor + addend;
  }
  const double ms = thread_ms() - start;
  float all = 0;
  for (const Eight& s : sums) all += s[0] + s[7];
  if (!(all > 0)) std::abort();
  return static_cast<double>(kRounds) * static_cast<double>(sums.size()) * 8 / ms * 1e3;
}

void placements() {
  linkage::PlacementTask t;
  t.pitch_mm = 8;
  t.pivot_base = {20, 40};
  t.base_mounts = linkage::mounts_in({{0, 0}, {39, 39}});
  t.rod_mounts = linkage::mounts_in({{1, -6}, {40, 5}});
  t.actuators = {{"short", 72, 104}, {"middle", 104, 160}, {"long", 136, 216, 60}};
  t.low_rad = -8 * kDeg;
  t.high_rad = 62 * kDeg;
  t.min_lever_mm = 12;
  linkage::MomentCase load{"load", {}};
  for (int k = 0; k < kAngles; ++k)
    load.moment_nmm.push_back(2000 * std::cos(t.low_rad + k * (t.high_rad - t.low_rad) / (kAngles - 1)));
  t.cases = {load};
  linkage::PlacementResult ours;
  const double ours_ms = best_ms(7, [&] { ours = linkage::place_actuators(t); });
  std::vector<std::int64_t> theirs;
  const double theirs_ms = best_ms(1, [&] { theirs = placements_one_by_one(t); });
  std::int64_t serve = 0;
  for (const std::int64_t n : ours.feasible) serve += n;
  told(fmt::format("placements: {} x {} angles", ours.examined, kAngles), ours_ms, theirs_ms, ours.feasible == theirs,
       fmt::format("{} serve", serve));
  // Per pair and angle: turn 4, difference 2, square and sum 3, root 1, cross product 3, division 2, bounds 5: 20
  // operations, two to a multiply-add.
  const double pairs = static_cast<double>(t.base_mounts.size()) * static_cast<double>(t.rod_mounts.size());
  const double peak = multiply_adds_per_s(), limit_ms = pairs * kAngles * 10 / peak * 1e3;
  fmt::print(
      "    the sweep's bare arithmetic at this core's {:.1f} thousand million multiply-adds a second: {:.2f} ms;\n"
      "    ours takes {:.2f} of that, because bounds at the ends spare most angles\n",
      peak / 1e9, limit_ms, ours_ms / limit_ms);
}

// Frames.

constexpr double kE_mpa = 2300, kG_mpa = 850;
constexpr int kPerBar = 4;  // elements of CalculiX to a bar: fewer, and the joints' clamped cross contraction decides

structure::Frame ladder(int bays) {
  structure::Frame f;
  const structure::BarSection bar = structure::bar_section({structure::Form::rectangle, 8, 6});
  for (int i = 0; i <= bays; ++i) {
    for (const double y : {-50.0, 50.0})
      f.nodes.push_back({"", {100.0 * i, y, 0}, i == 0 ? structure::kFixed : structure::SixFlags{}});
    if (i == 0) continue;
    const auto add = [&](int a, int b) {
      structure::FrameMember m{"", a, b, bar, {kE_mpa, kG_mpa}};
      m.up = {0, 0, 1};
      f.members.push_back(m);
    };
    add(2 * i, 2 * i + 1);
    for (int side = 0; side < 2; ++side) add(2 * i - 2 + side, 2 * i + side);
  }
  return f;
}

struct Outside {
  double cpu_ms = 0, sag_mm = 0;
  bool ran = false;
};

/// Half a newton down at each of the last two nodes: rails that bend alike. Twist would not compare, since one brick
/// over the section, which is how CalculiX builds its beams, cannot warp.
Outside calculix(const structure::Frame& f) {
  namespace fs = std::filesystem;
  Outside out;
  std::string name = (fs::temp_directory_path() / "kw_peer_XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) return out;
  std::string nodes = "*NODE,NSET=ALL\n", elements = "*ELEMENT,TYPE=B32R,ELSET=BARS\n", held = "*BOUNDARY\n";
  std::array<std::string, 2> sets;
  const auto node_line = [&](std::size_t id, double x, double y, double z) {
    nodes += fmt::format("{},{:.9g},{:.9g},{:.9g}\n", id, x, y, z);
  };
  for (std::size_t n = 0; n < f.nodes.size(); ++n) {
    const auto& at = f.nodes[n].at_mm;
    node_line(n + 1, at[0], at[1], at[2]);
    for (std::size_t k = 0; k < 6; ++k)
      if (f.nodes[n].held[k]) held += fmt::format("{},{}\n", n + 1, k + 1);
  }
  std::size_t next = f.nodes.size() + 1, element = 1;
  for (const structure::FrameMember& m : f.members) {
    const auto& a = f.nodes[static_cast<std::size_t>(m.a)].at_mm;
    const auto& b = f.nodes[static_cast<std::size_t>(m.b)].at_mm;
    std::vector<std::size_t> line{static_cast<std::size_t>(m.a) + 1};
    for (int i = 1; i < 2 * kPerBar; ++i) {
      const double s = i / (2.0 * kPerBar);
      node_line(next, a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1]), a[2] + s * (b[2] - a[2]));
      line.push_back(next++);
    }
    line.push_back(static_cast<std::size_t>(m.b) + 1);
    for (std::size_t i = 0; i + 2 < line.size(); i += 2)
      elements += fmt::format("{},{},{},{}\n", element++, line[i], line[i + 1], line[i + 2]);
  }
  std::ofstream(fs::path(name) / "model.inp")
      << nodes << elements
      << fmt::format("*MATERIAL,NAME=PLASTIC\n*ELASTIC\n{:.9g},{:.9g}\n", kE_mpa, kE_mpa / (2 * kG_mpa) - 1)
      << "*BEAM SECTION,ELSET=BARS,MATERIAL=PLASTIC,SECTION=RECT\n8,6\n0,0,1\n"
      << held
      << fmt::format("*NSET,NSET=SEEN\n{}\n*STEP\n*STATIC\n*CLOAD\n{},3,-0.5\n{},3,-0.5\n", f.nodes.size(),
                     f.nodes.size() - 1, f.nodes.size())
      << "*NODE PRINT,NSET=SEEN\nU\n*END STEP\n";
  const auto children_ms = [] {
    rusage u{};
    getrusage(RUSAGE_CHILDREN, &u);
    return static_cast<double>(u.ru_utime.tv_sec + u.ru_stime.tv_sec) * 1e3 +
           static_cast<double>(u.ru_utime.tv_usec + u.ru_stime.tv_usec) * 1e-3;
  };
  const double start = children_ms();
  const int status = std::system(fmt::format("cd '{}' && OMP_NUM_THREADS=1 ccx model >log 2>&1", name).c_str());
  out.cpu_ms = children_ms() - start;
  std::ifstream dat(fs::path(name) / "model.dat");
  for (std::string line; status == 0 && std::getline(dat, line);) {
    std::istringstream words(line);
    std::size_t node = 0;
    double x = 0, y = 0, z = 0;
    if (words >> node >> x >> y >> z && node == f.nodes.size()) {
      out.sag_mm = -z;
      out.ran = true;
    }
  }
  fs::remove_all(name);
  return out;
}

void frames() {
  const Outside start = calculix(ladder(1));
  if (!start.ran) {
    fmt::print("frames: ccx did not run (Debian package calculix-ccx); left out\n");
    return;
  }
  for (const int bays : {50, 200}) {
    const structure::Frame f = ladder(bays);
    double sag_mm = 0;
    const double ours_ms = best_ms(10, [&] {
      const structure::FrameModel model(f);
      structure::Loads loads;
      const int last = static_cast<int>(f.nodes.size()) - 1;
      for (const int node : {last - 1, last}) loads.nodes.push_back({node, {0, 0, -0.5, 0, 0, 0}});
      sag_mm = -model.solve(loads).displacement.back()[2];
    });
    const Outside theirs = calculix(f);
    // Solids clamp the cross contraction at joints and make them blocks, hence the per cent.
    const bool same = theirs.ran && std::abs(theirs.sag_mm - sag_mm) <= 0.05 * sag_mm;
    told(fmt::format("frames: {} bars, {} unknowns", f.members.size(), 6 * f.nodes.size()), ours_ms,
         std::max(theirs.cpu_ms - start.cpu_ms, 0.0), same,
         fmt::format("sag {:.4g} mm, CalculiX {:.4g}", sag_mm, theirs.sag_mm));
  }
}

}  // namespace

int main() {
  fmt::print("{:<58} {:>10} {:>12} {:>11}  answer\n", "question", "ours, ms", "peer, ms", "ratio");
  trains();
  layouts();
  placements();
  frames();
  if (differing > 0) fmt::print("{} answers differ\n", differing);
  return differing > 0 ? 1 : 0;
}
