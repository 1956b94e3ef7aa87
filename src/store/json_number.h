// Numbers in what survey.db keeps as JSON, which has neither a missing number nor an unbounded one.
#pragma once

#include <nlohmann/json_fwd.hpp>

namespace hearwood {

/// Missing is null, unbounded "inf" or "-inf".
nlohmann::json json_number(double value);
/// What json_number wrote; anything else is missing.
double number_in(const nlohmann::json& json);

}  // namespace hearwood
