// `picture`: the spectrogram of a recording, or the day picture of a site.
#include <fmt/core.h>

#include <filesystem>

#include "base/file.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "report/day_pictures.h"
#include "report/recording_picture.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

struct PictureOptions {
    std::string target, out, site, date, survey;
    StretchPicture stretch;
    int width = 0, height = 0;  ///< 0: as the kind of picture has it
};

std::filesystem::path write_picture(const std::string& out, const std::filesystem::path& otherwise,
                                    const std::string& png) {
    std::filesystem::path path = out.empty() ? otherwise : std::filesystem::path(out);
    if (path.has_parent_path()) make_folder(path.parent_path());
    write_whole_file(path, png);
    return path;
}

ExitCode picture_of_file(const PictureOptions& options) {
    if (!options.out.empty()) refuse_own_input(options.out, options.target);
    StretchPicture wanted = options.stretch;
    wanted.file = options.target;
    if (options.width > 0) wanted.spectrogram.width = options.width;
    if (options.height > 0) wanted.spectrogram.height = options.height;
    std::optional<Survey> survey;
    if (!options.survey.empty()) survey = open_survey(options.survey);
    const DrawnStretch drawn = draw_stretch(wanted, survey ? &*survey : nullptr);
    const auto name = std::filesystem::path(options.target).stem().string() + ".png";
    const auto path = write_picture(options.out, name, drawn.png);
    const PlotArea& plot = drawn.plot;
    print_wrapped(fmt::format(
        "{}: {:.3f} to {:.3f} s, {:.0f} to {:.0f} Hz, colours from {:.0f} to {:.0f} dBFS",
        printable(path.string()), plot.from_s, plot.to_s, plot.low_hz, plot.high_hz, plot.floor_db,
        plot.ceiling_db));
    for (const Damage& damage : drawn.damages)
        log_line(fmt::format("{}: {}", printable(options.target), describe(damage)));
    return drawn.partly_usable ? ExitCode::some_unusable : ExitCode::ok;
}

ExitCode picture_of_day(const PictureOptions& options) {
    const std::optional<Date> date = date_given(options.date, "--date");
    if (options.site.empty() || !date)
        throw InputError("the picture of a day needs a site and a date",
                         "add --site SITE --date YYYY-MM-DD");
    const Survey survey = open_survey(options.target);
    const std::size_t site = site_given(survey, options.site);
    const auto png = draw_day(survey, site, *date, options.width > 0 ? options.width : 1200,
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

ExitCode picture(const PictureOptions& options) {
    return std::filesystem::is_directory(options.target) ? picture_of_day(options)
                                                         : picture_of_file(options);
}

void add_spectrogram_options(Command& command, PictureOptions& options) {
    StretchPicture& stretch = options.stretch;
    SpectrogramOptions& spectrogram = stretch.spectrogram;
    command.add_option("--from TIME", stretch.from, "begin here: seconds, m:ss or h:mm:ss");
    command.add_option("--to TIME", stretch.to, "end here");
    command.add_option("--channel N", stretch.channel, "which channel, from 0");
    command.add_option("--low HZ", spectrogram.low_hz, "lowest frequency (default 0)")
        .between(0.0, 500000.0);
    command
        .add_option("--high HZ", spectrogram.high_hz,
                    "highest frequency (default half the sample rate)")
        .between(0.0, 500000.0);
    command.add_option("--frame N", spectrogram.frame, "samples of a frame (default 512)");
    command.add_option("--floor DBFS", spectrogram.floor_db, "level of the darkest colour")
        .between(-400.0, 100.0);
    command.add_option("--ceiling DBFS", spectrogram.ceiling_db, "level of the brightest colour")
        .between(-400.0, 100.0);
    command.add_option("--band", stretch.bands, "draw a band's edges; may be given again")
        .type_name("NAME=LOW-HIGH");
    command.add_option("--survey SURVEY", options.survey,
                       "draw this survey's bands, and mark what it kept and excluded");
}

}  // namespace

Run add_picture(CLI::App& program) {
    CommandOf<PictureOptions> command(program, "picture",
                                      "spectrogram of a recording, or the day of a site, as PNG");
    command.add_option("target FILE|SURVEY", command->target, "a recording, or a survey folder")
        .required();
    command.add_option("--site SITE", command->site, "of the survey: whose day");
    command.add_option("--date YYYY-MM-DD", command->date, "of the survey: which day");
    add_spectrogram_options(command, *command);
    command.add_option("--width N", command->width, "pixels across").between(1, 20000);
    command.add_option("--height N", command->height, "pixels down").between(1, 20000);
    command.add_option("--out FILE.png", command->out,
                       "write here (default: the recording's name with .png in this folder, or "
                       "hearwood/pictures/SITE-DATE.png)");
    command.example("hearwood picture L01_20310504_053000.wav --from 1:00 --to 1:30");
    return command.does(picture);
}

}  // namespace hearwood
