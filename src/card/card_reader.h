// Reads the files of a card, each once from beginning to end, around places that cannot be read.
// Never writes to the card; leaves access times alone where the system allows it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "base/error.h"
#include "platform/open_file.h"

namespace hearwood {

/// What reading one file came to.
struct CardReading {
    std::uint64_t bytes = 0;             ///< handed over
    std::uint64_t unreadable = 0;        ///< of these, zeros in place of what could not be read
    std::uint64_t first_unreadable = 0;  ///< where the first of them stands
    std::string failure;  ///< why not all of the file was handed over; empty: all was, or zeros in
                          ///< its place

    bool whole() const { return unreadable == 0 && failure.empty(); }
    /// Something was there to be read, and not one byte of it came.
    bool nothing() const { return !whole() && unreadable >= bytes; }
};

/// No file of the card can be read any more.
class CardGone : public MachineError {
  public:
    using MachineError::MachineError;
};

class CardReader {
  public:
    explicit CardReader(std::filesystem::path card);

    using Sink = std::function<void(const char* bytes, std::size_t count)>;
    /// Hands over the bytes in blocks of at most kBlock. A place that cannot be read becomes zeros,
    /// so that what stands behind it keeps its place. Stops early when stop() says so. Errors:
    /// CardGone when the card itself is gone or gives nothing any more; what the sink throws.
    CardReading read(const std::string& path, std::uint64_t size, const Sink& sink);
    /// Whether this is the card's own file, under another name (a hard link) or seen through
    /// another mount. `device` and `number` as stat(2) gives them.
    bool is_own_file(const std::string& path, std::uint64_t device, std::uint64_t number) const;
    /// Whether to give up in the middle of a file (Ctrl-C).
    std::function<bool()> stop;

    static constexpr std::size_t kBlock = 1 << 20;

  private:
    CardReading read_file(const std::string& path, std::uint64_t size, const Sink& sink);
    bool still_gives() const;
    [[noreturn]] void throw_gone() const;
    bool card_is_there() const;
    OpenFile open_file(const std::string& path) const;
    bool read_around(const OpenFile& file, std::uint64_t& offset, std::uint64_t size,
                     const Sink& sink, CardReading& reading);

    std::filesystem::path card_;
    std::vector<char> block_;
    int dead_in_a_row_ = 0;  // files of which nothing came
    std::string last_read_;  // a file of which all came; empty: none yet
};

}  // namespace hearwood
