// The manual page and the shells' completions, made from the command line's own description.
#pragma once

#include <string>

namespace CLI {
class App;
}

namespace cli {

/// The manual page in the man(7) macros: every command and option `app` has, exit codes, files. Holds no date, so that
/// the same program always gives the same page.
[[nodiscard]] std::string manual_page(const CLI::App& app, const std::string& version);

/// A completion script for bash: commands, the options of the command that was typed, and files.
[[nodiscard]] std::string bash_completion(const CLI::App& app);

/// The same for zsh, in the form its function path expects.
[[nodiscard]] std::string zsh_completion(const CLI::App& app);

}  // namespace cli
