// Text in and out, independent of the locale: numbers, printable names, near spellings.
#pragma once

#include <concepts>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace hearwood {

/// The whole text as a finite decimal number ('.' as the decimal mark, optional sign and exponent,
/// spaces around it ignored); nothing for anything else, "nan" and "inf" among it.
std::optional<double> parse_number(std::string_view text);

/// The whole text as a whole number, spaces around it ignored.
std::optional<std::int64_t> parse_integer(std::string_view text);

/// The shortest text that reads back as the same double ("0.1", "1e-09", "inf", "-inf"); empty for
/// NaN, which stands for 'missing' in memory and must never reach a file.
std::string format_number(double value);

/// Three significant digits for people, with a true minus sign; "n/a" for NaN.
std::string readable_number(double value);

/// For terminals and logs: control characters, bidirectional overrides and bytes that are not valid
/// UTF-8 become \xNN or \u{NNNN}; everything else stays.
std::string printable(std::string_view bytes);

/// True when the bytes are well-formed UTF-8.
bool is_utf8(std::string_view bytes);

/// The candidate nearest to the word by edit distance, when it is near enough to be a likely slip.
std::optional<std::string> nearest(std::string_view word, std::span<const std::string> candidates);

std::string trim(std::string_view text);
std::string to_lower_ascii(std::string_view text);
std::vector<std::string> split(std::string_view text, char separator);
std::string join(std::span<const std::string> parts, std::string_view separator);

/// "1,234,567": counts in sentences, of whatever integer type below 2^63.
std::string grouped(std::int64_t count);
template <std::integral Count>
std::string grouped(Count count) {
    return grouped(static_cast<std::int64_t>(count));
}

/// "1 recording", "1,234 recordings": counts in sentences are never "1 recordings". What goes on
/// with a verb takes it along: counted(n, "file is", "files are").
template <std::integral Count>
std::string counted(Count count, std::string_view one, std::string_view many) {
    return grouped(count) + ' ' + std::string(count == 1 ? one : many);
}
/// With the plain plural: counted(n, "file").
template <std::integral Count>
std::string counted(Count count, std::string_view one) {
    return counted(count, one, std::string(one) + 's');
}

/// Text of a file name as it goes into CSV, JSON and the database: valid UTF-8 stays as it is,
/// except that '\' becomes "\\"; other bytes become \xNN. Reversible, so that no two names fall
/// together.
std::string name_to_utf8(std::string_view bytes);
std::string name_from_utf8(std::string_view text);

/// A clause with a capital (where it begins with a-z) and a full stop.
std::string as_sentence(std::string clause);

/// Text for HTML element content and quoted attributes.
std::string escape_html(std::string_view text);

}  // namespace hearwood
