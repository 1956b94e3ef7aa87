#include "export/spectra_writer.h"

#include <fmt/core.h>

#include <map>
#include <string>
#include <utility>

#include "base/error.h"
#include "base/file.h"
#include "base/progress.h"
#include "export/spectra_file.h"

namespace hearwood {
namespace {

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
        SpectraFile& file = file_for(recording.measured_rate);
        store_.for_each_spectrum_of(recording.row.id,
                                    [&](int channel, int segment, std::string_view bytes) {
                                        const auto found = rows_.find({channel, segment});
                                        if (found == rows_.end()) return;
                                        found->second.spectrum = decode_kept_spectrum(bytes);
                                        file.add(std::move(found->second));
                                        rows_.erase(found);
                                    });
    }

    std::vector<SpectraWritten> finish() {
        std::vector<SpectraWritten> written;
        for (auto& [rate, file] : files_) {
            written.push_back({path_for(rate), file.rows(), rate});
            file.finish();
        }
        return written;
    }

  private:
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

}  // namespace

std::vector<SpectraWritten> write_spectra(const Survey& survey, const Store& store,
                                          const JudgedSegments& segments,
                                          const std::filesystem::path& out, Progress& progress) {
    if (out.has_parent_path()) make_folder(out.parent_path());
    SpectraWriter writer(survey, store, out, progress);
    SegmentVisitor* const visitors[] = {&writer};
    segments.visit(visitors);
    std::vector<SpectraWritten> written = writer.finish();
    if (written.empty())
        throw InputError("no spectra are kept in this survey", "run 'hearwood measure' on it");
    return written;
}

}  // namespace hearwood
