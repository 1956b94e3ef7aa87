#include "report/day_pictures.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>

#include "aggregate/judged_segments.h"
#include "base/file.h"
#include "base/parallel.h"
#include "base/progress.h"
#include "base/text.h"
#include "index/kept_spectrum.h"
#include "picture/day_picture.h"
#include "picture/png.h"
#include "store/store.h"
#include "survey/day_part.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

using Day = std::pair<const SegmentGatherer::SiteDate, std::vector<SegmentPlace>>;

struct Size {
    int width, height;
};

/// The largest thumbnail of which so many, even if they could not be compressed at all, fit
/// into 1.5 MB of the page (four bits a pixel, base64).
Size thumbnail_size(std::size_t days) {
    constexpr Size sizes[] = {{144, 48}, {120, 40}, {96, 32}, {72, 24}, {64, 22}, {48, 16}};
    for (const Size size : sizes) {
        const double bytes = size.width / 2.0 * size.height + size.height + 160;
        if (bytes * 4 / 3 * static_cast<double>(days) <= 1.5e6) return size;
    }
    return sizes[std::size(sizes) - 1];
}

std::optional<double> minutes_of(const std::optional<Instant>& instant, Date date,
                                 const Zone& zone) {
    if (!instant) return std::nullopt;
    const auto since_midnight = zone.to_local(*instant).time - date;
    return std::chrono::duration<double, std::ratio<60>>(since_midnight).count();
}

/// The gaps that are the recorder's schedule rather than a failure: nine in ten of the times
/// between one stretch's start and the next are no longer, with a fifth to spare, and never above
/// an hour and a half.
double schedule_gap(const std::vector<SegmentPlace>& places) {
    std::vector<float> starts, between;
    for (const SegmentPlace& place : places) starts.push_back(place.from_min);
    std::sort(starts.begin(), starts.end());
    for (std::size_t i = 1; i < starts.size(); ++i)
        if (starts[i] > starts[i - 1]) between.push_back(starts[i] - starts[i - 1]);
    if (between.empty()) return 0;
    std::sort(between.begin(), between.end());
    return std::min(1.2 * between[between.size() * 9 / 10], 90.0);
}

DayPictureOptions options_for(const Survey& survey, const DayParts& parts, std::size_t site,
                              Date date, double high_hz, const std::vector<SegmentPlace>& places) {
    DayPictureOptions options;
    const SunTimes sun = parts.sun(site, date);
    options.sunrise_min = minutes_of(sun.sunrise, date, parts.zone());
    options.sunset_min = minutes_of(sun.sunset, date, parts.zone());
    options.title = survey.sites[site].name + ", " + format_date(date);
    options.high_hz = high_hz;
    options.bridge_min = schedule_gap(places);
    return options;
}

/// Hands the kept spectra of a day to the pictures. Places of one recording stand together, channel
/// by channel, as they were visited.
void paint(const Store& store, const SegmentGatherer& gathered,
           const std::vector<SegmentPlace>& places, int frame,
           const std::vector<DayPicture*>& pictures) {
    auto first = places.begin();
    while (first != places.end()) {
        const auto last = std::find_if(first, places.end(), [&](const SegmentPlace& place) {
            return place.recording != first->recording;
        });
        const GatheredRecording& recording = gathered.recordings[first->recording];
        auto place = first;
        store.for_each_spectrum_of(
            recording.id, [&](int channel, int segment, std::string_view bytes) {
                const auto before = [&](const SegmentPlace& p) {
                    return p.channel != channel ? p.channel < channel
                                                : static_cast<int>(p.segment) < segment;
                };
                while (place != last && before(*place)) ++place;
                if (place == last || place->channel != channel ||
                    static_cast<int>(place->segment) != segment)
                    return;
                const KeptSpectrum spectrum = decode_kept_spectrum(bytes);
                const DayStretch stretch{place->from_min, place->to_min, place->kept,
                                         static_cast<double>(recording.measured_rate) / frame,
                                         spectrum.standout};
                for (DayPicture* picture : pictures) picture->add(stretch);
            });
        first = last;
    }
}

double highest_frequency(const SegmentGatherer& gathered) {
    int rate = 0;
    for (const GatheredRecording& recording : gathered.recordings)
        rate = std::max(rate, recording.measured_rate);
    return rate > 0 ? rate / 2.0 : 12'000;
}

/// The days to draw: all of them, or evenly spread ones.
std::vector<const Day*> chosen_days(const SegmentGatherer& gathered) {
    std::vector<const Day*> days;
    const std::size_t all = gathered.days.size(), step = (all + kMostDays - 1) / kMostDays;
    std::size_t place = 0;
    for (const Day& day : gathered.days)
        if (place++ % step == 0) days.push_back(&day);
    return days;
}

DayEntry draw_entry(const Survey& survey, const DayParts& parts, const SegmentGatherer& gathered,
                    const Day& day, Size size, double high_hz, const Store& store,
                    const std::filesystem::path& folder) {
    const auto& [key, places] = day;
    DayEntry entry{key.first, key.second, {}, {}, size.width, size.height, 0, 0};
    const DayPictureOptions full =
        options_for(survey, parts, key.first, key.second, high_hz, places);
    DayPictureOptions small = full;
    small.axes = false;
    small.width = size.width;
    small.height = size.height;
    DayPicture picture(full), thumbnail(small);
    paint(store, gathered, places, survey.measure.frame, {&picture, &thumbnail});
    for (const SegmentPlace& place : places)
        (place.kept ? entry.kept_minutes : entry.excluded_minutes) += place.to_min - place.from_min;
    entry.thumbnail = encode_png(thumbnail.finish());
    entry.file =
        "pictures/" + file_stem(survey, key.first) + "/" + format_date(key.second) + ".png";
    write_whole_file(folder / entry.file, encode_png(picture.finish()), Sync::later);
    return entry;
}

}  // namespace

DayPictures draw_days(const Survey& survey, const SegmentGatherer& gathered,
                      const std::filesystem::path& folder, int jobs, bool quiet) {
    DayPictures result;
    result.dates = gathered.days.size();
    if (gathered.days.empty()) return result;
    const std::vector<const Day*> days = chosen_days(gathered);
    for (const Day* day : days)
        make_folder(folder / "pictures" / file_stem(survey, day->first.first));

    const DayParts parts(survey);
    const double high_hz = highest_frequency(gathered);
    const Size size = thumbnail_size(days.size());
    std::vector<std::unique_ptr<Store>> stores(static_cast<std::size_t>(std::max(jobs, 1)));
    result.days.resize(days.size());
    Progress progress("drawing", "days", days.size(), quiet);
    parallel_for(days.size(), jobs, [&](std::size_t piece, std::size_t worker) {
        auto& store = stores[worker];
        if (!store) store = std::make_unique<Store>(Store::open_read_only(survey.folder));
        result.days[piece] =
            draw_entry(survey, parts, gathered, *days[piece], size, high_hz, *store, folder);
        progress.add();
    });
    progress.finish();
    return result;
}

std::optional<std::string> draw_day(const Survey& survey, std::size_t site, Date date, int width,
                                    int height) {
    const Store store = Store::open_read_only(survey.folder);
    const JudgedSegments segments(survey, store, site);
    SegmentGatherer gathered(-1);
    SegmentVisitor* const visitors[] = {&gathered};
    segments.visit(visitors);
    const auto found = gathered.days.find({site, date});
    if (found == gathered.days.end()) return std::nullopt;
    const DayParts parts(survey);
    DayPictureOptions options =
        options_for(survey, parts, site, date, highest_frequency(gathered), found->second);
    options.width = width;
    options.height = height;
    DayPicture picture(options);
    paint(store, gathered, found->second, survey.measure.frame, {&picture});
    return encode_png(picture.finish());
}

std::string file_stem(const Survey& survey, std::size_t site) {
    const auto plain = [](const std::string& name) {
        std::string stem;
        for (const char c : to_lower_ascii(name)) {
            const bool good = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
            if (good && stem.size() < 40)
                stem += c;
            else if (!stem.empty() && stem.back() != '-')
                stem += '-';
        }
        while (!stem.empty() && stem.back() == '-') stem.pop_back();
        return stem.empty() ? std::string("site") : stem;
    };
    const std::string own = plain(survey.sites[site].name);
    const auto shared = std::count_if(survey.sites.begin(), survey.sites.end(),
                                      [&](const Site& other) { return plain(other.name) == own; });
    return shared > 1 ? fmt::format("{}--{}", own, site + 1) : own;
}

}  // namespace hearwood
