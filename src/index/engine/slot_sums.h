// What a segment's cells are summed to, slot by slot (kernels.h), with the bookkeeping of the steps
// of the acoustic complexity.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "index/engine/kernels.h"

namespace hearwood {

/// Arrays of one number a slot.
struct SlotSums {
    explicit SlotSums(int slots)
        : power(slots),
          amplitude(slots),
          step_amplitude(slots),
          step_difference(slots),
          whole_steps(slots),
          ratio(slots),
          last_amplitude(slots),
          loud(slots),
          standout(slots),
          has_background(slots) {}

    void begin() {
        for (auto* sums :
             {&power, &amplitude, &step_amplitude, &step_difference, &whole_steps, &ratio}) {
            std::fill(sums->begin(), sums->end(), 0.0);
        }
        std::fill(last_amplitude.begin(), last_amplitude.end(), 0.0F);
        std::fill(loud.begin(), loud.end(), 0U);
    }

    /// Ends a step: its amplitudes join those of all frames; a whole step also counts for the
    /// complexity.
    void end_step(bool whole) {
        for (std::size_t slot = 0; slot < power.size(); ++slot) {
            amplitude[slot] += step_amplitude[slot];
            if (whole) {
                whole_steps[slot] += step_amplitude[slot];
                if (step_amplitude[slot] > 0)
                    ratio[slot] += step_difference[slot] / step_amplitude[slot];
            }
            step_amplitude[slot] = step_difference[slot] = 0;
        }
    }

    CellSums view() {
        return {power.data(), step_amplitude.data(), step_difference.data(), last_amplitude.data(),
                loud.data()};
    }

    std::vector<double> power, amplitude, step_amplitude, step_difference, whole_steps, ratio;
    std::vector<float> last_amplitude;
    std::vector<std::uint32_t> loud, standout;
    std::vector<std::uint8_t> has_background;
};

}  // namespace hearwood
