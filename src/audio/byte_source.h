// The bytes of one file, read at any place, with read errors told apart from the end of the file.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <utility>
#include <variant>

#include "audio/damage.h"
#include "platform/open_file.h"

namespace hearwood {

/// A file opened for reading without touching its access time where the system lets us choose.
class ByteSource {
  public:
    static std::variant<ByteSource, Unreadable> open(const std::filesystem::path& path);

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
    ByteSource(OpenFile file, std::uint64_t size) : file_(std::move(file)), size_(size) {}

    OpenFile file_;
    std::uint64_t size_;
    std::optional<Failure> failure_;
};

}  // namespace hearwood
