// What the page that measures makes of recordings, without a browser: print_lone FILE...: the
// table, and a line of facts a file on stderr.
#include <filesystem>
#include <iostream>

#include "browser/lone_recording.h"

int main(int argc, char** argv) {
    std::cout << hearwood::lone_segments_header();
    for (int i = 1; i < argc; ++i) {
        const std::filesystem::path path = argv[i];
        hearwood::LoneRecording recording(path, path.filename().string());
        while (recording.done() < recording.segments()) recording.measure_next();
        std::cout << recording.lines();
        std::cerr << recording.facts() << '\n';
    }
}
