#include "index/engine/event_finder.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <tuple>
#include <utility>

namespace hearwood {
namespace {

const double kLeastRise = std::pow(10.0, 0.5);  // 5 dB
constexpr double kBlockHz = 1000;
constexpr int kLeastBlock = 11;
constexpr double kLeastSeconds = 0.080;
constexpr int kLeastBins = 2;
constexpr double kLeastHz = 90;
constexpr int kLeastCells = 12;  // 12 s Hz
constexpr int kFramesAtOnce = 8;

const double kQuantileToMean = -std::log(0.9);

float power_db(double square) {
    return square > 0 ? static_cast<float>(10 * std::log10(square))
                      : -std::numeric_limits<float>::infinity();
}

}  // namespace

std::vector<std::int16_t> median_network(int count) {
    // Batcher's odd-even merge sort of the next power of two; places beyond `count` would hold what
    // is larger than everything, so pairs that reach there change nothing.
    std::vector<std::pair<int, int>> pairs;
    const int size = static_cast<int>(std::bit_ceil(static_cast<unsigned>(count)));
    for (int p = 1; p < size; p *= 2)
        for (int k = p; k >= 1; k /= 2)
            for (int j = k % p; j + k < size; j += 2 * k)
                for (int i = 0; i < k; ++i)
                    if ((i + j) / (2 * p) == (i + j + k) / (2 * p) && i + j + k < count)
                        pairs.emplace_back(i + j, i + j + k);
    std::vector<bool> needed(count);
    needed[count / 2] = true;
    std::vector<std::int16_t> swaps;
    for (auto pair = pairs.rbegin(); pair != pairs.rend(); ++pair) {
        if (!needed[pair->first] && !needed[pair->second]) continue;
        needed[pair->first] = needed[pair->second] = true;
        swaps.push_back(static_cast<std::int16_t>(pair->second));
        swaps.push_back(static_cast<std::int16_t>(pair->first));
    }
    std::reverse(swaps.begin(), swaps.end());
    return swaps;
}

EventFinder::EventFinder(const Kernels& kernels, const EventGrid& grid, const SlotMap& slots,
                         double to_square, std::int64_t most_frames)
    : kernels_(kernels),
      grid_(grid),
      slots_(slots),
      to_square_(to_square),
      means_(grid.frame() / 2) {
    const int bins = grid.bins().count();
    block_ =
        std::max(kLeastBlock, static_cast<int>(std::lrint(kBlockHz / grid.grid().bin_width())));
    blocks_ = bins / block_;
    if (bins == 0) return;
    if (bins > kMostRiseBins || block_ > kMostRiseBlock || blocks_ > kMostRiseBlocks || blocks_ < 2)
        throw std::logic_error("EventFinder: bins of an unexpected width");
    swaps_ = median_network(block_);
    for (int k = 0; k < bins; ++k) {
        // Block b's centre lies at b w + (w - 1) / 2.
        const double at =
            std::clamp((k - (block_ - 1) / 2.0) / block_, 0.0, static_cast<double>(blocks_ - 1));
        const int below = std::min(static_cast<int>(at), blocks_ - 2);
        block_of_.push_back(static_cast<std::int16_t>(below));
        share_above_.push_back(static_cast<float>(at - below));
    }
    to_rise_.resize(bins);
    in_bracket_.resize(static_cast<std::size_t>(most_frames));
    up_.resize(static_cast<std::size_t>(most_frames / kFramesAtOnce + 1) * bins);
}

/// The value of rank floor(0.1 M): for the bins whose powers are kept exactly, else to half a step.
double EventFinder::quantile(const PowerRows& rows, const Background& background, int bin) {
    const Background::Place& place = background.quantile(slots_.slot_of(bin));
    if (!rows.bins().contains(bin) || place.value == 0) return static_cast<double>(place.value);
    const float* row = rows.row(bin - rows.bins().first);
    const int inside =
        kernels_.values_between(row, rows.frames(), place.low, place.high, in_bracket_.data());
    const auto rank = in_bracket_.begin() + (rows.frames() / 10 - place.below);
    std::nth_element(in_bracket_.begin(), rank, in_bracket_.begin() + inside);
    return static_cast<double>(*rank);
}

void EventFinder::find(PowerRows& rows, const Background& background, SegmentSounds& sounds) {
    sounds.events.clear();
    sounds.background_db.clear();
    for (std::size_t k = 0; k < means_.size(); ++k)
        means_[k] = quantile(rows, background, static_cast<int>(k)) / kQuantileToMean;
    for (int band = 0; band < grid_.background_bands(); ++band) {
        const BinRange bins = grid_.background_bins(band);
        double sum = 0;
        // At 0 Hz A has half the factor of the other bins.
        for (int k = bins.first; k < bins.last; ++k) sum += means_[k] * (k == 0 ? 0.25 : 1);
        sounds.background_db.push_back(power_db(sum / std::max(bins.count(), 1) * to_square_));
    }
    sounds.listened = prepare(rows);
    if (!sounds.listened) return;
    find_up(rows);
    find_runs(rows.frames());
    collect(rows, sounds);
}

/// The factors that make rises of sums, and the rows' ends. False when there is no background.
bool EventFinder::prepare(PowerRows& rows) {
    bool any = false;
    for (int i = 0; i < rows.bins().count(); ++i) {
        const double mean = means_[rows.bins().first + i];
        to_rise_[i] = mean > 0 ? static_cast<float>(1 / (9 * mean)) : 0;
        any = any || mean > 0;
        float* row = rows.row(i);
        row[-1] = row[0];
        row[rows.frames()] = row[rows.frames() - 1];
    }
    return any;
}

void EventFinder::find_up(const PowerRows& rows) {
    const int bins = rows.bins().count();
    const RiseSearch search{.rows = rows.row(0),
                            .row_stride = rows.stride(),
                            .bins = bins,
                            .to_rise = to_rise_.data(),
                            .least_rise = static_cast<float>(kLeastRise),
                            .block = block_,
                            .blocks = blocks_,
                            .swaps = swaps_.data(),
                            .swap_count = static_cast<int>(swaps_.size() / 2),
                            .block_of = block_of_.data(),
                            .share_above = share_above_.data()};
    for (int first = 0; first < rows.frames(); first += kFramesAtOnce) {
        std::uint8_t* up = up_.data() + static_cast<std::size_t>(first / kFramesAtOnce) * bins;
        kernels_.find_up(search, first, up);
        const int there = std::min(rows.frames() - first, kFramesAtOnce);
        if (there == kFramesAtOnce) continue;
        for (int i = 0; i < bins; ++i) up[i] &= static_cast<std::uint8_t>((1U << there) - 1);
    }
}

/// Runs of cells that are up, bin by bin; those of neighbouring bins that touch, be it by a corner,
/// become one group.
void EventFinder::find_runs(int frames) {
    const int bins = static_cast<int>(to_rise_.size());
    const int columns = (frames + kFramesAtOnce - 1) / kFramesAtOnce;
    runs_.clear();
    bin_end_.assign(1, 0);
    std::size_t last_begin = 0, last_end = 0;  // of the bin below
    for (int i = 0; i < bins; ++i) {
        const std::size_t begin = runs_.size();
        bool open = false;
        for (int column = 0; column < columns; ++column) {
            unsigned bits = up_[static_cast<std::size_t>(column) * bins + i];
            if (bits == 0 && !open) continue;
            for (int f = 0; f < kFramesAtOnce; ++f, bits >>= 1) {
                const bool is_up = bits & 1U;
                if (is_up == open) continue;
                const int frame = column * kFramesAtOnce + f;
                if (is_up)
                    runs_.push_back({frame, frame, static_cast<std::int32_t>(runs_.size())});
                else
                    runs_.back().last = frame;
                open = is_up;
            }
        }
        if (open) runs_.back().last = frames;
        std::size_t below = last_begin;
        for (std::size_t run = begin; run < runs_.size(); ++run) {
            while (below < last_end && runs_[below].last < runs_[run].first) ++below;
            for (std::size_t b = below; b < last_end && runs_[b].first <= runs_[run].last; ++b)
                join(static_cast<std::int32_t>(b), static_cast<std::int32_t>(run));
        }
        last_begin = begin;
        last_end = runs_.size();
        bin_end_.push_back(static_cast<std::int32_t>(last_end));
    }
}

std::int32_t EventFinder::root(std::int32_t run) {
    while (runs_[run].group != run) {
        runs_[run].group = runs_[runs_[run].group].group;
        run = runs_[run].group;
    }
    return run;
}

/// The group is named by its first run.
void EventFinder::join(std::int32_t a, std::int32_t b) {
    a = root(a);
    b = root(b);
    runs_[std::max(a, b)].group = std::min(a, b);
}

/// The greatest mean of 3 x 3 powers in the run; beyond the outermost bin it counts twice.
float EventFinder::greatest_mean(const PowerRows& rows, int i, const Run& run) const {
    const float* here = rows.row(i);
    const float* below = i > 0 ? rows.row(i - 1) : here;
    const float* above = i + 1 < rows.bins().count() ? rows.row(i + 1) : here;
    float most = 0;
    for (int m = run.first; m < run.last; ++m) {
        float sum = 0;
        for (const float* row : {below, here, above}) sum += row[m - 1] + row[m] + row[m + 1];
        most = std::max(most, sum);
    }
    return most / 9;
}

struct EventFinder::Group {
    std::int32_t first = std::numeric_limits<std::int32_t>::max(), last = 0, cells = 0;
    int low = 0, high = 0;
    float most = 0;
};

void EventFinder::collect(const PowerRows& rows, SegmentSounds& sounds) {
    std::vector<Group> groups(runs_.size());
    for (int i = 0; i < rows.bins().count(); ++i) {
        for (std::int32_t r = bin_end_[i]; r < bin_end_[i + 1]; ++r) {
            Group& group = groups[root(r)];
            if (group.cells == 0) group.low = i;
            group.high = i;
            group.first = std::min(group.first, runs_[r].first);
            group.last = std::max(group.last, runs_[r].last);
            group.cells += runs_[r].last - runs_[r].first;
        }
    }
    const auto fits = [&](const Group& group) {
        const int bins = group.high - group.low + 1;
        return group.cells >= kLeastCells && bins >= kLeastBins &&
               bins * grid_.grid().bin_width() >= kLeastHz &&
               (group.last - group.first) * grid_.frame_s() >= kLeastSeconds;
    };
    for (int i = 0; i < rows.bins().count(); ++i) {
        for (std::int32_t r = bin_end_[i]; r < bin_end_[i + 1]; ++r) {
            Group& group = groups[root(r)];
            if (fits(group)) group.most = std::max(group.most, greatest_mean(rows, i, runs_[r]));
        }
    }
    for (const Group& group : groups) {
        if (group.cells == 0 || !fits(group)) continue;
        sounds.events.push_back({group.first, group.last - group.first,
                                 static_cast<std::int16_t>(rows.bins().first + group.low),
                                 static_cast<std::int16_t>(rows.bins().first + group.high),
                                 power_db(static_cast<double>(group.most) * to_square_)});
    }
    std::sort(sounds.events.begin(), sounds.events.end(),
              [](const SoundEvent& a, const SoundEvent& b) {
                  return std::tuple(a.start, a.low, a.high) < std::tuple(b.start, b.low, b.high);
              });
}

}  // namespace hearwood
