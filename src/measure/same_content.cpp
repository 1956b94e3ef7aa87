#include "measure/same_content.h"

#include <algorithm>
#include <array>
#include <fstream>
#include <type_traits>
#include <utility>

#include "audio/holds_nothing.h"
#include "base/error.h"
#include "base/interrupt.h"
#include "base/sha256.h"
#include "measure/survey_walk.h"

namespace hearwood {
namespace {

constexpr std::size_t kBlock = 4096;

/// Blocks from the beginning, the middle and the end; empty when it cannot be read.
std::string sum_of_blocks(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::error_code error;
    const auto size = std::filesystem::file_size(file, error);
    if (!in || error) return {};
    Sha256 sum;
    std::array<char, kBlock> block{};
    for (const std::uintmax_t at : {std::uintmax_t{0}, size / 2, size - std::min(size, kBlock)}) {
        in.clear();
        in.seekg(static_cast<std::streamoff>(at));
        in.read(block.data(), kBlock);
        sum.add(block.data(), static_cast<std::size_t>(in.gcount()));
    }
    return sum.finish();
}

template <class Items>
bool of_two_deployments(const Items& items) {
    const auto deployment = [](const auto& item) -> const std::string& {
        if constexpr (std::is_pointer_v<std::remove_cvref_t<decltype(item)>>)
            return item->deployment;
        else
            return item.deployment;
    };
    const std::string& first = deployment(items.front());
    return std::any_of(items.begin(), items.end(),
                       [&](const auto& item) { return deployment(item) != first; });
}

}  // namespace

void ContentComparer::add(const RecordingRow& row) {
    if (row.gone || row.size == 0) return;
    by_size_[row.size].push_back(
        {row.id, row.deployment, row.path, row.sha256, row.id != 0 && !row.settings.empty()});
}

/// What tells most recordings apart at little cost.
std::string ContentComparer::first_look(const Item& item) const {
    std::string look;
    if (item.measured)
        store_.for_each_segment_of(item.id, [&](const SegmentRow& segment) {
            if (!look.empty()) return;
            look = sha256_of({reinterpret_cast<const char*>(segment.values.data()),
                              segment.values.size() * sizeof(double)});
        });
    if (!look.empty()) return "values " + look;
    RecordingRow row;
    row.path = item.path;
    return "blocks " + sum_of_blocks(disk_path(survey_, row));
}

std::string ContentComparer::whole_sum(Item& item) const {
    if (!item.sha256.empty()) return item.sha256;
    RecordingRow row;
    row.path = item.path;
    try {
        item.sha256 = sha256_of_file(disk_path(survey_, row));
    } catch (const MachineError&) {
        return {};  // it is told elsewhere that it cannot be read
    }
    return item.sha256;
}

void ContentComparer::settle(const Groups& groups) {
    for (const auto& [look, items] : groups) {
        if (!of_two_deployments(items)) continue;
        for (Item* item : items) {
            if (interrupted()) return;
            if (const std::string sum = whole_sum(*item); !sum.empty())
                by_sum_[sum].emplace(item->deployment, item->path);
        }
    }
}

std::vector<SameContent> ContentComparer::find() {
    for (auto& [size, items] : by_size_) {
        if (!of_two_deployments(items)) continue;
        const bool all_known = std::all_of(items.begin(), items.end(),
                                           [](const Item& item) { return !item.sha256.empty(); });
        Groups groups;
        for (Item& item : items) {
            if (interrupted()) return {};
            groups[all_known ? item.sha256 : first_look(item)].push_back(&item);
        }
        settle(groups);
    }
    std::map<std::pair<std::string, std::string>, SameContent> pairs;
    for (const auto& [sum, places] : by_sum_) {
        RecordingRow first;
        first.path = places.empty() ? "" : places.begin()->second;
        // Two dead microphones have the same silence.
        if (places.size() < 2 || holds_nothing(disk_path(survey_, first))) continue;
        for (auto one = places.begin(); one != places.end(); ++one)
            for (auto other = std::next(one); other != places.end(); ++other) {
                SameContent& pair = pairs[{one->first, other->first}];
                if (++pair.recordings > 1 && pair.path_one < one->second) continue;
                pair = {one->first, other->first, one->second, other->second, pair.recordings};
            }
    }
    std::vector<SameContent> found;
    for (auto& [names, pair] : pairs) found.push_back(std::move(pair));
    return found;
}

}  // namespace hearwood
