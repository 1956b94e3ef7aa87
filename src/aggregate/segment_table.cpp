#include "aggregate/segment_table.h"

#include "aggregate/table_descriptions.h"
#include "base/missing.h"

namespace hearwood {

SegmentTable::SegmentTable(const Survey& survey, const JudgedSegments& segments,
                           const std::filesystem::path& file, Progress& progress)
    : survey_(survey),
      zone_(segments.placer().zone()),
      progress_(progress),
      columns_(segment_columns(survey)),
      reader_(columns_, segments.stored_columns()),
      csv_(file, header_of(describe_segments(survey))) {}

void SegmentTable::segment(const JudgedSegment& segment) {
    const Deployment& deployment = survey_.deployments[segment.deployment];
    const Site& site = survey_.sites[segment.site];
    const Placement& place = segment.place;
    csv_.text(site.name);
    csv_.text(site.stand);
    csv_.text(deployment.name);
    csv_.text(segment.recording->row.path);
    csv_.integer(segment.row->channel);
    csv_.integer(segment.row->segment);
    csv_.text(format_iso(place.start, Zone()));
    csv_.text(format_iso(place.start, zone_));
    csv_.number(segment.duration_s());
    csv_.integer(segment.row->complete ? 1 : 0);
    csv_.text(place.part.window < 0
                  ? std::string()
                  : survey_.windows[static_cast<std::size_t>(place.part.window)].name);
    csv_.number(place.part.minutes_from_sunrise);
    reader_.read(segment.row->values, deployment.full_scale_db_spl.value_or(kMissing), values_);
    for (const double value : values_) csv_.number(value);
    csv_.text(segment.judgement.flags.text());
    csv_.integer(segment.judgement.kept() ? 1 : 0);
    csv_.text(segment.judgement.reasons.text());
    csv_.end_row();
    progress_.add();
}

}  // namespace hearwood
