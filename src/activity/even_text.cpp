#include "activity/even_text.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/lines.h"
#include "base/text.h"
#include "survey/too_loud.h"

namespace hearwood {

namespace {

std::vector<std::string> too_loud(const Survey& survey, const EvenWindow& window) {
    std::vector<std::string> names;
    for (const EvenSite& site : window.sites)
        if (site.too_loud) names.push_back(printable(survey.sites[site.site].name));
    return names;
}

/// The site that sets the floor in most bands.
std::size_t loudest_of(const EvenWindow& window) {
    std::size_t best = window.loudest.front();
    for (const std::size_t site : window.loudest)
        if (std::count(window.loudest.begin(), window.loudest.end(), site) >
            std::count(window.loudest.begin(), window.loudest.end(), best))
            best = site;
    return best;
}

std::string heard_text(const Survey& survey, const EvenWindow& window, const std::string& name,
                       std::size_t sites) {
    const std::size_t loudest = loudest_of(window);
    return list_entry(fmt::format(
        "{}: {} heard through the noise of {}, which is loudest in {} of {} bands; choirs take out "
        "{} kHz",
        name, counted(sites, "site"), printable(survey.sites[loudest].name),
        std::count(window.loudest.begin(), window.loudest.end(), loudest), window.loudest.size(),
        format_number(width_khz(window.choirs))));
}

/// Names the class of which no site is left: then there is nothing to hold the others against.
std::string lone_class_text(const Survey& survey, const EvenWindow& window,
                            const std::string& name) {
    for (const std::string& stand : {survey.stands.class_a, survey.stands.class_b}) {
        const bool there =
            std::any_of(window.sites.begin(), window.sites.end(), [&](const EvenSite& site) {
                return !site.too_loud && survey.sites[site.site].stand == stand;
            });
        if (!there)
            return list_entry(fmt::format(
                "{}: no site of {} is left to compare, and no difference between the classes can "
                "be shown on even terms there",
                name, printable(stand)));
    }
    return {};
}

}  // namespace

std::string terms_text(const Survey& survey, const EvenTerms& terms) {
    std::string text;
    if (terms.levels != EvenTerms::Levels::as_recorded)
        text += wrapped(fmt::format("The {}.", in_words(terms.levels)));
    text += wrapped(beside_even_values(terms));
    for (const EvenWindow& window : terms.windows) {
        const std::string name =
            printable(survey.windows[static_cast<std::size_t>(window.window)].name);
        const auto loud = too_loud(survey, window);
        const std::size_t left = window.sites.size() - loud.size();
        if (left > 0) text += heard_text(survey, window, name, left);
        if (!loud.empty())
            text += list_entry(fmt::format(
                "{}: too loud to compare, and without even values there: {}. Their background "
                "lies more than {} dB above the others' in over a third of the bands. A decision "
                "'keep' with the value {} leaves a site in, and the others are then heard through "
                "its noise",
                name, join(loud, ", "), format_number(survey.activity.too_loud_db), kTooLoud));
        text += left > 0 ? lone_class_text(survey, window, name)
                         : list_entry(name + ": no site is left to compare");
    }
    return text;
}

std::string drowned_text(const Survey& survey, const EvenTerms& terms, const SiteValues& values) {
    std::string text;
    const int column = values.column("even_events");
    if (column < 0) return text;
    for (const EvenWindow& window : terms.windows) {
        std::size_t few = 0, heard = 0;
        for (const EvenSite& site : window.sites) {
            const double events = site_value(values.window_means, site.site, window.window, column);
            if (std::isnan(events)) continue;
            ++heard;
            few += events < 1;
        }
        if (2 * few <= heard) continue;
        text += list_entry(fmt::format(
            "{}: fewer than 1 event a minute is left at most sites. {}The noise of {} drowns the "
            "rest: leave that site out of the comparison (give it another class in sites.csv) and "
            "run again",
            printable(survey.windows[static_cast<std::size_t>(window.window)].name),
            window.choirs.any() ? fmt::format("Those in the {} kHz of choirs do not count. ",
                                              format_number(width_khz(window.choirs)))
                                : "",
            printable(survey.sites[loudest_of(window)].name)));
    }
    return text;
}

}  // namespace hearwood
