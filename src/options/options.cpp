#include "options/options.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <cstdint>
#include <filesystem>
#include <limits>
#include <optional>
#include <type_traits>

#include "base/text.h"

namespace hearwood {

namespace {

// CLI11's own checks speak in their own way, and its range takes "nan" for inside of any.

template <typename Whole>
CLI::Validator whole_between(Whole least, Whole most, const std::string& type,
                             const std::string& wanted) {
    const auto check = [=](const std::string& text) {
        Whole value{};
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
        const bool inside = error == std::errc() && end == text.data() + text.size() &&
                            value >= least && value <= most;
        return inside ? std::string() : fmt::format("'{}' is not {}", printable(text), wanted);
    };
    return {check, type};
}

CLI::Validator any_number() {
    const auto check = [](const std::string& text) {
        return parse_number(text) ? std::string()
                                  : fmt::format("'{}' is not a number", printable(text));
    };
    return {check, ""};
}

CLI::Validator existing(bool folder) {
    const auto check = [=](const std::string& text) {
        std::error_code error;
        const auto status = std::filesystem::status(text, error);
        if (!std::filesystem::exists(status))
            return fmt::format("there is no {} '{}'", folder ? "folder" : "file", printable(text));
        if (std::filesystem::is_directory(status) != folder)
            return fmt::format("'{}' is {}", printable(text),
                               folder ? "no folder" : "a folder, and a file is needed");
        return std::string();
    };
    return {check, folder ? "DIR" : "FILE"};
}

/// What the text has to be, by the kind of the option's value.
template <typename Value>
void check_kind(CLI::Option* option) {
    if constexpr (std::is_same_v<Value, int>)
        option->check(whole_between(std::numeric_limits<int>::min(),
                                    std::numeric_limits<int>::max(), "", "a whole number"));
    if constexpr (std::is_same_v<Value, std::uint64_t> ||
                  std::is_same_v<Value, std::optional<std::uint64_t>>)
        option->check(whole_between(std::uint64_t{0}, std::numeric_limits<std::uint64_t>::max(), "",
                                    "a whole number from 0 on"));
    if constexpr (std::is_same_v<Value, double> || std::is_same_v<Value, std::optional<double>>)
        option->check(any_number());
}

CLI::Validator number_between(double least, double most) {
    const auto check = [=](const std::string& text) {
        const auto value = parse_number(text);
        const bool inside = value && *value >= least && *value <= most;
        return inside ? std::string()
                      : fmt::format("'{}' is not a number from {} to {}", printable(text),
                                    readable_number(least), readable_number(most));
    };
    return {check, fmt::format("FLOAT in [{} - {}]", format_number(least), format_number(most))};
}

}  // namespace

CommandOption& CommandOption::required() {
    option_->required();
    return *this;
}

CommandOption& CommandOption::type_name(const std::string& name) {
    option_->type_name(name);
    return *this;
}

CommandOption& CommandOption::show_default() {
    option_->capture_default_str();
    return *this;
}

CommandOption& CommandOption::between(int least, int most) {
    option_->check(whole_between(least, most, fmt::format("INT in [{} - {}]", least, most),
                                 fmt::format("a whole number from {} to {}", least, most)));
    return *this;
}

CommandOption& CommandOption::between(double least, double most) {
    option_->check(number_between(least, most));
    return *this;
}

CommandOption& CommandOption::one_of(const std::vector<int>& values) {
    const std::string listed = fmt::format("{}", fmt::join(values, ", "));
    const auto check = [=](const std::string& text) {
        const bool known = std::any_of(values.begin(), values.end(),
                                       [&](int value) { return text == std::to_string(value); });
        return known ? std::string() : fmt::format("'{}' is none of {}", printable(text), listed);
    };
    option_->check(CLI::Validator(check, fmt::format("{{{}}}", fmt::join(values, ","))));
    return *this;
}

CommandOption& CommandOption::existing_file() {
    option_->check(existing(false));
    return *this;
}

CommandOption& CommandOption::existing_folder() {
    option_->check(existing(true));
    return *this;
}

CommandOption& CommandOption::may_stand_alone() {
    option_->expected(0, 1);
    return *this;
}

CommandOption& CommandOption::excludes(const CommandOption& other) {
    option_->excludes(other.option_);
    return *this;
}

CommandOption& CommandOption::needs(const CommandOption& other) {
    option_->needs(other.option_);
    return *this;
}

bool CommandOption::given() const {
    return option_->count() > 0;
}

Command::Command(CLI::App& program, const std::string& name, const std::string& summary)
    : app_(program.add_subcommand(name, summary)) {}

template <typename Value>
CommandOption Command::add_option(const std::string& name, Value& into,
                                  const std::string& meaning) {
    const std::size_t space = name.find(' ');
    CLI::Option* option = app_->add_option(name.substr(0, space), into, meaning);
    check_kind<Value>(option);
    if (space != std::string::npos) option->type_name(name.substr(space + 1));
    return CommandOption(option);
}

template CommandOption Command::add_option(const std::string&, std::string&, const std::string&);
template CommandOption Command::add_option(const std::string&, int&, const std::string&);
template CommandOption Command::add_option(const std::string&, double&, const std::string&);
template CommandOption Command::add_option(const std::string&, std::uint64_t&, const std::string&);
template CommandOption Command::add_option(const std::string&, std::optional<double>&,
                                           const std::string&);
template CommandOption Command::add_option(const std::string&, std::optional<std::uint64_t>&,
                                           const std::string&);
template CommandOption Command::add_option(const std::string&, std::filesystem::path&,
                                           const std::string&);
template CommandOption Command::add_option(const std::string&, std::vector<std::string>&,
                                           const std::string&);

CommandOption Command::add_flag(const std::string& name, bool& into, const std::string& meaning) {
    return CommandOption(app_->add_flag(name, into, meaning));
}

void Command::example(const std::string& text) {
    app_->footer("Example:\n  " + text + "\n");
}

}  // namespace hearwood
