// Archetypes: a commented project file grown from a few dimensions. Data in catalogue/archetypes/*.toml.
//
// An archetype's `project` text holds places of the form ${expression} or ${expression : form}. An expression is
// arithmetic over numbers, dimensions and figures: + - * / ( ) min(a, b) max(a, b). Forms:
//   hp  millimetres, to the nearest half pitch of the kit system      p   pitches, to the nearest half
//   g   grams, to the nearest 10                                      n   whole number
// Without a form: to one decimal. ${text : name} is one of the words system, name, stock, archetype.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "document/diagnostic.h"
#include "document/node.h"

namespace project {

struct Dimension {
  std::string name;
  std::string doc;
  std::string unit;
  double low = 0, high = 0;
  std::string default_text;  ///< expression over the dimensions before it
};

/// A number worked out from the dimensions, named once and used in many places.
struct DerivedFigure {
  std::string name;
  std::string value;  ///< expression
};

struct Archetype {
  std::string id;  ///< file name without .toml
  std::string title;
  std::string summary;
  std::vector<std::string> systems;  ///< kit systems it suits
  std::vector<Dimension> dimensions;
  std::vector<DerivedFigure> figures;
  std::string project;
  document::Location where;
};

/// All archetypes of `folder`, by id; problems of the files are reported at their places.
[[nodiscard]] std::vector<Archetype> read_archetypes(const std::string& folder, document::Diagnostics& diagnostics);

struct Wishes {
  std::map<std::string, double> dimensions;  ///< those the user gave
  std::map<std::string, std::string> words;  ///< system, name, stock
  double pitch_mm = 8;
};

/// The project text. Reports unknown dimensions and values out of range ("new.*"), and faults of the archetype itself
/// ("archetype.*") at its file.
[[nodiscard]] std::optional<std::string> grow(const Archetype& archetype, const Wishes& wishes,
                                              document::Diagnostics& diagnostics);

/// Value of an expression; nothing, and the reason in `problem`, when it is malformed, names something unknown or is
/// not finite.
[[nodiscard]] std::optional<double> evaluate(std::string_view expression, const std::map<std::string, double>& names,
                                             std::string& problem);

}  // namespace project
