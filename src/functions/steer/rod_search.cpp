#include "functions/steer/rod_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "base/check.h"
#include "base/text.h"

#include <fmt/format.h>

namespace functions::steer {
namespace {

constexpr double kDegPerRad = 180 / std::numbers::pi;

/// Smallest distances over the travel between links that move in one plane: arms and crank below, or that pass the
/// crank's shaft.
struct Gaps {
  double links_mm = std::numeric_limits<double>::infinity();      ///< crank to either arm
  double track_rod_mm = std::numeric_limits<double>::infinity();  ///< track rod to the crank's pivot
  double drag_mm = std::numeric_limits<double>::infinity();       ///< drag link to the crank's pivot
};

Gaps gaps_of(const Rods& rods, const Travel& travel, const Axle& axle) {
  Gaps g;
  for (const Spot& s : travel.spots) {
    const Ends e = ends_at(rods, axle, s);
    g.links_mm = std::min({g.links_mm, distance_mm(e.pivot, e.crank, e.left_kingpin, e.left_arm),
                           distance_mm(e.pivot, e.crank, e.right_kingpin, e.right_arm)});
    g.track_rod_mm = std::min(g.track_rod_mm, distance_mm(e.pivot, e.pivot, e.left_arm, e.right_arm));
    g.drag_mm = std::min(g.drag_mm, distance_mm(e.pivot, e.pivot, e.left_arm, e.crank));
  }
  return g;
}

struct Nearest {
  std::int64_t count = 0;
  double shortfall = std::numeric_limits<double>::infinity();
  std::string text;
  void offer(double by, const auto& say) {
    ++count;
    if (by < shortfall) {
      shortfall = by;
      text = say();
    }
  }
};

/// Torques of a choice; false where friction jams.
bool load(RodChoice& c, const RodTask& task) {
  c.torque_nmm = drive_torques_nmm(c, task.moment_nmm, task.pins);
  c.share_rad = shares_rad(c.travel);
  c.peak_nmm = *std::max_element(c.torque_nmm.begin(), c.torque_nmm.end());
  if (!std::isfinite(c.peak_nmm)) return false;
  for (std::size_t i = 0; i < c.torque_nmm.size(); ++i) c.mean_nmm += c.torque_nmm[i] * c.share_rad[i];
  c.mean_nmm /= c.travel.range_rad;
  return true;
}

void add_arms(lattice::Point2 arm, std::vector<int>& out) {
  const int back_p = std::abs(arm.z_hp) / 2, in_p = std::abs(arm.x_hp) / 2;
  for (int i = 0; i < 2; ++i) {
    out.push_back(back_p);
    if (in_p > 0) out.push_back(in_p);
  }
}

/// Sorted by force, with the nearest of what did not fit.
void finish(RodsFound& out, const std::array<Nearest, 6>& unfit) {
  std::stable_sort(out.choices.begin(), out.choices.end(),
                   [](const RodChoice& a, const RodChoice& b) { return a.peak_nmm < b.peak_nmm; });
  for (std::size_t r = 0; r < unfit.size(); ++r) {
    if (unfit[r].count > 0)
      out.misses.push_back({static_cast<RodUnfit>(r), unfit[r].count, unfit[r].shortfall, unfit[r].text});
  }
}

}  // namespace

std::vector<double> drive_torques_nmm(const RodChoice& c, double moment_nmm, const PinFriction& pins) {
  if (!c.rack) return crank_torques_nmm(c.travel, moment_nmm, pins);
  std::vector<double> out;
  for (const RackSpot& s : c.rack_travel.spots) out.push_back(rack_effort(*c.rack, s, moment_nmm, pins).pinion_nmm);
  return out;
}

std::vector<int> bar_lengths_p(const Rack& r) {
  std::vector<int> out{r.half_bar_hp, r.tie_p, r.tie_p};
  add_arms(r.arm, out);
  return out;
}

std::vector<int> bar_lengths_p(const Rods& r) {
  std::vector<int> out{r.track_rod_p, r.drag_p, r.crank_p};
  add_arms(r.arm, out);
  return out;
}

RodsFound find_rods(const RodTask& task, const base::RunControl& control) {
  KW_CHECK(task.axle.kingpins_hp > 0 && task.axle.kingpins_hp % 2 == 0, "kingpins stand whole pitches apart");
  RodsFound out;
  std::array<Nearest, 6> unfit;
  const auto miss = [&](RodUnfit why, double by, const auto& say) {
    unfit[static_cast<std::size_t>(why)].offer(by, say);
  };
  int longest_p = 0;
  for (const linkage::Bar& b : task.bars) longest_p = std::max(longest_p, b.holes - 1);

  // The wheels' side first: it does not depend on the crank.
  std::vector<Rods> sets;
  for (const lattice::Point2 arm : task.arms) {
    Rods r;
    r.arm = arm;
    r.track_rod_p = (task.axle.kingpins_hp - 2 * arm.x_hp) / 2;
    if (r.track_rod_p < 1 || arm == lattice::Point2{}) continue;
    ++out.examined;
    r.crank_p = r.drag_p = 1;
    if (!linkage::bars_for(task.bars, bar_lengths_p(r))) {
      miss(RodUnfit::bars, r.track_rod_p - longest_p > 0 ? r.track_rod_p - longest_p : 1, [&] {
        return fmt::format("a track rod of {} holes and arms {} p back, {} p in: the stock has not all their beams",
                           r.track_rod_p + 1, base::plain(arm.z_hp / 2.0), base::plain(arm.x_hp / 2.0));
      });
      continue;
    }
    const linkage::Trapezoid t = task.axle.trapezoid(r);
    const auto outer = linkage::outer_angle_rad(t, task.axle.inner_rad);
    const auto angle = linkage::transmission_angle_rad(t, task.axle.inner_rad);
    const auto back = outer ? linkage::transmission_angle_rad(t, -*outer) : std::nullopt;
    const double least = angle && back ? std::min(*angle, *back) * kDegPerRad : 0;
    if (!outer || *outer <= 0 || least < kLeastTransmission_deg) {
      miss(RodUnfit::wheels, kLeastTransmission_deg - least, [&] {
        return fmt::format("arms {} p back, {} p in: the track rod meets an arm at {} deg at full lock, {} are needed",
                           base::plain(arm.z_hp / 2.0), base::plain(arm.x_hp / 2.0), base::plain(least, 3),
                           base::plain(kLeastTransmission_deg));
      });
      continue;
    }
    double error = 0;
    for (int k = 1; k < kPositions; ++k) {
      const double inner = task.axle.inner_rad * k / (kPositions - 1);
      const auto at = linkage::outer_angle_rad(t, inner);
      error =
          std::max(error, at ? std::fabs(*at - linkage::ackermann_outer_rad(inner, t.kingpins_mm, task.axle.base_mm))
                             : std::numbers::pi);
    }
    if (error > task.max_error_rad) {
      miss(RodUnfit::error, (error - task.max_error_rad) * kDegPerRad, [&] {
        return fmt::format("arms {} p back, {} p in: the outer wheel stands {} deg off Ackermann's angle",
                           base::plain(arm.z_hp / 2.0), base::plain(arm.x_hp / 2.0),
                           base::plain(error * kDegPerRad, 3));
      });
      continue;
    }
    sets.push_back(r);
  }

  for (std::size_t a = 0; a < sets.size() && out.complete; ++a) {
    control.report("steering rods", static_cast<double>(a) / static_cast<double>(sets.size()));
    for (const lattice::Point2 pivot : task.pivots) {
      if (control.stopped()) {
        out.complete = false;
        break;
      }
      for (int crank_p = 1; crank_p <= task.longest_crank_p; ++crank_p) {
        for (int drag_p = 2; drag_p <= longest_p; ++drag_p) {
          Rods r = sets[a];
          r.pivot = pivot;
          r.crank_p = crank_p;
          r.drag_p = drag_p;
          if (!linkage::bars_for(task.bars, bar_lengths_p(r))) continue;
          for (const int side : {1, -1}) {
            r.side = side;
            ++out.examined;
            auto travel = travel_of(r, task.axle);
            if (!travel) {
              miss(RodUnfit::crank, 1, [] {
                return std::string(
                    "crank and drag link do not follow the wheels with the least angles over the travel");
              });
              continue;
            }
            const Gaps gaps = gaps_of(r, *travel, task.axle);
            const bool up = gaps.track_rod_mm >= task.shaft_clear_mm, down = gaps.drag_mm >= task.shaft_clear_mm;
            if (gaps.links_mm < task.axle.pitch_mm || !(up || down)) {
              miss(RodUnfit::room, std::max(task.axle.pitch_mm - gaps.links_mm, 0.1), [&] {
                return fmt::format("the crank comes within {} mm of an arm, {} are needed",
                                   base::plain(gaps.links_mm, 3), base::plain(task.axle.pitch_mm));
              });
              continue;
            }
            ++out.feasible;
            RodChoice c{r, std::move(*travel), {}, {}, 0, 0, up, down};
            if (load(c, task)) out.choices.push_back(std::move(c));
          }
        }
      }
    }
  }

  finish(out, unfit);
  out.covered = fmt::format(
      "{} arms, {} of them within the wanted error, x {} crank pivots x {} cranks x {} drag links x 2 sides",
      task.arms.size(), sets.size(), task.pivots.size(), task.longest_crank_p, std::max(0, longest_p - 1));
  if (!out.complete) out.covered += ", stopped before the end";
  return out;
}

RodsFound find_racks(const RodTask& task, const RackParts& parts, const base::RunControl& control) {
  RodsFound out;
  std::array<Nearest, 6> unfit;
  const auto miss = [&](RodUnfit why, double by, const auto& say) {
    unfit[static_cast<std::size_t>(why)].offer(by, say);
  };
  const double pitch_mm = task.axle.pitch_mm, tooth_mm = std::numbers::pi * parts.module_mm;
  std::vector<int> places;
  for (const lattice::Point2 p : task.pivots)
    if (p.z_hp == 0) places.push_back(p.x_hp);
  if (parts.racks.empty())
    miss(RodUnfit::rack, 1, [] { return std::string("the stock has no rack that this function may use"); });
  for (std::size_t a = 0; a < task.arms.size() && out.complete; ++a) {
    if (parts.racks.empty()) break;
    control.report("racks", static_cast<double>(a) / static_cast<double>(task.arms.size()));
    for (const int x_hp : places) {
      if (control.stopped()) {
        out.complete = false;
        break;
      }
      for (const RackParts::Pinion& pinion : parts.pinions) {
        for (const int side : {1, -1}) {
          for (int half_hp = 2; half_hp < task.axle.kingpins_hp / 2; ++half_hp) {
            Rack r;
            r.arm = task.arms[a];
            r.pinion = {x_hp, 0};
            r.side = side;
            r.half_bar_hp = half_hp;
            r.radius_mm = pinion.radius_mm;
            r.wheel = pinion.id;
            const double length_p = tie_mm(r, task.axle) / pitch_mm;
            r.tie_p = static_cast<int>(std::lround(length_p));
            ++out.examined;
            if (r.tie_p < 2 || std::fabs(length_p - r.tie_p) * pitch_mm > parts.misfit_mm) continue;
            if (!linkage::bars_for(task.bars, bar_lengths_p(r))) {
              miss(RodUnfit::bars, 1, [&] {
                return fmt::format(
                    "a rack's bar of {} holes, tie rods of {} and arms {} p back, {} p in: the stock has "
                    "not all their beams",
                    half_hp + 1, r.tie_p + 1, base::plain(r.arm.z_hp / 2.0), base::plain(r.arm.x_hp / 2.0));
              });
              continue;
            }
            auto travel = rack_travel(r, task.axle);
            if (!travel) {
              miss(RodUnfit::crank, 1, [] {
                return std::string("the tie rods of a rack do not follow with their least angles over the travel");
              });
              continue;
            }
            if (travel->error_rad > task.max_error_rad) {
              miss(RodUnfit::error, (travel->error_rad - task.max_error_rad) * kDegPerRad, [&] {
                return fmt::format(
                    "a rack with arms {} p back, {} p in: the outer wheel stands {} deg off Ackermann's "
                    "angle",
                    base::plain(r.arm.z_hp / 2.0), base::plain(r.arm.x_hp / 2.0),
                    base::plain(travel->error_rad * kDegPerRad, 3));
              });
              continue;
            }
            // Run to a stop, the bar's end keeps a pitch off the kingpin.
            const double over_mm = (half_hp - task.axle.kingpins_hp / 2.0 + 2) * pitch_mm / 2 + travel->travel_mm / 2;
            if (over_mm > 1e-9) {
              miss(RodUnfit::room, over_mm, [&] {
                return fmt::format("a rack's bar of {} holes that moves {} mm comes {} mm too near to a kingpin",
                                   half_hp + 1, base::plain(travel->travel_mm, 3), base::plain(over_mm, 3));
              });
              continue;
            }
            // Two more than the travel, so that the pinion is in full mesh at both stops.
            const int teeth = static_cast<int>(std::ceil(travel->travel_mm / tooth_mm - 1e-9)) + 2;
            bool serves = false;
            for (const RackParts::Toothed& t : parts.racks) {
              r.rack = t.id;
              r.racks = (teeth + t.teeth - 1) / t.teeth;
              if (r.racks > t.pieces) {
                miss(RodUnfit::rack, r.racks - t.pieces, [&] {
                  return fmt::format("{} mm of travel need {} teeth of rack, {} pieces of {}; the stock has {} an axle",
                                     base::plain(travel->travel_mm, 3), teeth, r.racks, t.teeth, t.pieces);
                });
                continue;
              }
              const double long_mm = r.racks * t.teeth * tooth_mm - (half_hp + 1) * pitch_mm;
              if (long_mm > tooth_mm) {
                miss(RodUnfit::room, long_mm, [&] {
                  return fmt::format("{} rack{} of {} teeth stand{} {} mm beyond a bar of {} holes", r.racks,
                                     r.racks > 1 ? "s" : "", t.teeth, r.racks > 1 ? "" : "s", base::plain(long_mm, 3),
                                     half_hp + 1);
                });
                continue;
              }
              serves = true;
              break;
            }
            if (!serves) continue;
            ++out.feasible;
            RodChoice c{{}, seen_by_pinion(r, *travel), {}, {}, 0, 0, true, true};
            c.rods.arm = r.arm;
            c.rods.pivot = r.pinion;
            c.rack = r;
            c.rack_travel = std::move(*travel);
            if (load(c, task)) out.choices.push_back(std::move(c));
          }
        }
      }
    }
  }
  finish(out, unfit);
  out.covered =
      fmt::format("{} arms x {} places x {} pinions x 2 sides", task.arms.size(), places.size(), parts.pinions.size());
  if (!out.complete) out.covered += ", stopped before the end";
  return out;
}

}  // namespace functions::steer
