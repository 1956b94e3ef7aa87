#include "plan/notice.h"

#include <algorithm>
#include <set>

#include "base/lines.h"
#include "base/text.h"
#include "plan/templates.h"
#include "words/printed_page.h"

namespace hearwood {

namespace {

constexpr int kLongest = 160;             // characters of a text of the survey's
constexpr std::size_t kPlacesNamed = 12;  // more do not fit the page

/// What the sheets know of the whole survey; empty where they do not know it.
struct KnownOfSurvey {
    std::vector<std::string> places;
    std::string first_day, last_day, schedule;
};

KnownOfSurvey known_of(const Survey& survey, const std::vector<Visit>& visits,
                       const std::vector<std::string>& schedules) {
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
    // One for all, or a line to write on.
    if (std::set<std::string>(schedules.begin(), schedules.end()).size() == 1)
        known.schedule = schedules.front();
    return known;
}

std::string places_of(const KnownOfSurvey& known, const Words& words) {
    const std::size_t named = std::min(known.places.size(), kPlacesNamed);
    const std::string list = join(std::span(known.places).first(named), ", ");
    if (named == known.places.size()) return list;
    return words.say("notice.more_places",
                     {{"places", list}, {"more", grouped(known.places.size() - named)}});
}

Html notice_page(const Survey& survey, const KnownOfSurvey& known, const Words& words) {
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
                        {"schedule", fact("sheet.schedule", known.schedule)},
                        {"unchecked", unchecked_note(words)}});
}

}  // namespace

std::string consent_notice_html(const Survey& survey, const std::vector<Visit>& visits,
                                const std::vector<std::string>& schedules) {
    const Words words(survey.language), english("en");
    const KnownOfSurvey known = known_of(survey, visits, schedules);
    Html pages = notice_page(survey, known, words);
    if (words.code() != english.code()) pages += notice_page(survey, known, english);
    return printed_document(words, std::string(words.say("notice.title")), pages).text();
}

}  // namespace hearwood
