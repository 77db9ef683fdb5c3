// Ropes over drums and pulleys: friction of the wrap and of the journal.
#pragma once

namespace balance {

/// Capstan: ratio of the tensions at slip, e^(mu wrap). Meriam & Kraige, Statics, section 6/8.
[[nodiscard]] double wrap_ratio(double friction, double wrap_rad);
struct HoldRange {
  double least_n = 0, most_n = 0;
};
/// Pulls that neither let the load down nor raise it.
[[nodiscard]] HoldRange wrap_hold_n(double load_n, double friction, double wrap_rad);
/// Smallest wrap with which `pull_n` holds `load_n`.
[[nodiscard]] double wrap_to_hold_rad(double load_n, double pull_n, double friction);

/// A pulley of radius R on a fixed pin of radius r, rope parallel on both sides, friction circle radius taken as mu r:
/// raise W (R + mu r)/(R - mu r), hold W (R - mu r)/(R + mu r). Beer & Johnston, Statics, friction circle.
struct PulleyPull {
  double raise_n = 0, hold_n = 0;
};
[[nodiscard]] PulleyPull pulley_parallel(double load_n, double pulley_radius_mm, double pin_radius_mm, double friction);
/// The load hangs, the pull is at `angle_rad` to its line (0 = parallel as above, pi/2 = horizontal).
[[nodiscard]] double pulley_raise_at_n(double load_n, double pulley_radius_mm, double pin_radius_mm, double friction,
                                       double angle_rad);
/// Friction torque of a loaded journal, mu r F.
[[nodiscard]] double journal_torque_nmm(double force_n, double pin_radius_mm, double friction);

}  // namespace balance
