// Stock lists end to end: encodings, delimiters, column order, number styles and languages give the same stock; every
// fault is reported at its place; the demo kits come out complete.
#include "stock/import.h"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <set>

#include "base/triple.h"
#include "stock/catalogue.h"
#include "stock/count.h"

namespace stock {
namespace {

using document::Diagnostics;

const Catalogue& system_of(const std::string& id) {
  const auto load = [](const std::string& name) {
    Diagnostics d;
    return read_catalogue(std::string(KW_SOURCE_DIR) + "/catalogue/" + name, d).value_or(Catalogue{});
  };
  static const Catalogue metric8 = load("metric8");
  static const Catalogue half_inch = load("half_inch");
  return id == "metric8" ? metric8 : half_inch;
}

struct Outcome {
  ImportResult result;
  std::vector<document::Diagnostic> problems;
  /// "code line:column" of each problem.
  [[nodiscard]] std::vector<std::string> codes() const {
    std::vector<std::string> out;
    for (const auto& p : problems) out.push_back(fmt::format("{} {}:{}", p.code, p.where.line, p.where.column));
    return out;
  }
};

Outcome import(const std::string& text, const std::string& columns = "") {
  Diagnostics d;
  const ColumnChoice choice = parse_column_choice(columns, d);
  Outcome out;
  out.result = import_stock(text, "kit.csv", system_of("metric8"), choice, d);
  out.problems = d.sorted();
  return out;
}

/// The stock as text: class, colour, count; rows and files left out.
std::string text_of(const Stock& s, const Catalogue& c) {
  std::string out;
  for (const StockType& t : s.types) out += fmt::format("{} {} {}\n", c.at(t.part).id, t.colour, t.count);
  return out;
}
std::string text_of(const Outcome& o) {
  return text_of(o.result.stock, system_of("metric8"));
}

using Codes = std::vector<std::string>;

TEST(Import, HeadsInThreeLanguagesNameTheColumns) {
  const std::string want = "axle_5 black 4\nbeam_7 yellow 12\n";
  for (const char* text : {
           "description,quantity,colour\n\"axle, length 5\",4,black\nbeam 7,12,yellow\n",
           "Part name;Qty;Color\naxle 5;4;Black\nbeam 7 holes;12;Yellow\n",
           "Farbe;Anzahl;Bezeichnung\nschwarz;4;Achse 5\ngelb;12;Balken 7\n",
           "Quantit\u00e9\tD\u00e9signation\tCouleur\n4\taxe 5\tnoir\n12\tpoutre 7 trous\tjaune\n",
           "Code|Count|Item|Colour\nA1|4|axle 5|black\nB2|12|beam 7|yellow\n",
       }) {
    const Outcome o = import(text);
    EXPECT_EQ(text_of(o), want) << text;
    EXPECT_TRUE(o.problems.empty()) << text << (o.problems.empty() ? "" : document::text_of(o.problems[0]));
    EXPECT_TRUE(o.result.columns.has_head);
  }
}

TEST(Import, PlainWordsForColourNameItsColumn) {
  for (const char* head : {"Shade", "hue", "TINT", "part_colour", "Color name", "Farbton", "Nuance", "coloris"}) {
    const Outcome o = import(fmt::format("qty;what it is;{};name\n4;mine;black;axle 5\n12;his;yellow;beam 7\n", head));
    EXPECT_EQ(text_of(o), "axle_5 black 4\nbeam_7 yellow 12\n") << head;
  }
  // Where two heads would do, the more telling one is taken.
  EXPECT_EQ(text_of(import("qty;name;shade;colour\n4;axle 5;light;black\n")), "axle_5 black 4\n");
}

TEST(Import, WithoutAHeadTheContentTellsTheColumns) {
  const std::string want = "gear_24  3\naxle_5 black 4\nbeam_7 yellow 12\n";
  for (const char* text : {
           "4;axle 5;black\n12;beam 7;yellow\n3;gear 24 teeth;\n",
           "1;axle 5;black;4\n2;beam 7;yellow;12\n3;gear 24 teeth;;3\n",                    // row numbers first
           "4471250;axle 5;black;4\n3310020;beam 7;yellow;12\n2250041;gear 24 teeth;;3\n",  // codes first
       }) {
    const Outcome o = import(text);
    EXPECT_EQ(text_of(o), want) << text;
    EXPECT_FALSE(o.result.columns.has_head);
  }
}

TEST(Import, TheColumnsOptionWinsOverHeads) {
  const std::string text = "description,quantity,colour,mine,have\naxle 5,4,black,axle 6,9\n";
  EXPECT_EQ(text_of(import(text)), "axle_5 black 4\n");
  EXPECT_EQ(text_of(import(text, "name=4,quantity=5")), "axle_6 black 9\n");
  EXPECT_EQ(text_of(import(text, "name=Mine,quantity=have")), "axle_6 black 9\n");
  EXPECT_EQ(import(text, "name=4").result.columns.of[0].how, FoundColumn::How::told);
}

TEST(Import, ColumnsThatAreNotThereAreReported) {
  const std::string text = "description,quantity\naxle 5,4\n";
  EXPECT_EQ(import(text, "name=7").codes(), Codes{"stock.no_such_column 1:1"});
  EXPECT_EQ(import(text, "name=quantities").problems.at(0).hint, "\"quantity\"");
  EXPECT_EQ(import(text, "name=1,quantity=1").codes(), Codes{"stock.no_such_column 1:1"});
  EXPECT_EQ(import(text, "nam=1").problems.at(0).code, "columns.unknown_meaning");
  EXPECT_EQ(import(text, "nam=1").problems.at(0).hint, "name");
  EXPECT_EQ(import(text, "name").problems.at(0).code, "columns.syntax");
  EXPECT_EQ(import(text, "name=1,name=2").problems.at(0).code, "columns.twice");
}

TEST(Import, UnclearColumnsAskInsteadOfGuessing) {
  EXPECT_EQ(import("axle 5;4;6\nbeam 7;5;3\nbeam 9;2;2\n").codes(), Codes{"stock.columns_unclear 1:1"});
  EXPECT_EQ(import("description;quantity;quantity\naxle 5;4;6\n").codes(), Codes{"stock.columns_unclear 1:13"});
  EXPECT_EQ(import("description;colour\naxle 5;black\nbeam 7;red\n").codes(), Codes{"stock.column_missing 1:1"});
  EXPECT_EQ(import("axle 5\nbeam 7\n").problems.at(0).code, "stock.column_missing");
}

TEST(Import, TheClassColumnIsCertain) {
  const Outcome o = import("class,description,quantity\ngear_24,what my son calls the wheel,3\n,axle 5,2\n");
  EXPECT_EQ(text_of(o), "gear_24  3\naxle_5  2\n");
  EXPECT_EQ(o.result.rows[0].state, RowReport::State::told);
  const Outcome bad = import("class,description,quantity\ngear_2a,gear 24 teeth,3\n");
  EXPECT_EQ(bad.codes(), Codes{"stock.unknown_class 2:1"});
  EXPECT_EQ(bad.problems[0].hint, "\"gear_20\"") << "of equally near ids the first of the catalogue";
  EXPECT_EQ(text_of(import("class;count\naxle_5;2\n")), "axle_5  2\n");
}

TEST(Import, ColoursComeFromTheColumnElseFromTheText) {
  EXPECT_EQ(text_of(import("description;quantity\nbeam 7 black;4\nbeam 7 black 2nd bag;1\nbeam 7;2\n")),
            "beam_7  2\nbeam_7 black 4\n");
  EXPECT_EQ(text_of(import("description;quantity;colour\nbeam 7 black;4;red\n")), "beam_7 red 4\n");
}

TEST(Import, NothingIsDropped) {
  const Outcome o =
      import("description;quantity\naxle 5;4\npin;7\ninstruction book;1\nbeam 7;\nbeam 9;-3\n\n;;\nbeam 11;0\n");
  ASSERT_EQ(o.result.rows.size(), 6u);
  EXPECT_EQ(o.result.rows_in(RowReport::State::matched), 3);
  EXPECT_EQ(o.result.rows_in(RowReport::State::doubtful), 1);
  EXPECT_EQ(o.result.rows_in(RowReport::State::unmatched), 1);
  EXPECT_EQ(o.result.rows_in(RowReport::State::faulty), 1);
  EXPECT_EQ(o.result.pieces_in(RowReport::State::doubtful), 7);
  EXPECT_EQ(text_of(o), "axle_5  4\n") << "doubtful rows do not count";
  EXPECT_FALSE(o.result.rows[1].alternatives.empty());
  EXPECT_EQ(o.codes(), (Codes{"stock.count_blank 5:8", "stock.count_negative 6:8"}));
}

TEST(Import, DuplicateRowsAreAddedAndNoted) {
  const Outcome o = import("description;quantity;colour\naxle 5;4;black\nbeam 7;1;red\nAxle 5;3;black\naxle 5;2;red\n");
  EXPECT_EQ(text_of(o), "axle_5 black 7\naxle_5 red 2\nbeam_7 red 1\n");
  EXPECT_EQ(o.codes(), Codes{"stock.duplicate_row 4:1"});
  EXPECT_EQ(o.result.rows[2].same_as_row, 2);
  EXPECT_EQ(o.problems[0].severity, document::Severity::warning);
}

TEST(Import, BadCountsAreLocated) {
  const struct {
    const char* cell;
    const char* code;
  } cases[] = {{"-4", "stock.count_negative"},        {"2,5", "stock.count_fractional"},
               {"2.5", "stock.count_fractional"},     {"many", "stock.count_not_a_number"},
               {"1e9", "stock.count_not_a_number"},   {"nan", "stock.count_not_a_number"},
               {"inf", "stock.count_not_a_number"},   {"99999999999999999999", "stock.count_absurd"},
               {"500000", "stock.count_absurd"},      {"1.2.3", "stock.count_not_a_number"},
               {"12-14", "stock.count_not_a_number"}, {"0x10", "stock.count_not_a_number"},
               {"--3", "stock.count_not_a_number"}};
  for (const auto& c : cases) {
    const Outcome o = import(fmt::format("quantity;description\n3;beam 7\n{};axle 5\n", c.cell));
    ASSERT_EQ(o.problems.size(), 1u) << c.cell;
    EXPECT_EQ(o.problems[0].code, c.code) << c.cell;
    EXPECT_EQ(o.problems[0].where.line, 3);
    EXPECT_EQ(o.problems[0].where.column, 1);
    EXPECT_EQ(o.problems[0].where.file, "kit.csv");
    EXPECT_EQ(text_of(o), "beam_7  3\n") << "the other rows are still read";
  }
}

TEST(Count, StylesAreDecidedByTheWholeColumn) {
  const auto values = [](const std::vector<std::string>& cells) {
    const NumberStyle style = style_of(cells);
    std::vector<int> out;
    for (const auto& c : cells) {
      const Count n = parse_count(c, style);
      out.push_back(n.state == Count::State::good ? n.value : -1);
    }
    return out;
  };
  using V = std::vector<int>;
  EXPECT_EQ(values({"12,0", "3,0"}), (V{12, 3}));
  EXPECT_EQ(values({"12.00", "1.000"}), (V{12, 1})) << "another cell shows that the point is the decimal one";
  EXPECT_EQ(values({"1.200", "12"}), (V{1200, 12}));
  EXPECT_EQ(values({"1,200", "12"}), (V{1200, 12}));
  EXPECT_EQ(values({"1.200,00", "12,00"}), (V{1200, 12}));
  EXPECT_EQ(values({"1,200.00", "2.000"}), (V{1200, 2}));
  EXPECT_EQ(values({"2.000", "14.000"}), (V{2, 14})) << "fixed three decimals";
  EXPECT_EQ(values({"2,000", "14,000", "1,000"}), (V{2, 14, 1}));
  EXPECT_EQ(values({"1 200", "1'300", "1\u202f400", "1\u00a0500"}), (V{1200, 1300, 1400, 1500}));
  EXPECT_EQ(values({"12 pcs", "x3", "4x", "5 Stk.", "6 St\u00fcck", "+7"}), (V{12, 3, 4, 5, 6, 7}));
  EXPECT_EQ(values({"0", "00", "-0", "007"}), (V{0, 0, 0, 7}));
  EXPECT_EQ(values({"1 2", "12 34"}), (V{-1, -1}));
}

TEST(Count, AThousandThatCouldBeADecimalIsNoted) {
  const Outcome o = import("quantity;description\n1.200;pin, tight, length 2\n12;axle 5\n");
  EXPECT_EQ(text_of(o), "axle_5  12\npin_tight_2  1200\n");
  EXPECT_EQ(o.codes(), Codes{"stock.count_grouped 2:1"});
}

TEST(Import, EncodingsAreRecognised) {
  const std::string utf8 = "Bezeichnung;Anzahl\nZahnrad 24 Z\u00e4hne;3\n";
  const std::string latin1 = "Bezeichnung;Anzahl\nZahnrad 24 Z\xe4hne;3\n";
  EXPECT_EQ(text_of(import(utf8)), "gear_24  3\n");
  EXPECT_EQ(text_of(import("\xef\xbb\xbf" + utf8)), "gear_24  3\n");
  EXPECT_EQ(text_of(import(latin1)), "gear_24  3\n");
  EXPECT_EQ(import(latin1).result.encoding, "Latin-1");
  EXPECT_EQ(import(utf8).result.encoding, "UTF-8");
  EXPECT_EQ(import(latin1).result.rows[0].text, "Zahnrad 24 Z\u00e4hne");
}

TEST(Import, WideTextAndBinaryAreRefusedWithAPlace) {
  std::string wide = "\xff\xfe";
  std::string bare;
  for (const char c : std::string("description;quantity\naxle 5;3\n")) {
    wide += c;
    wide += '\0';
    bare += c;
    bare += '\0';
  }
  EXPECT_EQ(import(wide).codes(), Codes{"stock.utf16 1:1"});
  EXPECT_EQ(import(bare).codes(), Codes{"stock.utf16 1:1"});
  EXPECT_EQ(import(std::string("description;quantity\nax\0le;3\n", 30)).codes(), Codes{"stock.binary 2:3"});
  EXPECT_EQ(import("\x7f"
                   "ELF\x02\x01\x01")
                .codes(),
            Codes{"stock.binary 1:1"});
  EXPECT_EQ(import("").codes(), Codes{"stock.empty 0:0"});
  EXPECT_EQ(import(" \r\n\n \n").codes(), Codes{"stock.empty 0:0"});
  EXPECT_EQ(import(";;;\n;;\n").codes(), Codes{"stock.empty 0:0"});
  EXPECT_EQ(import("sep=,\n").codes(), Codes{"stock.empty 0:0"});
  EXPECT_EQ(import("sep=,").codes(), Codes{"stock.empty 0:0"});
  EXPECT_EQ(import("sep=a\r\naaa\n").codes(), Codes{"stock.empty 0:0"});
  EXPECT_EQ(import("description;quantity\n").codes(), Codes{"stock.empty 1:1"});
}

TEST(Import, QuotesMayHoldDelimitersQuotesAndLineEnds) {
  const Outcome o = import(
      "description,quantity\r\n\"axle,\nlength 5\",4\r\n\"rod \"\"x\"\" zzz\",1\r\n\"beam, 7 holes\" ,  \"12\"\r\n");
  EXPECT_EQ(text_of(o), "axle_5  4\nbeam_7  12\n");
  ASSERT_EQ(o.result.rows.size(), 3u);
  EXPECT_EQ(o.result.rows[1].text, "rod \"x\" zzz");
  EXPECT_EQ(o.result.rows[1].where.line, 4) << "lines count inside quotes too";
  EXPECT_TRUE(o.problems.empty());
}

TEST(Import, BrokenQuotesAreLocated) {
  EXPECT_EQ(import("description,quantity\naxle 5,4\n\"beam 7,12\n").codes(), Codes{"stock.unclosed_quote 3:1"});
  EXPECT_EQ(import("description,quantity\n\"axle\" 5,4\n").codes(), Codes{"stock.after_quote 2:7"});
}

TEST(Import, RowsWithTooManyFieldsAreLocated) {
  const Outcome o = import("description,quantity\naxle, length 5,4\nbeam 7,3\n");
  EXPECT_EQ(o.problems.at(0).code, "stock.count_not_a_number");
  EXPECT_EQ(o.problems.at(1).code, "stock.long_row");
  EXPECT_EQ(o.problems.at(1).where.line, 2);
  EXPECT_EQ(text_of(o), "beam_7  3\n");
}

TEST(Import, LineEndsOfEverySystemCountTheSame) {
  for (const char* end : {"\n", "\r\n", "\r"}) {
    const Outcome o = import(fmt::format("description;quantity{0}axle 5;4{0}{0}beam 7;x{0}", end));
    EXPECT_EQ(o.codes(), Codes{"stock.count_not_a_number 4:8"});
    EXPECT_EQ(text_of(o), "axle_5  4\n");
  }
}

TEST(Import, ASepLineDecidesTheDelimiter) {
  EXPECT_EQ(text_of(import("sep=,\r\ndescription,quantity\r\naxle 5,4\r\n")), "axle_5  4\n");
  EXPECT_EQ(import("sep=;\ndescription;quantity\naxle 5;no\n").codes(), Codes{"stock.count_not_a_number 3:8"});
}

TEST(Import, HugeAndOddFilesEndInAMessageNotInMemory) {
  std::string rows = "description;quantity\n";
  while (rows.size() < 50'000'000) rows += "beam, 7 holes, black as the night outside;12\n";
  const auto start = std::chrono::steady_clock::now();
  EXPECT_EQ(import(rows).problems.at(0).code, "stock.too_many_rows");
  const std::chrono::duration<double> taken = std::chrono::steady_clock::now() - start;
  EXPECT_LT(taken.count(), 60.0) << "limit set far above what is measured, for sanitizers and shared machines";
  std::string field = "description;quantity\n\"";
  field.append(50'000'000, 'x');
  EXPECT_EQ(import(field).codes(), Codes{"stock.field_too_long 2:1"});
  EXPECT_EQ(import(std::string(5'000'000, 'x')).codes(), Codes{"stock.field_too_long 1:1"});
  EXPECT_EQ(import("description;quantity\n" + std::string(5000, ';') + "x\n").problems.at(0).code,
            "stock.too_many_fields");
  EXPECT_EQ(import(std::string(kMostStockBytes + 1, 'x')).problems.at(0).code, "stock.too_big");
}

// ---- the same list in many dresses ------------------------------------------------------------------------------

struct Line {
  std::string text, colour;
  int count = 0;
};

/// The rows of a kit, shuffled by a seed, written with a delimiter, column order, number style and encoding.
std::string dressed(const std::vector<Line>& lines, std::uint64_t seed, char delimiter, int order, int numbers,
                    bool latin1, const char* end) {
  std::vector<std::size_t> rows(lines.size());
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i] = i;
  for (std::size_t i = rows.size(); i > 1; --i) {
    const auto j = static_cast<std::size_t>(base::uniform_draw(seed, 1, i) * static_cast<double>(i));
    std::swap(rows[i - 1], rows[j]);
  }
  const auto quoted = [&](const std::string& t) {
    return t.find(delimiter) == std::string::npos ? t : "\"" + t + "\"";
  };
  const auto row = [&](std::string name, std::string count, std::string colour) {
    std::vector<std::string> cells{quoted(name), quoted(count), quoted(colour)};
    std::vector<int> permutation{0, 1, 2};
    for (int k = 0; k < order; ++k) std::next_permutation(permutation.begin(), permutation.end());
    std::string out;
    for (const int p : permutation)
      out += (out.empty() ? "" : std::string(1, delimiter)) + cells[static_cast<std::size_t>(p)];
    return out + end;
  };
  std::string out = row("Bezeichnung", "Menge", "Farbe");
  for (const std::size_t i : rows) {
    const std::string n = std::to_string(lines[i].count);
    const std::string count = numbers == 0 ? n : numbers == 1 ? n + ",0" : numbers == 2 ? n + ".00" : n + " Stk";
    out += row(lines[i].text, count, lines[i].colour);
  }
  if (!latin1) return out;
  std::string narrow;
  for (std::size_t i = 0; i < out.size(); ++i) {
    const auto b = static_cast<unsigned char>(out[i]);
    narrow += b < 0x80 ? out[i] : static_cast<char>((b & 0x03) << 6 | (out[++i] & 0x3f));
  }
  return narrow;
}

TEST(Import, DressChangesNothing) {
  const std::vector<Line> lines{{"axle, length 5", "schwarz", 12},
                                {"Zahnrad 24 Z\u00e4hne", "grau", 4},
                                {"gear, 16 teeth", "gr\u00fcn", 2},
                                {"Balken 7 L\u00f6cher", "gelb", 33},
                                {"beam |;, 9 holes", "wei\u00df", 7},
                                {"pin, tight, length 2", "schwarz", 1240},
                                {"Motor gro\u00df", "grau", 2},
                                {"panel, 3 x 13", "rot", 8},
                                {"axle 5", "rot", 3},
                                {"Schnecke", "schwarz", 1}};
  const std::string want = text_of(import(dressed(lines, 0, ';', 0, 0, false, "\n")));
  EXPECT_NE(want.find("pin_tight_2 black 1240"), std::string::npos);
  EXPECT_NE(want.find("beam_9 white 7"), std::string::npos);
  int tried = 0;
  for (const char delimiter : {',', ';', '\t', '|'}) {
    for (int order = 0; order < 6; ++order) {
      for (int numbers = 0; numbers < 4; ++numbers) {
        for (const bool latin1 : {false, true}) {
          const char* end = (order + numbers) % 2 == 0 ? "\n" : "\r\n";
          const Outcome o =
              import(dressed(lines, static_cast<std::uint64_t>(++tried), delimiter, order, numbers, latin1, end));
          EXPECT_EQ(text_of(o), want) << delimiter << order << numbers << latin1;
          EXPECT_TRUE(o.problems.empty());
        }
      }
    }
  }
  EXPECT_EQ(tried, 4 * 6 * 4 * 2);
}

// ---- the demo kits -----------------------------------------------------------------------------------------------

struct Kit {
  const char* file;
  const char* system;
  int least_types, least_pieces, unmatched;
};

TEST(Kits, EveryDemoKitIsMatchedRowByRow) {
  const Kit kits[] = {{"quay_rig/stock.csv", "metric8", 180, 1200, 2},
                      {"quay_rig/other_kit.csv", "metric8", 70, 700, 0},
                      {"vineyard_sprayer/stock.csv", "metric8", 80, 600, 0},
                      {"bascule_bridge/stock.csv", "half_inch", 100, 1000, 0}};
  for (const Kit& k : kits) {
    Diagnostics d;
    const ImportResult r =
        import_stock_file(std::string(KW_SOURCE_DIR) + "/examples/" + k.file, system_of(k.system), {}, d);
    for (const auto& p : d.sorted()) ADD_FAILURE() << document::text_of(p);
    for (const RowReport& row : r.rows) {
      if (row.state == RowReport::State::doubtful || row.state == RowReport::State::faulty) {
        ADD_FAILURE() << k.file << ": " << row.text << " " << name_of(row.state) << " " << row.confidence;
      }
    }
    EXPECT_EQ(r.rows_in(RowReport::State::unmatched), k.unmatched) << k.file;
    EXPECT_GE(static_cast<int>(r.stock.types.size()), k.least_types) << k.file;
    EXPECT_GE(r.stock.pieces(), k.least_pieces) << k.file;
    int pieces = 0;
    for (const RowReport& row : r.rows) pieces += row.state == RowReport::State::matched ? row.count : 0;
    EXPECT_EQ(pieces, r.stock.pieces()) << k.file;
  }
}

TEST(Kits, TheQuayRigHasWhatItsMachineNeeds) {
  Diagnostics d;
  const Catalogue& c = system_of("metric8");
  const ImportResult r = import_stock_file(std::string(KW_SOURCE_DIR) + "/examples/quay_rig/stock.csv", c, {}, d);
  const auto of = [&](Family f) {
    int sum = 0;
    for (const ClassId id : c.of(f)) sum += r.stock.count_of(id);
    return sum;
  };
  EXPECT_EQ(of(Family::motor), 8);
  EXPECT_EQ(of(Family::hub), 2);
  EXPECT_EQ(of(Family::actuator), 3);
  EXPECT_EQ(r.stock.count_of(*c.find("worm_1")), 1);
  EXPECT_EQ(r.stock.count_of(*c.find("ring_52")), 1);
}

}  // namespace
}  // namespace stock
