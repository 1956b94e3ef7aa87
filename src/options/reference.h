// Man pages, shell completions and the command reference, written from the option tree that CLI11
// parses with: they cannot say other than the program does.
#pragma once

#include <string>

namespace CLI {
class App;
}

namespace hearwood {

/// docs/commands.md.
std::string reference_markdown(const CLI::App& program);
/// hearwood.1 when `command` is null, else hearwood-NAME.1. roff, man(7) macros.
std::string man_page(const CLI::App& program, const CLI::App* command);
std::string bash_completion(const CLI::App& program);
std::string zsh_completion(const CLI::App& program);

}  // namespace hearwood
