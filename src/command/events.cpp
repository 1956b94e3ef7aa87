// `events SURVEY`: the sound events that the database keeps, as CSV on stdout.
#include <cstdio>
#include <memory>
#include <string>

#include "activity/event_list.h"
#include "base/text.h"
#include "command/command.h"
#include "command/open_survey.h"
#include "options/options.h"

namespace hearwood {
namespace {

struct EventsOptions {
    std::string survey, site, from, to;
    double low_hz = 0, high_hz = 0;
};

std::optional<Date> date_of(const std::string& text, const char* option) {
    if (text.empty()) return {};
    const auto date = parse_date(text);
    if (!date)
        throw InputError(std::string(option) + " '" + printable(text) + "' is not a date",
                         "write it as 2031-05-04");
    return date;
}

EventChoice choice_of(const Survey& survey, const EventsOptions& options) {
    EventChoice choice;
    if (!options.site.empty()) choice.site = site_given(survey, options.site);
    choice.first = date_of(options.from, "--from");
    choice.last = date_of(options.to, "--to");
    choice.low_hz = options.low_hz;
    if (options.high_hz > 0) choice.high_hz = options.high_hz;
    if (choice.high_hz <= choice.low_hz)
        throw InputError("--high does not lie above --low", "give a band such as 2000 to 8000");
    if (choice.first && choice.last && *choice.last < *choice.first)
        throw InputError("--to lies before --from", "give the earlier date first");
    return choice;
}

ExitCode list_events(const EventsOptions& options) {
    const Survey survey = open_survey(options.survey);
    const EventChoice choice = choice_of(survey, options);
    const Store store = Store::open_read_only(survey.folder);
    const JudgedSegments segments(survey, store, choice.site);
    EventList list(survey, store, segments.placer().zone(), choice, stdout);
    SegmentVisitor* const visitors[] = {&list};
    segments.visit(visitors);
    list.finish();
    return ExitCode::ok;
}

}  // namespace

Run add_events(CLI::App& program) {
    auto options = std::make_shared<EventsOptions>();
    Command command(program, "events", "every sound that was counted, as CSV on the screen");
    add_survey(command, options->survey);
    command.add_option("--site", options->site, "of this site alone").type_name("SITE");
    command.add_option("--from", options->from, "first date").type_name("YYYY-MM-DD");
    command.add_option("--to", options->to, "last date, included").type_name("YYYY-MM-DD");
    command.add_option("--low", options->low_hz, "only events that reach above this frequency")
        .between(0.0, 500000.0)
        .type_name("HZ");
    command.add_option("--high", options->high_hz, "only events that reach below this frequency")
        .between(0.0, 500000.0)
        .type_name("HZ");
    command.example(
        "hearwood events ~/surveys/heath-and-alluvium --site L01 --low 2000 > events.csv");
    return [options] { return list_events(*options); };
}

}  // namespace hearwood
