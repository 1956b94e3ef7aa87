// The analyser alone on a WAV file, without survey, store and threads: prints the rows that
// reference.py prints, for the comparison of the two, or the time it takes.
//
//   analyse FILE.wav [--segment-s 60] [--frame 512] [--hop 512] [--step-s 5] [--range LOW HIGH]
//           [--band NAME LOW HIGH]... [--block 65536] [--as int16|int32|float|double] [--baseline]
//           [--time]
#include <sndfile.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "base/text.h"
#include "index/catalogue.h"
#include "index/index_values.h"
#include "index/kept_spectrum.h"
#include "index/segment_analyser.h"

using namespace hearwood;

namespace {

struct Options {
    std::string path, as = "int32";
    MeasureSettings settings;
    AnalyserOptions analyser;
    int block = 65536;
    bool time = false;
};

Options parse(int argc, char** argv) {
    Options options;
    int i = 1;
    const auto text = [&] { return i < argc ? std::string(argv[i++]) : std::string(); };
    const auto number = [&] { return std::atof(text().c_str()); };
    while (i < argc) {
        const std::string word = text();
        MeasureSettings& s = options.settings;
        if (word == "--segment-s")
            s.segment_s = number();
        else if (word == "--frame")
            s.frame = static_cast<int>(number());
        else if (word == "--hop")
            s.hop = static_cast<int>(number());
        else if (word == "--step-s")
            s.step_s = number();
        else if (word == "--range")
            s.range_low_hz = number(), s.range_high_hz = number();
        else if (word == "--band")
            s.bands.push_back({text(), 0, 0}), s.bands.back().low_hz = number(),
                                               s.bands.back().high_hz = number();
        else if (word == "--block")
            options.block = static_cast<int>(number());
        else if (word == "--as")
            options.as = text();
        else if (word == "--baseline")
            options.analyser.cpu = CpuPath::baseline;
        else if (word == "--time")
            options.time = true;
        else
            options.path = word;
    }
    return options;
}

sf_count_t read(SNDFILE* file, std::int16_t* to, sf_count_t count) {
    return sf_readf_short(file, to, count);
}
sf_count_t read(SNDFILE* file, std::int32_t* to, sf_count_t count) {
    return sf_readf_int(file, to, count);
}
sf_count_t read(SNDFILE* file, float* to, sf_count_t count) {
    return sf_readf_float(file, to, count);
}
sf_count_t read(SNDFILE* file, double* to, sf_count_t count) {
    return sf_readf_double(file, to, count);
}

int bits_of(int format) {
    switch (format & SF_FORMAT_SUBMASK) {
        case SF_FORMAT_PCM_U8:
        case SF_FORMAT_PCM_S8:
            return 8;
        case SF_FORMAT_PCM_16:
            return 16;
        case SF_FORMAT_PCM_24:
            return 24;
        case SF_FORMAT_PCM_32:
            return 32;
        default:
            return 0;
    }
}

void print_row(std::int64_t segment, int channel, const std::vector<double>& values) {
    std::string line = std::to_string(segment) + "," + std::to_string(channel);
    for (const double v : values) line += "," + format_number(v);
    std::puts(line.c_str());
}

template <typename T>
void measure(SNDFILE* file, const SF_INFO& info, const Options& options) {
    std::vector<SegmentAnalyser> analysers;
    for (int c = 0; c < info.channels; ++c) {
        analysers.emplace_back(options.settings, info.samplerate, options.analyser);
    }
    const std::int64_t size = analysers[0].segment_samples();
    std::vector<T> block(static_cast<std::size_t>(options.block) * info.channels);
    std::size_t kept_bytes = 0;
    for (std::int64_t segment = 0; segment * size < info.frames; ++segment) {
        const std::int64_t samples = std::min<std::int64_t>(size, info.frames - segment * size);
        if (samples < options.settings.frame) break;
        for (auto& analyser : analysers) analyser.begin(bits_of(info.format));
        for (std::int64_t done = 0; done < samples;) {
            const auto got =
                read(file, block.data(), std::min<std::int64_t>(options.block, samples - done));
            if (got <= 0) return;
            for (int c = 0; c < info.channels; ++c) {
                analysers[c].add_channel(std::span<const T>(block.data(), got * info.channels),
                                         info.channels, c);
            }
            done += got;
        }
        for (int c = 0; c < info.channels; ++c) {
            const SegmentSummary& summary = analysers[c].finish();
            const std::vector<double> values = index_values(summary, options.settings);
            kept_bytes += encode(kept_spectrum(summary)).size();
            if (!options.time) print_row(segment, c, values);
        }
    }
}

}  // namespace

int main(int argc, char** argv) {
    const Options options = parse(argc, argv);
    SF_INFO info{};
    SNDFILE* file = sf_open(options.path.c_str(), SFM_READ, &info);
    if (!file) {
        std::fprintf(stderr, "analyse: %s: %s\n", options.path.c_str(), sf_strerror(nullptr));
        return 2;
    }
    if (!options.time) {
        std::string header = "segment,channel";
        for (const Column& column : index_columns(options.settings)) header += "," + column.name;
        std::puts(header.c_str());
    }
    const auto start = std::chrono::steady_clock::now();
    if (options.as == "int16")
        measure<std::int16_t>(file, info, options);
    else if (options.as == "int32")
        measure<std::int32_t>(file, info, options);
    else if (options.as == "float")
        measure<float>(file, info, options);
    else
        measure<double>(file, info, options);
    const double seconds =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    if (options.time) std::printf("%.4f\n", seconds);
    sf_close(file);
}
