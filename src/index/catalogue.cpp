#include "index/catalogue.h"

#include "index/definition.h"
#include "index/index_values.h"

// The catalogue: a line for each number, in the order of the tables. X(aci) means that some file of
// this folder defines aci_definition().
#define HEARWOOD_INDICES(X) \
    X(aci)                  \
    X(ndsi)                 \
    X(bi)                   \
    X(hf)                   \
    X(ht)                   \
    X(h)                    \
    X(adi)                  \
    X(aei)                  \
    X(standout)
// Of every band that the survey names; X(aci) means aci_band_definition().
#define HEARWOOD_BAND_INDICES(X) \
    X(aci)                       \
    X(standout)                  \
    X(power)
#define HEARWOOD_LEVELS(X) \
    X(leq_dbfs)            \
    X(l10_dbfs)            \
    X(l50_dbfs)            \
    X(l90_dbfs)            \
    X(peak_dbfs)           \
    X(dc_offset)           \
    X(clipped_fraction)

namespace hearwood {

#define DECLARE(name) Definition name##_definition();
#define DECLARE_BAND(name) BandDefinition name##_band_definition();
HEARWOOD_INDICES(DECLARE)
HEARWOOD_BAND_INDICES(DECLARE_BAND)
HEARWOOD_LEVELS(DECLARE)

namespace {

#define CALL(name) name##_definition(),
#define CALL_BAND(name) name##_band_definition(),

const std::vector<Definition>& indices() {
    static const std::vector<Definition> list{HEARWOOD_INDICES(CALL)};
    return list;
}

const std::vector<BandDefinition>& band_indices() {
    static const std::vector<BandDefinition> list{HEARWOOD_BAND_INDICES(CALL_BAND)};
    return list;
}

const std::vector<Definition>& levels() {
    static const std::vector<Definition> list{HEARWOOD_LEVELS(CALL)};
    return list;
}

std::string with_name(std::string text, const std::string& name) {
    const std::size_t at = text.find("NAME");
    if (at != std::string::npos) text.replace(at, 4, name);
    return text;
}

Column column_of(const BandDefinition& definition, const Band& band) {
    Column column = definition.column;
    column.name = with_name(column.name, band.name);
    column.title = with_name(column.title, band.name);
    column.meaning = with_name(column.meaning, band.name);
    return column;
}

}  // namespace

std::vector<Column> index_columns(const MeasureSettings& settings) {
    std::vector<Column> columns;
    for (const Definition& index : indices()) columns.push_back(index.column);
    for (const Band& band : settings.bands) {
        for (const BandDefinition& index : band_indices())
            columns.push_back(column_of(index, band));
    }
    for (const Definition& level : levels()) columns.push_back(level.column);
    return columns;
}

std::vector<double> index_values(const SegmentSummary& summary, const MeasureSettings& settings) {
    std::vector<double> values;
    const bool usable = summary.frames > 0 && summary.finite;
    const auto add = [&](auto value, const auto& of) {
        values.push_back(usable ? value(summary, of) : kMissing);
    };
    for (const Definition& index : indices()) add(index.value, settings);
    for (const Band& band : settings.bands) {
        for (const BandDefinition& index : band_indices()) add(index.value, band);
    }
    for (const Definition& level : levels()) add(level.value, settings);
    return values;
}

}  // namespace hearwood
