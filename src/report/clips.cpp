#include "report/clips.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <variant>

#include "audio/flac_writer.h"
#include "audio/resample.h"
#include "audio/stretch.h"
#include "base/file.h"
#include "base/missing.h"
#include "base/parallel.h"
#include "base/progress.h"
#include "base/text.h"
#include "picture/png.h"
#include "picture/spectrogram.h"
#include "report/day_pictures.h"

namespace hearwood {

namespace {

struct Candidate {
    double value;
    Date date;
    const SegmentPlace* place;
};

/// What stands in the database about a chosen segment.
struct StoredSegment {
    std::int64_t first_sample = 0, samples = 0;
    std::vector<double> values;
};

StoredSegment stored_segment(const Store& store, std::int64_t recording,
                             const SegmentPlace& place) {
    StoredSegment result;
    store.for_each_segment_of(recording, [&](const SegmentRow& row) {
        if (row.channel != place.channel || row.segment != static_cast<int>(place.segment)) return;
        result = {row.first_sample, row.samples, row.values};
    });
    return result;
}

/// The clip without its sound.
Clip clip_of(const GatheredRecording& recording, const ChosenSegment& chosen,
             const StoredSegment& stored) {
    Clip clip;
    clip.site = chosen.site;
    clip.window = chosen.window;
    clip.rule = chosen.rule;
    clip.recording = recording.path;
    clip.channel = chosen.place->channel;
    clip.date = chosen.date;
    clip.value = chosen.place->value;
    clip.values = stored.values;
    const double rate = recording.sample_rate;
    const auto length = static_cast<std::int64_t>(kClipSeconds * rate);
    const std::int64_t count = std::min(length, stored.samples);
    const std::int64_t into = (stored.samples - count) / 2;
    clip.from_s = static_cast<double>(stored.first_sample + into) / rate;
    clip.to_s = clip.from_s + static_cast<double>(count) / rate;
    clip.minute = chosen.place->from_min + static_cast<double>(into) / rate / 60;
    return clip;
}

CutClip read_clip(const Survey& survey, const SegmentGatherer& gathered,
                  const ChosenSegment& chosen, const StoredSegment& stored) {
    const GatheredRecording& recording = gathered.recordings[chosen.place->recording];
    CutClip cut;
    cut.clip = clip_of(recording, chosen, stored);
    cut.rate = recording.sample_rate;
    const auto first = static_cast<std::int64_t>(std::llround(cut.clip.from_s * cut.rate));
    const auto end = static_cast<std::int64_t>(std::llround(cut.clip.to_s * cut.rate));
    auto stretch = read_stretch(survey.folder / name_from_utf8(recording.path), cut.clip.channel,
                                first, end - first);
    if (const auto* why = std::get_if<std::string>(&stretch)) {
        cut.clip.why_not = *why;
        return cut;
    }
    cut.sound = std::move(std::get<Stretch>(stretch).samples);
    cut.bits = std::get<Stretch>(stretch).bits;
    return cut;
}

}  // namespace

CutClip read_clip(const Survey& survey, const Store& store, const SegmentGatherer& gathered,
                  const ChosenSegment& chosen) {
    const std::int64_t recording = gathered.recordings[chosen.place->recording].id;
    return read_clip(survey, gathered, chosen, stored_segment(store, recording, *chosen.place));
}

void write_clip(CutClip& cut, const std::string& stem, const SpectrogramOptions& options,
                const std::filesystem::path& folder) {
    if (!cut.clip.why_not.empty()) return;
    cut.clip.sound = stem + ".flac";
    cut.clip.picture = stem + ".png";
    const int heard_rate = playable_rate(cut.rate);
    cut.clip.other_rate = heard_rate != cut.rate;
    write_flac(folder / cut.clip.sound, resampled(cut.sound, cut.rate, heard_rate), heard_rate,
               cut.bits);
    write_whole_file(folder / cut.clip.picture,
                     encode_png(draw_spectrogram(cut.sound, cut.rate, options)), Sync::later);
}

SpectrogramOptions clip_picture() {
    SpectrogramOptions options;
    options.width = 560;
    options.height = 220;
    return options;
}

const char* word(ClipRule rule) {
    constexpr const char* kWords[] = {"nearest the median", "highest", "lowest"};
    return kWords[static_cast<int>(rule)];
}

std::vector<ChosenSegment> choose_segments(const SegmentGatherer& gathered, std::size_t windows) {
    std::map<std::pair<std::size_t, int>, std::vector<Candidate>> groups;
    for (const auto& [key, places] : gathered.days)
        for (const SegmentPlace& place : places)
            if (place.averaged && place.window >= 0 && !is_missing(place.value))
                groups[{key.first, place.window}].push_back({place.value, key.second, &place});

    std::vector<ChosenSegment> chosen;
    for (auto& group : groups) {
        const auto [site, window] = group.first;
        if (static_cast<std::size_t>(window) >= windows) continue;
        std::vector<Candidate>& candidates = group.second;
        // Stable, and the candidates come by date and time: of equal values the earliest is first.
        std::stable_sort(candidates.begin(), candidates.end(),
                         [](const Candidate& a, const Candidate& b) { return a.value < b.value; });
        const auto earliest = [&](double value) {
            return std::lower_bound(candidates.begin(), candidates.end(), value,
                                    [](const Candidate& c, double v) { return c.value < v; });
        };
        const auto add = [&, site = site, window = window](ClipRule rule, const Candidate& c) {
            const bool there =
                std::any_of(chosen.begin(), chosen.end(),
                            [&](const ChosenSegment& other) { return other.place == c.place; });
            if (!there) chosen.push_back({site, window, rule, c.date, c.place});
        };
        add(ClipRule::median, *earliest(candidates[(candidates.size() - 1) / 2].value));
        add(ClipRule::highest, *earliest(candidates.back().value));
        add(ClipRule::lowest, candidates.front());
    }
    return chosen;
}

std::vector<Clip> cut_clips(const Survey& survey, const Store& store,
                            const SegmentGatherer& gathered, const std::filesystem::path& folder,
                            int jobs, bool quiet) {
    const std::vector<ChosenSegment> chosen = choose_segments(gathered, survey.windows.size());
    std::vector<StoredSegment> stored;
    for (const ChosenSegment& segment : chosen) {
        stored.push_back(stored_segment(store, gathered.recordings[segment.place->recording].id,
                                        *segment.place));
        make_folder(folder / "clips" / file_stem(survey, segment.site));
    }
    std::vector<Clip> clips(chosen.size());
    Progress progress("cutting", "clips", chosen.size(), quiet);
    parallel_for(chosen.size(), jobs, [&](std::size_t piece, std::size_t) {
        const ChosenSegment& segment = chosen[piece];
        CutClip cut = read_clip(survey, gathered, segment, stored[piece]);
        const char* rule = segment.rule == ClipRule::median ? "median" : word(segment.rule);
        write_clip(cut,
                   fmt::format("clips/{}/{}-{}", file_stem(survey, segment.site),
                               segment.window + 1, rule),
                   clip_picture(), folder);
        clips[piece] = std::move(cut.clip);
        progress.add();
    });
    progress.finish();
    return clips;
}

}  // namespace hearwood
