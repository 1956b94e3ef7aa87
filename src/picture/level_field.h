// Levels per pixel of a plot, made from the power of bins: internal to this folder.
#pragma once

#include <span>
#include <utility>
#include <vector>

namespace hearwood {

/// Row 0 is the lowest frequency. A row takes the loudest bin whose centre it covers; a row between
/// two bins' centres is interpolated between their levels.
class LevelField {
  public:
    LevelField() = default;
    LevelField(int width, int height, double low_hz, double high_hz, double bin_hz, int bins);

    /// Mean squared amplitude of each bin.
    void set_column(int column, std::span<const double> power);
    /// dBFS; never below kSilence.
    float at(int column, int row) const {
        return levels_[static_cast<std::size_t>(column) * rows_.size() +
                       static_cast<std::size_t>(row)];
    }
    /// Floor and ceiling on whole tens: the ceiling above the loudest pixel, the floor below the
    /// quietest twentieth, 40 to 100 dB apart.
    std::pair<double, double> levels_for_drawing() const;

    static constexpr float kSilence = -200;

  private:
    struct Row {
        int first = 0, last = 0;  // bins first..last (both in) when last >= first
        double weight = 0;        // else between bins `first - 1` and `first`: weight of the latter
    };
    std::vector<Row> rows_;
    std::vector<float> levels_;  // column by column
    std::vector<float> bin_levels_;
};

}  // namespace hearwood
