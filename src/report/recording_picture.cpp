#include "report/recording_picture.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <variant>

#include "aggregate/judged_segments.h"
#include "audio/audio_file.h"
#include "base/text.h"
#include "picture/png.h"

namespace hearwood {
namespace {

/// Marks of one recording's segments: what was kept, and why the rest was not.
class MarkGatherer : public SegmentVisitor {
  public:
    MarkGatherer(std::filesystem::path file, std::filesystem::path folder, int channel)
        : file_(std::move(file)), folder_(std::move(folder)), channel_(channel) {}
    void segment(const JudgedSegment& segment) override {
        if (segment.row->channel != channel_ || !is_ours(segment.recording->row.path)) return;
        const double rate = segment.recording->row.sample_rate;
        const double from = static_cast<double>(segment.row->first_sample) / rate;
        marks.push_back({from, from + segment.duration_s(), segment.judgement.kept(),
                         segment.judgement.reasons.text()});
    }
    std::vector<PictureMark> marks;

  private:
    bool is_ours(const std::string& path) {
        if (path == last_) return same_;
        std::error_code ignored;
        same_ = std::filesystem::equivalent(folder_ / name_from_utf8(path), file_, ignored);
        last_ = path;
        return same_;
    }
    std::filesystem::path file_, folder_;
    int channel_;
    std::string last_;
    bool same_ = false;
};

/// The site of whose deployments the file is a recording, by the folder that it lies in.
std::optional<std::size_t> site_holding(const Survey& survey, const std::filesystem::path& file) {
    std::error_code ignored;
    const auto whole = std::filesystem::canonical(file, ignored);
    for (const Deployment& deployment : survey.deployments) {
        const auto folder = std::filesystem::canonical(survey.folder / deployment.folder, ignored);
        if (ignored) continue;
        const auto [end, rest] =
            std::mismatch(folder.begin(), folder.end(), whole.begin(), whole.end());
        if (end == folder.end() && rest != whole.end()) return deployment.site;
    }
    return {};
}

/// Marks inside [from_s, to_s) of the recording, counted from from_s.
std::vector<PictureMark> marks_of_recording(const Survey& survey, const std::filesystem::path& file,
                                            int channel, double from_s, double to_s) {
    const Store store = Store::open_read_only(survey.folder);
    const auto site = site_holding(survey, file);
    if (!site) return {};
    const JudgedSegments segments(survey, store, *site);
    MarkGatherer gatherer(file, survey.folder, channel);
    SegmentVisitor* const visitors[] = {&gatherer};
    segments.visit(visitors);
    std::vector<PictureMark> inside;
    for (PictureMark mark : gatherer.marks) {
        if (mark.to_s <= from_s || mark.from_s >= to_s) continue;
        mark.from_s -= from_s;
        mark.to_s -= from_s;
        inside.push_back(mark);
    }
    return inside;
}

/// "90", "1:30", "1:02:03.5" as seconds. InputError that names the option.
double seconds_of(const std::string& text, const char* option) {
    double total = 0;
    const std::vector<std::string> parts = split(text, ':');
    bool good = parts.size() <= 3;
    for (const std::string& part : parts) {
        const auto value = parse_number(part);
        good = good && value && *value >= 0;
        total = 60 * total + value.value_or(0);
    }
    if (!good)
        throw InputError(
            fmt::format("{} '{}' is no time in the recording", option, printable(text)),
            "write seconds, m:ss or h:mm:ss");
    return total;
}

/// "insects=4000-12000"
PictureBand band_of(const std::string& text) {
    const std::size_t equals = text.rfind('='), dash = text.find('-', equals + 1);
    if (equals != std::string::npos && dash != std::string::npos) {
        const auto low = parse_number(text.substr(equals + 1, dash - equals - 1));
        const auto high = parse_number(text.substr(dash + 1));
        if (low && high && *low < *high) return {text.substr(0, equals), *low, *high};
    }
    throw InputError(fmt::format("--band '{}' is no band", printable(text)),
                     "write NAME=LOW-HIGH in hertz, such as insects=4000-12000");
}

/// The survey's bands, and what it kept and excluded of the stretch.
void add_bands_and_marks(const Survey& survey, const StretchPicture& wanted, double from_s,
                         double to_s, SpectrogramOptions& spectrogram) {
    for (const Band& band : survey.measure.bands)
        spectrogram.bands.push_back({band.name, band.low_hz, band.high_hz});
    spectrogram.marks = marks_of_recording(survey, wanted.file, wanted.channel, from_s, to_s);
}

}  // namespace

DrawnStretch draw_stretch(const StretchPicture& wanted, const Survey* survey) {
    auto opened = open_audio(wanted.file);
    if (const auto* bad = std::get_if<Unreadable>(&opened))
        throw InputError(printable(wanted.file) + ": " + bad->reason, bad->fix);
    AudioFile& file = std::get<AudioFile>(opened);
    const AudioInfo& info = file.info();
    if (wanted.channel < 0 || wanted.channel >= info.channels)
        throw InputError(
            fmt::format("there is no channel {} in {}", wanted.channel, printable(wanted.file)),
            fmt::format("channels are counted from 0 to {}", info.channels - 1));
    const double from_s = wanted.from.empty() ? 0 : seconds_of(wanted.from, "--from");
    const double to_s = wanted.to.empty() ? info.seconds()
                                          : std::min(seconds_of(wanted.to, "--to"), info.seconds());
    const auto from = static_cast<std::uint64_t>(std::llround(from_s * info.sample_rate));
    const auto to =
        std::min(info.frames, static_cast<std::uint64_t>(std::llround(to_s * info.sample_rate)));
    if (from >= to)
        throw InputError(fmt::format("{} has {:.3f} s; the part from {:.3f} s to {:.3f} s is empty",
                                     printable(wanted.file), info.seconds(), from_s, to_s),
                         "choose --from before --to, inside the recording");
    SpectrogramOptions spectrogram = wanted.spectrogram;
    spectrogram.start_s = from_s;
    spectrogram.title = std::filesystem::path(wanted.file).filename().string();
    for (const std::string& band : wanted.bands) spectrogram.bands.push_back(band_of(band));
    if (survey) add_bands_and_marks(*survey, wanted, from_s, to_s, spectrogram);
    SpectrogramPainter painter(info.sample_rate, static_cast<std::int64_t>(to - from), spectrogram);
    paint_stretch(file, from, to - from, wanted.channel, painter);
    std::string png = encode_png(painter.finish());
    return {std::move(png), painter.plot(), file.damages(), file.partly_usable()};
}

}  // namespace hearwood
