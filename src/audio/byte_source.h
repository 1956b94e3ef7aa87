// The bytes of one file, read at any place, with read errors told apart from the end of the file.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <variant>

#include "audio/damage.h"

namespace hearwood {

/// A file opened for reading without touching its access time where the system lets us choose.
class ByteSource {
  public:
    static std::variant<ByteSource, Unreadable> open(const std::filesystem::path& path);

    ByteSource(ByteSource&& other) noexcept;
    ByteSource& operator=(ByteSource&& other) noexcept;
    ~ByteSource();

    std::uint64_t size() const { return size_; }

    /// Bytes read: fewer than `count` only at the end of the file or at a read error, which
    /// failure() then tells.
    std::size_t read_at(std::uint64_t offset, void* bytes, std::size_t count);

    struct Failure {
        std::uint64_t byte;  ///< where reading failed
        int error_number;
    };
    /// The first read error, if there was one.
    const std::optional<Failure>& failure() const { return failure_; }

  private:
    ByteSource(int descriptor, std::uint64_t size) : descriptor_(descriptor), size_(size) {}

    int descriptor_;
    std::uint64_t size_;
    std::optional<Failure> failure_;
};

}  // namespace hearwood
