// From a card to proved copies. Each file of the card is read once, from beginning to end; what is
// written is read back from the disk and compared before it gets its name; then it is recorded in
// survey.db and SHA256SUMS. docs/offload.md tells it to users.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "audio/inventory.h"
#include "card/card_findings.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct OffloadOptions {
    std::filesystem::path card;
    std::string deployment;
    std::optional<std::filesystem::path> second;  ///< root of a second proved copy
    bool measure = false;
    bool force = false;  ///< go on although the card does not fit the deployment
    bool dry_run = false;
    bool quiet = false;
    int jobs = 1;
};

/// What became of one file of the card.
struct FileOutcome {
    enum class Proof {
        pending,        ///< not reached
        copied,         ///< copied now, read back and equal
        proved_before,  ///< an equal copy was there; this run read the card's file and compared
        known_content,  ///< the same content is there under another name, from an earlier look at
                        ///< this card
        salvaged,       ///< copied with zeros where the card could not be read
        failed,         ///< no copy that can be trusted
    };
    std::string path;  ///< on the card, raw bytes
    std::uint64_t size = 0;
    std::int64_t modified_ns = 0;
    bool recording = true;
    Proof proof = Proof::pending;
    std::string copy;     ///< where the copy is, relative to the deployment's folder
    std::string trouble;  ///< for salvaged and failed: why; one clause

    bool proved() const {
        return proof == Proof::copied || proof == Proof::proved_before ||
               proof == Proof::known_content;
    }
};

struct OffloadResult {
    std::string folder;              ///< where the copies are, from the survey folder
    std::string second_folder;       ///< empty: no second copy
    std::vector<FileOutcome> files;  ///< recordings by path, then the others by path
    std::vector<LeftOut> left_out;
    std::vector<Finding> findings;
    std::vector<std::string> cautions;  ///< about the whole: why the card does not seem to fit, say
    std::uint64_t bytes_needed = 0;     ///< of the files that lack a copy
    bool past_cache = true;  ///< false: copies could not be read back past the page cache
    bool same_disk = false;  ///< the second copy is on the disk of the first
    bool dry_run = false;
    std::int64_t measured = 0;  ///< recordings measured in this run
    bool interrupted = false;
    std::string stopped;  ///< why the run ended before the card did; empty: it did not

    bool all_proved() const;
    bool may_wipe() const;
};

/// A dry run only reads the store. Errors: InputError when the card does not fit the
/// deployment or does not fit on the disk: nothing was done then. Failures of the machine are told
/// in OffloadResult::stopped, so that what was proved is shown; they never throw away what is done.
OffloadResult offload(const Survey& survey, Store& store, const OffloadOptions& options);

/// What this run did, as lines of text. (The verdict is about the card and its copies, and is the
/// same whether they took one run or five.)
std::string this_run(const OffloadResult& result);

/// All that should be known of the card, as lines of text; at most `most` lines of a kind.
std::string card_in_words(const OffloadResult& result,
                          std::size_t most = static_cast<std::size_t>(-1));
/// Whether it may be wiped, in large plain words: what is printed last.
std::string verdict(const OffloadResult& result);

}  // namespace hearwood
