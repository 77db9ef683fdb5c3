// Descriptions as people write them, in three languages, against the classes they mean; and the laws of matching:
// numbers never bend, every class is found under its own words, vague words stay questions.
#include "stock/match.h"

#include <gtest/gtest.h>

#include "stock/catalogue.h"
#include "stock/folding.h"

namespace stock {
namespace {

const Catalogue& system_of(const std::string& id) {
  const auto load = [](const std::string& name) {
    document::Diagnostics d;
    auto c = read_catalogue(std::string(KW_SOURCE_DIR) + "/catalogue/" + name, d);
    EXPECT_TRUE(c.has_value()) << (d.empty() ? "" : document::text_of(d.sorted()[0]));
    return c.value_or(Catalogue{});
  };
  static const Catalogue metric8 = load("metric8");
  static const Catalogue half_inch = load("half_inch");
  return id == "metric8" ? metric8 : half_inch;
}

struct Found {
  std::string id;
  double confidence = 0;
};

Found find(const std::string& system, const std::string& text) {
  const Catalogue& c = system_of(system);
  static const Matcher metric8(system_of("metric8"));
  static const Matcher half_inch(system_of("half_inch"));
  const Matcher& m = system == "metric8" ? metric8 : half_inch;
  const auto all = m.match(m.reader().read(text));
  if (all.empty()) return {};
  return {c.at(all[0].part).id, all[0].confidence};
}

struct Case {
  const char* text;
  const char* id;
};

TEST(Match, EveryClassIsFoundUnderEachOfItsOwnDescriptions) {
  for (const std::string system : {"metric8", "half_inch"}) {
    for (const PartClass& c : system_of(system).classes) {
      std::vector<std::string> texts = c.also;
      texts.push_back(c.name);
      for (const std::string& t : texts) {
        const Found f = find(system, t);
        EXPECT_EQ(f.id, c.id) << system << ": " << t;
        EXPECT_GE(f.confidence, 0.99) << system << ": " << t;
      }
    }
  }
}

TEST(Match, PlainDescriptionsInThreeLanguagesFindTheirClass) {
  const Case cases[] = {
      {"axle, length 5", "axle_5"},
      {"axle 5", "axle_5"},
      {"Axle 5L", "axle_5"},
      {"AXLE, 5 long", "axle_5"},
      {"cross axle length 12", "axle_12"},
      {"axle 40 mm", "axle_5"},
      {"axle 4 cm", "axle_5"},
      {"axle 5, black", "axle_5"},
      {"axle 8 with stop", "axle_stop_8"},
      {"beam 7 holes", "beam_7"},
      {"7-hole beam", "beam_7"},
      {"beam 7", "beam_7"},
      {"Beam 1 x 7", "beam_7"},
      {"straight beam, 7 holes", "beam_7"},
      {"half beam 5", "beam_half_5"},
      {"beam, half thickness, 5 holes", "beam_half_5"},
      {"thin beam 5 holes", "beam_half_5"},
      {"gear 24 tooth", "gear_24"},
      {"24t gear", "gear_24"},
      {"24-tooth gear", "gear_24"},
      {"gear, z = 24", "gear_24"},
      {"gear z24", "gear_24"},
      {"Gear wheel 24 teeth", "gear_24"},
      {"gears, 24 teeth", "gear_24"},
      {"pinon 8 teeth", "gear_8"},
      {"grey gear 8 teeth", "gear_8"},
      {"pinion 8", "gear_8"},
      {"bevel gear 12", "bevel_12"},
      {"12 tooth bevel", "bevel_12"},
      {"double bevel gear 20 teeth", "gear_20"},
      {"crown gear 24", "crown_24"},
      {"worm", "worm_1"},
      {"worm gear", "worm_1"},
      {"worm screw, 1 start", "worm_1"},
      {"turntable 52", "ring_52"},
      {"turntable 52/28", "ring_52"},
      {"slewing ring, 68 teeth", "ring_68"},
      {"Turntable with 96 outer teeth", "ring_96"},
      {"rack 20 teeth", "rack_20"},
      {"differential", "differential_28"},
      {"frame 5x9", "frame_5x9"},
      {"frame 9 x 5", "frame_5x9"},
      {"frame 5 by 13", "frame_5x13"},
      {"panel 3x13 curved", "panel_curved_3x13"},
      {"panel 3 x 13", "panel_3x13"},
      {"wedge panel right 3x9", "panel_wedge_right"},
      {"plate 2*8", "plate_2x8"},
      {"pin with friction", "pin_tight_2"},
      {"pin without friction", "pin_loose_2"},
      {"loose pin, length 3", "pin_loose_3"},
      {"large motor", "motor_large"},
      {"Motor (medium)", "motor_medium"},
      {"hub with 4 ports", "hub_4"},
      {"2-port hub", "hub_2"},
      {"linear actuator, medium", "actuator_medium"},
      {"screw actuator long", "actuator_long"},
      {"wheel 48 mm", "wheel_48"},
      {"wheel \u00d8 48", "wheel_48"},
      {"wheel, diameter 4.8 cm", "wheel_48"},
      {"track link wide", "track_link_wide"},
      {"sprocket 12 teeth", "sprocket_12"},
      {"string 1 m", "rope_1000"},
      {"rope, 2000 mm", "rope_2000"},
      {"bush 1/2", "bush_half"},
      {"\u00bd bush", "bush_half"},
      {"bush", "bush_full"},
      {"universal joint", "joiner_universal_3"},
      {"axle joiner", "joiner_axle"},
      {"angle connector 120\u00b0", "connector_angle_120"},
      {"connector, angle, 90 deg", "connector_angle_90"},
      {"gear_24", "gear_24"},
      {"axle 5 (AB1204)", "axle_5"},
      {"axle 5 - 4471250", "axle_5"},
      {"Zahnrad 24 Z\u00e4hne", "gear_24"},
      {"Zahnrad Z24", "gear_24"},
      {"ZAHNRAD, 24 Zaehne, schwarz", "gear_24"},
      {"Kegelrad 12 Z\u00e4hne", "bevel_12"},
      {"Schnecke", "worm_1"},
      {"Achse L\u00e4nge 5", "axle_5"},
      {"Lochbalken 7 L\u00f6cher", "beam_7"},
      {"Balken 7", "beam_7"},
      {"halber Balken 5 Loch", "beam_half_5"},
      {"Drehkranz 52 Z\u00e4hne", "ring_52"},
      {"Motor gro\u00df", "motor_large"},
      {"Rahmen 5 x 9", "frame_5x9"},
      {"Rad 48 mm", "wheel_48"},
      {"Empf\u00e4nger mit 4 Anschl\u00fcssen", "hub_4"},
      {"roue dent\u00e9e 24 dents", "gear_24"},
      {"axe 5", "axle_5"},
      {"poutre 7 trous", "beam_7"},
      {"vis sans fin", "worm_1"},
      {"pignon conique 12 dents", "bevel_12"},
      {"moteur moyen", "motor_medium"},
      {"v\u00e9rin \u00e0 vis, long", "actuator_long"},
  };
  for (const Case& c : cases) {
    const Found f = find("metric8", c.text);
    EXPECT_EQ(f.id, c.id) << c.text << " at " << f.confidence;
    EXPECT_GE(f.confidence, kMatched) << c.text << " -> " << f.id;
  }
}

TEST(Match, TheSecondKitSystemHasItsOwnWords) {
  const Case cases[] = {
      {"pinion 19 teeth", "gear_19"},
      {"gear wheel 57t", "gear_57"},
      {"contrate wheel 56 teeth", "crown_56"},
      {"rod, 2 in", "axle_4"},
      {"rod 2 1/2\"", "axle_5"},
      {"axle rod, 4 inches", "axle_8"},
      {"flat bar, 11 holes", "bar_11"},
      {"11 hole strip", "bar_11"},
      {"angle bar 25 holes", "angle_25"},
      {"tray plate 5 x 11", "frame_5x11"},
      {"bolt, short", "bolt_short"},
      {"collar", "bush_full"},
      {"Stellring", "bush_full"},
      {"Winkeltr\u00e4ger 25 L\u00f6cher", "angle_25"},
      {"Lochband 11 Loch", "bar_11"},
      {"large motor", "motor_large"},
  };
  for (const Case& c : cases) {
    const Found f = find("half_inch", c.text);
    EXPECT_EQ(f.id, c.id) << c.text << " at " << f.confidence;
    EXPECT_GE(f.confidence, kMatched) << c.text << " -> " << f.id;
  }
}

TEST(Match, AWrongNumberIsNeverBent) {
  // Numbers no class of the kind has: nothing may be matched, however alike the words are.
  for (const char* text : {"gear 17 teeth", "axle 13", "axle length 15", "beam 16 holes", "frame 5x8", "frame 7x7",
                           "wheel 49 mm", "turntable 57", "bevel gear 24 teeth", "hub 3 ports", "rack 16 teeth",
                           "worm 2 starts", "axle 43 mm", "angle connector 100 degrees", "sprocket 10 teeth"}) {
    const Found f = find("metric8", text);
    EXPECT_LT(f.confidence, kMatched) << text << " -> " << f.id;
  }
}

TEST(Match, ANameWithAnotherSizeTellsTheSizesThereAre) {
  const Catalogue& c = system_of("metric8");
  const Matcher m(c);
  for (const auto& [text, nearest] : {std::pair{"rack 16 teeth", "rack, 20 teeth"},
                                      {"Zahnstange 9", "rack, 10 teeth"},
                                      {"frame 5x8", "frame, 5 x 9"},
                                      {"gear 17 teeth", "gear, 16 teeth"},
                                      {"axle 13", "axle, length 12"}}) {
    const auto all = m.match(m.reader().read(text));
    ASSERT_FALSE(all.empty()) << text;
    EXPECT_EQ(c.at(all[0].part).name, nearest) << text;
    for (const Alternative& a : all) EXPECT_EQ(a.confidence, 0) << text << " -> " << c.at(a.part).name;
  }
  // Where another class explains the row better, that one is told.
  EXPECT_GT(m.match(m.reader().read("gear 16 teeth")).front().confidence, kMatched);
  EXPECT_TRUE(m.match(m.reader().read("gold coin 3 cm")).empty());
}

TEST(Match, ASixteenToothGearIsNeverA24ToothOne) {
  const Catalogue& c = system_of("metric8");
  const Matcher m(c);
  for (const ClassId a : c.of(Family::gear)) {
    const auto& gear = std::get<Gear>(c.at(a).data);
    for (const auto& alternative : m.match(m.reader().read(c.at(a).name), 50)) {
      const auto* other = std::get_if<Gear>(&c.at(alternative.part).data);
      if (other != nullptr) {
        EXPECT_EQ(other->teeth, gear.teeth) << c.at(a).name;
      }
    }
  }
}

TEST(Match, VagueWordsAreQuestionsWithAlternatives) {
  const Catalogue& c = system_of("metric8");
  const Matcher m(c);
  for (const char* text : {"pin", "axle", "motor", "gear", "24t", "screw actuator", "beam"}) {
    const auto all = m.match(m.reader().read(text));
    ASSERT_FALSE(all.empty()) << text;
    EXPECT_GE(all[0].confidence, kDoubtful) << text;
    EXPECT_LT(all[0].confidence, kMatched) << text << " -> " << c.at(all[0].part).id;
    if (std::string(text) != "24t") {
      EXPECT_GT(all.size(), 1u) << text;
    }
  }
}

TEST(Match, StrangeThingsAreUnmatched) {
  for (const char* text : {"toy figure head", "sticker sheet", "instruction book", "", "???", "12", "box", "spare key",
                           "gold coin 3 cm", "Aufkleberbogen"}) {
    EXPECT_LT(find("metric8", text).confidence, kDoubtful) << text << " -> " << find("metric8", text).id;
  }
}

TEST(Match, OppositeQualitiesDoNotMatch) {
  EXPECT_NE(find("metric8", "small motor").id, "motor_large");
  for (const auto& [text, not_id] :
       {std::pair{"pin, loose, length 2", "pin_tight_2"}, std::pair{"track link, narrow", "track_link_wide"},
        std::pair{"wedge panel left 3 x 9", "panel_wedge_right"}}) {
    const Found f = find("metric8", text);
    EXPECT_GE(f.confidence, kMatched) << text;
    EXPECT_NE(f.id, not_id) << text;
  }
}

TEST(Match, ConfidenceFallsWithEveryStrangeWord) {
  double last = 1.1;
  for (const char* text : {"gear 24 teeth", "gear 24 teeth zork", "gear 24 teeth zork quib",
                           "gear 24 teeth zork quib blafs", "gear 24 teeth zork quib blafs dremt wumpf"}) {
    const Found f = find("metric8", text);
    EXPECT_EQ(f.id, "gear_24");
    EXPECT_LT(f.confidence, last) << text;
    last = f.confidence;
  }
  EXPECT_LT(last, kMatched);
}

TEST(Match, ColoursAreReadAndDoNotDisturb) {
  const Matcher m(system_of("metric8"));
  EXPECT_EQ(m.reader().read("beam 7, dark grey").colour, "dark grey");
  EXPECT_EQ(m.reader().read("Balken 7 dunkelgrau").colour, "dark grey");
  EXPECT_EQ(m.reader().read("lamp lens, clear red").colour, "clear red");
  EXPECT_EQ(m.reader().read("lamp lens, red, transparent").colour, "clear red");
  EXPECT_EQ(m.reader().colour_of(" Schwarz "), "black");
  EXPECT_EQ(m.reader().colour_of("Mauve"), "mauve");
  EXPECT_EQ(m.reader().colour_of("\u00c9carlate"), "\u00e9carlate");
}

TEST(Folding, AccentsCaseAndTypographyFallAway) {
  EXPECT_EQ(folded("\u00c4\u00d6\u00dc\u00df\u00e9\u00c7\u0141\u017e"), "aeoeuesseclz");
  EXPECT_EQ(folded("5\u00d77 \u00bd \u201cx\u201d \u2013"), "5x7 1/2 \"x\" -");
  EXPECT_EQ(folded("u\u0308"), "ue");  // the letter and its dots as two characters
  EXPECT_EQ(utf8_from_latin1("Z\xe4hne \x80"), "Z\u00e4hne \u20ac");
}

}  // namespace
}  // namespace stock
