// `spectra SURVEY --out FILE.nc`: the kept spectra as NetCDF-4.
#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <memory>
#include <string>

#include "aggregate/judged_segments.h"
#include "base/file.h"
#include "base/progress.h"
#include "base/text.h"
#include "command/command.h"
#include "command/print.h"
#include "command/spectra_file.h"

namespace hearwood {
namespace {

struct SpectraOptions {
    std::string survey, out;
    SharedOptions shared;
};

/// Sends each segment's spectrum to the file of its sample rate. Bins of another rate lie at other
/// frequencies, so every rate has a file of its own.
class SpectraWriter : public SegmentVisitor {
  public:
    SpectraWriter(const Survey& survey, const Store& store, std::filesystem::path out,
                  Progress& progress)
        : survey_(survey), store_(store), out_(std::move(out)), progress_(progress) {}

    void begin_recording(const KnownRecording&) override { rows_.clear(); }

    void segment(const JudgedSegment& segment) override {
        progress_.add();
        SpectraRow row;
        row.site = segment.site;
        row.time_s = std::chrono::duration<double>(segment.place.start.time_since_epoch()).count();
        row.duration_s = segment.duration_s();
        row.channel = segment.row->channel;
        row.kept = segment.judgement.kept();
        row.recording = segment.recording->row.path;
        rows_.emplace(std::pair(segment.row->channel, segment.row->segment), std::move(row));
    }

    void end_recording(const KnownRecording& recording) override {
        if (rows_.empty()) return;
        SpectraFile& file = file_for(recording.row.sample_rate);
        store_.for_each_spectrum_of(recording.row.id,
                                    [&](int channel, int segment, std::string_view bytes) {
                                        const auto found = rows_.find({channel, segment});
                                        if (found == rows_.end()) return;
                                        found->second.spectrum = decode_kept_spectrum(bytes);
                                        file.add(std::move(found->second));
                                        rows_.erase(found);
                                    });
    }

    void finish() {
        for (auto& [rate, file] : files_) {
            const std::uint64_t rows = file.rows();
            file.finish();
            fmt::print("{}: {} spectra at {} Hz\n", printable(path_for(rate).string()),
                       grouped(rows), rate);
        }
    }

    bool any() const { return !files_.empty(); }

  private:
    /// The first rate met has the name asked for, another one its rate in it: "out.16000hz.nc".
    std::filesystem::path path_for(int rate) const {
        if (rate == first_rate_) return out_;
        std::filesystem::path path = out_;
        path.replace_extension(fmt::format("{}hz{}", rate, out_.extension().string()));
        return path;
    }

    SpectraFile& file_for(int rate) {
        if (first_rate_ == 0) first_rate_ = rate;
        const auto found = files_.find(rate);
        if (found != files_.end()) return found->second;
        SpectraHeader header;
        header.sample_rate = rate;
        header.frame = survey_.measure.frame;
        if (const auto settings = store_.settings()) {
            header.settings_json = settings->json;
            header.settings_sha256 = settings->hash;
        }
        return files_.try_emplace(rate, path_for(rate), survey_, header).first->second;
    }

    const Survey& survey_;
    const Store& store_;
    std::filesystem::path out_;
    Progress& progress_;
    int first_rate_ = 0;
    std::map<int, SpectraFile> files_;
    std::map<std::pair<int, int>, SpectraRow> rows_;  ///< of the recording under way
};

ExitCode write_spectra(const SpectraOptions& options) {
    const Survey survey = load_survey(options.survey);
    const Store store = Store::open_read_only(survey.folder);
    const JudgedSegments segments(survey, store);
    if (options.shared.dry_run) {
        print_wrapped(fmt::format("would write the spectra of {} into {}",
                                  counted(segments.segments(), "segment"), printable(options.out)));
        return ExitCode::ok;
    }
    const std::filesystem::path out = options.out;
    if (out.has_parent_path()) make_folder(out.parent_path());
    Progress progress("writing", "spectra", segments.segments(), options.shared.quiet);
    SpectraWriter writer(survey, store, out, progress);
    SegmentVisitor* const visitors[] = {&writer};
    segments.visit(visitors);
    progress.finish();
    if (!writer.any())
        throw InputError("no spectra are kept in this survey", "run 'hearwood measure' on it");
    writer.finish();
    return ExitCode::ok;
}

}  // namespace

Run add_spectra(CLI::App& program) {
    auto options = std::make_shared<SpectraOptions>();
    Command command(program, "spectra", "every segment's spectrum as NetCDF-4, for other programs");
    add_survey(command, options->survey);
    command.add_option("--out", options->out, "write here").required().type_name("FILE.nc");
    add_shared_options(command, options->shared, true);
    command.example("hearwood spectra ~/surveys/heath-and-alluvium --out spectra.nc");
    return [options] { return write_spectra(*options); };
}

}  // namespace hearwood
