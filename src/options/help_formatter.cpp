#include "options/help_formatter.h"

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

}  // namespace hearwood
