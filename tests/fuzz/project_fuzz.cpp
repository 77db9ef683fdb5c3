// Any bytes as project.toml, and an edit of whatever could be read: what is kept must mean what the edit says.
#include <string>

#include "document/toml_edit.h"
#include "document/toml_reader.h"
#include "fuzz/target.h"
#include "project/project.h"

void fuzz_one(std::string_view input) {
  document::Diagnostics d;
  const auto root = document::parse_toml(input, "project.toml", d);
  (void)project::parse_project(input, "project.toml", d);
  if (!root || root->entries.empty()) return;
  // The edit looks at its own result and reports when it means anything else.
  const std::size_t nth = input.size() % root->entries.size();
  document::Edit edit;
  edit.at = document::child_path("", root->entries[nth].key);
  for (const auto op : {document::Edit::Op::remove, document::Edit::Op::set}) {
    edit.op = op;
    edit.value.kind = document::Node::Kind::text;
    edit.value.text = std::string(input.substr(0, 20));
    document::Diagnostics told;
    const auto changed = document::edit_toml(input, "project.toml", {edit}, told);
    fuzz_check(changed.has_value() != told.has_errors(), "an edit is done or its problem is told");
    if (!changed) continue;
    document::Diagnostics again;
    const bool read = document::parse_toml(*changed, "project.toml", again).has_value();
    fuzz_check(read || again.sorted().front().code == "file.empty", "an edited file can be read");
  }
}
