// What the reference writers need to know of a CLI11 program, as plain data.
#pragma once

#include <string>
#include <vector>

namespace CLI {
class App;
class Option;
}  // namespace CLI

namespace hearwood {

struct OptionFacts {
    std::vector<std::string> names;  ///< "--jobs", "-j"; of a positional one its name, "SURVEY"
    std::string value;               ///< "N", "FILE"; empty for a flag
    std::string meaning;             ///< help text, with the default where one is shown
    bool positional = false, required = false;
};

struct CommandFacts {
    std::string name, summary, example;
    std::vector<OptionFacts> options;  ///< positional ones first, --help left out
};

/// The program's commands, in the order in which they were added; groups hidden from --help left
/// out.
std::vector<CommandFacts> command_facts(const CLI::App& program);
CommandFacts facts_of(const CLI::App& command);
OptionFacts facts_of_option(const CLI::Option& option);
/// "hearwood measure SURVEY [options]".
std::string usage_line(const CommandFacts& command);

}  // namespace hearwood
