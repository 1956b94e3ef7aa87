// Waypoints of a receiver. Elements and attributes are those of the GPX 1.1 schema (from memory of
// topografix.com/GPX/1/1/gpx.xsd); distances are degrees of a sphere of 6,371,008.8 m, by hand.
#include "survey/gpx.h"

#include <catch2/catch.hpp>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

constexpr const char* kHead =
    "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"x\" "
    "xmlns=\"http://www.topografix.com/GPX/1/1\">\n";

Gpx read(const std::string& body, const std::string& head = kHead) {
    const TemporaryFolder folder;
    folder.file("a.gpx", head + body);
    return read_gpx(folder.path() / "a.gpx");
}

/// The refusal without the temporary folder's name.
std::string refused(const std::string& body, const std::string& head = kHead) {
    try {
        read(body, head);
    } catch (const InputError& error) {
        const std::string what = error.what();
        return what.substr(what.find("a.gpx"));
    }
    return "";
}

std::string refused_sites(const std::string& body) {
    try {
        sites_from_waypoints(read(body), "nutrient_status");
    } catch (const InputError& error) {
        return error.what();
    }
    return "";
}

}  // namespace

TEST_CASE("waypoints are read with what a site needs of them") {
    const Gpx gpx = read(
        "<metadata><name>a day</name></metadata>\n"
        "<wpt lat=\"1.7421\" lon=\"113.118\"><ele>22.5</ele><time>2031-05-03T02:11:00Z</time>"
        "<name> A1 &amp; more</name><cmt>big tree,\nleft</cmt><desc>other</desc>"
        "<extensions><x><name>no</name></x></extensions></wpt>\n"
        "<wpt lat='-1' lon='-113'/>\n"
        "<trk><name>Amerak trail</name><trkseg><trkpt lat=\"1\" lon=\"113\"><name>no</name>"
        "</trkpt></trkseg><trkseg><trkpt lat=\"1.5\" lon=\"113\"/></trkseg></trk>\n</gpx>\n");
    REQUIRE(gpx.waypoints.size() == 2);
    CHECK(gpx.waypoints[0].name == "A1 & more");
    CHECK(gpx.waypoints[0].latitude == 1.7421);
    CHECK(gpx.waypoints[0].elevation_m == 22.5);
    CHECK(gpx.waypoints[0].time == "2031-05-03T02:11:00Z");
    CHECK(gpx.waypoints[0].notes == "big tree, left");
    CHECK(gpx.waypoints[1].longitude == -113);
    REQUIRE(gpx.tracks.size() == 1);
    CHECK(gpx.tracks[0].name == "Amerak trail");
    CHECK(gpx.tracks[0].points.size() == 2);
    CHECK(
        sites_from_waypoints(gpx, "nutrient_status")
            .substr(0, 200)
            .find("site,latitude,longitude,nutrient_status,elevation_m,trail,trail_m,waypoint_time,"
                  "notes\nA1 & more,1.7421,113.118,,22.5,Amerak trail,") == 0);
}

TEST_CASE("the distance along a track is that of the nearest place on it") {
    Track track{"",
                {{"", 0, 0, {}, "", ""}, {"", 0, 0.01, {}, "", ""}, {"", 0.01, 0.01, {}, "", ""}}};
    const std::vector<double> walked = walked_m(track);
    const double step = 6'371'008.8 * 3.14159265358979323846 / 180 / 100;  // 1111.95 m
    CHECK(walked[2] == Approx(2 * step).epsilon(1e-6));
    const AlongTrack aside = place_on(track, walked, 0.001, 0.005);
    CHECK(aside.along_m == Approx(step / 2).epsilon(1e-4));
    CHECK(aside.aside_m == Approx(step / 10).epsilon(1e-4));
    CHECK(place_on(track, walked, 0.005, 0.02).along_m == Approx(1.5 * step).epsilon(1e-4));
    CHECK(place_on(track, walked, -1, -1).along_m == 0);
    CHECK(place_on(track, walked, 1, 0.01).along_m == Approx(2 * step).epsilon(1e-4));
}

TEST_CASE("what is no such file is refused in one line") {
    CHECK(refused("<wpt lat=\"1\" lon=\"2\"></gpx>") ==
          "a.gpx:3: broken XML: mismatched tag; export it from the receiver once more");
    CHECK(refused("", "").find("broken XML: no element found") != std::string::npos);
    CHECK(refused("", "<kml/>") == "a.gpx:1: this is no GPX file; export waypoints as GPX 1.1");
    CHECK(refused("<wpt lat=\"91\" lon=\"2\"/></gpx>").find("a point without coordinates") !=
          std::string::npos);
    CHECK(refused("<wpt lat=\"1\"/></gpx>").find("a point without coordinates") !=
          std::string::npos);
    CHECK(refused("<wpt lat=\"1\" lon=\"2\"><name>&x;</name></wpt></gpx>",
                  "<!DOCTYPE gpx [<!ENTITY x SYSTEM \"file:///etc/hostname\">]>\n<gpx>") ==
          "a.gpx:1: it declares a document type, which no GPX file needs; take the DOCTYPE out");
    std::string deep;
    for (int i = 0; i < 100'000; ++i) deep += "<a>";
    CHECK(refused(deep).find("elements more than 32 deep") != std::string::npos);
    std::string many;
    for (int i = 0; i < 100'000; ++i) many += "<wpt lat=\"1\" lon=\"2\"/>";
    CHECK(refused(many + "</gpx>").find("more than 50000 points") != std::string::npos);
}

TEST_CASE("waypoints that are no sites are refused") {
    CHECK(refused_sites("</gpx>").starts_with("there is no waypoint in it"));
    CHECK(refused_sites("<wpt lat='1' lon='2'><name>A</name></wpt><wpt lat='1' lon='3'>"
                        "<name>A</name></wpt></gpx>")
              .starts_with("two waypoints are called 'A'"));
    CHECK(refused_sites("<wpt lat='1' lon='2'><name>A</name></wpt><wpt lat='1' lon='2'>"
                        "<name>B</name></wpt></gpx>")
              .starts_with("the waypoints 'A' and 'B' lie at one place"));
    CHECK(
        sites_from_waypoints(read("<wpt lat='1' lon='2'/></gpx>"), "f").find("\nwaypoint-1,1,2,") !=
        std::string::npos);
}

TEST_CASE("sites go round: by trail, else a short way, and back into the receiver") {
    SheetTexts texts;
    texts.sites =
        "site,latitude,longitude,nutrient_status,trail,trail_m\n"
        "S1,1.50,110.30,rich,B,900\nS2,1.51,110.31,rich,A,700\n"
        "S3,1.52,110.32,poor,B,100\nS4,1.53,110.33,poor,A,80\n";
    const Survey by_trail = texts.load();
    CHECK(round_trip(by_trail) == std::vector<std::size_t>{3, 1, 2, 0});
    const Gpx back = [&] {
        const TemporaryFolder folder;
        folder.file("sites.gpx", gpx_of_sites(by_trail, round_trip(by_trail)));
        return read_gpx(folder.path() / "sites.gpx");
    }();
    REQUIRE(back.waypoints.size() == 4);
    CHECK(back.waypoints[0].name == "S4");
    CHECK(back.waypoints[3].latitude == 1.5);
    // A square whose sheet order crosses itself.
    texts.sites =
        "site,latitude,longitude,nutrient_status\n"
        "S1,1.50,110.30,rich\nS2,1.51,110.31,rich\nS3,1.51,110.30,poor\nS4,1.50,110.31,poor\n";
    const auto round = round_trip(texts.load());
    CHECK((round == std::vector<std::size_t>{0, 2, 1, 3} ||
           round == std::vector<std::size_t>{0, 3, 1, 2}));
}

// The median longitude, the upper one of four, is 110.33: 7.99 degrees of 111.195 km at 1.52 N.
TEST_CASE("a site far from all others is a slip") {
    SheetTexts texts;
    texts.sites =
        "site,latitude,longitude,nutrient_status\n"
        "S1,1.50,110.30,rich\nS2,1.51,110.31,rich\nS3,1.52,118.32,poor\nS4,1.53,110.33,poor\n";
    CHECK(texts.problems() ==
          std::vector<std::string>{
              "sites.csv:4:2 (latitude) '1.52': warning: 888 km from the middle of the other "
              "sites; check "
              "the digits and the sign of latitude and longitude, and whether they are swapped"});
}
