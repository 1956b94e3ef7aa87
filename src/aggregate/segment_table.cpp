#include "aggregate/segment_table.h"

#include "aggregate/table_fields.h"
#include "base/missing.h"
#include "base/text.h"
#include "screen/rules.h"

namespace hearwood {
namespace {

std::string reason_names() {
    std::string names;
    for (int i = 0; i < kReasonCount; ++i)
        names += (i > 0 ? ", " : "") + std::string(name_of(static_cast<Reason>(i)));
    return names;
}

void add_identity(TableOf<SegmentLine>& table, const Survey& survey) {
    table
        .column(site_field(),
                [&](const SegmentLine& l) { return survey.sites[l.segment.site].name; })
        .column(stand_field(survey),
                [&](const SegmentLine& l) { return survey.sites[l.segment.site].stand; })
        .column(deployment_field(),
                [&](const SegmentLine& l) { return survey.deployments[l.segment.deployment].name; })
        .column(file_field(), [](const SegmentLine& l) { return l.segment.recording->row.path; })
        .column(count_field("channel", "channel", "channel of the recording, counted from 0"),
                [](const SegmentLine& l) { return l.segment.row->channel; })
        .column(count_field("segment", "segment", "segment of the recording, counted from 0"),
                [](const SegmentLine& l) { return l.segment.row->segment; });
}

void add_times(TableOf<SegmentLine>& table, const Survey& survey) {
    const Zone zone = Zone::named(survey.time_zone);
    table
        .column(moment_field("start_utc", "start (UTC)",
                             "when the segment began, corrected for the recorder's clock, in UTC"),
                [](const SegmentLine& l) { return format_iso(l.segment.place.start, Zone()); })
        .column(moment_field("start_local", "start (local)",
                             "the same on the survey's local clock, with its offset from UTC"),
                [zone](const SegmentLine& l) { return format_iso(l.segment.place.start, zone); })
        .column(date_field("local date of the segment's midpoint"),
                [](const SegmentLine& l) { return format_date(l.segment.place.part.date); })
        .column(hour_field(), [](const SegmentLine& l) { return l.segment.place.part.hour; })
        .column(number_field("duration_s", "s", "duration", "length of the segment"),
                [](const SegmentLine& l) { return l.segment.duration_s(); })
        .column(
            flag_field("complete", "complete",
                       "1: as long as the survey's segments; 0: the shorter last one of a file"),
            [](const SegmentLine& l) { return l.segment.row->complete; })
        .column(window_field(survey, false),
                [&](const SegmentLine& l) {
                    const int window = l.segment.place.part.window;
                    return window < 0 ? std::string()
                                      : survey.windows[static_cast<std::size_t>(window)].name;
                })
        .column(number_field("minutes_from_sunrise", "min", "minutes from sunrise",
                             "midpoint of the segment minus the sunrise of its local date; missing "
                             "where the sun does not rise"),
                [](const SegmentLine& l) { return l.segment.place.part.minutes_from_sunrise; });
}

}  // namespace

TableOf<SegmentLine> segments_table(const Survey& survey) {
    TableOf<SegmentLine> table(
        "segments.csv", "segments",
        "A row is one channel of one segment of a recording whose start is known.");
    add_identity(table, survey);
    add_times(table, survey);
    const std::vector<TableColumn> columns = segment_columns(survey);
    for (std::size_t i = 0; i < columns.size(); ++i)
        table.column(value_field(columns[i].column, ""),
                     [i](const SegmentLine& l) { return l.values[i]; });
    if (survey.activity.even) {
        std::size_t i = columns.size();
        for (const Column& column : even_columns(survey.measure))
            table.column(value_field(column, ""),
                         [i = i++](const SegmentLine& l) { return l.values[i]; });
    }
    table
        .column(text_field("flags", "flags",
                           "every screen that fired, joined by ';': " + reason_names()),
                [](const SegmentLine& l) { return l.segment.judgement.flags.text(); })
        .column(flag_field("kept", "kept", "1: no screen excludes the segment"),
                [](const SegmentLine& l) { return l.segment.judgement.kept(); })
        .column(text_field("reasons", "reasons", "those flags that exclude, joined by ';'"),
                [](const SegmentLine& l) { return l.segment.judgement.reasons.text(); });
    return table.key({"file", "channel", "segment"})
        .refers({{"file"}, "recordings", {"file"}})
        .refers({{"site"}, "sites", {"site"}})
        .refers({{"deployment"}, "deployments", {"deployment"}});
}

SegmentTable::SegmentTable(const Survey& survey, const DerivedValues& derived,
                           const JudgedSegments& segments, const std::filesystem::path& file,
                           Progress& progress)
    : survey_(survey),
      derived_(derived),
      progress_(progress),
      reader_(segment_columns(survey), segments.stored_columns()),
      file_(segments_table(survey), file) {}

void SegmentTable::segment(const JudgedSegment& segment) {
    const Deployment& deployment = survey_.deployments[segment.deployment];
    reader_.read(segment.row->values, deployment.full_scale_db_spl.value_or(kMissing), values_);
    if (survey_.activity.even) {
        const auto even = even_part(derived_.values());
        values_.insert(values_.end(), even.begin(), even.end());
    }
    file_.add({segment, values_});
    progress_.add();
}

namespace {

constexpr const char* kOrphan = "not in deployments.csv";
constexpr const char* kRowIsWrong = "wrong row";

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
                    "clock reset", "outside deployment", "duplicate", kOrphan,      kRowIsWrong};
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
    file_.add({known, row_is_wrong ? kRowIsWrong : kOrphan, 0, 0});
}

}  // namespace hearwood
