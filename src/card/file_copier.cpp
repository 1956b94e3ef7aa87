#include "card/file_copier.h"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <vector>

#include "base/error.h"
#include "base/sha256.h"
#include "base/text.h"
#include "card/proof_dates.h"

namespace hearwood {
namespace {

constexpr const char* kAgainFolder = "card-";
constexpr std::int64_t kTimeStepNs = 2'000'000'000;  // FAT keeps times to two seconds
constexpr std::streamsize kCopiedAtOnce = 1 << 20;

/// How much a copy holds in which zeros stand for what could not be read: bytes that are none.
std::uint64_t bytes_with_content(const std::filesystem::path& path) {
    std::ifstream file(path, std::ios::binary);
    std::vector<char> block(kCopiedAtOnce);
    std::uint64_t count = 0;
    while (file.read(block.data(), kCopiedAtOnce) || file.gcount() > 0)
        count += static_cast<std::uint64_t>(std::count_if(
            block.begin(), block.begin() + file.gcount(), [](char byte) { return byte != 0; }));
    return count;
}

}  // namespace

bool is_reserved(const std::string& copy) {
    // Also on a disk that does not tell capitals.
    const std::string name = folded_name(copy);
    for (const char* own :
         {Checksums::kFileName, Checksums::kOwnSum, kOffloadReport, ProofDates::kFileName})
        if (name == folded_name(own) || name == folded_name(own) + ".part") return true;
    return false;
}

std::string copy_path(const std::string& path, int n) {
    return n == 1 ? path : kAgainFolder + std::to_string(n) + "/" + path;
}

std::string card_path_of(const std::string& copy) {
    const std::size_t slash = copy.find('/');
    const std::string_view begin = kAgainFolder;
    if (slash == std::string::npos || !copy.starts_with(begin)) return copy;
    const auto number =
        parse_integer(std::string_view(copy).substr(begin.size(), slash - begin.size()));
    return number && *number >= 2 ? copy.substr(slash + 1) : copy;
}

FileCopier::Need FileCopier::need(const CopyTarget& target, const std::string& copy,
                                  const FileOutcome& file) const {
    const auto present = target.look(copy);
    if (!present) return Need::write;
    // A link to the card's file, or a mount of its folder: wiped with the card, and so no copy.
    if (reader_.is_own_file(file.path, present->device, present->number)) return Need::conflict;
    if (present->regular && replaceable_(copy)) return Need::replace;
    return present->regular && present->size == file.size ? Need::compare : Need::conflict;
}

bool FileCopier::seems_copied(const CopyTarget& target, const FileOutcome& file) const {
    return need(target, file.path, file) == Need::compare;
}

void FileCopier::note_refused(CopiedFile& copied, FileOutcome& file, std::size_t target,
                              const std::string& why) {
    copied.without.push_back(target);
    file.trouble = printable(targets_[target].folder().native()) + ": " + why;
}

/// Whether less came from the card than the salvaged copy holds that this one would replace.
bool FileCopier::is_worse(const CopiedFile& copied) const {
    return std::any_of(copied.pending.begin(), copied.pending.end(), [](const auto& pending) {
        return pending.copy.replaces() && bytes_with_content(pending.copy.temporary()) <
                                              bytes_with_content(pending.copy.target());
    });
}

/// A disk that turns out to take no file this large gets none; the others do.
void FileCopier::read_into(CopiedFile& copied, FileOutcome& file) {
    Sha256 hash;
    const auto given_up = [&copied](const CopiedFile::Pending& pending) {
        return std::find(copied.without.begin(), copied.without.end(), pending.target) !=
               copied.without.end();
    };
    copied.reading = reader_.read(file.path, file.size, [&](const char* bytes, std::size_t count) {
        hash.add(bytes, count);
        for (CopiedFile::Pending& pending : copied.pending) {
            if (given_up(pending)) continue;
            try {
                pending.copy.write(bytes, count);
            } catch (const FileRefused& error) {
                note_refused(copied, file, pending.target, error.what());
            }
        }
        if (progress) progress(count);
    });
    std::vector<CopiedFile::Pending> kept;
    for (CopiedFile::Pending& pending : copied.pending)
        if (!given_up(pending)) kept.push_back(std::move(pending));
    copied.pending = std::move(kept);
    copied.sha256 = hash.finish();
    if (copied.reading.whole()) file.sha256 = copied.sha256;
}

/// What stands at `copy`, where it may be the copy as far as can be told without reading it.
std::optional<CopyTarget::Present> FileCopier::candidate(const CopyTarget& target,
                                                         const std::string& copy,
                                                         const FileOutcome& file) const {
    auto found = target.look(copy);
    // Silencing may change the size of a compressed recording.
    if (found && (!found->regular || (!file.silenced && found->size != file.size) ||
                  reader_.is_own_file(file.path, found->device, found->number)))
        found.reset();
    return found;
}

bool FileCopier::reads_as(const CopyTarget& target, const std::string& copy,
                          const std::string& sha256, const FileOutcome& file) {
    if (!candidate(target, copy, file)) return false;
    try {
        return disk_reader_.hash(target.folder() / copy).sha256 == sha256;
    } catch (const MachineError&) {
        return false;  // what cannot be read is no copy: another is made beside it
    }
}

/// Whether a target seems to hold this content at `copy`. What SHA256SUMS says of a copy that was
/// not changed since is only a reason not to write it again: the closing pass reads it.
bool FileCopier::holds(const CopyTarget& target, const std::string& copy, const std::string& sha256,
                       const FileOutcome& file) {
    const auto present = candidate(target, copy, file);
    if (!present) return false;
    std::string recorded;
    {
        const std::scoped_lock lock(mutex_);
        recorded = target.checksums().find(copy);
    }
    const bool unchanged = std::llabs(present->modified_ns - file.modified_ns) <= kTimeStepNs;
    if (recorded == sha256 && unchanged) return true;
    return reads_as(target, copy, sha256, file);
}

/// Another name under which every target holds this content, if that name is not one of this card's
/// own files: then this card (or the part of it that was given) was offloaded under other names
/// before. They are read, whatever SHA256SUMS says: a line that is wrong would have --repair lay
/// this file over another recording.
std::string FileCopier::known_elsewhere(const std::string& sha256, const FileOutcome& file) {
    if (file.size == 0) return {};
    std::vector<std::string> names;
    {
        const std::scoped_lock lock(mutex_);
        names = targets_[0].checksums().names_with(sha256);
    }
    for (const std::string& name : names)
        if ((file.silenced || !card_paths_.contains(card_path_of(name))) &&
            std::all_of(targets_.begin(), targets_.end(), [&](const CopyTarget& target) {
                return reads_as(target, name, sha256, file);
            }))
            return name;
    return {};
}

/// Whether no other file of the card has this name, or one that a disk here takes for the same.
bool FileCopier::is_free(const std::string& copy, int n, std::size_t index) {
    // A file of the card may itself be called card-2/...: that name is its own.
    if (is_reserved(copy) || (n > 1 && card_paths_.contains(copy))) return false;
    const bool folds = std::any_of(targets_.begin(), targets_.end(),
                                   [](const CopyTarget& target) { return target.folds_names(); });
    const auto at = folds ? taken_.find(folded_name(copy)) : taken_.end();
    return at == taken_.end() || at->second == index;
}

/// Begins a copy wherever one is needed. False when a target has another file of that name.
bool FileCopier::begin_copies(CopiedFile& copied, FileOutcome& file,
                              const std::set<std::size_t>& to_replace,
                              std::vector<std::size_t>& to_compare) {
    for (std::size_t t = 0; t < targets_.size(); ++t) {
        if (file.size > targets_[t].disk().largest_file) {
            note_refused(copied, file, t,
                         "this kind of disk (" + targets_[t].disk().file_system +
                             ") takes no file of 4 GiB or more; use one that does");
            continue;
        }
        const Need needs =
            to_replace.contains(t) ? Need::replace : need(targets_[t], copied.copy, file);
        if (needs == Need::conflict) return false;
        if (needs == Need::compare) {
            to_compare.push_back(t);
            continue;
        }
        try {
            copied.pending.push_back({t, targets_[t].begin(copied.copy, needs == Need::replace)});
        } catch (const FileRefused& error) {
            note_refused(copied, file, t, error.what());
        }
    }
    return true;
}

/// What was forgotten before does not come back. False when a copy that is there holds the voice:
/// it is then in to_replace.
bool FileCopier::silence(CopiedFile& copied, FileOutcome& file,
                         const std::vector<std::size_t>& to_compare,
                         std::set<std::size_t>& to_replace) {
    const std::string before = copied.sha256;
    file.silenced = true;
    copied.sha256 = forgotten_.after(before);
    const std::size_t known = to_replace.size();
    for (const std::size_t t : to_compare)
        if (holds(targets_[t], copied.copy, before, file)) to_replace.insert(t);
    if (to_replace.size() > known) return false;
    for (CopiedFile::Pending& pending : copied.pending) {
        pending.copy.sync();
        forgotten_.silence(pending.copy.temporary(), before);
        pending.copy.reopen();
        copied.sha256 = sha256_of_file(pending.copy.temporary());
    }
    file.sha256 = copied.sha256;
    return true;
}

/// Whether nothing is made of what came from the card; the file's trouble then says why.
bool FileCopier::is_given_up(const CopiedFile& copied, FileOutcome& file, bool compared) const {
    const CardReading& reading = copied.reading;
    if (reading.whole()) return false;
    if (reading.nothing() || compared)
        file.trouble = !reading.failure.empty() ? reading.failure
                       : reading.nothing()
                           ? "nothing of it can be read any more"
                           : "parts of it cannot be read any more, so that it could not be "
                             "compared with the copy that is there";
    else if (is_worse(copied))
        file.trouble =
            "less of it could be read than in an earlier run, whose copy is kept as it is";
    else
        return false;
    return true;
}

CopiedFile FileCopier::copy(std::size_t index, FileOutcome& file) {
    std::set<std::size_t> to_replace;
    for (int n = 1;; ++n) {
        CopiedFile copied;
        copied.index = index;
        copied.copy = copy_path(file.path, n);
        file.trouble.clear();
        std::vector<std::size_t> to_compare;
        if (!is_free(copied.copy, n, index) || !begin_copies(copied, file, to_replace, to_compare))
            continue;

        if (copied.without.size() == targets_.size()) {  // told already: nothing to read it for
            file.proof = FileOutcome::Proof::failed;
            return copied;
        }
        read_into(copied, file);
        const CardReading& reading = copied.reading;
        if (is_given_up(copied, file, !to_compare.empty())) {
            file.proof = FileOutcome::Proof::failed;
            copied.pending.clear();
            return copied;
        }
        if (reading.whole() && forgotten_.knows(copied.sha256) &&
            !silence(copied, file, to_compare, to_replace)) {
            --n;  // once more under this name
            continue;
        }
        const bool equal =
            std::all_of(to_compare.begin(), to_compare.end(), [&](std::size_t target) {
                return holds(targets_[target], copied.copy, copied.sha256, file);
            });
        if (!equal) continue;  // the same name, another content: once more, under the next name
        if (!copied.without.empty() && copied.pending.empty()) {
            file.proof = FileOutcome::Proof::failed;
        } else if (reading.whole() && copied.pending.empty()) {
            file.proof = FileOutcome::Proof::proved_before;
        } else if (reading.whole()) {
            const std::string known = known_elsewhere(copied.sha256, file);
            if (!known.empty()) {
                file.proof = FileOutcome::Proof::known_content;
                copied.copy = known;
                copied.pending.clear();
            }
        }
        file.copy = copied.copy;
        taken_[folded_name(copied.copy)] = index;
        return copied;
    }
}

}  // namespace hearwood
