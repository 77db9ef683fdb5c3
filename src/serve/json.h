// Between JSON on the wire and located trees, so that the field tables read requests as they read files.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>

#include "document/diagnostic.h"
#include "document/node.h"

namespace serve {

/// Deeper requests are refused: nobody writes them, and trees are walked recursively.
inline constexpr int kDeepestJson = 64;

/// A request body as a tree; reports json.syntax, json.too_deep and, for null, which no field takes, json.null.
[[nodiscard]] std::optional<document::Node> parse_json(std::string_view text, document::Diagnostics& diagnostics);

/// An object, not nested too deep, whatever it holds.
[[nodiscard]] bool is_json_object(std::string_view text);

/// [{severity, code, at, file, line, column, message, hint}] in file order.
[[nodiscard]] nlohmann::ordered_json problems_json(const document::Diagnostics& diagnostics);

/// In one line, broken UTF-8 replaced.
[[nodiscard]] std::string compact(const nlohmann::ordered_json& json);

}  // namespace serve
