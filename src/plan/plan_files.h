// The sheets to take along, and what was said as tables beside them.
#pragma once

#include <filesystem>

#include "plan/plan_text.h"

namespace hearwood {

/// All of them but the power table, into a folder that is there. Errors: MachineError.
void write_plan(const Plan& plan, const std::filesystem::path& folder);

}  // namespace hearwood
