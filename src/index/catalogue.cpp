#include "index/catalogue.h"

#include "index/bins.h"
#include "index/index_values.h"
#include "index/indices.h"

namespace hearwood {
namespace {

using Kind = Column::Kind;

/// A line of the catalogue. In the words of a number of every named band, NAME stands for the
/// band's name.
template <typename Of>
struct Row {
    const char *name, *unit;
    Kind kind;
    const char *title, *meaning, *source;
    bool depends_on_gain;
    double (*value)(const SegmentSummary&, const Of&);
};

constexpr const char* kComplexity = "Pieretti, Farina & Morri 2011";
constexpr const char* kDiversity = "Villanueva-Rivera et al. 2011";
constexpr const char* kEntropy = "Sueur et al. 2008";
constexpr const char* kStandout = "own definition; idea of space use as in Aide et al. 2017";
constexpr const char* kLevels = "in the sense of ISO 1996-1";
constexpr const char* kCommon = "common practice";

// In the order of the tables.
constexpr Row<MeasureSettings> kIndices[] = {
    {"aci", "1", Kind::index, "acoustic complexity index",
     "Sum over steps and bins of the analysis range of the changes of amplitude between "
     "consecutive "
     "frames, divided by the sum of amplitudes in the step; grows with the segment's length.",
     kComplexity, false, indices::aci},
    {"ndsi", "1", Kind::index, "normalised difference soundscape index",
     "(b - a) / (b + a), a the power of the anthrophony band, b that of the biophony band; from -1 "
     "to 1.",
     "Kasten et al. 2012", false, indices::ndsi},
    {"bi", "dB kHz", Kind::index, "bioacoustic index",
     "Area between the mean spectrum in decibels and its least value, over the biophony band.",
     "Boelman et al. 2007", false, indices::bi},
    {"hf", "1", Kind::index, "spectral entropy",
     "Entropy of the mean amplitude's shares over the bins of the analysis range, divided by its "
     "greatest possible value; from 0 to 1.",
     kEntropy, false, indices::hf},
    {"ht", "1", Kind::index, "temporal entropy",
     "Entropy of the frames' root mean squares' shares, divided by its greatest possible value; "
     "from 0 to 1.",
     "Sueur et al. 2008, with frame levels for the envelope", false, indices::ht},
    {"h", "1", Kind::index, "total entropy",
     "Spectral entropy times temporal entropy; from 0 to 1.", kEntropy, false, indices::h},
    {"adi", "1", Kind::index, "acoustic diversity index",
     "Entropy of the shares of cells above -50 dBFS in the 1 kHz bands from 0 to 10 kHz; at most "
     "ln 10.",
     kDiversity, true, indices::adi},
    {"aei", "1", Kind::index, "acoustic evenness index",
     "Gini coefficient of the shares of cells above -50 dBFS in the 1 kHz bands from 0 to 10 kHz; "
     "0 when all bands are alike, towards 1 when one has all.",
     kDiversity, true, indices::aei},
    {"standout", "1", Kind::index, "share that stands out",
     "Share of the cells of the biophony band that rise 6 dB above the mean of their bin's own "
     "background; 0.0187 for stationary noise.",
     kStandout, false, indices::standout},
    {"events", "1/min", Kind::index, "sound events",
     "Sounds a minute that rise 5 dB above their background between 800 and 10,500 Hz, last 80 ms "
     "and more, and do not lift the whole spectrum at once.",
     "own definition", false, indices::events},
};

constexpr Row<Band> kBandIndices[] = {
    {"aci_NAME", "1", Kind::index, "acoustic complexity index, NAME",
     "The acoustic complexity index over the bins of the band NAME.", kComplexity, false,
     indices::band_aci},
    {"standout_NAME", "1", Kind::index, "share that stands out, NAME",
     "Share of the cells of the band NAME that rise 6 dB above the mean of their bin's own "
     "background.",
     kStandout, false, indices::band_standout},
    {"power_NAME_dbfs", "dBFS", Kind::index, "level, NAME",
     "Level of the mean power in the band NAME, a full-scale sine at 0 dBFS.",
     "Welch's estimate of the spectrum, own level convention", true, indices::band_level},
};

constexpr Row<MeasureSettings> kLevelsAndHealth[] = {
    {"leq_dbfs", "dBFS", Kind::level, "mean level",
     "Level of the mean square of all samples of the segment, a full-scale sine at 0 dBFS.",
     kLevels, true, indices::mean_level},
    {"l10_dbfs", "dBFS", Kind::level, "level exceeded during 10 % of the time",
     "Level of the frames' raw samples exceeded during 10 % of the frames.", kLevels, true,
     indices::exceeded_level<10>},
    {"l50_dbfs", "dBFS", Kind::level, "level exceeded during 50 % of the time",
     "Level of the frames' raw samples exceeded during 50 % of the frames.", kLevels, true,
     indices::exceeded_level<50>},
    {"l90_dbfs", "dBFS", Kind::level, "level exceeded during 90 % of the time",
     "Level of the frames' raw samples exceeded during 90 % of the frames.", kLevels, true,
     indices::exceeded_level<90>},
    {"peak_dbfs", "dBFS", Kind::health, "peak level", "20 log10 of the greatest absolute sample.",
     kCommon, true, indices::peak_level},
    {"dc_offset", "FS", Kind::health, "mean of the samples",
     "Mean of the samples, full scale at 1.", kCommon, true, indices::dc_offset},
    {"clipped_fraction", "1", Kind::health, "share of clipped samples",
     "Share of the samples in runs of two or more at the top or bottom code.", kCommon, true,
     indices::clipped_fraction},
};

template <typename Of>
Column column_of(const Row<Of>& row, const std::string& band) {
    const auto words = [&](std::string text) {
        const std::size_t at = band.empty() ? std::string::npos : text.find("NAME");
        return at == std::string::npos ? text : text.replace(at, 4, band);
    };
    return {words(row.name),    row.unit,   row.kind,           words(row.title),
            words(row.meaning), row.source, row.depends_on_gain};
}

}  // namespace

std::vector<Column> index_columns(const MeasureSettings& settings) {
    std::vector<Column> columns;
    for (const auto& row : kIndices) columns.push_back(column_of(row, {}));
    for (const Band& band : settings.bands)
        for (const auto& row : kBandIndices) columns.push_back(column_of(row, band.name));
    for (const auto& row : kLevelsAndHealth) columns.push_back(column_of(row, {}));
    return columns;
}

std::vector<double> index_values(const SegmentSummary& summary, const MeasureSettings& settings) {
    std::vector<double> values;
    const bool usable = summary.frames > 0 && summary.finite;
    const auto add = [&](const auto& row, const auto& of) {
        values.push_back(usable ? row.value(summary, of) : kMissing);
    };
    for (const auto& row : kIndices) add(row, settings);
    for (const Band& band : settings.bands)
        for (const auto& row : kBandIndices) add(row, band);
    for (const auto& row : kLevelsAndHealth) add(row, settings);
    return values;
}

}  // namespace hearwood
