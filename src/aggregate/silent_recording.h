// Recordings of a dead microphone, as the store knows them.
#pragma once

#include <string_view>

#include "store/store.h"

namespace hearwood {

/// Whether a kept spectrum holds anything: the bytes of silence, and of a constant, are all alike
/// (index/kept_spectrum.h).
bool tells(std::string_view spectrum);

/// Whether a recording holds nothing: by the spectra that are kept of it; before it is measured, by
/// what was heard of its deployment's first hours when the card came in. Opens no file.
bool is_silent(const Store& store, const RecordingRow& row);

}  // namespace hearwood
