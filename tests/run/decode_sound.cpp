// decode_sound IN OUT.wav [16]: any sound that libsndfile opens as a WAV of floats, or of 16 bits,
// for the numpy reference, which reads WAV only.
#include <sndfile.h>

#include <cstdio>
#include <vector>

int main(int argc, char** argv) {
    if (argc < 3) return 2;
    SF_INFO info{};
    SNDFILE* in = sf_open(argv[1], SFM_READ, &info);
    if (!in) return std::fprintf(stderr, "%s: %s\n", argv[1], sf_strerror(nullptr)), 1;
    info.format = SF_FORMAT_WAV | (argc > 3 ? SF_FORMAT_PCM_16 : SF_FORMAT_FLOAT);
    SNDFILE* out = sf_open(argv[2], SFM_WRITE, &info);
    if (!out) return std::fprintf(stderr, "%s: %s\n", argv[2], sf_strerror(nullptr)), 1;
    sf_command(out, SFC_SET_CLIPPING, nullptr, SF_TRUE);
    std::vector<float> block(static_cast<std::size_t>(4096 * info.channels));
    sf_count_t frames;
    while ((frames = sf_readf_float(in, block.data(), 4096)) > 0)
        sf_writef_float(out, block.data(), frames);
    sf_close(in);
    return sf_close(out) == 0 ? 0 : 1;
}
