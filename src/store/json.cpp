#include "store/json.h"

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "base/missing.h"

namespace hearwood {

nlohmann::json read_json(std::string_view text) {
    return nlohmann::json::parse(text);
}

nlohmann::json read_json_if_any(std::string_view text) {
    return nlohmann::json::parse(text, nullptr, false);
}

std::string json_text(const nlohmann::json& json, int indent) {
    return json.dump(indent, ' ', false, nlohmann::json::error_handler_t::replace);
}

nlohmann::json json_number(double value) {
    if (is_missing(value)) return nullptr;
    if (std::isinf(value)) return value > 0 ? "inf" : "-inf";
    return value;
}

std::string json_text(const nlohmann::ordered_json& json, int indent) {
    return json.dump(indent, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

double number_in(const nlohmann::json& json) {
    if (json.is_number()) return json.get<double>();
    if (json == "inf") return std::numeric_limits<double>::infinity();
    if (json == "-inf") return -std::numeric_limits<double>::infinity();
    return kMissing;
}

}  // namespace hearwood
