#include "export/deposit_files.h"

#include <fmt/format.h>
#include <minizip/unzip.h>
#include <minizip/zip.h>

#include <array>
#include <cerrno>
#include <fstream>
#include <utility>
#include <vector>

#include "base/error.h"
#include "base/file.h"
#include "base/sha256.h"
#include "base/text.h"

namespace hearwood {

namespace {

namespace fs = std::filesystem;

class FolderFiles : public DepositFiles {
  public:
    explicit FolderFiles(fs::path folder) : folder_(std::move(folder)) {
        for (const auto& entry : fs::recursive_directory_iterator(folder_))
            if (entry.is_regular_file())
                sizes_[entry.path().lexically_relative(folder_).generic_string()] =
                    entry.file_size();
    }

    void read(const std::string& name,
              const std::function<void(std::string_view)>& take) const override {
        std::ifstream in(folder_ / name, std::ios::binary);
        std::vector<char> block(1 << 16);
        while (in) {
            in.read(block.data(), static_cast<std::streamsize>(block.size()));
            take({block.data(), static_cast<std::size_t>(in.gcount())});
        }
        if (!in.eof())
            throw_machine_error((folder_ / name).string(), "cannot read", errno,
                                "check the disk and run again");
    }

  private:
    fs::path folder_;
};

}  // namespace

std::string DepositFiles::whole(const std::string& name, std::uint64_t limit) const {
    if (sizes_.at(name) > limit)
        throw InputError(fmt::format("{}: {} bytes are too many for it", printable(name),
                                     grouped(sizes_.at(name))),
                         "this cannot be the file that was meant");
    std::string bytes;
    read(name, [&](std::string_view block) { bytes += block; });
    return bytes;
}

std::string DepositFiles::sha256(const std::string& name) const {
    Sha256 sum;
    read(name, [&](std::string_view block) { sum.add(block.data(), block.size()); });
    return sum.finish();
}

std::unique_ptr<DepositFiles> open_deposit(const fs::path& place) {
    std::error_code error;
    if (fs::is_directory(place, error)) return std::make_unique<FolderFiles>(place);
    return open_zip(place);
}

bool is_zip_name(const fs::path& place) {
    return to_lower_ascii(place.extension().string()) == ".zip";
}

namespace {

namespace fs = std::filesystem;

constexpr std::size_t kBlock = 1 << 16;
constexpr unsigned kUtf8Names = 1u << 11;          // bit 11 of the general purpose flags
constexpr unsigned kMadeByUnix = (3u << 8) | 45u;  // 4.5: with 64-bit sizes
constexpr unsigned kPlainFile = 0100644u << 16;
constexpr unsigned kFixedTime = (1u << 21) | (1u << 16);  // 1980-01-01, the format's first

[[noreturn]] void refuse(const fs::path& archive, const char* what) {
    throw InputError(printable(archive.native()) + ": " + what,
                     "name the folder or the .zip that 'hearwood deposit' wrote");
}

[[noreturn]] void fail(const fs::path& archive, const std::string& name, const char* what) {
    throw MachineError(fmt::format("{}: {}: {}; copy the archive anew, or write it again",
                                   printable(archive.native()), printable(name), what));
}

class ZipFiles : public DepositFiles {
  public:
    explicit ZipFiles(fs::path archive)
        : archive_(std::move(archive)), zip_(unzOpen64(archive_.c_str())) {
        std::error_code error;
        if (!zip_)
            refuse(archive_, fs::exists(archive_, error) ? "is neither a folder nor a zip archive"
                                                         : "there is no such deposit");
        for (int at = unzGoToFirstFile(zip_.get()); at == UNZ_OK;
             at = unzGoToNextFile(zip_.get())) {
            std::array<char, 4096> name{};
            unz_file_info64 info{};
            if (unzGetCurrentFileInfo64(zip_.get(), &info, name.data(), name.size() - 1, nullptr, 0,
                                        nullptr, 0) != UNZ_OK)
                refuse(archive_, "its list of files is damaged");
            const std::string file(name.data());
            if (file.empty() || file.back() == '/') continue;  // a folder
            if (!sizes_.emplace(file, info.uncompressed_size).second)
                refuse(archive_, "holds two files of one name");
            unz64_file_pos place{};
            unzGetFilePos64(zip_.get(), &place);
            places_[file] = place;
        }
    }

    void read(const std::string& name,
              const std::function<void(std::string_view)>& take) const override {
        unz64_file_pos place = places_.at(name);
        if (unzGoToFilePos64(zip_.get(), &place) != UNZ_OK ||
            unzOpenCurrentFile(zip_.get()) != UNZ_OK)
            fail(archive_, name, "cannot be opened in it");
        std::vector<char> block(kBlock);
        int got = 0;
        while ((got = unzReadCurrentFile(zip_.get(), block.data(), kBlock)) > 0)
            take({block.data(), static_cast<std::size_t>(got)});
        const bool sum_holds = unzCloseCurrentFile(zip_.get()) == UNZ_OK;
        if (got < 0 || !sum_holds) fail(archive_, name, "is damaged");
    }

  private:
    struct Close {
        void operator()(void* zip) const { unzClose(zip); }
    };
    fs::path archive_;
    std::unique_ptr<void, Close> zip_;
    std::map<std::string, unz64_file_pos> places_;
};

/// An archive that is being written.
class ZipWriter {
  public:
    explicit ZipWriter(const fs::path& archive)
        : file_(archive), zip_(zipOpen64(file_.temporary_path().c_str(), APPEND_STATUS_CREATE)) {
        if (!zip_) fail(archive, "", "cannot be written");
    }
    ~ZipWriter() {
        if (zip_) zipClose(zip_, nullptr);
    }
    ZipWriter(const ZipWriter&) = delete;
    ZipWriter& operator=(const ZipWriter&) = delete;

    void add(const fs::path& from, const std::string& name) {
        zip_fileinfo info{};
        info.dosDate = kFixedTime;
        info.external_fa = kPlainFile;
        bool good = zipOpenNewFileInZip4_64(zip_, name.c_str(), &info, nullptr, 0, nullptr, 0,
                                            nullptr, Z_DEFLATED, Z_DEFAULT_COMPRESSION, 0,
                                            -MAX_WBITS, DEF_MEM_LEVEL, Z_DEFAULT_STRATEGY, nullptr,
                                            0, kMadeByUnix, kUtf8Names, 1) == ZIP_OK;
        std::ifstream in(from, std::ios::binary);
        std::vector<char> block(kBlock);
        while (good && in) {
            in.read(block.data(), kBlock);
            good = zipWriteInFileInZip(zip_, block.data(), static_cast<unsigned>(in.gcount())) ==
                   ZIP_OK;
        }
        if (!in.eof()) fail(from, name, "cannot be read");
        if (!good || zipCloseFileInZip(zip_) != ZIP_OK)
            fail(file_.temporary_path(), name, "cannot be written");
    }

    void commit() {
        if (zipClose(std::exchange(zip_, nullptr), nullptr) != ZIP_OK)
            fail(file_.temporary_path(), "", "cannot be written to its end");
        file_.commit();
    }

  private:
    AtomicFile file_;
    zipFile zip_;
};

}  // namespace

std::unique_ptr<DepositFiles> open_zip(const fs::path& archive) {
    return std::make_unique<ZipFiles>(archive);
}

void write_zip(const fs::path& folder, const fs::path& archive) {
    const auto files = open_deposit(folder);
    ZipWriter zip(archive);
    for (const auto& [name, size] : files->sizes()) zip.add(folder / name, name);
    zip.commit();
}

}  // namespace hearwood
