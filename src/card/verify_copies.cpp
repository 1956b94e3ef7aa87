#include "card/verify_copies.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/text.h"
#include "card/checksums.h"
#include "card/disk.h"
#include "card/disk_hash.h"
#include "card/proof_dates.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// A scrub that is killed has the dates of all but the last minute.
constexpr std::chrono::minutes kDatesEvery{1};

/// A deployment's folder on one disk.
struct Place {
    fs::path folder;
    Checksums sums;
    ProofDates dates;
    Disk disk;
    bool dates_changed = false;
};

struct Copy {
    std::size_t place;
    std::string name, sha256, proved;
    std::uint64_t size;
};

class Reader {
  public:
    Reader(const Survey& survey, const CopiesOptions& options)
        : survey_(survey), options_(options) {}

    CopiesRead read() {
        for (const Deployment& deployment : survey_.deployments) find_places(deployment);
        for (std::size_t p = 0; p < places_.size(); ++p) list(p);
        if (options_.oldest_first)
            std::stable_sort(copies_.begin(), copies_.end(), [](const Copy& a, const Copy& b) {
                return std::tie(a.proved, a.place, a.name) < std::tie(b.proved, b.place, b.name);
            });
        read_all();
        write_dates();
        const std::string ended = ProofDates::now();  // what was read just now is not to come
        for (const Copy& copy : copies_) {
            const std::string date = past_date(places_[copy.place].dates.find(copy.name), ended);
            const std::string shown = date.empty() ? "never" : date;
            if (result_.oldest.empty() || date.empty() ||
                (result_.oldest != "never" && shown < result_.oldest))
                result_.oldest = shown;
        }
        return std::move(result_);
    }

  private:
    /// A date still to come was written by a clock that was wrong: it puts off no reading.
    static std::string past_date(const std::string& date, const std::string& now) {
        return date != ProofDates::kSalvaged && date > now ? std::string() : date;
    }
    void find_places(const Deployment& deployment);
    std::optional<Place> open_place(const fs::path& folder);
    void compare_lists(const Place& own, const Place& other);
    void list(std::size_t place);
    void read_all();
    bool read_one(const Copy& copy);
    void write_dates();
    void differs(const fs::path& path, const std::string& how) {
        result_.differences.push_back(printable(path.native()) + ": " + how);
    }

    const Survey& survey_;
    const CopiesOptions& options_;
    const std::string began_ = ProofDates::now();
    CopiesRead result_;
    std::vector<Place> places_;
    std::vector<Copy> copies_;
    DiskReader disk_;
    int failures_ = 0;
};

void Reader::find_places(const Deployment& deployment) {
    std::vector<fs::path> roots{survey_.folder};
    roots.insert(roots.end(), options_.copies.begin(), options_.copies.end());
    std::size_t own = places_.size();
    bool has_own = false;
    for (const fs::path& root : roots) {
        const fs::path folder = root / deployment.folder;
        std::error_code error;
        if (!fs::exists(folder / Checksums::kFileName, error)) {
            if (&root != &roots.front() && has_own)
                differs(folder, "has no SHA256SUMS: no card of " + printable(deployment.name) +
                                    " was offloaded to it");
            continue;
        }
        ++result_.lists;
        auto place = open_place(folder);
        if (!place) continue;
        if (&root == &roots.front())
            has_own = true;
        else if (has_own)
            compare_lists(places_[own], *place);
        places_.push_back(std::move(*place));
    }
}

/// Nothing where its list cannot be read: that is told, and stops nothing.
std::optional<Place> Reader::open_place(const fs::path& folder) {
    try {
        Place place{folder, Checksums::load(folder / Checksums::kFileName),
                    ProofDates::load(folder), disk_of(folder), false};
        for (const std::string& trouble : place.sums.troubles())
            differs(folder / Checksums::kFileName, trouble);
        return place;
    } catch (const InputError& error) {
        result_.differences.emplace_back(error.what());
    } catch (const MachineError& error) {
        result_.differences.emplace_back(error.what());
    }
    return std::nullopt;
}

void Reader::compare_lists(const Place& own, const Place& other) {
    for (const auto& [name, sha256] : own.sums.by_name()) {
        const std::string there = other.sums.find(name);
        if (there.empty())
            differs(other.folder / name, "has no copy there");
        else if (there != sha256)
            differs(other.folder / name, "is another file than the survey's copy, by their sums");
    }
}

void Reader::list(std::size_t number) {
    const Place& place = places_[number];
    for (const auto& [name, sha256] : place.sums.by_name()) {
        if (!stays_inside(name)) {
            differs(place.folder / Checksums::kFileName,
                    "names a file outside of its folder, which is not read: " + printable(name));
            continue;
        }
        std::error_code error;
        const auto size = fs::file_size(place.folder / name, error);
        copies_.push_back(
            {number, name, sha256, past_date(place.dates.find(name), began_), error ? 0 : size});
    }
}

void Reader::read_all() {
    std::uint64_t bytes = 0, read = 0;
    for (const Copy& copy : copies_) bytes += copy.size;
    Progress progress("reading copies", "MB", bytes / 1'000'000, options_.quiet, "MB a second");
    disk_.stop = hearwood::interrupted;
    disk_.progress = [&](std::uint64_t count) {
        progress.add((read + count) / 1'000'000 - read / 1'000'000);
        read += count;
    };
    const auto began = std::chrono::steady_clock::now();
    auto next_dates = began + kDatesEvery;
    for (std::size_t i = 0; i < copies_.size(); ++i) {
        const auto now = std::chrono::steady_clock::now();
        const bool late = options_.at_most && now - began >= *options_.at_most;
        if (late || interrupted() || !read_one(copies_[i])) {
            result_.left = copies_.size() - i;
            break;
        }
        if (now >= next_dates) {
            write_dates();
            next_dates = now + kDatesEvery;
        }
    }
    progress.finish();
    disk_.progress = nullptr;
    result_.interrupted = interrupted();
}

/// False when there is no use in going on.
bool Reader::read_one(const Copy& copy) {
    Place& place = places_[copy.place];
    const fs::path path = place.folder / copy.name;
    std::error_code error;
    std::string how;
    if (!fs::exists(fs::symlink_status(path, error))) {
        how = "is named by SHA256SUMS and not there";
    } else {
        try {
            const DiskHash hash = disk_.hash(path);
            if (!hash.whole) return false;
            result_.past_memory =
                result_.past_memory && hash.direct && place.disk.reads_past_memory;
            if (hash.sha256 != copy.sha256) how = "is not the file that SHA256SUMS describes";
            failures_ = 0;
        } catch (const MachineError& problem) {
            how = problem.what();
            ++failures_;
        }
    }
    ++result_.files;
    place.dates_changed = true;
    if (how.empty()) {
        if (copy.proved != ProofDates::kSalvaged) place.dates.set(copy.name, ProofDates::now());
        return true;
    }
    place.dates.remove(copy.name);
    differs(path, how);
    if (failures_ < kFailuresMeanGone) return true;
    differs(place.folder, "the disk is gone or gives nothing any more; connect it and run again");
    return false;
}

void Reader::write_dates() {
    for (Place& place : places_) {
        if (!std::exchange(place.dates_changed, false)) continue;
        try {
            write_whole_file(place.folder / ProofDates::kFileName, place.dates.text());
        } catch (const MachineError&) {
            // A disk that is only to be read keeps its old dates: they claim less than is true.
        }
    }
}

}  // namespace

bool stays_inside(const std::string& name) {
    const fs::path path = fs::path(name).lexically_normal();
    return !path.empty() && !path.is_absolute() && *path.begin() != "..";
}

CopiesRead verify_copies(const Survey& survey, const CopiesOptions& options) {
    return Reader(survey, options).read();
}

}  // namespace hearwood
