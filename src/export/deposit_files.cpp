#include "export/deposit_files.h"

#include <fmt/format.h>

#include <cerrno>
#include <fstream>
#include <vector>

#include "base/error.h"
#include "base/sha256.h"
#include "base/text.h"
#include "export/zip_files.h"

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

}  // namespace hearwood
