// What CLI11 says, in the program's words: `--help` as the man pages have it (values by their
// names, ranges in the meaning, 80 columns), and what is wrong with a command line.
#pragma once

#include <CLI/CLI.hpp>
#include <string>

#include "options/options.h"

namespace hearwood {

/// Replaces what CLI11 prints of its own ("[OPTIONS] survey", "N:INT in [1 - 1024]").
class HelpFormatter : public CLI::Formatter {
  public:
    std::string make_usage(const CLI::App* app, std::string name) const override;
    std::string make_option_name(const CLI::Option* option, bool positional) const override;
    std::string make_option_opts(const CLI::Option* option) const override;
    std::string make_option_desc(const CLI::Option* option) const override;
    std::string make_subcommand(const CLI::App* command) const override;
};

/// One line: which word is wrong and the fix, the nearest command or option where the word looks
/// like a slip of one. `program` is as its parse() left it.
std::string usage_complaint(const CLI::App& program, const CLI::ParseError& error);

}  // namespace hearwood
