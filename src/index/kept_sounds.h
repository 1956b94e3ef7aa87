// What is kept of every segment's sound events and background, so that events can be listed and
// judged without audio: about 4.4 bytes an event, four bits a band of the background.
//
// Bytes: version (2); 1 where events were listened for, 0 where they are missing; the number of
// background bands, 2 bytes, low byte first; the number of events, 7 bits a byte with the top bit
// set on all but the last. Then columns of numbers (packed_numbers.h): of the bands, where there
// are any, the code of each less the one before, the first less 0; a code is 0 for none, else b for
// -150.5 + b / 2 dB (-150 to -23, what lies beyond is cut to that). Where there are events: start
// less the start before, duration (frames), lowest bin, highest less lowest bin, peak in hundredths
// of a decibel (-327.68 to 327.67).
//
// Version 1, which earlier programs wrote, is read too: a byte a band with its code, the number of
// events, and of each start and duration like that number, lowest bin and highest less lowest a
// byte each, and the peak as a 16-bit integer with sign, low byte first.
#pragma once

#include <string>
#include <string_view>

#include "index/sound_event.h"

namespace hearwood {

std::string encode(const SegmentSounds& sounds);
/// Errors: MachineError when the bytes are not of this form (a damaged database).
SegmentSounds decode_sounds(std::string_view bytes);

}  // namespace hearwood
