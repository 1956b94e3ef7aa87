#include "options/help.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <vector>

#include "base/text.h"
#include "options/option_tree.h"

namespace hearwood {
namespace {

/// CLI11 puts meanings into the columns from its width of 30 on and keeps line breaks.
constexpr std::size_t kMeaningColumns = 80 - 30;

std::string in_lines(const std::string& text) {
    std::string out, line;
    for (const std::string& word : split(text, ' ')) {
        if (!line.empty() && line.size() + 1 + word.size() > kMeaningColumns) {
            out += line + '\n';
            line.clear();
        }
        line += (line.empty() ? "" : " ") + word;
    }
    return out + line;
}

}  // namespace

std::string HelpFormatter::make_usage(const CLI::App* app, std::string) const {
    if (app->get_parent() == nullptr) return "Usage: hearwood COMMAND [options]\n";
    return "Usage: " + usage_line(facts_of(*app)) + "\n";
}

std::string HelpFormatter::make_option_name(const CLI::Option* option, bool positional) const {
    if (positional) return facts_of_option(*option).names[0];
    return CLI::Formatter::make_option_name(option, positional);
}

std::string HelpFormatter::make_option_opts(const CLI::Option* option) const {
    const OptionFacts facts = facts_of_option(*option);
    return facts.value.empty() ? "" : " " + facts.value;
}

std::string HelpFormatter::make_option_desc(const CLI::Option* option) const {
    return in_lines(facts_of_option(*option).meaning);
}

std::string HelpFormatter::make_subcommand(const CLI::App* command) const {
    std::stringstream out;
    CLI::detail::format_help(out, command->get_display_name(true),
                             in_lines(command->get_description()), get_column_width());
    return out.str();
}

namespace {

bool is_option(const std::string& word) {
    return word.size() > 1 && word.starts_with('-');
}

std::string help_of(const CLI::App& program, const CLI::App* command) {
    return command ? fmt::format("'{} {} --help' lists its options", program.get_name(),
                                 command->get_name())
                   : fmt::format("'{} --help' lists the commands", program.get_name());
}

std::vector<std::string> option_names(const CLI::App& app) {
    std::vector<std::string> names;
    for (const CLI::Option* option : app.get_options())
        for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
    return names;
}

std::vector<std::string> command_names(const CLI::App& program) {
    std::vector<std::string> names;
    for (const CLI::App* command : program.get_subcommands(nullptr))
        names.push_back(command->get_name());
    return names;
}

/// "did you mean '--jobs'? ..." or where all of them stand.
std::string fix(const std::string& word, const std::vector<std::string>& names,
                const std::string& help) {
    const auto near = nearest(word, names);
    return near ? fmt::format("did you mean '{}'? {}", *near, help) : help;
}

std::string unknown_option(const std::string& word, const CLI::App& program,
                           const CLI::App* command) {
    const std::string name = word.substr(0, word.find('='));
    return fmt::format(
        "{}{} has no option {}; {}", program.get_name(), command ? " " + command->get_name() : "",
        printable(name),
        fix(name, option_names(command ? *command : program), help_of(program, command)));
}

std::string without_command(const CLI::App& program) {
    const auto words = program.remaining();
    const auto word =
        std::find_if(words.begin(), words.end(), [](const auto& w) { return !is_option(w); });
    if (word != words.end())
        return fmt::format("no command is called '{}'; {}", printable(*word),
                           fix(*word, command_names(program), help_of(program, nullptr)));
    if (!words.empty()) return unknown_option(words.front(), program, nullptr);
    return fmt::format("say what to do; {}", help_of(program, nullptr));
}

/// CLI11's sentence, or ours where its own is none: "--values: 1 required FILE.csv missing".
std::string what_is_wrong(const CLI::ParseError& error) {
    const std::string text = error.what();
    const std::size_t colon = text.find(':');
    if (error.get_name() == "ArgumentMismatch" && colon != std::string::npos)
        return text.substr(0, colon) + " is without its value";
    return text;
}

std::string in_command(const CLI::App& program, const CLI::App& command,
                       const CLI::ParseError& error) {
    const auto words = command.remaining();
    const auto option = std::find_if(words.begin(), words.end(), is_option);
    if (option != words.end()) return unknown_option(*option, program, &command);
    const std::string name = program.get_name() + " " + command.get_name();
    if (!words.empty())
        return fmt::format("{}: unexpected argument '{}'; '{} --help' shows what it takes", name,
                           printable(words.front()), name);
    return fmt::format("{}: {}; '{} --help' shows what it takes", name,
                       printable(what_is_wrong(error)), name);
}

}  // namespace

std::string usage_complaint(const CLI::App& program, const CLI::ParseError& error) {
    const auto chosen = program.get_subcommands();
    return chosen.empty() ? without_command(program) : in_command(program, *chosen.front(), error);
}

}  // namespace hearwood
