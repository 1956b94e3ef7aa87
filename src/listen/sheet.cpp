#include "listen/sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <limits>
#include <map>
#include <set>
#include <utility>

#include "audio/resample.h"
#include "audio/stretch.h"
#include "audio/wave_writer.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "base/text.h"
#include "index/catalogue.h"
#include "listen/clip.h"
#include "listen/key.h"
#include "listen/page.h"
#include "listen/playing_order.h"
#include "listen/sample.h"
#include "picture/png.h"
#include "picture/spectrogram.h"
#include "statistics/random.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

constexpr int kPictureWidth = 1000, kPictureHeight = 360;
constexpr const char* kPage = "listen.html";

/// A clip to be cut: where its sound lies, and the names it gets (two when it comes twice).
struct Piece {
    DrawnClip drawn;
    RecordingRow recording;
    std::int64_t first_sample = 0, samples = 0;
    std::vector<std::string> names;
};

/// What all clips of a sheet have in common, so that none can be told by it.
struct Form {
    int picture_rate = 0;  ///< lowest sample rate of all: a picture's frequencies end at its half
    int sound_rate = 0;    ///< that rate, or the nearest that browsers play
    std::size_t samples = 0;  ///< of a clip, at the picture's rate
};

/// Four hexadecimal digits, none twice.
std::string fresh_name(Random& random, std::set<std::string>& used) {
    for (;;) {
        std::string name = fmt::format("{:04x}", random.below(0x10000));
        if (used.insert(name).second) return name;
    }
}

std::vector<Piece> pieces_of(const std::vector<DrawnClip>& sample, const Store& store) {
    std::vector<Candidate> segments;
    for (const DrawnClip& drawn : sample) segments.push_back(drawn.segment);
    const auto recordings = recordings_of(segments, store);
    std::vector<Piece> pieces;
    for (const DrawnClip& drawn : sample)
        pieces.push_back({drawn, recordings.at(drawn.segment.recording), 0, 0, {}});
    return pieces;
}

/// What was drawn, as a number of 256 bits. Names, order and places in the segments follow from it:
/// with the seed alone, the names of one survey's key would tell the sites of the next.
std::string identity_of(const std::vector<Piece>& pieces, const SheetOptions& options) {
    std::string text =
        fmt::format("{} {} {} {}", options.index, options.seed, options.seconds, options.repeats);
    for (const Piece& piece : pieces)
        text += fmt::format("\n{} {} {} {}", piece.recording.path, piece.drawn.segment.channel,
                            piece.drawn.segment.segment, piece.recording.size);
    return sha256_of(text);
}

/// A random stretch of each segment; the order of the draws is the order of the sample.
void place_clips(std::vector<Piece>& pieces, double seconds, Random& random) {
    for (Piece& piece : pieces) {
        const auto wanted = static_cast<std::int64_t>(seconds * piece.recording.sample_rate);
        piece.samples = std::min(wanted, piece.drawn.segment.samples);
        const auto room = static_cast<std::uint64_t>(piece.drawn.segment.samples - piece.samples);
        piece.first_sample =
            piece.drawn.segment.first_sample + static_cast<std::int64_t>(random.below(room + 1));
    }
}

Form form_of(const std::vector<Piece>& pieces) {
    Form form;
    for (const Piece& piece : pieces)
        if (form.picture_rate == 0 || piece.recording.sample_rate < form.picture_rate)
            form.picture_rate = piece.recording.sample_rate;
    form.sound_rate = playable_rate(form.picture_rate);
    // Above what browsers play the picture ends where the sound does: it is to be heard.
    form.picture_rate = std::min(form.picture_rate, form.sound_rate);
    std::int64_t shortest = std::numeric_limits<std::int64_t>::max();
    for (const Piece& piece : pieces)
        shortest =
            std::min(shortest, piece.samples * form.picture_rate / piece.recording.sample_rate);
    form.samples = static_cast<std::size_t>(shortest);
    return form;
}

SpectrogramOptions picture_options() {
    SpectrogramOptions options;
    options.width = kPictureWidth;
    options.height = kPictureHeight;
    return options;
}

/// Cuts one clip under all its names. Empty, or why it could not be.
std::string cut_clip(const Survey& survey, const Piece& piece, const Form& form,
                     const fs::path& folder) {
    const auto sound = read_stretch(survey.folder / name_from_utf8(piece.recording.path),
                                    piece.drawn.segment.channel, piece.first_sample, piece.samples);
    if (const auto* why = std::get_if<std::string>(&sound)) return *why;
    std::vector<float> samples =
        resampled(std::get<Stretch>(sound).samples, piece.recording.sample_rate, form.picture_rate);
    samples.resize(form.samples);
    to_common_level(samples);
    const std::string picture =
        encode_png(draw_spectrogram(samples, form.picture_rate, picture_options()));
    const std::vector<float> heard = resampled(samples, form.picture_rate, form.sound_rate);
    for (const std::string& name : piece.names) {
        WaveWriter writer(folder / "clips" / (name + ".wav"), {form.sound_rate, 1, {}});
        writer.write_float(heard);
        writer.close();
        write_whole_file(folder / "pictures" / (name + ".png"), picture);
    }
    return {};
}

/// Gives the clips their names, in the order of playing. The pieces themselves are shuffled first,
/// so that not even the order in which files are written tells of sites.
std::vector<std::string> names_in_order(std::vector<Piece>& pieces, int repeats, Random& random) {
    for (std::size_t i = pieces.size(); i > 1; --i)
        std::swap(pieces[i - 1], pieces[random.below(i)]);
    std::set<std::string> used;
    std::vector<std::string> names;
    for (const std::size_t place :
         playing_order(pieces.size(), static_cast<std::size_t>(std::max(repeats, 0)), random)) {
        names.push_back(fresh_name(random, used));
        pieces[place].names.push_back(names.back());
    }
    return names;
}

std::vector<KeyLine> key_lines(const Survey& survey, const std::vector<Piece>& pieces,
                               const std::string& sheet) {
    std::vector<KeyLine> lines;
    for (const Piece& piece : pieces)
        for (const std::string& name : piece.names) {
            const Candidate& segment = piece.drawn.segment;
            const double rate = piece.recording.sample_rate;
            lines.push_back({sheet, name, name == piece.names[0] ? "" : piece.names[0],
                             piece.recording.path, segment.channel, segment.segment,
                             survey.sites[segment.site].name, survey.windows[segment.window].name,
                             piece.drawn.third, piece.drawn.weight,
                             static_cast<double>(piece.first_sample) / rate,
                             static_cast<double>(piece.first_sample + piece.samples) / rate});
        }
    std::sort(lines.begin(), lines.end(),
              [](const KeyLine& a, const KeyLine& b) { return a.clip < b.clip; });
    return lines;
}

/// The page is written last: without it a sheet was never finished, and nobody has heard it.
void require_free(const fs::path& survey_folder, bool force) {
    const fs::path key = listening_key(survey_folder);
    if (!force && fs::exists(key) && fs::exists(listening_folder(survey_folder) / kPage))
        throw InputError(key.string() +
                             ": a listening sheet is there already, and answers to it "
                             "may be on their way",
                         "score it with --score, or give --force to begin anew");
}

/// Only once it is certain that a new one can be drawn.
void remove_sheet(const fs::path& survey_folder) {
    std::error_code ignored;
    const fs::path folder = listening_folder(survey_folder);
    // The page first: from here on it is no finished sheet.
    for (const fs::path& part :
         {folder / kPage, folder / "clips", folder / "pictures", listening_key(survey_folder)})
        fs::remove_all(part, ignored);
}

std::vector<DrawnClip> draw(const Survey& survey, const Store& store, const SheetOptions& options) {
    std::vector<DrawnClip> sample = draw_for_sheet(survey, store, options);
    if (sample.empty())
        throw InputError(
            "no segment can be drawn: none is complete and kept, with a window and a value of " +
                options.index,
            "look at the kept column of segments.csv, or choose another --index");
    return sample;
}

}  // namespace

std::string index_to_listen_by(const Survey& survey) {
    const std::string& primary = survey.contrast.primary_index;
    if (primary.empty()) return "aci";
    for (const Column& column : index_columns(survey.measure))
        if (column.name == primary) return primary;
    return "events";
}

fs::path listening_folder(const fs::path& survey_folder) {
    return survey_folder / "hearwood" / "listen";
}

std::vector<DrawnClip> draw_for_sheet(const Survey& survey, const Store& store,
                                      const SheetOptions& options) {
    const ListeningCandidates candidates(survey, store, options.index);
    return draw_sample(std::cref(candidates), options.clips, options.screened, options.seed);
}

SheetSummary make_listening_sheet(const Survey& survey, const Store& store,
                                  const SheetOptions& options) {
    const fs::path folder = listening_folder(survey.folder);
    require_free(survey.folder, options.force);
    std::vector<Piece> pieces = pieces_of(draw(survey, store, options), store);
    const std::string identity = identity_of(pieces, options);
    Random random(options.seed, identity);
    place_clips(pieces, options.seconds, random);
    std::vector<std::string> order = names_in_order(pieces, options.repeats, random);
    const Form form = form_of(pieces);
    remove_sheet(survey.folder);
    make_folder(folder / "clips");
    make_folder(folder / "pictures");

    SheetSummary summary;
    Progress progress("cutting", "clips", pieces.size(), options.quiet);
    for (Piece& piece : pieces) {
        if (interrupted()) remove_sheet(survey.folder);  // half a sheet is none
        stop_if_interrupted();
        const std::string why = cut_clip(survey, piece, form, folder);
        if (!why.empty()) {
            summary.missing.push_back(piece.recording.path + ": " + why);
            for (const std::string& name : piece.names) std::erase(order, name);
            piece.names.clear();
        } else {
            ++(piece.drawn.third < 0 ? summary.screened : summary.clips);
            summary.repeats += static_cast<int>(piece.names.size()) - 1;
        }
        summary.mixed_rates |= piece.recording.sample_rate != pieces[0].recording.sample_rate;
        progress.add();
    }
    progress.finish();
    summary.sound_rate = form.sound_rate;
    const std::string sheet = identity.substr(0, 8);
    write_key(survey.folder, key_lines(survey, pieces, sheet));
    summary.page = folder / kPage;
    const PlotArea plot =
        SpectrogramPainter(form.picture_rate, static_cast<std::int64_t>(form.samples),
                           picture_options())
            .plot();
    write_whole_file(summary.page,
                     listening_page(sheet, order, options.seconds, plot.x / double{kPictureWidth},
                                    (plot.x + plot.width) / double{kPictureWidth}));
    return summary;
}

}  // namespace hearwood
