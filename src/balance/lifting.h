// Tipping load at a radius and slew angle, and the rated load. For models only, never for real lifting.
#pragma once

#include <span>

#include "balance/standing.h"

namespace balance {

struct TippingLoad {
  double load_n = 0;  ///< infinite when the load stands inside the support polygon (or the machine cannot tip)
  int edge = -1;      ///< tipping line of the hull; -1 when infinite
};
/// Largest weight hung from `hook` (ground frame; height matters on a slope) before the machine tips:
/// per edge P = W (c - n p)/(n q - c). 0 when the empty machine tips already.
[[nodiscard]] TippingLoad tipping_load(std::span<const Point2> hull, double machine_weight_n, Vec3 machine_centre,
                                       Vec3 hook, const Slope& slope = {});
/// Point at a load radius from the slew axis; slew angle from x towards y.
[[nodiscard]] Vec3 hook_at(Point2 slew_axis, double radius_mm, double slew_rad, double height_mm);

enum class Governs { tipping, drive };
struct RatedLoad {
  double load_n = 0;
  Governs governs = Governs::tipping;
};
/// Crane practice on outriggers (SAE J765 as quoted by crane makers): 85 %.
inline constexpr double kOutriggerShare = 0.85;
/// min(tipping share x tipping, drive share x drive); equal: tipping governs.
[[nodiscard]] RatedLoad rated_load(double tipping_n, double drive_n, double tipping_share = kTippingShare,
                                   double drive_share = kDriveShare);

}  // namespace balance
