#include "card/repair.h"

#include <array>
#include <set>

#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "base/text.h"
#include "card/card_check.h"
#include "card/disk_hash.h"
#include "card/proof_dates.h"
#include "card/verify_copies.h"
#include "platform/open_file.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

class Repair {
  public:
    Repair(const Survey& survey, const RepairOptions& options)
        : survey_(survey), options_(options) {}

    Repairs run() {
        if (options_.deployment) deployment_named(survey_, *options_.deployment);
        for (const Deployment& deployment : survey_.deployments) {
            if (interrupted()) break;
            if (!options_.deployment || deployment.name == *options_.deployment) repair(deployment);
        }
        repairs_.interrupted = interrupted();
        return std::move(repairs_);
    }

  private:
    void repair(const Deployment& deployment);
    void repair(std::array<CopyTarget, 2>& places, const std::string& name);
    bool is_right(const CopyTarget& place, const std::string& name, const std::string& sha256);
    void finish(std::array<CopyTarget, 2>& places);

    const Survey& survey_;
    const RepairOptions& options_;
    Repairs repairs_;
    DiskReader disk_;
    std::array<ProofDates, 2> dates_;
};

void Repair::repair(const Deployment& deployment) {
    std::array<CopyTarget, 2> places{CopyTarget(survey_.folder, deployment.folder),
                                     CopyTarget(options_.second, deployment.folder)};
    std::set<std::string> names;
    for (CopyTarget& place : places) {
        place.load_checksums();
        for (const auto& [name, sha256] : place.checksums().by_name()) names.insert(name);
    }
    if (names.empty()) return;
    for (std::size_t p = 0; p < places.size(); ++p) {
        if (!options_.dry_run) places[p].prepare();
        dates_[p] = ProofDates::load(places[p].folder());
    }
    Progress progress("comparing copies of " + deployment.name, "files", names.size(),
                      options_.quiet);
    for (const std::string& name : names) {
        if (interrupted()) break;
        if (stays_inside(name)) repair(places, name);
        ++repairs_.files;
        progress.add();
    }
    progress.finish();
    if (!options_.dry_run) finish(places);
}

void Repair::finish(std::array<CopyTarget, 2>& places) {
    for (std::size_t p = 0; p < places.size(); ++p) {
        sync_folder(places[p].folder());
        places[p].write_checksums();
        write_whole_file(places[p].folder() / ProofDates::kFileName, dates_[p].text());
        places[p].finish();
    }
}

bool Repair::is_right(const CopyTarget& place, const std::string& name, const std::string& sha256) {
    const auto there = place.look(name);
    if (!there || !there->regular) return false;
    try {
        return disk_.hash(place.folder() / name).sha256 == sha256;
    } catch (const MachineError&) {
        return false;  // a sector that cannot be read is what repair is for
    }
}

void Repair::repair(std::array<CopyTarget, 2>& places, const std::string& name) {
    const std::array<std::string, 2> sums{places[0].checksums().find(name),
                                          places[1].checksums().find(name)};
    if (!sums[0].empty() && !sums[1].empty() && sums[0] != sums[1]) {
        repairs_.not_repaired.push_back(
            printable(name) +
            ": the two lists have different sums of it; look at both, and "
            "remove the line that is wrong");
        return;
    }
    const std::string& sha256 = sums[0].empty() ? sums[1] : sums[0];
    std::array<bool, 2> right{};
    for (std::size_t p = 0; p < places.size(); ++p) {
        right[p] = is_right(places[p], name, sha256);
        if (right[p] || !sums[p].empty() || !places[p].look(name)) continue;
        // It may be another recording, and the only copy of it.
        repairs_.not_repaired.push_back(
            printable((places[p].folder() / name).native()) +
            ": is not the file of the other disk, and no SHA256SUMS beside it says what it is; "
            "move it away, then run again");
        return;
    }
    if (!right[0] && !right[1]) {
        repairs_.not_repaired.push_back(printable(name) + ": neither copy has its sum");
        for (ProofDates& dates : dates_) dates.remove(name);
        return;
    }
    for (std::size_t p = 0; p < places.size(); ++p) {
        const fs::path own = places[p].folder() / name, other = places[1 - p].folder() / name;
        if (!right[p]) {
            if (!options_.dry_run && !copy_over(places[p], name, other, sha256)) {
                repairs_.not_repaired.push_back(
                    printable(own.native()) + ": what was written there does not read back right");
                dates_[p].remove(name);
                continue;
            }
            repairs_.repaired.push_back(printable(own.native()) + ": made anew from " +
                                        printable(other.native()));
        }
        places[p].checksums().set(name, sha256);
        if (dates_[1 - p].find(name) == ProofDates::kSalvaged ||
            dates_[p].find(name) == ProofDates::kSalvaged)
            dates_[p].set(name, ProofDates::kSalvaged);
        else
            dates_[p].set(name, ProofDates::now());
    }
}

}  // namespace

bool copy_over(CopyTarget& target, const std::string& path, const fs::path& source,
               const std::string& sha256) {
    const OpenFile file(source, OpenFor::reading, {.follow_link = false, .never_wait = true});
    const auto status = file.is_open() ? file.status() : std::nullopt;
    if (!status || !status->is_regular()) return false;
    UnfinishedCopy copy = target.begin(path, true);
    std::vector<char> block(1 << 20);
    Sha256 hash;
    while (true) {
        const Transfer got = file.read(block.data(), block.size());
        if (got.error != 0) return false;
        if (got.bytes == 0) break;
        hash.add(block.data(), got.bytes);
        copy.write(block.data(), got.bytes);
    }
    if (hash.finish() != sha256) return false;
    copy.end(status->modified_ns);
    copy.sync();
    if (DiskReader().hash(copy.temporary()).sha256 != sha256) return false;
    if (!copy.publish()) return false;
    sync_folder(copy.target().parent_path());
    return true;
}

Repairs repair_copies(const Survey& survey, const RepairOptions& options) {
    return Repair(survey, options).run();
}

}  // namespace hearwood
