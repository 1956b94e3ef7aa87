#include "listen/sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "audio/wave_writer.h"
#include "base/file.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "base/sheet.h"
#include "base/text.h"
#include "contrast/random.h"
#include "listen/clip.h"
#include "listen/page.h"
#include "picture/png.h"
#include "picture/spectrogram.h"
#include "store/csv_writer.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

constexpr int kPictureWidth = 1000, kPictureHeight = 360;
const std::vector<std::string> kKeyHeader = {"sheet",   "clip",    "repeat_of", "recording",
                                             "channel", "segment", "site",      "window",
                                             "third",   "weight",  "from_s",    "to_s"};

/// A clip to be cut: where its sound lies, and the names it gets (two when it comes twice).
struct Piece {
    DrawnClip drawn;
    RecordingRow recording;
    std::int64_t first_sample = 0, samples = 0;
    std::vector<std::string> names;
};

/// Four hexadecimal digits, none twice.
std::string fresh_name(Random& random, std::set<std::string>& used) {
    for (;;) {
        std::string name = fmt::format("{:04x}", random.below(0x10000));
        if (used.insert(name).second) return name;
    }
}

std::map<std::int64_t, RecordingRow> recordings_of(const Store& store) {
    std::map<std::int64_t, RecordingRow> rows;
    store.for_each_recording([&](const RecordingRow& row) { rows.emplace(row.id, row); });
    return rows;
}

/// A random stretch of the segment; the order of the draws is the order of the sample.
std::vector<Piece> pieces_of(const std::vector<DrawnClip>& sample, const Store& store,
                             double seconds, Random& random) {
    const auto recordings = recordings_of(store);
    std::vector<Piece> pieces;
    for (const DrawnClip& drawn : sample) {
        Piece piece{drawn, recordings.at(drawn.segment.recording), 0, 0, {}};
        const auto wanted = static_cast<std::int64_t>(seconds * piece.recording.sample_rate);
        piece.samples = std::min(wanted, drawn.segment.samples);
        const auto room = static_cast<std::uint64_t>(drawn.segment.samples - piece.samples);
        piece.first_sample =
            drawn.segment.first_sample + static_cast<std::int64_t>(random.below(room + 1));
        pieces.push_back(std::move(piece));
    }
    return pieces;
}

/// Cuts one clip under all its names. Empty, or why it could not be.
std::string cut(const Survey& survey, const Piece& piece, const fs::path& folder) {
    const auto sound = read_stretch(survey.folder / name_from_utf8(piece.recording.path),
                                    piece.drawn.segment.channel, piece.first_sample, piece.samples);
    if (const auto* why = std::get_if<std::string>(&sound)) return *why;
    std::vector<float> samples = std::get<std::vector<float>>(sound);
    to_common_level(samples);
    SpectrogramOptions options;
    options.width = kPictureWidth;
    options.height = kPictureHeight;
    const std::string picture =
        encode_png(draw_spectrogram(samples, piece.recording.sample_rate, options));
    for (const std::string& name : piece.names) {
        WaveWriter writer(folder / "clips" / (name + ".wav"), {piece.recording.sample_rate, 1, {}});
        writer.write_float(samples);
        writer.close();
        write_whole_file(folder / "pictures" / (name + ".png"), picture);
    }
    return {};
}

/// Names in a random order of playing; a repeat comes at least a third of the sheet after the first
/// time.
std::vector<std::string> playing_order(std::vector<Piece>& pieces, int repeats, Random& random) {
    for (std::size_t i = pieces.size(); i > 1; --i)
        std::swap(pieces[i - 1], pieces[random.below(i)]);
    std::set<std::string> used;
    std::vector<std::string> order;
    for (Piece& piece : pieces) {
        piece.names.push_back(fresh_name(random, used));
        order.push_back(piece.names[0]);
    }
    const std::size_t first_part = pieces.size() / 2;
    std::size_t left = std::min(static_cast<std::size_t>(std::max(repeats, 0)), first_part);
    for (std::size_t i = 0; i < first_part && left > 0; ++i) {
        if (random.below(first_part - i) >= left) continue;  // exactly `left` of those that remain
        --left;
        pieces[i].names.push_back(fresh_name(random, used));
        const std::size_t earliest = i + 1 + order.size() / 3;
        order.insert(order.begin() + static_cast<std::ptrdiff_t>(
                                         earliest + random.below(order.size() + 1 - earliest)),
                     pieces[i].names[1]);
    }
    return order;
}

void write_key(const Survey& survey, const std::vector<Piece>& pieces, const std::string& sheet,
               const fs::path& folder) {
    CsvWriter csv(folder / "key.csv", kKeyHeader);
    std::vector<std::pair<std::string, const Piece*>> lines;
    for (const Piece& piece : pieces)
        for (const std::string& name : piece.names) lines.emplace_back(name, &piece);
    std::sort(lines.begin(), lines.end());
    for (const auto& [name, piece] : lines) {
        const Candidate& segment = piece->drawn.segment;
        csv.text(sheet);
        csv.text(name);
        csv.text(name == piece->names[0] ? "" : piece->names[0]);
        csv.text(piece->recording.path);
        csv.integer(segment.channel);
        csv.integer(segment.segment);
        csv.text(survey.sites[segment.site].name);
        csv.text(survey.windows[segment.window].name);
        csv.integer(piece->drawn.third);
        csv.number(piece->drawn.weight);
        const double rate = piece->recording.sample_rate;
        csv.number(static_cast<double>(piece->first_sample) / rate);
        csv.number(static_cast<double>(piece->first_sample + piece->samples) / rate);
        csv.end_row();
    }
    csv.commit();
}

void require_free(const fs::path& folder, bool force) {
    if (!force && fs::exists(folder / "key.csv"))
        throw InputError((folder / "key.csv").string() +
                             ": a listening sheet is there already, and answers to it "
                             "may be on their way",
                         "score it with --score, or give --force to begin anew");
}

/// Only once it is certain that a new one can be drawn.
void remove_old_sheet(const fs::path& folder) {
    std::error_code ignored;
    for (const char* part : {"clips", "pictures", "key.csv"})
        fs::remove_all(folder / part, ignored);
}

}  // namespace

fs::path listening_folder(const fs::path& survey_folder) {
    return survey_folder / "hearwood" / "listen";
}

SheetSummary make_listening_sheet(const Survey& survey, const Store& store,
                                  const SheetOptions& options) {
    const fs::path folder = listening_folder(survey.folder);
    require_free(folder, options.force);
    const std::vector<DrawnClip> sample =
        draw_sample(listening_candidates(survey, store, options.index), options.clips,
                    options.screened, options.seed);
    if (sample.empty())
        throw InputError(
            "no segment can be drawn: none is complete and kept, with a window and a value of " +
                options.index,
            "look at the kept column of segments.csv, or choose another --index");
    Random random(options.seed, "listening clips");
    std::vector<Piece> pieces = pieces_of(sample, store, options.seconds, random);
    remove_old_sheet(folder);
    make_folder(folder / "clips");
    make_folder(folder / "pictures");

    SheetSummary summary;
    std::vector<std::string> order = playing_order(pieces, options.repeats, random);
    std::set<int> rates;
    Progress progress("cutting", "clips", pieces.size(), options.quiet);
    std::string identity = options.index + fmt::format(" {} {}", options.seed, options.seconds);
    for (Piece& piece : pieces) {
        const std::string why = cut(survey, piece, folder);
        if (!why.empty()) {
            summary.missing.push_back(piece.recording.path + ": " + why);
            for (const std::string& name : piece.names) std::erase(order, name);
            piece.names.clear();
        } else {
            rates.insert(piece.recording.sample_rate);
            ++(piece.drawn.third < 0 ? summary.screened : summary.clips);
            summary.repeats += static_cast<int>(piece.names.size()) - 1;
            identity +=
                fmt::format("\n{} {} {}", piece.recording.path, piece.first_sample, piece.names[0]);
        }
        progress.add();
    }
    progress.finish();
    const std::string sheet = sha256_of(identity).substr(0, 8);
    summary.mixed_rates = rates.size() > 1;
    write_key(survey, pieces, sheet, folder);
    summary.page = folder / "listen.html";
    write_whole_file(summary.page, listening_page(sheet, order, options.seconds));
    return summary;
}

std::vector<KeyLine> read_key(const fs::path& survey_folder) {
    const fs::path file = listening_folder(survey_folder) / "key.csv";
    if (!fs::exists(file))
        throw InputError(file.string() + ": there is no listening sheet to score",
                         "draw one with hearwood listen");
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(file, "key.csv", problems);
    if (problems.empty() && sheet.header != kKeyHeader)
        problems.push_back({"key.csv", sheet.header_line, 0, "", "",
                            "its columns are not those that listen writes",
                            "restore the file, or draw a new sheet with --force"});
    std::vector<KeyLine> lines;
    if (problems.empty())
        for (const SheetRow& row : sheet.rows) {
            const auto number = [&](std::size_t column) {
                return number_or_problem(sheet, row, column, problems).value_or(0);
            };
            const auto& c = row.cells;
            // A clip's name becomes a file's name, which forget removes.
            if (c[1].empty() || c[1].find_first_of("/.") != std::string::npos)
                problems.push_back({"key.csv", row.line, 2, "clip", c[1],
                                    "not a clip's name: letters and digits alone",
                                    "restore the file, or draw a new sheet with --force"});
            lines.push_back({c[0], c[1], c[2], c[3], static_cast<int>(number(4)),
                             static_cast<int>(number(5)), c[6], c[7], static_cast<int>(number(8)),
                             number(9), number(10), number(11)});
        }
    if (!problems.empty()) throw InputError(problems);
    return lines;
}

}  // namespace hearwood
