// Layouts of gear trains on the lattice: a box of 12 x 8 pitches between two walls, invented stock of twelve tooth
// counts. Prints CPU time, nodes, layouts and an answer hash; then cost against box size and number of meshes, which
// `--plot FILE` also draws.
#include <time.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <string>

#include "bench/growth_plot.h"
#include "report/svg.h"
#include "routing/route.h"
#include "routing/test_kit.h"

namespace {

using namespace routing;

double cpu_s() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

std::uint64_t hash(std::uint64_t h, const std::string& text) {  // FNV-1a
  for (const char c : text) h = (h ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
  return h;
}

const std::vector<test_kit::Teeth> kTeeth{{8, 2},  {12, 3}, {14, 2}, {16, 4}, {18, 2}, {20, 3},
                                          {24, 4}, {28, 2}, {32, 2}, {36, 2}, {40, 3}, {48, 1}};

/// Walls round `slots` slots from 0 on; motor outside the low wall at (in_u, in_v), output anywhere between.
Problem box(int width_p, int height_p, int slots, Cross in, Cross out, double ratio, double tolerance, int stages) {
  Problem p;
  p.kit = test_kit::spur_kit(kTeeth);
  p.box = {{0, -4, 0}, {2 * width_p, slots + 4, 2 * height_p}};
  p.wheels_outside = false;
  p.walls.at_hp[1] = {-1, slots + 1};
  p.inputs.push_back({{test_kit::motor(Axis::y, lattice::point(Axis::y, in, -2), 1)}});
  Output o;
  o.name = "output";
  Place place;
  place.axis = Axis::y;
  place.at = out;
  o.places.push_back(place);
  o.low = base::Rational(static_cast<std::int64_t>(1e6 / ratio * (1 - tolerance)), 1000000);
  o.high = base::Rational(static_cast<std::int64_t>(1e6 / ratio * (1 + tolerance)) + 1, 1000000);
  p.outputs.push_back(o);
  p.most_stages = stages;
  p.most_right_angles = 0;
  return p;
}

struct Sum {
  double s = 0, worst_s = 0, first_s = 0, worst_first_s = 0, worst_refused_s = 0;
  std::int64_t nodes = 0, found = 0;
  int outputs = 0, served = 0;
  std::uint64_t hash = 1469598103934665603ULL;
};

/// Every output of the box, or one.
Sum run(int width_p, int height_p, int slots, double ratio, int stages, bool all, Cross one = {20, 4}) {
  Sum sum;
  const Cross in{4, 8};
  for (int u = 0; u <= 2 * width_p; ++u) {
    for (int v = 0; v <= 2 * height_p; ++v) {
      if (!all && !(u == one.u_hp && v == one.v_hp)) continue;
      if (all && (u % 4 != 0 || v % 4 != 0)) continue;
      if (Cross{u, v} == in) continue;
      const Problem p = box(width_p, height_p, slots, in, {u, v}, ratio, 0.03, stages);
      const double t0 = cpu_s();
      const Router router(p);
      const Routes first = router.routes({}, {.best = 1, .first_only = true});
      const double t1 = cpu_s();
      const Routes r = router.routes({}, {.best = 20, .count_all = true});
      const double t2 = cpu_s();
      sum.s += t2 - t1;
      sum.worst_s = std::max(sum.worst_s, t2 - t1);
      sum.first_s += t1 - t0;
      if (r.found > 0) sum.worst_first_s = std::max(sum.worst_first_s, t1 - t0);
      if (r.found == 0) sum.worst_refused_s = std::max(sum.worst_refused_s, t1 - t0);
      sum.nodes += r.nodes;
      sum.found += r.found;
      ++sum.outputs;
      sum.served += r.found > 0 ? 1 : 0;
      for (const Layout& l : r.layouts) sum.hash = hash(sum.hash, key_of(p, l) + std::to_string(l.cost));
      sum.hash = hash(sum.hash, std::to_string(r.found));
    }
  }
  return sum;
}

void print(const char* name, const Sum& s) {
  std::printf(
      "%-46s %4d outputs, %4d served: all layouts %8.3f ms mean, %8.3f worst; ready + first %7.3f ms mean, %7.3f worst "
      "served, %7.3f worst refused; %9.0f "
      "nodes, "
      "%7.1f layouts mean, %5.1f M nodes/s, hash %016llx\n",
      name, s.outputs, s.served, 1e3 * s.s / s.outputs, 1e3 * s.worst_s, 1e3 * s.first_s / s.outputs,
      1e3 * s.worst_first_s, 1e3 * s.worst_refused_s, static_cast<double>(s.nodes) / s.outputs,
      static_cast<double>(s.found) / s.outputs, 1e-6 * static_cast<double>(s.nodes) / s.s,
      static_cast<unsigned long long>(s.hash));
}

/// A spur kit with bevels and a worm.
Kit cornering_kit() {
  Kit kit = test_kit::spur_kit({{8, 2, 2}, {12, 3}, {16, 4}, {20, 3}, {24, 4}, {36, 2}, {40, 3}});
  const int spurs = static_cast<int>(kit.wheels.size());
  for (const auto& [teeth, name] : {std::pair(12, "bevel 12"), std::pair(20, "bevel 20")}) {
    Wheel w;
    w.name = name;
    w.teeth = teeth;
    w.pitch_radius_mm = teeth / 2.0;
    w.outer_radius_mm = w.pitch_radius_mm + 1;
    w.face_mm = 3.2;
    w.count = 4;
    kit.wheels.push_back(w);
  }
  for (const auto& [a, b] : {std::pair(spurs, spurs), std::pair(spurs, spurs + 1), std::pair(spurs + 1, spurs)}) {
    const auto teeth = [&](int i) { return kit.wheels[static_cast<std::size_t>(i)].teeth; };
    kit.pairs.push_back({a, b, PairType::bevel, base::Rational(-teeth(a), teeth(b)), {}});
  }
  Wheel worm;
  worm.name = "worm";
  worm.teeth = 1;
  worm.pitch_radius_mm = 4;
  worm.outer_radius_mm = 5;
  worm.face_mm = 15.6;
  worm.width_hp = 4;
  worm.count = 2;
  kit.wheels.push_back(worm);
  for (int i = 0; i < spurs; ++i)
    if (kit.wheels[static_cast<std::size_t>(i)].teeth == 24)
      kit.pairs.push_back({spurs + 2, i, PairType::worm, base::Rational(1, 24), {{4, 0, 0}}});
  return kit;
}

/// Round a corner: motor along y, output along x, walls across both.
Problem corner(double ratio, double tolerance, int stages) {
  Problem p;
  p.kit = cornering_kit();
  p.box = {{0, -6, 0}, {24, 18, 16}};
  p.walls.at_hp[1] = {-1, 4, 9};
  p.walls.at_hp[0] = {2, 6, 10, 14, 18, 22};
  p.inputs.push_back({{test_kit::motor(Axis::y, {8, -2, 8}, 1)}});
  Output o;
  o.name = "output";
  Place place;
  place.axis = Axis::x;
  place.at = {2, 8};
  o.places.push_back(place);
  o.low = base::Rational(static_cast<std::int64_t>(1e6 / ratio * (1 - tolerance)), 1000000);
  o.high = base::Rational(static_cast<std::int64_t>(1e6 / ratio * (1 + tolerance)) + 1, 1000000);
  p.outputs.push_back(o);
  p.most_stages = stages;
  p.most_right_angles = 1;
  return p;
}

void print_one(const char* name, const Problem& p, const RouteOptions& options) {
  const double t0 = cpu_s();
  const Routes r = route(p, options);
  const double t1 = cpu_s();
  std::uint64_t h = 1469598103934665603ULL;
  for (const Layout& l : r.layouts) h = hash(h, key_of(p, l) + std::to_string(l.cost));
  std::printf("%-46s %8.3f ms, %lld nodes, %lld layouts met, cost %lld, %s, hash %016llx\n", name, 1e3 * (t1 - t0),
              static_cast<long long>(r.nodes), static_cast<long long>(r.found),
              r.layouts.empty() ? -1LL : static_cast<long long>(r.layouts.front().cost),
              r.complete ? "complete" : r.limit_text.c_str(), static_cast<unsigned long long>(h));
  for (const Refusal& f : r.refusals) std::printf("    %s: %s\n", f.code.c_str(), f.text.c_str());
}

/// Growth: mean CPU time over the outputs every two pitches, as a bar on a logarithmic scale from 10 us on.
void bar(const std::string& name, const Sum& s) {
  const double ms = 1e3 * (s.s + s.first_s) / s.outputs;
  const int length = std::max(1, static_cast<int>(std::lround(12 * std::log10(std::max(ms, 0.01) / 0.01))));
  std::printf("  %-22s %9.3f ms |%s\n", name.c_str(), ms, std::string(static_cast<std::size_t>(length), '#').c_str());
}

/// Bars and curves of one kind of growth: what is asked once a box (ready and the first layout) and all layouts.
class Growth {
 public:
  Growth(std::string title, std::string across) {
    panel_.title = std::move(title);
    panel_.across = std::move(across);
    panel_.curves = {{"ready and first", report::ink::kGood, {}},
                     {"all, mean", report::ink::kThird, {}},
                     {"all, worst", report::ink::kBad, {}}};
    std::printf("against %s (%s):\n", panel_.across.c_str(), panel_.title.c_str());
  }
  void add(double at, const std::string& label, const std::string& told, const Sum& s) {
    bar(told, s);
    panel_.at.push_back(at);
    panel_.labels.push_back(label);
    panel_.curves[0].time_ms.push_back(1e3 * s.first_s / s.outputs);
    panel_.curves[1].time_ms.push_back(1e3 * s.s / s.outputs);
    panel_.curves[2].time_ms.push_back(1e3 * s.worst_s);
  }
  [[nodiscard]] const bench::Panel& panel() const { return panel_; }

 private:
  bench::Panel panel_;
};

}  // namespace

int main(int argc, char** argv) {
  const bool plot = argc == 3 && std::string(argv[1]) == "--plot";
  if (argc > 1 && !plot) {
    std::fprintf(stderr, "usage: routing_bench [--plot FILE]\n");
    return 2;
  }
  print("3 meshes, ratio 18, 12 x 8 p, 3 slots, one output", run(12, 8, 3, 18, 3, false));
  print("3 meshes, ratio 18, 12 x 8 p, 5 slots, one output", run(12, 8, 5, 18, 3, false));
  print("3 meshes, ratio 18, 5 slots, outputs every 2 p", run(12, 8, 5, 18, 3, true));
  print("3 meshes, ratio 9, 3 slots, outputs every 2 p", run(12, 8, 3, 9, 3, true));
  print("3 meshes, ratio 9, 5 slots, outputs every 2 p", run(12, 8, 5, 9, 3, true));
  print("4 meshes, ratio 60, 5 slots, one output", run(12, 8, 5, 60, 4, false));
  print("4 meshes, ratio 16, 5 slots, one output", run(12, 8, 5, 16, 4, false));
  print("4 meshes, ratio 16, 5 slots, outputs every 2 p", run(12, 8, 5, 16, 4, true));

  std::printf("\nround a corner (bevels, worm), 12 x 12 x 8 p:\n");
  print_one("up to 3 meshes, ratio 20, best 20", corner(20, 0.05, 3), {.best = 20});
  print_one("up to 5 meshes, ratio 700, first", corner(700, 0.03, 5), {.first_only = true});
  print_one("up to 5 meshes, ratio 700, best", corner(700, 0.03, 5), {.best = 1});

  std::printf("\nno layout, and why:\n");
  print_one("ratio", box(12, 8, 5, {4, 8}, {20, 4}, 500, 0.001, 3), {});
  print_one("distance", box(12, 8, 5, {4, 8}, {5, 8}, 3, 0.01, 1), {});
  Problem shut = box(12, 8, 5, {4, 8}, {20, 8}, 9, 0.03, 3);
  shut.keep_outs.push_back({{11, 0, 0}, {13, 5, 16}});
  print_one("keep-out across the box", shut, {});

  std::printf("\nready, first and all layouts:\n");
  Growth by_size("3 meshes, ratio 9, 5 slots", "size of the box, pitches");
  for (const auto& [w, h] :
       {std::pair(6, 4), std::pair(8, 6), std::pair(12, 8), std::pair(16, 12), std::pair(24, 16), std::pair(32, 24)}) {
    by_size.add(std::log(w * h), std::to_string(w) + " x " + std::to_string(h),
                std::to_string(w) + " x " + std::to_string(h) + " p", run(w, h, 5, 9, 3, true));
  }
  Growth by_meshes("ratio 9, 12 x 8 pitches, 5 slots", "most meshes");
  for (int stages = 1; stages <= 4; ++stages)
    by_meshes.add(stages, std::to_string(stages), "up to " + std::to_string(stages), run(12, 8, 5, 9, stages, true));
  if (!plot) return 0;
  std::ofstream file(argv[2]);
  file << bench::growth_plot("CPU time of one output's search for layouts, mean over outputs every two pitches",
                             {by_size.panel(), by_meshes.panel()});
  file.close();
  if (!file) {
    std::fprintf(stderr, "cannot write %s\n", argv[2]);
    return 3;
  }
  return 0;
}
