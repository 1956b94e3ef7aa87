// `events SURVEY`: the sound events that the database keeps, as CSV on stdout.
#include <cstdio>
#include <string>

#include "activity/event_list.h"
#include "base/text.h"
#include "command/command.h"

namespace hearwood {
namespace {

struct EventsOptions : SharedOptions {
    std::string site, from, to;
    double low_hz = 0, high_hz = 0;
};

EventChoice choice_of(const Survey& survey, const EventsOptions& options) {
    EventChoice choice;
    if (!options.site.empty()) choice.site = site_given(survey, options.site);
    choice.first = date_given(options.from, "--from");
    choice.last = date_given(options.to, "--to");
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
    CommandOf<EventsOptions> command(program, "events",
                                     "every sound that was counted, as CSV on the screen");
    command.add_survey();
    command.add_option("--site SITE", command->site, "of this site alone");
    command.add_option("--from YYYY-MM-DD", command->from, "first date");
    command.add_option("--to YYYY-MM-DD", command->to, "last date, included");
    command.add_option("--low HZ", command->low_hz, "only events that reach above this frequency")
        .between(0.0, 500000.0);
    command.add_option("--high HZ", command->high_hz, "only events that reach below this frequency")
        .between(0.0, 500000.0);
    command.example(
        "hearwood events ~/surveys/heath-and-alluvium --site L01 --low 2000 > events.csv");
    return command.does(list_events);
}

}  // namespace hearwood
