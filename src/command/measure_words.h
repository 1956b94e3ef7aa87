// What commands that measure say at their end; shared by measure, gather and run.
#pragma once

#include <string>

#include "base/error.h"
#include "measure/measure.h"

namespace hearwood {

/// The summary on stdout: what was done, what could not be used and why, what is gone, how to go
/// on.
void print_measured(const MeasureSummary& summary, const MeasureOptions& options,
                    const std::string& survey_folder);

/// 130 after Ctrl-C, 1 when some recordings could not be used (in this run or an earlier one), else
/// 0.
ExitCode exit_code_of(const MeasureSummary& summary);

}  // namespace hearwood
