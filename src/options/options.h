// A command and its options as the commands see them: a thin face of CLI11, whose headers take ten
// seconds of compiling wherever they are included. Texts, bounds and names go through unchanged.
#pragma once

#include <string>
#include <vector>

namespace CLI {
class App;
class Option;
}  // namespace CLI

namespace hearwood {

/// One option while it is described; each call returns the option itself.
class CommandOption {
  public:
    explicit CommandOption(CLI::Option* option) : option_(option) {}

    CommandOption& required();
    CommandOption& type_name(const std::string& name);  ///< what the value is called: "N", "FILE"
    CommandOption& show_default();                      ///< the member's present value, in --help
    CommandOption& between(int least, int most);        ///< ends included
    CommandOption& between(double least, double most);  ///< ends included; never nan
    CommandOption& one_of(const std::vector<int>& values);
    CommandOption& existing_file();
    CommandOption& existing_folder();
    CommandOption& may_stand_alone();  ///< the value may be left out
    CommandOption& excludes(const CommandOption& other);
    CommandOption& needs(const CommandOption& other);
    /// Whether the command line had it; to be asked once that is parsed.
    bool given() const;

  private:
    CLI::Option* option_;
};

/// A subcommand while it is described. Holds no state of its own: copies speak of the same one.
class Command {
  public:
    /// Adds the subcommand to the program.
    Command(CLI::App& program, const std::string& name, const std::string& summary);

    /// "--jobs N": the option, and what its value is called; a name without dashes is a positional
    /// value, "file FILE". `into` is filled when the line is parsed and
    /// has to live until then. Values: std::string, int, double, std::uint64_t, std::optional of
    /// the last two, std::vector<std::string>; others are instantiated in options.cpp.
    template <typename Value>
    CommandOption add_option(const std::string& name, Value& into, const std::string& meaning);
    CommandOption add_flag(const std::string& name, bool& into, const std::string& meaning);

    /// Sets the text shown under --help after the options: at least one example.
    void example(const std::string& text);

  private:
    CLI::App* app_;
};

}  // namespace hearwood
