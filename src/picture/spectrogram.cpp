#include "picture/spectrogram.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "audio/audio_file.h"
#include "base/error.h"
#include "base/text.h"
#include "picture/axes.h"
#include "picture/font.h"
#include "picture/level_field.h"
#include "picture/spectrogram_drawing.h"
#include "spectrum/real_fft_batch.h"
#include "spectrum/window.h"

namespace hearwood {

namespace {

constexpr std::size_t kPiece = 1 << 16;  // samples taken in at a time

void check(double sample_rate, std::int64_t samples, const SpectrogramOptions& options) {
    if (!(sample_rate > 0) || samples < 1)
        throw InputError("there are no samples to draw",
                         "choose a part that lies in the recording");
    if (options.frame < 16 || options.frame > 65'536 || options.frame % 2 != 0)
        throw InputError("a frame of " + std::to_string(options.frame) + " samples cannot be used",
                         "choose an even number from 16 to 65536");
    if (options.floor_db && options.ceiling_db && !(*options.floor_db < *options.ceiling_db))
        throw InputError("the darkest level is not below the brightest",
                         "give the lower level first");
}

}  // namespace

struct SpectrogramPainter::State {
    SpectrogramOptions options;
    double rate = 0;
    std::int64_t samples = 0;
    PlotArea plot;
    LevelField field;

    // Frames wait in `pending`, whose first sample has the number `base` (negative before the
    // start).
    std::vector<float> pending;
    std::int64_t base = 0, taken = 0;
    int column = 0, frame_of_column = 0, frames_a_column = 1;
    std::vector<double> window, power;
    double scale = 0;  // turns |X|^2 into the squared amplitude of a bin that counts once
    RealFftBatch fft;

    State(double sample_rate, std::int64_t count, SpectrogramOptions given)
        : options(std::move(given)), rate(sample_rate), samples(count), fft(options.frame, 1) {
        if (options.high_hz <= 0) options.high_hz = rate / 2;
        if (!(options.low_hz >= 0 && options.low_hz < options.high_hz &&
              options.high_hz <= rate / 2))
            throw InputError(
                "the frequency range of the picture is empty or above half the sample rate",
                "choose 0 <= low < high <= " + format_number(rate / 2) + " Hz");
        plot = plot_area(options);
        plot.from_s = options.start_s;
        plot.to_s = options.start_s + static_cast<double>(samples) / rate;
        field = LevelField(plot.width, plot.height, options.low_hz, options.high_hz,
                           rate / options.frame, options.frame / 2 + 1);
        window = periodic_hann(options.frame);
        const double sum = window_sum(window);
        scale = 1 / (sum * sum);
        power.assign(static_cast<std::size_t>(options.frame) / 2 + 1, 0);
        const double a_column = static_cast<double>(samples) / plot.width;
        frames_a_column =
            std::max(1, static_cast<int>(std::ceil(a_column / (options.frame / 2.0))));
        base = -options.frame / 2;
        pending.assign(static_cast<std::size_t>(options.frame / 2), 0.0f);
    }

    /// First sample of the frame that is next.
    std::int64_t next_frame() const {
        const double a_column = static_cast<double>(samples) / plot.width;
        const double middle = (column + (frame_of_column + 0.5) / frames_a_column) * a_column;
        return static_cast<std::int64_t>(std::floor(middle)) - options.frame / 2;
    }

    void take(std::span<const float> piece) {
        pending.insert(pending.end(), piece.begin(), piece.end());
        const auto end = base + static_cast<std::int64_t>(pending.size());
        while (column < plot.width && next_frame() + options.frame <= end) transform(next_frame());
        const std::int64_t needed = column < plot.width ? std::min(next_frame(), end) : end;
        pending.erase(pending.begin(), pending.begin() + (needed - base));
        base = needed;
    }

    void transform(std::int64_t first) {
        const float* from = pending.data() + (first - base);
        float* input = fft.input(0);
        for (int n = 0; n < options.frame; ++n)
            input[n] = static_cast<float>(window[static_cast<std::size_t>(n)] * from[n]);
        fft.execute();
        const std::complex<float>* bins = fft.output(0);
        const int last = options.frame / 2;
        for (int k = 0; k <= last; ++k) {
            const double g = k == 0 || k == last ? 1 : 2;
            power[static_cast<std::size_t>(k)] += g * g * scale * std::norm(bins[k]);
        }
        if (++frame_of_column == frames_a_column) finish_column();
    }

    void finish_column() {
        for (double& p : power) p /= frames_a_column;
        field.set_column(column, power);
        std::fill(power.begin(), power.end(), 0);
        frame_of_column = 0;
        ++column;
    }
};

SpectrogramPainter::SpectrogramPainter(double sample_rate, std::int64_t samples,
                                       SpectrogramOptions options) {
    check(sample_rate, samples, options);
    state_ = std::make_unique<State>(sample_rate, samples, std::move(options));
}

SpectrogramPainter::~SpectrogramPainter() = default;
SpectrogramPainter::SpectrogramPainter(SpectrogramPainter&&) noexcept = default;
SpectrogramPainter& SpectrogramPainter::operator=(SpectrogramPainter&&) noexcept = default;

void SpectrogramPainter::add(std::span<const float> samples) {
    const auto room = static_cast<std::size_t>(state_->samples - state_->taken);
    samples = samples.first(std::min(samples.size(), room));
    state_->taken += static_cast<std::int64_t>(samples.size());
    for (; !samples.empty(); samples = samples.subspan(std::min(kPiece, samples.size())))
        state_->take(samples.first(std::min(kPiece, samples.size())));
}

Image SpectrogramPainter::finish() {
    const std::vector<float> silence(static_cast<std::size_t>(state_->options.frame), 0.0f);
    while (state_->column < state_->plot.width) state_->take(silence);
    PlotArea& plot = state_->plot;
    const auto [floor_db, ceiling_db] = state_->field.levels_for_drawing();
    plot.ceiling_db = state_->options.ceiling_db.value_or(
        state_->options.floor_db ? std::max(ceiling_db, *state_->options.floor_db + 10)
                                 : ceiling_db);
    plot.floor_db = state_->options.floor_db.value_or(std::min(floor_db, plot.ceiling_db - 40));
    return draw_field(state_->field, plot, state_->options);
}

const PlotArea& SpectrogramPainter::plot() const {
    return state_->plot;
}

void paint_stretch(AudioFile& file, std::uint64_t from, std::uint64_t count, int channel,
                   SpectrogramPainter& painter) {
    constexpr std::size_t kBlock = 1 << 15;
    const auto channels = static_cast<std::size_t>(file.info().channels);
    std::vector<float> all(kBlock * channels), one(kBlock);
    while (count > 0) {
        const std::size_t wanted = static_cast<std::size_t>(std::min<std::uint64_t>(count, kBlock));
        const std::size_t got = file.read_float(from, all.data(), wanted);
        for (std::size_t n = 0; n < got; ++n)
            one[n] = all[n * channels + static_cast<std::size_t>(channel)];
        painter.add(std::span(one).first(got));
        if (got < wanted) return;
        from += got;
        count -= got;
    }
}

Image draw_spectrogram(std::span<const float> samples, double sample_rate,
                       const SpectrogramOptions& options) {
    SpectrogramPainter painter(sample_rate, static_cast<std::int64_t>(samples.size()), options);
    painter.add(samples);
    return painter.finish();
}

}  // namespace hearwood
