// JSON as survey.db and the data package have it. The library's reader and writer take the compiler
// seconds wherever they are used, so they are used in json.cpp alone.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

namespace hearwood {

/// Errors: nlohmann::json::exception.
nlohmann::json read_json(std::string_view text);
/// What is no JSON is_discarded().
nlohmann::json read_json_if_any(std::string_view text);
/// On one line, or indented; bytes that are not UTF-8 are replaced.
std::string json_text(const nlohmann::json& json, int indent = -1);
std::string json_text(const nlohmann::ordered_json& json, int indent = -1);

/// JSON has neither a missing number nor an unbounded one: missing is null, unbounded "inf" or
/// "-inf".
nlohmann::json json_number(double value);
/// What json_number wrote; anything else is missing.
double number_in(const nlohmann::json& json);

}  // namespace hearwood
