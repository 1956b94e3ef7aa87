#include "base/text.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>

#include "base/missing.h"
#include "platform/standard_gaps.h"

namespace hearwood {
namespace {

bool is_space(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\v' || c == '\f';
}

std::string_view stripped(std::string_view text) {
    while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
    while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
    return text;
}

/// from_chars takes no plus sign.
std::string_view without_plus(std::string_view text) {
    if (text.size() > 1 && text.front() == '+' && text[1] != '-' && text[1] != '+')
        text.remove_prefix(1);
    return text;
}

/// One code point, or nothing where the bytes are not well-formed UTF-8 (Unicode standard, table
/// 3-7: no overlong forms, no surrogates, nothing above U+10FFFF).
struct CodePoint {
    char32_t value = 0;
    std::size_t length = 0;
};

std::optional<CodePoint> decode(std::string_view bytes) {
    const auto at = [&](std::size_t i) { return static_cast<unsigned char>(bytes[i]); };
    const unsigned char lead = at(0);
    if (lead < 0x80) return CodePoint{lead, 1};
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
    if (lead < 0xC2 || lead > 0xF4 || bytes.size() < length) return std::nullopt;
    char32_t value = lead & (0x7Fu >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((at(i) & 0xC0) != 0x80) return std::nullopt;
        value = value << 6 | (at(i) & 0x3Fu);
    }
    constexpr char32_t kSmallest[] = {0, 0, 0x80, 0x800, 0x10000};
    if (value < kSmallest[length] || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF))
        return std::nullopt;
    return CodePoint{value, length};
}

/// What could move the cursor, change colours, or turn the reading direction around.
bool drives_a_terminal(char32_t c) {
    return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x200E || c == 0x200F ||
           (c >= 0x202A && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069) || c == 0x2028 ||
           c == 0x2029;
}

std::size_t edit_distance(std::string_view a, std::string_view b) {
    std::vector<std::size_t> row(b.size() + 1);
    std::iota(row.begin(), row.end(), std::size_t{0});
    for (std::size_t i = 1; i <= a.size(); ++i) {
        std::size_t diagonal = row[0];
        row[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t changed = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
            diagonal = row[j];
            row[j] = std::min({changed, row[j] + 1, row[j - 1] + 1});
        }
    }
    return row.back();
}

}  // namespace

std::optional<double> parse_number(std::string_view text) {
    const std::string_view body = without_plus(stripped(text));
    double value = 0;
    const auto [end, error] = read_double(body.data(), body.data() + body.size(), value);
    if (error != std::errc{} || end != body.data() + body.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

std::optional<std::int64_t> parse_integer(std::string_view text) {
    const std::string_view body = without_plus(stripped(text));
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(body.data(), body.data() + body.size(), value);
    if (error != std::errc{} || end != body.data() + body.size()) return std::nullopt;
    return value;
}

std::string format_number(double value) {
    if (is_missing(value)) return {};
    if (value == 0) return "0";  // no "-0" in a table
    return shortest_text(value);
}

std::string readable_number(double value) {
    if (is_missing(value)) return "n/a";
    if (std::isinf(value)) return value > 0 ? "∞" : "−∞";
    const double size = std::abs(value);
    // Three significant digits; plain notation as far as it stays readable.
    std::string text;
    if (size == 0) {
        text = "0";
    } else if (size < 1e-4 || size >= 1e7) {
        text = fmt::format("{:.2e}", size);
    } else {
        const double rounded = parse_number(fmt::format("{:.2e}", size)).value_or(size);
        const int before = static_cast<int>(std::floor(std::log10(rounded)));
        text = fmt::format("{:.{}f}", rounded, std::clamp(2 - before, 0, 6));
    }
    return (value < 0 ? "−" : "") + text;
}

std::string printable(std::string_view bytes) {
    std::string shown;
    shown.reserve(bytes.size());
    while (!bytes.empty()) {
        const auto point = decode(bytes);
        if (!point) {
            shown += fmt::format("\\x{:02X}", static_cast<unsigned char>(bytes.front()));
            bytes.remove_prefix(1);
            continue;
        }
        if (!drives_a_terminal(point->value))
            shown += bytes.substr(0, point->length);
        else if (point->value < 0x100)
            shown += fmt::format("\\x{:02X}", static_cast<unsigned>(point->value));
        else
            shown += fmt::format("\\u{{{:04X}}}", static_cast<unsigned>(point->value));
        bytes.remove_prefix(point->length);
    }
    return shown;
}

bool is_utf8(std::string_view bytes) {
    while (!bytes.empty()) {
        const auto point = decode(bytes);
        if (!point) return false;
        bytes.remove_prefix(point->length);
    }
    return true;
}

std::optional<std::string> nearest(std::string_view word, std::span<const std::string> candidates) {
    if (word.size() > 200)
        return {};  // no slip of the finger, and the distance costs length squared
    const std::string wanted = to_lower_ascii(word);
    std::optional<std::string> best;
    // Two letters swapped count as two edits, so two are allowed from four letters on.
    const std::size_t allowed = wanted.size() < 4 ? 1 : std::max<std::size_t>(2, wanted.size() / 3);
    std::size_t best_distance = allowed + 1;
    for (const std::string& candidate : candidates) {
        const std::size_t distance = edit_distance(wanted, to_lower_ascii(candidate));
        if (distance < best_distance) {
            best_distance = distance;
            best = candidate;
        }
    }
    return best;
}

std::string trim(std::string_view text) {
    return std::string(stripped(text));
}

std::string to_lower_ascii(std::string_view text) {
    std::string lower(text);
    for (char& c : lower)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return lower;
}

std::vector<std::string> split(std::string_view text, char separator) {
    std::vector<std::string> parts;
    std::size_t begin = 0;
    while (true) {
        const std::size_t end = text.find(separator, begin);
        parts.emplace_back(text.substr(begin, end == std::string_view::npos ? end : end - begin));
        if (end == std::string_view::npos) return parts;
        begin = end + 1;
    }
}

std::string join(std::span<const std::string> parts, std::string_view separator) {
    std::string joined;
    for (std::size_t i = 0; i < parts.size(); ++i) {
        if (i > 0) joined += separator;
        joined += parts[i];
    }
    return joined;
}

std::string grouped(std::int64_t count) {
    std::string digits = std::to_string(count);
    const std::size_t first = count < 0 ? 1 : 0;
    for (std::size_t at = digits.size(); at > first + 3;) digits.insert(at -= 3, ",");
    return digits;
}

std::string name_to_utf8(std::string_view bytes) {
    std::string text;
    text.reserve(bytes.size());
    while (!bytes.empty()) {
        const auto point = decode(bytes);
        if (!point) {
            text += fmt::format("\\x{:02X}", static_cast<unsigned char>(bytes.front()));
            bytes.remove_prefix(1);
            continue;
        }
        text += bytes.front() == '\\' ? std::string_view("\\\\") : bytes.substr(0, point->length);
        bytes.remove_prefix(point->length);
    }
    return text;
}

std::string name_from_utf8(std::string_view text) {
    std::string bytes;
    bytes.reserve(text.size());
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] != '\\' || i + 1 == text.size()) {
            bytes += text[i];
        } else if (text[i + 1] == 'x' && i + 3 < text.size()) {
            unsigned value = 0;
            std::from_chars(text.data() + i + 2, text.data() + i + 4, value, 16);
            bytes += static_cast<char>(value);
            i += 3;
        } else {
            bytes += text[++i];
        }
    }
    return bytes;
}

std::string as_sentence(std::string clause) {
    if (!clause.empty() && clause.back() != '.' && clause.back() != '?') clause += '.';
    if (!clause.empty() && clause.front() >= 'a' && clause.front() <= 'z')
        clause.front() = static_cast<char>(clause.front() - 'a' + 'A');
    return clause;
}

std::string escape_html(std::string_view text) {
    std::string escaped;
    escaped.reserve(text.size());
    for (const char c : text) {
        switch (c) {
            case '&':
                escaped += "&amp;";
                break;
            case '<':
                escaped += "&lt;";
                break;
            case '>':
                escaped += "&gt;";
                break;
            case '"':
                escaped += "&quot;";
                break;
            case '\'':
                escaped += "&#39;";
                break;
            default:
                escaped += c;
        }
    }
    return escaped;
}

}  // namespace hearwood
