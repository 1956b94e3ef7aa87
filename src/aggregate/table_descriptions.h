// What every table and every column of it means: the header of each table, its schema in the data
// package and docs/tables.md follow this list.
#pragma once

#include <string>
#include <vector>

#include "store/data_package.h"
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

/// A table that another stage writes (contrasts.csv, profile.csv ...), by the header it has; no
/// fields when the file name is not one of them.
TableDescription describe_result(const std::string& file_name,
                                 const std::vector<std::string>& header);
/// File names of those, in the order of the data package.
const std::vector<std::string>& result_tables();

std::vector<std::string> header_of(const TableDescription& table);

}  // namespace hearwood
