#include "card/checksums.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "base/file.h"

namespace hearwood {
namespace {

constexpr std::size_t kHashDigits = 64;
constexpr std::uint64_t kMostBytes = 1u << 30;

bool is_hash(std::string_view text) {
    return text.size() == kHashDigits && std::all_of(text.begin(), text.end(), [](char c) {
               return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
           });
}

std::optional<std::string> unescaped(std::string_view name) {
    std::string text;
    for (std::size_t i = 0; i < name.size(); ++i) {
        if (name[i] != '\\') {
            text += name[i];
            continue;
        }
        if (++i == name.size()) return std::nullopt;
        switch (name[i]) {
            case '\\':
                text += '\\';
                break;
            case 'n':
                text += '\n';
                break;
            case 'r':
                text += '\r';
                break;
            default:
                return std::nullopt;
        }
    }
    return text;
}

struct Line {
    std::string name, sha256;
};

std::optional<Line> parse_line(std::string_view line) {
    const bool escaped = !line.empty() && line.front() == '\\';
    if (escaped) line.remove_prefix(1);
    if (line.size() < kHashDigits + 3 || !is_hash(line.substr(0, kHashDigits))) return std::nullopt;
    const std::string_view mark = line.substr(kHashDigits, 2);  // '*' marks binary mode
    if (mark != "  " && mark != " *") return std::nullopt;
    const std::string_view name = line.substr(kHashDigits + 2);
    const auto plain = escaped ? unescaped(name) : std::optional<std::string>(name);
    if (!plain) return std::nullopt;
    return Line{*plain, std::string(line.substr(0, kHashDigits))};
}

}  // namespace

std::string checksum_line(std::string_view name, std::string_view sha256) {
    std::string shown;
    for (const char c : name) {
        if (c == '\\')
            shown += "\\\\";
        else if (c == '\n')
            shown += "\\n";
        else if (c == '\r')
            shown += "\\r";
        else
            shown += c;
    }
    const std::string mark = shown.size() == name.size() ? "" : "\\";
    return mark + std::string(sha256) + "  " + shown;
}

Checksums Checksums::load(const std::filesystem::path& file) {
    Checksums sums;
    std::error_code ignored;
    if (!std::filesystem::exists(file, ignored)) return sums;
    const std::string text = read_whole_file(file, kMostBytes);
    std::string_view rest = text;
    while (!rest.empty()) {
        const std::size_t end = rest.find('\n');
        // A last line without its end may be a torn one.
        if (end == std::string_view::npos) break;
        if (const auto line = parse_line(rest.substr(0, end))) sums.set(line->name, line->sha256);
        rest.remove_prefix(end + 1);
    }
    return sums;
}

void Checksums::set(const std::string& name, const std::string& sha256) {
    const auto [at, is_new] = by_name_.try_emplace(name, sha256);
    if (!is_new) {
        auto [first, last] = by_hash_.equal_range(at->second);
        by_hash_.erase(
            std::find_if(first, last, [&](const auto& entry) { return entry.second == name; }));
        at->second = sha256;
    }
    by_hash_.emplace(sha256, name);
}

std::string Checksums::find(const std::string& name) const {
    const auto at = by_name_.find(name);
    return at == by_name_.end() ? std::string() : at->second;
}

std::vector<std::string> Checksums::names_with(const std::string& sha256) const {
    std::vector<std::string> names;
    const auto [first, last] = by_hash_.equal_range(sha256);
    for (auto at = first; at != last; ++at) names.push_back(at->second);
    std::sort(names.begin(), names.end());
    return names;
}

std::string Checksums::text() const {
    std::string text;
    for (const auto& [name, sha256] : by_name_) text += checksum_line(name, sha256) + "\n";
    return text;
}

}  // namespace hearwood
