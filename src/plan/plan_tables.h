// What `plan` prints about the design and the power, as tables.
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <vector>

#include "base/error.h"
#include "base/table.h"
#include "contrast/audit.h"
#include "contrast/power.h"

namespace hearwood {

/// Everything in the sheets that could pass for an effect of the stand, or spoil one.
struct DesignFindings {
    std::vector<Problem> sheets;     ///< warnings of the sheets' readers
    std::vector<Problem> spacing;    ///< sites too near to each other, trails that cannot be
    std::vector<Finding> confounds;  ///< of the audit, the worst first
};

/// A row of design.csv.
struct DesignLine {
    Finding finding;
    std::string code;  ///< of the finding; "spacing" and "sheets" for warnings with a place
    std::string file;
    std::size_t line = 0;
};
TableOf<DesignLine> design_table();
void write_design(const DesignFindings& findings, const std::filesystem::path& path);

/// A row of power.csv.
struct PowerLine {
    const PowerCase& power_case;
    const PowerStep& step;
    std::optional<double> spread;  ///< in the index's unit, where one is known
};
TableOf<PowerLine> power_table();
void write_power(const PowerCase& power_case, std::span<const PowerStep> steps,
                 std::optional<double> spread, const std::filesystem::path& path);

}  // namespace hearwood
