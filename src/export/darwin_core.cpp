#include "export/darwin_core.h"

#include <fmt/format.h>

#include <algorithm>

#include "aggregate/table_fields.h"
#include "base/text.h"
#include "base/version.h"
#include "export/coarse_survey.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

constexpr const char* kXml = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";

/// What XML 1.0 cannot hold, even escaped, is left out.
std::string xml(std::string_view text) {
    std::string clean;
    for (const char c : text)
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\t' || c == '\n') clean += c;
    return escape_html(clean);
}

std::string interval(const Deployment& deployment, const Zone& zone) {
    const auto iso = [&](LocalTime time) { return format_iso(zone.to_utc(time), zone); };
    if (deployment.start && deployment.end)
        return iso(*deployment.start) + "/" + iso(*deployment.end);
    if (deployment.start) return iso(*deployment.start);
    return deployment.end ? iso(*deployment.end) : "";
}

std::string date_of(std::string_view iso) {
    return std::string(iso.substr(0, 10));
}

}  // namespace

std::vector<FieldEvent> field_events(const Survey& survey, const std::vector<double>& steps,
                                     const std::vector<double>& minutes) {
    const Zone zone = Zone::named(survey.time_zone);
    std::vector<FieldEvent> events;
    for (std::size_t d = 0; d < survey.deployments.size(); ++d) {
        const Deployment& deployment = survey.deployments[d];
        const Site& site = survey.sites[deployment.site];
        FieldEvent event;
        event.id = deployment.name;
        event.date = interval(deployment, zone);
        event.location = site.name;
        event.habitat = site.stand;
        event.latitude = site.latitude;
        event.longitude = site.longitude;
        event.elevation_m = number_in(site, survey, "elevation_m");
        event.step = steps[deployment.site];
        if (event.step > 0) event.uncertainty_m = uncertainty_m(site.latitude, event.step);
        event.minutes = minutes[d];
        events.push_back(std::move(event));
    }
    return events;
}

TableOf<FieldEvent> event_table() {
    using Event = FieldEvent;
    const auto term = [](const char* name, const char* type, const char* meaning) {
        TableField field;
        field.name = field.title = name;
        field.type = type;
        field.description = meaning;
        field.rdf_type = kDarwinCore + name;
        return field;
    };
    return TableOf<Event>("event.csv", "events", "A row is a deployment, as a Darwin Core event.")
        .column(term("eventID", "string", "name of the deployment"), &Event::id)
        .column(term("eventDate", "string", "when the recorder was out: ISO 8601, an interval"),
                &Event::date)
        .column(term("samplingProtocol", "string", "how"),
                [](const Event&) { return std::string("passive acoustic recording"); })
        .column(term("sampleSizeValue", "number", "minutes recorded"), &Event::minutes)
        .column(term("sampleSizeUnit", "string", "unit of sampleSizeValue"),
                [](const Event&) { return std::string("minute"); })
        .column(term("locationID", "string", "name of the site"), &Event::location)
        .column(term("habitat", "string", "stand of the site"), &Event::habitat)
        .column(term("decimalLatitude", "number", "latitude, degrees"), &Event::latitude)
        .column(term("decimalLongitude", "number", "longitude, degrees"), &Event::longitude)
        .column(term("coordinateUncertaintyInMeters", "number",
                     "how far the place may be; of coarse coordinates"),
                &Event::uncertainty_m)
        .column(term("minimumElevationInMeters", "number", "height above sea level"),
                &Event::elevation_m)
        .column(term("dataGeneralizations", "string", "what was made coarse"),
                [](const Event& event) {
                    return event.step > 0 ? fmt::format("coordinates rounded to {} degrees",
                                                        format_number(event.step))
                                          : std::string();
                });
}

std::string archive_descriptor() {
    std::string text = std::string(kXml) +
                       "<archive xmlns=\"http://rs.tdwg.org/dwc/text/\" metadata=\"eml.xml\">\n"
                       "  <core encoding=\"UTF-8\" fieldsTerminatedBy=\",\" "
                       "linesTerminatedBy=\"\\n\" fieldsEnclosedBy=\"&quot;\" "
                       "ignoreHeaderLines=\"1\" rowType=\"" +
                       kDarwinCore +
                       "Event\">\n"
                       "    <files><location>event.csv</location></files>\n"
                       "    <id index=\"0\"/>\n";
    const TableDescription table = event_table().description();
    for (std::size_t i = 0; i < table.fields.size(); ++i)
        text += fmt::format("    <field index=\"{}\" term=\"{}\"/>\n", i, table.fields[i].rdf_type);
    return text + "  </core>\n</archive>\n";
}

std::string ecological_metadata(const Survey& survey, const std::vector<FieldEvent>& events) {
    const std::string party =
        "<organizationName>Authors of " + xml(survey.title) + "</organizationName>";
    std::string coverage;
    if (!events.empty()) {
        const auto [south, north] = std::minmax_element(
            events.begin(), events.end(),
            [](const auto& a, const auto& b) { return a.latitude < b.latitude; });
        const auto [west, east] = std::minmax_element(
            events.begin(), events.end(),
            [](const auto& a, const auto& b) { return a.longitude < b.longitude; });
        coverage += fmt::format(
            "      <geographicCoverage>\n"
            "        <geographicDescription>the sites of event.csv</geographicDescription>\n"
            "        <boundingCoordinates><westBoundingCoordinate>{}</westBoundingCoordinate>"
            "<eastBoundingCoordinate>{}</eastBoundingCoordinate>"
            "<northBoundingCoordinate>{}</northBoundingCoordinate>"
            "<southBoundingCoordinate>{}</southBoundingCoordinate></boundingCoordinates>\n"
            "      </geographicCoverage>\n",
            format_number(west->longitude), format_number(east->longitude),
            format_number(north->latitude), format_number(south->latitude));
    }
    std::string first, last;
    for (const FieldEvent& event : events) {
        if (event.date.empty()) continue;
        const std::string from = date_of(event.date);
        const std::string to = date_of(event.date.substr(event.date.find('/') + 1));
        if (first.empty() || from < first) first = from;
        if (to > last) last = to;
    }
    if (!first.empty())
        coverage += fmt::format(
            "      <temporalCoverage><rangeOfDates><beginDate><calendarDate>{}</calendarDate>"
            "</beginDate><endDate><calendarDate>{}</calendarDate></endDate></rangeOfDates>"
            "</temporalCoverage>\n",
            first, last);
    return fmt::format(
        "{}<eml:eml xmlns:eml=\"https://eml.ecoinformatics.org/eml-2.2.0\" packageId=\"{}\" "
        "system=\"hearwood\">\n"
        "  <dataset>\n    <title>{}</title>\n    <creator>{}</creator>\n"
        "    <abstract><para>Sound recordings of forest stands, and acoustic indices of every "
        "segment, worked out with Hearwood {}.</para></abstract>\n"
        "{}    <contact>{}</contact>\n  </dataset>\n</eml:eml>\n",
        kXml, xml(survey.title), xml(survey.title), party, kVersion,
        coverage.empty() ? "" : "    <coverage>\n" + coverage + "    </coverage>\n", party);
}

}  // namespace hearwood
