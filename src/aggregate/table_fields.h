// Columns that several tables share, described once.
#pragma once

#include <string>

#include "base/table.h"
#include "index/catalogue.h"
#include "survey/survey.h"

namespace hearwood {

/// Darwin Core terms (Biodiversity Information Standards, rs.tdwg.org/dwc).
inline const std::string kDarwinCore = "http://rs.tdwg.org/dwc/terms/";

TableField text_field(std::string name, std::string title, std::string description);
TableField number_field(std::string name, std::string unit, std::string title,
                        std::string description);
TableField count_field(std::string name, std::string title, std::string description);

TableField moment_field(std::string name, std::string title, std::string description);
TableField flag_field(std::string name, std::string title, std::string description);

TableField file_field();
TableField site_field();
TableField stand_field(const Survey& survey);
TableField deployment_field();
TableField date_field(std::string description);
TableField hour_field();
TableField window_field(const Survey& survey, bool required);
/// A column of the catalogue; `average` says of what its values are means, empty for a single
/// segment's.
TableField value_field(const Column& column, const std::string& average);

}  // namespace hearwood
