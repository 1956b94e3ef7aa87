#include "activity/trial_search.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/interrupt.h"
#include "statistics/quantile.h"

namespace hearwood {
namespace {

// Searching. A chirp stands out by the logarithm of its power over that of the moments around it,
// from 0 to kMostRise; the score of a moment is the mean of that over each band's chirps, summed
// over bands. Noise scores about 0.3 a band and scatters by 0.3 altogether.
constexpr double kMoment = 0.002;                ///< seconds
constexpr std::size_t kMomentsAround = 125;      ///< a quarter of a second, in blocks of three
constexpr double kMostRise = 4.605170185988092;  ///< ln 100
constexpr double kLeastScoreOfBand = 0.75;       ///< on average
constexpr int kLeastChirps = 2;                  ///< of a band

// Measuring. The energy of the filter's output over a short while holds the direct sound and what
// leaves and stems scatter after it, as an animal's call has both.
constexpr double kBefore = 0.008, kWhile = 0.030;  ///< seconds
constexpr double kLead = 0.1;                      ///< of a block before its chirp
constexpr double kQuietAfter = 1.2;                ///< no chirp of the band follows so soon
constexpr double kStandsOut = 4;                   ///< deviations of the noise
constexpr double kLeastToNoise = 0.5;              ///< energy of the chirp over the noise's
constexpr float kClipped = 0.9995F;
constexpr int kClippedSamples = 3;

double decibels(double power) {
    return 10 * std::log10(power);
}

/// What stands out at each moment: see above. The loudest of three neighbours stands for a moment,
/// since clocks of player and recorder differ.
std::vector<float> rises(const std::vector<float>& powers) {
    const std::size_t count = powers.size();
    std::vector<float> loudest(count);
    for (std::size_t i = 0; i < count; ++i)
        loudest[i] =
            std::max({powers[i == 0 ? 0 : i - 1], powers[i], powers[std::min(i + 1, count - 1)]});
    std::vector<float> medians;
    for (std::size_t i = 0; i < count; i += kMomentsAround) {
        const auto from = loudest.begin() + static_cast<std::ptrdiff_t>(i);
        const auto length = std::min(kMomentsAround, count - i);
        medians.push_back(
            upper_median(std::vector(from, from + static_cast<std::ptrdiff_t>(length))));
    }
    for (std::size_t i = 0; i < count; ++i) {
        const std::size_t block = i / kMomentsAround;
        const float around =
            upper_median(std::vector{medians[block == 0 ? 0 : block - 1], medians[block],
                                     medians[std::min(block + 1, medians.size() - 1)]});
        const double rise = loudest[i] > 0 ? std::log(loudest[i] / std::max(around, 1e-30F)) : 0;
        loudest[i] = static_cast<float>(std::clamp(rise, 0.0, kMostRise));
    }
    return loudest;
}

int moments_of(double seconds) {
    return static_cast<int>(std::lround(seconds / kMoment));
}

/// Of a play that begins at a moment; 0 where too few of its chirps lie inside.
double score_at(std::span<const std::vector<float>> rise, int first) {
    const int last = static_cast<int>(rise[0].size()) - moments_of(kChirpSeconds);
    std::array<double, kTrialBands.size()> sums{};
    std::array<int, kTrialBands.size()> counts{};
    for (const TrialChirp& chirp : trial_chirps()) {
        const int at = first + moments_of(chirp.start_s);
        if (at < 0 || at > last || chirp.band >= rise.size()) continue;
        sums[chirp.band] += static_cast<double>(rise[chirp.band][static_cast<std::size_t>(at)]);
        ++counts[chirp.band];
    }
    double score = 0;
    for (std::size_t band = 0; band < rise.size(); ++band) {
        if (counts[band] < kLeastChirps) return 0;
        score += sums[band] / counts[band];
    }
    return score;
}

/// None that overlaps a better one (the code meets its own shadow there); by time.
std::vector<TrialPlay> best_of(std::vector<TrialPlay> plays) {
    std::stable_sort(plays.begin(), plays.end(),
                     [](const TrialPlay& a, const TrialPlay& b) { return a.score > b.score; });
    std::vector<TrialPlay> best;
    for (const TrialPlay& play : plays) {
        const bool alone = std::none_of(best.begin(), best.end(), [&](const TrialPlay& other) {
            return std::abs(play.start_s - other.start_s) < trial_seconds();
        });
        if (alone) best.push_back(play);
    }
    std::sort(best.begin(), best.end(),
              [](const TrialPlay& a, const TrialPlay& b) { return a.start_s < b.start_s; });
    return best;
}

double deviation(std::span<const double> values) {
    double mean = 0, squares = 0;
    for (const double value : values) mean += value / static_cast<double>(values.size());
    for (const double value : values) squares += (value - mean) * (value - mean);
    return std::sqrt(squares / static_cast<double>(values.size() - 1));
}

}  // namespace

/// A band's chirps and the noise around them, as energies over kWhile.
struct TrialSearch::Heard {
    std::vector<double> chirps, noise;
    bool clipped = false;
};

TrialSearch::TrialSearch(double sample_rate)
    : sample_rate_(sample_rate), filter_(sample_rate), block_(filter_.block()) {
    for (std::size_t band = 0; band < filter_.bands(); ++band) {
        const std::vector<float> chirp = trial_chirp(band, sample_rate);
        std::vector<float> samples(static_cast<std::size_t>(std::llrint(kLead * sample_rate)));
        samples.insert(samples.end(), chirp.begin(), chirp.end());
        filter_.filter(samples);
        whole_[band] = energy(band, kLead - kBefore);
    }
}

/// Filters the block from a sample on; what lies outside the sound is silence.
bool TrialSearch::load(const ReadSamples& read, std::int64_t samples, std::int64_t from) {
    std::fill(block_.begin(), block_.end(), 0.0F);
    const std::int64_t first = std::max<std::int64_t>(from, 0);
    const std::int64_t last = std::min(from + static_cast<std::int64_t>(block_.size()), samples);
    if (last > first &&
        !read(first, std::span(block_).subspan(static_cast<std::size_t>(first - from),
                                               static_cast<std::size_t>(last - first))))
        return false;
    filter_.filter(block_);
    return true;
}

std::array<TrialSearch::Track, kTrialBands.size()> TrialSearch::tracks(const ReadSamples& read,
                                                                       std::int64_t samples) {
    std::array<Track, kTrialBands.size()> tracks;
    const double per_moment = kMoment * sample_rate_;
    const auto moments = static_cast<std::size_t>(static_cast<double>(samples) / per_moment) + 1;
    for (std::size_t band = 0; band < filter_.bands(); ++band) tracks[band].assign(moments, 0);
    for (std::int64_t from = 0; from < samples; from += static_cast<std::int64_t>(filter_.lags())) {
        stop_if_interrupted();
        if (!load(read, samples, from)) break;
        for (std::size_t band = 0; band < filter_.bands(); ++band) {
            const std::span<const float> power = filter_.power(band);
            for (std::size_t i = 0; i < power.size(); ++i) {
                const auto at =
                    static_cast<double>(from) + static_cast<double>(i * filter_.step(band));
                const auto moment = static_cast<std::size_t>(at / per_moment);
                if (moment >= moments) break;
                float& loudest = tracks[band][moment];
                loudest = std::max(loudest, power[i]);
            }
        }
    }
    return tracks;
}

std::vector<TrialPlay> TrialSearch::find(const ReadSamples& read, std::int64_t samples) {
    if (filter_.bands() == 0 || samples < static_cast<std::int64_t>(filter_.chirp_samples()))
        return {};
    std::array<Track, kTrialBands.size()> found = tracks(read, samples);
    for (std::size_t band = 0; band < filter_.bands(); ++band) found[band] = rises(found[band]);
    const std::span<const Track> rise(found.data(), filter_.bands());
    const double least = kLeastScoreOfBand * static_cast<double>(filter_.bands());
    std::vector<TrialPlay> plays;
    const int first = -moments_of(trial_seconds()), last = static_cast<int>(rise[0].size());
    for (int moment = first; moment < last; ++moment) {
        const double score = score_at(rise, moment);
        if (score >= least) plays.push_back({moment * kMoment, score});
    }
    return best_of(std::move(plays));
}

/// Of the last block, over kWhile from a time of it on.
double TrialSearch::energy(std::size_t band, double from_s) const {
    const std::span<const float> power = filter_.power(band);
    const double per_second = sample_rate_ / static_cast<double>(filter_.step(band));
    const auto first = static_cast<std::size_t>(std::llrint(from_s * per_second));
    const auto count = static_cast<std::size_t>(std::llrint(kWhile * per_second));
    double sum = 0;
    for (std::size_t i = first; i < std::min(first + count, power.size()); ++i)
        sum += static_cast<double>(power[i]);
    return sum;
}

void TrialSearch::hear(const ReadSamples& read, std::int64_t samples, std::int64_t begin,
                       std::size_t band, Heard& heard) {
    const auto chirp = static_cast<std::int64_t>(filter_.chirp_samples());
    const std::int64_t lead = std::llrint(kLead * sample_rate_);
    if (begin < 0 || begin + chirp > samples || !load(read, samples, begin - lead)) return;
    heard.chirps.push_back(energy(band, kLead - kBefore));
    const auto sound =
        std::span(block_).subspan(static_cast<std::size_t>(lead), static_cast<std::size_t>(chirp));
    heard.clipped = heard.clipped || std::count_if(sound.begin(), sound.end(), [](float x) {
                                         return std::abs(x) >= kClipped;
                                     }) >= kClippedSamples;
    const std::int64_t quiet = begin + std::llrint(kQuietAfter * sample_rate_);
    if (quiet + static_cast<std::int64_t>(block_.size()) > samples || !load(read, samples, quiet))
        return;
    const double seconds = static_cast<double>(filter_.lags()) / sample_rate_;
    for (double from = 0; from + kWhile <= seconds; from += kWhile)
        heard.noise.push_back(energy(band, from));
}

ReceivedBand TrialSearch::judge(std::size_t band, Heard heard) const {
    ReceivedBand received;
    if (static_cast<int>(heard.chirps.size()) < kLeastChirps || heard.noise.empty()) {
        received.why = "the recording holds too few of its chirps";
        return received;
    }
    if (heard.clipped) {
        received.why = "clipped: play it softer";
        return received;
    }
    const double noise = median(heard.noise);
    const double stands_out = kStandsOut * kDeviationsPerMedian * median_deviation(heard.noise);
    std::vector<double> levels;
    for (const double one : heard.chirps) {
        received.chirps += one - noise >= stands_out && one > noise;
        if (one > noise) levels.push_back(decibels((one - noise) / whole_[band]));
    }
    const double rise = median(heard.chirps) - noise;
    if (rise <= 0 || rise < stands_out || rise < kLeastToNoise * noise) {
        received.why = "drowned: its chirps do not stand out from the noise";
        return received;
    }
    received.level_db = decibels(rise / whole_[band]);
    if (levels.size() > 1)
        received.se_db = deviation(levels) / std::sqrt(static_cast<double>(levels.size()));
    return received;
}

ReceivedBands TrialSearch::measure(const ReadSamples& read, std::int64_t samples,
                                   const TrialPlay& play) {
    std::array<Heard, kTrialBands.size()> heard;
    for (const TrialChirp& chirp : trial_chirps()) {
        if (chirp.band >= filter_.bands()) continue;
        const std::int64_t begin = std::llrint((play.start_s + chirp.start_s) * sample_rate_);
        hear(read, samples, begin, chirp.band, heard[chirp.band]);
    }
    ReceivedBands bands;
    for (std::size_t band = 0; band < bands.size(); ++band) {
        if (band < filter_.bands())
            bands[band] = judge(band, std::move(heard[band]));
        else
            bands[band].why = fmt::format("a sample rate of {} Hz does not hold it", sample_rate_);
    }
    return bands;
}

}  // namespace hearwood
