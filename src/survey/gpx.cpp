#include "survey/gpx.h"

#include <expat.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <string_view>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"

namespace hearwood {

namespace {

/// Without a prefix: "gpx:wpt" is "wpt".
std::string_view local_name(const char* name) {
    const std::string_view text(name);
    const std::size_t colon = text.rfind(':');
    return colon == std::string_view::npos ? text : text.substr(colon + 1);
}

class GpxReader {
  public:
    GpxReader(const std::filesystem::path& path, Gpx& gpx)
        : file_(path.string()), gpx_(gpx), parser_(XML_ParserCreate(nullptr)) {
        XML_SetUserData(parser_.get(), this);
        XML_SetElementHandler(parser_.get(), begin, end);
        XML_SetCharacterDataHandler(parser_.get(), text);
        XML_SetStartDoctypeDeclHandler(parser_.get(), doctype);
    }

    void read(const std::string& bytes) {
        const XML_Status status =
            XML_Parse(parser_.get(), bytes.data(), static_cast<int>(bytes.size()), XML_TRUE);
        if (!problem_.empty()) refuse(problem_, fix_);
        if (status != XML_STATUS_OK)
            refuse(fmt::format("broken XML: {}", XML_ErrorString(XML_GetErrorCode(parser_.get()))),
                   "export it from the receiver once more");
        if (!is_gpx_) refuse("this is no GPX file", "export waypoints as GPX 1.1");
    }

  private:
    struct Free {
        void operator()(XML_ParserStruct* parser) const { XML_ParserFree(parser); }
    };

    [[noreturn]] void refuse(std::string what, std::string fix) const {
        throw InputError({{.file = file_,
                           .line = XML_GetCurrentLineNumber(parser_.get()),
                           .what = std::move(what),
                           .fix = std::move(fix)}});
    }

    // Handlers are called through C and must not throw: they note the first problem and stop.
    void stop(std::string what, std::string fix) {
        if (problem_.empty()) {
            problem_ = std::move(what);
            fix_ = std::move(fix);
        }
        XML_StopParser(parser_.get(), XML_FALSE);
    }

    static void begin(void* self, const XML_Char* name, const XML_Char** attributes) {
        static_cast<GpxReader*>(self)->begin_element(local_name(name), attributes);
    }
    static void end(void* self, const XML_Char* name) {
        static_cast<GpxReader*>(self)->end_element(local_name(name));
    }
    static void text(void* self, const XML_Char* text, int length) {
        auto& reader = *static_cast<GpxReader*>(self);
        if (reader.collects_) reader.text_.append(text, static_cast<std::size_t>(length));
    }
    static void doctype(void* self, const XML_Char*, const XML_Char*, const XML_Char*, int) {
        static_cast<GpxReader*>(self)->stop("it declares a document type, which no GPX file needs",
                                            "take the DOCTYPE out");
    }

    void begin_element(std::string_view name, const XML_Char** attributes) {
        if (++depth_ > kGpxDepth)
            return stop(fmt::format("elements more than {} deep", kGpxDepth),
                        "export it from the receiver once more");
        if (depth_ == 1) is_gpx_ = name == "gpx";
        text_.clear();
        if (name == "trk") gpx_.tracks.emplace_back();
        if (name == "wpt" || (name == "trkpt" && !gpx_.tracks.empty()))
            begin_point(name, attributes);
        // Text of a waypoint's own elements, not of extensions further down.
        collects_ = (point_ && depth_ == point_depth_ + 1) ||
                    (!gpx_.tracks.empty() && name == "name" && depth_ == 3);
    }

    void begin_point(std::string_view name, const XML_Char** attributes) {
        if (++points_ > kGpxPoints)
            return stop(fmt::format("more than {} points", kGpxPoints),
                        "export the waypoints alone, or thin the track out");
        Waypoint point;
        bool has_latitude = false, has_longitude = false;
        for (; *attributes; attributes += 2) {
            const auto number = parse_number(attributes[1]);
            const std::string_view key = local_name(attributes[0]);
            if (key == "lat" && number && std::abs(*number) <= 90)
                point.latitude = *number, has_latitude = true;
            if (key == "lon" && number && std::abs(*number) <= 180)
                point.longitude = *number, has_longitude = true;
        }
        if (!has_latitude || !has_longitude)
            return stop("a point without coordinates in degrees (lat, lon)",
                        "export it from the receiver once more");
        auto& points = name == "wpt" ? gpx_.waypoints : gpx_.tracks.back().points;
        points.push_back(std::move(point));
        point_ = &points.back();
        point_depth_ = depth_;
    }

    void end_element(std::string_view name) {
        const std::string value = trim(text_);
        if (point_ && depth_ == point_depth_ + 1) {
            if (name == "name") point_->name = one_line_of(value);
            if (name == "ele") point_->elevation_m = parse_number(value);
            if (name == "time") point_->time = one_line_of(value);
            if (name == "cmt" || (name == "desc" && point_->notes.empty()))
                point_->notes = one_line_of(value);
        } else if (!point_ && name == "name" && depth_ == 3 && !gpx_.tracks.empty() && collects_) {
            gpx_.tracks.back().name = one_line_of(value);
        }
        if (point_ && depth_ == point_depth_) point_ = nullptr;
        collects_ = false;
        --depth_;
    }

    static std::string one_line_of(std::string text) {
        std::replace_if(
            text.begin(), text.end(), [](unsigned char c) { return c < 0x20 || c == 0x7F; }, ' ');
        return text;
    }

    std::string file_;
    Gpx& gpx_;
    std::unique_ptr<XML_ParserStruct, Free> parser_;
    std::string text_, problem_, fix_;
    Waypoint* point_ = nullptr;
    int depth_ = 0, point_depth_ = 0;
    std::size_t points_ = 0;
    bool is_gpx_ = false, collects_ = false;
};

}  // namespace

Gpx read_gpx(const std::filesystem::path& path) {
    const std::string bytes = read_whole_file(path, kGpxBytes);
    Gpx gpx;
    GpxReader(path, gpx).read(bytes);
    std::erase_if(gpx.tracks, [](const Track& track) { return track.points.empty(); });
    return gpx;
}

}  // namespace hearwood
