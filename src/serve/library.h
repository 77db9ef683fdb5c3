// What a workbench without a project offers: the example projects and the archetypes that came with the program.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "document/diagnostic.h"

namespace serve {

/// The folder of the example projects; empty when there is none. `told` is taken when it is not empty.
[[nodiscard]] std::string examples_folder(const std::string& told);

[[nodiscard]] nlohmann::ordered_json examples_json(const std::string& examples);
[[nodiscard]] nlohmann::ordered_json archetypes_json(const std::string& catalogue);

/// Copies an example, stock list included, into a folder of the user's, which must not hold a project yet. Empty
/// `into`: a new folder "kitwright/<id>" in the home folder, or "<id>-2" and so on. Returns the folder; empty =
/// reported.
[[nodiscard]] std::string copy_example(const std::string& examples, const std::string& id, const std::string& into,
                                       document::Diagnostics& diagnostics);

/// "<home>/kitwright/<name>", made unlike any folder that is there.
[[nodiscard]] std::string free_folder(const std::string& name);

/// Letters, digits, "_" and "-", 1 to 64 of them: safe as a file name everywhere.
[[nodiscard]] bool is_plain_name(const std::string& name);

}  // namespace serve
