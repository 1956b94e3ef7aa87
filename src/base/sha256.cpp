#include "base/sha256.h"

#include <openssl/evp.h>

#include <vector>

#include "base/error.h"
#include "platform/open_file.h"

namespace hearwood {

struct Sha256::State {
    EVP_MD_CTX* context = EVP_MD_CTX_new();
    State() { restart(); }
    ~State() { EVP_MD_CTX_free(context); }
    State(const State&) = delete;
    State& operator=(const State&) = delete;
    void restart() {
        if (context == nullptr || EVP_DigestInit_ex(context, EVP_sha256(), nullptr) != 1)
            throw MachineError("libcrypto offers no SHA-256; reinstall the library libssl3");
    }
};

Sha256::Sha256() : state_(std::make_unique<State>()) {}
Sha256::~Sha256() = default;
Sha256::Sha256(Sha256&&) noexcept = default;
Sha256& Sha256::operator=(Sha256&&) noexcept = default;

void Sha256::add(const void* bytes, std::size_t count) {
    if (EVP_DigestUpdate(state_->context, bytes, count) != 1)
        throw MachineError("libcrypto cannot compute SHA-256; reinstall the library libssl3");
}

std::string Sha256::finish() {
    unsigned char digest[EVP_MAX_MD_SIZE];
    unsigned length = 0;
    if (EVP_DigestFinal_ex(state_->context, digest, &length) != 1)
        throw MachineError("libcrypto cannot compute SHA-256; reinstall the library libssl3");
    state_->restart();
    constexpr char kDigits[] = "0123456789abcdef";
    std::string text;
    for (unsigned i = 0; i < length; ++i) {
        text += kDigits[digest[i] >> 4];
        text += kDigits[digest[i] & 15];
    }
    return text;
}

std::string sha256_of(std::string_view bytes) {
    Sha256 hash;
    hash.add(bytes.data(), bytes.size());
    return hash.finish();
}

std::string sha256_of_file(const std::filesystem::path& path) {
    const std::string fix = "check the disk or card, then run again";
    const OpenFile file(path, OpenFor::reading);
    if (!file.is_open()) throw_machine_error(path.string(), "cannot open", file.error(), fix);
    Sha256 hash;
    std::vector<char> block(1 << 20);
    while (true) {
        const Transfer got = file.read(block.data(), block.size());
        if (got.error != 0) throw_machine_error(path.string(), "cannot read", got.error, fix);
        if (got.bytes == 0) break;
        hash.add(block.data(), got.bytes);
    }
    return hash.finish();
}

}  // namespace hearwood
