// Covers the texts: every language complete and filled alike, numbers as the language writes them, phrases with gaps.
#include <gtest/gtest.h>

#include <set>

#include "dossier/texts.h"
#include "stock/catalogue.h"

namespace dossier {
namespace {

const std::string kFolder = KW_SOURCE_DIR "/catalogue";

Texts loaded(const std::string& language) {
  document::Diagnostics d;
  auto texts = load_texts(language, kFolder, d);
  for (const document::Diagnostic& k : d.sorted()) ADD_FAILURE() << document::text_of(k);
  return texts.value_or(Texts());
}

Texts parsed(const std::string& toml) {
  document::Diagnostics d;
  auto texts = parse_texts(toml, "xx.toml", d);
  for (const document::Diagnostic& k : d.sorted()) ADD_FAILURE() << document::text_of(k);
  return texts.value_or(Texts());
}

const char* const kComma = "[number]\ndecimal = \",\"\nunlimited = \"-\"\nand = \"und\"\n";

TEST(Texts, EveryLanguageHasEveryKeyWithTheSamePlaceholders) {
  const std::vector<std::string> languages = languages_in(kFolder);
  EXPECT_EQ(languages, (std::vector<std::string>{"de", "en", "fr"}));
  const Texts english = loaded("en");
  ASSERT_GT(english.all().size(), 200u);
  for (const std::string& l : languages) {
    const Texts texts = loaded(l);
    ASSERT_EQ(texts.all().size(), english.all().size()) << l;
    for (const auto& [key, text] : english.all()) {
      const auto found = texts.all().find(key);
      ASSERT_NE(found, texts.all().end()) << l << " " << key;
      EXPECT_EQ(placeholders(found->second), placeholders(text)) << l << " " << key;
      EXPECT_FALSE(found->second.empty()) << l << " " << key;
    }
  }
}

TEST(Texts, TranslationsKnowTheSameWordsAndSentences) {
  const Texts german = loaded("de"), french = loaded("fr");
  const auto keys = [](const auto& list) {
    std::set<std::string> out;
    for (const auto& [key, text] : list) out.insert(key);
    return out;
  };
  EXPECT_EQ(keys(german.terms()), keys(french.terms()));
  EXPECT_EQ(keys(german.phrases()), keys(french.phrases()));
  for (const Texts* t : {&german, &french}) {
    for (const auto& [english, other] : t->phrases()) EXPECT_EQ(placeholders(english), placeholders(other)) << english;
  }
}

TEST(Texts, NumbersHaveTheLanguagesMarkAndARealMinus) {
  const Texts german = loaded("de");
  EXPECT_EQ(german.number(-3.25),
            "\xE2\x88\x92"
            "3,25");
  EXPECT_EQ(german.quantity(12.5, "N mm"), "12,5\xC2\xA0N\xC2\xA0mm");
  EXPECT_EQ(german.quantity(7, "deg"), "7\xC2\xB0");
  EXPECT_EQ(loaded("en").number(1234.5678), "1235");
}

TEST(Texts, PhrasesCarryOverWhatVaries) {
  const Texts t =
      parsed(std::string(kComma) +
             "[terms]\nforce = \"Kraft\"\n[phrases]\n\"{0} of {1} at {2} deg\" = \"{1}: {0} bei {2} Grad\"\n"
             "\"at {0} deg\" = \"bei {0} Grad\"\n");
  EXPECT_EQ(t.term("force"), "Kraft");
  EXPECT_EQ(t.term("at 12.5 deg"), "bei 12,5 Grad");
  EXPECT_EQ(t.term("force of boom at 3 deg"), "boom: Kraft bei 3 Grad");
  EXPECT_EQ(t.term("at deg"), "at deg");  // nothing in the gap: no fit
  EXPECT_EQ(t.term("at 3 degs"), "at 3 degs");
}

TEST(Texts, ListsAreKnownByTheirItems) {
  const Texts t = parsed(std::string(kComma) +
                         "[terms]\nbeam = \"Balken\"\n\"motor, small\" = \"Motor, klein\"\n[phrases]\n"
                         "\"axle {0}\" = \"Achse {0}\"\n\"{0} % from {1}\" = \"{0} % aus {1}\"\n");
  EXPECT_EQ(t.term("beam, motor, small and axle 2.5"), "Balken, Motor, klein und Achse 2,5");
  EXPECT_EQ(t.term("12.5 % from beam; axle 3"), "12,5 % aus Balken; Achse 3");
  EXPECT_EQ(t.term("beam and cable"), "beam and cable");  // never half of it
  const Texts named = t.with_names({"and then, some"});
  EXPECT_EQ(named.term("beam and and then, some"), "Balken und and then, some");
  Texts told = t;
  std::set<std::string> unknown;
  told.tell_unknown(&unknown);
  EXPECT_EQ(told.term("cable"), "cable");
  EXPECT_EQ(told.term("12:36"), "12:36");
  EXPECT_EQ(unknown, (std::set<std::string>{"cable"}));
}

TEST(Texts, EveryPartOfEveryKitSystemHasAName) {
  for (const char* language : {"de", "fr"}) {
    Texts t = loaded(language);
    std::set<std::string> unknown;
    t.tell_unknown(&unknown);
    document::Diagnostics d;
    const std::vector<std::string> systems = stock::kit_systems_in(kFolder);
    ASSERT_GE(systems.size(), 2u);
    for (const std::string& system : systems) {
      const auto catalogue = stock::load_kit_system(system, kFolder, d);
      ASSERT_TRUE(catalogue.has_value()) << system;
      for (const stock::PartClass& part : catalogue->classes) EXPECT_FALSE(t.term(part.name).empty());
    }
    for (const std::string& english : unknown) ADD_FAILURE() << language << ": " << english;
  }
}

TEST(Texts, AMissingOrOtherwiseFilledKeyIsToldWithItsName) {
  document::Diagnostics d;
  EXPECT_FALSE(load_texts("xx", kFolder, d));
  ASSERT_EQ(d.sorted().size(), 1u);
  EXPECT_EQ(d.sorted()[0].code, "texts.unknown_language");
  EXPECT_EQ(d.sorted()[0].hint, "one of de, en or fr");
  document::Diagnostics broken;
  EXPECT_FALSE(parse_texts(std::string(kComma) + "[front]\ntitle = 3\n", "xx.toml", broken));
  EXPECT_EQ(broken.sorted()[0].code, "texts.wrong_type");
}

}  // namespace
}  // namespace dossier
