#include "aggregate/silent_recording.h"

#include "measure/first_hours.h"

namespace hearwood {

bool tells(std::string_view spectrum) {
    // A version byte, two bytes a bin of power, one of share.
    const std::size_t bins = spectrum.size() / 3;
    if (bins < 3) return false;
    // Bin 0 holds the offset alone, so it may differ from the rest.
    const std::string_view first = spectrum.substr(1 + 2, 2);
    for (std::size_t bin = 2; bin + 1 < bins; ++bin)
        if (spectrum.substr(1 + 2 * bin, 2) != first) return true;
    return false;
}

bool is_silent(const Store& store, const RecordingRow& row) {
    bool measured = false, heard = false;
    store.for_each_spectrum_of(row.id, [&](int, int, std::string_view spectrum) {
        measured = true;
        heard = heard || tells(spectrum);
    });
    if (measured) return !heard;
    const auto first = kept_first_hours(store, row.deployment);
    return first && first->segments > 0 && first->dead == first->segments;
}

}  // namespace hearwood
