#include "command/command.h"

#include <fmt/core.h>

#include <thread>

#include "base/lines.h"
#include "base/log.h"
#include "base/text.h"
#include "command/terminal_look.h"

namespace hearwood {

namespace {
bool running = false, left_out = false;
}  // namespace

void add_survey(Command& command, std::string& folder) {
    command.add_option("survey SURVEY", folder, "survey folder").required();
}

void add_shared_options(Command& command, SharedOptions& options, bool writes) {
    command
        .add_option("--jobs N", options.jobs, "how many threads work at once (default: one a core)")
        .between(1, 1024);
    command.add_flag("--quiet", options.quiet, "no progress line");
    if (writes)
        command.add_flag("--dry-run", options.dry_run, "say what would be done, write nothing");
}

void add_part(Command& command, PartOption& part, const std::string& meaning) {
    part.option = command
                      .add_option("--part I/N", part.text,
                                  meaning +
                                      " into hearwood/parts/ (without I/N: this task of a Slurm "
                                      "array); 'gather' joins them")
                      .may_stand_alone();
}

int job_count(const SharedOptions& options) {
    if (options.jobs > 0) return options.jobs;
    const unsigned cores = std::thread::hardware_concurrency();
    return cores > 0 ? static_cast<int>(cores) : 1;
}

std::size_t site_given(const Survey& survey, const std::string& name) {
    std::vector<std::string> names;
    for (const Site& site : survey.sites) {
        if (site.name == name) return names.size();
        names.push_back(site.name);
    }
    const auto near = nearest(name, names);
    throw InputError(fmt::format("--site: sites.csv has no site '{}'", printable(name)),
                     near ? fmt::format("did you mean '{}'?", printable(*near))
                          : std::string("take a name from its column site"));
}

std::optional<Date> date_given(const std::string& text, const char* option) {
    if (text.empty()) return {};
    const auto date = parse_date(text);
    if (!date)
        throw InputError(fmt::format("{} '{}' is not a date", option, printable(text)),
                         "write it as 2031-05-04");
    return date;
}

void refuse_own_input(const std::filesystem::path& out, const std::filesystem::path& input) {
    std::error_code ignored;
    if (std::filesystem::equivalent(out, input, ignored))
        throw InputError(printable(out.string()) + ": would be written over the file that is read",
                         "give --out another name");
}

Survey open_survey(const std::string& folder) {
    Survey survey = load_usable_survey(folder);
    left_out = left_out || !survey.left_out.empty();
    if (!part_of_run())
        for (const LeftOutRow& row : survey.left_out)
            log_line(
                printable(fmt::format("{} {} is left out: {}", row.is_site ? "site" : "deployment",
                                      row.name.empty() ? "without a name" : row.name, row.why)));
    return survey;
}

bool something_was_left_out() {
    return left_out;
}

bool part_of_run() {
    return running;
}

void begin_run() {
    running = true;
}

void print_wrapped(std::string_view text, int indent) {
    fmt::print("{}", wrapped(text, indent));
}

void print_heading(std::string_view title) {
    fmt::print("{}", heading(bold(title)));
}

void print_entry(std::string_view text, int indent) {
    fmt::print("{}", list_entry(text, indent));
}

}  // namespace hearwood
