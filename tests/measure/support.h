// What the tests of the measuring loop share: a survey on the disk with recordings made here, all
// of a store as text, and the real program run in it.
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "audio/wave_writer.h"
#include "base/file.h"
#include "base/text.h"
#include "measure/measure.h"
#include "store/store.h"
#include "survey/survey.h"
#include "temporary_folder.h"

namespace hearwood::testing {

namespace fs = std::filesystem;

/// Noise that is the same everywhere, with a tone whose height depends on the seed.
inline std::vector<std::int16_t> sound(std::size_t samples, std::uint32_t seed) {
    std::vector<std::int16_t> out(samples);
    std::uint32_t state = seed * 2654435761u + 1;
    for (std::size_t i = 0; i < samples; ++i) {
        state = state * 1664525u + 1013904223u;
        const double noise = static_cast<double>(state >> 16) / 65536.0 - 0.5;
        const double tone = 0.2 * std::sin(0.1 * (1 + seed % 20) * static_cast<double>(i));
        out[i] = static_cast<std::int16_t>(6000.0 * (noise + tone));
    }
    return out;
}

class SurveyOnDisk {
  public:
    SurveyOnDisk() {
        settings();
        write("sites.csv",
              "site,latitude,longitude,nutrient_status\nS1,1.50,110.30,rich\nS2,1.51,110.31,rich\n"
              "S3,1.52,110.32,poor\nS4,1.53,110.33,poor\n");
        write("deployments.csv",
              "deployment,site,folder\nD1,S1,recordings/D1\nD2,S2,recordings/D2\n"
              "D3,S3,recordings/D3\nD4,S4,recordings/D4\n");
        for (const char* name_of_folder : {"D1", "D2", "D3", "D4"})
            fs::create_directories(recordings(name_of_folder));
    }

    const fs::path& folder() const { return folder_.path(); }
    fs::path recordings(const std::string& deployment) const {
        return folder_.path() / "recordings" / deployment;
    }
    void write(const std::string& name, const std::string& text) const {
        std::ofstream(folder_.path() / name, std::ios::binary) << text;
    }
    /// Segments of two seconds keep the tests quick.
    void settings(const std::string& measure = "segment_s = 2\nstep_s = 1\n",
                  const std::string& more = "") const {
        write("survey.toml",
              "[survey]\ntitle = \"Two rivers\"\ntime_zone = \"Asia/Kuching\"\n[stands]\n"
              "factor = \"nutrient_status\"\ncompare = [\"rich\", \"poor\"]\n[measure]\n" +
                  measure + more);
    }
    fs::path wave(const std::string& deployment, const std::string& name, double seconds,
                  std::uint32_t seed, int channels = 1, int rate = 24'000) const {
        const fs::path path = recordings(deployment) / name;
        WaveWriter::Options options;
        options.sample_rate = rate;
        options.channels = channels;
        WaveWriter writer(path, options);
        writer.write(sound(static_cast<std::size_t>(seconds * rate) * channels, seed));
        writer.close();
        return path;
    }
    /// Some recordings of different lengths and shapes, all well.
    void fill() const {
        wave("D1", "A_20310504_050000.wav", 5.0, 1);
        wave("D1", "A_20310504_060000.wav", 4.0, 2);
        wave("D2", "B_20310504_050000.wav", 7.9, 3, 2);
        wave("D3", "C_20310504_050000.wav", 6.0, 4, 3, 48'000);
        wave("D4", "D_20310504_050000.wav", 3.0, 5);
    }
    Survey load() const { return load_survey(folder()); }
    Store open() const { return Store::open(folder()); }
    MeasureSummary measure(MeasureOptions options = {}) const {
        options.quiet = true;
        Store store = open();
        return measure_survey(load(), store, options);
    }

  private:
    TemporaryFolder folder_;
};

/// Everything that a store says, except in which order it was written.
inline std::string all_of(const Store& store) {
    std::string text = store.settings() ? store.settings()->json + "\n" : "";
    store.for_each_recording([&](const RecordingRow& r) {
        text += r.deployment + "|" + r.path + "|" + std::to_string(r.size) + "|" +
                (r.start ? format_local(*r.start) : "") + "|" + r.start_source + "|" +
                std::to_string(r.sample_rate) + "|" + std::to_string(r.channels) + "|" +
                std::to_string(r.bits) + "|" + r.format + "|" + std::to_string(r.frames) + "|" +
                format_number(r.lost_s) + "|" + std::to_string(r.spoilt_segments) + "|" +
                std::string(word(r.state)) + "|" + r.reason + "|" + r.settings + "|" +
                std::to_string(r.gone) + "|" + r.sha256 + "\n";
    });
    store.for_each_segment([&](const RecordingRow& r, const SegmentRow& s) {
        text += r.path + " " + std::to_string(s.channel) + " " + std::to_string(s.segment) + " " +
                std::to_string(s.first_sample) + " " + std::to_string(s.samples) + " " +
                std::to_string(s.complete);
        for (const double value : s.values) text += " " + format_number(value);
        text += " " + store.spectrum(r.id, s.channel, s.segment) + "\n";
    });
    return text;
}

inline std::string all_of(const SurveyOnDisk& survey) {
    return all_of(Store::open_read_only(survey.folder()));
}

struct Outcome {
    int exit_code = -1;
    std::string out, err;
};

inline std::string slurp(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
}

/// What the program printed as one line: where a line ends depends on the length of names and
/// paths.
inline std::string in_one_line(const std::string& text) {
    std::istringstream words(text);
    std::string line, word;
    while (words >> word) line += (line.empty() ? "" : " ") + word;
    return line;
}

/// The program as a child that is under way; join() waits for its end.
class Program {
  public:
    Program(const std::vector<std::string>& arguments,
            const std::vector<std::pair<std::string, std::string>>& environment = {}) {
        std::fflush(nullptr);  // or the child would print it again
        child_ = fork();
        if (child_ != 0) return;
        for (const auto& [key, value] : environment) setenv(key.c_str(), value.c_str(), 1);
        if (!freopen((folder_.path() / "out").c_str(), "w", stdout) ||
            !freopen((folder_.path() / "err").c_str(), "w", stderr))
            _exit(126);
        std::vector<char*> words{const_cast<char*>(HEARWOOD_BINARY)};
        for (const std::string& argument : arguments)
            words.push_back(const_cast<char*>(argument.c_str()));
        words.push_back(nullptr);
        execv(HEARWOOD_BINARY, words.data());
        _exit(127);
    }
    ~Program() {
        if (child_ > 0) join();
    }
    Program(const Program&) = delete;
    Program& operator=(const Program&) = delete;

    void signal(int number) const { kill(child_, number); }
    bool ended() {
        int status = 0;
        if (child_ > 0 && waitpid(child_, &status, WNOHANG) == child_) take(status);
        return child_ <= 0;
    }
    std::string err_so_far() const { return slurp(folder_.path() / "err"); }
    Outcome join() {
        int status = 0;
        if (child_ > 0 && waitpid(child_, &status, 0) == child_) take(status);
        return outcome_;
    }

  private:
    void take(int status) {
        child_ = 0;
        outcome_.exit_code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
        outcome_.out = slurp(folder_.path() / "out");
        outcome_.err = slurp(folder_.path() / "err");
    }

    TemporaryFolder folder_;
    pid_t child_ = 0;
    Outcome outcome_;
};

inline Outcome run_program(
    const std::vector<std::string>& arguments,
    const std::vector<std::pair<std::string, std::string>>& environment = {}) {
    return Program(arguments, environment).join();
}

}  // namespace hearwood::testing
