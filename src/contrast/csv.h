// Fields of a CSV table as bytes (RFC 4180, LF). Internal to this folder.
#pragma once

#include <string>
#include <string_view>

namespace hearwood {

/// A line built field by field.
class CsvLine {
  public:
    CsvLine& text(std::string_view value);  ///< guarded against formulas, quoted where it must be
    CsvLine& number(double value);          ///< empty for NaN; "inf", "-inf"
    CsvLine& count(long long value);
    CsvLine& empty();
    /// The line with its LF.
    std::string take();

  private:
    void separate();
    std::string line_;
    bool first_ = true;
};

}  // namespace hearwood
