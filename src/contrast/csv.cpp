#include "contrast/csv.h"

#include <utility>

#include "base/csv_cell.h"
#include "base/text.h"

namespace hearwood {

void CsvLine::separate() {
    if (!first_) line_ += ',';
    first_ = false;
}

CsvLine& CsvLine::text(std::string_view value) {
    separate();
    append_csv_text(line_, value);
    return *this;
}

CsvLine& CsvLine::number(double value) {
    separate();
    line_ += format_number(value);
    return *this;
}

CsvLine& CsvLine::count(long long value) {
    separate();
    line_ += std::to_string(value);
    return *this;
}

CsvLine& CsvLine::empty() {
    separate();
    return *this;
}

std::string CsvLine::take() {
    first_ = true;
    return std::exchange(line_, {}) + '\n';
}

}  // namespace hearwood
