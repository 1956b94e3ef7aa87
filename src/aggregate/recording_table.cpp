#include "aggregate/recording_table.h"

#include "aggregate/table_fields.h"
#include "base/text.h"

namespace hearwood {
namespace {

constexpr const char* kOrphan = "not in deployments.csv";
constexpr const char* kWrongRow = "wrong row";

std::string oddities_of(const KnownRecording& recording) {
    std::vector<std::string> names;
    for (const Oddity oddity : recording.oddities) names.push_back(name_of(oddity));
    return join(names, ";");
}

/// A count that is unknown while it is 0.
auto known(int RecordingRow::*member) {
    return [member](const RecordingLine& l) {
        const int value = l.recording.row.*member;
        return value > 0 ? std::optional(value) : std::nullopt;
    };
}

TableField state_field() {
    TableField field = text_field("state", "state", "how far it could be used");
    field.values = {"measured",    "not measured",       "damaged",   "unreadable", "no start time",
                    "clock reset", "outside deployment", "duplicate", kOrphan,      kWrongRow};
    field.required = true;
    return field;
}

}  // namespace

TableOf<RecordingLine> recordings_table(const Zone& zone) {
    TableField file = file_field();
    file.unique = true;
    TableField size = count_field("size", "size", "size of the file");
    size.unit = "byte";
    TableOf<RecordingLine> table("recordings.csv", "recordings",
                                 "A row is a file found, usable or not.");
    table
        .column(deployment_field(),
                [](const RecordingLine& l) { return l.recording.row.deployment; })
        .column(file, [](const RecordingLine& l) { return l.recording.row.path; })
        .column(moment_field("start", "start",
                             "when it began on the survey's local clock, corrected for the "
                             "recorder's clock; missing where neither name nor header tells"),
                [zone](const RecordingLine& l) {
                    return l.recording.start ? format_iso(*l.recording.start, zone) : std::string();
                })
        .column(number_field("duration", "s", "duration", "length of what can be read"),
                [](const RecordingLine& l) {
                    return l.recording.row.sample_rate > 0 ? std::optional(l.recording.duration_s())
                                                           : std::nullopt;
                })
        .column(number_field("rate", "Hz", "sample rate", "samples a second"),
                known(&RecordingRow::sample_rate))
        .column(number_field("channels", "1", "channels", "number of channels"),
                known(&RecordingRow::channels))
        .column(
            number_field("bits", "bit", "bits", "bits of a sample; missing for lossy compression"),
            known(&RecordingRow::bits))
        .column(size, [](const RecordingLine& l) { return l.recording.row.size; })
        .column(text_field("sha256", "SHA-256", "of the whole file, where it was computed"),
                [](const RecordingLine& l) { return l.recording.row.sha256; })
        .column(state_field(), &RecordingLine::state)
        .column(text_field("note", "note", "why, and what is odd about it, in words"),
                [](const RecordingLine& l) { return l.recording.note; })
        .column(text_field("oddities", "oddities",
                           "what is odd, joined by ';': clock reset, duplicate, overlapping, other "
                           "sample rate, other channels, gone"),
                [](const RecordingLine& l) { return oddities_of(l.recording); })
        .column(text_field("start_source", "source of the start", "where its start was read"),
                [](const RecordingLine& l) { return l.recording.row.start_source; })
        .column(number_field("correction_s", "s", "clock correction",
                             "added to the recorder's own time: minus its clock's error, by the "
                             "checks in deployments.csv"),
                [](const RecordingLine& l) {
                    return l.recording.start ? std::optional(l.recording.correction_s)
                                             : std::nullopt;
                })
        .column(number_field("lost_s", "s", "lost",
                             "what its header promises and the file does not hold"),
                [](const RecordingLine& l) { return l.recording.row.lost_s; })
        .column(count_field("segments", "segments", "rows of segments.csv"),
                &RecordingLine::segments)
        .column(count_field("kept", "segments kept", "those that no screen excludes"),
                &RecordingLine::kept);
    return table.key({"file"});
}

RecordingTable::RecordingTable(const Zone& zone, const std::filesystem::path& file)
    : file_(recordings_table(zone), file) {}

void RecordingTable::begin_recording(const KnownRecording&) {
    segments_ = kept_ = 0;
}

void RecordingTable::segment(const JudgedSegment& segment) {
    ++segments_;
    kept_ += segment.judgement.kept() ? 1 : 0;
}

void RecordingTable::end_recording(const KnownRecording& recording) {
    unusable_ += recording.unusable() ? 1 : 0;
    file_.add({recording, recording.state(), segments_, kept_});
}

void RecordingTable::orphan(const RecordingRow& row, bool row_is_wrong) {
    KnownRecording known;
    known.row = row;
    known.note = row.reason;
    file_.add({known, row_is_wrong ? kWrongRow : kOrphan, 0, 0});
}

}  // namespace hearwood
