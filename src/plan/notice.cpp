#include "plan/notice.h"

#include <algorithm>
#include <set>

#include "base/lines.h"
#include "base/text.h"
#include "plan/templates.h"
#include "words/printed_page.h"

namespace hearwood {

namespace {

constexpr int kLongest = 160;    // characters of a text of the survey's
constexpr int kPlacesRoom = 80;  // letters of places that two lines hold, and how many more

/// What the sheets know of the whole survey; empty where they do not know it.
struct KnownOfSurvey {
    std::vector<std::string> places;
    std::string first_day, last_day;
};

KnownOfSurvey known_of(const Survey& survey, const std::vector<Visit>& visits) {
    KnownOfSurvey known;
    std::set<std::size_t> seen;
    for (const Visit& visit : visits)
        if (seen.insert(visit.site).second) known.places.push_back(survey.sites[visit.site].name);
    if (!visits.empty()) {
        const auto by_first = [](const Visit& a, const Visit& b) { return a.first < b.first; };
        const auto by_last = [](const Visit& a, const Visit& b) { return a.last < b.last; };
        known.first_day =
            format_date(std::min_element(visits.begin(), visits.end(), by_first)->first);
        known.last_day = format_date(std::max_element(visits.begin(), visits.end(), by_last)->last);
    }
    return known;
}

/// The one for all; empty, for a line to write on, where there are several.
std::string common_schedule(const std::vector<std::string>& schedules) {
    return std::set<std::string>(schedules.begin(), schedules.end()).size() == 1 ? schedules.front()
                                                                                 : std::string();
}

std::string places_of(const KnownOfSurvey& known, const Words& words) {
    std::size_t named = 0, letters = 0;
    for (const std::string& place : known.places) {
        letters += place.size() + 2;
        if (named > 0 && letters > std::size_t{kPlacesRoom}) break;
        ++named;
    }
    const std::string list = cut(join(std::span(known.places).first(named), ", "), kPlacesRoom);
    if (named == known.places.size()) return list;
    return words.say("notice.more_places",
                     {{"places", list}, {"more", grouped(known.places.size() - named)}});
}

Html notice_page(const Survey& survey, const KnownOfSurvey& known, const std::string& schedule,
                 const Words& words) {
    const HtmlTemplate notice = in_language(kNoticeTemplate, words);
    const HtmlTemplate common = in_language(kSheetTemplate, words);
    const auto fact = [&](WordKey label, const std::string& value) {
        return fact_row(common, words.say(label), cut(value, kLongest));
    };
    return notice.fill("page",
                       {{"language", std::string(words.code())},
                        {"why", words.say("notice.why", {{"survey", cut(survey.title, kLongest)}})},
                        {"where", fact("notice.places", places_of(known, words)) +
                                      fact("notice.first_day", known.first_day) +
                                      fact("notice.last_day", known.last_day)},
                        {"schedule", fact("sheet.schedule", schedule)},
                        {"unchecked", unchecked_note(words)}});
}

}  // namespace

std::string consent_notice_html(const Survey& survey, const std::vector<Visit>& visits,
                                const std::vector<std::string>& schedules,
                                const std::vector<std::string>& english_schedules) {
    const Words words(survey.language), english("en");
    const KnownOfSurvey known = known_of(survey, visits);
    Html pages = notice_page(survey, known, common_schedule(schedules), words);
    if (words.code() != english.code())
        pages += notice_page(survey, known, common_schedule(english_schedules), english);
    return printed_document(words, std::string(words.say("notice.title")), pages).text();
}

}  // namespace hearwood
