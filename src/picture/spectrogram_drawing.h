// From levels to pixels, with axes, key, bands and marks: internal to this folder.
#pragma once

#include "picture/image.h"
#include "picture/level_field.h"
#include "picture/spectrogram.h"

namespace hearwood {

/// Where the plot stands in a picture of these options; times and levels are left at 0. InputError
/// when the picture is too small for its axes.
PlotArea plot_area(const SpectrogramOptions& options);

Image draw_field(const LevelField& field, const PlotArea& plot, const SpectrogramOptions& options);

}  // namespace hearwood
