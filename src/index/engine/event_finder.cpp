#include "index/engine/event_finder.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <tuple>

namespace hearwood {
namespace {

const double kLeastRise = std::pow(10.0, 0.5);  // 5 dB
constexpr double kBlockHz = 1000;
constexpr int kLeastBlock = 11;
constexpr double kLeastSeconds = 0.080;
constexpr int kLeastBins = 2;
constexpr double kLeastHz = 90;
constexpr int kLeastCells = 12;  // 12 s Hz
constexpr int kWordFrames = 64;

const double kQuantileToMean = -std::log(0.9);

float power_db(double square) {
    return square > 0 ? static_cast<float>(10 * std::log10(square))
                      : -std::numeric_limits<float>::infinity();
}

}  // namespace

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
    network_ = median_network(block_);
    for (int k = 0; k < bins; ++k) {
        // Block b's centre lies at b w + (w - 1) / 2.
        const double at =
            std::clamp((k - (block_ - 1) / 2.0) / block_, 0.0, static_cast<double>(blocks_ - 1));
        const int below = std::min(static_cast<int>(at), blocks_ - 2);
        block_of_.push_back(static_cast<std::int16_t>(below));
        share_above_.push_back(static_cast<float>(at - below));
    }
    to_rise_.resize(bins);
    powers_.resize(static_cast<std::size_t>(most_frames));
    in_place_.resize(static_cast<std::size_t>(most_frames));
    up_words_ = static_cast<std::size_t>(most_frames / kWordFrames + 1);
    up_.resize(up_words_ * static_cast<std::size_t>(bins));
}

/// The value of rank floor(0.1 M): for the bins whose powers are kept exactly, else to half a step.
double EventFinder::quantile(const PowerTiles& tiles, const Background& background, int bin) {
    const Background::Place& place = background.quantile(slots_.slot_of(bin));
    if (!tiles.bins().contains(bin) || place.value == 0) return static_cast<double>(place.value);
    const int i = bin - tiles.bins().first;
    std::ptrdiff_t inside = 0;
    const auto frames = background.frames_in_place(slots_.slot_of(bin));
    for (const std::int32_t frame : frames) in_place_[inside++] = tiles.at(i, frame);
    if (frames.empty()) {
        for (int frame = 0; frame < tiles.frames(); ++frame) powers_[frame] = tiles.at(i, frame);
        inside = kernels_.values_between(powers_.data(), tiles.frames(), place.low, place.high,
                                         in_place_.data());
    }
    const auto rank = in_place_.begin() + (tiles.frames() / 10 - place.below);
    std::nth_element(in_place_.begin(), rank, in_place_.begin() + inside);
    return static_cast<double>(*rank);
}

void EventFinder::find(PowerTiles& tiles, const Background& background, SegmentSounds& sounds) {
    sounds.events.clear();
    sounds.background_db.clear();
    for (std::size_t k = 0; k < means_.size(); ++k)
        means_[k] = quantile(tiles, background, static_cast<int>(k)) / kQuantileToMean;
    for (int band = 0; band < grid_.background_bands(); ++band) {
        const BinRange bins = grid_.background_bins(band);
        double sum = 0;
        // At 0 Hz A has half the factor of the other bins.
        for (int k = bins.first; k < bins.last; ++k) sum += means_[k] * (k == 0 ? 0.25 : 1);
        sounds.background_db.push_back(power_db(sum / std::max(bins.count(), 1) * to_square_));
    }
    sounds.listened = prepare(tiles);
    if (!sounds.listened) return;
    find_up(tiles.frames());
    find_runs(tiles.frames());
    collect(tiles.bins().first, sounds);
}

/// The factors that make rises of sums, and the frames beyond the ends. False when there is no
/// background.
bool EventFinder::prepare(PowerTiles& tiles) {
    if (tiles.bins().count() == 0) return false;
    bool any = false;
    for (int i = 0; i < tiles.bins().count(); ++i) {
        const double mean = means_[tiles.bins().first + i];
        to_rise_[i] = mean > 0 ? static_cast<float>(1 / (9 * mean)) : 0;
        any = any || mean > 0;
        tiles.at(i, -1) = tiles.at(i, 0);
        tiles.at(i, tiles.frames()) = tiles.at(i, tiles.frames() - 1);
    }
    search_ = {.tiles = tiles.first(),
               .tile_stride = tiles.stride(),
               .bins = tiles.bins().count(),
               .to_rise = to_rise_.data(),
               .least_rise = static_cast<float>(kLeastRise),
               .block = block_,
               .blocks = blocks_,
               .network = &network_,
               .block_of = block_of_.data(),
               .share_above = share_above_.data()};
    return any;
}

void EventFinder::find_up(int frames) {
    std::fill(up_.begin(), up_.end(), 0);
    for (int first = 0; first < frames; first += kTileFrames)
        kernels_.find_up(search_, static_cast<std::size_t>(first / kTileFrames),
                         up_.data() + first / kWordFrames, up_words_, first % kWordFrames);
    // What the last tile holds behind the last frame is of no segment.
    if (frames % kWordFrames == 0) return;
    const std::uint64_t there = (std::uint64_t{1} << frames % kWordFrames) - 1;
    for (std::size_t word = frames / kWordFrames; word < up_.size(); word += up_words_)
        up_[word] &= there;
}

/// Runs of cells that are up, bin by bin; those of neighbouring bins that touch, be it by a corner,
/// become one group.
void EventFinder::find_runs(int frames) {
    runs_.clear();
    bin_end_.assign(1, 0);
    std::size_t last_begin = 0, last_end = 0;  // of the bin below
    for (int i = 0; i < search_.bins; ++i) {
        const std::size_t begin = runs_.size();
        find_runs_of(i, frames);
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

void EventFinder::find_runs_of(int bin, int frames) {
    const std::uint64_t* words = up_.data() + up_words_ * static_cast<std::size_t>(bin);
    bool open = false;
    for (int first = 0; first < frames; first += kWordFrames) {
        // Bits that differ from what went before, from the lowest on.
        std::uint64_t changed = *words++ ^ (open ? ~std::uint64_t{0} : 0);
        while (changed != 0) {
            const int bit = std::countr_zero(changed), frame = first + bit;
            if (open)
                runs_.back().last = frame;
            else
                runs_.push_back({frame, frame, static_cast<std::int32_t>(runs_.size())});
            open = !open;
            changed = ~changed & (~std::uint64_t{0} << bit);
        }
    }
    if (open) runs_.back().last = frames;
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

struct EventFinder::Group {
    std::int32_t first = std::numeric_limits<std::int32_t>::max(), last = 0, cells = 0;
    int low = 0, high = 0;
    float most = 0;  ///< sum of 3 x 3 cells
};

void EventFinder::collect(int first_bin, SegmentSounds& sounds) {
    std::vector<Group> groups(runs_.size());
    for (int i = 0; i < search_.bins; ++i) {
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
    for (int i = 0; i < search_.bins; ++i) {
        for (std::int32_t r = bin_end_[i]; r < bin_end_[i + 1]; ++r) {
            Group& group = groups[root(r)];
            if (fits(group))
                group.most = std::max(
                    group.most, kernels_.greatest_sum(search_, i, runs_[r].first, runs_[r].last));
        }
    }
    for (const Group& group : groups) {
        if (group.cells == 0 || !fits(group)) continue;
        sounds.events.push_back({group.first, group.last - group.first,
                                 static_cast<std::int16_t>(first_bin + group.low),
                                 static_cast<std::int16_t>(first_bin + group.high),
                                 power_db(static_cast<double>(group.most / 9) * to_square_)});
    }
    std::sort(sounds.events.begin(), sounds.events.end(),
              [](const SoundEvent& a, const SoundEvent& b) {
                  return std::tuple(a.start, a.low, a.high) < std::tuple(b.start, b.low, b.high);
              });
}

}  // namespace hearwood
