// One fuzz target a file: LLVMFuzzerTestOneInput as libFuzzer calls it. The same function is driven
// by mutate_main.cpp in the default suite, with the ordinary compiler.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace fuzz {

/// A folder of this process in memory (/dev/shm) or the temporary folder, made once.
inline const std::filesystem::path& scratch() {
    static const std::filesystem::path folder = [] {
        const std::filesystem::path shm = "/dev/shm";
        const std::filesystem::path base =
            std::filesystem::is_directory(shm) ? shm : std::filesystem::temp_directory_path();
        std::string name = (base / "hearwood-fuzz-XXXXXX").string();
        if (mkdtemp(name.data()) == nullptr) std::abort();
        return std::filesystem::path(name);
    }();
    return folder;
}

inline void put(const std::filesystem::path& path, const std::uint8_t* data, std::size_t size) {
    std::ofstream out(path, std::ios::binary | std::ios::trunc);
    out.write(reinterpret_cast<const char*>(data), static_cast<std::streamsize>(size));
}

}  // namespace fuzz
