// Man pages, shell completions and the command reference, written from the option tree that CLI11
// parses with: they cannot say other than the program does.
#pragma once

#include <filesystem>
#include <string>

namespace CLI {
class App;
}

namespace hearwood {

/// docs/commands.md.
std::string reference_markdown(const CLI::App& program);
/// hearwood.1 and hearwood-NAME.1 for each command, into a folder that is there. roff, man(7)
/// macros. Errors: MachineError.
void write_man_pages(const CLI::App& program, const std::filesystem::path& folder);
std::string bash_completion(const CLI::App& program);
std::string zsh_completion(const CLI::App& program);

}  // namespace hearwood
