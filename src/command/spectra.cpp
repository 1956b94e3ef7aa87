// `spectra SURVEY --out FILE.nc`: the kept spectra as NetCDF-4.
#include <fmt/core.h>

#include <memory>
#include <string>

#include "aggregate/judged_segments.h"
#include "base/progress.h"
#include "base/text.h"
#include "command/command.h"
#include "command/open_survey.h"
#include "command/print.h"
#include "export/spectra_writer.h"

namespace hearwood {
namespace {

struct SpectraOptions {
    std::string survey, out;
    SharedOptions shared;
};

ExitCode spectra(const SpectraOptions& options) {
    const Survey survey = open_survey(options.survey);
    const Store store = Store::open_read_only(survey.folder);
    const JudgedSegments segments(survey, store);
    if (options.shared.dry_run) {
        print_wrapped(fmt::format("would write the spectra of {} into {}",
                                  counted(segments.segments(), "segment"), printable(options.out)));
        return ExitCode::ok;
    }
    Progress progress("writing", "spectra", segments.segments(), options.shared.quiet);
    const auto written = write_spectra(survey, store, segments, options.out, progress);
    progress.finish();
    for (const SpectraWritten& file : written)
        fmt::print("{}: {} spectra at {} Hz\n", printable(file.file.string()),
                   grouped(file.spectra), file.sample_rate);
    return ExitCode::ok;
}

}  // namespace

Run add_spectra(CLI::App& program) {
    auto options = std::make_shared<SpectraOptions>();
    Command command(program, "spectra", "every segment's spectrum as NetCDF-4, for other programs");
    add_survey(command, options->survey);
    command.add_option("--out", options->out, "write here").required().type_name("FILE.nc");
    add_shared_options(command, options->shared, true);
    command.example("hearwood spectra ~/surveys/heath-and-alluvium --out spectra.nc");
    return [options] { return spectra(*options); };
}

}  // namespace hearwood
