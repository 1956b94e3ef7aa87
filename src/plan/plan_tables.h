// What `plan` prints about the design and the power, as tables.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <vector>

#include "base/error.h"
#include "contrast/audit.h"
#include "contrast/power.h"

namespace hearwood {

/// Everything in the sheets that could pass for an effect of the stand, or spoil one.
struct DesignFindings {
    std::vector<Problem> sheets;     ///< warnings of the sheets' readers
    std::vector<Problem> spacing;    ///< sites too near to each other, trails that cannot be
    std::vector<Finding> confounds;  ///< of the audit, the worst first
};

/// design.csv: severity (serious, doubt, note, warning), code, subject, file, line, finding, fix.
void write_design(const DesignFindings& findings, const std::filesystem::path& path);

/// power.csv: a row a number of sites; docs/tables.md names its columns. `spread` in the index's
/// unit, where one is known.
void write_power(const PowerCase& power_case, std::span<const PowerStep> steps,
                 std::optional<double> spread, const std::filesystem::path& path);

}  // namespace hearwood
