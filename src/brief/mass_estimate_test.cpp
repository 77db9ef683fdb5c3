// Covers brief/mass_estimate: the closed form, and the plausibility of a whole machine with every kit system's figures.
#include "brief/mass_estimate.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <variant>

#include "document/diagnostic.h"
#include "stock/catalogue.h"

using base::Triple;

TEST(MassEstimate, IsDensityTimesVolumePlusMotorsAndHubs) {
  const Triple body = brief::estimate_body_mass_g({100, 50, 20}, {0.05, 0.1, 0.2});
  EXPECT_DOUBLE_EQ(body.low, 5);
  EXPECT_DOUBLE_EQ(body.nominal, 10);
  EXPECT_DOUBLE_EQ(body.high, 20);
  const Triple machine =
      brief::estimate_machine_mass_g({100, 50, 20}, 3, {30, 40, 45}, {90, 100, 120}, {0.05, 0.1, 0.2});
  EXPECT_DOUBLE_EQ(machine.low, 5 + 3 * 30 + 90);
  EXPECT_DOUBLE_EQ(machine.nominal, 10 + 3 * 40 + 100);
  EXPECT_DOUBLE_EQ(machine.high, 20 + 3 * 45 + 120);
}

TEST(MassEstimate, NoEnvelopeWeighsNothing) {
  EXPECT_EQ(brief::estimate_body_mass_g({}, {0.05, 0.1, 0.2}), (Triple{0, 0, 0}));
}

// Common practice, no source: a motorised machine of about 43 x 21 x 26 cm with seven motors weighs about 3 kg. That is
// a machine of moulded parts; a kit of sheet metal is heavier. The fill density of the catalogue is set from the same
// fact, so this guards data and formula against drifting apart; it is no independent proof of either.
TEST(MassEstimate, AMachineOf43By21By26CentimetresWithSevenMotorsWeighsAbout3Kilograms) {
  document::Diagnostics d;
  const auto catalogue = stock::load_kit_system("metric8", KW_SOURCE_DIR "/catalogue", d);
  ASSERT_TRUE(catalogue);
  // Every motor and every hub of the kit system is a sensible choice; the estimate has to hold for all.
  const auto motors = catalogue->of(stock::Family::motor);
  const auto hubs = catalogue->of(stock::Family::hub);
  ASSERT_FALSE(motors.empty());
  ASSERT_FALSE(hubs.empty());
  for (const stock::ClassId motor : motors) {
    for (const stock::ClassId hub : hubs) {
      const auto* hub_data = std::get_if<stock::Hub>(&catalogue->at(hub).data);
      ASSERT_NE(hub_data, nullptr);
      const int needed = (7 + hub_data->ports - 1) / hub_data->ports;
      const Triple one = catalogue->at(hub).mass_g.value;
      const Triple mass = brief::estimate_machine_mass_g({430, 210, 260}, 7, catalogue->at(motor).mass_g.value,
                                                         {needed * one.low, needed * one.nominal, needed * one.high},
                                                         catalogue->system.craft.fill_density_g_cm3.value);
      EXPECT_NEAR(mass.nominal, 3000, 0.25 * 3000) << catalogue->at(motor).id << ", " << catalogue->at(hub).id;
      EXPECT_TRUE(mass.ordered());
    }
  }
}
