#include "demo/demo.h"

#include <system_error>
#include <vector>

#include "audio/flac_writer.h"
#include "base/error.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/parallel.h"
#include "base/progress.h"
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
                                  .fix = "name a new folder, so that nothing is overwritten"}});
}

void write_recording(const fs::path& folder, const DemoSite& site, const DemoFile& file) {
    const fs::path path = folder / "recordings" / demo_deployment(site) / file.name;
    const std::vector<float> samples = synthesise(site, file);
    write_flac(path, samples, kDemoSampleRate, 16);
    // What a pulled card leaves: a header that promises more than there is.
    if (file.truncated) fs::resize_file(path, fs::file_size(path) * 13 / 20);
}

}  // namespace

DemoSummary make_demo(const fs::path& folder, std::uint64_t seed, int jobs, bool quiet) {
    require_empty(folder);
    const DemoScenario scenario = make_scenario(seed);
    for (const DemoSite& site : scenario.sites)
        make_folder(folder / "recordings" / demo_deployment(site));
    write_whole_file(folder / "sites.csv", demo_sites_csv(scenario));
    write_whole_file(folder / "deployments.csv", demo_deployments_csv(scenario));
    write_whole_file(folder / "trials.csv", demo_trials_csv(scenario));
    write_whole_file(folder / "truth.csv", demo_truth_csv(scenario));

    Progress progress("making", "recordings", scenario.files.size(), quiet);
    parallel_for(scenario.files.size(), jobs, [&](std::size_t i, std::size_t) {
        const DemoFile& file = scenario.files[i];
        write_recording(folder, scenario.sites[file.site], file);
        progress.add();
    });
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
