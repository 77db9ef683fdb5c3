#include "assessment/changes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "base/text.h"
#include "candidate/running_gear.h"

namespace assessment {
namespace {

constexpr int kMostPitches = 8;
constexpr double kStep_g = 10;

std::string pitches_text(int k, double pitch_mm) {
  return fmt::format("{} pitch{} ({} mm)", k, k == 1 ? "" : "es", base::plain(k * pitch_mm, 3));
}

double outwards(double at, double middle, double by) {
  return at > middle ? at + by : at < middle ? at - by : at;
}

double extent_of(const std::vector<brief::Vec3>& points, bool across) {
  double low = 0, high = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double at = across ? points[i].y_mm : points[i].x_mm;
    low = i == 0 ? at : std::min(low, at);
    high = i == 0 ? at : std::max(high, at);
  }
  return high - low;
}

/// `wanted`, or that with the first number that no body has yet.
std::string free_name(const Setup& machine, const std::string& wanted) {
  const auto taken = [&](const std::string& name) {
    return std::any_of(machine.brief.bodies.begin(), machine.brief.bodies.end(),
                       [&](const brief::Body& b) { return b.id == name; });
  };
  std::string out = wanted;
  for (int n = 2; taken(out); ++n) out = fmt::format("{} {}", wanted, n);
  return out;
}

/// Moves points away from the middle of their rectangle along x or y.
void spread(std::vector<brief::Vec3>& points, bool across, double by_mm) {
  if (points.empty()) return;
  const auto of = [&](brief::Vec3& p) -> double& { return across ? p.y_mm : p.x_mm; };
  double low = of(points.front()), high = low;
  for (brief::Vec3& p : points) {
    low = std::min(low, of(p));
    high = std::max(high, of(p));
  }
  for (brief::Vec3& p : points) of(p) = outwards(of(p), (low + high) / 2, by_mm);
}

void spread(candidate::RunningGear& gear, bool across, double by_mm) {
  if (across) {
    gear.gauge_mm += 2 * by_mm;
    return;
  }
  // Wheels keep their order: each moves by its share of the length.
  const double rear = gear.wheels.front().x_mm, front = gear.wheels.back().x_mm, length = front - rear;
  if (!(length > 0)) return;
  const auto longer = [&](double x) {
    return (rear + front) / 2 + (x - (rear + front) / 2) * (1 + 2 * by_mm / length);
  };
  for (auto& w : gear.wheels) w.x_mm = longer(w.x_mm);
  for (auto& r : gear.rockers) r.pin_x_mm = longer(r.pin_x_mm);
}

}  // namespace

Setup::Setup(const brief::Brief& of, const std::vector<Chosen>& chosen, const std::vector<MassLine>& weighed)
    : brief(of), masses(weighed) {
  for (const Chosen& c : chosen) {
    functions.push_back(c.function);
    candidates.emplace_back();
    if (c.candidate == nullptr) continue;
    candidate::Candidate slim;
    slim.payloads = c.candidate->payloads;
    slim.holdings = c.candidate->holdings;
    slim.gives = c.candidate->gives;
    slim.tare_g = c.candidate->tare_g;
    slim.stands_on_mm = c.candidate->stands_on_mm;
    slim.running_gear = c.candidate->running_gear;
    slim.nominal = c.candidate->nominal;
    candidates.back() = std::move(slim);
  }
}

std::vector<Chosen> Setup::chosen() const {
  std::vector<Chosen> out;
  for (std::size_t f = 0; f < functions.size(); ++f)
    out.push_back({functions[f], candidates[f] ? &*candidates[f] : nullptr});
  return out;
}

std::vector<Change> moved_bodies(const Setup& machine) {
  std::vector<Change> out;
  const double pitch_mm = machine.brief.system().pitch_mm;
  for (std::size_t b = 1; b < machine.brief.bodies.size(); ++b) {
    const brief::Body& body = machine.brief.bodies[b];
    if (body.joint.type != brief::Joint::Type::fixed) continue;
    struct Way {
      const char* name;
      double x, z;
    };
    for (const Way way : {Way{"back", -1, 0}, Way{"forward", 1, 0}, Way{"down", 0, -1}}) {
      // Not into the ground.
      const int most =
          way.z < 0 ? std::min(kMostPitches,
                               static_cast<int>(std::floor((body.centre_mm.z_mm - body.size_mm.z_mm / 2) / pitch_mm)))
                    : kMostPitches;
      out.push_back({most,
                     [=](Setup& s, int k) {
                       s.masses[b].centre_mm.x_mm += way.x * k * pitch_mm;
                       s.masses[b].centre_mm.z_mm += way.z * k * pitch_mm;
                     },
                     [=, id = body.id](int k) {
                       return fmt::format("move \"{}\" {} {}", id, pitches_text(k, pitch_mm), way.name);
                     },
                     [=, id = body.id, at = body.centre_mm](int k) {
                       return std::vector<Amendment>{
                           {"bodies", id, "centre_mm",
                            numbers_value({at.x_mm + way.x * k * pitch_mm, at.y_mm, at.z_mm + way.z * k * pitch_mm})}};
                     }});
    }
  }
  return out;
}

std::vector<Change> ballast(const Setup& machine, double left_g) {
  std::vector<Change> out;
  const int most = static_cast<int>(std::floor(left_g / kStep_g));
  if (most < 1) return out;
  for (std::size_t b = 0; b < machine.brief.bodies.size(); ++b) {
    const brief::Body& body = machine.brief.bodies[b];
    if (body.joint.type == brief::Joint::Type::pitch) continue;
    for (const int sign : {-1, 1}) {
      const brief::Vec3 at{body.centre_mm.x_mm + sign * body.size_mm.x_mm / 2, body.centre_mm.y_mm,
                           body.centre_mm.z_mm};
      out.push_back(
          {most,
           [=](Setup& s, int steps) {
             MassLine& line = s.masses[b];
             const double added_g = steps * kStep_g, own_g = line.mass_g.nominal, sum_g = own_g + added_g;
             const auto mix = [&](double own, double other) { return (own * own_g + other * added_g) / sum_g; };
             line.centre_mm = {mix(line.centre_mm.x_mm, at.x_mm), mix(line.centre_mm.y_mm, at.y_mm),
                               mix(line.centre_mm.z_mm, at.z_mm)};
             line.mass_g = base::Triple::exact(sum_g);
           },
           [=, id = body.id](int steps) {
             return fmt::format("put {} g of the {} g of parts left at the {} of \"{}\"", base::plain(steps * kStep_g),
                                base::plain(left_g, 3), sign < 0 ? "rear" : "front", id);
           },
           [=, id = body.id, name = free_name(machine, "ballast")](int steps) {
             return std::vector<Amendment>{{"bodies", "", "",
                                            table_value({{"id", text_value(name)},
                                                         {"parent", text_value(id)},
                                                         {"mass_g", number_value(steps * kStep_g)},
                                                         {"centre_mm", numbers_value({at.x_mm, at.y_mm, at.z_mm})}}),
                                            Amendment::Op::add}};
           }});
    }
  }
  return out;
}

std::vector<Change> larger_stands(const Setup& machine) {
  std::vector<Change> out;
  const double pitch_mm = machine.brief.system().pitch_mm;
  const bool feet = std::any_of(machine.candidates.begin(), machine.candidates.end(),
                                [](const auto& c) { return c && !c->stands_on_mm.empty(); });
  for (const bool of_feet : {false, true}) {
    if (of_feet && !feet) continue;
    for (const bool across : {true, false}) {
      out.push_back({kMostPitches,
                     [=](Setup& s, int k) {
                       if (!of_feet) spread(s.brief.support.points_mm, across, k * pitch_mm);
                       for (auto& c : s.candidates) {
                         if (!c) continue;
                         if (of_feet) {
                           spread(c->stands_on_mm, across, k * pitch_mm);
                         } else if (c->running_gear && !c->running_gear->wheels.empty()) {
                           auto gear = std::make_shared<candidate::RunningGear>(*c->running_gear);
                           spread(*gear, across, k * pitch_mm);
                           c->running_gear = std::move(gear);
                         }
                       }
                     },
                     [=](int k) {
                       return fmt::format("set {} {} further out {}", of_feet ? "the feet" : "what it stands on",
                                          pitches_text(k, pitch_mm), across ? "on either side" : "at either end");
                     }});
      // What feet and running gear of a function reach is for that function to say; only a plain stand has words.
      const double extent_mm = extent_of(machine.brief.support.points_mm, across);
      if (of_feet || !(extent_mm > 0)) continue;
      out.back().write = [=](int k) {
        return std::vector<Amendment>{
            {"support", "", across ? "width_mm" : "length_mm", number_value(extent_mm + 2 * k * pitch_mm)}};
      };
    }
  }
  return out;
}

std::vector<Change> lighter_loads(const Setup& machine) {
  double all_g = 0;
  for (const auto& c : machine.candidates) {
    if (!c) continue;
    for (const candidate::Payload& p : c->payloads) all_g = std::max(all_g, p.mass_g);
  }
  if (!(all_g > 0)) return {};
  return {{99,
           [](Setup& s, int k) {
             for (auto& c : s.candidates) {
               if (!c) continue;
               for (candidate::Payload& p : c->payloads) p.mass_g *= 1 - k / 100.0;
             }
           },
           [all_g](int k) {
             return fmt::format("carry no more than {} g instead of {} g", base::plain(all_g * (1 - k / 100.0), 3),
                                base::plain(all_g, 3));
           },
           [machine](int k) {
             std::vector<Amendment> out;
             for (std::size_t f = 0; f < machine.functions.size(); ++f) {
               if (!machine.candidates[f] || machine.candidates[f]->payloads.empty()) continue;
               const document::Node* load = machine.functions[f]->wants.find("load_g");
               if (load == nullptr || !load->is_number()) continue;
               out.push_back({"functions", machine.functions[f]->id, "wants/load_g",
                              number_value(load->number() * (1 - k / 100.0))});
             }
             return out;
           }}};
}

std::optional<Remedy> best_of(const Setup& machine, const std::vector<Change>& family, const Sought& sought,
                              std::optional<std::pair<const Change*, int>>* done) {
  constexpr int kAllLooked = 12;
  constexpr double kBetter = 1e-6;
  const auto value_of = [&](const Change& c, int k) {
    Setup changed = machine;
    c.make(changed, k);
    return sought.measure(changed);
  };
  std::optional<Remedy> best;
  int fewest = 0;
  for (const Change& c : family) {
    // Doing more need not help for ever, so walk up in growing strides and refine the first hit.
    int hit = 0, before = 0, best_steps = 0;
    double best_value = sought.before;
    // As many steps as one that is enough already would not be told.
    const int most = best && best->enough ? std::min(c.most, fewest - 1) : c.most;
    for (int k = 1; k <= most && hit == 0; k += std::max(1, c.most > kAllLooked ? k / 2 : 1)) {
      const double value = value_of(c, k);
      if (value > best_value + kBetter) {
        best_value = value;
        best_steps = k;
      }
      (value >= sought.wanted ? hit : before) = k;
    }
    while (hit - before > 1) {
      const int middle = (hit + before) / 2;
      (value_of(c, middle) >= sought.wanted ? hit : before) = middle;
    }
    const int steps = hit > 0 ? hit : best_steps;
    if (steps == 0) continue;
    const double after = hit > 0 ? value_of(c, steps) : best_value;
    const bool enough = hit > 0;
    const bool better = !best || (enough && !best->enough) ||
                        (enough == best->enough && (enough ? steps < fewest : after > best->after + kBetter));
    if (!better) continue;
    best = Remedy{c.tell(steps), sought.what, sought.before, after, sought.unit, enough};
    if (c.write) best->amendments = c.write(steps);
    fewest = steps;
    if (done != nullptr) *done = std::pair{&c, steps};
  }
  return best;
}

}  // namespace assessment
