#include "plan/notice.h"

#include <fmt/format.h>

#include <algorithm>
#include <initializer_list>
#include <set>

#include "base/lines.h"
#include "base/text.h"
#include "words/printed_page.h"
#include "words/words.h"

namespace hearwood {

namespace {

constexpr int kLongest = 160;             // characters of a text of the survey's
constexpr std::size_t kPlacesNamed = 12;  // more do not fit the page
constexpr int kPeople = 3;                // rows to sign

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

class Notice {
  public:
    Notice(const Survey& survey, const KnownOfSurvey& known, const Words& words)
        : survey_(survey), known_(known), words_(words) {}

    std::string page() {
        html_ = fmt::format("<section class=\"page notice\" lang=\"{}\">\n<h1>{}</h1>\n",
                            words_.code(), text("notice.title"));
        filled_paragraph(words_.say("notice.why", {{"survey", cut(survey_.title, kLongest)}}));
        section("notice.who");
        facts({{"notice.name", ""},
               {"notice.organisation", ""},
               {"notice.contact", ""},
               {"notice.leave", ""}});
        section("notice.where");
        facts({{"notice.places", places()},
               {"notice.first_day", known_.first_day},
               {"notice.last_day", known_.last_day}});
        section("notice.what");
        paragraph("notice.what_text");
        facts({{"sheet.schedule", known_.schedule}, {"notice.beside_sound", ""}});
        voices();
        section("notice.ask");
        paragraph("notice.ask_text");
        paragraph("notice.danger");
        paragraph("notice.talk");
        people();
        if (!words_.checked())
            html_ += "<p class=\"unchecked\">" + text("common.unchecked") + "</p>\n";
        return std::move(html_) + "</section>\n";
    }

  private:
    struct Fact {
        WordKey label;
        std::string value;  ///< empty: a line to write on
    };

    std::string text(WordKey key) const { return escape_html(words_.say(key)); }
    void section(WordKey key) { html_ += "<h2>" + text(key) + "</h2>\n"; }
    void paragraph(WordKey key) { html_ += "<p>" + text(key) + "</p>\n"; }
    void filled_paragraph(const std::string& words) {
        html_ += "<p>" + escape_html(words) + "</p>\n";
    }

    void facts(std::initializer_list<Fact> facts) {
        html_ += "<dl class=\"facts\">\n";
        for (const Fact& fact : facts)
            html_ += fmt::format("<dt>{}</dt><dd{}>{}</dd>\n", text(fact.label),
                                 fact.value.empty() ? " class=\"open\"" : "",
                                 escape_html(cut(fact.value, kLongest)));
        html_ += "</dl>\n";
    }

    std::string places() const {
        const std::size_t named = std::min(known_.places.size(), kPlacesNamed);
        const std::string list = join(std::span(known_.places).first(named), ", ");
        if (named == known_.places.size()) return list;
        return words_.say("notice.more_places",
                          {{"places", list}, {"more", grouped(known_.places.size() - named)}});
    }

    /// Nothing is ticked: what will be done is for the survey's people to say, and to keep.
    void voices() {
        section("notice.voices");
        paragraph("notice.voices_text");
        html_ += "<ul class=\"boxes\"><li>" + text("notice.silenced") + "</li></ul>\n";
        facts({{"notice.listened", ""}, {"notice.kept", ""}, {"notice.given", ""}});
    }

    void people() {
        section("notice.spoken_with");
        html_ += "<table class=\"fill\"><thead><tr>";
        for (const WordKey title : {WordKey("notice.person"), WordKey("sheet.date"),
                                    WordKey("notice.answer"), WordKey("notice.mark")})
            html_ += "<th>" + text(title) + "</th>";
        html_ += "</tr></thead><tbody>\n";
        for (int i = 0; i < kPeople; ++i)
            html_ += "<tr><td></td><td></td><td></td><td></td></tr>\n";
        html_ += "</tbody></table>\n";
    }

    const Survey& survey_;
    const KnownOfSurvey& known_;
    const Words& words_;
    std::string html_;
};

}  // namespace

std::string consent_notice_html(const Survey& survey, const std::vector<Visit>& visits,
                                const std::vector<std::string>& schedules) {
    const Words words(survey.language), english("en");
    const KnownOfSurvey known = known_of(survey, visits, schedules);
    std::string html = sheet_head(words, std::string(words.say("notice.title")));
    html += Notice(survey, known, words).page();
    if (words.code() != english.code()) html += Notice(survey, known, english).page();
    return html + "</body></html>\n";
}

}  // namespace hearwood
