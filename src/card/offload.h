// From a card to proved copies. Each file of the card is read from beginning to end; what is
// written is read back from the disk and compared before it gets its name; then it is recorded in
// survey.db and SHA256SUMS. After the last is written every copy of every disk is read once more,
// and the card is listed again: the verdict speaks only of what this run read. docs/offload.md
// tells it to users.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "audio/inventory.h"
#include "card/card_findings.h"
#include "card/disk.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// A note of survey.db: the roots of second copies, one a line, as name_to_utf8 writes them.
inline constexpr const char* kSecondCopiesNote = "second_copies";

struct OffloadOptions {
    std::filesystem::path card;
    std::string deployment;
    std::optional<std::filesystem::path> second;  ///< root of a second proved copy
    bool one_copy = false;   ///< copies on one disk are enough for the card to be wiped
    bool read_once = false;  ///< the card is not read again to see whether it gives the same
    bool repair = false;     ///< replace copies that the closing pass finds spoilt
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
        proved_before,  ///< an equal copy was there; this run read both and compared
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
    /// Of what the copies must hold: what the card gave, but for what was silenced in it. Empty:
    /// not read, or not to its end.
    std::string sha256;
    bool silenced = false;  ///< stretches of it were forgotten before, and are silent in the copies
    std::string copy;       ///< where the copy is, relative to the deployment's folder
    std::string trouble;    ///< for salvaged and failed: why; one clause
    std::size_t read_back = 0;  ///< copies that the closing pass read and found equal

    bool proved() const {
        return proof == Proof::copied || proof == Proof::proved_before ||
               proof == Proof::known_content;
    }
};

/// A folder that holds a copy of each file.
struct CopyPlace {
    std::string folder;  ///< of the deployment, absolute; raw bytes
    Disk disk;
    bool past_memory = true;  ///< false: not known whether its copies were read past memory
    bool on_card = false;     ///< on the card's own disk: what wipes the card takes it too
};

struct OffloadResult {
    std::string deployment, site;
    std::string folder;              ///< where the copies are, from the survey folder
    std::vector<CopyPlace> places;   ///< one, or two with a second copy
    std::vector<FileOutcome> files;  ///< recordings by path, then the others by path
    std::vector<LeftOut> left_out;
    std::vector<Finding> findings;
    std::vector<std::string> cautions;  ///< about the whole: why the card does not seem to fit, say
    /// Recordings on the card outside of the folder that was given: nobody looked at them.
    std::vector<std::string> outside;
    std::uint64_t bytes_needed = 0;     ///< of the files that lack a copy
    std::vector<std::string> changes;   ///< of the card while it was copied, one line each
    std::vector<std::string> repaired;  ///< spoilt copies that were made anew, one line each
    std::vector<std::string> notes;     ///< what else the user should see to, one line each
    bool rows_missing = false;          ///< survey.db could not be written
    bool closed = false;  ///< the closing pass came to its end, and the card was listed again
    bool one_copy = false;
    bool read_once = false;
    bool dry_run = false;
    std::int64_t measured = 0;  ///< recordings measured in this run
    bool interrupted = false;
    std::string stopped;  ///< why the run ended before the card did; empty: it did not

    bool all_proved() const;
    /// On how many disks the copies are.
    std::size_t disks() const;
    bool may_wipe() const { return why_not().empty(); }
    /// Why the card must not be wiped: the first reason, one clause; empty when it may be.
    std::string why_not() const;
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
