#include "export/deposit.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "aggregate/coverage.h"
#include "aggregate/decided.h"
#include "aggregate/judged_segments.h"
#include "aggregate/mean_tables.h"
#include "aggregate/tables.h"
#include "audio/audio_file.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/sha256.h"
#include "base/text.h"
#include "card/checksums.h"
#include "contrast/kept_results.h"
#include "export/coarse_survey.h"
#include "export/darwin_core.h"
#include "export/deposit_files.h"
#include "export/deposit_words.h"
#include "listen/key.h"
#include "measure/survey_walk.h"
#include "report/report.h"
#include "store/forgotten.h"

namespace hearwood {

namespace {

namespace fs = std::filesystem;

constexpr double kOfMinute = 1000;  // as coverage.csv has them

void refuse_folder(const fs::path& out) {
    std::error_code error;
    const bool there = fs::exists(fs::symlink_status(out, error));
    if (!there) return;
    if (!fs::is_directory(out, error))
        throw InputError(printable(out.native()) + ": is there and is no folder",
                         "name a folder that is not there yet");
    if (!fs::is_empty(out, error))
        throw InputError(printable(out.native()) + ": the folder is not empty",
                         "a deposit is written whole: name a folder that is not there yet");
}

/// Recordings whose clips somebody heard people in.
std::set<std::string> heard_voices(const Survey& survey, const KeptResults& kept) {
    std::set<std::string> recordings;
    if (!kept.listening || kept.listening->voices.empty()) return recordings;
    for (const KeyLine& line : read_key(survey.folder)) {
        const auto& voices = kept.listening->voices;
        if (std::find(voices.begin(), voices.end(), line.clip) != voices.end())
            recordings.insert(line.recording);
    }
    return recordings;
}

class Depositor {
  public:
    Depositor(const Survey& survey, const Store& store, const DepositOptions& options,
              std::span<const TableDescription> results)
        : survey_(survey),
          store_(store),
          options_(options),
          results_(results),
          steps_(coarse_steps(survey, options.coarsen)),
          coarse_(coarse_survey(survey, steps_)) {}

    DepositSummary write() {
        refuse_folder(options_.out);
        require_current_results(survey_, store_);
        if (!fs::exists(tables_folder(survey_.folder) / "segments.csv"))
            throw InputError("there are no tables yet", "run 'hearwood run' first");
        summary_.coarse_sites = static_cast<std::size_t>(
            std::count_if(steps_.begin(), steps_.end(), [](double step) { return step > 0; }));
        values_ = compute_site_values(survey_, store_);
        kept_ = read_kept_results(survey_, &values_, store_);
        make_folder(options_.out);
        put_tables();
        put_sheets();
        if (!put_page()) return interrupted_summary();
        put_events();
        if (options_.recordings) put_recordings();
        if (interrupted()) return interrupted_summary();
        put_words();
        put_sums();
        return std::move(summary_);
    }

  private:
    DepositSummary interrupted_summary() {
        summary_.interrupted = true;
        return std::move(summary_);
    }
    void put(const fs::path& name, std::string_view bytes) const {
        make_folder((options_.out / name).parent_path());
        write_whole_file(options_.out / name, bytes, Sync::later);
    }
    void put_copy(const fs::path& from, const fs::path& name) const;
    void put_tables() const;
    void put_sheets() const;
    bool put_page();
    void put_events() const;
    void put_recordings();
    std::string why_left_behind(const Decided& decided, std::size_t deployment,
                                const KnownRecording& recording) const;
    void put_words() const;
    void put_sums();

    const Survey& survey_;
    const Store& store_;
    const DepositOptions& options_;
    std::span<const TableDescription> results_;
    std::vector<double> steps_;  ///< by site
    Survey coarse_;
    SiteValues values_;
    KeptResults kept_;
    std::set<std::string> voices_;  ///< recordings
    std::string methods_;
    DepositSummary summary_;
};

void Depositor::put_copy(const fs::path& from, const fs::path& name) const {
    const fs::path to = options_.out / name;
    make_folder(to.parent_path());
    std::error_code error;
    if (!fs::copy_file(from, to, error))
        throw MachineError(fmt::format("{}: cannot be copied to {}: {}", printable(from.native()),
                                       printable(to.native()), error.message()));
}

void Depositor::put_tables() const {
    const fs::path tables = tables_folder(survey_.folder);
    std::vector<fs::path> names;
    for (const auto& entry : fs::directory_iterator(tables))
        if (entry.path().extension() == ".csv") names.push_back(entry.path().filename());
    std::sort(names.begin(), names.end());
    for (const fs::path& name : names)
        if (name != "sites.csv" && name != "deployments.csv")
            put_copy(tables / name, "data" / name);
    write_sheet_tables(coarse_, options_.out / "data");
    put("datapackage.json", data_package_of(coarse_, store_, options_.out, "data/", results_));
}

void Depositor::put_sheets() const {
    for (const char* name : {"survey.toml", "deployments.csv", "decisions.csv"})
        if (fs::exists(survey_.folder / name))
            put_copy(survey_.folder / name, fs::path("sheets") / name);
    if (summary_.coarse_sites == 0)
        put_copy(survey_.folder / "sites.csv", "sheets/sites.csv");
    else
        put("sheets/sites.csv", csv_of(sites_table(coarse_), coarse_.sites));
}

/// Without clips: people may be heard in them.
bool Depositor::put_page() {
    ReportOptions options;
    options.jobs = options_.jobs;
    options.quiet = options_.quiet;
    options.clips = false;
    options.folder = options_.out / "page";
    options.shown = &coarse_;
    ReportSummary written = write_report(survey_, store_, options);
    methods_ = std::move(written.methods);
    return !written.page.empty();
}

void Depositor::put_events() const {
    const Placer placer(survey_);
    std::vector<double> minutes;
    for (std::size_t d = 0; d < survey_.deployments.size(); ++d)
        minutes.push_back(std::round(coverage_of(survey_, placer, d,
                                                 recordings_of(survey_, store_, placer, d), nullptr)
                                         .present *
                                     kOfMinute) /
                          kOfMinute);
    const std::vector<FieldEvent> events = field_events(coarse_, steps_, minutes);
    put("event.csv", csv_of(event_table(), events));
    put("meta.xml", archive_descriptor());
    put("eml.xml", ecological_metadata(coarse_, events));
}

/// A clause; empty: it goes along.
std::string Depositor::why_left_behind(const Decided& decided, std::size_t deployment,
                                       const KnownRecording& recording) const {
    if (voices_.contains(recording.row.path)) return "a voice was heard or silenced in it";
    if (!recording.counts()) return "it does not count";
    const Instant from = *recording.start;
    if (decided.takes_from(deployment, recording.row.path, from,
                           from + to_milliseconds(recording.duration_s())))
        return "a decision leaves it out";
    if (steps_[survey_.deployments[deployment].site] > 0) {
        auto opened = open_audio(disk_path(survey_, recording.row));
        const auto* audio = std::get_if<AudioFile>(&opened);
        if (audio && guano_value(audio->metadata().guano, "Loc Position"))
            return "its header tells the place, which is to stay coarse";
    }
    return {};
}

void Depositor::put_recordings() {
    voices_ = heard_voices(survey_, kept_);
    for (const ForgottenStretch& one : read_forgotten(survey_.folder))
        voices_.insert(one.recording);
    const Placer placer(survey_);
    const Decided decided(survey_);
    Progress progress("copying recordings", "files",
                      static_cast<std::uint64_t>(store_.count_recordings()), options_.quiet);
    for (const std::size_t d : deployments_by_name(survey_)) {
        for (const KnownRecording& recording : recordings_of(survey_, store_, placer, d)) {
            if (interrupted()) return;
            progress.add();
            if (recording.row.gone) continue;
            std::string why = why_left_behind(decided, d, recording);
            const fs::path file = disk_path(survey_, recording.row);
            if (why.empty() && !fs::exists(file)) why = "it is not on this disk";
            if (!why.empty()) {
                summary_.left_behind.emplace_back(recording.row.path, why);
                continue;
            }
            // Deployments may keep their recordings in any folder: here all lie below one.
            const std::string path = name_from_utf8(recording.row.path);
            put_copy(file, path.starts_with("recordings/") ? path : "recordings/" + path);
            ++summary_.recordings;
        }
    }
    progress.finish();
}

void Depositor::put_words() const {
    put("README.md", deposit_readme({survey_, options_, summary_, values_.applied,
                                     kept_.listening.has_value()}));
    put("methods.md", methods_page(methods_));
    put("CITATION.cff", citation_file(survey_));
}

/// Last, and synced with all before it.
void Depositor::put_sums() {
    std::map<std::string, std::string> sums;
    for (const auto& entry : fs::recursive_directory_iterator(options_.out)) {
        if (!entry.is_regular_file()) continue;
        const std::string name = entry.path().lexically_relative(options_.out).generic_string();
        sums[name] = sha256_of_file(entry.path());
        summary_.bytes += entry.file_size();
    }
    sync_file_system(options_.out);
    std::string text;
    for (const auto& [name, sum] : sums) text += checksum_line(name, sum) + "\n";
    write_whole_file(options_.out / Checksums::kFileName, text);
    summary_.files = sums.size() + 1;
}

}  // namespace

DepositSummary write_deposit(const Survey& survey, const Store& store,
                             const DepositOptions& options,
                             std::span<const TableDescription> results) {
    if (!is_zip_name(options.out)) return Depositor(survey, store, options, results).write();
    std::error_code error;
    if (fs::exists(fs::symlink_status(options.out, error)))
        throw InputError(printable(options.out.native()) + ": is there already",
                         "a deposit is written whole: name a .zip that is not there yet");
    DepositOptions unpacked = options;
    unpacked.out += ".unpacked";  // .part is the archive's own until it is whole
    DepositSummary summary = Depositor(survey, store, unpacked, results).write();
    if (summary.interrupted) return summary;
    write_zip(unpacked.out, options.out);
    fs::remove_all(unpacked.out, error);
    summary.bytes = fs::file_size(options.out, error);
    return summary;
}

}  // namespace hearwood
