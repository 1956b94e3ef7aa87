// `picture`: the spectrogram of a recording, or the day picture of a site.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <variant>

#include "aggregate/judged_segments.h"
#include "audio/audio_file.h"
#include "base/file.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/open_survey.h"
#include "command/print.h"
#include "picture/png.h"
#include "picture/spectrogram.h"
#include "report/day_pictures.h"
#include "report/recording_marks.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

struct PictureOptions {
    std::string target, from, to, out, site, date, survey;
    int channel = 0, width = 0, height = 0, frame = 512;
    double low_hz = 0, high_hz = 0;
    std::optional<double> floor_db, ceiling_db;
    std::vector<std::string> bands;
};

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

/// The survey's bands, and what it kept and excluded of the recording.
void add_bands_and_marks(const PictureOptions& options, double from_s, double to_s,
                         SpectrogramOptions& spectrogram) {
    const Survey survey = open_survey(options.survey);
    for (const Band& band : survey.measure.bands)
        spectrogram.bands.push_back({band.name, band.low_hz, band.high_hz});
    for (const PictureMark& mark :
         marks_of_recording(survey, options.target, options.channel, from_s, to_s))
        spectrogram.marks.push_back(mark);
}

std::filesystem::path write_picture(const std::string& out, const std::filesystem::path& otherwise,
                                    const std::string& png) {
    std::filesystem::path path = out.empty() ? otherwise : std::filesystem::path(out);
    if (path.has_parent_path()) make_folder(path.parent_path());
    write_whole_file(path, png);
    return path;
}

ExitCode picture_of_file(const PictureOptions& options) {
    if (!options.out.empty()) refuse_own_input(options.out, options.target);
    auto opened = open_audio(options.target);
    if (const auto* bad = std::get_if<Unreadable>(&opened))
        throw InputError(printable(options.target) + ": " + bad->reason, bad->fix);
    AudioFile& file = std::get<AudioFile>(opened);
    const AudioInfo& info = file.info();
    if (options.channel < 0 || options.channel >= info.channels)
        throw InputError(
            fmt::format("there is no channel {} in {}", options.channel, printable(options.target)),
            fmt::format("channels are counted from 0 to {}", info.channels - 1));
    const double from_s = options.from.empty() ? 0 : seconds_of(options.from, "--from");
    const double to_s = options.to.empty()
                            ? info.seconds()
                            : std::min(seconds_of(options.to, "--to"), info.seconds());
    const auto from = static_cast<std::uint64_t>(std::llround(from_s * info.sample_rate));
    const auto to =
        std::min(info.frames, static_cast<std::uint64_t>(std::llround(to_s * info.sample_rate)));
    if (from >= to)
        throw InputError(fmt::format("{} has {:.3f} s; the part from {:.3f} s to {:.3f} s is empty",
                                     printable(options.target), info.seconds(), from_s, to_s),
                         "choose --from before --to, inside the recording");

    SpectrogramOptions spectrogram;
    if (options.width > 0) spectrogram.width = options.width;
    if (options.height > 0) spectrogram.height = options.height;
    spectrogram.frame = options.frame;
    spectrogram.start_s = from_s;
    spectrogram.low_hz = options.low_hz;
    spectrogram.high_hz = options.high_hz;
    spectrogram.floor_db = options.floor_db;
    spectrogram.ceiling_db = options.ceiling_db;
    spectrogram.title = std::filesystem::path(options.target).filename().string();
    for (const std::string& band : options.bands) spectrogram.bands.push_back(band_of(band));
    if (!options.survey.empty()) add_bands_and_marks(options, from_s, to_s, spectrogram);

    SpectrogramPainter painter(info.sample_rate, static_cast<std::int64_t>(to - from), spectrogram);
    paint_stretch(file, from, to - from, options.channel, painter);
    const auto name = std::filesystem::path(options.target).stem().string() + ".png";
    const auto path = write_picture(options.out, name, encode_png(painter.finish()));
    const PlotArea& plot = painter.plot();
    print_wrapped(
        fmt::format("{}: {:.3f} to {:.3f} s, {:.0f} to {:.0f} Hz, colours "
                    "from {:.0f} to {:.0f} dBFS",
                    printable(path.string()), plot.from_s, plot.to_s, plot.low_hz, plot.high_hz,
                    plot.floor_db, plot.ceiling_db));
    for (const Damage& damage : file.damages())
        log_line(fmt::format("{}: {}", printable(options.target), describe(damage)));
    return file.partly_usable() ? ExitCode::some_unusable : ExitCode::ok;
}

ExitCode picture_of_day(const PictureOptions& options) {
    if (options.site.empty() || options.date.empty())
        throw InputError("the picture of a day needs a site and a date",
                         "add --site SITE --date YYYY-MM-DD");
    const Survey survey = open_survey(options.target);
    const std::size_t site = site_given(survey, options.site);
    const auto date = parse_date(options.date);
    if (!date)
        throw InputError(fmt::format("--date '{}' is no date", printable(options.date)),
                         "write YYYY-MM-DD");
    const Store store = Store::open_read_only(survey.folder);
    const JudgedSegments segments(survey, store, site);
    SegmentGatherer gathered(-1);
    SegmentVisitor* const visitors[] = {&gathered};
    segments.visit(visitors);
    const auto png =
        draw_day(survey, gathered, site, *date, options.width > 0 ? options.width : 1200,
                 options.height > 0 ? options.height : 360);
    if (!png)
        throw InputError(fmt::format("nothing is measured of {} on {}", printable(options.site),
                                     format_date(*date)),
                         "tables/coverage.csv tells what was recorded when");
    const auto name = fmt::format("{}-{}.png", file_stem(survey, site), format_date(*date));
    const auto path =
        write_picture(options.out, survey.folder / "hearwood" / "pictures" / name, *png);
    fmt::print("{}\n", printable(path.string()));
    return ExitCode::ok;
}

void add_spectrogram_options(Command& command, PictureOptions& options) {
    command.add_option("--from", options.from, "begin here: seconds, m:ss or h:mm:ss")
        .type_name("TIME");
    command.add_option("--to", options.to, "end here").type_name("TIME");
    command.add_option("--channel", options.channel, "which channel, from 0").type_name("N");
    command.add_option("--low", options.low_hz, "lowest frequency (default 0)")
        .between(0.0, 500000.0)
        .type_name("HZ");
    command
        .add_option("--high", options.high_hz, "highest frequency (default half the sample rate)")
        .between(0.0, 500000.0)
        .type_name("HZ");
    command.add_option("--frame", options.frame, "samples of a frame (default 512)").type_name("N");
    command.add_option("--floor", options.floor_db, "level of the darkest colour")
        .between(-400.0, 100.0)
        .type_name("DBFS");
    command.add_option("--ceiling", options.ceiling_db, "level of the brightest colour")
        .between(-400.0, 100.0)
        .type_name("DBFS");
    command.add_option("--band", options.bands, "draw a band's edges; may be given again")
        .type_name("NAME=LOW-HIGH");
    command
        .add_option("--survey", options.survey,
                    "draw this survey's bands, and mark what it kept and excluded")
        .type_name("SURVEY");
}

}  // namespace

Run add_picture(CLI::App& program) {
    auto options = std::make_shared<PictureOptions>();
    Command command(program, "picture", "spectrogram of a recording, or the day of a site, as PNG");
    command.add_option("target", options->target, "a recording, or a survey folder")
        .required()
        .type_name("FILE|SURVEY");
    command.add_option("--site", options->site, "of the survey: whose day").type_name("SITE");
    command.add_option("--date", options->date, "of the survey: which day").type_name("YYYY-MM-DD");
    add_spectrogram_options(command, *options);
    command.add_option("--width", options->width, "pixels across").between(1, 20000).type_name("N");
    command.add_option("--height", options->height, "pixels down").between(1, 20000).type_name("N");
    command
        .add_option("--out", options->out,
                    "write here (default: the recording's name with .png in this folder, or "
                    "hearwood/pictures/SITE-DATE.png)")
        .type_name("FILE.png");
    command.example("hearwood picture L01_20310504_053000.wav --from 1:00 --to 1:30");
    return [options] {
        return std::filesystem::is_directory(options->target) ? picture_of_day(*options)
                                                              : picture_of_file(*options);
    };
}

}  // namespace hearwood
