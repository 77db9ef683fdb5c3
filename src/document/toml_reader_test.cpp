// Covers document/toml_reader: places, file order, and that no bytes at all make it fail other than with a message.
#include "document/toml_reader.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdio>
#include <filesystem>

#include "base/triple.h"

using document::Diagnostics;
using document::Node;

namespace {

/// "code @ line:column", or "none".
std::string outcome(std::string_view text) {
  Diagnostics d;
  const auto node = document::parse_toml(text, "x.toml", d);
  if (d.empty()) return node ? "none" : "nothing, and no message";
  const auto first = d.sorted().front();
  return (node ? "both " : "") + first.code + " @ " + std::to_string(first.where.line) + ":" +
         std::to_string(first.where.column);
}

std::string place_of(const document::Location& where) {
  return std::to_string(where.line) + ":" + std::to_string(where.column);
}

std::string temporary(const std::string& name) {
  return (std::filesystem::temp_directory_path() / ("kw_toml_" + std::to_string(::getpid()) + "_" + name)).string();
}

void write_file(const std::string& file, std::string_view bytes) {
  std::FILE* f = std::fopen(file.c_str(), "wb");
  ASSERT_NE(f, nullptr);
  ASSERT_EQ(std::fwrite(bytes.data(), 1, bytes.size(), f), bytes.size());
  ASSERT_EQ(std::fclose(f), 0);
}

}  // namespace

TEST(TomlReader, KeepsTheOrderOfTheFileAndThePlaceOfEveryKeyAndValue) {
  Diagnostics d;
  const auto root = document::parse_toml(
      "zeta = 1\n"
      "alpha = \"two\"\n"
      "[middle]\n"
      "  y = [1.5, { q = true }]\n"
      "  b = 1979-05-27\n"
      "[[items]]\n"
      "id = \"a\"\n"
      "[[items]]\n"
      "id = \"b\"\n"
      "[items.inner]\n"
      "k = 2\n",
      "x.toml", d);
  ASSERT_TRUE(root && d.empty());
  ASSERT_EQ(root->entries.size(), 4u);
  EXPECT_EQ(root->entries[0].key, "zeta");
  EXPECT_EQ(root->entries[1].key, "alpha");
  EXPECT_EQ(root->entries[2].key, "middle");
  EXPECT_EQ(root->entries[3].key, "items");
  EXPECT_EQ(place_of(root->where), "0:0");
  EXPECT_EQ(place_of(root->entries[1].key_where), "2:1");
  EXPECT_EQ(place_of(root->entries[1].value.where), "2:9");
  const Node& middle = root->entries[2].value;
  EXPECT_EQ(place_of(middle.where), "3:1");
  EXPECT_EQ(middle.entries[0].key, "y");
  const Node& y = middle.entries[0].value;
  EXPECT_EQ(place_of(y.where), "4:7");
  EXPECT_EQ(place_of(y.items[0].where), "4:8");
  EXPECT_EQ(y.items[1].entries[0].value.path, "/middle/y/1/q");
  EXPECT_EQ(place_of(y.items[1].entries[0].value.where), "4:19");
  EXPECT_EQ(middle.entries[1].value.kind, Node::Kind::moment);
  EXPECT_EQ(middle.entries[1].value.text, "1979-05-27");
  const Node& items = root->entries[3].value;
  ASSERT_EQ(items.items.size(), 2u);
  EXPECT_EQ(place_of(items.items[1].where), "8:1");
  EXPECT_EQ(items.items[1].path, "/items/1");
  EXPECT_EQ(place_of(items.items[1].find("inner")->where), "10:1");
}

TEST(TomlReader, PathsEscapeSlashAndTilde) {
  Diagnostics d;
  const auto root = document::parse_toml("\"a/b~c\" = 1\n", "x.toml", d);
  ASSERT_TRUE(root);
  EXPECT_EQ(root->entries[0].value.path, "/a~1b~0c");
}

TEST(TomlReader, AcceptsAByteOrderMarkAndWindowsLineEnds) {
  EXPECT_EQ(outcome("\xEF\xBB\xBF"
                    "a = 1\r\nb = 2\r\n"),
            "none");
  EXPECT_EQ(outcome("\xEF\xBB\xBF\xEF\xBB\xBF"
                    "a = 1\r\nb = 2\r\n"),
            "toml.encoding @ 1:1");
}

TEST(TomlReader, SyntaxErrorsAreLocated) {
  EXPECT_EQ(outcome("a = 1\nb = \n"), "toml.syntax @ 2:5");
  EXPECT_EQ(outcome("a = \"open\nb = 1\n"), "toml.syntax @ 1:10");
  EXPECT_EQ(outcome("[project\nname = 1\n"), "toml.syntax @ 1:9");
  EXPECT_EQ(outcome("a = 1,5\n"), "toml.syntax @ 1:6");
}

TEST(TomlReader, DuplicateKeysAndTablesAreNamedAsSuch) {
  EXPECT_EQ(outcome("a = 1\na = 2\n"), "toml.duplicate_key @ 2:5");
  EXPECT_EQ(outcome("[t]\nx = 1\n[t]\ny = 2\n"), "toml.duplicate_key @ 3:1");
}

TEST(TomlReader, EmptyAndBlankFilesAreSaidToBeEmpty) {
  EXPECT_EQ(outcome(""), "file.empty @ 0:0");
  EXPECT_EQ(outcome(" \r\n\t\n"), "file.empty @ 0:0");
  EXPECT_EQ(outcome("# only a comment\n"), "none");
}

TEST(TomlReader, OtherEncodingsAreLocated) {
  EXPECT_EQ(outcome("a = 1\nname = \"R\xFCssel\"\n"), "toml.encoding @ 2:10");
  EXPECT_EQ(outcome(std::string_view("\xFF\xFE"
                                     "a\0=\0",
                                     6)),
            "toml.encoding @ 1:1");
  EXPECT_EQ(outcome(std::string_view("a = 1\nb\0c", 9)), "toml.encoding @ 2:2");
}

TEST(TomlReader, DeepNestingIsRefusedBeforeItCanExhaustTheStack) {
  std::string dotted = "a";
  for (int i = 0; i < 200'000; ++i) dotted += ".a";
  EXPECT_EQ(outcome(dotted + " = 1\n"), "toml.too_deep @ 1:32");
  EXPECT_EQ(outcome("[" + dotted + "]\n"), "toml.too_deep @ 1:33");
  EXPECT_EQ(outcome("a = " + std::string(200'000, '[')), "toml.too_deep @ 1:37");
  std::string tables = "a = ";
  for (int i = 0; i < 100'000; ++i) tables += "{a=";
  EXPECT_EQ(outcome(tables), "toml.too_deep @ 1:101");
}

TEST(TomlReader, DotsInStringsAndCommentsAreNoNesting) {
  const std::string dots(300, '.');
  EXPECT_EQ(outcome("a = \"" + dots + "\" # " + dots + "\nb = '" + dots + "'\n"), "none");
  EXPECT_EQ(outcome("a = \"\"\"\n" + dots + "\"\"\"\nb = '''" + dots + "'''\n"), "none");
  EXPECT_EQ(outcome("a = \"\\\"" + dots + "\"\n"), "none");
  std::string numbers = "a = [";
  for (int i = 0; i < 100; ++i) numbers += "1.5, ";
  EXPECT_EQ(outcome(numbers + "]\n"), "none");
}

TEST(TomlReader, NoRandomBytesGetPastItWithoutATreeOrAMessage) {
  // Draws from a small alphabet of TOML's own signs reach deeper into the parser than plain noise.
  const std::string_view alphabet = "ab=.[]{}\"'#\n\r\t ,\\-+_0189eEnifxT:Z\xC3\xBC\xFF";
  for (std::uint64_t seed = 0; seed < 3000; ++seed) {
    std::string text;
    const std::size_t length = static_cast<std::size_t>(base::uniform_draw(seed, 1, 0) * 60);
    for (std::size_t i = 0; i < length; ++i) {
      const double u = base::uniform_draw(seed, 2, i);
      text += alphabet[static_cast<std::size_t>(u * static_cast<double>(alphabet.size()))];
    }
    Diagnostics d;
    const auto node = document::parse_toml(text, "x.toml", d);
    EXPECT_NE(node.has_value(), d.has_errors()) << document::quoted(text);
  }
}

TEST(ReadTextFile, SaysWhatIsWrongWithTheFile) {
  const auto code_of = [](const std::string& file, std::size_t most) {
    Diagnostics d;
    const auto text = document::read_text_file(file, most, d);
    EXPECT_NE(text.has_value(), d.has_errors());
    return d.empty() ? std::string("none") : d.sorted().front().code;
  };
  EXPECT_EQ(code_of(temporary("absent"), 10), "file.missing");
  EXPECT_EQ(code_of(std::filesystem::temp_directory_path().string(), 10), "file.is_folder");
  EXPECT_EQ(code_of("", 10), "file.missing");
  EXPECT_EQ(code_of(std::string(100'000, 'x'), 10), "file.missing");
  const std::string file = temporary("bytes");
  write_file(file, "0123456789");
  EXPECT_EQ(code_of(file, 10), "none");
  EXPECT_EQ(code_of(file, 9), "file.too_big");
  std::filesystem::remove(file);
}

TEST(ReadTextFile, GivesTheBytesAsTheyAre) {
  const std::string file = temporary("exact");
  const std::string bytes("a\0\r\n\xFF", 5);
  write_file(file, bytes);
  Diagnostics d;
  EXPECT_EQ(document::read_text_file(file, 100, d), bytes);
  std::filesystem::remove(file);
}
