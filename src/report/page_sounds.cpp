// Day pictures and clips: sound beside sight.
#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"
#include "report/page_html.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

std::string hours_words(double minutes) {
    return readable_number(minutes / 60);
}

std::string day_item(const Page& page, const DayEntry& day) {
    const std::string date = format_date(day.date);
    const std::string alt =
        fmt::format("{}, {}: {} h kept, {} h excluded", page.survey.sites[day.site].name, date,
                    hours_words(day.kept_minutes), hours_words(day.excluded_minutes));
    return fmt::format(
        "<li><a href=\"{}\"><img src=\"data:image/png;base64,{}\" width=\"{}\" height=\"{}\" "
        "alt=\"{}\">"
        "{}</a></li>\n",
        day.file, base64(day.thumbnail), day.width, day.height, escape_html(alt), date.substr(5));
}

std::string days(const Page& page) {
    if (!page.pictures_wanted) return paragraph("Day pictures were not wanted this time.", "note");
    if (page.days.days.empty())
        return paragraph("There are no segments to draw days of yet.", "note");
    std::string html =
        "<h3>What stood out, minute by minute</h3>\n" +
        paragraph(
            "Each picture is a site's day: 24 hours of local time to the right, frequency up. "
            "Bright is "
            "what stood out of its own background for half of the time or more; wide stripes are "
            "missing time, narrow ones excluded time. Between the recordings of a schedule the one "
            "before is shown. A picture opens at full size, with axes, sun times, and a strip of "
            "what was recorded.",
            "subtitle");
    if (page.days.days.size() < page.days.dates)
        html += paragraph(
            fmt::format("{} of {} days are drawn, evenly spread; hearwood picture draws any other.",
                        page.days.days.size(), page.days.dates),
            "note");
    std::size_t site = page.survey.sites.size();
    for (const DayEntry& day : page.days.days) {
        if (day.site != site) {
            if (site != page.survey.sites.size()) html += "</ul>\n";
            site = day.site;
            html += fmt::format("<h4>{} <span>{}</span></h4>\n<ul class=\"strip\">\n",
                                escape_html(page.survey.sites[site].name),
                                escape_html(page.survey.sites[site].stand));
        }
        html += day_item(page, day);
    }
    return html + "</ul>\n";
}

std::string clock_words(double minute) {
    const int whole = static_cast<int>(minute);
    return fmt::format("{:02}:{:02}", whole / 60 % 24, whole % 60);
}

std::string clip_item(const Page& page, const Clip& clip) {
    const std::string& site = page.survey.sites[clip.site].name;
    const std::string& window = page.values.windows[static_cast<std::size_t>(clip.window)];
    const std::string what =
        fmt::format("{} {} {}", page.clip_index, readable_number(clip.value), word(clip.rule));
    const std::string when =
        fmt::format("{}, {}", format_date(clip.date), clock_words(clip.minute));
    const std::string name = fmt::format("{}, {}, {}", site, window, word(clip.rule));
    if (clip.sound.empty())
        return fmt::format(
            "<li><p><strong>{}</strong>, {}: the clip could not be cut, {} ({})</p></li>\n",
            escape_html(window), escape_html(what), escape_html(clip.why_not),
            escape_html(clip.recording));
    return fmt::format(
        "<li><img src=\"{}\" width=\"560\" height=\"220\" loading=\"lazy\" alt=\"Spectrogram of "
        "the clip {}\">\n"
        "<audio controls preload=\"none\" src=\"{}\" aria-label=\"Clip {}\"></audio>\n"
        "<p><strong>{}</strong>, {}. {}, from {} s of {}</p></li>\n",
        clip.picture, escape_html(name), clip.sound, escape_html(name), escape_html(window),
        escape_html(what), when, readable_number(clip.from_s), escape_html(clip.recording));
}

constexpr const char* kOtherRates =
    " Sounds of recordings above 48 kHz or below 8 kHz were brought to that rate, since not every "
    "browser plays them; their pictures show all that was recorded.";

std::string clips_of(const Page& page) {
    if (!page.clips_wanted) return paragraph("Clips were not wanted this time.", "note");
    if (page.clips.empty())
        return paragraph("There are no kept segments to cut clips from yet.", "note");
    const bool other_rates = std::any_of(page.clips.begin(), page.clips.end(),
                                         [](const Clip& clip) { return clip.other_rate; });
    std::string html =
        "<div class=\"screen-only\">\n<h3>Listen to what the numbers mean</h3>\n" +
        paragraph(fmt::format("For each site and window three kept segments: the "
                              "one whose {} is nearest the median, "
                              "the highest and the lowest (of equal ones the "
                              "earliest). A clip is the middle 15 s, one "
                              "channel, as recorded and no louder, as FLAC, which "
                              "loses nothing. Levels in its picture "
                              "are scaled for that clip alone.{}",
                              page.title_of(page.clip_index), other_rates ? kOtherRates : ""),
                  "subtitle") +
        "<p class=\"caution\"><strong>Caution.</strong> People may be heard in "
        "these clips. Listen before you "
        "pass this folder on, take out clips with voices (delete the files in "
        "clips/), and keep to what was "
        "agreed with the people of the place and to its rules.</p>\n";
    std::size_t site = page.survey.sites.size();
    for (const Clip& clip : page.clips) {
        if (clip.site != site) {
            if (site != page.survey.sites.size()) html += "</ul></details>\n";
            site = clip.site;
            html += fmt::format(
                "<details class=\"site-clips\"><summary>{} ({})</summary>\n<ul class=\"clips\">\n",
                escape_html(page.survey.sites[site].name),
                escape_html(page.survey.sites[site].stand));
        }
        html += clip_item(page, clip);
    }
    return html + "</ul></details>\n" +
           table_place("clips", "clips and the values of their segments") + "</div>\n";
}

}  // namespace

namespace {

constexpr const char* kHear =
    "Each pair is a segment of a {} and one of a {} site, {}of the same date and hour, unflagged, "
    "whose {} lies nearest to the medians of the two classes in that window{}; it was not chosen "
    "for how it sounds. All pictures are on one scale of levels, {} to {} dBFS, and of pitch, 0 to "
    "{} kHz; sounds are as recorded and no louder. People may be heard: see the caution at the "
    "clips below.";

std::string side(const Page& page, const Clip& clip, bool first) {
    const std::string& site = page.survey.sites[clip.site].name;
    const std::string& stand = first ? page.survey.stands.class_a : page.survey.stands.class_b;
    const std::string name = fmt::format("{}, {}", escape_html(stand), escape_html(site));
    return fmt::format(
        "<div class=\"side {0}\"><p class=\"whose\"><strong>{1} {2}</strong>, {3}, {4}, {5} "
        "{6}</p>\n"
        "<div class=\"sight\"><img src=\"{7}\" width=\"560\" height=\"220\" loading=\"lazy\" "
        "alt=\"Spectrogram, {8}\"></div>\n<audio controls preload=\"none\" src=\"{9}\" "
        "aria-label=\"Sound, {8}\"></audio></div>\n",
        first ? "a" : "b", first ? "\u25cf" : "\u25a1", escape_html(stand), escape_html(site),
        clock_words(clip.minute), escape_html(page.clip_index), readable_number(clip.value),
        clip.picture, name, clip.sound);
}

std::string pair_figure(const Page& page, const ClipPair& pair, std::size_t number) {
    const Clip& clip = pair.clips[0];
    std::string where = page.values.windows[static_cast<std::size_t>(clip.window)];
    if (!pair.block.empty()) where += ", " + pair.block;
    return fmt::format(
               "<figure class=\"pair\" data-hour=\"{}\">\n<figcaption>Pair {}: {}, {}, from "
               "{:02}:00"
               "</figcaption>\n<div class=\"sides\">\n",
               pair.hour, number, escape_html(where), format_date(clip.date), pair.hour) +
           side(page, clip, true) + side(page, pair.clips[1], false) + "</div>\n</figure>\n";
}

}  // namespace

std::string hear_section(const Page& page) {
    const ClipPairs& heard = page.pairs;
    if (heard.pairs.empty()) return {};
    const bool blocks = !page.survey.stands.block.empty();
    std::string body = paragraph(
        fmt::format(fmt::runtime(kHear), page.survey.stands.class_a, page.survey.stands.class_b,
                    blocks ? "in one block, " : "", page.title_of(page.clip_index),
                    blocks ? " and block" : "", readable_number(heard.floor_db),
                    readable_number(heard.ceiling_db), readable_number(heard.high_hz / 1000)),
        "subtitle");
    if (heard.unreadable > 0)
        body += paragraph(counted(heard.unreadable, "pair") +
                              " more could not be cut, since a recording cannot be read.",
                          "note");
    for (std::size_t i = 0; i < heard.pairs.size(); ++i)
        body += pair_figure(page, heard.pairs[i], i + 1);
    return "<div class=\"screen-only\" id=\"pairs\">\n" + section("hear", "Hear it", body) +
           "</div>\n";
}

std::string sounds_section(const Page& page) {
    return section("sounds", "The sounds", days(page) + clips_of(page));
}

}  // namespace hearwood
