// The analyser alone on an audio file, without survey, store and threads: prints the rows that
// reference.py prints, for the comparison of the two, or the time it takes, or writes the decoded
// samples.
//
//   analyse FILE [--segment-s 60] [--frame 512] [--hop 512] [--step-s 5] [--range LOW HIGH]
//           [--band NAME LOW HIGH]... [--block 32768] [--as int16|int32|float|double] [--baseline]
//           [--time | --events | --background | --decode OUT.wav]
#include <sndfile.h>

#include <CLI/CLI.hpp>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "base/text.h"
#include "index/catalogue.h"
#include "index/engine/segment_analyser.h"
#include "index/index_values.h"
#include "index/kept_spectrum.h"

using namespace hearwood;

namespace {

struct Options {
    std::string path, decode;
    std::string as;  ///< empty: the narrowest type that holds the file's samples
    MeasureSettings settings;
    AnalyserOptions analyser;
    int block = 32768;
    bool time = false;
    bool events = false;  ///< print the sound events instead of the values
    bool background = false;
};

Options parse(int argc, char** argv) {
    Options options;
    MeasureSettings& s = options.settings;
    std::vector<double> range;
    std::vector<std::tuple<std::string, double, double>> bands;
    bool baseline = false;
    CLI::App app{"the analyser alone on an audio file"};
    app.add_option("file", options.path)->required();
    app.add_option("--segment-s", s.segment_s);
    app.add_option("--frame", s.frame);
    app.add_option("--hop", s.hop);
    app.add_option("--step-s", s.step_s);
    app.add_option("--range", range)->expected(2);
    app.add_option("--band", bands);
    app.add_option("--block", options.block);
    app.add_option("--as", options.as)->check(CLI::IsMember({"int16", "int32", "float", "double"}));
    app.add_option("--decode", options.decode);
    app.add_flag("--baseline", baseline);
    app.add_flag("--time", options.time);
    app.add_flag("--events", options.events);
    app.add_flag("--background", options.background);
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        std::exit(app.exit(error));
    }
    if (!range.empty()) s.range_low_hz = range[0], s.range_high_hz = range[1];
    for (const auto& [name, low, high] : bands) s.bands.push_back({name, low, high});
    if (baseline) options.analyser.cpu = CpuPath::baseline;
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

void print_events(std::int64_t segment, int channel, const SegmentSounds& sounds) {
    for (const SoundEvent& e : sounds.events)
        std::printf("%lld,%d,%d,%d,%d,%d,%.4f\n", static_cast<long long>(segment), channel, e.start,
                    e.duration, e.low, e.high, static_cast<double>(e.peak_db));
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
            if (options.events)
                print_events(segment, c, summary.sounds);
            else if (options.background)
                print_row(segment, c,
                          std::vector<double>(summary.sounds.background_db.begin(),
                                              summary.sounds.background_db.end()));
            else if (!options.time)
                print_row(segment, c, values);
        }
    }
}

/// The samples as a WAV file: of floats, or of 16 bit as a recorder would have written them.
void decode(SNDFILE* file, const SF_INFO& info, const std::string& path, bool floats) {
    const int type = floats ? SF_FORMAT_FLOAT : SF_FORMAT_PCM_16;
    SF_INFO out_info{0, info.samplerate, info.channels, SF_FORMAT_WAV | type, 0, 0};
    SNDFILE* out = sf_open(path.c_str(), SFM_WRITE, &out_info);
    if (!out) std::exit(2);
    sf_command(out, SFC_SET_CLIPPING, nullptr, SF_TRUE);
    std::vector<float> block(static_cast<std::size_t>(4096) * info.channels);
    for (sf_count_t got; (got = sf_readf_float(file, block.data(), 4096)) > 0;) {
        sf_writef_float(out, block.data(), got);
    }
    sf_close(out);
}

std::string natural_type(int format) {
    const int bits = bits_of(format);
    return bits == 0 ? "float" : bits <= 16 ? "int16" : "int32";
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
    if (!options.decode.empty()) {
        decode(file, info, options.decode, options.as == "float");
        sf_close(file);
        return 0;
    }
    const std::string as = options.as.empty() ? natural_type(info.format) : options.as;
    if (options.events) {
        std::puts("segment,channel,start,duration,low,high,peak_dbfs");
    } else if (!options.time && !options.background) {
        std::string header = "segment,channel";
        for (const Column& column : index_columns(options.settings)) header += "," + column.name;
        std::puts(header.c_str());
    }
    const auto start = std::chrono::steady_clock::now();
    if (as == "int16")
        measure<std::int16_t>(file, info, options);
    else if (as == "int32")
        measure<std::int32_t>(file, info, options);
    else if (as == "float")
        measure<float>(file, info, options);
    else
        measure<double>(file, info, options);
    const double seconds =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    if (options.time) std::printf("%.4f\n", seconds);
    sf_close(file);
}
