// Tables that later stages write into the same folder. They are described by the header that stands
// in them, so that the package never tells of a column that is not there.
#include <algorithm>
#include <iterator>
#include <map>

#include "aggregate/table_descriptions.h"
#include "aggregate/table_fields.h"

namespace hearwood {
namespace {

struct Meaning {
    const char* type;  ///< "string", "number", "integer"
    const char* unit;
    const char* text;
};

const std::map<std::string, Meaning>& meanings() {
    static const std::map<std::string, Meaning> columns = {
        {"index", {"string", "", "column of the tables that is compared"}},
        {"window", {"string", "", "named part of the day"}},
        {"hour", {"integer", "h", "hour of the local clock"}},
        {"minutes_from_sunrise",
         {"number", "min", "start of a step of five minutes, counted from sunrise"}},
        {"class_a", {"string", "", "first class; the difference is A minus B"}},
        {"class_b", {"string", "", "second class"}},
        {"classes", {"string", "", "classes that took part"}},
        {"single", {"string", "", "classes with one site: shown, not tested"}},
        {"sites", {"integer", "1", "sites that took part"}},
        {"n_a", {"integer", "1", "sites of class A that took part"}},
        {"n_b", {"integer", "1", "sites of class B that took part"}},
        {"mean_a", {"number", "", "plain mean of the sites of class A"}},
        {"mean_b", {"number", "", "plain mean of the sites of class B"}},
        {"difference", {"number", "", "A minus B, adjusted for blocks"}},
        {"ci_low", {"number", "", "lower end of the confidence interval; -inf when unbounded"}},
        {"ci_high", {"number", "", "upper end of the confidence interval; inf when unbounded"}},
        {"hedges_g",
         {"number", "1",
          "Hedges' g: difference in pooled standard deviations within classes, "
          "corrected for small samples"}},
        {"cliffs_delta",
         {"number", "1",
          "Cliff's delta: share of pairs in which A is above B, minus the share in "
          "which it is below"}},
        {"t", {"number", "1", "difference over its standard error under the block model"}},
        {"f", {"number", "1", "F of the classes, adjusted for blocks"}},
        {"p", {"number", "1", "two-sided p of the permutation test"}},
        {"p_min", {"number", "1", "least p that this design can give"}},
        {"p_adjusted", {"number", "1", "p adjusted for the family of tests"}},
        {"relabellings",
         {"integer", "1", "relabellings of the sites that were enumerated or drawn"}},
        {"role",
         {"string", "", "primary: declared before the data were seen; secondary: all the rest"}},
        {"verdict", {"string", "", "the result in a sentence"}},
        {"column", {"string", "", "numeric column of the sheets"}},
        {"rho",
         {"number", "1",
          "Spearman's rank correlation: across sites; in listening.csv across clips, weighted"}},
        {"n", {"integer", "1", "sites with both values"}},
        {"site", {"string", "", "recording site"}},
        {"stand", {"string", "", "stand class of the site"}},
        {"date", {"date", "", "local date"}},
        {"onset_min_from_sunrise", {"number", "min", "onset of the dawn chorus from sunrise"}},
        {"night_level", {"number", "", "level of the index before dawn"}},
        {"threshold", {"number", "", "level that the onset has to pass"}},
        {"why", {"string", "", "why there is no onset"}},
        {"between_sites", {"number", "", "variance between sites of a class"}},
        {"between_dates", {"number", "", "variance between dates within a site"}},
        {"within_date", {"number", "", "variance between segments within a date"}},
        {"share_between_sites",
         {"number", "1", "share of a site value's variance that lies between sites"}},
        {"dates_per_site", {"number", "1", "harmonic mean of dates a site"}},
        {"segments_per_date", {"number", "1", "harmonic mean of segments a date"}},
        {"width_now", {"number", "", "expected width of the interval with this effort"}},
        {"width_double_sites", {"number", "", "the same with twice the sites"}},
        {"width_double_dates", {"number", "", "the same with twice the dates"}},
        {"dates", {"integer", "1", "dates kept at each site"}},
        {"width_median",
         {"number", "", "median width of the interval over resamples; inf: unbounded"}},
        {"width_low", {"number", "", "lower quartile of it"}},
        {"width_high", {"number", "", "upper quartile of it"}},
        {"difference_low", {"number", "", "lower quartile of the difference over resamples"}},
        {"difference_high", {"number", "", "upper quartile of it"}},
        {"listening.csv:listeners", {"integer", "1", "how many people listened"}},
        {"choice", {"string", "", "what was changed"}},
        {"variant", {"string", "", "to what it was changed; the site that was left out"}},
        {"frame", {"string", "", "frame length"}},
        {"overlap", {"string", "", "overlap of neighbouring frames"}},
        {"bands", {"string", "", "edges of the bands and of the analysis range"}},
        {"rain_screen", {"string", "", "how segments with rain were left out"}},
        {"average", {"string", "", "how the segments of a date were averaged"}},
        {"same_sign", {"integer", "1", "1: the difference has the sign of the declared setting"}},
        {"heard",
         {"string", "", "what listeners said: fullness of animal sound, or kinds of call"}},
        {"clips", {"integer", "1", "clips listened to"}},
        {"listeners", {"string", "", "who of them"}},
        {"question", {"string", "", "what the listeners were asked"}},
        {"measure", {"string", "", "Cohen's, weighted or Fleiss' kappa"}},
        {"same", {"number", "1", "share of equal answers"}},
        {"kappa", {"number", "1", "agreement beyond chance"}},
        {"screen", {"string", "", "the screen that is held against the ear"}},
        {"flagged_weight", {"number", "1", "segments that the clips with this flag stand for"}},
        {"heard_weight",
         {"number", "1", "segments that the clips in which it was heard stand for"}},
        {"both_weight", {"number", "1", "segments that the clips with both stand for"}},
        {"precision", {"number", "1", "share of what was flagged in which it was heard"}},
        {"precision_low", {"number", "1", "lower end of its 95 % interval"}},
        {"precision_high", {"number", "1", "upper end of its 95 % interval"}},
        {"recall", {"number", "1", "share of what was heard that was flagged"}},
        {"recall_low", {"number", "1", "lower end of its 95 % interval"}},
        {"recall_high", {"number", "1", "upper end of its 95 % interval"}},
        {"same_significance",
         {"integer", "1", "1: a difference is shown, or not, as under the declared setting"}},
    };
    return columns;
}

struct Result {
    const char* file;
    const char* title;
    const char* description;
};

/// In the order of the data package.
constexpr Result kResults[] = {
    {"contrasts.csv", "contrasts",
     "A row is an index and a window: class A against class B, sites as replicates."},
    {"pairs.csv", "other pairs of classes",
     "As contrasts.csv, for every pair of classes but the declared one."},
    {"classes.csv", "all classes", "A row is an index and a window: do the classes differ at all?"},
    {"profile.csv", "profile of the day", "A row is an index and an hour."},
    {"dawn_profile.csv", "profile of the dawn",
     "A row is an index and a step of five minutes from sunrise."},
    {"onset.csv", "onset of the dawn chorus", "A row is an index, a site and a date."},
    {"onset_contrasts.csv", "contrasts of the onset",
     "As contrasts.csv, for the onset of the dawn chorus (minutes from sunrise)."},
    {"covariates.csv", "covariates",
     "A row is an index, a window and a numeric column of the sheets."},
    {"variance.csv", "variance components",
     "A row is an index and a window: where the spread comes from."},
    {"effort.csv", "effort curves", "A row is an index, a window and a number of dates kept."},
    {"robustness.csv", "robustness",
     "The primary contrast as declared, with one choice changed at a time, and without each "
     "site in turn."},
    {"robustness_grid.csv", "robustness, all settings",
     "A row is one combination of settings under which the primary contrast was "
     "recomputed."},
    {"listening.csv", "indices against the ear",
     "A row is an index and what was heard: does the index follow it in this survey?"},
    {"listening_agreement.csv", "agreement of listeners",
     "A row is a question, and one, two or all listeners."},
    {"listening_screens.csv", "screens against the ear",
     "A row is a screen: how right it was, in listeners' ears."},
    {"listening_contrasts.csv", "contrasts of what was heard",
     "As contrasts.csv, for what listeners heard."},
};

TableField describe_column(const std::string& table, const std::string& name) {
    auto known = meanings().find(table + ":" + name);  // where one name means two things
    if (known == meanings().end()) known = meanings().find(name);
    if (known == meanings().end()) return text_field(name, name, "as docs/tables.md describes it");
    TableField field = text_field(name, name, known->second.text);
    field.type = known->second.type;
    field.unit = known->second.unit;
    return field;
}

}  // namespace

const std::vector<std::string>& result_tables() {
    static const std::vector<std::string> names = [] {
        std::vector<std::string> files;
        for (const Result& result : kResults) files.emplace_back(result.file);
        return files;
    }();
    return names;
}

TableDescription describe_result(const std::string& file_name,
                                 const std::vector<std::string>& header) {
    TableDescription d;
    const auto* known =
        std::find_if(std::begin(kResults), std::end(kResults),
                     [&](const Result& result) { return file_name == result.file; });
    if (known == std::end(kResults)) return d;
    d.name = file_name.substr(0, file_name.rfind('.'));
    for (char& c : d.name)
        if (c == '_') c = '-';
    d.path = file_name;
    d.title = known->title;
    d.description = known->description;
    for (const std::string& column : header) d.fields.push_back(describe_column(file_name, column));
    return d;
}

}  // namespace hearwood
