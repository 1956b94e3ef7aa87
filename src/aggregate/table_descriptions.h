// What every table and every column of it means: the header of each table, its schema in the data
// package and docs/tables.md follow this list.
#pragma once

#include <string>
#include <vector>

#include "base/table.h"
#include "survey/survey.h"

namespace hearwood {

TableDescription describe_segments(const Survey& survey);
TableDescription describe_site_hours(const Survey& survey);
TableDescription describe_site_windows(const Survey& survey);
TableDescription describe_hours(const Survey& survey);
TableDescription describe_windows(const Survey& survey);
TableDescription describe_recordings();
TableDescription describe_coverage();
/// The sheets as they were read, so that the package stands alone.
TableDescription describe_sites(const Survey& survey);
TableDescription describe_deployments(const Survey& survey);

/// A table that a later stage wrote, by the header that stands in it, so that the package never
/// tells of a column that is not there: a file of an older version may have others.
TableDescription described_by_header(const TableDescription& table,
                                     const std::vector<std::string>& header);

}  // namespace hearwood
