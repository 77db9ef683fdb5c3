// From field tables to a JSON schema (json-schema.org, draft 2020-12), so that an editor and the workbench check the
// same keys, types and ranges as the reader.
#pragma once

#include <string>
#include <vector>

#include "document/fields.h"

namespace document {

/// Schema text of a file whose top level holds `fields`. Unknown keys are refused, units stand in "x-unit", a table
/// whose keys depend on a sibling becomes one if/then per variant. Same input, same bytes; ends with a newline.
/// Checks between keys (low <= high, references, duplicate ids) cannot be said in a schema and stay with the reader.
[[nodiscard]] std::string json_schema(const std::string& title, const std::string& description,
                                      const std::vector<FieldDoc>& fields);

}  // namespace document
