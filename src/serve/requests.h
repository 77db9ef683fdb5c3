// What the page may send, read strictly: unknown keys, wrong types and values out of range are refused at their place.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "document/fields.h"
#include "document/toml_edit.h"
#include "serve/workspace.h"
#include "trial/course.h"

namespace serve {

/// One of folder; example; like.
struct OpenRequest {
  std::string folder;
  std::string example;
  std::string like;
  std::string into;
  std::string name;
  std::string system;
  std::map<std::string, double> dimensions;
  std::string stock_csv;
  std::string stock_columns;
};

struct EditsRequest {
  int revision = 0;
  std::string label;
  std::vector<document::Edit> edits;
};

struct TextRequest {
  int revision = 0;
  std::string label;
  std::string text;
};

struct ReloadRequest {
  Workspace::Keep keep = Workspace::Keep::mine;
};

struct StockRequest {
  std::string csv;
  std::string columns;
};

struct VariantRequest {
  std::string note;
};

/// 0 = 0.7 and 1.5 times the project's own scale.
struct ScaleRequest {
  double from = 0, to = 0;
  int steps = 7;
};

struct TrialRequest {
  trial::CourseType course = trial::CourseType::flat;
  double size = 0;      ///< mm, of a slope deg; flat: unused
  double friction = 0;  ///< 0 = the project's own
};

/// 0 = as the design was asked, as the chart's worst angle.
struct LiftRequest {
  double load_g = 0, slew_deg = 0, input = 1;
};

/// Numbers from 1 up: an input that comes late is left.
struct StickRequest {
  int number = 0;
  double throttle = 0;
  double steer = 0, slew = 0, luff = 0, stage = 0, hoist = 0;  ///< each as its drive's plus and minus
};

/// The table of a request type: reader and documentation in one.
template <class Request>
[[nodiscard]] const document::FieldTable<Request>& fields();
template <>
const document::FieldTable<OpenRequest>& fields();
template <>
const document::FieldTable<EditsRequest>& fields();
template <>
const document::FieldTable<TextRequest>& fields();
template <>
const document::FieldTable<ReloadRequest>& fields();
template <>
const document::FieldTable<StockRequest>& fields();
template <>
const document::FieldTable<VariantRequest>& fields();
template <>
const document::FieldTable<ScaleRequest>& fields();
template <>
const document::FieldTable<TrialRequest>& fields();
template <>
const document::FieldTable<LiftRequest>& fields();
template <>
const document::FieldTable<StickRequest>& fields();

/// Reads a body; false, with everything that is wrong reported at its JSON pointer.
template <class Request>
[[nodiscard]] bool read_request(std::string_view body, Request& out, document::Diagnostics& diagnostics);

}  // namespace serve
