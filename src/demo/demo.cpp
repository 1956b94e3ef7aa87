#include "demo/demo.h"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <exception>
#include <memory>
#include <mutex>
#include <system_error>
#include <thread>
#include <vector>

#include "audio/wave_writer.h"
#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/progress.h"
#include "base/text.h"
#include "demo/demo_sheets.h"
#include "demo/scenario.h"
#include "demo/synthesis.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

void require_empty(const fs::path& folder) {
    std::error_code error;
    if (fs::exists(folder, error) &&
        !(fs::is_directory(folder, error) && fs::is_empty(folder, error)))
        throw InputError({Problem{.file = folder.string(),
                                  .what = "is there already and not an empty folder",
                                  .mend = "name a new folder, so that nothing is overwritten"}});
}

[[noreturn]] void fail_writing(const fs::path& path, SNDFILE* file) {
    throw MachineError(fmt::format("{}: cannot write: {}; check the disk's free space",
                                   printable(path.string()), sf_strerror(file)));
}

void write_flac(const fs::path& path, const std::vector<float>& samples) {
    AtomicFile target(path);
    SF_INFO info{};
    info.samplerate = kDemoSampleRate;
    info.channels = 1;
    info.format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
    std::unique_ptr<SNDFILE, int (*)(SNDFILE*)> file(
        sf_open(target.temporary_path().c_str(), SFM_WRITE, &info), sf_close);
    if (!file) fail_writing(path, nullptr);
    std::vector<std::int16_t> codes(samples.size());
    std::transform(samples.begin(), samples.end(), codes.begin(),
                   [](float x) { return static_cast<std::int16_t>(std::lrint(x * 32768.0f)); });
    const auto count = static_cast<sf_count_t>(codes.size());
    if (sf_writef_short(file.get(), codes.data(), count) != count) fail_writing(path, file.get());
    // Closing writes the last block; only then is the file whole.
    if (sf_close(file.release()) != 0) fail_writing(path, nullptr);
    target.commit(Sync::later);
}

void write_wave(const fs::path& path, const std::vector<float>& samples) {
    WaveWriter writer(path, {.sample_rate = kDemoSampleRate, .channels = 1, .metadata = {}});
    writer.write_float(samples);
    writer.close();
}

void write_recording(const fs::path& folder, const DemoSite& site, const DemoFile& file) {
    const fs::path path = folder / "recordings" / demo_deployment(site) / file.name;
    const std::vector<float> samples = synthesise(site, file);
    if (site.writes_wav)
        write_wave(path, samples);
    else
        write_flac(path, samples);
    // What a pulled card leaves: a header that promises more than there is.
    if (file.truncated) fs::resize_file(path, fs::file_size(path) * 13 / 20);
}

/// Files one after another from a shared counter; the first failure stops all threads and is passed
/// on.
void write_recordings(const fs::path& folder, const DemoScenario& scenario, int jobs,
                      Progress& progress) {
    std::atomic<std::size_t> next = 0;
    std::exception_ptr failure;
    std::mutex failure_mutex;
    const auto work = [&] {
        try {
            for (std::size_t i = next++; i < scenario.files.size() && !interrupted(); i = next++) {
                const DemoFile& file = scenario.files[i];
                write_recording(folder, scenario.sites[file.site], file);
                progress.add();
            }
        } catch (...) {
            const std::scoped_lock lock(failure_mutex);
            failure = std::current_exception();
            next = scenario.files.size();
        }
    };
    std::vector<std::jthread> threads;
    for (int i = 0; i < jobs; ++i) threads.emplace_back(work);
    threads.clear();
    if (failure) std::rethrow_exception(failure);
}

}  // namespace

DemoSummary make_demo(const fs::path& folder, std::uint64_t seed, int jobs, bool quiet) {
    require_empty(folder);
    const DemoScenario scenario = make_scenario(seed);
    for (const DemoSite& site : scenario.sites)
        make_folder(folder / "recordings" / demo_deployment(site));
    write_whole_file(folder / "sites.csv", demo_sites_csv(scenario));
    write_whole_file(folder / "deployments.csv", demo_deployments_csv(scenario));
    write_whole_file(folder / "truth.csv", demo_truth_csv(scenario));

    Progress progress("making", "recordings", scenario.files.size(), quiet);
    write_recordings(folder, scenario, jobs, progress);
    progress.finish();

    DemoSummary summary{.sites = scenario.sites.size(),
                        .files = scenario.files.size(),
                        .interrupted = interrupted()};
    // survey.toml last: a folder that has one is a whole survey.
    if (!summary.interrupted) write_whole_file(folder / "survey.toml", demo_survey_toml(seed));
    for (const auto& entry : fs::recursive_directory_iterator(folder))
        if (entry.is_regular_file()) summary.bytes += entry.file_size();
    return summary;
}

}  // namespace hearwood
