// The least that measuring a recording can cost on a machine: its 16-bit samples read through
// libsndfile, windowed and transformed, nothing more. Real transforms with a measured FFTW plan,
// the way one would write it first; tests/bench/speed.py sets the program's time beside it.
//
//   floor FILE.wav [frame] [batch]    prints the seconds of reading, and of reading, windowing and
//   transforming
#include <fftw3.h>
#include <sndfile.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <memory>
#include <numbers>
#include <vector>

namespace {

struct CloseFile {
    void operator()(SNDFILE* file) const { sf_close(file); }
};

/// Windows and transforms `batch` frames at a time.
class Transformer {
  public:
    Transformer(int frame, int batch)
        : frame_(frame),
          batch_(batch),
          in_(fftwf_alloc_real(static_cast<std::size_t>(frame) * batch)),
          out_(fftwf_alloc_complex(static_cast<std::size_t>(frame / 2 + 1) * batch)),
          plan_(fftwf_plan_many_dft_r2c(1, &frame_, batch_, in_, nullptr, 1, frame, out_, nullptr,
                                        1, frame / 2 + 1, FFTW_MEASURE)) {
        for (int n = 0; n < frame; ++n) {
            window_.push_back(
                static_cast<float>(0.5 - 0.5 * std::cos(2 * std::numbers::pi * n / frame)));
        }
    }
    ~Transformer() {
        fftwf_destroy_plan(plan_);
        fftwf_free(in_);
        fftwf_free(out_);
    }
    Transformer(const Transformer&) = delete;
    Transformer& operator=(const Transformer&) = delete;

    float run(const short* samples) {
        float* to = in_;
        for (int f = 0; f < batch_; ++f) {
            for (int n = 0; n < frame_; ++n) *to++ = static_cast<float>(*samples++) * window_[n];
        }
        fftwf_execute(plan_);
        return out_[1][0];
    }

  private:
    int frame_, batch_;
    float* in_;
    fftwf_complex* out_;
    fftwf_plan plan_;
    std::vector<float> window_;
};

struct Seconds {
    double wall, processor;
};

/// One pass over the file; planning is not counted.
Seconds pass(const char* path, int frame, int batch, bool transform) {
    SF_INFO info{};
    const std::unique_ptr<SNDFILE, CloseFile> file(sf_open(path, SFM_READ, &info));
    if (!file || info.channels != 1) {
        std::fprintf(stderr, "floor: %s: not a readable mono recording\n", path);
        std::exit(2);
    }
    Transformer transformer(frame, batch);
    std::vector<short> samples(static_cast<std::size_t>(frame) * batch);
    const auto whole = static_cast<sf_count_t>(samples.size());
    volatile float kept = 0;  // so that no work can be left out
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t ticks = std::clock();
    while (sf_readf_short(file.get(), samples.data(), whole) == whole) {
        kept = transform ? transformer.run(samples.data()) : static_cast<float>(samples[1]);
    }
    (void)kept;
    return {std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count(),
            static_cast<double>(std::clock() - ticks) / CLOCKS_PER_SEC};
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2) {
        std::fprintf(stderr, "usage: floor FILE.wav [frame] [batch]\n");
        return 2;
    }
    const int frame = argc > 2 ? std::atoi(argv[2]) : 512;
    const int batch = argc > 3 ? std::atoi(argv[3]) : 64;
    pass(argv[1], frame, batch, false);  // the file into the page cache
    const double read = pass(argv[1], frame, batch, false).wall;
    const Seconds all = pass(argv[1], frame, batch, true);
    std::printf("read_s=%.4f read_fft_s=%.4f processor_s=%.4f\n", read, all.wall, all.processor);
}
