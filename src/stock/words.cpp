#include "stock/words.h"

#include <utility>

#include "document/fields.h"
#include "document/toml_reader.h"
#include "stock/folding.h"

namespace stock {
namespace {

using document::FieldTable;
const std::string kPrefix = "words";

struct Group {
  std::vector<std::string> words;
};
struct File {
  std::vector<Words::Meaning> meanings, colours;
  std::vector<Words::Unit> units;
  std::vector<Group> groups;
  Group noise;
  Words::Columns columns;
};

FieldTable<Words::Meaning> meaning_table() {
  return FieldTable<Words::Meaning>(kPrefix)
      .text("says", &Words::Meaning::says, {.doc = "in the words of the catalogue"})
      .required()
      .texts("words", &Words::Meaning::words, {.doc = "what a list may say instead"})
      .required();
}

FieldTable<Words::Unit> unit_table() {
  return FieldTable<Words::Unit>(kPrefix)
      .choice("role", &Words::Unit::role,
              {{"teeth", NumberRole::teeth},
               {"length", NumberRole::length},
               {"width", NumberRole::width},
               {"mm", NumberRole::mm},
               {"degrees", NumberRole::degrees},
               {"ports", NumberRole::ports},
               {"starts", NumberRole::starts},
               {"grams", NumberRole::grams}},
              {.doc = "what the number counts"})
      .required()
      .number("scale", &Words::Unit::scale, {"", 1e-6, 1e6, "the number is multiplied by it", "1"})
      .text("implies", &Words::Unit::implies, {.doc = "noun meant when there is none"})
      .texts("after", &Words::Unit::after, {.doc = "words that follow the number"})
      .texts("before", &Words::Unit::before, {.doc = "words that stand before the number"});
}

FieldTable<Group> group_table() {
  return FieldTable<Group>(kPrefix).texts("words", &Group::words, {.doc = "words"}).required();
}

FieldTable<Words::Columns> columns_table() {
  return FieldTable<Words::Columns>(kPrefix)
      .texts("class", &Words::Columns::class_id, {.doc = "heads of the column of class ids"})
      .required()
      .texts("name", &Words::Columns::name, {.doc = "heads of the column of descriptions"})
      .required()
      .texts("quantity", &Words::Columns::quantity, {.doc = "heads of the column of counts"})
      .required()
      .texts("colour", &Words::Columns::colour, {.doc = "heads of the column of colours"})
      .required()
      .texts("code", &Words::Columns::code, {.doc = "heads of the column of the list's own codes"})
      .required();
}

const FieldTable<File>& file_table() {
  static const FieldTable<File> table =
      FieldTable<File>(kPrefix)
          .tables("meaning", &File::meanings, meaning_table(), {.doc = "nouns and qualities"})
          .tables("colour", &File::colours, meaning_table(), {.doc = "colours"})
          .tables("unit", &File::units, unit_table(), {.doc = "what numbers count"})
          .tables("group", &File::groups, group_table(), {.doc = "words that exclude each other"})
          .table("noise", &File::noise, group_table(), {.doc = "words that say nothing"})
          .table("columns", &File::columns, columns_table(), {.doc = "heads of columns"})
          .required();
  return table;
}

void fold_all(std::vector<std::string>& texts) {
  for (std::string& t : texts) t = folded(t);
}

}  // namespace

std::optional<Words> read_words(const std::string& file, document::Diagnostics& diagnostics) {
  const auto tree = document::read_toml(file, diagnostics);
  if (!tree) return std::nullopt;
  File in;
  if (!file_table().read(*tree, in, diagnostics)) return std::nullopt;
  Words out;
  out.meanings = std::move(in.meanings);
  out.colours = std::move(in.colours);
  out.units = std::move(in.units);
  out.noise = std::move(in.noise.words);
  out.columns = std::move(in.columns);
  for (Group& g : in.groups) out.groups.push_back(std::move(g.words));
  for (auto* list : {&out.meanings, &out.colours}) {
    for (Words::Meaning& m : *list) fold_all(m.words);
  }
  for (Words::Unit& u : out.units) {
    fold_all(u.after);
    fold_all(u.before);
  }
  for (auto& g : out.groups) fold_all(g);
  fold_all(out.noise);
  for (auto* c :
       {&out.columns.class_id, &out.columns.name, &out.columns.quantity, &out.columns.colour, &out.columns.code}) {
    fold_all(*c);
  }
  return out;
}

}  // namespace stock
