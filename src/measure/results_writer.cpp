#include "measure/results_writer.h"

#include <fmt/core.h>

#include <cmath>

#include "base/text.h"

namespace hearwood {

namespace {

/// What a killed program may lose: about a second of work.
constexpr auto kCommitEvery = std::chrono::seconds(1);
constexpr std::int64_t kRowsPerCommit = 10'000;

}  // namespace

ResultsWriter::ResultsWriter(Store& store, std::mutex& store_mutex, MeasureSummary& summary,
                             std::uint64_t bytes, bool quiet)
    : store_(store),
      store_mutex_(store_mutex),
      summary_(summary),
      progress_("measuring", "seconds of sound", 0, quiet, "times real time"),
      bytes_left_(bytes),
      last_commit_(std::chrono::steady_clock::now()) {}

void ResultsWriter::write(PieceDone&& done) {
    RecordingInWork& recording = *done.piece.recording;
    {
        const std::scoped_lock lock(store_mutex_);
        if (!in_transaction_) store_.begin();
        in_transaction_ = true;
        recording.losses.add(done.losses);
        if (done.piece.first) begin_recording(recording, done);
        store_.append(recording.row.id, done.rows);
        if (done.piece.last && done.done_to == done.piece.to) end_recording(recording, done);
        rows_since_commit_ += 1 + static_cast<std::int64_t>(done.rows.size());
        commit_when_due();
    }
    summary_.segments += static_cast<std::int64_t>(done.rows.size());
    for (const MeasuredSegment& segment : done.rows)
        if (segment.row.channel == 0)
            summary_.audio_s +=
                static_cast<double>(segment.row.samples) / recording.row.sample_rate;
    show_progress(done);
}

void ResultsWriter::begin_recording(RecordingInWork& recording, const PieceDone& done) {
    const bool known = recording.task.row.id != 0;
    if (known && recording.task.kind == Task::Kind::measure && recording.resume_at == 0)
        store_.delete_results(recording.task.row.id);
    const bool whole = done.piece.last && done.done_to == done.piece.to;
    if (whole && recording.row.state == RecordingState::pending &&
        recording.task.kind == Task::Kind::measure)
        conclude(recording, done);
    recording.row.id = store_.put(recording.row);
    if (!whole) unfinished_ = done.piece.recording;
}

/// The state that the recording ends with.
void ResultsWriter::conclude(RecordingInWork& recording, const PieceDone& done) {
    if (recording.task.changed && done.sha256 != recording.task.row.sha256) {
        if (recording.task.row.proved)
            recording.row.reason = "changed since it was copied and proved";
        recording.row.sha256.clear();
        recording.row.proved = false;
        recording.row.card_path.clear();  // it is no longer what lay on the card
    }
    if (!done.sha256.empty()) recording.row.sha256 = done.sha256;
    RecordingFacts::conclude(recording.row, recording.damages, recording.losses);
}

void ResultsWriter::end_recording(RecordingInWork& recording, const PieceDone& done) {
    RecordingRow& row = recording.row;
    switch (recording.task.kind) {
        case Task::Kind::measure:
            if (row.state == RecordingState::pending) {
                conclude(recording, done);
                store_.put(row);
            }
            ++summary_.measured;
            break;
        case Task::Kind::restart:
            // Only the start was read anew; without one the results have no place in time.
            if (row.state == RecordingState::pending) {
                row.state = recording.task.row.state;
                row.reason = recording.task.row.reason;
                row.lost_s = recording.task.row.lost_s;
                row.spoilt_segments = recording.task.row.spoilt_segments;
            } else if (row.state == RecordingState::no_start_time) {
                store_.delete_results(row.id);
            } else {
                row = recording.task.row;  // cannot be opened just now: all stays, for the next run
            }
            if (!done.sha256.empty()) row.sha256 = done.sha256;
            store_.put(row);
            break;
        case Task::Kind::hash:
            row.sha256 = done.sha256;
            store_.put(row);
            break;
    }
    unfinished_.reset();
    if (row.state != RecordingState::measured && recording.task.kind != Task::Kind::hash)
        progress_.log_line(fmt::format("{}: {}: {}", printable(name_from_utf8(row.path)),
                                       word(row.state), row.reason));
}

void ResultsWriter::commit_when_due() {
    if (rows_since_commit_ < kRowsPerCommit &&
        std::chrono::steady_clock::now() < last_commit_ + kCommitEvery)
        return;
    commit();
}

void ResultsWriter::commit() {
    if (!in_transaction_) return;
    if (unfinished_) {
        // What was met so far goes with the rows that are there, for the run that goes on from
        // here.
        RecordingRow row = unfinished_->row;
        row.spoilt_segments += unfinished_->losses.spoilt_segments;
        row.reason = unfinished_->losses.unread_frames > 0 ? "not read to the end" : "";
        store_.put(row);
    }
    store_.commit();
    in_transaction_ = false;
    rows_since_commit_ = 0;
    last_commit_ = std::chrono::steady_clock::now();
}

void ResultsWriter::finish() {
    const std::scoped_lock lock(store_mutex_);
    commit();
    progress_.finish();
}

/// The files that are left are reckoned to hold as much sound a byte as this one.
void ResultsWriter::show_progress(const PieceDone& done) {
    const RecordingRow& row = done.piece.recording->row;
    if (done.piece.first)
        bytes_left_ -= std::min(bytes_left_, static_cast<std::uint64_t>(row.size));
    const double length_s =
        row.sample_rate > 0 ? static_cast<double>(row.frames) / row.sample_rate : 0;
    if (length_s > 0 && row.size > 0) {
        const double here_left =
            length_s * static_cast<double>(done.piece.recording->segments - done.done_to) /
            static_cast<double>(std::max<std::int64_t>(done.piece.recording->segments, 1));
        const double left =
            here_left + static_cast<double>(bytes_left_) * length_s / static_cast<double>(row.size);
        progress_.set_total(static_cast<std::uint64_t>(std::llround(summary_.audio_s + left)));
    }
    const auto whole = static_cast<std::uint64_t>(summary_.audio_s - shown_s_);
    progress_.add(whole);
    shown_s_ += static_cast<double>(whole);
}

}  // namespace hearwood
