#include "platform/standard_gaps.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string_view>

namespace hearwood {

// A library says that it has both, or neither.
std::from_chars_result read_double(const char* first, const char* last, double& value) {
#ifdef __cpp_lib_to_chars
    return std::from_chars(first, last, value);
#else
    return read_double_by_c(first, last, value);
#endif
}

std::string shortest_text(double value) {
#ifdef __cpp_lib_to_chars
    char text[32];
    return {text, std::to_chars(text, text + sizeof text, value).ptr};
#else
    return shortest_text_by_c(value);
#endif
}

std::from_chars_result read_double_by_c(const char* first, const char* last, double& value) {
    // Only what from_chars takes is shown to strtod, which takes more: blanks, a plus sign,
    // hexadecimal digits.
    const std::size_t length = std::string_view(first, static_cast<std::size_t>(last - first))
                                   .find_first_not_of("-0123456789.eE+infatyINFATY");
    const std::string text(first, length == std::string_view::npos ? last : first + length);
    const bool minus = !text.empty() && text[0] == '-';
    if (text.size() > (minus ? 1 : 0) && (text[minus] == '+' || text[minus] == '-'))
        return {first, std::errc::invalid_argument};
    char* end = nullptr;
    const double read = std::strtod(text.c_str(), &end);
    if (end == text.c_str()) return {first, std::errc::invalid_argument};
    const char* const stopped = first + (end - text.c_str());
    const bool digits = std::isdigit(static_cast<unsigned char>(text[minus])) || text[minus] == '.';
    const std::string_view mantissa(
        text.data(),
        std::min(text.find_first_of("eE"), static_cast<std::size_t>(end - text.c_str())));
    if (digits && (std::isinf(read) ||
                   (read == 0 && mantissa.find_first_of("123456789") != std::string_view::npos)))
        return {stopped, std::errc::result_out_of_range};
    value = read;
    return {stopped, std::errc{}};
}

std::string shortest_text_by_c(double value) {
    if (std::isnan(value)) return std::signbit(value) ? "-nan" : "nan";
    if (std::isinf(value)) return value > 0 ? "inf" : "-inf";
    char text[400];
    int decimals = 0;
    do std::snprintf(text, sizeof text, "%.*e", decimals, value);
    while (std::strtod(text, nullptr) != value && ++decimals < 17);
    const std::string with_exponent = text;
    const int exponent = std::atoi(text + with_exponent.find('e') + 1);
    std::snprintf(text, sizeof text, "%.*f", std::max(0, decimals - exponent), value);
    const std::string plain = text;
    return plain.size() <= with_exponent.size() ? plain : with_exponent;
}

}  // namespace hearwood
