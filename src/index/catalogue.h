// The list of everything that is measured of a segment: one line a column. Database columns,
// tables, contrasts, report and docs follow this list; nothing else names a column.
#pragma once

#include <string>
#include <vector>

#include "survey/settings.h"

namespace hearwood {

struct Column {
    enum class Kind {
        index,     ///< measures.md section 2: averaged, contrasted
        level,     ///< dBFS levels of section 3: averaged, not contrasted
        health,    ///< of the signal (peak, dc, clipping): in segments.csv only
        quantity,  ///< what a screen's rule is built on: in segments.csv only
    };
    std::string name;  ///< as in the CSV header, e.g. "aci_insects"
    std::string unit;  ///< "dBFS", "dB kHz", "1" for a pure number
    Kind kind = Kind::index;
    std::string title;             ///< "acoustic complexity index"
    std::string meaning;           ///< one sentence for the data package and the page
    std::string source;            ///< the paper or standard, or "own definition"
    bool depends_on_gain = false;  ///< changes when the recorder's gain does
};

/// The columns of indices, levels and health under these settings, in the order of every table. A
/// segment's values are a vector<double> parallel to it; NaN stands for 'missing'.
std::vector<Column> index_columns(const MeasureSettings& settings);

}  // namespace hearwood
