#include "options/option_tree.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <set>

#include "base/text.h"

namespace hearwood {
namespace {

/// "1e+06" as CLI11 prints it, "1000000" as a person reads it.
std::string readable_bound(const std::string& text) {
    const std::optional<double> value = parse_number(text);
    const bool whole = value && std::abs(*value) < 1e9 && *value == std::floor(*value);
    return whole ? std::to_string(static_cast<long long>(*value)) : text;
}

/// "8,16,24,32" as "8, 16, 24 or 32".
std::string choice(const std::string& list) {
    std::vector<std::string> words = split(list, ',');
    if (words.size() < 2) return list;
    const std::string last = words.back();
    words.pop_back();
    return join(words, ", ") + " or " + last;
}

/// What CLI11 calls a value that was given no name of its own.
std::string value_name(const std::string& type) {
    if (type == "INT" || type == "UINT") return "N";
    return type == "FLOAT" ? "NUMBER" : type;
}

/// CLI11 writes a value's kind and its checks into one text: "N:INT in [1 - 1024]", "N:{8,16}". The
/// part before the colon is what a person calls the value; a range or a choice belongs to the
/// meaning.
void take_value(const std::string& type, OptionFacts& facts) {
    const std::size_t colon = type.find(':');
    facts.value = value_name(type.substr(0, colon));
    if (colon == std::string::npos) return;
    const std::string checks = type.substr(colon + 1);
    const std::size_t open = checks.find_first_of("[{");
    if (open == std::string::npos) return;
    const std::size_t close = checks.find_first_of("]}", open);
    const std::string inside = checks.substr(open + 1, close - open - 1);
    const std::size_t dash = inside.find(" - ");
    facts.meaning += dash == std::string::npos
                         ? "; " + choice(inside)
                         : "; " + readable_bound(inside.substr(0, dash)) + " to " +
                               readable_bound(inside.substr(dash + 3));
}

/// Options that must or must not stand beside this one, by name: CLI11 keeps them by address.
std::string names_of(const std::set<CLI::Option*>& options) {
    std::vector<std::string> names;
    names.reserve(options.size());
    for (const CLI::Option* option : options) names.push_back(option->get_name());
    std::sort(names.begin(), names.end());
    return join(names, ", ");
}

std::string upper_ascii(std::string text) {
    for (char& c : text)
        if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
    return text;
}

/// The example stands in the footer, below the word "Example:".
std::string example_in(const std::string& footer) {
    const std::size_t at = footer.find("Example:\n");
    return at == std::string::npos ? std::string() : footer.substr(at + 9);
}

std::string dedented(const std::string& text) {
    std::string result;
    for (const std::string& line : split(text, '\n')) {
        const std::string bare = trim(line);
        if (!bare.empty()) result += (result.empty() ? "" : "\n") + bare;
    }
    return result;
}

}  // namespace

OptionFacts facts_of_option(const CLI::Option& option) {
    OptionFacts facts;
    facts.positional = option.nonpositional() ? false : option.get_positional();
    facts.required = option.get_required();
    facts.meaning = option.get_description();
    if (facts.positional) {
        facts.names.push_back(upper_ascii(option.get_name(true)));
        return facts;
    }
    for (const std::string& name : option.get_lnames()) facts.names.push_back("--" + name);
    for (const std::string& name : option.get_snames()) facts.names.push_back("-" + name);
    if (option.get_type_size() != 0) take_value(option.get_type_name(), facts);
    if (!option.get_default_str().empty())
        facts.meaning += " (default: " + option.get_default_str() + ")";
    if (!option.get_needs().empty()) facts.meaning += "; needs " + names_of(option.get_needs());
    if (!option.get_excludes().empty())
        facts.meaning += "; not together with " + names_of(option.get_excludes());
    return facts;
}

CommandFacts facts_of(const CLI::App& command) {
    CommandFacts facts;
    facts.name = command.get_name();
    facts.summary = command.get_description();
    facts.example = dedented(example_in(command.get_footer()));
    for (const bool positional : {true, false})
        for (const CLI::Option* option : command.get_options()) {
            if (option == command.get_help_ptr() || option->get_group().empty()) continue;
            const OptionFacts found = facts_of_option(*option);
            if (found.positional == positional) facts.options.push_back(found);
        }
    return facts;
}

std::vector<CommandFacts> command_facts(const CLI::App& program) {
    std::vector<CommandFacts> commands;
    for (const CLI::App* command : program.get_subcommands([](const CLI::App*) { return true; }))
        if (!command->get_group().empty()) commands.push_back(facts_of(*command));
    return commands;
}

std::string usage_line(const CommandFacts& command) {
    std::string line = "hearwood " + command.name;
    bool options = false;
    for (const OptionFacts& option : command.options) {
        if (option.positional)
            line += option.required ? " " + option.names[0] : " [" + option.names[0] + "]";
        else if (option.required)
            line += " " + option.names[0] + (option.value.empty() ? "" : " " + option.value);
        else
            options = true;
    }
    return line + (options ? " [options]" : "");
}

}  // namespace hearwood
