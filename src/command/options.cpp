#include "command/options.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cstdint>
#include <filesystem>
#include <optional>

#include "base/text.h"

namespace hearwood {

namespace {

/// CLI11's own range takes "nan" for inside of any.
CLI::Validator number_between(double least, double most) {
    const auto check = [=](const std::string& text) {
        const auto value = parse_number(text);
        const bool inside = value && *value >= least && *value <= most;
        return inside ? std::string()
                      : fmt::format("{} is not a number from {} to {}", printable(text),
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
    option_->check(CLI::Range(least, most));
    return *this;
}

CommandOption& CommandOption::between(double least, double most) {
    option_->check(number_between(least, most));
    return *this;
}

CommandOption& CommandOption::one_of(const std::vector<int>& values) {
    option_->check(CLI::IsMember(values));
    return *this;
}

CommandOption& CommandOption::existing_file() {
    option_->check(CLI::ExistingFile);
    return *this;
}

CommandOption& CommandOption::existing_folder() {
    option_->check(CLI::ExistingDirectory);
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
    return CommandOption(app_->add_option(name, into, meaning));
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

bool Command::given(const std::string& name) const {
    return app_->count(name) > 0;
}

void Command::example(const std::string& text) {
    app_->footer("Example:\n  " + text + "\n");
}

}  // namespace hearwood
