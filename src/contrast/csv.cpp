#include "contrast/csv.h"

#include <utility>

#include "base/text.h"

namespace hearwood {

std::string csv_text(std::string_view text) {
    if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
    std::string quoted = "\"";
    for (const char c : text) {
        if (c == '"') quoted += '"';
        quoted += c;
    }
    return quoted + '"';
}

void CsvLine::separate() {
    if (!first_) line_ += ',';
    first_ = false;
}

CsvLine& CsvLine::text(std::string_view value) {
    separate();
    line_ += csv_text(value);
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
