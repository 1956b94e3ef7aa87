#include "card/checksums.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "base/error.h"
#include "base/file.h"
#include "base/sha256.h"
#include "base/text.h"

namespace hearwood {
namespace {

constexpr std::size_t kHashDigits = 64;
constexpr std::uint64_t kLongestList = 1u << 30;

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

}  // namespace

std::optional<NamedLine> parse_named_line(std::string_view line, std::size_t mark_length) {
    const bool escaped = !line.empty() && line.front() == '\\';
    if (escaped) line.remove_prefix(1);
    if (line.size() < mark_length + 3) return std::nullopt;
    const std::string_view between = line.substr(mark_length, 2);  // '*' marks binary mode
    if (between != "  " && between != " *") return std::nullopt;
    const std::string_view name = line.substr(mark_length + 2);
    const auto plain = escaped ? unescaped(name) : std::optional<std::string>(name);
    if (!plain) return std::nullopt;
    return NamedLine{*plain, std::string(line.substr(0, mark_length))};
}

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

Checksums Checksums::parse(std::string_view rest) {
    Checksums sums;
    for (int number = 1; !rest.empty(); ++number) {
        const std::size_t end = rest.find('\n');
        // A last line without its end may be a torn one.
        const bool whole = end != std::string_view::npos;
        const auto line = whole ? parse_named_line(rest.substr(0, end), kHashDigits) : std::nullopt;
        if (!line || !is_hash(line->mark)) {
            sums.troubles_.push_back(fmt::format("line {} is no \"SHA-256  NAME\"", number));
        } else {
            const std::string before = sums.find(line->name);
            if (!before.empty() && before != line->mark)
                sums.troubles_.push_back(
                    fmt::format("line {} has another sum of {} than a line before it", number,
                                printable(line->name)));
            sums.set(line->name, line->mark);
        }
        rest.remove_prefix(whole ? end + 1 : rest.size());
    }
    return sums;
}

Checksums Checksums::load(const std::filesystem::path& file) {
    std::error_code ignored;
    if (!std::filesystem::exists(file, ignored)) return {};
    if (!std::filesystem::is_regular_file(file, ignored))  // reading a pipe would wait for ever
        throw InputError({Problem{.file = file.native(),
                                  .what = "is no file, but a folder, a pipe or the like",
                                  .fix = "move it away, then run again"}});
    const std::string text = read_whole_file(file, kLongestList);
    Checksums sums = parse(text);
    const auto own = file.parent_path() / kOwnSum;
    if (std::filesystem::exists(own, ignored) &&
        read_whole_file(own, kLongestList) != checksum_line(kFileName, sha256_of(text)) + "\n")
        sums.troubles_.push_back(std::string("is not the file that ") + kOwnSum +
                                 " is the sum of (as a run that was killed can leave it)");
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

void Checksums::save(const std::filesystem::path& folder) const {
    const std::string all = text();
    write_whole_file(folder / kFileName, all);
    write_whole_file(folder / kOwnSum, checksum_line(kFileName, sha256_of(all)) + "\n");
}

}  // namespace hearwood
