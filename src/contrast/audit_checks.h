// The checks of the audit that are not plain numbers. Internal to this folder.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/audit.h"

namespace hearwood {

/// Sites of the two classes only, columns cut to them.
struct AuditInput {
    std::vector<AuditSite> sites;
    std::vector<AuditColumn> columns;
    std::span<const std::string> gain_indices;
    const AuditSettings& settings;

    bool is_a(const AuditSite& site) const { return site.stand == settings.class_a; }
};

void check_blocks(const AuditInput& input, std::vector<Finding>& findings);
void check_recorders(const AuditInput& input, std::vector<Finding>& findings);
void check_rates(const AuditInput& input, std::vector<Finding>& findings);
void check_dates(const AuditInput& input, std::vector<Finding>& findings);
void check_hours(const AuditInput& input, std::vector<Finding>& findings);
void check_trails(const AuditInput& input, std::vector<Finding>& findings);
void check_distances(const AuditInput& input, std::vector<Finding>& findings);

}  // namespace hearwood
