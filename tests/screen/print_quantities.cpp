// For the scripts beside this file: segments in on standard input, one line of CSV out for each,
// with every column of a segment and what the screens make of it under default settings. A segment
// is two 32-bit integers (sample rate, number of samples) and then that many 16-bit samples, all in
// the machine's byte order.
#include <fmt/core.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <map>
#include <string>
#include <vector>

#include "base/text.h"
#include "index/catalogue.h"
#include "index/engine/segment_analyser.h"
#include "index/index_values.h"
#include "screen/quantities.h"
#include "screen/rules.h"

namespace {

using namespace hearwood;

bool read_exactly(void* target, std::size_t bytes) {
    return std::fread(target, 1, bytes, stdin) == bytes;
}

std::vector<std::string> column_names(const MeasureSettings& settings) {
    std::vector<std::string> names;
    for (const Column& column : index_columns(settings)) names.push_back(column.name);
    for (const Column& column : quantity_columns()) names.push_back(column.name);
    return names;
}

SegmentAnalyser& analyser_for(std::int32_t rate, const MeasureSettings& settings) {
    static std::map<std::int32_t, SegmentAnalyser> analysers;
    return analysers.try_emplace(rate, settings, static_cast<double>(rate)).first->second;
}

}  // namespace

int main() {
    const MeasureSettings settings;
    const std::vector<std::string> names = column_names(settings);
    const Screens screens(ScreenSettings{}, names);
    fmt::print("{},flags\n", join(names, ","));
    std::fflush(stdout);
    std::int32_t head[2];
    while (read_exactly(head, sizeof head)) {
        std::vector<std::int16_t> samples(head[1]);
        if (!read_exactly(samples.data(), samples.size() * sizeof(samples[0]))) return 1;
        SegmentAnalyser& analyser = analyser_for(head[0], settings);
        analyser.begin(16);
        analyser.add(std::span<const std::int16_t>(samples));
        const SegmentSummary& summary = analyser.finish();
        std::vector<double> values = index_values(summary, settings);
        const std::vector<double> more = quantity_values(summary);
        values.insert(values.end(), more.begin(), more.end());
        std::vector<std::string> fields;
        for (const double value : values) fields.push_back(format_number(value));
        fields.push_back(screens.judge(values, {}).flags.text());
        fmt::print("{}\n", join(fields, ","));
        std::fflush(stdout);
    }
}
