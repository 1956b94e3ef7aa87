// Store: the tables segments and spectra.
#include <fmt/core.h>

#include <string>

#include "base/error.h"
#include "base/text.h"
#include "store/schema.h"
#include "store/store_impl.h"

namespace hearwood {

namespace {

std::string insert_segment_sql(std::size_t values) {
    std::string sql = "INSERT INTO segments VALUES (?, ?, ?, ?, ?, ?, ?";
    for (std::size_t i = 0; i < values; ++i) sql += ", ?";
    return sql + ")";
}

std::int64_t checked_id(std::int64_t recording, const SegmentRow& row) {
    if (row.channel < 0 || row.channel >= kMostChannels || row.segment < 0 ||
        row.segment >= kMostSegments)
        throw MachineError(
            fmt::format("survey.db holds at most {} channels and {} segments of a recording; "
                        "raise segment_s in survey.toml",
                        grouped(kMostChannels), grouped(kMostSegments)));
    return segment_id(recording, row.channel, row.segment);
}

void read_segment(const Statement& statement, std::size_t values, SegmentRow& row) {
    row.channel = static_cast<int>(statement.integer(2));
    row.segment = static_cast<int>(statement.integer(3));
    row.first_sample = statement.integer(4);
    row.samples = statement.integer(5);
    row.complete = statement.integer(6) != 0;
    row.values.resize(values);
    for (std::size_t i = 0; i < values; ++i)
        row.values[i] = statement.number(kSegmentKeyColumns + static_cast<int>(i));
}

/// For a statement whose two parameters are the first and the last possible segment id of a
/// recording.
void bind_range(Statement& statement, std::int64_t recording) {
    statement.bind(1, segment_id(recording, 0, 0));
    statement.bind(2, segment_id(recording + 1, 0, 0) - 1);
}

}  // namespace

void Store::append(std::int64_t recording, std::span<const MeasuredSegment> segments) {
    impl_->require_transaction();
    Statement& insert =
        impl_->prepared(impl_->append_segment, insert_segment_sql(impl_->columns.size()));
    Statement& keep = impl_->prepared(impl_->append_spectrum, "INSERT INTO spectra VALUES (?, ?)");
    Statement& hear = impl_->prepared(impl_->append_sounds, "INSERT INTO sounds VALUES (?, ?)");
    for (const MeasuredSegment& segment : segments) {
        const SegmentRow& row = segment.row;
        if (row.values.size() != impl_->columns.size())
            throw std::logic_error("a segment has not as many values as the store has columns");
        const std::int64_t id = checked_id(recording, row);
        insert.bind(1, id);
        insert.bind(2, recording);
        insert.bind(3, std::int64_t{row.channel});
        insert.bind(4, std::int64_t{row.segment});
        insert.bind(5, row.first_sample);
        insert.bind(6, row.samples);
        insert.bind(7, std::int64_t{row.complete});
        for (std::size_t i = 0; i < row.values.size(); ++i)
            insert.bind(kSegmentKeyColumns + 1 + static_cast<int>(i), row.values[i]);
        insert.run();
        const auto add_bytes = [&](Statement& statement, const std::string& bytes) {
            if (bytes.empty()) return;
            statement.bind(1, id);
            statement.bind_bytes(2, bytes);
            statement.run();
        };
        add_bytes(keep, segment.spectra);
        add_bytes(hear, segment.sounds);
    }
}

void Store::delete_results(std::int64_t recording) {
    impl_->require_transaction();
    for (const char* sql : {"DELETE FROM spectra WHERE segment_id BETWEEN ? AND ?",
                            "DELETE FROM sounds WHERE segment_id BETWEEN ? AND ?",
                            "DELETE FROM even WHERE segment_id BETWEEN ? AND ?",
                            "DELETE FROM segments WHERE id BETWEEN ? AND ?"}) {
        Statement statement(impl_->database, sql);
        bind_range(statement, recording);
        statement.run();
    }
}

void Store::forget(std::int64_t recording) {
    delete_results(recording);
    Statement statement(impl_->database, "DELETE FROM recordings WHERE id = ?");
    statement.bind(1, recording);
    statement.run();
}

std::int64_t Store::count_segments() const {
    Statement statement(impl_->database, "SELECT count(*) FROM segments");
    statement.step();
    return statement.integer(0);
}

std::int64_t Store::count_segments_of(std::int64_t recording) const {
    Statement statement(impl_->database, "SELECT count(*) FROM segments WHERE id BETWEEN ? AND ?");
    bind_range(statement, recording);
    statement.step();
    return statement.integer(0);
}

void Store::Impl::segments_between(std::int64_t first, std::int64_t last,
                                   const std::function<void(const SegmentRow&)>& use) {
    const char* sql = "SELECT * FROM segments WHERE id BETWEEN ? AND ? ORDER BY id";
    // Preparing a row of many columns costs as much as reading fifty: the statement is kept. While
    // it is out, the callback being free to start another walk, that walk makes one of its own.
    std::unique_ptr<Statement> statement = std::move(segments_of_one);
    if (!statement) statement = std::make_unique<Statement>(database, sql);
    statement->bind(1, first);
    statement->bind(2, last);
    SegmentRow row;
    while (statement->step()) {
        read_segment(*statement, columns.size(), row);
        use(row);
    }
    statement->reset();
    segments_of_one = std::move(statement);
}

void Store::for_each_segment_of(std::int64_t recording,
                                const std::function<void(const SegmentRow&)>& use) const {
    impl_->segments_between(segment_id(recording, 0, 0), segment_id(recording + 1, 0, 0) - 1, use);
}

std::optional<std::vector<double>> Store::segment_values(std::int64_t recording, int channel,
                                                         int segment) const {
    std::optional<std::vector<double>> values;
    const std::int64_t id = segment_id(recording, channel, segment);
    impl_->segments_between(id, id, [&](const SegmentRow& row) { values = row.values; });
    return values;
}

void Store::for_each_segment(
    const std::function<void(const RecordingRow&, const SegmentRow&)>& use) const {
    Statement& statement = impl_->prepared(
        impl_->segments_of, "SELECT * FROM segments WHERE id BETWEEN ? AND ? ORDER BY id");
    SegmentRow row;
    for_each_recording([&](const RecordingRow& recording) {
        if (recording.settings.empty()) return;
        statement.reset();
        bind_range(statement, recording.id);
        while (statement.step()) {
            read_segment(statement, impl_->columns.size(), row);
            use(recording, row);
        }
    });
    statement.reset();
}

namespace {

void walk_kept(Database& database, const std::string& table, std::int64_t recording,
               const std::function<void(int, int, std::string_view)>& use) {
    Statement statement(database, "SELECT segment_id, kept FROM " + table +
                                      " WHERE segment_id BETWEEN ? AND ? ORDER BY segment_id");
    bind_range(statement, recording);
    while (statement.step()) {
        const std::int64_t id = statement.integer(0);
        use(static_cast<int>(id >> 22 & (kMostChannels - 1)),
            static_cast<int>(id & (kMostSegments - 1)), statement.bytes(1));
    }
}

}  // namespace

void Store::for_each_spectrum_of(
    std::int64_t recording,
    const std::function<void(int channel, int segment, std::string_view bytes)>& use) const {
    walk_kept(impl_->database, "spectra", recording, use);
}

void Store::for_each_even_of(std::int64_t recording,
                             const std::function<void(const EvenRow&)>& use) const {
    if (!impl_->database.one("SELECT name FROM sqlite_schema WHERE name = 'even'")) return;
    Statement statement(impl_->database,
                        "SELECT * FROM even WHERE segment_id BETWEEN ? AND ? ORDER BY segment_id");
    bind_range(statement, recording);
    EvenRow row;
    row.values.resize(kEvenValues);
    while (statement.step()) {
        const std::int64_t id = statement.integer(0);
        row.channel = static_cast<int>(id >> 22 & (kMostChannels - 1));
        row.segment = static_cast<int>(id & (kMostSegments - 1));
        row.terms = statement.integer(1);
        for (int i = 0; i < kEvenValues; ++i)
            row.values[static_cast<std::size_t>(i)] = statement.number(2 + i);
        use(row);
    }
}

void Store::put_even(std::int64_t recording, const EvenRow& row) {
    impl_->require_transaction();
    Statement& statement = impl_->prepared(
        impl_->put_even, "INSERT OR REPLACE INTO even VALUES (?, ?, ?, ?, ?, ?, ?)");
    statement.bind(1, segment_id(recording, row.channel, row.segment));
    statement.bind(2, row.terms);
    for (int i = 0; i < kEvenValues; ++i)
        statement.bind(3 + i, row.values[static_cast<std::size_t>(i)]);
    statement.run();
}

void Store::for_each_sounds_of(
    std::int64_t recording,
    const std::function<void(int channel, int segment, std::string_view bytes)>& use) const {
    // A file of an older version that is only read has no such table.
    if (!impl_->database.one("SELECT name FROM sqlite_schema WHERE name = 'sounds'")) return;
    walk_kept(impl_->database, "sounds", recording, use);
}

std::string Store::spectrum(std::int64_t recording, int channel, int segment) const {
    Statement statement(impl_->database, "SELECT kept FROM spectra WHERE segment_id = ?");
    statement.bind(1, segment_id(recording, channel, segment));
    return statement.step() ? std::string(statement.bytes(0)) : std::string();
}

}  // namespace hearwood
