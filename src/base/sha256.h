// SHA-256 by libcrypto, in pieces.
#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

namespace hearwood {

class Sha256 {
  public:
    Sha256();
    ~Sha256();
    Sha256(Sha256&&) noexcept;
    Sha256& operator=(Sha256&&) noexcept;

    void add(const void* bytes, std::size_t count);
    /// 64 lower-case hexadecimal digits; the object then starts anew.
    std::string finish();

  private:
    struct State;
    std::unique_ptr<State> state_;
};

std::string sha256_of(std::string_view bytes);

/// Reads the whole file in blocks. MachineError when a read fails.
std::string sha256_of_file(const std::filesystem::path& path);

}  // namespace hearwood
