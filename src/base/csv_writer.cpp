#include "base/csv_writer.h"

#include <fmt/format.h>

#include <stdexcept>

namespace hearwood {

namespace {

constexpr std::size_t kDrainBytes = 1 << 18;

}  // namespace

CsvWriter::CsvWriter(std::filesystem::path target, std::span<const std::string> header)
    : file_(std::move(target)), columns_(header.size()) {
    for (const std::string& name : header) text(name);
    end_row();
    rows_ = 0;
}

void CsvWriter::separate() {
    if (cell_++ > 0) buffer_ += ',';
}

void CsvWriter::cell(const TableCell& cell) {
    separate();
    append_csv_cell(buffer_, cell);
}

void CsvWriter::text(std::string_view value) {
    separate();
    append_csv_text(buffer_, value);
}

void CsvWriter::number(double value) {
    separate();
    append_csv_number(buffer_, value);
}

void CsvWriter::number(std::optional<double> value) {
    if (value)
        number(*value);
    else
        missing();
}

void CsvWriter::integer(std::int64_t value) {
    separate();
    append_csv_cell(buffer_, value);
}

void CsvWriter::missing() {
    separate();
}

void CsvWriter::end_row() {
    if (cell_ != columns_)
        throw std::logic_error(
            fmt::format("a CSV row has {} cells, its header {}", cell_, columns_));
    cell_ = 0;
    ++rows_;
    buffer_ += '\n';
    if (buffer_.size() >= kDrainBytes) drain();
}

void CsvWriter::drain() {
    file_.write(buffer_);
    sum_.add(buffer_.data(), buffer_.size());
    bytes_ += buffer_.size();
    buffer_.clear();
}

CsvWriter::Written CsvWriter::commit() {
    drain();
    file_.commit();
    return {bytes_, rows_, sum_.finish()};
}

}  // namespace hearwood
