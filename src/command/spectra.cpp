// `spectra SURVEY --out FILE.nc`: the kept spectra as NetCDF-4.
#include <fmt/core.h>

#include "aggregate/judged_segments.h"
#include "base/progress.h"
#include "base/text.h"
#include "command/command.h"
#include "export/spectra_file.h"

namespace hearwood {
namespace {

struct SpectraOptions : SharedOptions {
    std::string out;
};

ExitCode spectra(const SpectraOptions& options) {
    const Survey survey = open_survey(options.survey);
    const Store store = Store::open_read_only(survey.folder);
    const JudgedSegments segments(survey, store);
    if (options.dry_run) {
        print_wrapped(fmt::format("would write the spectra of {} into {}",
                                  counted(segments.segments(), "segment"), printable(options.out)));
        return ExitCode::ok;
    }
    Progress progress("writing", "spectra", segments.segments(), options.quiet);
    const auto written = write_spectra(survey, store, segments, options.out, progress);
    progress.finish();
    for (const SpectraWritten& file : written)
        fmt::print("{}: {} spectra at {} Hz\n", printable(file.file.string()),
                   grouped(file.spectra), file.sample_rate);
    return ExitCode::ok;
}

}  // namespace

Run add_spectra(CLI::App& program) {
    CommandOf<SpectraOptions> command(program, "spectra",
                                      "every segment's spectrum as NetCDF-4, for other programs");
    command.add_survey();
    command.add_option("--out FILE.nc", command->out, "write here").required();
    command.add_shared_options(true);
    command.example("hearwood spectra ~/surveys/heath-and-alluvium --out spectra.nc");
    return command.does(spectra);
}

}  // namespace hearwood
