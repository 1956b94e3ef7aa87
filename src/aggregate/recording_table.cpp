#include "aggregate/recording_table.h"

#include "aggregate/table_descriptions.h"
#include "base/text.h"

namespace hearwood {
namespace {

std::string oddities_of(const KnownRecording& recording) {
    std::vector<std::string> names;
    for (const Oddity oddity : recording.oddities) names.push_back(name_of(oddity));
    return join(names, ";");
}

}  // namespace

RecordingTable::RecordingTable(const Zone& zone, const std::filesystem::path& file)
    : zone_(zone), csv_(file, header_of(describe_recordings())) {}

void RecordingTable::begin_recording(const KnownRecording&) {
    segments_ = kept_ = 0;
}

void RecordingTable::segment(const JudgedSegment& segment) {
    ++segments_;
    kept_ += segment.judgement.kept() ? 1 : 0;
}

void RecordingTable::end_recording(const KnownRecording& recording) {
    troubled_ += recording.troubled() ? 1 : 0;
    write(recording, recording.state());
}

void RecordingTable::stranger(const RecordingRow& row) {
    KnownRecording known;
    known.row = row;
    known.note = row.reason;
    segments_ = kept_ = 0;
    write(known, "not in deployments.csv");
}

void RecordingTable::write(const KnownRecording& recording, const std::string& state) {
    const RecordingRow& row = recording.row;
    const auto known = [&](std::int64_t value) {
        if (value > 0)
            csv_.integer(value);
        else
            csv_.missing();
    };
    ++recordings_;
    csv_.text(row.deployment);
    csv_.text(row.path);
    csv_.text(recording.start ? format_iso(*recording.start, zone_) : std::string());
    csv_.number(row.sample_rate > 0 ? std::optional(recording.duration_s()) : std::nullopt);
    known(row.sample_rate);
    known(row.channels);
    known(row.bits);
    csv_.integer(row.size);
    csv_.text(row.sha256);
    csv_.text(state);
    csv_.text(recording.note);
    csv_.text(oddities_of(recording));
    csv_.text(row.start_source);
    csv_.number(recording.start ? std::optional(recording.correction_s) : std::nullopt);
    csv_.number(row.lost_s);
    csv_.integer(segments_);
    csv_.integer(kept_);
    csv_.end_row();
}

}  // namespace hearwood
