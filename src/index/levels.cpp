// Levels of the raw samples: of the whole segment, and exceeded during a share of its frames (ISO
// 1996-1 sense).
#include "index/definition.h"
#include "index/rank.h"

namespace hearwood {
namespace {

/// Frame levels sorted from loud to soft, element floor(percent/100 * M) from 0.
template <int kPercent>
double exceeded(const SegmentSummary& s, const MeasureSettings&) {
    const std::size_t frames = s.frame_mean_square.size();
    const std::size_t from_soft = frames - 1 - frames * kPercent / 100;
    return level_dbfs(static_cast<double>(value_of_rank(s.frame_mean_square, from_soft)));
}

double equivalent(const SegmentSummary& s, const MeasureSettings&) {
    return level_dbfs(s.mean_square);
}

Definition exceeded_definition(const char* name, const char* share, decltype(&equivalent) value) {
    return {{name, "dBFS", Column::Kind::level,
             std::string("level exceeded during ") + share + " of the time",
             std::string("Level of the frames' raw samples exceeded during ") + share +
                 " of the frames.",
             "in the sense of ISO 1996-1", true},
            value};
}

}  // namespace

Definition leq_dbfs_definition() {
    return {{"leq_dbfs", "dBFS", Column::Kind::level, "mean level",
             "Level of the mean square of all samples of the segment, a full-scale sine at 0 dBFS.",
             "in the sense of ISO 1996-1", true},
            equivalent};
}

Definition l10_dbfs_definition() {
    return exceeded_definition("l10_dbfs", "10 %", exceeded<10>);
}
Definition l50_dbfs_definition() {
    return exceeded_definition("l50_dbfs", "50 %", exceeded<50>);
}
Definition l90_dbfs_definition() {
    return exceeded_definition("l90_dbfs", "90 %", exceeded<90>);
}

}  // namespace hearwood
