// `plan --power`: how many sites show a difference.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "contrast/power.h"
#include "options/options.h"
#include "survey/survey.h"

namespace hearwood {

struct PowerOptions {
    double effect_sd = 1;
    int most_sites = 12;
    std::optional<double> spread;
    std::string
        pilot;  ///< folder of a measured survey; empty: the survey itself, when it is measured
};

void add_power_options(Command& command, PowerOptions& options);

struct PowerAnswer {
    PowerCase power_case;
    std::vector<PowerStep> steps;
    std::optional<double> spread;
};

/// The table on stdout, and what is in it. A pilot that was named and cannot be read is an
/// InputError; that the survey itself is not measured yet is no error.
PowerAnswer print_power(const PowerOptions& options, const Survey& survey);

}  // namespace hearwood
