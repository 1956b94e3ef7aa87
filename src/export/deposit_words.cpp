#include "export/deposit_words.h"

#include <fmt/format.h>

#include <map>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "base/version.h"
#include "contrast/methods.h"
#include "store/json.h"

namespace hearwood {

namespace {

/// YAML takes a JSON string for what it is.
std::string quoted(const std::string& text) {
    return json_text(nlohmann::json(text));
}

std::string coordinates_in_words(const DepositFacts& facts) {
    const std::size_t sites = facts.survey.sites.size();
    if (facts.summary.coarse_sites == 0)
        return "The coordinates of the sites are as they were measured.";
    const double degrees = facts.options.coarsen.value_or(0.1);
    return fmt::format(
        "The coordinates of {} of {} were rounded to {} degrees, in sheets, tables, events and "
        "page alike. Elevation, trail and remarks are as the sheets have them: read them before "
        "you pass this on.",
        grouped(facts.summary.coarse_sites), counted(sites, "site"), format_number(degrees));
}

std::string recordings_in_words(const DepositFacts& facts) {
    if (!facts.options.recordings)
        return "No recordings are in here, nor the page's sound clips: people may be heard in "
               "them.";
    std::string text = fmt::format(
        "{} in here. Left behind: recordings in which a voice was silenced or was heard in the "
        "listening check, those that a decision leaves out, wholly or in part, and those that do "
        "not count.",
        counted(facts.summary.recordings, "recording is", "recordings are"));
    if (!facts.listened)
        text += " No listening check was made: nobody listened for voices, and there may be some.";
    std::map<std::string, int> reasons;
    for (const auto& [path, reason] : facts.summary.left_behind) ++reasons[reason];
    for (const auto& [reason, count] : reasons)
        text += fmt::format("\n* {}: {}", counted(count, "recording"), reason);
    return text;
}

}  // namespace

std::string deposit_readme(const DepositFacts& facts) {
    const std::string steps = steps_in_words(facts.survey, facts.steps);
    return fmt::format(
        "# {}\n\n"
        "Sound recordings of forest stands and what was measured of them, deposited with Hearwood "
        "{}.\n\n"
        "## What is in here\n\n"
        "* datapackage.json: the tables of data/ with every column described (Frictionless Data "
        "Package, version 1).\n"
        "* data/: the tables; numbers have a decimal point, missing values are empty.\n"
        "* sheets/: settings, sites, deployments and decisions, from which all of it follows.\n"
        "* methods.md: what was done, with citations. page/index.html: the results, to be looked "
        "at in a browser.\n"
        "* event.csv, meta.xml, eml.xml: the deployments as Darwin Core events.\n"
        "* CITATION.cff: how to cite these data. Write the authors' names into it, and into "
        "eml.xml.\n"
        "{}"
        "* SHA256SUMS: `sha256sum -c SHA256SUMS` proves that every file is as it was written.\n\n"
        "## What was done to the data\n\n{}\n\n"
        "data/decisions_applied.csv has a row for each decision and each automatic step that "
        "changed which data count.\n\n"
        "## Coordinates\n\n{}\n\n"
        "## Recordings and voices\n\n{}\n\n"
        "## Licence\n\nNone was chosen yet: whoever deposits this adds one, by the rules of the "
        "place, the community and the institution.\n",
        printable(facts.survey.title), kVersion,
        facts.options.recordings ? "* recordings/: the recordings, under their own names.\n" : "",
        steps.empty() ? "No decision and no automatic step changed which data count." : steps,
        coordinates_in_words(facts), recordings_in_words(facts));
}

std::string methods_page(const std::string& paragraph) {
    std::string text = "# Methods\n\n" + paragraph + "\n\n## References of the statistics\n\n";
    for (const std::string& line : split(methods_references(), '\n'))
        if (!line.empty()) text += "* " + line + "\n";
    return text;
}

std::string citation_file(const Survey& survey) {
    return "cff-version: 1.2.0\n"
           "message: \"If you use these data, please cite them as below.\"\n"
           "type: dataset\n"
           "title: " +
           quoted(survey.title) +
           "\n"
           "authors:\n"
           "  - name: " +
           quoted("Authors of " + survey.title) +
           "\n"
           "keywords:\n"
           "  - \"soundscape\"\n"
           "  - \"passive acoustic recording\"\n";
}

}  // namespace hearwood
