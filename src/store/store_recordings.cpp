// Store: the table recordings.
#include <string>

#include "store/schema.h"
#include "store/store_impl.h"

namespace hearwood {

namespace {

// In the order in which read_row() and bind_row() take them.
constexpr const char* kRecordingColumns =
    "deployment, path, size, mtime_ns, start_wall, start_offset_s, start_source, start_pattern, "
    "sample_rate, "
    "channels, bits, format, frames, lost_s, spoilt_segments, serial, state, reason, settings, "
    "gone, sha256, "
    "proved, card_path";

constexpr const char* kInOrder = " ORDER BY deployment, start_order_ms NULLS LAST, path";

std::string select(const std::string& condition) {
    return std::string("SELECT id, ") + kRecordingColumns + " FROM recordings" + condition;
}

RecordingRow read_row(const Statement& row) {
    RecordingRow r;
    int c = 0;
    r.id = row.integer(c++);
    r.deployment = row.text(c++);
    r.path = row.text(c++);
    r.size = row.integer(c++);
    r.mtime_ns = row.integer(c++);
    r.start = parse_local_time(row.text(c++));
    if (!row.is_null(c)) r.start_offset_s = static_cast<int>(row.integer(c));
    ++c;
    r.start_source = row.text(c++);
    r.start_pattern = row.text(c++);
    r.sample_rate = static_cast<int>(row.integer(c++));
    r.channels = static_cast<int>(row.integer(c++));
    r.bits = static_cast<int>(row.integer(c++));
    r.format = row.text(c++);
    r.frames = row.integer(c++);
    r.lost_s = row.number(c++);
    r.spoilt_segments = row.integer(c++);
    r.serial = row.text(c++);
    r.state = recording_state(row.text(c++));
    r.reason = row.text(c++);
    r.settings = row.text(c++);
    r.gone = row.integer(c++) != 0;
    r.sha256 = row.text(c++);
    r.proved = row.integer(c++) != 0;
    r.card_path = row.text(c++);
    return r;
}

void bind_or_null(Statement& statement, int parameter, const std::string& text) {
    if (text.empty())
        statement.bind_null(parameter);
    else
        statement.bind(parameter, std::string_view(text));
}

std::vector<RecordingRow> rows_of(Statement& statement) {
    std::vector<RecordingRow> rows;
    while (statement.step()) rows.push_back(read_row(statement));
    statement.reset();
    return rows;
}

}  // namespace

std::optional<RecordingRow> Store::find(std::string_view path) const {
    Statement& statement = impl_->prepared(impl_->find, select(" WHERE path = ?"));
    statement.bind(1, path);
    auto rows = rows_of(statement);
    return rows.empty() ? std::nullopt : std::optional(std::move(rows.front()));
}

std::optional<RecordingRow> Store::find_sha256(std::string_view sha256) const {
    Statement statement(impl_->database, select(" WHERE sha256 = ? ORDER BY path LIMIT 1"));
    statement.bind(1, sha256);
    auto rows = rows_of(statement);
    return rows.empty() ? std::nullopt : std::optional(std::move(rows.front()));
}

std::int64_t Store::put(const RecordingRow& r) {
    impl_->require_transaction();
    Statement& put = impl_->prepared(
        impl_->put,
        std::string("INSERT INTO recordings (") + kRecordingColumns +
            ", start_order_ms) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, "
            "?14, ?15, "
            "?16, ?17, ?18, ?19, ?20, ?21, ?22, ?23, ?24) ON CONFLICT (path) DO UPDATE SET "
            "deployment = ?1, size = ?3, mtime_ns = ?4, start_wall = ?5, start_offset_s = ?6, "
            "start_source = ?7, start_pattern = ?8, sample_rate = ?9, channels = ?10, bits = ?11, "
            "format = ?12, frames = ?13, lost_s = ?14, spoilt_segments = ?15, serial = ?16, state "
            "= ?17, "
            "reason = ?18, settings = ?19, gone = ?20, sha256 = ?21, proved = ?22, card_path = "
            "?23, "
            "start_order_ms = ?24 RETURNING id");
    std::string wall;
    if (r.start) wall = format_local(*r.start);
    int p = 1;
    put.bind(p++, std::string_view(r.deployment));
    put.bind(p++, std::string_view(r.path));
    put.bind(p++, r.size);
    put.bind(p++, r.mtime_ns);
    bind_or_null(put, p++, wall);
    if (r.start_offset_s) put.bind(p, std::int64_t{*r.start_offset_s});
    ++p;
    put.bind(p++, std::string_view(r.start_source));
    put.bind(p++, std::string_view(r.start_pattern));
    put.bind(p++, std::int64_t{r.sample_rate});
    put.bind(p++, std::int64_t{r.channels});
    put.bind(p++, std::int64_t{r.bits});
    put.bind(p++, std::string_view(r.format));
    put.bind(p++, r.frames);
    put.bind(p++, r.lost_s);
    put.bind(p++, r.spoilt_segments);
    put.bind(p++, std::string_view(r.serial));
    put.bind(p++, word(r.state));
    put.bind(p++, std::string_view(r.reason));
    bind_or_null(put, p++, r.settings);
    put.bind(p++, std::int64_t{r.gone});
    bind_or_null(put, p++, r.sha256);
    put.bind(p++, std::int64_t{r.proved});
    put.bind(p++, std::string_view(r.card_path));
    if (r.start)
        put.bind(p, std::int64_t{r.start->time_since_epoch().count() -
                                 std::int64_t{r.start_offset_s.value_or(0)} * 1000});
    put.step();
    const std::int64_t id = put.integer(0);
    put.run();
    return id;
}

void Store::move(std::int64_t recording, std::string_view path) {
    impl_->require_transaction();
    Statement statement(impl_->database, "UPDATE recordings SET path = ? WHERE id = ?");
    statement.bind(1, path);
    statement.bind(2, recording);
    statement.run();
}

std::int64_t Store::count_recordings() const {
    Statement statement(impl_->database, "SELECT count(*) FROM recordings");
    statement.step();
    return statement.integer(0);
}

void Store::for_each_recording(const std::function<void(const RecordingRow&)>& use) const {
    Statement statement(impl_->database, select(kInOrder));
    while (statement.step()) use(read_row(statement));
}

void Store::for_each_recording_of(std::string_view deployment,
                                  const std::function<void(const RecordingRow&)>& use) const {
    Statement statement(impl_->database, select(std::string(" WHERE deployment = ?") + kInOrder));
    statement.bind(1, deployment);
    while (statement.step()) use(read_row(statement));
}

void Store::for_each_unusable(const std::function<void(const RecordingRow&)>& use) const {
    Statement statement(impl_->database,
                        select(std::string(" WHERE state <> 'measured'") + kInOrder));
    while (statement.step()) use(read_row(statement));
}

}  // namespace hearwood
