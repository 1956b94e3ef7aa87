#include "listen/forget.h"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <ctime>

#include "audio/audio_file.h"
#include "audio/silence.h"
#include "base/csv_cell.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/sha256.h"
#include "base/text.h"
#include "card/checksums.h"
#include "card/offload.h"
#include "card/proof_dates.h"
#include "listen/key.h"
#include "listen/sheet.h"
#include "platform/file_status.h"
#include "store/forgotten.h"
#include "survey/inside.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

/// Frames of the stretch, outwards to whole samples and no further than the recording.
struct Frames {
    std::uint64_t from, to;
    int rate;
};

Frames frames_of(const fs::path& file, const ForgetRequest& request) {
    auto opened = open_audio(file);
    if (const auto* bad = std::get_if<Unreadable>(&opened))
        throw InputError(file.string() + ": " + bad->reason, "name a recording that can be read");
    const AudioInfo info = std::get<AudioFile>(opened).info();
    if (!(request.from_s >= 0 && request.from_s < request.to_s && request.from_s < info.seconds()))
        throw InputError(fmt::format("{}: there is no stretch from {} to {} s in {} s",
                                     file.string(), format_number(request.from_s),
                                     format_number(request.to_s), format_number(info.seconds())),
                         "give --from and --to in seconds of the recording, --from first");
    const auto from = static_cast<std::uint64_t>(std::floor(request.from_s * info.sample_rate));
    const double to = std::ceil(std::min(request.to_s, info.seconds()) * info.sample_rate);
    return {from, std::min(static_cast<std::uint64_t>(to), info.frames), info.sample_rate};
}

/// In every list of a folder above the file, up to the survey's, that has it: offload writes one
/// for the whole deployment. What was changed is not what was proved.
void renew_checksums(const fs::path& survey_folder, const fs::path& recording,
                     const std::string& sha256) {
    for (fs::path below = recording.parent_path();; below = below.parent_path()) {
        const fs::path folder = survey_folder / below;
        const std::string name = recording.lexically_relative(below).generic_string();
        Checksums sums = Checksums::load(folder / Checksums::kFileName);
        if (!sums.find(name).empty()) {
            sums.set(name, sha256);
            if (fs::exists(folder / Checksums::kOwnSum))
                sums.save(folder);
            else
                write_whole_file(folder / Checksums::kFileName, sums.text());
            ProofDates dates = ProofDates::load(folder);
            if (!dates.find(name).empty()) {
                dates.remove(name);
                write_whole_file(folder / ProofDates::kFileName, dates.text());
            }
        }
        if (below.empty()) return;
    }
}

void renew_store(Store& store, const std::string& recording, const fs::path& file,
                 const std::string& sha256) {
    auto row = store.find(recording);
    if (!row) return;
    const auto status = status_of(file, Links::follow);
    if (!status) return;
    row->size = static_cast<std::int64_t>(status->size);
    row->mtime_ns = status->modified_ns;
    row->sha256 = sha256;
    row->proved = false;  // it is no longer what lay on the card
    row->card_path.clear();
    row->state = RecordingState::pending;
    row->settings.clear();
    store.begin();
    const std::int64_t id = store.put(*row);
    store.delete_results(id);
    store.commit();
    store.make_durable();
}

std::vector<KeyLine> key_if_any(const fs::path& survey_folder) {
    if (!fs::exists(listening_key(survey_folder))) return {};
    return read_key(survey_folder);
}

/// Removes a file or a folder; what cannot be is noted.
void remove_or_note(const fs::path& path, Forgotten& done) {
    std::error_code error;
    fs::remove_all(path, error);
    if (error) done.not_removed.push_back(path.string() + ": " + error.message());
}

void remove_clips(const fs::path& survey_folder, const std::vector<KeyLine>& key, Forgotten& done) {
    const fs::path folder = listening_folder(survey_folder);
    for (const KeyLine& line : key) {
        if (line.recording != done.stretch.recording || line.to_s <= done.stretch.from_s ||
            line.from_s >= done.stretch.to_s)
            continue;
        remove_or_note(folder / "clips" / (line.clip + ".wav"), done);
        remove_or_note(folder / "pictures" / (line.clip + ".png"), done);
        done.clips.push_back(line.clip);
    }
    // The page does not say in a file of its own which of its clips come from where; report cuts
    // them anew.
    remove_or_note(survey_folder / "hearwood" / "report" / "clips", done);
}

/// Second copies of the recording, where offload has noted their disks.
void look_elsewhere(const Store& store, Forgotten& done) {
    const std::string path = name_from_utf8(done.stretch.recording);
    for (const std::string& root : split(store.note(kSecondCopiesNote), '\n')) {
        if (root.empty()) continue;
        const fs::path copy = fs::path(name_from_utf8(root)) / path;
        std::error_code error;
        if (!fs::exists(name_from_utf8(root), error))
            done.elsewhere.push_back(copy.string() + " may hold it; its disk is not connected");
        else if (fs::exists(copy, error) && sha256_of_file(copy) != done.stretch.sha256_after)
            done.elsewhere.push_back(copy.string() + " still holds it");
    }
}

std::string utc_now() {
    return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(std::time(nullptr)));
}

/// Does what the log has as intended, or makes sure that it is done.
void carry_out(const fs::path& survey_folder, Store& store, const std::vector<KeyLine>& key,
               std::vector<ForgottenStretch>& log, std::size_t which, Forgotten& done) {
    done.stretch = log[which];
    const fs::path path = name_from_utf8(log[which].recording);
    const fs::path file = survey_folder / path;
    remove_clips(survey_folder, key, done);
    if (log[which].done()) return;
    auto opened = open_audio(file);
    const auto* audio = std::get_if<AudioFile>(&opened);
    if (!audio) throw MachineError(file.string() + ": can no longer be opened; it is not silenced");
    const int rate = audio->info().sample_rate;
    // The log holds whole samples.
    silence_frames(file, static_cast<std::uint64_t>(std::llround(log[which].from_s * rate)),
                   static_cast<std::uint64_t>(std::llround(log[which].to_s * rate)));
    const std::string after = sha256_of_file(file);
    renew_checksums(survey_folder, path, after);
    renew_store(store, log[which].recording, file, after);
    log[which].sha256_after = after;
    write_forgotten(survey_folder, log);
    done.stretch = log[which];
}

/// What earlier runs began and did not end. A recording that is gone takes its voice along.
void finish_intended(const fs::path& survey_folder, Store& store, const std::vector<KeyLine>& key,
                     std::vector<ForgottenStretch>& log, Forgotten& done) {
    for (std::size_t i = 0; i < log.size(); ++i) {
        std::error_code error;
        if (!log[i].done() && fs::exists(survey_folder / name_from_utf8(log[i].recording), error))
            carry_out(survey_folder, store, key, log, i, done);
    }
}

}  // namespace

fs::path survey_folder_of(const fs::path& file) {
    for (fs::path folder = fs::absolute(file).lexically_normal().parent_path();;
         folder = folder.parent_path()) {
        if (fs::exists(folder / "survey.toml")) return folder;
        if (folder == folder.parent_path()) break;
    }
    throw InputError(file.string() + ": no folder above it holds a survey.toml",
                     "name a recording inside a survey folder");
}

ForgetRequest request_for_file(const fs::path& survey_folder, const fs::path& file, double from_s,
                               double to_s, const std::string& reason) {
    const fs::path whole = fs::absolute(file).lexically_normal();
    const fs::path relative = whole.lexically_relative(survey_folder);
    // Not load_survey: a voice can be silenced while a sheet is still wrong.
    if (auto links = links_out_of(survey_folder); !links.empty())
        throw InputError(std::move(links));
    if (fs::is_symlink(whole) || leads_out(survey_folder, relative))
        throw InputError(file.string() + ": a symbolic link, or behind one that leaves the survey",
                         "name the recording itself, inside the survey folder");
    return {name_to_utf8(relative.generic_string()), from_s, to_s, reason};
}

ForgetRequest request_for_clip(const fs::path& survey_folder, const std::string& clip) {
    for (const KeyLine& line : read_key(survey_folder))
        if (line.clip == clip) return {line.recording, line.from_s, line.to_s, "clip " + clip};
    throw InputError("the listening sheet has no clip '" + clip + "'",
                     "give the name as the answers have it");
}

Forgotten forget_stretch(const fs::path& survey_folder, Store& store,
                         const ForgetRequest& request) {
    const fs::path file = survey_folder / name_from_utf8(request.recording);
    const Frames stretch = frames_of(file, request);
    require_silenceable(file);
    // Read first: a key that cannot be understood must stop this before anything is changed.
    const std::vector<KeyLine> key = key_if_any(survey_folder);
    std::vector<ForgottenStretch> log = read_forgotten(survey_folder);
    Forgotten done;
    const double from_s = static_cast<double>(stretch.from) / stretch.rate;
    const double to_s = static_cast<double>(stretch.to) / stretch.rate;
    auto own = std::find_if(log.begin(), log.end(), [&](const ForgottenStretch& one) {
        return one.is_of(request.recording, from_s, to_s) &&
               (!one.done() || one.sha256_after == sha256_of_file(file));
    });
    if (own == log.end()) {
        log.push_back(
            {request.recording, from_s, to_s, sha256_of_file(file), "", utc_now(), request.reason});
        write_forgotten(survey_folder, log);
        own = log.end() - 1;
    }
    const auto which = static_cast<std::size_t>(own - log.begin());
    finish_intended(survey_folder, store, key, log, done);
    done = {};
    carry_out(survey_folder, store, key, log, which, done);
    look_elsewhere(store, done);
    return done;
}

std::string would_forget_text(const ForgetRequest& request) {
    return wrapped(fmt::format("would silence {} from {} to {} s", printable(request.recording),
                               format_number(request.from_s), format_number(request.to_s)));
}

std::string forgotten_text(const Forgotten& done) {
    std::string text = wrapped(fmt::format(
        "{}: silent from {} to {} s; both hashes and the reason stand in hearwood/forgotten.csv",
        printable(done.stretch.recording), format_number(done.stretch.from_s),
        format_number(done.stretch.to_s)));
    for (const std::string& clip : done.clips)
        text += fmt::format("clip {} of the listening sheet was removed\n", clip);
    text += wrapped(
        "its results were dropped, and the page's clips removed: run hearwood measure, then "
        "report");
    for (const std::string& copy : done.elsewhere) text += list_entry(printable(copy));
    return text + wrapped(
                      "the card still holds it, and so may copies that hearwood does not know of; "
                      "offload silences it again when the card is offloaded once more");
}

}  // namespace hearwood
