#include "card/restore.h"

#include <algorithm>
#include <set>

#include "audio/inventory.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "base/text.h"
#include "card/checksums.h"
#include "card/disk_hash.h"
#include "card/file_copier.h"
#include "card/proof_dates.h"
#include "card/verify_copies.h"
#include "measure/survey_walk.h"
#include "platform/file_status.h"
#include "store/forgotten.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// In a second disk's folder: the sums of the sheets that were written there, as SHA256SUMS has
// them.
constexpr const char* kSheetSums = "SHEETS.sha256";
constexpr std::uint64_t kLongestSheet = 256u << 20;

/// Sheets lie in the survey folder itself; forgotten.csv says what must stay silent.
std::vector<std::string> sheets_of(const fs::path& survey_folder) {
    std::vector<std::string> names;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(survey_folder, error)) {
        const std::string ending = entry.path().extension().native();
        if (entry.is_regular_file(error) && !entry.is_symlink(error) &&
            (ending == ".csv" || ending == ".toml"))
            names.push_back(entry.path().filename().native());
    }
    std::sort(names.begin(), names.end());
    if (fs::exists(forgotten_file(survey_folder), error))
        names.push_back(forgotten_file(survey_folder).lexically_relative(survey_folder).native());
    return names;
}

class Restorer {
  public:
    Restorer(const Survey& survey, Store& store) : survey_(survey), store_(store) {
        for (const ForgottenStretch& one : read_forgotten(survey.folder))
            silenced_.insert(one.sha256_after);
    }

    void find(const Deployment& deployment);
    std::size_t restore(bool quiet);

  private:
    struct Missing {
        RecordingRow row;
        fs::path file;
    };
    const Survey& survey_;
    Store& store_;
    std::set<std::string> silenced_;
    std::vector<Missing> missing_;
};

/// Recordings that were copied by offload (only then are there dates of proof) and have no row.
void Restorer::find(const Deployment& deployment) {
    const fs::path folder = survey_.folder / deployment.folder;
    std::error_code error;
    if (!fs::exists(folder / ProofDates::kFileName, error)) return;
    const ProofDates dates = ProofDates::load(folder);
    const Checksums sums = Checksums::load(folder / Checksums::kFileName);
    for (const auto& [name, sha256] : sums.by_name()) {
        if (!has_audio_ending(name) || !stays_inside(name)) continue;
        RecordingRow row;
        row.path = stored_path((fs::path(deployment.folder) / name).lexically_normal().native());
        const auto status = status_of(folder / name, Links::look_at_link);
        if (!status || !status->is_regular() || store_.find(row.path)) continue;
        row.deployment = deployment.name;
        row.size = static_cast<std::int64_t>(status->size);
        row.mtime_ns = status->modified_ns;
        row.sha256 = sha256;
        const std::string date = dates.find(name);
        row.proved = !date.empty() && date != ProofDates::kSalvaged;
        if (!date.empty() && !silenced_.contains(sha256))
            row.card_path = name_to_utf8(card_path_of(name));
        row.proved = row.proved && !silenced_.contains(sha256);
        missing_.push_back({std::move(row), folder / name});
    }
}

std::size_t Restorer::restore(bool quiet) {
    if (missing_.empty()) return 0;
    Progress progress("taking up proofs of copies", "recordings", missing_.size(), quiet);
    DiskReader disk;
    std::size_t restored = 0;
    store_.begin();
    for (Missing& missing : missing_) {
        if (interrupted()) break;
        try {
            if (disk.hash(missing.file).sha256 == missing.row.sha256) {
                store_.put(missing.row);
                ++restored;
            }
        } catch (const MachineError&) {
            // Measuring will tell that it cannot be read.
        }
        progress.add();
    }
    store_.commit();
    progress.finish();
    return restored;
}

}  // namespace

std::vector<std::string> keep_sheets(const fs::path& survey_folder, const fs::path& second) {
    std::vector<std::string> left;
    Checksums sums = Checksums::load(second / kSheetSums);
    for (const std::string& name : sheets_of(survey_folder)) {
        const std::string text = read_whole_file(survey_folder / name, kLongestSheet);
        const std::string sha256 = sha256_of(text);
        std::error_code error;
        if (fs::exists(second / name, error)) {
            const std::string there = sha256_of_file(second / name);
            if (there == sha256) {
                sums.set(name, sha256);
                continue;
            }
            if (there != sums.find(name)) {
                left.push_back(name);
                continue;
            }
        }
        make_folder((second / name).parent_path());
        write_whole_file(second / name, text);
        sums.set(name, sha256);
    }
    write_whole_file(second / kSheetSums, sums.text());
    return left;
}

std::size_t restore_proofs(const Survey& survey, Store& store, bool quiet) {
    Restorer restorer(survey, store);
    for (const Deployment& deployment : survey.deployments) restorer.find(deployment);
    return restorer.restore(quiet);
}

}  // namespace hearwood
