// Covers document/diagnostic and document/unicode: order, text form, and that nothing from a file reaches a terminal
// raw.
#include "document/diagnostic.h"

#include <gtest/gtest.h>

#include "document/unicode.h"

using document::Diagnostic;
using document::Diagnostics;

TEST(Diagnostics, SortByFileThenLineThenColumnAndKeepTheOrderOfEqualPlaces) {
  Diagnostics d;
  d.error("c", {"b.toml", 1, 1}, "", "third file");
  d.error("first", {"a.toml", 2, 9}, "", "x");
  d.error("second", {"a.toml", 2, 9}, "", "x");
  d.warning("early", {"a.toml", 2, 3}, "", "x");
  d.error("whole", {"a.toml", 0, 0}, "", "x");
  std::string order;
  for (const Diagnostic& item : d.sorted()) order += item.code + " ";
  EXPECT_EQ(order, "whole early first second c ");
}

TEST(Diagnostics, WarningsAloneAreNoErrors) {
  Diagnostics d;
  EXPECT_TRUE(d.empty());
  d.warning("a", {}, "", "x");
  EXPECT_FALSE(d.empty());
  EXPECT_FALSE(d.has_errors());
  d.error("b", {}, "", "x");
  EXPECT_TRUE(d.has_errors());
}

TEST(Diagnostics, TextNamesPlaceCodePathMessageAndWhatToTry) {
  Diagnostics d;
  d.error("luff.angle_range", {"quay.toml", 41, 17}, "/functions/2/angle_deg", "too far", "angle_deg below 180");
  EXPECT_EQ(document::text_of(d.sorted().at(0)),
            "quay.toml:41:17 error luff.angle_range  /functions/2/angle_deg\n"
            "  too far\n"
            "  try: angle_deg below 180");
}

TEST(Diagnostics, TextOfAWholeFileHasNoLine) {
  Diagnostics d;
  d.warning("file.empty", {"quay.toml", 0, 0}, "", "the file is empty");
  EXPECT_EQ(document::text_of(d.sorted().at(0)), "quay.toml warning file.empty\n  the file is empty");
}

TEST(Diagnostics, QuotedTextCarriesNoControlCharactersAndIsCut) {
  EXPECT_EQ(document::quoted("a\x1b[31m\n"), "\"a\\x1B[31m\\x0A\"");
  EXPECT_EQ(document::quoted("\xC2\x9B"
                             "2J"),
            "\"\\xC2\\x9B2J\"");
  EXPECT_EQ(document::quoted("\xFF"
                             "k"),
            "\"\\xFFk\"");
  EXPECT_EQ(document::quoted("Rüssel"), "\"Rüssel\"");
  EXPECT_EQ(document::quoted(std::string(500, 'x')), "\"" + std::string(60, 'x') + "...\"");
}

TEST(Unicode, WellFormedSequencesAreThoseOfTheStandardsTable) {
  // Unicode Standard, table 3-7 (from memory): first and last well-formed of each row, and the neighbours outside.
  EXPECT_EQ(document::utf8_length("\xC2\x80"), 2u);
  EXPECT_EQ(document::utf8_length("\xDF\xBF"), 2u);
  EXPECT_EQ(document::utf8_length("\xE0\xA0\x80"), 3u);
  EXPECT_EQ(document::utf8_length("\xED\x9F\xBF"), 3u);
  EXPECT_EQ(document::utf8_length("\xEE\x80\x80"), 3u);
  EXPECT_EQ(document::utf8_length("\xF0\x90\x80\x80"), 4u);
  EXPECT_EQ(document::utf8_length("\xF4\x8F\xBF\xBF"), 4u);
  EXPECT_EQ(document::utf8_length("\xC1\xBF"), 0u);
  EXPECT_EQ(document::utf8_length("\xE0\x9F\xBF"), 0u);
  EXPECT_EQ(document::utf8_length("\xED\xA0\x80"), 0u);
  EXPECT_EQ(document::utf8_length("\xF0\x8F\xBF\xBF"), 0u);
  EXPECT_EQ(document::utf8_length("\xF4\x90\x80\x80"), 0u);
  EXPECT_EQ(document::utf8_length("\xF5\x80\x80\x80"), 0u);
  EXPECT_EQ(document::utf8_length("\xE2\x82"), 0u);
  EXPECT_EQ(document::find_broken_utf8("abc\xE2\x82\xAC\x80"), 6u);
  EXPECT_EQ(document::find_broken_utf8("abc"), std::string_view::npos);
}
