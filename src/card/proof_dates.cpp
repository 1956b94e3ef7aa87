#include "card/proof_dates.h"

#include <array>
#include <ctime>
#include <string_view>

#include "base/file.h"
#include "card/checksums.h"

namespace hearwood {
namespace {

constexpr std::size_t kDateLength = 20;  // 2026-10-15T03:22:10Z
constexpr std::uint64_t kLongestDates = 1u << 30;

}  // namespace

ProofDates ProofDates::load(const std::filesystem::path& folder) {
    ProofDates dates;
    std::error_code ignored;
    if (!std::filesystem::exists(folder / kFileName, ignored)) return dates;
    const std::string text = read_whole_file(folder / kFileName, kLongestDates);
    std::string_view rest = text;
    while (!rest.empty()) {
        const std::size_t end = rest.find('\n');
        if (end == std::string_view::npos) break;
        if (const auto line = parse_named_line(rest.substr(0, end), kDateLength))
            dates.by_name_[line->name] = line->mark;
        rest.remove_prefix(end + 1);
    }
    return dates;
}

std::string ProofDates::now() {
    const std::time_t time = std::time(nullptr);
    std::tm utc{};
    ::gmtime_r(&time, &utc);
    std::array<char, 32> text{};
    return {text.data(), std::strftime(text.data(), text.size(), "%Y-%m-%dT%H:%M:%SZ", &utc)};
}

std::string ProofDates::find(const std::string& name) const {
    const auto at = by_name_.find(name);
    return at == by_name_.end() ? std::string() : at->second;
}

std::string ProofDates::text() const {
    std::string text;
    for (const auto& [name, date] : by_name_) text += checksum_line(name, date) + "\n";
    return text;
}

}  // namespace hearwood
