// Columns that several tables share, described once.
#pragma once

#include <string>

#include "index/catalogue.h"
#include "store/data_package.h"
#include "survey/survey.h"

namespace hearwood {

/// Darwin Core terms (Biodiversity Information Standards, rs.tdwg.org/dwc).
inline const std::string kDarwinCore = "http://rs.tdwg.org/dwc/terms/";

TableField text_field(std::string name, std::string title, std::string description);
TableField number_field(std::string name, std::string unit, std::string title,
                        std::string description);
TableField count_field(std::string name, std::string title, std::string description);

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
