// dump_audio FILE: the facts of a recording and its samples (raw, native) in hexadecimal, for
// formats_check.py.
#include <cstdio>
#include <vector>

#include "audio/audio_file.h"

int main(int argc, char** argv) {
    using namespace hearwood;
    if (argc < 2) return 2;
    auto opened = open_audio(argv[1]);
    if (const auto* bad = std::get_if<Unreadable>(&opened)) {
        std::printf("unreadable %s\n", bad->reason.c_str());
        return 1;
    }
    AudioFile& file = std::get<AudioFile>(opened);
    const AudioInfo& info = file.info();
    std::printf("%s %d %d %d %d %llu %zu\n", info.container.c_str(), info.sample_rate,
                info.channels, info.bits, static_cast<int>(info.format),
                static_cast<unsigned long long>(info.frames), file.damages().size());
    std::vector<unsigned char> samples(info.frames * info.frame_bytes());
    if (file.read(0, samples.data(), info.frames) != info.frames) return 1;
    for (const unsigned char byte : samples) std::printf("%02x", byte);
    std::printf("\n");
}
