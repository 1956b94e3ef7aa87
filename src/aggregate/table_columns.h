// Which value columns the tables have under a survey's settings, and where in a stored row each
// comes from.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "index/catalogue.h"
#include "survey/survey.h"

namespace hearwood {

/// A value column of the tables.
struct TableColumn {
    Column column;
    std::string stored;  ///< name in the store
    bool calibrated =
        false;             ///< the level's twin in dB re 20 uPa: stored value + full_scale_db_spl
    bool derived = false;  ///< stands in no stored row: NaN here, filled in by whoever knows it
};

/// Of segments.csv: indices, levels and health in the catalogue's order, then the screens'
/// quantities. When any deployment has full_scale_db_spl, each column NAME_dbfs is followed by its
/// twin NAME_dbspl.
std::vector<TableColumn> segment_columns(const Survey& survey);

/// Those of them that are averaged: indices and levels, their twins among them; then what is
/// derived.
std::vector<TableColumn> averaged_columns(const Survey& survey);

/// Columns of the tables by site that no segment's row holds: choir_khz, solo_events, then, where
/// the survey wants them, the values on even terms.
std::vector<TableColumn> derived_columns(const Survey& survey);

/// Turns a stored row into table values: looks the names up once.
class ColumnReader {
  public:
    /// Errors: InputError when the store lacks a column (it was measured by another version).
    ColumnReader(const std::vector<TableColumn>& columns, std::span<const std::string> stored);

    /// `full_scale_db_spl` is NaN for a recorder that is not calibrated: its twins are missing
    /// then.
    void read(std::span<const double> row, double full_scale_db_spl,
              std::vector<double>& out) const;

  private:
    struct Source {
        std::size_t column;
        bool calibrated;
    };
    std::vector<Source> sources_;
};

}  // namespace hearwood
