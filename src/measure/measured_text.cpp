// What a measuring run says at its end.
#include <fmt/core.h>

#include <algorithm>

#include "base/lines.h"
#include "base/text.h"
#include "measure/measure.h"

namespace hearwood {

namespace {

constexpr std::size_t kTroubleLines = 20;

std::string length_text(double seconds) {
    if (seconds < 90) return fmt::format("{:.0f} s", seconds);
    if (seconds < 5400) return fmt::format("{:.1f} min", seconds / 60);
    return fmt::format("{:.1f} h", seconds / 3600);
}

std::string trouble_text(const MeasureSummary& summary, bool in_run) {
    if (summary.unusable == 0) return {};
    std::string text =
        fmt::format("{} damaged or unreadable{}\n",
                    counted(summary.unusable, "recording is", "recordings are"), in_run ? "" : ":");
    if (in_run) return text;  // check has named them
    for (std::size_t i = 0; i < std::min(kTroubleLines, summary.trouble.size()); ++i) {
        const RecordingTrouble& trouble = summary.trouble[i];
        text += list_entry(fmt::format("{}: {}: {}", printable(name_from_utf8(trouble.path)),
                                       word(trouble.state), printable(trouble.reason)));
    }
    if (const auto more = summary.unusable - static_cast<std::int64_t>(kTroubleLines); more > 0)
        text += fmt::format("  and {} more; tables/recordings.csv lists them all\n", grouped(more));
    return text;
}

std::string done_text(const MeasureSummary& summary) {
    if (summary.found == 0) return "no recordings lie in the folders that deployments.csv names\n";
    if (summary.to_do == 0)
        return fmt::format("{} measured before; nothing to do\n",
                           summary.found == 1
                               ? "the one recording was"
                               : "all " + counted(summary.found, "recording") + " were");
    return wrapped(fmt::format(
        "measured {}, {}, {} of sound in {:.1f} s ({} times real time); {} measured before",
        counted(summary.measured, "recording"), counted(summary.segments, "segment"),
        length_text(summary.audio_s), summary.elapsed_s,
        grouped(static_cast<std::int64_t>(summary.audio_s / summary.elapsed_s)),
        grouped(summary.unchanged)));
}

}  // namespace

std::string measured_text(const MeasureSummary& summary, bool dry_run, bool in_run) {
    if (dry_run)
        return wrapped(fmt::format("{} found; {} ({:.1f} GB) would be opened, {} measured before",
                                   counted(summary.found, "recording"), grouped(summary.to_do),
                                   static_cast<double>(summary.to_do_bytes) / 1e9,
                                   grouped(summary.unchanged)));
    std::string text = done_text(summary) + trouble_text(summary, in_run);
    if (summary.gone > 0)
        text += wrapped(counted(summary.gone, "recording measured earlier lies",
                                "recordings measured earlier lie") +
                        " no longer in the deployment's folder and do not count; what comes back "
                        "counts again");
    return text;
}

ExitCode exit_code_of(const MeasureSummary& summary) {
    if (summary.interrupted) return ExitCode::interrupted;
    return summary.unusable > 0 ? ExitCode::some_unusable : ExitCode::ok;
}

}  // namespace hearwood
