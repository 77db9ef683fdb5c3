// Cells as they empty: voltage and resistance over the depth of discharge, charge over the drain.
//
// Depth d = share of the charge used, 0 fresh, 1 empty (end-of-discharge voltage). A pack is n equal cells in series.
//   E(d) = E_fresh e(d)     r(d) = r_fresh g(d)     C(I) = C_ref c(I / I_ref)     dd/dt = I / (3600 C(I))
// e, g, c are tables of the chemistry. c of alkaline cells is measured (PowerStream, AA battery discharge tests, 2020,
// interpolated on logarithms); c of the others is Peukert's law with the exponents named in cells.cpp. e and g are
// typical shapes from makers' sheets, from memory.
// Peukert: t = C / I^k (one-ampere form) or t = H (C / (I H))^k (rated form): W. Peukert, ETZ 20 (1897). The two take
// different capacities; see the functions. Units V, A, ohm, Ah, s, h.
#pragma once

#include "motor/supply.h"
#include "stock/part.h"  // Chemistry

namespace motor {

struct Cells {
  stock::Chemistry chemistry = stock::Chemistry::alkaline;
  int in_series = 6;
  double fresh_voltage_v = 9;   ///< of the pack, open circuit
  double resistance_ohm = 0.9;  ///< of the pack, fresh, contacts included
  double capacity_ah = 1.3;     ///< at reference_drain_a()
};

/// Number of cells that give a voltage, when nobody says.
[[nodiscard]] int cells_for(stock::Chemistry, double voltage_v);

/// Drain at which a capacity is told: 0.5 A for alkaline cells, otherwise 0.2 C (IEC 61951-2 for NiMH).
[[nodiscard]] double reference_drain_a(const Cells&);
/// Charge the pack gives at a steady drain; below the least tabled drain that of the table's end.
[[nodiscard]] double capacity_ah(const Cells&, double drain_a);
/// Share of the charge that a second at this drain takes; 0 for no drain.
[[nodiscard]] double depth_per_s(const Cells&, double drain_a);
/// `depth` outside 0..1 is taken as the nearer end.
[[nodiscard]] double open_voltage_v(const Cells&, double depth);
[[nodiscard]] double resistance_ohm(const Cells&, double depth);
/// The supply at a depth; the hub's limits stay to be filled in.
[[nodiscard]] Supply supply_at(const Cells&, double depth);
/// How far cells of one type differ in capacity, as a share.
[[nodiscard]] double cell_spread(stock::Chemistry);

/// Hours at a steady drain, capacity as the law's constant in A^k h.
[[nodiscard]] double peukert_hours(double capacity_at_one_ampere, double exponent, double drain_a);
/// The same for a capacity rated over `rated_hours`.
[[nodiscard]] double peukert_hours(double capacity_ah, double rated_hours, double exponent, double drain_a);
/// From two discharges: (log t2 - log t1) / (log I1 - log I2).
[[nodiscard]] double peukert_exponent(double drain1_a, double hours1, double drain2_a, double hours2);

}  // namespace motor
