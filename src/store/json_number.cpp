#include "store/json_number.h"

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "base/missing.h"

namespace hearwood {

nlohmann::json json_number(double value) {
    if (is_missing(value)) return nullptr;
    if (std::isinf(value)) return value > 0 ? "inf" : "-inf";
    return value;
}

double number_in(const nlohmann::json& json) {
    if (json.is_number()) return json.get<double>();
    if (json == "inf") return std::numeric_limits<double>::infinity();
    if (json == "-inf") return -std::numeric_limits<double>::infinity();
    return kMissing;
}

}  // namespace hearwood
