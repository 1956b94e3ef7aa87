#include "card/closing_pass.h"

#include <algorithm>
#include <optional>

#include "base/error.h"
#include "base/interrupt.h"
#include "base/text.h"
#include "platform/file_status.h"
#include "platform/standard_gaps.h"

namespace hearwood {
namespace {

/// Numbers of the places, those on one device together: reading two places of a disk side by side
/// would only make its head run to and fro.
std::vector<std::vector<std::size_t>> by_disk(const std::vector<CopyPlace>& places) {
    std::vector<std::vector<std::size_t>> groups;
    for (std::size_t p = 0; p < places.size(); ++p) {
        const auto same = std::find_if(groups.begin(), groups.end(), [&](const auto& group) {
            return share_a_device(places[group.front()].disk, places[p].disk);
        });
        if (same == groups.end())
            groups.push_back({p});
        else
            same->push_back(p);
    }
    return groups;
}

}  // namespace

ClosingPass::ClosingPass(const std::filesystem::path& card, std::span<const CopyTarget> targets,
                         const OffloadResult& result, bool quiet)
    : card_(card),
      targets_(targets),
      result_(result),
      quiet_(quiet),
      read_back_(result.files.size(), 0),
      past_memory_(targets.size(), 1) {
    for (const FileOutcome& file : result_.files)
        if (const auto status = status_of(card / file.path, Links::look_at_link))
            on_card_.emplace(status->device, status->number);
}

void ClosingPass::run(bool card_too) {
    std::uint64_t bytes = 0;
    for (const FileOutcome& file : result_.files)
        if (file.proved()) bytes += file.size * (targets_.size() + card_too);
    Progress progress("reading all copies back", "MB", bytes / 1'000'000, quiet_, "MB a second");
    progress_ = &progress;
    {
        std::vector<JoiningThread> streams;
        for (const auto& group : by_disk(result_.places))
            streams.emplace_back([this, group] { read_disk(group); });
        if (card_too) streams.emplace_back([this] { read_card(); });
    }
    progress.finish();
    progress_ = nullptr;
    std::sort(spoilt_.begin(), spoilt_.end(), [](const SpoiltCopy& a, const SpoiltCopy& b) {
        return std::pair(a.file, a.target) < std::pair(b.file, b.target);
    });
}

void ClosingPass::read_disk(const std::vector<std::size_t>& targets) {
    try {
        for (const std::size_t target : targets)
            if (!read_target(target)) return;
    } catch (const std::exception& error) {  // no memory: the pass did not come to its end
        const std::scoped_lock lock(mutex_);
        stopped_ = error.what();
    }
}

/// Why what stands there is no copy of its own, whatever it holds; empty: it is one. A disk that
/// was taken out shows what lies below its folder; a link or a mount shows one file in two places,
/// and the card's own may be one of them.
std::string ClosingPass::why_no_copy(std::size_t target, const std::string& copy) const {
    const auto own = targets_[target].look(copy);
    if (!own) return {};  // reading it will tell
    const std::filesystem::path file = targets_[target].folder() / copy;
    if (own->device != targets_[target].prepared_on() &&
        !is_the_disk(disk_of(file.parent_path()), targets_[target].disk()))
        return "lies on another disk than when the run began: was a disk taken out or put in?";
    if (on_card_.contains({own->device, own->number}))
        return "is the card's own file (a link or a mount), and no copy; remove it";
    for (std::size_t t = 0; t < target; ++t) {
        const auto other = targets_[t].look(copy);
        if (other && other->device == own->device && other->number == own->number)
            return "is the same file as " + printable((targets_[t].folder() / copy).native()) +
                   " (a link or a mount), and no second copy; remove it, or choose another folder";
    }
    return {};
}

/// False when there is no use in going on with this disk.
bool ClosingPass::read_target(std::size_t target) {
    const std::filesystem::path& folder = targets_[target].folder();
    DiskReader disk;
    tell_progress(disk);
    const bool known = result_.places[target].disk.reads_past_memory;
    int failures = 0;
    for (std::size_t i = 0; i < result_.files.size(); ++i) {
        const FileOutcome& file = result_.files[i];
        if (!file.proved()) continue;
        std::string why;
        bool direct = true, whole = true;
        try {
            const DiskHash back = disk.hash(folder / file.copy);
            direct = back.direct;
            whole = back.whole;
            failures = 0;
            why = why_no_copy(target, file.copy);
            if (back.sha256 != file.sha256)
                why =
                    "reads back differently from what the card holds: the disk spoils what is "
                    "written to it, or the copy was changed; --repair makes it anew";
        } catch (const MachineError& error) {
            why = error.what();
            ++failures;
        }
        const std::scoped_lock lock(mutex_);
        if (!whole) {
            interrupted_ = true;
            return false;
        }
        if (!direct || !known) past_memory_[target] = 0;
        if (why.empty())
            ++read_back_[i];
        else
            spoilt_.push_back(
                {i, target, "the copy " + printable((folder / file.copy).native()) + " " + why});
        if (failures == kFailuresMeanGone) {
            stopped_ = printable(folder.native()) +
                       ": the disk with the copies is gone or gives nothing any more; connect it "
                       "and run again";
            return false;
        }
    }
    return true;
}

void ClosingPass::tell_progress(DiskReader& disk) {
    disk.stop = hearwood::interrupted;
    disk.progress = [this](std::uint64_t count) {
        const std::scoped_lock lock(mutex_);
        progress_->add((read_ + count) / 1'000'000 - read_ / 1'000'000);
        read_ += count;
    };
}

/// A reader, a cable or a card that hands over a wrong byte without an error seldom does so twice:
/// what was copied is what came the first time.
void ClosingPass::read_card() {
    try {
        DiskReader disk;
        disk.of_card = true;
        tell_progress(disk);
        int failures = 0;
        for (std::size_t i = 0; i < result_.files.size(); ++i)
            if (result_.files[i].proved() && !result_.files[i].silenced &&
                !read_again(i, disk, failures))
                return;
    } catch (const std::exception& error) {
        const std::scoped_lock lock(mutex_);
        stopped_ = error.what();
    }
}

/// False when there is no use in going on with the card.
bool ClosingPass::read_again(std::size_t number, DiskReader& disk, int& failures) {
    const FileOutcome& file = result_.files[number];
    std::string why;
    bool whole = true;
    try {
        const DiskHash again = disk.hash(card_ / file.path);
        whole = again.whole;
        failures = 0;
        if (again.sha256 != file.sha256)
            why =
                "the card gave other bytes when it was read again: do not trust this card, its "
                "reader or its cable; try another reader, and run again";
    } catch (const MachineError& error) {
        why = error.what();
        ++failures;
    }
    const std::scoped_lock lock(mutex_);
    if (!whole) interrupted_ = true;
    if (whole && !why.empty()) fickle_.push_back({number, why});
    if (failures == kFailuresMeanGone)
        stopped_ = printable(card_.native()) +
                   ": the card is gone or gives nothing any more; put it back in, or try another "
                   "reader, and run again: what is proved is kept";
    return whole && failures < kFailuresMeanGone;
}

}  // namespace hearwood
