// The catalogue reader and the two kit systems that come with the program: they load without a complaint, their figures
// are consistent, and every kind of mistake in a file is reported at its place.
#include "stock/catalogue.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <numbers>
#include <set>

namespace stock {
namespace {

namespace fs = std::filesystem;
using document::Diagnostics;

const std::string kFolder = std::string(KW_SOURCE_DIR) + "/catalogue";

Catalogue load(const std::string& id) {
  Diagnostics d;
  auto out = read_catalogue(kFolder + "/" + id, d);
  std::string text;
  for (const auto& x : d.sorted()) text += document::text_of(x) + "\n";
  EXPECT_TRUE(out.has_value()) << text;
  return out ? *out : Catalogue{};
}

/// A copy of metric8 to break.
class Broken {
 public:
  Broken() : folder_(fs::temp_directory_path() / ("kw_cat_" + std::to_string(::getpid())) / "metric8") {
    fs::remove_all(folder_.parent_path());
    fs::create_directories(folder_.parent_path());
    fs::copy(kFolder + "/metric8", folder_, fs::copy_options::recursive);
    fs::copy(kFolder + "/words.toml", folder_.parent_path());
  }
  ~Broken() { fs::remove_all(folder_.parent_path()); }
  void write(const std::string& file, const std::string& text) const { std::ofstream(folder_ / file) << text; }
  [[nodiscard]] std::string read(const std::string& file) const {
    std::ifstream in(folder_ / file);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  void replace(const std::string& file, const std::string& from, const std::string& to) const {
    std::string text = read(file);
    const auto at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    write(file, text.replace(at, from.size(), to));
  }
  [[nodiscard]] std::string folder() const { return folder_.string(); }
  [[nodiscard]] std::vector<document::Diagnostic> problems() const {
    Diagnostics d;
    EXPECT_FALSE(read_catalogue(folder_.string(), d).has_value());
    return d.sorted();
  }

 private:
  fs::path folder_;
};

bool has(const std::vector<document::Diagnostic>& all, const std::string& code, int line) {
  for (const auto& d : all) {
    if (d.code == code && d.where.line == line && d.where.column > 0) return true;
  }
  for (const auto& d : all) ADD_FAILURE() << document::text_of(d);
  return false;
}

TEST(Catalogue, BothKitSystemsLoadWithoutAComplaint) {
  for (const std::string id : {"metric8", "half_inch"}) {
    Diagnostics d;
    const auto c = read_catalogue(kFolder + "/" + id, d);
    ASSERT_TRUE(c.has_value());
    EXPECT_TRUE(d.empty());
    EXPECT_GT(c->classes.size(), 100u);
    EXPECT_EQ(c->system.id, id);
  }
  EXPECT_EQ(kit_systems_in(kFolder), (std::vector<std::string>{"half_inch", "metric8"}));
}

// FRIC-03: rolling friction table, engineeringtoolbox.com. FRIC-04: CRC Materials Science and Engineering Handbook,
// 2001, Table 399.
TEST(Catalogue, FrictionLiesBetweenPublishedNeighbours) {
  constexpr double kCarTyreOnConcrete = 0.01, kLooseGravel = 0.08;
  constexpr double kAbsAlloyOnItself = 0.2, kAcetalOnSteelLow = 0.1, kAcetalOnSteelHigh = 0.3;
  const CraftFigures craft = load("metric8").system.craft;
  EXPECT_GE(craft.rolling_resistance.value.low, kCarTyreOnConcrete);
  EXPECT_LE(craft.rolling_resistance.value.nominal, kLooseGravel);
  EXPECT_LE(craft.pin_friction.value.low, kAbsAlloyOnItself);
  EXPECT_GE(craft.pin_friction.value.high, kAbsAlloyOnItself);
  const Catalogue c = load("metric8");
  for (const ClassId id : c.of(Family::actuator)) {
    const base::Triple& thread = std::get<Actuator>(c.at(id).data).thread_friction.value;
    EXPECT_GE(thread.low, kAcetalOnSteelLow) << c.at(id).id;
    EXPECT_LE(thread.high, kAcetalOnSteelHigh) << c.at(id).id;
  }
}

TEST(Catalogue, EveryFamilyTheTheoryNeedsIsThere) {
  for (const std::string id : {"metric8", "half_inch"}) {
    const Catalogue c = load(id);
    for (const Family f :
         {Family::gear, Family::ring, Family::axle, Family::beam, Family::motor, Family::hub, Family::actuator,
          Family::wheel, Family::sprocket, Family::track_link, Family::drum, Family::rope, Family::hook}) {
      EXPECT_FALSE(c.of(f).empty()) << id << " " << name_of(f);
    }
  }
}

TEST(Catalogue, FindAndOfAgreeWithTheOrderOfTheFiles) {
  const Catalogue c = load("metric8");
  for (std::size_t i = 0; i < c.classes.size(); ++i) EXPECT_EQ(c.find(c.classes[i].id), ClassId{static_cast<int>(i)});
  EXPECT_FALSE(c.find("no_such_part").has_value());
  std::size_t sum = 0;
  for (const Family f : all_families()) sum += c.of(f).size();
  EXPECT_EQ(sum, c.classes.size());
}

TEST(Catalogue, EveryFigureIsOrderedAndPublishedOnesNameTheirDocument) {
  for (const std::string id : {"metric8", "half_inch"}) {
    for (const PartClass& p : load(id).classes) {
      EXPECT_TRUE(p.mass_g.value.ordered()) << p.id;
      EXPECT_GT(p.mass_g.value.low, 0) << p.id;
      if (const auto* h = std::get_if<Hub>(&p.data)) {
        EXPECT_TRUE(h->capacity_mah.value.ordered());
        EXPECT_FALSE(h->capacity_mah.source == Source::published && h->capacity_mah.note.empty());
      }
    }
  }
}

TEST(Catalogue, DerivedLengthsFollowTheirFormulas) {
  constexpr double kRounding_mm = 0.006;  // the files carry two or three decimals
  const std::map<std::string, double> link_pitch_mm{{"metric8", 12.0}, {"half_inch", 12.7}};
  for (const auto& [id, pitch_mm] : link_pitch_mm) {
    const Catalogue c = load(id);
    for (const PartClass& p : c.classes) {
      if (const auto* r = std::get_if<Rack>(&p.data)) {
        EXPECT_NEAR(r->length_mm, std::numbers::pi * c.system.module_mm * r->teeth, kRounding_mm) << p.id;
      }
      if (const auto* s = std::get_if<Sprocket>(&p.data)) {
        EXPECT_NEAR(2 * s->pitch_radius_mm * std::sin(std::numbers::pi / s->teeth), pitch_mm, kRounding_mm) << p.id;
      }
    }
  }
  EXPECT_NEAR(load("half_inch").system.module_mm, 25.4 / 38, 1e-15);
}

TEST(Catalogue, MotorFiguresAreEnergeticallyPossible) {
  // Mechanical power at half stall torque and half speed must be below the electrical power drawn there.
  for (const std::string id : {"metric8", "half_inch"}) {
    const Catalogue c = load(id);
    for (const ClassId m : c.of(Family::motor)) {
      const auto& x = std::get<Motor>(c.at(m).data);
      const double out_w =
          x.stall_torque_nmm.value.high * 1e-3 / 2 * x.no_load_speed_rpm.value.high * 2 * std::numbers::pi / 60 / 2;
      const double in_w =
          x.nominal_voltage_v * (x.stall_current_ma.value.low + x.no_load_current_ma.value.low) * 1e-3 / 2;
      EXPECT_LT(out_w, in_w) << c.at(m).id;
    }
  }
}

TEST(Catalogue, FillDensityGivesAThreeKilogramMachine) {
  // Common practice, no source: 43 x 21 x 26 cm with seven motors weighs about 3 kg; 25 % allowed.
  const Catalogue c = load("metric8");
  const auto mass = [&](const char* id) { return c.at(*c.find(id)).mass_g.value.nominal; };
  const double total_g = c.system.craft.fill_density_g_cm3.value.nominal * 43 * 21 * 26 + 2 * mass("hub_4") +
                         2 * mass("motor_large") + 3 * mass("motor_medium") + 2 * mass("motor_small");
  EXPECT_NEAR(total_g, 3000, 0.25 * 3000);
}

TEST(Catalogue, UnknownKeysAreRefusedWithTheNearestKnownOne) {
  const Broken b;
  b.replace("parts/10_gears.toml", "face_width_mm", "face_widht_mm");
  const auto all = b.problems();
  ASSERT_EQ(all.size(), 2u);  // the unknown key and the one that is missing for it
  EXPECT_TRUE(has(all, "catalogue.unknown_key", 16));
  EXPECT_EQ(all[1].hint, "face_width_mm");
}

TEST(Catalogue, KeysOfAnotherFamilyAreRefused) {
  const Broken b;
  b.replace("parts/20_axles.toml", "length_p = 2\n", "length_p = 2\nteeth = 8\n");
  EXPECT_TRUE(has(b.problems(), "catalogue.unknown_key", 15));
}

TEST(Catalogue, IdsAndNamesMayBeUsedOnce) {
  const Broken b;
  b.write("parts/99_more.toml",
          "family = \"trim\"\nsource = \"invented\"\nmass_source = \"invented\"\n[[part]]\nid = \"gear_8\"\n"
          "name = \"Gear, 8 teeth\"\nmass_g = 1\n");
  const auto all = b.problems();
  EXPECT_TRUE(has(all, "catalogue.duplicate_id", 5));
  EXPECT_TRUE(has(all, "catalogue.duplicate_name", 6));
}

TEST(Catalogue, AllProblemsOfAllFilesAreReportedAtOnce) {
  const Broken b;
  b.replace("system.toml", "pitch_mm = 8.0", "pitch_mm = \"8\"");
  b.replace("parts/10_gears.toml", "mass_g = 0.5", "mass_g = -1");
  b.replace("parts/40_motors.toml", "low = 50, nominal = 60", "low = 70, nominal = 60");
  b.replace("parts/44_actuators.toml", "open_mm = 80", "open_mm = 20");
  b.replace("parts/41_hubs.toml",
            "source = \"published\", note = \"AA alkaline at 1, 0.5 and 0.1 A: PowerStream, AA battery discharge "
            "tests, 2020\"",
            "source = \"published\"");
  const auto all = b.problems();
  std::set<std::string> codes;
  for (const auto& d : all) {
    codes.insert(d.code);
    EXPECT_GT(d.where.line, 0) << document::text_of(d);
  }
  for (const char* code : {"catalogue.wrong_type", "catalogue.out_of_range", "catalogue.not_ordered",
                           "catalogue.inconsistent", "catalogue.no_document"}) {
    EXPECT_TRUE(codes.contains(code)) << code;
  }
}

TEST(Catalogue, AFigureWithoutASourceIsRefused) {
  const Broken b;
  b.replace("parts/40_motors.toml", "high = 460, source = \"invented\"", "high = 460");
  EXPECT_TRUE(has(b.problems(), "catalogue.missing_key", 16));
}

TEST(Catalogue, FixingHolesAreReadAndALeftOutListIsNoEmptyOne) {
  const Broken b;
  const auto large = [&](std::string_view id) {
    Diagnostics d;
    const auto c = read_catalogue(b.folder(), d);
    EXPECT_TRUE(c.has_value());
    return c ? std::get<Motor>(c->at(*c->find(id)).data).fixing_holes : std::nullopt;
  };
  const auto holes = large("motor_large");
  ASSERT_TRUE(holes.has_value());
  ASSERT_EQ(holes->size(), 10U);
  EXPECT_EQ(holes->front().at_p, (std::array<double, 3>{-3, -2, -1.5}));
  EXPECT_EQ(holes->front().axis, HoleAxis::across);
  EXPECT_EQ(holes->back().axis, HoleAxis::along);
  const std::string text = b.read("parts/40_motors.toml");
  const auto from = text.find("fixing_holes");
  b.write("parts/40_motors.toml", text.substr(0, from) + text.substr(text.find("\n]\n", from) + 3));
  EXPECT_FALSE(large("motor_small").has_value());
}

/// A copy whose small motor, 5 x 3 x 3 p, has these lines as its list of fixing holes; the first hole is on line 24.
void give_holes(const Broken& b, const std::string& lines) {
  const std::string text = b.read("parts/40_motors.toml");
  const auto from = text.find("fixing_holes"), to = text.find("\n]\n", from);
  b.write("parts/40_motors.toml", text.substr(0, from) + "fixing_holes = [\n" + lines + "]" + text.substr(to + 2));
}

TEST(Catalogue, FixingHolesThatCannotBeAreLocated) {
  const std::string good = "{ at_p = [-2, 1, 0], axis = \"across\" },\n{ at_p = [2, 1, 0], axis = \"across\" },\n";
  const auto told = [&](const std::string& wrong) {
    const Broken b;
    give_holes(b, good + wrong + "\n");
    const auto all = b.problems();
    EXPECT_EQ(all.size(), 1U) << wrong;
    if (all.empty()) return std::string();
    EXPECT_EQ(all[0].where.line, 26) << document::text_of(all[0]);
    EXPECT_GT(all[0].where.column, 0);
    EXPECT_FALSE(all[0].hint.empty());
    return all[0].code;
  };
  EXPECT_EQ(told("{ at_p = [2, 1, 1.6], axis = \"up\" },"), "catalogue.hole_outside");
  EXPECT_EQ(told("{ at_p = [2.6, 1, 0], axis = \"along\" },"), "catalogue.hole_outside");
  EXPECT_EQ(told("{ at_p = [1, 0, 0], axis = \"along\" },"), "catalogue.hole_too_deep");
  EXPECT_EQ(told("{ at_p = [2, 1, 0], axis = \"across\" },"), "catalogue.duplicate_hole");
  EXPECT_EQ(told("{ at_p = [1, 1, 0], axis = \"acros\" },"), "catalogue.not_a_choice");
  // The same place with its pin another way is another hole.
  const Broken b;
  give_holes(b, good + "{ at_p = [2, 1, 0], axis = \"along\" },\n");
  Diagnostics d;
  EXPECT_TRUE(read_catalogue(b.folder(), d).has_value());
  EXPECT_TRUE(d.empty());
}

TEST(Catalogue, ABodyWithHolesAtOnePlaceIsReadAndToldToBearNothing) {
  for (const std::string lines :
       {"", "{ at_p = [2, 1, 0], axis = \"along\" },\n{ at_p = [2, -1, 0], axis = \"along\" },\n"}) {
    const Broken b;
    give_holes(b, lines);
    Diagnostics d;
    const auto c = read_catalogue(b.folder(), d);
    ASSERT_TRUE(c.has_value());
    EXPECT_TRUE(std::get<Motor>(c->at(*c->find("motor_small")).data).fixing_holes.has_value());
    ASSERT_EQ(d.sorted().size(), 1U);
    EXPECT_EQ(d.sorted()[0].code, "catalogue.cannot_bear");
    EXPECT_EQ(d.sorted()[0].severity, document::Severity::warning);
    EXPECT_EQ(d.sorted()[0].where.line, 23);
  }
}

TEST(Catalogue, BrokenTomlIsLocated) {
  const Broken b;
  b.write("parts/10_gears.toml", "family = \"gear\"\nsource = = 3\n");
  EXPECT_TRUE(has(b.problems(), "toml.syntax", 2));
}

TEST(Catalogue, EveryKeyForTheSchemaIsExplained) {
  const auto explained = [](const std::vector<document::FieldDoc>& docs, auto&& self) -> void {
    for (const auto& f : docs) {
      EXPECT_FALSE(f.doc.empty() && f.unit.empty() && !f.required) << f.key;
      EXPECT_FALSE(f.type == document::FieldDoc::Type::table && f.children.empty()) << f.key;
      EXPECT_FALSE(f.type == document::FieldDoc::Type::choice && f.choices.empty()) << f.key;
      self(f.children, self);
    }
  };
  explained(system_fields(), explained);
  for (const Family f : all_families()) explained(parts_file_fields(f), explained);
  for (const auto& f : parts_file_fields(Family::motor)) {
    if (f.key != "part") continue;
    const auto torque =
        std::find_if(f.children.begin(), f.children.end(), [](const auto& c) { return c.key == "stall_torque_nmm"; });
    ASSERT_NE(torque, f.children.end());
    EXPECT_EQ(torque->children.size(), 5u);
    EXPECT_EQ(torque->children[0].unit, "N mm");
  }
}

TEST(Catalogue, MissingFoldersAreNamed) {
  Diagnostics d;
  EXPECT_FALSE(read_catalogue(kFolder + "/nowhere", d).has_value());
  EXPECT_FALSE(find_catalogue_folder("/no/such/folder", d).has_value());
  EXPECT_FALSE(load_kit_system("metric9", "", d).has_value());
  const auto all = d.sorted();
  ASSERT_EQ(all.size(), 3u);
  int unknown = 0;
  for (const auto& x : all) {
    if (x.code != "catalogue.unknown_system") continue;
    ++unknown;
    EXPECT_EQ(x.hint, "\"metric8\"");
  }
  EXPECT_EQ(unknown, 1);
}

TEST(Catalogue, TheCallersFolderWinsOverTheEnvironment) {
  Diagnostics d;
  ::setenv("KITWRIGHT_CATALOGUE", "/no/such/folder", 1);
  EXPECT_EQ(find_catalogue_folder(kFolder, d), kFolder);
  EXPECT_TRUE(d.empty());
  EXPECT_FALSE(find_catalogue_folder("", d).has_value());
  EXPECT_TRUE(d.has_errors());
  ::setenv("KITWRIGHT_CATALOGUE", kFolder.c_str(), 1);
  EXPECT_EQ(find_catalogue_folder("", d), kFolder);
  ::unsetenv("KITWRIGHT_CATALOGUE");
  EXPECT_EQ(find_catalogue_folder("", d), kFolder);
}

}  // namespace
}  // namespace stock
