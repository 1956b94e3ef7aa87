// From a block of interleaved samples, of whatever type, to the analysers of its channels.
#pragma once

#include <cstddef>
#include <vector>

#include "audio/audio_file.h"
#include "index/engine/segment_analyser.h"

namespace hearwood {

/// Samples per channel that are read at once: 64 frames of 512, which stay in the second-level
/// cache.
inline constexpr std::int64_t kReadBlock = 32'768;

/// Analysers take memory by the length of a segment; recordings of more channels are read again for
/// each pair.
inline constexpr int kChannelsAtOnce = 2;

/// kChannelsAtOnce at most, but all of them where every jump means decoding from the start.
int channels_at_once(const AudioInfo& info);

/// Interleaved samples of one block, of any format.
using ReadBuffer = std::vector<std::max_align_t>;
/// Lets the buffer hold kReadBlock samples of every channel.
void make_room(ReadBuffer& buffer, const AudioInfo& info);

/// Channels from_channel .. to_channel - 1 go to analysers[0], [1] ...
void feed_samples(SampleFormat format, std::vector<SegmentAnalyser>& analysers,
                  const void* interleaved, std::size_t frames, int channels, int from_channel,
                  int to_channel);

/// The depth of the recording as SegmentAnalyser::begin() has it: 0 for floating point.
int code_bits(const AudioInfo& info);

}  // namespace hearwood
