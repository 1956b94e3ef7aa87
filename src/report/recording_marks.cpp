#include "report/recording_marks.h"

#include <algorithm>
#include <optional>
#include <string>

#include "aggregate/judged_segments.h"
#include "base/text.h"

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

}  // namespace

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

}  // namespace hearwood
