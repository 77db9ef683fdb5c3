#include "cli/manual.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <CLI/CLI.hpp>

#include <cctype>
#include <utility>
#include <vector>

#include "base/text.h"
#include "cli/session.h"

namespace cli {

namespace {

/// Text as the typesetter must read it: hyphens that can be copied, no macro at the start of a line.
std::string roff(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\')
      out += "\\e";
    else if (c == '-')
      out += "\\-";
    else if (c == '\n')
      out += ' ';
    else
      out += c;
  }
  if (!out.empty() && (out.front() == '.' || out.front() == '\'')) out.insert(0, "\\&");
  return out;
}

std::vector<const CLI::Option*> options_of(const CLI::App& app) {
  std::vector<const CLI::Option*> out;
  for (const CLI::Option* o : app.get_options()) {
    if (o->nonpositional() && !o->get_lnames().empty()) out.push_back(o);
  }
  return out;
}

std::vector<std::string> flags_of(const CLI::App& app) {
  std::vector<std::string> out;
  for (const CLI::Option* o : options_of(app)) out.push_back("--" + o->get_lnames().front());
  return out;
}

bool takes_value(const CLI::Option& o) {
  return o.get_items_expected_max() > 0;
}

std::string positionals(const CLI::App& app) {
  std::string out;
  for (const CLI::Option* o : app.get_options()) {
    if (!o->get_positional()) continue;
    const std::string name = fmt::format("\\fI{}\\fR", roff(o->get_name(true)));
    out += ' ' + (o->get_required() ? name : '[' + name + ']');
  }
  return out;
}

std::string option_entries(const CLI::App& app) {
  std::string out;
  for (const CLI::Option* o : options_of(app)) {
    if (o->get_lnames().front() == "help") continue;
    out += fmt::format(
        ".TP\n\\fB{}\\fR{}\n{}\n", roff("--" + o->get_lnames().front()),
        takes_value(*o)
            ? " \\fI" + roff(base::lower_ascii(o->get_type_name().substr(0, o->get_type_name().find(':')))) + "\\fR"
            : "",
        roff(o->get_description()));
  }
  return out;
}

}  // namespace

std::string manual_page(const CLI::App& app, const std::string& version) {
  const std::string name = app.get_name();
  std::string upper = name;
  for (char& c : upper) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  std::string out = fmt::format(".TH {} 1 \"\" \"{} {}\" \"User Commands\"\n", upper, name, version);
  out += fmt::format(".SH NAME\n{} \\- design motorised working models from the parts of one donor kit\n", name);
  out += fmt::format(".SH SYNOPSIS\n.B {}\n[\\fIoptions\\fR] \\fIcommand\\fR [\\fIarguments\\fR]\n", name);
  out += fmt::format(".SH DESCRIPTION\n{}\n", roff(app.get_description()));
  out +=
      "A project is a folder with a project.toml and a stock list; every command names it first. What is wrong in a "
      "file is said with its line and what to do about it.\n";
  out += ".SH OPTIONS\n" + option_entries(app);
  out += ".SH COMMANDS\n";
  for (const CLI::App* command : app.get_subcommands({})) {
    out += fmt::format(".SS {} \\fB{}\\fR{}\n{}.\n", name, roff(command->get_name()), positionals(*command),
                       roff(command->get_description()));
    out += option_entries(*command);
  }
  out += ".SH EXIT STATUS\n";
  const std::pair<int, const char*> codes[] = {
      {kFeasible, "done; there is a design"},
      {kInfeasible, "done; what was asked cannot be had from this stock, and the answer says why"},
      {kBadInput, "a file or an option is wrong"},
      {kOurFault, "a fault of the program"},
  };
  for (const auto& [code, text] : codes) out += fmt::format(".TP\n{}\n{}.\n", code, text);
  out +=
      ".SH ENVIRONMENT\n.TP\nKITWRIGHT_CATALOGUE\nfolder of the kit systems, unless \\fB\\-\\-catalogue\\fR names "
      "one.\n"
      ".TP\nNO_COLOR\nif set, no colours on the terminal.\n";
  out +=
      ".SH CAUTIONS\nFigures are computed, not measured; try a model gently before it is loaded. Where people can be "
      "hurt, local rules and qualified people decide.\n";
  return out;
}

std::string bash_completion(const CLI::App& app) {
  std::vector<std::string> commands;
  std::string cases;
  for (const CLI::App* command : app.get_subcommands({})) {
    commands.push_back(command->get_name());
    cases += fmt::format("    {}) words=\"{}\" ;;\n", command->get_name(), fmt::join(flags_of(*command), " "));
  }
  const std::string name = app.get_name();
  return fmt::format(
      R"(# bash completion of {0}; made by "{0} manual --bash"
_{0}() {{
  local cur=${{COMP_WORDS[COMP_CWORD]}} command= words= i
  for ((i = 1; i < COMP_CWORD; i++)); do
    case ${{COMP_WORDS[i]}} in
      {1}) command=${{COMP_WORDS[i]}}; break ;;
    esac
  done
  case $command in
{2}  esac
  if [[ $cur == -* ]]; then
    COMPREPLY=($(compgen -W "$words {3}" -- "$cur"))
  elif [[ -z $command ]]; then
    COMPREPLY=($(compgen -W "{4}" -- "$cur"))
  else
    compopt -o filenames 2>/dev/null
    COMPREPLY=($(compgen -f -- "$cur"))
  fi
}}
complete -F _{0} {0}
)",
      name, fmt::join(commands, "|"), cases, fmt::join(flags_of(app), " "), fmt::join(commands, " "));
}

std::string zsh_completion(const CLI::App& app) {
  const auto quoted = [](const std::string& text) {
    std::string out;
    for (const char c : text) {
      if (c == '\'')
        out += "'\\''";
      else if (c == '[' || c == ']' || c == ':')
        out += std::string("\\") + c;
      else
        out += c;
    }
    return out;
  };
  const auto told = [&](const CLI::App& of) {
    std::string out;
    for (const CLI::Option* o : options_of(of)) {
      out += fmt::format(" '--{}[{}]{}'", o->get_lnames().front(), quoted(o->get_description()),
                         takes_value(*o) ? ":value:_files" : "");
    }
    return out;
  };
  std::string commands, cases;
  for (const CLI::App* command : app.get_subcommands({})) {
    commands += fmt::format(" '{}:{}'", command->get_name(), quoted(command->get_description()));
    cases += fmt::format("        {}) _arguments{} '*:file:_files' ;;\n", command->get_name(), told(*command));
  }
  return fmt::format(
      R"(#compdef {0}
# zsh completion of {0}; made by "{0} manual --zsh"
local -a commands
commands=({1})
_arguments -C{2} '1:command:->command' '*::argument:->argument'
case $state in
  command) _describe command commands ;;
  argument)
    case $words[1] in
{3}    esac ;;
esac
)",
      app.get_name(), commands, told(app), cases);
}

}  // namespace cli
