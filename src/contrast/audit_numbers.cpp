// What has a number: the size of its difference between the classes.
#include <fmt/core.h>

#include <cmath>
#include <limits>

#include "base/text.h"
#include "contrast/audit_checks.h"
#include "contrast/units.h"
#include "statistics/pair_test.h"
#include "survey/columns.h"

namespace hearwood {

namespace {

struct Explanation {
    FindingCode code;
    const char* called;    ///< in a sentence
    const char* explains;  ///< how it could make a difference
    const char* fix;
};

Explanation explanation_of(AuditNumber::Kind kind) {
    using Kind = AuditNumber::Kind;
    switch (kind) {
        case Kind::gain:
            return {
                FindingCode::gain, "The recorders' gain",
                "a gain moves every index: levels, what stands out of the recorder's own noise, "
                "what clips",
                "Compare recorders of one gain, or set equal gains next time."};
        case Kind::height:
            return {FindingCode::height, "The recorders' height",
                    "what a recorder hears at its height cannot be told from the stand",
                    "Mount recorders of all classes at one height."};
        case Kind::elevation:
            return {FindingCode::elevation, "Elevation", "a difference may belong to elevation",
                    "Say so beside the result, and look for sites of both classes at similar "
                    "elevations."};
        case Kind::level:
            return {FindingCode::noise_floor, "The level of the quiet minutes",
                    "a less sensitive or a noisier microphone, water or wind in one class would "
                    "look like a quieter or a busier forest",
                    "Swap recorders between classes, and listen to the quietest minutes of both."};
        case Kind::background:  // told all together
        case Kind::column:
            break;
    }
    return {FindingCode::column, "It", "a difference may belong to it",
            "Say which it is; if it is what makes the stand, name it in [stands] part_of_stand."};
}

std::string value_of(double value, const std::string& unit) {
    return readable_number(value) + (unit.empty() ? "" : " " + unit);
}

std::string apart_by(double standardised) {
    if (std::isinf(standardised)) return "apart with no spread within them";
    return readable_number(std::abs(standardised)) + " standard deviations apart";
}

AuditRow compared(const AuditInput& input, const AuditNumber& number) {
    AuditRow row;
    row.name = number.name;
    row.unit = number.unit;
    row.class_a = input.settings.class_a;
    row.class_b = input.settings.class_b;
    row.part_of_stand = number.part_of_stand;
    std::vector<Unit> units;
    double largest = 0;
    // Blocks of one class each allow no comparison within them; the numbers still differ.
    const bool within = input.has_blocks();
    for (std::size_t i = 0; i < input.sites.size(); ++i) {
        const AuditSite& site = input.sites[i];
        units.push_back(
            {site.site, site.stand, within ? site.block : std::string(), number.values[i]});
        if (!is_missing(number.values[i])) largest = std::max(largest, std::abs(number.values[i]));
    }
    const std::vector<std::string> classes{row.class_a, row.class_b};
    const ReadyUnits ready = ready_units(units, classes);
    row.n_a = ready.counts[0];
    row.n_b = ready.counts[1];
    if (row.n_a < 2 || row.n_b < 2) return row;
    row.mean_a = class_mean(ready, 0);
    row.mean_b = class_mean(ready, 1);
    row.difference = difference_of(ready);
    const double variance = residual_variance(ready);
    if (is_missing(variance)) return row;
    const double deviation = std::sqrt(variance);
    if (deviation > kRounding * largest)
        row.standardised = row.difference / deviation;
    else
        row.standardised =
            std::abs(row.difference) > kRounding * largest
                ? std::copysign(std::numeric_limits<double>::infinity(), row.difference)
                : 0;
    return row;
}

Finding about(const AuditInput& input, const AuditNumber& number, const AuditRow& row) {
    const Explanation explanation = explanation_of(number.kind);
    const bool column = number.kind == AuditNumber::Kind::column;
    std::string called = explanation.called;
    if (column) {
        called = column_in_words(number.name).first;
        if (called.front() >= 'a' && called.front() <= 'z')
            called.front() = static_cast<char>(called.front() - 'a' + 'A');
    }
    return {row.severity(), explanation.code, column ? Subject::column(number.name) : Subject{},
            fmt::format(
                "{} is {} at {} and {} at {} sites on average, {}{} ({} and {} sites), so {}.",
                called, value_of(row.mean_a, row.unit), row.class_a, value_of(row.mean_b, row.unit),
                row.class_b, apart_by(row.standardised), input.has_blocks() ? " within blocks" : "",
                row.n_a, row.n_b, explanation.explains),
            explanation.fix};
}

/// Where nothing differs one or two bands in ten are serious by chance alone; a stream or a road
/// fills more.
constexpr double kManyBands = 1.0 / 3;

struct Apart {
    std::size_t bands = 0, doubtful = 0, serious = 0;
    std::vector<std::size_t> furthest;  ///< places of the doubtful ones, the furthest first
};

Apart backgrounds_apart(const AuditInput& input, const std::vector<AuditRow>& rows) {
    Apart apart;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (input.numbers[i].kind != AuditNumber::Kind::background ||
            is_missing(rows[i].standardised))
            continue;
        ++apart.bands;
        apart.serious += rows[i].severity() == Severity::serious;
        if (rows[i].severity() != Severity::note) apart.furthest.push_back(i);
    }
    apart.doubtful = apart.furthest.size();
    std::stable_sort(
        apart.furthest.begin(), apart.furthest.end(), [&](std::size_t one, std::size_t other) {
            return std::abs(rows[one].standardised) > std::abs(rows[other].standardised);
        });
    return apart;
}

/// The bands in one finding: neighbours rise and fall together, and of so many some lie apart by
/// chance.
void tell_background(const AuditInput& input, const std::vector<AuditRow>& rows,
                     std::vector<Finding>& findings) {
    constexpr std::size_t kShown = 3;
    const Apart apart = backgrounds_apart(input, rows);
    if (apart.doubtful == 0) return;
    std::vector<std::string> shown;
    for (const std::size_t i : apart.furthest) {
        if (shown.size() == kShown) break;
        shown.push_back(fmt::format("{}: {} at {} and {} at {} sites, {}", rows[i].name,
                                    value_of(rows[i].mean_a, rows[i].unit), rows[i].class_a,
                                    value_of(rows[i].mean_b, rows[i].unit), rows[i].class_b,
                                    apart_by(rows[i].standardised)));
    }
    const AuditRow& first = rows[apart.furthest.front()];
    const bool many =
        static_cast<double>(apart.serious) >= kManyBands * static_cast<double>(apart.bands);
    findings.push_back(
        {many ? Severity::serious : Severity::doubt,
         FindingCode::background,
         {},
         fmt::format("The level that never ceases is {} standard deviations or more apart in {} of "
                     "{}{} ({} and {} sites), {} or more in {}; furthest {}. Steady noise of one "
                     "class moves every index and hides what calls there, and of so many bands "
                     "some lie apart by chance.",
                     readable_number(kDoubtfulSize), apart.doubtful, counted(apart.bands, "band"),
                     input.has_blocks() ? ", within blocks" : "", first.n_a, first.n_b,
                     readable_number(kSeriousSize), apart.serious, join(shown, "; ")),
         "Listen to a minute of both classes, and compare what is heard on even terms "
         "('hearwood even')."});
}

/// The user's columns that make the stand, as what they are.
void describe_stand(const std::vector<AuditRow>& rows, std::vector<Finding>& findings) {
    std::vector<std::string> parts;
    for (const AuditRow& row : rows) {
        if (!row.part_of_stand || is_missing(row.mean_a)) continue;
        const auto [called, own_unit] = column_in_words(row.name);
        const std::string& unit = row.unit.empty() ? own_unit : row.unit;
        parts.push_back(fmt::format("{} {} at {} and {} at {} sites", called,
                                    value_of(row.mean_a, unit), row.class_a,
                                    value_of(row.mean_b, unit), row.class_b));
    }
    if (parts.empty()) return;
    findings.push_back({Severity::note,
                        FindingCode::stand,
                        {},
                        "What makes the stand here, on average: " + join(parts, "; ") + ".",
                        ""});
}

}  // namespace

Severity AuditRow::severity() const {
    if (part_of_stand || is_missing(standardised)) return Severity::note;
    const double size = std::abs(standardised);
    return size >= kSeriousSize    ? Severity::serious
           : size >= kDoubtfulSize ? Severity::doubt
                                   : Severity::note;
}

void check_numbers(const AuditInput& input, std::vector<AuditRow>& rows,
                   std::vector<Finding>& findings) {
    for (const AuditNumber& number : input.numbers) {
        const AuditRow& row = rows.emplace_back(compared(input, number));
        if (number.kind != AuditNumber::Kind::background && row.severity() != Severity::note)
            findings.push_back(about(input, number, row));
    }
    tell_background(input, rows, findings);
    describe_stand(rows, findings);
}

TableOf<AuditRow> audit_table() {
    using Row = AuditRow;
    return TableOf<Row>("audit.csv", "numbers of the audit",
                        "A row is a number of the sites that is held against the classes.")
        .column("number", "", "a column of the sheets, or what was measured", &Row::name)
        .column("unit", "", "its unit; empty: none is known", &Row::unit)
        .column("class_a", "", "first class; the difference is A minus B", &Row::class_a)
        .column("class_b", "", "second class", &Row::class_b)
        .column("n_a", "1", "sites of class A that took part", &Row::n_a)
        .column("n_b", "1", "sites of class B that took part", &Row::n_b)
        .column("mean_a", "", "plain mean of the sites of class A", &Row::mean_a)
        .column("mean_b", "", "plain mean of the sites of class B", &Row::mean_b)
        .column("difference", "", "A minus B, adjusted for blocks", &Row::difference)
        .column("standardised", "1",
                "difference over the residual standard deviation within class and block; INF or "
                "-INF: the classes differ and nothing varies within them",
                &Row::standardised)
        .column("part_of_stand", "", "1: the survey says that it is what makes the stand",
                &Row::part_of_stand)
        .column("severity", "", "serious from 1 on, doubt from 0.5 on, else note",
                [](const Row& row) { return word(row.severity()); });
}

}  // namespace hearwood
