// The sheets' templates, the .html files of this folder. Internal to it.
#pragma once

#include <string_view>

namespace hearwood {

extern const std::string_view kDeploymentSheetTemplate, kTrialSheetTemplate, kNoticeTemplate,
    kLabelsTemplate;

}  // namespace hearwood
