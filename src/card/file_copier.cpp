#include "card/file_copier.h"

#include <algorithm>
#include <cstdlib>

#include "base/sha256.h"
#include "base/text.h"

namespace hearwood {
namespace {

constexpr const char* kAgainFolder = "card-";
constexpr std::int64_t kTimeStepNs = 2'000'000'000;  // FAT keeps times to two seconds

bool is_reserved(const std::string& copy) {
    return copy == Checksums::kFileName || copy == kOffloadReport;
}

}  // namespace

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
    if (!present || (present->regular && replaceable_(copy))) return Need::write;
    return present->regular && present->size == file.size ? Need::compare : Need::conflict;
}

bool FileCopier::seems_copied(const CopyTarget& target, const FileOutcome& file) const {
    return need(target, file.path, file) == Need::compare;
}

void FileCopier::read_into(CopiedFile& copied, const FileOutcome& file) {
    Sha256 hash;
    copied.reading = reader_.read(file.path, file.size, [&](const char* bytes, std::size_t count) {
        hash.add(bytes, count);
        for (auto& pending : copied.pending) pending.copy.write(bytes, count);
        if (progress) progress(count);
    });
    copied.sha256 = hash.finish();
}

/// Whether a target holds this content at `copy`: by the record of that copy, if it was not changed
/// since; else by the copy itself.
bool FileCopier::holds(const CopyTarget& target, const std::string& copy, const std::string& sha256,
                       const FileOutcome& file) {
    const auto present = target.look(copy);
    if (!present || !present->regular || present->size != file.size) return false;
    std::string recorded;
    {
        const std::scoped_lock lock(mutex_);
        recorded = target.checksums().find(copy);
    }
    const bool unchanged = std::llabs(present->modified_ns - file.modified_ns) <= kTimeStepNs;
    if (!recorded.empty() && unchanged) return recorded == sha256;
    return disk_reader_.hash(target.folder() / copy).sha256 == sha256;
}

/// Another name under which every target holds this content, if that name is not one of this card's
/// own files: then this card (or the part of it that was given) was offloaded under other names
/// before.
std::string FileCopier::known_elsewhere(const std::string& sha256, const FileOutcome& file) {
    if (file.size == 0) return {};
    std::vector<std::string> names;
    {
        const std::scoped_lock lock(mutex_);
        names = targets_[0].checksums().names_with(sha256);
    }
    for (const std::string& name : names)
        if (!card_paths_.contains(card_path_of(name)) &&
            std::all_of(targets_.begin(), targets_.end(), [&](const CopyTarget& target) {
                return holds(target, name, sha256, file);
            }))
            return name;
    return {};
}

CopiedFile FileCopier::copy(std::size_t index, FileOutcome& file) {
    for (int n = 1;; ++n) {
        CopiedFile copied;
        copied.index = index;
        copied.copy = copy_path(file.path, n);
        // A file of the card may itself be called card-2/...: that name is its own.
        if (is_reserved(copied.copy) || (n > 1 && card_paths_.contains(copied.copy))) continue;
        std::vector<std::size_t> to_compare;
        bool conflict = false;
        for (std::size_t t = 0; t < targets_.size(); ++t) {
            const Need needs = need(targets_[t], copied.copy, file);
            conflict = conflict || needs == Need::conflict;
            if (needs == Need::compare) to_compare.push_back(t);
            if (needs == Need::write && !conflict)
                copied.pending.push_back({t, targets_[t].begin(copied.copy)});
        }
        if (conflict) continue;

        read_into(copied, file);
        const CardReading& reading = copied.reading;
        const bool nothing_read = !reading.failure.empty() && reading.bytes == 0;
        if (!reading.whole() && (nothing_read || !to_compare.empty())) {
            file.proof = FileOutcome::Proof::failed;
            file.trouble = reading.failure.empty()
                               ? "parts of it cannot be read any more, so that it could not be "
                                 "compared with the copy that is there"
                               : reading.failure;
            copied.pending.clear();
            return copied;
        }
        const bool equal =
            std::all_of(to_compare.begin(), to_compare.end(), [&](std::size_t target) {
                return holds(targets_[target], copied.copy, copied.sha256, file);
            });
        if (!equal) continue;  // the same name, another content: once more, under the next name
        if (reading.whole() && copied.pending.empty()) {
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
        return copied;
    }
}

}  // namespace hearwood
