// The checks of the audit, one by one. Internal to this folder.
#pragma once

#include <algorithm>
#include <span>
#include <string>
#include <vector>

#include "contrast/audit.h"

namespace hearwood {

/// Sites of the two classes only, numbers cut to them.
struct AuditInput {
    std::vector<AuditSite> sites;
    std::vector<AuditNumber> numbers;
    const AuditSettings& settings;

    bool is_a(const AuditSite& site) const { return site.stand == settings.class_a; }
    /// Some block holds both classes, so that they can be compared within blocks.
    bool has_blocks() const {
        return std::any_of(sites.begin(), sites.end(), [&](const AuditSite& site) {
            return !site.block.empty() &&
                   std::any_of(sites.begin(), sites.end(), [&](const AuditSite& other) {
                       return other.block == site.block && other.stand != site.stand;
                   });
        });
    }
};

void check_blocks(const AuditInput& input, std::vector<Finding>& findings);
void check_counts(const AuditInput& input, std::vector<Finding>& findings);
void check_recorders(const AuditInput& input, std::vector<Finding>& findings);
void check_rates(const AuditInput& input, std::vector<Finding>& findings);
void check_dates(const AuditInput& input, std::vector<Finding>& findings);
void check_times(const AuditInput& input, std::vector<Finding>& findings);
void check_visits(const AuditInput& input, std::vector<Finding>& findings);
void check_hours(const AuditInput& input, std::vector<Finding>& findings);
void check_trails(const AuditInput& input, std::vector<Finding>& findings);
void check_distances(const AuditInput& input, std::vector<Finding>& findings);
/// One microphone or setting that stands out by itself, whatever its class.
void check_floor_of_one(const AuditInput& input, std::vector<Finding>& findings);
/// Adds a row for each number.
void check_numbers(const AuditInput& input, std::vector<AuditRow>& rows,
                   std::vector<Finding>& findings);

}  // namespace hearwood
