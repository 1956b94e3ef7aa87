#include "measure/verify.h"

#include <fmt/core.h>
#include <oneapi/tbb/enumerable_thread_specific.h>
#include <oneapi/tbb/global_control.h>
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_arena.h>

#include <cmath>
#include <mutex>
#include <utility>

#include "base/error.h"
#include "base/interrupt.h"
#include "base/missing.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "base/text.h"
#include "measure/measure.h"
#include "measure/recording_worker.h"

namespace hearwood {

namespace {

bool same_value(double stored, double again, bool to_the_bit) {
    if (is_missing(stored) || is_missing(again)) return is_missing(stored) && is_missing(again);
    if (to_the_bit) return stored == again;
    return std::abs(stored - again) <= kOtherPathTolerance * std::max(1.0, std::abs(stored));
}

/// What was found about one recording.
struct SecondReading {
    std::string disagreement;
    std::int64_t segments = 0;
    bool hashed = false;
};

class Verifier {
  public:
    Verifier(const Survey& survey, const Store& store)
        : survey_(survey),
          store_(store),
          settings_(*store.settings()),
          to_the_bit_(store.note("cpu_path") == cpu_path()),
          facts_(survey, settings_.hash),
          workers_([this] { return RecordingWorker(survey_.measure, facts_, false); }) {}

    bool to_the_bit() const { return to_the_bit_; }
    SecondReading look_at(const RecordingRow& row);

  private:
    std::vector<MeasuredSegment> stored_segments(std::int64_t recording);
    std::string difference(const MeasuredSegment& stored, const MeasuredSegment& again) const;
    std::string measured_again(const RecordingRow& row, const std::filesystem::path& path,
                               SecondReading& reading);

    const Survey& survey_;
    const Store& store_;
    StoredSettings settings_;
    bool to_the_bit_;
    RecordingFacts facts_;
    oneapi::tbb::enumerable_thread_specific<RecordingWorker> workers_;
    std::mutex store_mutex_;
};

std::vector<MeasuredSegment> Verifier::stored_segments(std::int64_t recording) {
    const std::scoped_lock lock(store_mutex_);
    std::vector<MeasuredSegment> segments;
    store_.for_each_segment_of(recording, [&](const SegmentRow& row) {
        segments.push_back({row, {}, {}});
    });
    const auto put = [&](std::string MeasuredSegment::*kept) {
        return [&segments, kept, next = std::size_t{0}](int channel, int segment,
                                                        std::string_view bytes) mutable {
            const auto place = [&] {
                return std::pair(segments[next].row.channel, segments[next].row.segment);
            };
            while (next < segments.size() && place() < std::pair(channel, segment)) ++next;
            if (next < segments.size() && place() == std::pair(channel, segment))
                segments[next].*kept = bytes;
        };
    };
    store_.for_each_spectrum_of(recording, put(&MeasuredSegment::spectra));
    store_.for_each_sounds_of(recording, put(&MeasuredSegment::sounds));
    return segments;
}

std::string Verifier::difference(const MeasuredSegment& stored,
                                 const MeasuredSegment& again) const {
    const std::string place =
        fmt::format("channel {}, segment {}", again.row.channel, again.row.segment);
    if (stored.row.first_sample != again.row.first_sample ||
        stored.row.samples != again.row.samples || stored.row.complete != again.row.complete)
        return place + ": covers other samples than the database says";
    for (std::size_t i = 0; i < again.row.values.size(); ++i)
        if (!same_value(stored.row.values[i], again.row.values[i], to_the_bit_))
            return fmt::format("{}: {} is {} in the database and {} when measured again", place,
                               printable(settings_.columns[i]), format_number(stored.row.values[i]),
                               format_number(again.row.values[i]));
    if (to_the_bit_ ? stored.spectra != again.spectra
                    : stored.spectra.size() != again.spectra.size())
        return place + ": the kept spectrum is another when measured again";
    if (to_the_bit_ && stored.sounds != again.sounds)
        return place + ": the kept sounds are others when measured again";
    return {};
}

std::string Verifier::measured_again(const RecordingRow& row, const std::filesystem::path& path,
                                     SecondReading& reading) {
    const std::vector<MeasuredSegment> stored = stored_segments(row.id);
    std::size_t found = 0;
    std::string first_difference;
    RecordingRow again = row;
    workers_.local().measure_whole(path, again, [&](MeasuredSegment&& segment) {
        ++reading.segments;
        const auto key = [](const MeasuredSegment& s) {
            return std::pair(s.row.channel, s.row.segment);
        };
        const auto place =
            std::lower_bound(stored.begin(), stored.end(), segment,
                             [&](const auto& a, const auto& b) { return key(a) < key(b); });
        const bool there = place != stored.end() && key(*place) == key(segment);
        found += there;
        if (!first_difference.empty()) return;
        first_difference = there ? difference(*place, segment)
                                 : fmt::format("channel {}, segment {} is not in the database",
                                               segment.row.channel, segment.row.segment);
    });
    if (!first_difference.empty()) return first_difference;
    if (found < stored.size())
        return fmt::format(
            "the database has {} not in the recording",
            counted(stored.size() - found, "segment of it that is", "segments of it that are"));
    if (again.state != row.state)
        return fmt::format("is {} in the database and {} when opened again", word(row.state),
                           word(again.state));
    if (again.frames != row.frames || again.sample_rate != row.sample_rate ||
        again.channels != row.channels || again.start != row.start ||
        again.start_offset_s != row.start_offset_s)
        return "start or shape are not those in the database";
    return {};
}

SecondReading Verifier::look_at(const RecordingRow& row) {
    SecondReading reading;
    const auto path = disk_path(survey_, row);
    std::error_code error;
    const auto size = std::filesystem::file_size(path, error);
    if (row.gone || row.state == RecordingState::pending) {
        reading.disagreement = row.gone ? "is no longer on the disk" : "is not measured yet";
    } else if (std::filesystem::is_directory(path, error)) {
        // Listed as unreadable, and still no file.
    } else if (!std::filesystem::exists(path, error)) {
        reading.disagreement = "is no longer on the disk";
    } else if (std::cmp_not_equal(size, row.size)) {
        reading.disagreement =
            fmt::format("has {} bytes, the database says {}", grouped(size), grouped(row.size));
    } else {
        if (!row.sha256.empty()) {
            reading.hashed = true;
            std::string sum;
            try {
                sum = sha256_of_file(path);
            } catch (const MachineError&) {
                // An unreadable place: the sums differ.
            }
            if (sum != row.sha256) reading.disagreement = "its SHA-256 is not that of the database";
        }
        if (reading.disagreement.empty()) reading.disagreement = measured_again(row, path, reading);
    }
    return reading;
}

}  // namespace

Verification verify_recordings(const Survey& survey, const Store& store, int jobs, bool quiet) {
    namespace tbb = oneapi::tbb;
    const tbb::global_control threads(tbb::global_control::max_allowed_parallelism,
                                      static_cast<std::size_t>(jobs));
    Verification result;
    Verifier verifier(survey, store);
    result.to_the_bit = verifier.to_the_bit();
    Progress progress("reading again", "recordings",
                      static_cast<std::uint64_t>(store.count_recordings()), quiet);
    tbb::task_arena arena(jobs);
    for (const Deployment& deployment : survey.deployments) {
        std::vector<RecordingRow> rows;
        store.for_each_recording_of(deployment.name,
                                    [&](const RecordingRow& row) { rows.push_back(row); });
        std::vector<SecondReading> readings(rows.size());
        arena.execute([&] {
            tbb::parallel_for(std::size_t{0}, rows.size(), [&](std::size_t i) {
                if (interrupted()) return;
                readings[i] = verifier.look_at(rows[i]);
                progress.add();
            });
        });
        result.interrupted = interrupted();
        if (result.interrupted) return result;
        for (std::size_t i = 0; i < rows.size(); ++i) {
            ++result.recordings;
            result.hashed += readings[i].hashed;
            result.segments += readings[i].segments;
            if (!readings[i].disagreement.empty())
                result.disagreements.push_back(printable(name_from_utf8(rows[i].path)) + ": " +
                                               readings[i].disagreement);
        }
    }
    return result;
}

}  // namespace hearwood
