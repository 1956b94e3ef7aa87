// Everything that follows from a survey's plan and its site values, worked out anew wherever it is
// shown: tables, terminal and page hold the same rows, made under the same plan.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <type_traits>
#include <vector>

#include "aggregate/judged_segments.h"
#include "aggregate/site_values.h"
#include "base/error.h"
#include "base/table.h"
#include "contrast/audit.h"
#include "contrast/beside.h"
#include "contrast/classes.h"
#include "contrast/contrast.h"
#include "contrast/covariates.h"
#include "contrast/listening.h"
#include "contrast/onset.h"
#include "contrast/profile.h"
#include "contrast/seasons.h"
#include "contrast/variance.h"
#include "survey/survey.h"

namespace hearwood {

class Progress;

struct SurveyContrast {
    ContrastPlan plan;                   ///< what all of it was made under
    std::vector<ListeningResult> heard;  ///< how each index followed the ear; empty: not checked
    Audit audit;                         ///< of the design; its worst finding stands in the plan
    std::vector<ContrastRow> contrasts, onset_contrasts;
    bool more_classes = false;        ///< pairs and classes are worked out
    std::vector<ContrastRow> pairs;   ///< every pair but the declared one
    std::vector<ClassesRow> classes;  ///< all classes together
    std::vector<NamedProfile> hours, dawn;
    std::vector<SeasonRow> seasons;  ///< empty unless there are several
    std::vector<OnsetRow> onsets;
    std::vector<CovariateRow> covariates;
    std::vector<VarianceRow> variances;
    std::vector<EffortRow> efforts;
    /// The shown outcome with sites that hear the same animals counted as one; nothing where no
    /// sites lie so near.
    std::optional<ContrastRow> nearby_as_one;
    BesideContrast beside;  ///< adjusted, along a gradient, and over hours and bands

    /// The primary outcome's row; where none is declared the first; null without any row.
    const ContrastRow* shown() const;
};

/// Number of steps that `progress` is told of.
std::size_t contrast_steps(const SiteValues& values);

/// Errors: InputError when the contrast is refused, because the sites compared were recorded at
/// different sample rates, or because the declared outcome is not among those measured; Interrupted
/// on Ctrl-C.
SurveyContrast compute_survey_contrast(const Survey& survey, const Store& store,
                                       const JudgedSegments& segments, const SiteValues& values,
                                       std::vector<ListeningResult> heard, Progress& progress);

/// A table of results as typed cells; its CSV file is a view of them.
struct NamedTable {
    TableDescription description;
    std::vector<std::vector<TableCell>> rows;

    std::string bytes() const;  ///< of the file
};

template <class Row>
NamedTable named_table(const TableOf<Row>& table, std::span<const std::type_identity_t<Row>> rows) {
    NamedTable named{table.description(), {}};
    for (const Row& row : rows) named.rows.push_back(table.cells(row));
    return named;
}

/// In the order in which they are written.
std::vector<NamedTable> tables_of(const SurveyContrast& contrast);

/// Writes them into the folder, and takes away those of an earlier contrast that this one lacks.
void write_contrast_tables(const SurveyContrast& contrast, const std::filesystem::path& folder);
/// A contrast that is refused leaves no tables of an earlier one behind, which would be read as its
/// answer, and the data package is written anew without them (`tables`: all that it may describe).
/// A decision that is not understood is not taken: then all stays as it was.
void take_away_old_contrast(const std::filesystem::path& survey_folder, const InputError& refusal,
                            std::span<const TableDescription> tables);

/// In the order of the data package. The settings table has the columns of every factor there is.
std::vector<TableDescription> contrast_tables();

}  // namespace hearwood
