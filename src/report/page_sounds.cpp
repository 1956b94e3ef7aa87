// Day pictures and clips: sound beside sight.
#include <fmt/format.h>

#include <algorithm>
#include <span>

#include "base/base64.h"
#include "base/text.h"
#include "report/page_html.h"
#include "report/web_bundle.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

std::string hours_words(double minutes) {
    return readable_number(minutes / 60);
}

const HtmlTemplate& sounds_template() {
    static const HtmlTemplate sounds(kSoundsTemplate);
    return sounds;
}

/// Calls of each run of entries of one site.
template <class Entry, class Use>
void by_site(const std::vector<Entry>& entries, Use use) {
    for (auto from = entries.begin(); from != entries.end();) {
        const auto to = std::find_if(from, entries.end(),
                                     [&](const Entry& one) { return one.site != from->site; });
        use(std::span(from, to));
        from = to;
    }
}

Html day_item(const Page& page, const DayEntry& day) {
    const std::string date = format_date(day.date);
    const std::string alt =
        fmt::format("{}, {}: {} h kept, {} h excluded", page.survey.sites[day.site].name, date,
                    hours_words(day.kept_minutes), hours_words(day.excluded_minutes));
    return sounds_template().fill("day", {{"file", day.file},
                                          {"thumbnail", Html::trusted(base64(day.thumbnail))},
                                          {"width", std::to_string(day.width)},
                                          {"height", std::to_string(day.height)},
                                          {"alt", alt},
                                          {"date", date.substr(5)}});
}

Html days(const Page& page) {
    if (!page.pictures_wanted) return paragraph("Day pictures were not wanted this time.", "note");
    if (page.days.days.empty())
        return paragraph("There are no segments to draw days of yet.", "note");
    Html thinned, sites;
    if (page.days.days.size() < page.days.dates)
        thinned =
            sounds_template().fill("thinned", {{"drawn", std::to_string(page.days.days.size())},
                                               {"dates", std::to_string(page.days.dates)}});
    by_site(page.days.days, [&](std::span<const DayEntry> own) {
        Html items;
        for (const DayEntry& day : own) items += day_item(page, day);
        const Site& site = page.survey.sites[own.front().site];
        sites += sounds_template().fill(
            "site days", {{"site", site.name}, {"stand", site.stand}, {"days", items}});
    });
    return sounds_template().fill("days", {{"thinned", thinned}, {"sites", sites}});
}

std::string clock_words(double minute) {
    const int whole = static_cast<int>(minute);
    return fmt::format("{:02}:{:02}", whole / 60 % 24, whole % 60);
}

/// A whole number as it is: "50", not "50.0".
std::string whole_or_readable(double value) {
    if (std::abs(value) >= 1e6 || value != std::round(value)) return readable_number(value);
    const std::string digits = grouped(static_cast<std::size_t>(std::abs(value)));
    return value < 0 ? "−" + digits : digits;
}

/// "sound events 50/min": whole numbers without decimals that nobody counted.
std::string value_words(const Page& page, double value) {
    return page.title_of(page.clip_index) + " " + whole_or_readable(value) +
           page.unit_behind(page.clip_index);
}

Html clip_item(const Page& page, const Clip& clip) {
    const std::string& window = page.values.windows[static_cast<std::size_t>(clip.window)];
    const std::string what = value_words(page, clip.value) + ", " + word(clip.rule);
    if (clip.sound.empty())
        return sounds_template().fill("no clip", {{"window", window},
                                                  {"what", what},
                                                  {"why", clip.why_not},
                                                  {"recording", clip.recording}});
    const std::string name =
        fmt::format("{}, {}, {}", page.survey.sites[clip.site].name, window, word(clip.rule));
    const std::string when =
        fmt::format("{}, {}", format_date(clip.date), clock_words(clip.minute));
    return sounds_template().fill("clip", {{"picture", clip.picture},
                                           {"sound", clip.sound},
                                           {"name", name},
                                           {"window", window},
                                           {"what", what},
                                           {"when", when},
                                           {"from", readable_number(clip.from_s)},
                                           {"recording", clip.recording}});
}

constexpr const char* kOtherRates =
    " Sounds of recordings above 48 kHz or below 8 kHz were brought to that rate, since not every "
    "browser plays them; their pictures show all that was recorded.";

Html clips_of(const Page& page) {
    if (!page.clips_wanted) return paragraph("Clips were not wanted this time.", "note");
    if (page.clips.empty())
        return paragraph("There are no kept segments to cut clips from yet.", "note");
    const bool other_rates = std::any_of(page.clips.begin(), page.clips.end(),
                                         [](const Clip& clip) { return clip.other_rate; });
    Html sites;
    by_site(page.clips, [&](std::span<const Clip> own) {
        Html items;
        for (const Clip& clip : own) items += clip_item(page, clip);
        const Site& site = page.survey.sites[own.front().site];
        sites += sounds_template().fill(
            "site clips", {{"site", site.name}, {"stand", site.stand}, {"clips", items}});
    });
    return sounds_template().fill(
        "clips", {{"index", page.title_of(page.clip_index)},
                  {"other_rates", other_rates ? kOtherRates : ""},
                  {"sites", sites},
                  {"table", table_place("clips", "clips and the values of their segments")}});
}

constexpr const char* kHear =
    "Each pair is a segment of a {} and one of a {} site, {}of the same date and hour, unflagged, "
    "whose value of {} lies nearest to the medians of the two classes in that window{}; it was not "
    "chosen "
    "for how it sounds. All pictures are on one scale of levels, {} to {} dBFS, and of pitch, 0 to "
    "{} kHz; sounds are as recorded and no louder. People may be heard: see the caution at the "
    "clips below.";

Html side(const Page& page, const Clip& clip, bool first) {
    return sounds_template().fill(
        "side", {{"class", first ? "side a" : "side b"},
                 {"mark", first ? "\u25cf" : "\u25a1"},
                 {"stand", first ? page.survey.stands.class_a : page.survey.stands.class_b},
                 {"site", page.survey.sites[clip.site].name},
                 {"clock", clock_words(clip.minute)},
                 {"value", value_words(page, clip.value)},
                 {"picture", clip.picture},
                 {"sound", clip.sound}});
}

Html pair_figure(const Page& page, const ClipPair& pair, std::size_t number) {
    const Clip& clip = pair.clips[0];
    std::string where = page.values.windows[static_cast<std::size_t>(clip.window)];
    if (!pair.block.empty()) where += ", " + pair.block;
    return sounds_template().fill(
        "pair", {{"hour", std::to_string(pair.hour)},
                 {"number", std::to_string(number)},
                 {"where", where},
                 {"date", format_date(clip.date)},
                 {"clock", fmt::format("{:02}:00", pair.hour)},
                 {"sides", side(page, clip, true) + side(page, pair.clips[1], false)}});
}

}  // namespace

Html hear_section(const Page& page) {
    const ClipPairs& heard = page.pairs;
    if (heard.pairs.empty()) return {};
    const bool blocks = !page.survey.stands.block.empty();
    Html body = paragraph(
        fmt::format(fmt::runtime(kHear), page.survey.stands.class_a, page.survey.stands.class_b,
                    blocks ? "in one block, " : "", page.title_of(page.clip_index),
                    blocks ? " and block" : "", whole_or_readable(heard.floor_db),
                    whole_or_readable(heard.ceiling_db), whole_or_readable(heard.high_hz / 1000)),
        "subtitle");
    if (heard.unreadable > 0)
        body += paragraph(counted(heard.unreadable, "pair") +
                              " more could not be cut, since a recording cannot be read.",
                          "note");
    for (std::size_t i = 0; i < heard.pairs.size(); ++i)
        body += pair_figure(page, heard.pairs[i], i + 1);
    return sounds_template().fill("pairs", {{"section", section("hear", "Hear it", body)}});
}

Html sounds_section(const Page& page) {
    return section("sounds", "The sounds", days(page) + clips_of(page));
}

}  // namespace hearwood
