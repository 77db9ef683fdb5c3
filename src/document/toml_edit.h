// Changes single values of a TOML text and keeps every other byte: comments, order, blanks, spelling of numbers.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "document/diagnostic.h"
#include "document/node_edit.h"

namespace document {

/// The text after all edits, in their order; nothing when one of them cannot be done, and then none is. A table or list
/// that is set anew is compared with what stands there, so that what stays the same keeps its bytes and comments.
/// Reports what the text itself has wrong (file.*, toml.*), edit.no_such_place, edit.not_a_list, edit.bad_pointer,
/// edit.no_value and edit.not_writable; the path of each is the edit's pointer.
///
/// Removing the last table of a list of [[tables]] removes the key, since TOML has no empty list of tables. The result
/// is parsed again and compared with what the edits mean before it is handed out.
[[nodiscard]] std::optional<std::string> edit_toml(std::string_view text, const std::string& file,
                                                   const std::vector<Edit>& edits, Diagnostics& diagnostics);

}  // namespace document
