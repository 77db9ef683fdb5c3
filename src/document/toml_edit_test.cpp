// Covers toml_layout and toml_edit: what each edit writes, what it keeps, what is refused; and, by random edits on the
// example projects, that nothing but the edited value changes and that the text reads back as the edits mean.
#include "document/toml_edit.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <set>
#include <sstream>

#include "document/toml_reader.h"

using namespace document;

namespace {

Node text_node(std::string text) {
  Node n;
  n.kind = Node::Kind::text;
  n.text = std::move(text);
  return n;
}
Node number(std::int64_t value) {
  Node n;
  n.kind = Node::Kind::integer;
  n.integer = value;
  return n;
}
Node real(double value) {
  Node n;
  n.kind = Node::Kind::real;
  n.real = value;
  return n;
}
/// A value as TOML writes it.
Node value(const std::string& toml) {
  Diagnostics d;
  const auto root = parse_toml("v = " + toml, "", d);
  EXPECT_TRUE(root) << toml;
  return root ? *root->find("v") : Node{};
}

Edit set(std::string at, Node n) {
  return {Edit::Op::set, std::move(at), std::move(n)};
}
Edit insert(std::string at, Node n) {
  return {Edit::Op::insert, std::move(at), std::move(n)};
}
Edit take(std::string at) {
  return {Edit::Op::remove, std::move(at), {}};
}

std::string edited(std::string_view text, const std::vector<Edit>& edits) {
  Diagnostics d;
  const auto out = edit_toml(text, "p.toml", edits, d);
  std::string problems;
  for (const Diagnostic& one : d.sorted()) problems += text_of(one) + "\n";
  return out ? *out : "refused: " + problems;
}

std::string code_of(std::string_view text, const std::vector<Edit>& edits) {
  Diagnostics d;
  EXPECT_FALSE(edit_toml(text, "p.toml", edits, d));
  return d.empty() ? "" : d.sorted().front().code;
}

constexpr const char* kSmall = R"(# The head of the file.

[project]
name = "Rig"   # what it is called
seed = 1_000

# Two of them.
[[functions]]
id = "a"
[functions.wants]
rpm = 5.0      # slow
range = [ 1, 2 ]

# The second.
[[functions]]
id = "b"
wants = { rpm = 7, name = 'x' }
# the end
)";

TEST(TomlEdit, SetsOneValueAndKeepsEveryOtherByte) {
  std::string expected = kSmall;
  expected.replace(expected.find("5.0"), 3, "6.25");
  EXPECT_EQ(edited(kSmall, {set("/functions/0/wants/rpm", real(6.25))}), expected);
  expected = kSmall;
  expected.replace(expected.find("rpm = 7"), 7, "rpm = 8");
  EXPECT_EQ(edited(kSmall, {set("/functions/1/wants/rpm", number(8))}), expected);
  expected = kSmall;
  expected.replace(expected.find(", 2 ]"), 5, ", 3 ]");
  EXPECT_EQ(edited(kSmall, {set("/functions/0/wants/range", value("[1, 3]"))}), expected);
  // A value that is there already keeps its spelling: 1_000, 5.0, 'x'.
  EXPECT_EQ(edited(kSmall, {set("/project/seed", number(1000)), set("/functions/0/wants/rpm", number(5)),
                            set("/functions/1/wants/name", text_node("x"))}),
            kSmall);
}

TEST(TomlEdit, AddsAKeyBehindTheLastOneOfItsTable) {
  EXPECT_NE(edited(kSmall, {set("/project/draws", number(200))}).find("seed = 1_000\ndraws = 200\n\n# Two"),
            std::string::npos);
  EXPECT_NE(edited(kSmall, {set("/functions/0/wants/slope", number(3))}).find("range = [ 1, 2 ]\nslope = 3\n\n# The"),
            std::string::npos);
  EXPECT_NE(edited(kSmall, {set("/functions/1/wants/slope", number(3))}).find("{ rpm = 7, name = 'x', slope = 3 }"),
            std::string::npos);
  EXPECT_NE(edited(kSmall, {set("/functions/0/sides", number(2))}).find("id = \"a\"\nsides = 2\n[functions.wants]"),
            std::string::npos);
}

TEST(TomlEdit, MakesTheTablesThatAreMissing) {
  EXPECT_NE(edited(kSmall, {set("/limits/mass_g", number(900))})
                .find("seed = 1_000\n\n[limits]\nmass_g = 900\n\n# Two of them.\n[[functions]]"),
            std::string::npos)
      << edited(kSmall, {set("/limits/mass_g", number(900))});
  EXPECT_NE(edited(kSmall, {set("/reserves", value("[{ part = \"beam\", count = 2 }]"))})
                .find("# the end\n\n[[reserves]]\npart = \"beam\"\ncount = 2\n"),
            std::string::npos);
  EXPECT_NE(edited(kSmall, {insert("/bodies/-", value("{ id = \"hull\" }"))}).find("[[bodies]]\nid = \"hull\"\n"),
            std::string::npos);
}

TEST(TomlEdit, InsertsAndRemovesTables) {
  const std::string more = edited(
      kSmall,
      {insert("/functions/1", value("{ id = \"c\", kind = \"spin\", wants = { outputs = [{ name = \"f\" }] } }"))});
  EXPECT_NE(more.find("range = [ 1, 2 ]\n\n[[functions]]\nid = \"c\"\nkind = \"spin\"\n[functions.wants]\noutputs = "
                      "[{ name = \"f\" }]\n\n# The second.\n[[functions]]"),
            std::string::npos)
      << more;
  EXPECT_EQ(edited(more, {take("/functions/1")}), kSmall);
  const std::string less = edited(kSmall, {take("/functions/0")});
  EXPECT_EQ(less.find("Two of them"), std::string::npos);
  EXPECT_EQ(less.find("rpm = 5.0"), std::string::npos);
  EXPECT_NE(less.find("seed = 1_000\n\n# The second.\n[[functions]]\nid = \"b\""), std::string::npos) << less;
  const std::string none = edited(less, {take("/functions/0")});
  EXPECT_EQ(none.find("functions"), std::string::npos);
  // And from nothing again.
  EXPECT_NE(edited(none, {insert("/functions/0", value("{ id = \"n\" }"))}).find("[[functions]]\nid = \"n\"\n"),
            std::string::npos);
}

TEST(TomlEdit, KeepsCommentsInsideLists) {
  constexpr const char* kList = "points = [\n  1, # one\n  2, # two\n  3  # three\n]\n";
  EXPECT_EQ(edited(kList, {set("/points/1", number(20))}), "points = [\n  1, # one\n  20, # two\n  3  # three\n]\n");
  EXPECT_EQ(edited(kList, {take("/points/2")}), "points = [\n  1, # one\n  2 # two\n]\n");
  EXPECT_EQ(edited(kList, {take("/points/0")}), "points = [\n  2, # two\n  3  # three\n]\n");
  EXPECT_EQ(edited(kList, {insert("/points/-", number(4))}),
            "points = [\n  1, # one\n  2, # two\n  3,  # three\n  4\n]\n");
  EXPECT_EQ(edited(kList, {insert("/points/1", number(9))}),
            "points = [\n  1, # one\n  9,\n  2, # two\n  3  # three\n]\n");
  EXPECT_EQ(edited("p = [\n  1,\n  2,\n]\n", {insert("/p/2", number(3))}), "p = [\n  1,\n  2,\n  3,\n]\n");
  EXPECT_EQ(edited("p = [\n  1,\n  2,\n]\n", {take("/p/1")}), "p = [\n  1,\n]\n");
}

TEST(TomlEdit, WritesAnyTextSoThatItReadsBack) {
  for (const char* text :
       {"", "a \"quoted\" \\ word", "two\nlines\tand a tab", "\x01\x7f", "caf\xc3\xa9 \xe2\x9a\x99"}) {
    Diagnostics d;
    const auto back = parse_toml(edited("k = 1\n", {set("/k", text_node(text))}), "", d);
    ASSERT_TRUE(back) << text;
    EXPECT_EQ(back->find("k")->text, text);
  }
  for (const double number_value : {0.1, 1e300, -2.5e-9, 123456789.125, 1e16}) {
    Diagnostics d;
    const auto back = parse_toml(edited("k = 1\n", {set("/k", real(number_value))}), "", d);
    ASSERT_TRUE(back) << number_value;
    EXPECT_EQ(back->find("k")->number(), number_value);
  }
  EXPECT_EQ(edited("k = 1\n", {set("/a key~1with ~0 signs", number(2))}), "k = 1\n\"a key/with ~ signs\" = 2\n");
}

TEST(TomlEdit, KeepsLineEndsMarksAndMissingLastNewlines) {
  EXPECT_EQ(edited("[a]\r\nk = 1\r\n", {set("/a/m", number(2))}), "[a]\r\nk = 1\r\nm = 2\r\n");
  EXPECT_EQ(edited("\xEF\xBB\xBFk = 1", {set("/m", number(2))}), "\xEF\xBB\xBFk = 1\nm = 2\n");
  EXPECT_EQ(edited("[a]\n  k = 1\n\n\n# end", {set("/a/m", number(2))}), "[a]\n  k = 1\n  m = 2\n\n\n# end");
}

TEST(TomlEdit, FollowsDottedKeysAndLateHeaders) {
  EXPECT_EQ(edited("a.b.c = 1\na.b.d = 2\n", {set("/a/b/e", number(3))}), "a.b.c = 1\na.b.d = 2\na.b.e = 3\n");
  EXPECT_EQ(edited("a.b.c = 1\na.x = 2\n", {take("/a/b")}), "a.x = 2\n");
  EXPECT_EQ(edited("[a.b]\nc = 1\n", {set("/a/k", number(2))}), "[a]\nk = 2\n\n[a.b]\nc = 1\n");
  EXPECT_EQ(edited("[[f]]\nid = 1\n[z]\nk = 1\n[f.w]\nx = 1\n", {set("/f/0/w/x", number(2))}),
            "[[f]]\nid = 1\n[z]\nk = 1\n[f.w]\nx = 2\n");
  EXPECT_EQ(edited("[[f]]\nid = 1\n[z]\nk = 1\n[f.w]\nx = 1\n", {take("/f/0")}), "[z]\nk = 1\n");
  EXPECT_EQ(edited("s = \"\"\"\n[no]\nheader = 1\n\"\"\"\nk = 1\n", {set("/k", number(2))}),
            "s = \"\"\"\n[no]\nheader = 1\n\"\"\"\nk = 2\n");
}

TEST(TomlEdit, RefusesWhatCannotBeDoneAndThenDoesNothing) {
  EXPECT_EQ(code_of(kSmall, {take("/limits")}), "edit.no_such_place");
  EXPECT_EQ(code_of(kSmall, {set("/functions/2/id", text_node("z"))}), "edit.no_such_place");
  EXPECT_EQ(code_of(kSmall, {set("/functions/00/id", text_node("z"))}), "edit.no_such_place");
  EXPECT_EQ(code_of(kSmall, {insert("/project/name", text_node("z"))}), "edit.not_a_list");
  EXPECT_EQ(code_of(kSmall, {set("project/name", text_node("z"))}), "edit.bad_pointer");
  EXPECT_EQ(code_of(kSmall, {set("/project/name/deeper", number(1))}), "edit.no_such_place");
  EXPECT_EQ(code_of(kSmall, {set("/project/seed", real(std::numeric_limits<double>::infinity()))}), "edit.no_value");
  EXPECT_EQ(code_of("[project\nname = 1\n", {set("/project/name", number(1))}), "toml.syntax");
  EXPECT_EQ(code_of(kSmall, {set("/project/name", text_node("good")), take("/nothing")}), "edit.no_such_place");
}

// ---- random edits on the example projects -------------------------------------------------------------------------

struct Random {
  std::uint64_t state;
  std::size_t below(std::size_t n) {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<std::size_t>((state >> 33) % n);
  }
};

void collect(const Node& n, std::vector<const Node*>& out) {
  out.push_back(&n);
  for (const Node& item : n.items) collect(item, out);
  for (const Entry& e : n.entries) collect(e.value, out);
}

Node random_value(Random& rng, int depth = 0) {
  switch (rng.below(depth > 1 ? 4 : 6)) {
    case 0:
      return number(static_cast<std::int64_t>(rng.below(2000)) - 1000);
    case 1:
      return real(static_cast<double>(rng.below(100000)) / 64 - 500);
    case 2:
      return text_node(std::string(rng.below(12), 'x') + (rng.below(2) == 0 ? "#\"[" : ""));
    case 3: {
      Node n;
      n.kind = Node::Kind::boolean;
      n.boolean = rng.below(2) == 0;
      return n;
    }
    case 4: {
      Node n;
      n.kind = Node::Kind::array;
      for (std::size_t i = rng.below(4); i > 0; --i) n.items.push_back(random_value(rng, depth + 1));
      return n;
    }
    default: {
      Node n;
      for (std::size_t i = rng.below(4); i > 0; --i)
        n.entries.push_back({"key_" + std::to_string(i), {}, random_value(rng, depth + 1)});
      return n;
    }
  }
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> out;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) out.push_back(line);
  return out;
}

std::vector<std::string> example_texts() {
  std::vector<std::string> out;
  for (const auto& entry : std::filesystem::directory_iterator(std::string(KW_SOURCE_DIR) + "/examples")) {
    Diagnostics d;
    const auto text = read_text_file((entry.path() / "project.toml").string(), kMostTomlBytes, d);
    if (text) out.push_back(*text);
  }
  std::sort(out.begin(), out.end());
  return out;
}

TEST(TomlEditProperty, ScalarEditsOfTheExamplesChangeTheirOwnLineOnly) {
  Random rng{7};
  const auto texts = example_texts();
  ASSERT_GE(texts.size(), 5U);
  for (const std::string& text : texts) {
    Diagnostics d;
    const auto root = parse_toml(text, "", d);
    ASSERT_TRUE(root);
    std::vector<const Node*> all;
    collect(*root, all);
    for (int round = 0; round < 25; ++round) {
      const Node& at = *all[rng.below(all.size())];
      if (at.kind == Node::Kind::table || at.kind == Node::Kind::array) continue;
      const std::string after = edited(text, {set(at.path, number(static_cast<std::int64_t>(rng.below(90)) + 10'000))});
      const auto before_lines = lines_of(text), after_lines = lines_of(after);
      ASSERT_EQ(before_lines.size(), after_lines.size()) << at.path << "\n" << after;
      for (std::size_t i = 0; i < before_lines.size(); ++i) {
        if (static_cast<int>(i) + 1 == at.where.line) {
          EXPECT_NE(before_lines[i], after_lines[i]) << at.path;
        } else {
          EXPECT_EQ(before_lines[i], after_lines[i]) << at.path;
        }
      }
    }
  }
}

TEST(TomlEditProperty, AnyChainOfEditsReadsBackAsItMeansAndKeepsUntouchedComments) {
  Random rng{11};
  for (const std::string& original : example_texts()) {
    std::string text = original;
    for (int round = 0; round < 25; ++round) {
      Diagnostics d;
      const auto root = parse_toml(text, "", d);
      if (!root) break;  // everything was removed
      std::vector<const Node*> all;
      collect(*root, all);
      const Node& at = *all[rng.below(all.size())];
      Edit edit;
      switch (rng.below(4)) {
        case 0:
          if (at.path.empty()) continue;
          edit = take(at.path);
          break;
        case 1:
          if (at.kind == Node::Kind::array) {
            edit = insert(child_path(at.path, rng.below(at.items.size() + 1)), random_value(rng));
          } else if (at.kind == Node::Kind::table) {
            edit = set(child_path(at.path, "new_" + std::to_string(rng.below(100))), random_value(rng));
          } else {
            continue;
          }
          break;
        default:
          if (at.path.empty()) continue;
          edit = set(at.path, random_value(rng));
      }
      Node meant = *root;
      ASSERT_TRUE(apply_edit(meant, edit, d));
      const auto after = edit_toml(text, "", {edit}, d);
      ASSERT_TRUE(after) << edit.at << " op " << static_cast<int>(edit.op) << " " << toml_text(edit.value) << "\n"
                         << text;
      const auto back = parse_toml(*after, "", d);
      if (back) {
        EXPECT_TRUE(same_value(*back, meant)) << edit.at;
      }
      if (edit.op != Edit::Op::remove) {
        // Full-line comments live on unless a whole table with its comments was replaced by something else.
        std::multiset<std::string> had, has;
        for (const std::string& line : lines_of(text)) {
          if (line.starts_with("#")) had.insert(line);
        }
        for (const std::string& line : lines_of(*after)) {
          if (line.starts_with("#")) has.insert(line);
        }
        if (at.kind != Node::Kind::table && at.kind != Node::Kind::array) {
          EXPECT_EQ(had, has) << edit.at;
        }
      }
      text = *after;
    }
  }
}

}  // namespace
