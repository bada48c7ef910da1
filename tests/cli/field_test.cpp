// The files of `subcrop field`, looked at by other programs: xmllint, ogrinfo and PROJ's cs2cs.
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using publish::test::TemporaryFolder;
using publish::test::write_file;
using publish::test::write_survey;
using test::Outcome;
using test::text_of;
using testing::AllOf;
using testing::Each;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::StartsWith;

/// What a command prints, its errors too.
std::string printed_by(const std::string& command) {
    FILE* pipe = popen((command + " 2>&1").c_str(), "r");
    std::string text;
    std::array<char, 4096> part{};
    for (std::size_t n = 0; (n = fread(part.data(), 1, part.size(), pipe)) > 0;) text.append(part.data(), n);
    return pclose(pipe) == 0 ? text : "FAILED: " + text;
}

/// Without the breaks of lines.
std::string unwrapped(const std::string& text) { return std::regex_replace(text, std::regex("\\s+"), " "); }

std::string quoted(const fs::path& path) { return '\'' + path.string() + '\''; }

class FieldCommandTest : public testing::Test {
protected:
    FieldCommandTest() : holder(testing::TempDir()), folder(holder.path()), survey(write_survey(folder)) {
        GDALAllRegister();
    }
    Outcome subcrop(std::vector<std::string> words) const { return test::subcrop(folder, std::move(words)); }
    /// Without a PDF: the browser takes seconds.
    Outcome field(std::vector<std::string> more = {}) const {
        more.insert(more.begin(), {"field", survey.string(), "--no-pdf"});
        return subcrop(more);
    }
    fs::path file(const char* name) const { return folder / "results" / "field" / name; }

    /// Adds keys to the survey file.
    void add_to_survey(const std::string& keys) const {
        std::string text = text_of(survey);
        text.insert(1, keys + ", ");
        write_file(survey, text);
    }

    TemporaryFolder holder;
    fs::path folder, survey;
};

TEST_F(FieldCommandTest, HoldsTheNextStopsOfTheRunInDegreesThatProjConfirms) {
    ASSERT_EQ(subcrop({"run", survey.string(), "--quiet"}).code, 0);
    const Outcome trip = field();
    ASSERT_EQ(trip.code, 0) << trip.err;
    const GDALDatasetUniquePtr run(
        GDALDataset::Open((folder / "results/results.gpkg").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(run);
    std::map<int, OGRPoint> by_turn;
    for (const auto& f : *run->GetLayerByName("next_stops"))
        by_turn[f->GetFieldAsInteger("walk_order")] = *f->GetGeometryRef()->toPoint();
    ASSERT_GE(by_turn.size(), 2U);

    const GDALDatasetUniquePtr gpx(GDALDataset::Open(file("walk.gpx").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(gpx);
    OGRLayer& waypoints = *gpx->GetLayerByName("waypoints");
    ASSERT_EQ(waypoints.GetFeatureCount(), static_cast<GIntBig>(by_turn.size()));
    int turn = 0;
    std::string east_north;
    std::vector<std::pair<double, double>> written;
    for (const auto& f : waypoints) {
        ++turn;
        EXPECT_THAT(f->GetFieldAsString("name"), StartsWith((turn < 10 ? "0" : "") + std::to_string(turn) + " "));
        EXPECT_LE(std::string(f->GetFieldAsString("name")).size(), 10U);
        EXPECT_THAT(f->GetFieldAsString("desc"), HasSubstr("Look for: "));
        written.emplace_back(f->GetGeometryRef()->toPoint()->getX(), f->GetGeometryRef()->toPoint()->getY());
        std::ostringstream line;
        line.precision(12);
        line << by_turn.at(turn).getX() << ' ' << by_turn.at(turn).getY() << '\n';
        east_north += line.str();
    }
    write_file(folder / "places", east_north);
    std::istringstream proj(printed_by("cs2cs -f %.9f EPSG:32633 EPSG:4326 " + quoted(folder / "places")));
    for (const auto& [longitude, latitude] : written) {
        double its_latitude = 0, its_longitude = 0, height = 0;
        ASSERT_TRUE(proj >> its_latitude >> its_longitude >> height);
        EXPECT_NEAR(longitude, its_longitude, 1e-7);  // seven decimals are written
        EXPECT_NEAR(latitude, its_latitude, 1e-7);
    }
}

TEST_F(FieldCommandTest, FilesHoldToTheirSchemasAndOpen) {
    ASSERT_EQ(field({"--all", "--from", "S1"}).code, 0);
    const fs::path schemas = fs::path(SUBCROP_SOURCE_DIR) / "tests/cli/field";
    for (const auto& [name, schema] :
         {std::pair{"walk.gpx", "gpx_from_memory.xsd"}, std::pair{"walk.kml", "kml_from_memory.xsd"}}) {
        EXPECT_THAT(
            printed_by("xmllint --noout --nonet --schema " + quoted(schemas / schema) + ' ' + quoted(file(name))),
            HasSubstr("validates"));
    }
    const std::string gpx = printed_by("ogrinfo -ro -so -al " + quoted(file("walk.gpx")));
    EXPECT_THAT(gpx, AllOf(HasSubstr("Layer name: waypoints"), HasSubstr("Layer name: routes"),
                           HasSubstr("Layer name: tracks"), Not(HasSubstr("FAILED"))));
    const std::string kml = printed_by("ogrinfo -ro -so -al " + quoted(file("walk.kml")));
    EXPECT_THAT(kml, AllOf(HasSubstr("Layer name: Next stops"), HasSubstr("Layer name: Zones of contacts"),
                           HasSubstr("Layer name: Conflicts"), HasSubstr("WGS 84")));
    const Json geojson = Json::parse(text_of(file("walk.geojson")));
    std::map<std::string, int> kinds;
    for (const Json& feature : geojson["features"]) ++kinds[feature["properties"]["kind"]];
    EXPECT_EQ(kinds["start"], 1);
    EXPECT_EQ(kinds["walk"], 1);
    EXPECT_GE(kinds["next stop"], 2);
    EXPECT_GE(kinds["conflict"], 1);
    EXPECT_EQ(kinds["contact"], kinds["contact zone"]);
    EXPECT_FALSE(geojson.contains("crs"));  // RFC 7946 knows WGS 84 only
}

TEST_F(FieldCommandTest, ARoundBeginsAndEndsWhereSheSays) {
    // cs2cs -f %.9f EPSG:32633 EPSG:4326 of 500200 5600300: 50.554630306 15.002823295
    for (const std::string from : {"50.5546303 N 15.0028233 E", "15°0'10.1639\"E 50°33'16.6691\"N",
                                   "33U 500200 5600300", "500200 east, 5600300 north"}) {
        const Outcome trip = field({"--from", from, "--json"});
        ASSERT_EQ(trip.code, 0) << trip.err;
        const Json json = Json::parse(trip.out);
        EXPECT_NEAR(json["start"]["east"], 500200, 0.05) << from;
        EXPECT_NEAR(json["start"]["north"], 5600300, 0.05) << from;
        EXPECT_THAT(json["start_read"].get<std::string>(), StartsWith("read as "));
        double legs = 0;
        for (const Json& stop : json["stops"]) legs += stop["leg_m"].get<double>();
        EXPECT_GT(json["walk_m"].get<double>(), legs);  // and back
    }
    const GDALDatasetUniquePtr gpx(GDALDataset::Open(file("walk.gpx").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    std::vector<std::string> names;
    for (const auto& f : *gpx->GetLayerByName("route_points")) names.emplace_back(f->GetFieldAsString("name"));
    ASSERT_GE(names.size(), 3U);
    EXPECT_EQ(names.front(), "Start");
    EXPECT_EQ(names.back(), "Start");
    EXPECT_THAT(field({"--from", "S7"}).out, HasSubstr("Start and end: stop S7."));
    EXPECT_THAT(field({"--from", "500200 east, 5600300 north"}).out,
                HasSubstr("Start and end: read as 500200 east, 5600300 north in WGS 84 / UTM zone 33N."));
}

TEST_F(FieldCommandTest, AStartThatCannotBeReadIsRefused) {
    const Outcome two_ways = field({"--from", "50.55, 15.0"});
    EXPECT_EQ(two_ways.code, 1);
    EXPECT_EQ(two_ways.err,
              "subcrop: --from: '50.55, 15.0': no stop has this name, and as a place: it does not say which of the two "
              "is the latitude. Write N or S behind the latitude "
              "and E or W behind the longitude.\n");
    const Outcome far = field({"--from", "45.2 N 15 E"});
    EXPECT_EQ(far.code, 1);
    EXPECT_THAT(far.err, AllOf(HasSubstr("read as 45.2° N, 15° E, which is"),
                               HasSubstr("km from the nearest stop of the survey")));
    EXPECT_FALSE(fs::exists(file("walk.gpx")));
    EXPECT_EQ(field({"--hours", "0"}).code, 2);
}

TEST_F(FieldCommandTest, ADayHoldsSoManyStops) {
    const Json whole = Json::parse(field({"--from", "S1", "--json"}).out);
    const Json day = Json::parse(field({"--from", "S1", "--hours", "1", "--json"}).out);
    EXPECT_LE(day["walk_minutes"].get<double>() + day["stop_minutes"].get<double>(), 60);
    EXPECT_LT(day["stops"].size(), whole["stops"].size());
    EXPECT_EQ(day["stops"].size() + day["left_out"].size(), whole["stops"].size());
    for (const Json& left : day["left_out"]) EXPECT_EQ(left["reason"], "the day is too short");
    EXPECT_EQ(whole["left_out"].size(), 0U);
}

TEST_F(FieldCommandTest, SteepLandIsLeftOutUnlessATrackLeadsThere) {
    std::string heights = "ncols 240\nnrows 240\nxllcorner 499400\nyllcorner 5599400\ncellsize 10\n";
    for (int row = 0; row < 240; ++row) {
        for (int column = 0; column < 240; ++column) heights += std::to_string(column * 10) + ' ';  // 45 degrees
        heights += '\n';
    }
    write_file(folder / "hill.asc", heights);
    add_to_survey(R"("terrain": {"source": "hill.asc", "crs": "EPSG:32633"})");
    const Outcome trip = field();
    ASSERT_EQ(trip.code, 0) << trip.err;
    EXPECT_THAT(trip.out, AllOf(HasSubstr("No stop fits into this walk: "),
                                HasSubstr("the land slopes by 45 degrees, and no track leads there.")));
    add_to_survey(R"("tracks": {"source": "tracks.geojson"})");
    write_file(
        folder / "tracks.geojson",
        R"({"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::32633"}},"features":[
{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[500500,5599900],[500500,5601100]]}}]})");
    const Json on_track = Json::parse(field({"--json"}).out);
    EXPECT_GE(on_track["stops"].size(), 1U);
    EXPECT_EQ(on_track["with_terrain"], true);
}

// The start lies in a court with walls of 10 m that is open to the west, all stops lie to the east. Ways keep 2 m off
// the walls' corners.
TEST_F(FieldCommandTest, TheWalkGoesRoundNoGoAreas) {
    const auto court = [&](bool open) {
        const std::string head =
            R"({"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::32633"}},)"
            R"("features":[{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[)";
        write_file(
            folder / "court.geojson",
            head +
                (open ? "[[500180,5600260],[500240,5600260],[500240,5600340],[500180,5600340],[500180,5600330],"
                        "[500230,5600330],[500230,5600270],[500180,5600270],[500180,5600260]]"
                      : "[[500180,5600260],[500240,5600260],[500240,5600340],[500180,5600340],[500180,5600260]],"
                        "[[500190,5600270],[500190,5600330],[500230,5600330],[500230,5600270],[500190,5600270]]") +
                "]}}]}");
    };
    court(true);
    add_to_survey(R"("no_go": {"source": "court.geojson"})");
    const std::string from = "500200 east, 5600300 north";
    const Json json = Json::parse(field({"--from", from, "--json"}).out);
    ASSERT_GE(json["stops"].size(), 2U);
    double legs = 0;
    for (const Json& stop : json["stops"]) {
        ASSERT_GT(stop["east"].get<double>(), 500242);
        EXPECT_EQ(stop["leg_crosses_no_go"], false);
        legs += stop["leg_m"].get<double>();
    }
    const auto from_court = [](const Json& stop) {
        const double x = stop["east"].get<double>() - 500000, y = stop["north"].get<double>() - 5600000;
        const double out = std::hypot(22, 28) + 14;  // past the two corners at the end of a wall
        const double north = out + (y >= 342 ? std::hypot(x - 178, y - 342) : 64 + std::hypot(x - 242, y - 342));
        const double south = out + (y <= 258 ? std::hypot(x - 178, y - 258) : 64 + std::hypot(x - 242, y - 258));
        return std::min(north, south);
    };
    const Json& first = json["stops"].front();
    EXPECT_NEAR(first["leg_m"].get<double>(), from_court(first), 0.1);
    EXPECT_NEAR(first["leg_detour_m"].get<double>(),
                first["leg_m"].get<double>() -
                    std::hypot(first["east"].get<double>() - 500200, first["north"].get<double>() - 5600300),
                0.1);
    EXPECT_NEAR(json["walk_m"].get<double>() - legs, from_court(json["stops"].back()), 0.1);
    // Naismith's rule on level land: 3 miles of 1609.344 m in an hour.
    EXPECT_NEAR(json["walk_minutes"].get<double>(), json["walk_m"].get<double>() / (3 * 1609.344) * 60, 1e-6);

    // The route of the receiver is this way.
    const GDALDatasetUniquePtr gpx(GDALDataset::Open(file("walk.gpx").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    OGRSpatialReference degrees, metres;
    degrees.importFromEPSG(4326);
    metres.importFromEPSG(32633);
    for (OGRSpatialReference* reference : {&degrees, &metres})
        reference->SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    const std::unique_ptr<OGRCoordinateTransformation> transform(OGRCreateCoordinateTransformation(&degrees, &metres));
    OGRLineString route;
    std::vector<std::string> names;
    for (const auto& f : *gpx->GetLayerByName("route_points")) {
        names.emplace_back(f->GetFieldAsString("name"));
        route.addPoint(f->GetGeometryRef()->toPoint());
    }
    ASSERT_EQ(route.transform(transform.get()), OGRERR_NONE);
    EXPECT_NEAR(route.get_Length(), json["walk_m"].get<double>(), 0.5);
    EXPECT_THAT(names, AllOf(testing::Contains("01a"), testing::Contains("01b"), testing::Contains("Backa")));
    const GDALDatasetUniquePtr walls(
        GDALDataset::Open((folder / "court.geojson").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    const OGRFeatureUniquePtr wall(walls->GetLayer(0)->GetNextFeature());
    EXPECT_FALSE(wall->GetGeometryRef()->Intersects(&route));
    EXPECT_THAT(unwrapped(field({"--from", from}).out),
                AllOf(HasSubstr("The way there goes round a no-go area: "), HasSubstr("round no-go areas; real"),
                      HasSubstr("The way back goes round a no-go area: "), Not(HasSubstr("go round it"))));
    EXPECT_THAT(text_of(file("sheet.html")), HasSubstr("The way there goes round a no-go area: "));

    // Closed, it lets nobody out: the leg is straight, and the words say so.
    court(false);
    const Json shut = Json::parse(field({"--from", from, "--json"}).out);
    EXPECT_EQ(shut["stops"].front()["leg_crosses_no_go"], true);
    EXPECT_EQ(shut["stops"].front()["leg_detour_m"], 0);
    EXPECT_THAT(unwrapped(field({"--from", from}).out),
                HasSubstr("The straight way there crosses a no-go area: go round it."));
}

TEST_F(FieldCommandTest, TheSheetHasBothCoordinatesOfEachStopAndNothingOfTheNet) {
    const Json json = Json::parse(field({"--from", "S1", "--json"}).out);
    const std::string sheet = text_of(file("sheet.html"));
    ASSERT_GE(json["stops"].size(), 2U);
    for (const Json& stop : json["stops"]) {
        EXPECT_THAT(sheet, HasSubstr("<h3>" + stop["name"].get<std::string>() + "</h3>"));
        EXPECT_THAT(sheet, HasSubstr(std::to_string(std::lround(stop["east"].get<double>())) + " east, " +
                                     std::to_string(std::lround(stop["north"].get<double>())) + " north"));
        if (subcrop({"--version"}).out.find("no QR codes") == std::string::npos) {
            std::array<char, 64> place{};
            std::snprintf(place.data(), place.size(), "aria-label=\"QR code of geo:%.6f,%.6f\"",
                          stop["latitude"].get<double>(), stop["longitude"].get<double>());
            EXPECT_THAT(sheet, HasSubstr(place.data()));
        }
        EXPECT_THAT(sheet, HasSubstr("<b>Look for:</b> " + stop["look_for"].get<std::string>()));
    }
    EXPECT_THAT(sheet, AllOf(HasSubstr("1:10,000"), HasSubstr("grid north"), HasSubstr("size: A4 portrait"),
                             HasSubstr("colour_moist</th>"), HasSubstr("Caution: before digging"),
                             Not(HasSubstr("<script")), Not(HasSubstr("://")), Not(HasSubstr("src="))));
    EXPECT_EQ(field({"--paper", "letter"}).code, 0);
    EXPECT_THAT(text_of(file("sheet.html")), HasSubstr("size: letter portrait"));
    EXPECT_EQ(field({"--paper", "a3"}).code, 2);
}

TEST_F(FieldCommandTest, WordsOfTheDataAreNoMarkup) {
    std::string text = text_of(survey);
    text.replace(text.find("Two hills"), 9, "<b>Hills</b> & <script>");
    write_file(survey, text);
    write_file(folder / "legend.csv",
               "unit,name,colour\nSND,<i>Sand</i>,\"red;}</style>\"\nMUD,Red mudstone,#aa4444\n");
    ASSERT_EQ(field().code, 0);
    const std::string sheet = text_of(file("sheet.html"));
    EXPECT_THAT(sheet, AllOf(HasSubstr("&lt;b&gt;Hills&lt;/b&gt; &amp; &lt;script&gt;"), Not(HasSubstr("<script")),
                             Not(HasSubstr("<i>Sand")), Not(HasSubstr("red;}"))));
    EXPECT_THAT(printed_by("xmllint --noout " + quoted(file("walk.gpx")) + ' ' + quoted(file("walk.kml"))), IsEmpty());
}

TEST_F(FieldCommandTest, WithoutChromiumItSaysHowToPrint) {
    write_file(folder / "path", std::getenv("PATH"));
    setenv("PATH", folder.c_str(), 1);
    const Outcome trip = subcrop({"field", survey.string()});
    setenv("PATH", text_of(folder / "path").c_str(), 1);
    EXPECT_EQ(trip.code, 0);
    EXPECT_THAT(trip.out,
                HasSubstr("No sheet.pdf: Chromium is not installed; print the page from any browser, at 100 %."));
    EXPECT_TRUE(fs::exists(file("sheet.html")));
    EXPECT_FALSE(fs::exists(file("sheet.pdf")));
}

TEST_F(FieldCommandTest, NothingToWalkToIsSaidOnce) {
    write_survey(folder, {.stops = 150, .settings = R"({"next_stops": 0})"});
    const Outcome trip = field();
    EXPECT_EQ(trip.code, 0);
    EXPECT_THAT(trip.out,
                HasSubstr("There is no walk: for so many stops, or by the settings, no next stops are looked for."));
    EXPECT_TRUE(fs::exists(file("walk.gpx")));
    EXPECT_THAT(printed_by("xmllint --noout --nonet --schema " +
                           quoted(fs::path(SUBCROP_SOURCE_DIR) / "tests/cli/field/gpx_from_memory.xsd") + ' ' +
                           quoted(file("walk.gpx"))),
                HasSubstr("validates"));
}

TEST_F(FieldCommandTest, TheSameBytesEachTimeAndNoSourceIsReplaced) {
    ASSERT_EQ(field({"--threads", "1"}).code, 0);
    std::map<std::string, std::string> first;
    for (const auto& entry : fs::directory_iterator(folder / "results/field"))
        first[entry.path().filename()] = text_of(entry.path());
    EXPECT_GE(first.size(), 3U);
    ASSERT_EQ(field({"--threads", "3"}).code, 0);
    for (const auto& [name, bytes] : first) EXPECT_EQ(text_of(folder / "results/field" / name), bytes) << name;

    fs::create_directory(folder / "mine");
    fs::copy_file(folder / "map.geojson", folder / "mine/walk.geojson");
    std::string text = text_of(survey);
    text.replace(text.find("map.geojson"), 11, "mine/walk.geojson");
    write_file(survey, text);
    const Outcome refused = field({"-o", (folder / "mine").string()});
    EXPECT_EQ(refused.code, 1);
    EXPECT_THAT(refused.err, HasSubstr("walk.geojson"));
    EXPECT_EQ(text_of(folder / "mine/walk.geojson"), text_of(folder / "map.geojson"));
}

}  // namespace
}  // namespace subcrop::cli
