#include "listen/forget.h"

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>
#include <cmath>
#include <ctime>

#include "audio/audio_file.h"
#include "base/csv_cell.h"
#include "base/file.h"
#include "base/sha256.h"
#include "base/text.h"
#include "card/checksums.h"
#include "listen/key.h"
#include "listen/sheet.h"
#include "listen/silence.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

/// Frames of the stretch, outwards to whole samples and no further than the recording.
struct Stretch {
    std::uint64_t from, to;
    int rate;
};

Stretch frames_of(const fs::path& file, const ForgetRequest& request) {
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
/// for the whole deployment.
void renew_checksums(const fs::path& survey_folder, const fs::path& recording,
                     const std::string& sha256) {
    for (fs::path folder = recording.parent_path();; folder = folder.parent_path()) {
        const fs::path list = survey_folder / folder / Checksums::kFileName;
        const std::string name = recording.lexically_relative(folder).generic_string();
        Checksums sums = Checksums::load(list);
        if (!sums.find(name).empty()) {
            sums.set(name, sha256);
            write_whole_file(list, sums.text());
        }
        if (folder.empty()) return;
    }
}

void renew_store(Store& store, const std::string& recording, const fs::path& file,
                 const std::string& sha256) {
    auto row = store.find(recording);
    if (!row) return;
    struct stat status {};
    if (::stat(file.c_str(), &status) != 0) return;
    row->size = status.st_size;
    row->mtime_ns = status.st_mtim.tv_sec * 1'000'000'000LL + status.st_mtim.tv_nsec;
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

/// One line more; the whole file is replaced, so that it is never half written.
void record(const fs::path& survey_folder, const Forgotten& done, const std::string& reason) {
    const fs::path file = survey_folder / "hearwood" / "forgotten.csv";
    std::string text =
        fs::exists(file)
            ? read_whole_file(file)
            : "recording,from_s,to_s,sha256_before,sha256_after,forgotten_utc,reason\n";
    append_csv_text(text, done.recording);
    text += fmt::format(",{},{},{},{},{:%Y-%m-%dT%H:%M:%SZ},", format_number(done.from_s),
                        format_number(done.to_s), done.sha256_before, done.sha256_after,
                        fmt::gmtime(std::time(nullptr)));
    append_csv_text(text, reason);
    make_folder(file.parent_path());
    write_whole_file(file, text + "\n");
}

std::vector<KeyLine> key_if_any(const fs::path& survey_folder) {
    if (!fs::exists(listening_key(survey_folder))) return {};
    return read_key(survey_folder);
}

std::vector<std::string> remove_clips(const fs::path& survey_folder,
                                      const std::vector<KeyLine>& key, const Forgotten& done) {
    const fs::path folder = listening_folder(survey_folder);
    std::vector<std::string> removed;
    for (const KeyLine& line : key) {
        if (line.recording != done.recording || line.to_s <= done.from_s ||
            line.from_s >= done.to_s)
            continue;
        std::error_code ignored;
        fs::remove(folder / "clips" / (line.clip + ".wav"), ignored);
        fs::remove(folder / "pictures" / (line.clip + ".png"), ignored);
        removed.push_back(line.clip);
    }
    return removed;
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

ForgetRequest request_for_clip(const fs::path& survey_folder, const std::string& clip) {
    for (const KeyLine& line : read_key(survey_folder))
        if (line.clip == clip) return {line.recording, line.from_s, line.to_s, "clip " + clip};
    throw InputError("the listening sheet has no clip '" + clip + "'",
                     "give the name as the answers have it");
}

Forgotten forget_stretch(const fs::path& survey_folder, Store& store,
                         const ForgetRequest& request) {
    const fs::path file = survey_folder / name_from_utf8(request.recording);
    const Stretch stretch = frames_of(file, request);
    // Read first: a key that cannot be understood must stop this before anything is changed.
    const std::vector<KeyLine> key = key_if_any(survey_folder);
    Forgotten done;
    done.recording = request.recording;
    done.from_s = static_cast<double>(stretch.from) / stretch.rate;
    done.to_s = static_cast<double>(stretch.to) / stretch.rate;
    done.sha256_before = sha256_of_file(file);
    silence_frames(file, stretch.from, stretch.to);
    done.sha256_after = sha256_of_file(file);
    record(survey_folder, done, request.reason);
    renew_checksums(survey_folder, name_from_utf8(request.recording), done.sha256_after);
    renew_store(store, request.recording, file, done.sha256_after);
    done.clips = remove_clips(survey_folder, key, done);
    return done;
}

}  // namespace hearwood
