// `--help` in the words of the man pages: values by their names, ranges in the meaning, 80 columns.
#pragma once

#include <CLI/CLI.hpp>
#include <string>

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

}  // namespace hearwood
