// What is kept of every segment's sound events and background, so that events can be listed and
// judged without audio: about 6 bytes an event, one a band of the background.
//
// Bytes: version (1); 1 where events were listened for, 0 where they are missing; the number of
// background bands, 2 bytes, low byte first; a byte a band: 0 for none, else b for -150.5 + b / 2
// dB
// (-150 to -23, what lies beyond is cut to that). Then the number of events, and of each: start
// less the start before, duration (frames), both as numbers of 7 bits a byte with the top bit set
// on all but the last; lowest bin, a byte; highest less lowest bin, a byte; peak in hundredths of a
// decibel, a 16-bit integer with sign, low byte first. The number of events is written like a
// start.
#pragma once

#include <string>
#include <string_view>

#include "index/sound_event.h"

namespace hearwood {

std::string encode(const SegmentSounds& sounds);
/// Errors: MachineError when the bytes are not of this form (a damaged database).
SegmentSounds decode_sounds(std::string_view bytes);

}  // namespace hearwood
