#include "serve/requests.h"

#include <fmt/format.h>

#include "document/toml_reader.h"
#include "serve/json.h"
#include "stock/import.h"

namespace serve {
namespace {

using document::Diagnostics;
using document::Edit;
using document::FieldDoc;
using document::FieldTable;
using document::Node;

/// A text that may be as long as a whole file.
template <class T>
typename FieldTable<T>::Reader long_text(std::string T::*member, std::size_t most_bytes) {
  return [member, most_bytes](const Node& n, const FieldDoc&, const std::string& prefix, T& out, Diagnostics& d) {
    if (n.kind != Node::Kind::text) {
      d.error(prefix + ".wrong_type", n.where, n.path, fmt::format("a text was expected, not {}", name_of(n.kind)));
    } else if (n.text.size() > most_bytes) {
      d.error(prefix + ".too_long", n.where, n.path, fmt::format("at most {} bytes are read", most_bytes));
    } else {
      out.*member = n.text;
    }
  };
}

const FieldTable<Edit>& edit_fields() {
  static const FieldTable<Edit> table =
      FieldTable<Edit>("edits")
          .choice("op", &Edit::op, {{"set", Edit::Op::set}, {"remove", Edit::Op::remove}, {"insert", Edit::Op::insert}},
                  {.doc = "set a value or add a key, remove one, or insert into a list"})
          .required()
          .text("at", &Edit::at,
                {.doc = "JSON pointer into the project; of an insert the element it goes before, or -"})
          .required()
          .opaque("value", &Edit::value, {.doc = "what to set or insert"});
  return table;
}

}  // namespace

template <>
const FieldTable<OpenRequest>& fields() {
  static const FieldTable<OpenRequest> table =
      FieldTable<OpenRequest>("open")
          .text("folder", &OpenRequest::folder, {.doc = "a project folder of the user's"})
          .text("example", &OpenRequest::example, {.doc = "id of an example, which is copied first"})
          .text("like", &OpenRequest::like, {.doc = "id of an archetype to grow a new project from"})
          .text("into", &OpenRequest::into, {.doc = "folder for the copy or the new project", .default_text = ""})
          .text("name", &OpenRequest::name, {.doc = "what the new project is called"})
          .text("system", &OpenRequest::system, {.doc = "kit system of the new project"})
          .custom("dimensions", FieldDoc::Type::any,
                  [](const Node& n, const FieldDoc& f, const std::string& prefix, OpenRequest& out, Diagnostics& d) {
                    if (!document::expect_table(n, prefix, d)) return;
                    for (const document::Entry& e : n.entries) {
                      if (const auto v = document::read_number(e.value, f, prefix, d)) out.dimensions[e.key] = *v;
                    }
                  },
                  {.doc = "dimensions of the archetype by their keys"})
          .custom("stock_csv", FieldDoc::Type::text, long_text(&OpenRequest::stock_csv, stock::kMostStockBytes),
                  {.doc = "stock list of the new project; left out = an example kit"})
          .text("stock_columns", &OpenRequest::stock_columns,
                {.doc = "meaning of the list's columns, \"name=2,quantity=1\"; left out = found by their names",
                 .default_text = ""});
  return table;
}

template <>
const FieldTable<EditsRequest>& fields() {
  static const FieldTable<EditsRequest> table =
      FieldTable<EditsRequest>("edits")
          .integer("revision", &EditsRequest::revision, {.low = 0, .high = 2e9, .doc = "what the edits are based on"})
          .required()
          .text("label", &EditsRequest::label, {.doc = "what undo calls it"})
          .tables("edits", &EditsRequest::edits, edit_fields(), {.doc = "all of them are done, or none"})
          .required();
  return table;
}

template <>
const FieldTable<TextRequest>& fields() {
  static const FieldTable<TextRequest> table =
      FieldTable<TextRequest>("text")
          .integer("revision", &TextRequest::revision, {.low = 0, .high = 2e9, .doc = "what the text is based on"})
          .required()
          .text("label", &TextRequest::label, {.doc = "what undo calls it"})
          .custom("text", FieldDoc::Type::text, long_text(&TextRequest::text, document::kMostTomlBytes),
                  {.doc = "the whole project file"})
          .required();
  return table;
}

template <>
const FieldTable<ReloadRequest>& fields() {
  static const FieldTable<ReloadRequest> table =
      FieldTable<ReloadRequest>("reload")
          .choice("keep", &ReloadRequest::keep, {{"mine", Workspace::Keep::mine}, {"file", Workspace::Keep::file}},
                  {.doc = "write the workbench's text over the file, or take the file's"})
          .required();
  return table;
}

template <>
const FieldTable<StockRequest>& fields() {
  static const FieldTable<StockRequest> table =
      FieldTable<StockRequest>("stock")
          .custom("csv", FieldDoc::Type::text, long_text(&StockRequest::csv, stock::kMostStockBytes),
                  {.doc = "the stock list"})
          .required()
          .text("columns", &StockRequest::columns, {.doc = "meaning of its columns: name=2,quantity=Count,colour=4"});
  return table;
}

template <>
const FieldTable<VariantRequest>& fields() {
  static const FieldTable<VariantRequest> table =
      FieldTable<VariantRequest>("variant").text("note", &VariantRequest::note, {.doc = "why it is kept"});
  return table;
}

template <>
const FieldTable<ScaleRequest>& fields() {
  static const FieldTable<ScaleRequest> table =
      FieldTable<ScaleRequest>("scale")
          .number("from", &ScaleRequest::from, {.low = 0, .high = 1000, .doc = "smallest scale looked at: 1 to this"})
          .number("to", &ScaleRequest::to, {.low = 0, .high = 1000, .doc = "greatest scale looked at"})
          .integer("steps", &ScaleRequest::steps,
                   {.low = 1, .high = 25, .doc = "scales between, besides those of parts"});
  return table;
}

template <>
const FieldTable<TrialRequest>& fields() {
  using trial::CourseType;
  static const FieldTable<TrialRequest> table =
      FieldTable<TrialRequest>("trial")
          .choice("course", &TrialRequest::course,
                  {{"flat", CourseType::flat},
                   {"slope", CourseType::slope},
                   {"side_slope", CourseType::side_slope},
                   {"step", CourseType::step},
                   {"drop", CourseType::drop},
                   {"trench", CourseType::trench},
                   {"washboard", CourseType::washboard}},
                  {.doc = "ground to drive over"})
          .required()
          .number("size", &TrialRequest::size,
                  {.low = 0, .high = 1000, .doc = "height or width, mm; of a slope its angle, deg; flat: unused"})
          .number("friction", &TrialRequest::friction,
                  {.low = 0, .high = 3, .doc = "of every contact; 0 = the project's own"});
  return table;
}

template <>
const FieldTable<LiftRequest>& fields() {
  static const FieldTable<LiftRequest> table =
      FieldTable<LiftRequest>("lift")
          .number("load_g", &LiftRequest::load_g,
                  {.low = 0, .high = 100000, .doc = "payload; 0 = what the design was asked to lift"})
          .number("slew_deg", &LiftRequest::slew_deg,
                  {.low = -360, .high = 360, .doc = "swung round to; 0 = the load chart's worst angle"})
          .number("input", &LiftRequest::input,
                  {.low = 0.05, .high = 1, .doc = "of the slewing control, share of full"});
  return table;
}

template <>
const FieldTable<StickRequest>& fields() {
  static const FieldTable<StickRequest> table =
      FieldTable<StickRequest>("stick")
          .integer("number", &StickRequest::number,
                   {.low = 1, .high = 2e9, .doc = "counts up; an input that comes late is left"})
          .required()
          .number("throttle", &StickRequest::throttle,
                  {.low = -1, .high = 1, .doc = "share of the drive's speed, back to ahead; 0 brakes"})
          .required()
          .number("steer", &StickRequest::steer, {.low = -1, .high = 1, .doc = "right to left"})
          .number("slew", &StickRequest::slew, {.low = -1, .high = 1, .doc = "right to left"})
          .number("luff", &StickRequest::luff, {.low = -1, .high = 1, .doc = "the first boom, down to up"})
          .number("stage", &StickRequest::stage, {.low = -1, .high = 1, .doc = "the next stage, down to up"})
          .number("hoist", &StickRequest::hoist, {.low = -1, .high = 1, .doc = "the hook, down to up"});
  return table;
}

template <class Request>
bool read_request(std::string_view body, Request& out, Diagnostics& d) {
  const auto node = parse_json(body, d);
  return node && fields<Request>().read(*node, out, d);
}

template bool read_request(std::string_view, OpenRequest&, Diagnostics&);
template bool read_request(std::string_view, EditsRequest&, Diagnostics&);
template bool read_request(std::string_view, TextRequest&, Diagnostics&);
template bool read_request(std::string_view, ReloadRequest&, Diagnostics&);
template bool read_request(std::string_view, StockRequest&, Diagnostics&);
template bool read_request(std::string_view, VariantRequest&, Diagnostics&);
template bool read_request(std::string_view, ScaleRequest&, Diagnostics&);
template bool read_request(std::string_view, TrialRequest&, Diagnostics&);
template bool read_request(std::string_view, LiftRequest&, Diagnostics&);
template bool read_request(std::string_view, StickRequest&, Diagnostics&);

}  // namespace serve
