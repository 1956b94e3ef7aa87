// What the tests of this folder share: a survey written from texts, and problems as text.
#pragma once

#include <chrono>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "base/error.h"
#include "survey/survey.h"
#include "survey/zone.h"
#include "temporary_folder.h"

namespace hearwood::testing {

/// A survey that loads without a word; tests alter one sheet of it.
struct SheetTexts {
    std::string settings =
        "[survey]\ntitle = \"Two rivers\"\ntime_zone = \"Asia/Kuching\"\n"
        "[stands]\nfactor = \"nutrient_status\"\ncompare = [\"rich\", \"poor\"]\n";
    std::string sites =
        "site,latitude,longitude,nutrient_status\n"
        "S1,1.50,110.30,rich\nS2,1.51,110.31,rich\nS3,1.52,110.32,poor\nS4,1.53,110.33,poor\n";
    std::string deployments =
        "deployment,site,folder,recorder,start,end\n"
        "D1,S1,recordings/D1,R1,2031-05-04 12:00,2031-05-06 12:00\n"
        "D2,S2,recordings/D2,R2,2031-05-04 12:00,2031-05-06 12:00\n"
        "D3,S3,recordings/D3,R3,2031-05-04 12:00,2031-05-06 12:00\n"
        "D4,S4,recordings/D4,R4,2031-05-04 12:00,2031-05-06 12:00\n";
    std::string decisions;  ///< empty: no such sheet

    void write(const TemporaryFolder& folder) const {
        folder.file("survey.toml", settings);
        folder.file("sites.csv", sites);
        folder.file("deployments.csv", deployments);
        if (!decisions.empty()) folder.file("decisions.csv", decisions);
    }
    Survey load() const {
        const TemporaryFolder folder;
        write(folder);
        return load_survey(folder.path());
    }
    /// Every problem as its line, warnings too; empty when there is none.
    std::vector<std::string> problems() const {
        std::vector<Problem> found;
        try {
            found = load().warnings;
        } catch (const InputError& error) {
            found = error.problems();
        }
        std::vector<std::string> lines;
        for (const Problem& problem : found) lines.push_back(one_line(problem));
        return lines;
    }
};

inline LocalTime local(const char* text) {
    return parse_local_time(text).value();
}
inline Instant utc(const char* text) {
    return Zone().to_utc(local(text));
}
inline std::chrono::local_days date(const char* text) {
    return parse_date(text).value();
}

}  // namespace hearwood::testing
