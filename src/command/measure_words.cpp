#include "command/measure_words.h"

#include <fmt/core.h>

#include <algorithm>

#include "base/log.h"
#include "base/text.h"
#include "command/print.h"

namespace hearwood {

namespace {

constexpr std::size_t kTroubleLines = 20;

std::string length_text(double seconds) {
    if (seconds < 90) return fmt::format("{:.0f} s", seconds);
    if (seconds < 5400) return fmt::format("{:.1f} min", seconds / 60);
    return fmt::format("{:.1f} h", seconds / 3600);
}

void print_trouble(const MeasureSummary& summary) {
    if (summary.unusable == 0) return;
    fmt::print("{} damaged or unreadable{}\n",
               counted(summary.unusable, "recording is", "recordings are"),
               part_of_run() ? "" : ":");
    if (part_of_run()) return;  // check has named them
    for (std::size_t i = 0; i < std::min(kTroubleLines, summary.trouble.size()); ++i) {
        const RecordingTrouble& trouble = summary.trouble[i];
        print_entry(fmt::format("{}: {}: {}", printable(name_from_utf8(trouble.path)),
                                word(trouble.state), printable(trouble.reason)));
    }
    if (const auto more = summary.unusable - static_cast<std::int64_t>(kTroubleLines); more > 0)
        fmt::print("  and {} more; tables/recordings.csv lists them all\n", grouped(more));
}

void print_plan(const MeasureSummary& summary) {
    print_wrapped(fmt::format("{} found; {} ({:.1f} GB) would be opened, {} measured before",
                              counted(summary.found, "recording"), grouped(summary.to_do),
                              static_cast<double>(summary.to_do_bytes) / 1e9,
                              grouped(summary.unchanged)));
}

}  // namespace

void print_measured(const MeasureSummary& summary, const MeasureOptions& options,
                    const std::string& survey_folder) {
    if (options.dry_run) return print_plan(summary);
    if (summary.found == 0)
        fmt::print("no recordings lie in the folders that deployments.csv names\n");
    else if (summary.to_do == 0)
        fmt::print("{} measured before; nothing to do\n",
                   summary.found == 1 ? "the one recording was"
                                      : "all " + counted(summary.found, "recording") + " were");
    else
        print_wrapped(fmt::format(
            "measured {}, {}, {} of sound in {:.1f} s ({} times real time); {} "
            "measured before",
            counted(summary.measured, "recording"), counted(summary.segments, "segment"),
            length_text(summary.audio_s), summary.elapsed_s,
            grouped(static_cast<std::int64_t>(summary.audio_s / summary.elapsed_s)),
            grouped(summary.unchanged)));
    print_trouble(summary);
    if (summary.gone > 0)
        print_wrapped(
            counted(summary.gone, "recording measured earlier lies",
                    "recordings measured earlier lie") +
            " no longer in the deployment's folder and do not count; what comes back counts "
            "again");
    if (summary.interrupted)
        log_line(
            fmt::format("interrupted; what is done is kept: run 'hearwood measure {}' to go on",
                        printable(survey_folder)));
}

ExitCode exit_code_of(const MeasureSummary& summary) {
    if (summary.interrupted) return ExitCode::interrupted;
    return summary.unusable > 0 ? ExitCode::some_unusable : ExitCode::ok;
}

}  // namespace hearwood
