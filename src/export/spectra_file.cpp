#include "export/spectra_file.h"

#include <fmt/core.h>
#include <fmt/format.h>

#include <cmath>
#include <map>
#include <string>
#include <string_view>
#include <utility>

#include "base/error.h"
#include "base/file.h"
#include "base/missing.h"
#include "base/progress.h"
#include "base/version.h"
#include "export/netcdf_late.h"

namespace hearwood {
namespace {

constexpr std::size_t kBlockRows = 256;
constexpr short kZeroPower = -32768;  // as in the store: hundredths of a decibel

struct Variables {
    int time = 0, duration = 0, site = 0, channel = 0, kept = 0, recording = 0, power = 0,
        standout = 0;
};

}  // namespace

struct SpectraFile::State {
    AtomicFile target;
    int file = -1;
    std::size_t bins;
    Variables variables;
    std::vector<SpectraRow> block;
    std::uint64_t written = 0;

    State(const std::filesystem::path& path, std::size_t bin_count)
        : target(path), bins(bin_count) {}
    ~State() {
        if (file >= 0) nc_close(file);
    }

    void check(int status) const {
        if (status != NC_NOERR)
            throw MachineError(fmt::format("{}: cannot write NetCDF: {}; free space and run again",
                                           target.temporary_path().string(), nc_strerror(status)));
    }

    void text(int variable, const char* name, std::string_view value) const {
        check(nc_put_att_text(file, variable, name, value.size(), value.data()));
    }

    int dimension(const char* name, std::size_t length) const {
        int id = 0;
        check(nc_def_dim(file, name, length, &id));
        return id;
    }

    int variable(const char* name, nc_type type, std::initializer_list<int> dimensions,
                 std::string_view long_name, std::string_view units) const {
        int id = 0;
        check(nc_def_var(file, name, type, static_cast<int>(dimensions.size()), dimensions.begin(),
                         &id));
        text(id, "long_name", long_name);
        if (!units.empty()) text(id, "units", units);
        return id;
    }

    void compress(int id, std::initializer_list<std::size_t> chunks) const {
        check(nc_def_var_chunking(file, id, NC_CHUNKED, chunks.begin()));
        check(nc_def_var_deflate(file, id, 1, 1, 4));
    }

    void define(const Survey& survey, const SpectraHeader& header);
    void define_rows(int segment, int bin);
    void put_axes(const Survey& survey, const SpectraHeader& header) const;
    void put_names(int id, const std::vector<std::string>& names) const;
    void flush();
    int site_names = 0, site_stands = 0, latitude = 0, longitude = 0, frequency = 0;
};

void SpectraFile::State::define(const Survey& survey, const SpectraHeader& header) {
    text(NC_GLOBAL, "Conventions", "CF-1.8");
    text(NC_GLOBAL, "featureType", "timeSeries");
    text(NC_GLOBAL, "title", "Spectra of '" + survey.title + "'");
    text(NC_GLOBAL, "source", std::string("hearwood ") + kVersion);
    // No time stamp: the same survey gives the same file.
    text(NC_GLOBAL, "history", std::string("written by hearwood spectra, version ") + kVersion);
    text(NC_GLOBAL, "settings", header.settings_json);
    text(NC_GLOBAL, "settings_sha256", header.settings_sha256);
    text(NC_GLOBAL, "time_zone_of_the_survey", survey.time_zone);
    text(NC_GLOBAL, "comment",
         "One series a site; a row is one channel of one segment. Levels are re full scale: a "
         "full-scale sine has a mean square of 0.5.");

    const int site = dimension("site", survey.sites.size());
    const int segment = dimension("segment", NC_UNLIMITED);
    const int bin = dimension("frequency", bins);

    site_names = variable("site_name", NC_STRING, {site}, "recording site", "");
    text(site_names, "cf_role", "timeseries_id");
    site_stands =
        variable("stand", NC_STRING, {site}, "stand class (" + survey.stands.factor + ")", "");
    latitude = variable("latitude", NC_DOUBLE, {site}, "latitude of the site", "degrees_north");
    text(latitude, "standard_name", "latitude");
    longitude = variable("longitude", NC_DOUBLE, {site}, "longitude of the site", "degrees_east");
    text(longitude, "standard_name", "longitude");
    frequency = variable("frequency", NC_DOUBLE, {bin}, "centre frequency of the bin", "Hz");
    text(frequency, "standard_name", "sound_frequency");
    define_rows(segment, bin);
}

void SpectraFile::State::define_rows(int segment, int bin) {
    Variables& v = variables;
    v.time = variable("time", NC_DOUBLE, {segment}, "start of the segment, true time",
                      "seconds since 1970-01-01T00:00:00Z");
    text(v.time, "standard_name", "time");
    text(v.time, "calendar", "standard");
    v.duration = variable("duration", NC_DOUBLE, {segment}, "length of the segment", "s");
    v.site = variable("site_index", NC_INT, {segment}, "which site the segment belongs to", "");
    text(v.site, "instance_dimension", "site");
    v.channel = variable("channel", NC_SHORT, {segment}, "channel of the recording, from 0", "1");
    v.kept = variable("kept", NC_BYTE, {segment}, "whether the screens kept the segment", "1");
    const signed char flags[] = {0, 1};
    check(nc_put_att_schar(file, v.kept, "flag_values", NC_BYTE, 2, flags));
    text(v.kept, "flag_meanings", "excluded kept");
    v.recording = variable("recording", NC_STRING, {segment},
                           "recording, as a path from the survey's folder", "");
    v.power = variable("power_spectral_density", NC_SHORT, {segment, bin},
                       "mean power spectral density of the segment, 10 log10 of full scale "
                       "squared per hertz",
                       "dB");
    const double scale = 0.01;
    check(nc_put_att_double(file, v.power, "scale_factor", NC_DOUBLE, 1, &scale));
    check(nc_def_var_fill(file, v.power, NC_FILL, &kZeroPower));
    text(v.power, "comment", "missing where the power is zero (digital silence)");
    v.standout =
        variable("standout", NC_FLOAT, {segment, bin},
                 "share of the segment's frames that stand out of the bin's own background", "1");
    const float none = NC_FILL_FLOAT;
    check(nc_def_var_fill(file, v.standout, NC_FILL, &none));
    text(v.standout, "comment", "missing where the bin has no background");
    for (const int id : {v.power, v.standout}) {
        text(id, "coordinates", "time latitude longitude site_name");
        compress(id, {kBlockRows, bins});
    }
    for (const int id : {v.time, v.duration, v.site, v.channel, v.kept}) compress(id, {4096});
}

void SpectraFile::State::put_names(int id, const std::vector<std::string>& names) const {
    for (std::size_t i = 0; i < names.size(); ++i) {
        const char* name = names[i].c_str();
        check(nc_put_var1_string(file, id, &i, &name));
    }
}

void SpectraFile::State::put_axes(const Survey& survey, const SpectraHeader& header) const {
    std::vector<std::string> names, stands;
    std::vector<double> latitudes, longitudes, frequencies;
    for (const Site& site : survey.sites) {
        names.push_back(site.name);
        stands.push_back(site.stand);
        latitudes.push_back(site.latitude);
        longitudes.push_back(site.longitude);
    }
    for (std::size_t k = 0; k < bins; ++k)
        frequencies.push_back(static_cast<double>(k) * header.sample_rate / header.frame);
    put_names(site_names, names);
    put_names(site_stands, stands);
    check(nc_put_var_double(file, latitude, latitudes.data()));
    check(nc_put_var_double(file, longitude, longitudes.data()));
    check(nc_put_var_double(file, frequency, frequencies.data()));
}

void SpectraFile::State::flush() {
    if (block.empty()) return;
    const std::size_t count = block.size();
    std::vector<double> times, durations;
    std::vector<int> sites;
    std::vector<short> channels, power;
    std::vector<signed char> kept;
    std::vector<const char*> recordings;
    std::vector<float> standout;
    for (const SpectraRow& row : block) {
        times.push_back(row.time_s);
        durations.push_back(row.duration_s);
        sites.push_back(static_cast<int>(row.site));
        channels.push_back(static_cast<short>(row.channel));
        kept.push_back(row.kept ? 1 : 0);
        recordings.push_back(row.recording.c_str());
        for (const float db : row.spectrum.power_db)
            power.push_back(std::isfinite(db) ? static_cast<short>(std::lround(100 * db))
                                              : kZeroPower);
        for (const float share : row.spectrum.standout)
            standout.push_back(is_missing(share) ? NC_FILL_FLOAT : share);
    }
    const std::size_t start[] = {static_cast<std::size_t>(written), 0}, extent[] = {count, bins};
    const Variables& v = variables;
    check(nc_put_vara_double(file, v.time, start, extent, times.data()));
    check(nc_put_vara_double(file, v.duration, start, extent, durations.data()));
    check(nc_put_vara_int(file, v.site, start, extent, sites.data()));
    check(nc_put_vara_short(file, v.channel, start, extent, channels.data()));
    check(nc_put_vara_schar(file, v.kept, start, extent, kept.data()));
    check(nc_put_vara_string(file, v.recording, start, extent, recordings.data()));
    check(nc_put_vara_short(file, v.power, start, extent, power.data()));
    check(nc_put_vara_float(file, v.standout, start, extent, standout.data()));
    written += count;
    block.clear();
}

SpectraFile::SpectraFile(const std::filesystem::path& path, const Survey& survey,
                         const SpectraHeader& header)
    : state_(std::make_unique<State>(path, static_cast<std::size_t>(header.frame / 2 + 1))) {
    State& s = *state_;
    s.check(nc_create(s.target.temporary_path().c_str(), NC_NETCDF4 | NC_CLOBBER, &s.file));
    s.define(survey, header);
    s.check(nc_enddef(s.file));
    s.put_axes(survey, header);
}

SpectraFile::~SpectraFile() = default;
SpectraFile::SpectraFile(SpectraFile&&) noexcept = default;

void SpectraFile::add(SpectraRow row) {
    if (row.spectrum.power_db.size() != state_->bins) return;
    state_->block.push_back(std::move(row));
    if (state_->block.size() == kBlockRows) state_->flush();
}

void SpectraFile::finish() {
    state_->flush();
    const int file = std::exchange(state_->file, -1);
    state_->check(nc_close(file));
    state_->target.commit();
}

std::uint64_t SpectraFile::rows() const {
    return state_->written + state_->block.size();
}

namespace {

/// Sends each segment's spectrum to the file of its sample rate. Bins of another rate lie at other
/// frequencies, so every rate has a file of its own.
class SpectraWriter : public SegmentVisitor {
  public:
    SpectraWriter(const Survey& survey, const Store& store, std::filesystem::path out,
                  Progress& progress)
        : survey_(survey), store_(store), out_(std::move(out)), progress_(progress) {}

    void begin_recording(const KnownRecording&) override { rows_.clear(); }

    void segment(const JudgedSegment& segment) override {
        progress_.add();
        SpectraRow row;
        row.site = segment.site;
        row.time_s = std::chrono::duration<double>(segment.place.start.time_since_epoch()).count();
        row.duration_s = segment.duration_s();
        row.channel = segment.row->channel;
        row.kept = segment.judgement.kept();
        row.recording = segment.recording->row.path;
        rows_.emplace(std::pair(segment.row->channel, segment.row->segment), std::move(row));
    }

    void end_recording(const KnownRecording& recording) override {
        if (rows_.empty()) return;
        SpectraFile& file = file_for(recording.measured_rate);
        store_.for_each_spectrum_of(recording.row.id,
                                    [&](int channel, int segment, std::string_view bytes) {
                                        const auto found = rows_.find({channel, segment});
                                        if (found == rows_.end()) return;
                                        found->second.spectrum = decode_kept_spectrum(bytes);
                                        file.add(std::move(found->second));
                                        rows_.erase(found);
                                    });
    }

    std::vector<SpectraWritten> finish() {
        std::vector<SpectraWritten> written;
        for (auto& [rate, file] : files_) {
            written.push_back({path_for(rate), file.rows(), rate});
            file.finish();
        }
        return written;
    }

  private:
    std::filesystem::path path_for(int rate) const {
        if (rate == first_rate_) return out_;
        std::filesystem::path path = out_;
        path.replace_extension(fmt::format("{}hz{}", rate, out_.extension().string()));
        return path;
    }

    SpectraFile& file_for(int rate) {
        if (first_rate_ == 0) first_rate_ = rate;
        const auto found = files_.find(rate);
        if (found != files_.end()) return found->second;
        SpectraHeader header;
        header.sample_rate = rate;
        header.frame = survey_.measure.frame;
        if (const auto settings = store_.settings()) {
            header.settings_json = settings->json;
            header.settings_sha256 = settings->hash;
        }
        return files_.try_emplace(rate, path_for(rate), survey_, header).first->second;
    }

    const Survey& survey_;
    const Store& store_;
    std::filesystem::path out_;
    Progress& progress_;
    int first_rate_ = 0;
    std::map<int, SpectraFile> files_;
    std::map<std::pair<int, int>, SpectraRow> rows_;  ///< of the recording under way
};

}  // namespace

std::vector<SpectraWritten> write_spectra(const Survey& survey, const Store& store,
                                          const JudgedSegments& segments,
                                          const std::filesystem::path& out, Progress& progress) {
    if (out.has_parent_path()) make_folder(out.parent_path());
    SpectraWriter writer(survey, store, out, progress);
    SegmentVisitor* const visitors[] = {&writer};
    segments.visit(visitors);
    std::vector<SpectraWritten> written = writer.finish();
    if (written.empty())
        throw InputError("no spectra are kept in this survey", "run 'hearwood measure' on it");
    return written;
}

}  // namespace hearwood
