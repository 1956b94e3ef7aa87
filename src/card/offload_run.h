// The one run behind offload(): what it is made of, shared by the .cpp files that implement it.
#pragma once

#include <filesystem>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "card/card_check.h"
#include "card/closing_pass.h"
#include "card/copy_pipeline.h"
#include "card/copy_record.h"
#include "card/copy_target.h"
#include "card/file_copier.h"
#include "card/offload.h"
#include "card/proof_dates.h"
#include "measure/first_hours.h"
#include "platform/folder.h"
#include "survey/clock.h"

namespace hearwood {

class Offload {
  public:
    Offload(const Survey& survey, Store& store, const OffloadOptions& options)
        : survey_(survey),
          store_(store),
          options_(options),
          deployment_(deployment_named(survey, options.deployment)),
          card_(options.card) {}

    OffloadResult run();

  private:
    void name_targets();
    void list_card();
    void look_around_card();
    void take_settings();
    void copy(FileCopier& copier, CopyRecord& record, CopyPipeline& pipeline);
    void tell_trouble(const CopyRecord& record);
    void look_at_places();
    void withdraw_verdict();
    void note_second(CopyRecord& record);
    void take_sheets_along();
    void end(CopyRecord& record, const CopyPipeline& pipeline);
    void close(CopyRecord& record);
    void read_all_back(CopyRecord& record);
    void fix(const std::vector<SpoiltCopy>& spoilt_copies, CopyRecord& record);
    void forget_presumed();
    void list_again();
    void judge(CopyRecord& record);
    void keep_for_board(CopyRecord& record, const OffloadResult& result, bool listen);
    FirstHours hear_first_hours() const;
    std::vector<std::string> texts(const OffloadResult& result) const;
    std::vector<std::filesystem::path> text_paths() const;
    CardRecording seen(const FileOutcome& file, const RecordingRow& row,
                       const RecorderClock& clock) const;
    void find_in_copies();

    const Survey& survey_;
    Store& store_;
    const OffloadOptions& options_;
    const Deployment& deployment_;
    OffloadResult result_;
    std::vector<CopyTarget> targets_;
    std::set<std::string> card_paths_;
    Folder card_;  // held, so that another card in its place is told apart
    std::optional<std::string> earlier_verdict_;  // what OFFLOAD.txt said before this run
    const std::string began_ = ProofDates::now();
    std::mutex mutex_;  // over store_ and the targets' checksums
};

}  // namespace hearwood
