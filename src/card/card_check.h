// What is looked at before anything is copied, or before the first copies get their names: the
// places, the names on the card, the space, the first contents.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "audio/start_time.h"
#include "card/copy_target.h"
#include "card/file_copier.h"
#include "card/offload.h"
#include "card/wrong_card.h"
#include "survey/clock.h"

namespace hearwood {

/// Errors: InputError when there is no such deployment; names the nearest.
const Deployment& deployment_named(const Survey& survey, const std::string& name);

/// Nothing may be written to the card, and nothing read from where it is written to. Errors:
/// InputError.
void check_places(const std::filesystem::path& card, std::span<const CopyTarget> targets);

/// Sums up what lacks a copy into result.bytes_needed. Errors: MachineError when a disk has not the
/// room for what it lacks and some reserve.
void check_space(std::span<const CopyTarget> targets, const FileCopier& copier,
                 OffloadResult& result);

/// Whether the card is the deployment's. What speaks against it is an InputError, or with `force` a
/// caution of the result.
class CardCheck {
  public:
    CardCheck(const Survey& survey, const Store& store, const Deployment& deployment,
              const OffloadOptions& options, OffloadResult& result);

    /// By the names of the files: prefix and times.
    void check_names();
    /// By the first contents: serial number, and whether another deployment has `same`. The copy
    /// still has its temporary name.
    void check_content(const CopiedFile& copied, const std::optional<RecordingRow>& same);

  private:
    void object(std::vector<std::string> misfits);

    const Survey& survey_;
    const Deployment& deployment_;
    const OffloadOptions& options_;
    OffloadResult& result_;
    StartTimeReader names_;
    RecorderClock clock_;
    KnownRecorders known_;
};

}  // namespace hearwood
