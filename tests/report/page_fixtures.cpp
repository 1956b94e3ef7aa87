// page_fixtures WHAT FOLDER: a survey whose database was never near a recording, for tests of the
// page.
//
//   forty    40 sites, 3 dates, names that try to be markup, indices and hours that are missing
//   two      2 sites, one of each class: refused, and still a page
//   sixty    40 sites, 60 dates, an hourly minute: the page's weight and its strips
//   season   40 sites, 30 dates, 24 hours, 60 segments (1.7 million), for time and memory
//   listened a survey that is measured gets a listening score
//   few      6 sites without blocks: no result could be significant
//   dropped  9 sites, one alone in its block, one without a value; a boat at dawn at L03
//   robust FOLDER  a survey that is measured gets a robustness of 12 settings, 3 of which turn the
//   sign one      1 site with one recording; the page is written here, since sites.csv of one class
//   is refused none     no site at all; the page is written here
#include <fmt/format.h>

#include <cmath>
#include <cstdio>
#include <filesystem>
#include <random>
#include <string>

#include "aggregate/site_values.h"
#include "base/error.h"
#include "base/file.h"
#include "contrast/kept_results.h"
#include "index/kept_spectrum.h"
#include "measure/measure.h"
#include "report/report.h"
#include "store/store.h"
#include "survey/survey.h"
#include "survey/windows.h"
#include "survey/zone.h"

using namespace hearwood;

namespace {

constexpr int kBins = 257;

struct Plan {
    int sites = 40, dates = 3, segments = 2;
    bool strange_names = true, gaps = true, blocks = true;
    bool lone = false;  ///< the last site is alone in its block
    int boat = -1;      ///< a boat passes this site at dawn: flagged, kept, and loud
};

std::string site_name(const Plan& plan, int i) {
    if (plan.strange_names) {
        if (i == 0) return "<script>alert('L1')</script>";
        if (i == 1) return "\"quoted\" & 'single'";
        if (i == 2) return "frog \U0001F438 creek";
        if (i == 3) return "=1+1";
        if (i == 4) return "</script><img src=x onerror=alert(2)>";
        if (i == 5) return "a name that is a good deal longer than any chart has room for";
    }
    return fmt::format("L{:02}", i + 1);
}

std::string csv(const std::string& text) {
    std::string quoted = "\"";
    for (const char c : text) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
    return quoted + "\"";
}

const char* stand_of(int i) {
    return i % 2 == 0 ? "rich" : "poor";
}

void write_sheets(const Plan& plan, const std::filesystem::path& folder) {
    std::string toml =
        "[survey]\ntitle = \"Forty <b>sites</b> & more\"\ntime_zone = \"Asia/Kuching\"\n"
        "[stands]\nfactor = \"nutrient_status\"\ncompare = [\"rich\", \"poor\"]\n" +
        std::string(plan.blocks ? "block = \"river\"\n" : "") +
        "[bands]\ninsects = [4000, 10000]\n"
        "[contrast]\nprimary = { index = \"aci\", window = \"dawn\" }\n";
    write_whole_file(folder / "survey.toml", toml);
    std::string sites = "site,latitude,longitude,nutrient_status,river,elevation_m,root_mat_cm\n";
    std::string deployments = "deployment,site,folder,start,end\n";
    for (int i = 0; i < plan.sites; ++i) {
        sites += fmt::format("{},{},{},{},river {},{},{}\n", csv(site_name(plan, i)),
                             1.5 + 0.01 * (i % 7), 110.3 + 0.013 * (i % 11), stand_of(i),
                             plan.lone && i + 1 == plan.sites ? 9 : i / 2 % 4, 20 + 3 * (i % 9),
                             i % 2 == 0 ? 2 + i % 5 : 12 + i % 6);
        deployments +=
            fmt::format("d{:02},{},recordings/d{:02},2031-05-01 00:00,2031-0{}-15 00:00\n", i + 1,
                        csv(site_name(plan, i)), i + 1, plan.dates > 40 ? 7 : 6);
    }
    write_whole_file(folder / "sites.csv", sites);
    write_whole_file(folder / "deployments.csv", deployments);
}

/// A spectrum with a dawn chorus, insects by night and noise.
std::string spectrum(int hour, int variant) {
    KeptSpectrum spectrum;
    std::mt19937 random(static_cast<unsigned>(1000 * hour + variant));
    std::uniform_real_distribution<float> noise(0.005f, 0.04f);
    for (int k = 0; k < kBins; ++k) {
        const double hz = k * 46.875;
        const double dawn =
            std::exp(-std::pow((hour - 6) / 1.5, 2) - std::pow((hz - 3500) / 1200, 2));
        const double night = hour < 5 || hour > 18 ? std::exp(-std::pow((hz - 6500) / 300, 2)) : 0;
        spectrum.power_db.push_back(-90 + static_cast<float>(20 * dawn + 25 * night) +
                                    100 * noise(random));
        const float share = noise(random) + static_cast<float>(0.5 * dawn + 0.4 * night);
        spectrum.standout.push_back(k == 0 || k == kBins - 1 ? std::nanf("") : share);
    }
    return encode(spectrum);
}

class Filler {
  public:
    Filler(const Survey& survey, const std::filesystem::path& folder)
        : settings_(measuring_settings(survey.measure)),
          pattern_(survey.start_time_pattern),
          store_(Store::open(folder)) {
        store_.begin();
        store_.replace_settings(settings_);
        store_.commit();
        // Four an hour of every site: two sites with the same sound would be taken for one.
        for (int site = 0; site < static_cast<int>(survey.sites.size()); ++site)
            for (int hour = 0; hour < 24; ++hour)
                for (int variant = 0; variant < 4; ++variant)
                    spectra_.push_back(spectrum(hour, 4 * site + variant));
    }

    void fill(const Survey& survey, const Plan& plan) {
        const auto first = parse_date("2031-05-04").value();
        for (std::size_t d = 0; d < survey.deployments.size(); ++d) {
            store_.begin();
            for (int day = 0; day < plan.dates; ++day)
                for (int hour = 0; hour < 24; ++hour) {
                    if (plan.gaps && d == 2 && hour >= 2 && hour < 5) continue;
                    add(survey.deployments[d].name, static_cast<int>(d),
                        first + std::chrono::days(day), hour, plan);
                }
            store_.commit();
        }
    }

    Store& store() { return store_; }

  private:
    void add(const std::string& deployment, int site, std::chrono::local_days date, int hour,
             const Plan& plan) {
        RecordingRow row;
        row.deployment = deployment;
        row.path = fmt::format("recordings/{}/{}_{:02}.wav", deployment, format_date(date), hour);
        row.size = 1000;
        row.start = date + std::chrono::hours(hour);
        row.start_source = "name";
        row.start_pattern = pattern_;
        row.sample_rate = 24'000;
        row.channels = 1;
        row.bits = 16;
        row.format = "WAV";
        row.frames = std::int64_t{24'000} * 60 * plan.segments;
        row.state = RecordingState::measured;
        row.settings = settings_.hash;
        const std::int64_t id = store_.put(row);
        std::vector<MeasuredSegment> segments;
        for (int i = 0; i < plan.segments; ++i) segments.push_back(segment(site, hour, i, plan));
        store_.append(id, segments);
    }

    MeasuredSegment segment(int site, int hour, int i, const Plan& plan) {
        MeasuredSegment result;
        result.row.segment = i;
        result.row.first_sample = std::int64_t{i} * 24'000 * 60;
        result.row.samples = std::int64_t{24'000} * 60;
        const double dawn = std::exp(-std::pow((hour - 6) / 1.5, 2));
        const double stand = site % 2 == 0 ? 1 : 0;
        for (const std::string& column : settings_.columns) {
            double value = std::nan("");
            if (column.find("dbfs") != std::string::npos) value = -40 + noise_(random_);
            if (column == "clipped_fraction" || column == "dc_offset") value = 0;
            if (column == "aci")
                value = 1500 + 100 * stand + 200 * dawn + 30 * noise_(random_) + site;
            for (const char* name : {"ndsi", "bi", "hf", "ht", "h", "adi", "aei", "standout",
                                     "standout_insects", "aci_insects"})
                if (column == name) value = 0.5 + 0.1 * stand + 0.2 * dawn + 0.05 * noise_(random_);
            if (column == "aci" && site == plan.boat && hour == 5) value = 2500;
            if (column == "engine_score") value = site == plan.boat && hour == 5 ? 5 : -5;
            if (plan.gaps && (column == "bi" || (column == "aci" && site == 7)))
                value = std::nan("");
            result.row.values.push_back(value);
        }
        result.spectra = spectra_[static_cast<std::size_t>(96 * site + 4 * hour + i % 4)];
        return result;
    }

    StoredSettings settings_;
    std::string pattern_;
    Store store_;
    std::vector<std::string> spectra_;
    std::mt19937_64 random_{7};
    std::normal_distribution<double> noise_;
};

/// Surveys that the sheets' reader refuses, made by hand: no site, or a single one.
Survey small_survey(const std::filesystem::path& folder, int sites) {
    Survey survey;
    survey.folder = folder;
    survey.title = sites == 0 ? "No site yet" : "One site";
    survey.time_zone = "Asia/Kuching";
    survey.stands.factor = "nutrient_status";
    survey.stands.class_a = "rich";
    survey.stands.class_b = "poor";
    survey.windows = built_in_windows();
    survey.site_columns = {"site", "latitude", "longitude", "nutrient_status"};
    for (int i = 0; i < sites; ++i) {
        Site site;
        site.name = "L01";
        site.latitude = 1.5;
        site.longitude = 110.3;
        site.stand = "rich";
        site.cells = {"L01", "1.5", "110.3", "rich"};
        survey.sites.push_back(site);
        Deployment deployment;
        deployment.name = "d01";
        deployment.folder = "recordings/d01";
        deployment.clock = survey.time_zone;
        survey.deployments.push_back(deployment);
    }
    for (const char* sheet : {"survey.toml", "sites.csv", "deployments.csv"})
        write_whole_file(folder / sheet, "# " + std::string(sheet) + "\n");
    return survey;
}

/// A score as `listen --score` keeps it, with one index of each verdict.
void keep_score(const std::filesystem::path& folder) {
    const Survey survey = load_survey(folder);
    ListeningScore score;
    score.clips = 40;
    score.sites = 8;
    score.listeners = 2;
    const auto add = [&](const char* index, double rho, const char* verdict) {
        score.follows.push_back({index, "fullness", rho, -0.1, 0.7, 40, 8, 2, verdict});
    };
    add("aci", 0.61, "follows");
    add("ndsi", 0.02, "does not follow");
    add("ht", -0.5, "opposite");
    add("bi", 0.4, "unclear");
    Store store = Store::open(folder);
    const SiteValues values = compute_site_values(survey, store);
    store.begin();
    store.keep_result(
        {kListening, fingerprint_of(kListening, survey, values), listening_json(score)});
    store.commit();
}

/// A robustness as `robustness` keeps it: 4 frames by 3 bands, 3 settings of the other sign, and
/// one site without which the sign turns.
void keep_robustness(const std::filesystem::path& folder) {
    const Survey survey = load_survey(folder);
    ContrastRow row;
    row.index = "aci";
    row.window = "dawn";
    row.class_a = "rich";
    row.class_b = "poor";
    row.n_a = row.n_b = 4;
    row.difference = 90;
    row.ci_low = 40;
    row.ci_high = 130;
    row.hedges_g = 1.8;
    row.p = row.p_adjusted = row.p_min = 0.02;
    Robustness robustness{
        "aci",
        "dawn",
        {{"frame", {"512", "256", "1024", "2048"}}, {"bands", {"own", "low", "high"}}},
        {},
        {}};
    const auto turned = [](ContrastRow other) {
        for (double ContrastRow::*member : {&ContrastRow::difference, &ContrastRow::ci_low,
                                            &ContrastRow::ci_high, &ContrastRow::hedges_g})
            other.*member = -(other.*member);
        std::swap(other.ci_low, other.ci_high);
        return other;
    };
    for (int frame = 0; frame < 4; ++frame)
        for (int band = 0; band < 3; ++band) {
            row.difference = 90 + band;  // a choice that changes nothing would be told as idle
            robustness.grid.push_back(
                {{frame, band}, frame == 3 ? turned(row) : row, false, false});
        }
    row.difference = 90;
    robustness.without.push_back({"L01", {{0, 0}, turned(row), false, false}});
    judge_settings(robustness);
    Store store = Store::open(folder);
    const SiteValues values = compute_site_values(survey, store);
    store.begin();
    store.keep_result(
        {kRobustness, fingerprint_of(kRobustness, survey, values), robustness_json(robustness)});
    store.commit();
}

int make(const std::string& what, const std::filesystem::path& folder) {
    make_folder(folder);
    if (what == "none" || what == "one") {
        const Survey survey = small_survey(folder, what == "one" ? 1 : 0);
        Filler filler(survey, folder);
        filler.fill(survey, {1, 1, 2, false, false});
        ReportOptions options;
        options.quiet = true;
        write_report(survey, filler.store(), options);
        return 0;
    }
    if (what == "listened") {
        keep_score(folder);
        return 0;
    }
    if (what == "robust") {
        keep_robustness(folder);
        return 0;
    }
    Plan plan;
    if (what == "season") plan = {40, 30, 60, false, false};
    if (what == "two") plan = {2, 3, 2, false, false, false};
    if (what == "sixty") plan = {40, 60, 1, false, true};
    if (what == "few") plan = {6, 2, 2, false, false, false};
    if (what == "dropped") plan = {9, 2, 2, false, true, true, true, 2};
    write_sheets(plan, folder);
    const Survey survey = load_survey(folder);
    Filler(survey, folder).fill(survey, plan);
    return 0;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 3) {
        std::fputs(
            "page_fixtures forty|season|two|sixty|few|dropped|listened|robust|one|none FOLDER\n",
            stderr);
        return 2;
    }
    try {
        return make(argv[1], argv[2]);
    } catch (const InputError& error) {
        for (const Problem& problem : error.problems())
            std::fprintf(stderr, "%s\n", one_line(problem).c_str());
    } catch (const std::exception& error) {
        std::fprintf(stderr, "%s\n", error.what());
    }
    return 1;
}
