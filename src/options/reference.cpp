#include "options/reference.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <map>
#include <vector>

#include "base/file.h"
#include "base/text.h"
#include "base/version.h"
#include "options/option_tree.h"

namespace hearwood {
namespace {

struct ExitLine {
    int code;
    const char* meaning;
};
constexpr ExitLine kExitLines[] = {
    {0, "all well"},
    {1, "finished, but some recordings could not be used; they are listed with the reason"},
    {2, "nothing done: bad usage or bad sheets"},
    {3, "the machine failed (disk full, I/O error); what was finished is kept"},
    {130, "interrupted with Ctrl-C; what was finished is kept, the same command goes on"},
};

std::string option_heading(const OptionFacts& option) {
    std::string heading = join(option.names, ", ");
    if (!option.value.empty()) heading += " " + option.value;
    return heading;
}

std::string markdown_line(const OptionFacts& option) {
    std::string meaning = option.meaning;
    std::replace(meaning.begin(), meaning.end(), '\n', ' ');
    return fmt::format("* `{}`: {}\n", option_heading(option), meaning);
}

/// What more than two commands say of an option in the same words, in order of appearance.
std::vector<std::string> shared_lines(const std::vector<CommandFacts>& commands) {
    std::map<std::string, int> times;
    std::vector<std::string> shared;
    for (const CommandFacts& command : commands)
        for (const OptionFacts& option : command.options)
            if (++times[markdown_line(option)] == 3) shared.push_back(markdown_line(option));
    return shared;
}

/// A leading '.' or '\'' would be a request, '-' a soft hyphen, '\' an escape.
std::string roff(std::string_view text) {
    std::string escaped;
    bool line_start = true;
    for (const char c : text) {
        if (line_start && (c == '.' || c == '\'')) escaped += "\\&";
        if (c == '\\')
            escaped += "\\e";
        else if (c == '-')
            escaped += "\\-";
        else
            escaped += c;
        line_start = c == '\n';
    }
    return escaped;
}

/// A summary that is a question keeps its own mark.
std::string sentence(const std::string& summary) {
    const bool ends = !summary.empty() && (summary.back() == '?' || summary.back() == '.');
    return ends ? summary : summary + ".";
}

std::string indented(const std::string& lines) {
    return "    " + join(split(lines, '\n'), "\n    ") + "\n";
}

std::string markdown_of(const CommandFacts& command, const std::vector<std::string>& shared) {
    std::string text = fmt::format("\n## {}\n\n{}\n\n{}", command.name, sentence(command.summary),
                                   indented(usage_line(command)));
    // "hearwood measure my-survey" says no more than the line above it.
    if (split(command.example, ' ').size() > 3) text += indented(command.example);
    std::string own;
    std::vector<std::string> known;
    for (const OptionFacts& option : command.options) {
        const std::string line = markdown_line(option);
        if (std::find(shared.begin(), shared.end(), line) == shared.end())
            own += line;
        else
            known.push_back("`" + option.names[0] + "`");
    }
    if (!known.empty()) own += "* " + join(known, ", ") + "\n";
    return own.empty() ? text : text + "\n" + own;
}

std::string man_head(const std::string& name, const std::string& summary) {
    return fmt::format(".TH {} 1 \"\" \"hearwood {}\" \"Hearwood\"\n.SH NAME\n{} \\- {}\n",
                       roff(name), kVersion, roff(name), roff(summary));
}

std::string man_exit_status() {
    std::string text = ".SH EXIT STATUS\n";
    for (const ExitLine& line : kExitLines)
        text += fmt::format(".TP\n{}\n{}\n", line.code, roff(line.meaning));
    return text;
}

std::string long_options(const CommandFacts& command) {
    std::string words;
    for (const OptionFacts& option : command.options)
        if (!option.positional)
            for (const std::string& name : option.names) words += name + " ";
    return words + "--help";
}

/// Values that name a file or folder, which a shell can complete.
bool names_a_file(const std::string& value) {
    for (const char* word : {"FILE", "DIR", "SURVEY", ".csv"})
        if (value.find(word) != std::string::npos) return true;
    return false;
}

/// Text inside '...' of a _arguments specification.
std::string zsh_text(std::string_view text) {
    std::string escaped;
    for (const char c : text) {
        if (c == '\'')
            escaped += "'\\''";
        else if (c == ':' || c == '[' || c == ']')
            escaped += std::string("\\") + c;
        else
            escaped += c == '\n' ? ' ' : c;
    }
    return escaped;
}

/// Of the program when `command` is null. roff, man(7) macros.
std::string man_page(const CLI::App& program, const CLI::App* command) {
    if (command == nullptr) {
        std::string text = man_head(
            "hearwood", "animal activity of forest stands, measured from sound recordings");
        text += ".SH SYNOPSIS\n.B hearwood\n.I COMMAND\n[options]\n.SH COMMANDS\n";
        for (const CommandFacts& each : command_facts(program))
            text += fmt::format(".TP\n.BR hearwood\\-{} (1)\n{}\n", roff(each.name),
                                roff(each.summary));
        return text + man_exit_status();
    }
    const CommandFacts facts = facts_of(*command);
    std::string text = man_head("hearwood-" + facts.name, facts.summary);
    text += fmt::format(".SH SYNOPSIS\n{}\n.SH OPTIONS\n", roff(usage_line(facts)));
    for (const OptionFacts& option : facts.options)
        text += fmt::format(".TP\n.B {}\n{}\n", roff(option_heading(option)), roff(option.meaning));
    if (!facts.example.empty())
        text += fmt::format(".SH EXAMPLE\n.nf\n{}\n.fi\n", roff(facts.example));
    return text + man_exit_status() + ".SH SEE ALSO\n.BR hearwood (1)\n";
}

}  // namespace

std::string reference_markdown(const CLI::App& program) {
    const std::vector<CommandFacts> commands = command_facts(program);
    const std::vector<std::string> shared = shared_lines(commands);
    std::string text =
        "# Commands\n\nWritten by the build from the program's own option tree "
        "(`hearwood-reference markdown`); a test "
        "keeps the two equal. Below each heading: how the command is written, then "
        "an example where there is more to show.\n\n"
        "Results go to files and to standard output, talk goes to standard error. Exit "
        "codes:\n\n";
    for (const ExitLine& line : kExitLines)
        text += fmt::format("* {}: {}\n", line.code, line.meaning);
    text += "\nShared by many commands, and there only named:\n\n" + join(shared, "");
    for (const CommandFacts& command : commands) text += markdown_of(command, shared);
    return text;
}

void write_man_pages(const CLI::App& program, const std::filesystem::path& folder) {
    write_whole_file(folder / "hearwood.1", man_page(program, nullptr));
    for (const CLI::App* command : program.get_subcommands([](const CLI::App*) { return true; }))
        write_whole_file(folder / ("hearwood-" + command->get_name() + ".1"),
                         man_page(program, command));
}

std::string bash_completion(const CLI::App& program) {
    std::string names, cases;
    for (const CommandFacts& command : command_facts(program)) {
        names += (names.empty() ? "" : " ") + command.name;
        cases += fmt::format("        {}) words='{}' ;;\n", command.name, long_options(command));
    }
    return fmt::format(
        "# bash completion for hearwood, written by hearwood-reference\n"
        "_hearwood() {{\n"
        "    local current=${{COMP_WORDS[COMP_CWORD]}} words=\n"
        "    COMPREPLY=()\n"
        "    if [ \"$COMP_CWORD\" -eq 1 ]; then\n"
        "        COMPREPLY=($(compgen -W '{} --help --version' -- \"$current\"))\n"
        "        return\n"
        "    fi\n"
        "    case ${{COMP_WORDS[1]}} in\n{}    esac\n"
        "    case $current in\n"
        "        -*) COMPREPLY=($(compgen -W \"$words\" -- \"$current\")) ;;\n"
        "        *) compopt -o filenames 2>/dev/null\n"
        "           mapfile -t COMPREPLY < <(compgen -f -- \"$current\") ;;\n"  // names with spaces
        "    esac\n"
        "}}\n"
        "complete -F _hearwood hearwood\n",
        names, cases);
}

std::string zsh_completion(const CLI::App& program) {
    std::string names, cases;
    for (const CommandFacts& command : command_facts(program)) {
        names += fmt::format("    '{}:{}'\n", command.name, zsh_text(command.summary));
        std::string specifications;
        for (const OptionFacts& option : command.options) {
            if (option.positional) continue;
            for (const std::string& name : option.names)
                specifications += fmt::format(
                    " '{}[{}]{}'", name, zsh_text(option.meaning),
                    option.value.empty() ? ""
                                         : ":" + zsh_text(option.value) +
                                               (names_a_file(option.value) ? ":_files" : ": "));
        }
        cases += fmt::format("    {}) _arguments{} '--help[show the options]' '*:file:_files' ;;\n",
                             command.name, specifications);
    }
    return fmt::format(
        "#compdef hearwood\n# written by hearwood-reference\n"
        "_hearwood() {{\n"
        "  local -a commands=(\n{}  )\n"
        "  if (( CURRENT == 2 )); then\n"
        "    _describe command commands\n"
        "    return\n"
        "  fi\n"
        "  local chosen=$words[2]\n"
        "  shift words; (( CURRENT-- ))\n"
        "  case $chosen in\n{}  esac\n"
        "}}\n"
        "_hearwood \"$@\"\n",
        names, cases);
}

}  // namespace hearwood
