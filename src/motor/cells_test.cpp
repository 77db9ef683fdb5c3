// Covers cells: published discharges, Peukert's law in both forms, and that a pack empties as its rating says.
#include "motor/cells.h"

#include <gtest/gtest.h>

#include <cmath>

using motor::Cells;
using stock::Chemistry;

TEST(Cells, PeukertOneAmpereForm) {
  // BATT-01: electrotechnik.net, Peukert law and discharge of lead acid batteries: 14.5 h; 0.005 h.
  EXPECT_NEAR(motor::peukert_hours(100, 1.2, 5), 14.496, 0.005);
}

TEST(Cells, PeukertRatedForm) {
  // BATT-02, recomputed from the standard form; 1e-4 relative.
  const double hours = motor::peukert_hours(100, 20, 1.2, 10);
  EXPECT_NEAR(hours, 8.7055, 8.7055e-4);
  EXPECT_NEAR(hours * 10, 87.06, 87.06e-4);
}

TEST(Cells, PeukertExponentFromTwoDischarges) {
  // BATT-03: formula of the Xantrex Link 20 manual, p. 26; data paradigmshiftnow.net; 1e-4.
  EXPECT_NEAR(motor::peukert_exponent(5, 20, 20, 3), 1.3685, 1e-4);
}

TEST(Cells, AlkalineChargeFallsWithDrainAsMeasured) {
  // BATT-04: PowerStream, AA battery discharge tests, 2020; cell to cell 15 %.
  const Cells cells{Chemistry::alkaline, 1, 1.5, 0.15, 1.30};
  EXPECT_NEAR(motor::capacity_ah(cells, 0.1), 2.20, 0.01);
  EXPECT_NEAR(motor::capacity_ah(cells, 0.5), 1.30, 0.01);
  EXPECT_NEAR(motor::capacity_ah(cells, 1), 0.83, 0.01);
  EXPECT_NEAR(motor::capacity_ah(cells, 2), 0.54, 0.01);
  EXPECT_DOUBLE_EQ(motor::cell_spread(Chemistry::alkaline), 0.15);
  // The same note's maker figures at 0.25 and 0.5 A (2.3, 2.0 Ah: Procell, rightbattery.com, with pauses) are more than
  // a steady drain gives.
  EXPECT_LT(motor::capacity_ah(cells, 0.25), 2.3);
  for (double a = 0.1; a < 4; a *= 1.1) EXPECT_GT(motor::capacity_ah(cells, a), motor::capacity_ah(cells, a * 1.1));
}

TEST(Cells, NimhGivesItsRatingInFiveHours) {
  // BATT-05: Panasonic HHR70AAAJ sheet, 2005: 720 mAh at 0.2 It to 1.0 V, 1.2 V nominal, about 30 mohm.
  // BATT-06: brighterbattery.com, IEC rating: reached in 5 h at 0.2 C.
  const Cells cell{Chemistry::nimh, 1, 1.35, 0.03, 0.720};
  const double drain_a = motor::reference_drain_a(cell);
  EXPECT_NEAR(drain_a, 0.144, 1e-12);
  EXPECT_NEAR(1 / motor::depth_per_s(cell, drain_a) / 3600, 5, 1e-9);
  EXPECT_NEAR(motor::open_voltage_v(cell, 1), 1.0, 0.005);
  EXPECT_NEAR(motor::open_voltage_v(cell, 0.5), 1.25, 0.01);
  EXPECT_GE(0.720 * (1 - motor::cell_spread(Chemistry::nimh)), 0.698);  // 700 mAh at least
  // Low self-discharge AA: typical 2000, minimum 1900 (videofoundry.co.nz): within twice the spread.
  EXPECT_GE(2000 * (1 - 2 * motor::cell_spread(Chemistry::nimh)), 1880);
}

TEST(Cells, APackSagsAsComputedByHand) {
  // BATT-07, recomputed: six cells of 1.5 V and 0.15 ohm at 1.2 A give 7.92 V; 1e-6.
  const Cells pack{Chemistry::alkaline, 6, 9, 0.9, 1.3};
  EXPECT_NEAR(voltage_under(motor::supply_at(pack, 0), 1.2), 7.920, 1e-6);
}

TEST(Cells, VoltageFallsAndResistanceRisesWhileTheyEmpty) {
  for (const Chemistry c : {Chemistry::alkaline, Chemistry::nimh, Chemistry::li_ion}) {
    const Cells pack{c, 2, 8, 0.2, 1};
    for (int i = 0; i < 100; ++i) {
      EXPECT_GE(motor::open_voltage_v(pack, i / 100.0), motor::open_voltage_v(pack, (i + 1) / 100.0));
      EXPECT_LE(motor::resistance_ohm(pack, i / 100.0), motor::resistance_ohm(pack, (i + 1) / 100.0));
    }
    EXPECT_DOUBLE_EQ(motor::open_voltage_v(pack, 0), 8);
    EXPECT_DOUBLE_EQ(motor::open_voltage_v(pack, 2), motor::open_voltage_v(pack, 1));
  }
  EXPECT_EQ(motor::cells_for(Chemistry::li_ion, 8.4), 2);
  EXPECT_EQ(motor::cells_for(Chemistry::nimh, 8.1), 6);
  EXPECT_EQ(motor::depth_per_s(Cells{}, 0), 0);
}
