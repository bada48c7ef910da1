// What becomes of the mistakes that field books hold: every one is told, and no good row or field is lost.
#include <gmock/gmock.h>

#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::DoubleNear;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

class FieldBook : public testing::Test {
protected:
    FieldBook() { folder_.write("map.geojson", two_squares); }

    /// Stops from CSV text with columns E and N in the map's system.
    ReadSurvey read(std::string_view stops, const std::string& more = {}) {
        folder_.write("stops.csv", stops);
        return read_all(folder_, json(more));
    }
    std::string error(std::string_view stops, const std::string& more = {}) {
        folder_.write("stops.csv", stops);
        return error_of(folder_, json(more));
    }
    std::string json(const std::string& more) const {
        return R"({"stops": {"source": "stops.csv", "x": "E", "y": "N", "crs": ")" + crs_ + "\"}, " + two_squares_json +
               (more.empty() ? "" : ", " + more) + "}";
    }

    ScratchFolder folder_;
    std::string crs_ = "EPSG:32633";
};

TEST_F(FieldBook, TellsEveryCellItCannotUse) {
    const ReadSurvey read = this->read(
        "stop,E,N,slope_deg,position_sd_m,unit_seen,sand_pct,clay_pct,top_cm,bottom_cm,plants_complete\n"
        "1,500100,5200100,n/a,-3,Kx,140,\"12,5\",30,20,maybe\n"
        "2,500200,5200100,95,8,Kd,5-10,< 5,-5,20,yes\n"
        "3,500300,5200100,12 %,,Jl,trace,12 mm,20,20,\n");
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("warning stops.csv 2 plants_complete 'maybe': this is neither yes nor no | Write yes or no.",
                    "warning stops.csv 2 position_sd_m '-3': the value is outside 0 to 1000 m and is left out; the "
                    "default of 10 m is used | Correct it or leave the cell empty.",
                    "warning stops.csv 2 sand_pct '140': the value is outside 0 to 100 percent and is left out | "
                    "Correct it or leave the cell empty.",
                    "warning stops.csv 2 top_cm '30 to 20': the top lies below the bottom; both depths are left out | "
                    "Depths are centimetres below the surface, top first.",
                    "warning stops.csv 2 unit_seen 'Kx': no map unit has this code; the observed bedrock is left out | "
                    "Did you mean 'Kd'? Write a code of the legend or the map.",
                    "warning stops.csv 3 slope_deg '95': the value is outside 0 to 90 degrees and is left out | "
                    "Correct it or leave the cell empty.",
                    "warning stops.csv 3 top_cm '-5': the value is below 0 cm and is left out | Correct it or leave "
                    "the cell empty.",
                    "warning stops.csv 4 clay_pct '12 mm': this is not a number of percent | Write digits only, or "
                    "leave the cell empty.",
                    "warning stops.csv 4 sand_pct 'trace': this is not a number of percent | Write digits only, or "
                    "leave the cell empty.",
                    "warning stops.csv 4 top_cm '20 to 20': the horizon has no thickness; its depths are left out | "
                    "Depths are centimetres below the surface, top first.",
                    "note stops.csv 2 slope_deg 'n/a': this is taken for an empty cell | Nothing to do. If it means "
                    "something, write it in other words.",
                    "note stops.csv 3 clay_pct '< 5': below a limit, read as half of it: 2.5",
                    "note stops.csv 3 sand_pct '5-10': a range, read as its mean 7.5",
                    "note stops.csv 4 slope_deg '12 %': a slope in percent, read as 6.8 degrees"));
    ASSERT_THAT(read.survey.stops, SizeIs(3));
    const auto horizon = [&](std::size_t stop) { return read.survey.horizons[read.survey.stops[stop].first_horizon]; };
    EXPECT_EQ(horizon(0).clay_pct, 12.5);
    EXPECT_EQ(horizon(0).sand_pct, std::nullopt);
    EXPECT_EQ(horizon(0).top_cm, std::nullopt);
    EXPECT_EQ(horizon(1).sand_pct, 7.5);
    EXPECT_EQ(horizon(1).clay_pct, 2.5);
    EXPECT_EQ(horizon(1).bottom_cm, 20);
    EXPECT_THAT(*read.survey.stops[2].slope_deg, DoubleNear(6.8428, 1e-4));  // atan 0.12
    EXPECT_EQ(read.survey.stops[1].position_sd_m, 8);
    EXPECT_EQ(read.survey.stops[0].position_sd_m, 10);
    EXPECT_EQ(read.survey.stops[1].unit_seen, 1);
}

TEST_F(FieldBook, AnErrorOfPositionOutsideTheLimitsLeavesTheDefault) {
    const ReadSurvey read =
        this->read("stop,E,N,position_sd_m\n1,500100,5200100,1e5\n2,500200,5200100,1000\n3,500300,5200100,1e300\n");
    EXPECT_THAT(lines_of(read.problems), ElementsAre("warning stops.csv 2 position_sd_m '1e5': the value is outside 0 "
                                                     "to 1000 m and is left out; the default of 10 m is "
                                                     "used | Correct it or leave the cell empty.",
                                                     "warning stops.csv 4 position_sd_m '1e300': the value is outside "
                                                     "0 to 1000 m and is left out; the default of 10 m "
                                                     "is used | Correct it or leave the cell empty."));
    EXPECT_EQ(read.problems[0].stop, "1");
    EXPECT_EQ(read.survey.stops[0].position_sd_m, 10);
    EXPECT_FALSE(read.survey.stops[0].position_sd_stated);
    EXPECT_EQ(read.survey.stops[1].position_sd_m, 1000);
}

TEST_F(FieldBook, CountsRowsAsASpreadsheetDoes) {
    const ReadSurvey read =
        this->read("stop,E,N,slope_deg\n1,500100,5200100,x\n\n\n2,500200,5200100,y\n3,500300,5200100,z,too many\n");
    std::vector<std::int64_t> rows;
    for (const Problem& problem : read.problems) rows.push_back(problem.row.value_or(-1));
    EXPECT_THAT(rows, ElementsAre(2, 5, 6, 6)) << "headings in row 1, empty lines in rows 3 and 4";
}

TEST_F(FieldBook, KeepsTheRangeOfABoundary) {
    const ReadSurvey read = this->read("stop,E,N,top_cm,bottom_cm\n1,500100,5200100,8-12,50+\n");
    ASSERT_THAT(read.survey.horizons, SizeIs(1));
    EXPECT_EQ(read.survey.horizons[0].top_cm, 10);
    EXPECT_EQ(read.survey.horizons[0].top_spread_cm, 2);
    EXPECT_EQ(read.survey.horizons[0].bottom_cm, 50);
    EXPECT_EQ(read.survey.horizons[0].bottom_spread_cm, 0);
}

TEST_F(FieldBook, DropsOnlyStopsWithoutAUsablePlace) {
    const ReadSurvey read = this->read(
        "stop,E,N\n1,500100,5200100\n2,,5200100\n3,nan,5200100\n4,500100,inf\n5,half "
        "way,5200100\n6,\"500100,25\",5200100\n");
    ASSERT_THAT(read.survey.stops, SizeIs(2));
    EXPECT_EQ(read.survey.stops[1].id, "6");
    EXPECT_EQ(read.survey.stops[1].position.x, 500100.25);
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre(
            "error stops.csv 3 E: the coordinate is missing; the stop is left out | Give the stop its position.",
            "error stops.csv 4 E 'nan': the coordinate is not a finite number; the stop is left out | Give the stop "
            "its position.",
            "error stops.csv 5 N 'inf': the coordinate is not a finite number; the stop is left out | Give the stop "
            "its position.",
            "error stops.csv 6 E 'half way': the coordinate is not a plain number; the stop is left out | Write the "
            "coordinate in plain digits, such as 501400."));
}

TEST_F(FieldBook, CoordinatesAsPeopleWriteThemAreReadAndEchoed) {
    crs_ = "EPSG:4326";
    const ReadSurvey read = this->read(
        "stop,E,N\n1,\"15°0'14.4\"\"E\",\"46°57'21.6\"\"N\"\n2,E 15 0.24,46 57.36 N\n3,\"15,004\",46.956\n4,46.956 "
        "N,15.004 E\n5,15 61 E,46.956\n6,-15.004 W,46.956\n");
    ASSERT_THAT(read.survey.stops, SizeIs(3));
    // cs2cs -f %.3f EPSG:4326 EPSG:32633 of 46.956 15.004: 500304.352 5200274.576
    for (const model::Stop& stop : read.survey.stops) {
        EXPECT_NEAR(stop.position.x, 500304.352, 0.001) << stop.id;
        EXPECT_NEAR(stop.position.y, 5200274.576, 0.001) << stop.id;
    }
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("error stops.csv 5 E '46.956 N': the coordinate cannot be read: this is a latitude in a "
                    "column of longitudes; the stop is left out | "
                    "Exchange the columns named as 'x' and 'y', or the two values.",
                    "error stops.csv 6 E '15 61 E': the coordinate cannot be read: there are 60 minutes or "
                    "more; the stop is left out | "
                    "Write it such as 45.20575 N 3.67 E, 45°12'20.7\"N 3°40'12\"E or 45 12.345 N 3 40.2 E.",
                    "error stops.csv 7 E '-15.004 W': the coordinate cannot be read: a sign and a point of the "
                    "compass may contradict one another; the stop is left out | "
                    "Keep one of the two: -3.67 or 3.67 W.",
                    "note stops.csv 2 E '15°0'14.4\"E': read as 15.004 degrees, and 1 more of this column in the "
                    "same way",
                    "note stops.csv 2 N '46°57'21.6\"N': read as 46.956 degrees, and 1 more of this column in "
                    "the same way"));
}

TEST_F(FieldBook, OneColumnMayHoldBothCoordinates) {
    folder_.write("stops.csv",
                  "stop,place\n1,46.956 N 15.004 E\n2,33T 500304 5200275\n3,\"500304 east, 5200275 "
                  "north\"\n4,\"46.956, 15.004\"\n5,\n");
    const ReadSurvey read = read_all(
        folder_,
        std::string(R"({"stops": {"source": "stops.csv", "x": "place", "y": "place", "crs": "EPSG:32633"}, )") +
            two_squares_json + "}");
    ASSERT_THAT(read.survey.stops, SizeIs(3));
    for (const model::Stop& stop : read.survey.stops) {
        EXPECT_NEAR(stop.position.x, 500304.352, 0.5) << stop.id;
        EXPECT_NEAR(stop.position.y, 5200274.576, 0.5) << stop.id;
    }
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre(
            "error stops.csv 5 place '46.956, 15.004': the place cannot be read: it does not say which of the two is "
            "the latitude; the stop is left out | "
            "Write N or S behind the latitude and E or W behind the longitude.",
            "error stops.csv 6 place: the place is missing; the stop is left out | Give the stop its position.",
            "note stops.csv 2 place '46.956 N 15.004 E': read as 46.956° N, 15.004° E",
            "note stops.csv 3 place '33T 500304 5200275': read as UTM zone 33 north, 500304 east, 5200275 north",
            "note stops.csv 4 place '500304 east, 5200275 north': read as 500304 east, 5200275 north in WGS 84 / UTM "
            "zone 33N"));
}

TEST_F(FieldBook, DatesAreReadWhereTheyMeanOneDay) {
    const ReadSurvey read = this->read(
        "stop,E,N,date\n1,500100,5200100,12 May 2026\n2,500100,5200110,May "
        "12\n3,500100,5200120,05/12/2026\n4,500100,5200130,2026-05-12\n5,500100,5200140,13.V.2026\n");
    ASSERT_THAT(read.survey.stops, SizeIs(5));
    const auto date = [&](std::size_t i) { return read.survey.stops[i].date.str(); };
    EXPECT_EQ(date(0), "2026-05-12");
    EXPECT_EQ(date(1), "May 12");
    EXPECT_EQ(date(2), "05/12/2026");
    EXPECT_EQ(date(3), "2026-05-12");
    EXPECT_EQ(date(4), "2026-05-13");
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre(
            "note stops.csv date '12 May 2026': dates written so are read as year, month and day, here 2026-05-12"));
}

TEST_F(FieldBook, AStopFarOutsideTheMapStandsInNoTraverse) {
    const ReadSurvey read = this->read(
        "stop,E,N,traverse,seq\nD1,500100,5200100,D,1\nD2,510200,5200100,D,2\nD3,500300,5200100,D,3\nE1,510200,5200200,"
        ",\n");
    ASSERT_THAT(read.survey.stops, SizeIs(4));
    EXPECT_EQ(read.survey.stops[0].traverse.str(), "D");
    EXPECT_TRUE(read.survey.stops[1].traverse.empty());
    EXPECT_EQ(read.survey.stops[2].traverse.str(), "D");
    EXPECT_THAT(lines_of(read.problems),
                ElementsAre("warning stops.csv 3 '(510200, 5200100)': the stop lies far outside the map, which spans x "
                            "500000 to 502000, y 5200000 to 5201000; it is left out of traverse 'D' | "
                            "Correct its coordinates, or leave it if it is meant to lie there.",
                            "warning stops.csv 5 '(510200, 5200200)': the stop lies far outside the map, which spans x "
                            "500000 to 502000, y 5200000 to 5201000 | "
                            "Correct its coordinates, or leave it if it is meant to lie there."));
}

TEST_F(FieldBook, PlacesOutsideTheSystemAreToldAndTheRestKept) {
    crs_ = "EPSG:4326";
    const ReadSurvey read = this->read("stop,E,N\n1,15.004,46.956\n2,15.004,146.956\n3,15.004,46.957\n");
    EXPECT_THAT(read.survey.stops, SizeIs(2));
    EXPECT_THAT(lines_of(read.problems),
                ElementsAre("error stops.csv 3 '(15.004, 146.956)': the coordinates are not degrees, as WGS 84 has "
                            "them; the stop is left "
                            "out | Correct the stop's coordinates, or the key 'crs' of 'stops'."));
    EXPECT_EQ(error("stop,E,N\n1,500100,5200100\n"),
              "stops.csv: none of the 1 stops lies on or near the map: they span x 500100 to 500100, y 5200100 to "
              "5200100, and the map in "
              "the same system (WGS 84) x 15 to 15.026289, y 46.953526 to 46.962528. Check the key 'crs' of "
              "'stops' and of 'map'.");
}

TEST_F(FieldBook, SwappedCoordinatesAreAnError) {
    crs_ = "EPSG:4326";
    EXPECT_EQ(error("stop,N,E\n1,15.004,46.956\n2,15.014,46.957\n"),
              "stops.csv: x and y seem to be swapped: 2 of 2 stops lie on the map only when they change places. "
              "Exchange the columns "
              "named as 'x' and 'y' under 'stops': x is east or longitude.");
    crs_ = "EPSG:32633";
    EXPECT_THAT(error("stop,N,E\n1,500100,5200100\n"), HasSubstr("x and y seem to be swapped"));
}

TEST_F(FieldBook, GivesEveryStopAnIdOfItsOwn) {
    const ReadSurvey read = this->read(
        "stop,E,N\nA,500100,5200100\nA,500100,5200100\n,500100,5200100\nA (2),500100,5200100\nA,500100,5200100\n");
    std::vector<std::string> ids;
    for (const auto& stop : read.survey.stops) ids.push_back(stop.id);
    EXPECT_THAT(ids, ElementsAre("A", "A (3)", "row 4", "A (2)", "A (4)"));
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre(
            "warning stops.csv 3 stop 'A': another stop has this id; this one is called 'A (3)' and horizons go to the "
            "first | Give each stop an id of its own.",
            "warning stops.csv 4 stop: the stop has no id; it is called 'row 4' | Give each stop an id of its own.",
            "warning stops.csv 6 stop 'A': another stop has this id; this one is called 'A (4)' and horizons go to the "
            "first | Give each stop an id of its own."));
}

TEST_F(FieldBook, TakesLatin1AndSaysSo) {
    const ReadSurvey read = this->read("stop,E,N,notes\nZ\xFCrg,500100,5200100,20 \xB0 dip\n");
    EXPECT_EQ(read.survey.stops[0].id, "Z\xC3\xBCrg");
    EXPECT_EQ(read.survey.stops[0].notes.str(), "20 \xC2\xB0 dip");
    EXPECT_THAT(lines_of(read.problems), ElementsAre("note stops.csv 2 notes '20 \xC2\xB0 dip': the text is not UTF-8; "
                                                     "read as Windows-1252 (Latin-1) | Save the file as UTF-8.",
                                                     "note stops.csv 2 stop 'Z\xC3\xBCrg': the text is not UTF-8; read "
                                                     "as Windows-1252 (Latin-1) | Save the file as UTF-8."));
}

TEST_F(FieldBook, FindsColumnsWhoseNamesAreLatin1) {
    const ReadSurvey read = this->read("stop,E,N,H\xF6he\nA,500100,5200100,412\n", R"("carry": ["H\u00F6he"])");
    ASSERT_EQ(read.survey.carried.size(), 1U);
    EXPECT_EQ(read.survey.carried[0].values[0].str(), "412");
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
}

TEST_F(FieldBook, WarnsOfColumnsThatLookLikeASlip) {
    const ReadSurvey read = this->read("stop,E,N,color_moist\n1,500100,5200100,10YR 5/6\n");
    EXPECT_THAT(lines_of(read.problems),
                ElementsAre("warning stops.csv color_moist: this column is not read; the name is close to "
                            "'colour_moist' | Rename it, or add "
                            "\"colour_moist\": \"color_moist\" to stops.columns in the survey file."));
    EXPECT_THAT(read.survey.horizons, IsEmpty());
}

TEST_F(FieldBook, HangsHorizonsOnTheirStopsFromTheTopDown) {
    folder_.write("horizons.csv",
                  "stop,top_cm,bottom_cm,designation,texture\n"
                  "2,20,50,B,CL\n1,0,10,A,L\n2,0,20,A,SIL\n2,,,C,\nO1,0,10,A,L\n,0,5,A,L\n3,0,9,A,L\n1,,,,\n");
    const ReadSurvey read = this->read("stop,E,N,texture\n1,500100,5200100,L\n2,500200,5200100,L\n3,,5200100,L\n",
                                       R"("horizons": {"source": "horizons.csv"})");
    ASSERT_THAT(read.survey.stops, SizeIs(2));
    std::vector<std::string> names;
    for (const auto& horizon : read.survey.horizons) names.push_back(horizon.designation.str());
    EXPECT_THAT(names, ElementsAre("A", "A", "B", "C"));
    EXPECT_EQ(read.survey.stops[0].horizon_count, 1U);
    EXPECT_EQ(read.survey.stops[1].first_horizon, 1U);
    EXPECT_EQ(read.survey.stops[1].horizon_count, 3U);
    EXPECT_EQ(read.survey.horizons[1].row, 4);
    EXPECT_EQ(read.survey.horizon_source, "horizons.csv");
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre(
            "error horizons.csv 6 stop 'O1': no stop has this id; the horizon is left out | Did you mean '1'? Ids must "
            "be written alike in both tables.",
            "error horizons.csv 7 stop: the horizon names no stop and is left out | Write the stop's id.",
            "error horizons.csv 8 stop '3': the horizon's stop has no usable position; both are left out | Give the "
            "stop its position.",
            "error stops.csv 4 E: the coordinate is missing; the stop is left out | Give the stop its position.",
            "note horizons.csv 9 stop '1': the horizon's row is empty",
            "note stops.csv 'texture': these columns of the stops are not read, since there is a horizon table | Move "
            "what they say "
            "to the horizon table, or take 'horizons' out of the survey file."));
}

TEST_F(FieldBook, HorizonTableWithoutItsColumnsIsAnError) {
    folder_.write("horizons.csv", "site,top\n2,20\n");
    const std::string stops = "stop,E,N\n1,500100,5200100\n";
    EXPECT_EQ(error(stops, R"("horizons": {"source": "horizons.csv"})"),
              "horizons.csv: there is no column 'stop'. Say which column it is in the survey file, horizons.columns: "
              "{\"stop\": "
              "\"top\"}. Columns here: site, top.");
    EXPECT_THAT(error(stops, R"("horizons": {"source": "horizons.csv", "columns": {"stop": "site"}})"),
                HasSubstr("horizons.csv: none of the horizon columns is in it. Map yours to ours in horizons.columns. "
                          "Columns here: site, top."));
}

TEST_F(FieldBook, ReadsExtraEvidenceRowByRow) {
    const ReadSurvey read = this->read(
        "stop,E,N,Ni,Cr,use,a,b\n1,500100,5200100,10,20,wood,1,2\n2,,5200100,99,99,lost,9,9\n3,500200,5200100,0,< "
        "4,,-1,3\n",
        R"("evidence": [{"name": "xrf", "kind": "numeric", "columns": ["Ni", "cr"], "scale": "log"},
                        {"name": "use", "kind": "category", "columns": ["use"]},
                        {"name": "parts", "kind": "composition", "columns": ["a", "b"]}])");
    ASSERT_THAT(read.survey.evidence, SizeIs(3));
    EXPECT_THAT(read.survey.evidence[0].numbers, ElementsAre(10, 20, std::nullopt, 2));
    ASSERT_THAT(read.survey.evidence[1].texts, SizeIs(2));
    EXPECT_EQ(read.survey.evidence[1].texts[0].str(), "wood");
    EXPECT_TRUE(read.survey.evidence[1].texts[1].empty());
    EXPECT_THAT(read.survey.evidence[2].numbers, ElementsAre(1, 2, std::nullopt, 3));
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre(
            "error stops.csv 3 E: the coordinate is missing; the stop is left out | Give the stop its position.",
            "warning stops.csv 4 Ni '0': only values above 0 have a logarithm; this one is left out | Leave the cell "
            "empty, or "
            "write the limit of detection as '< 5'.",
            "warning stops.csv 4 a '-1': the value is below 0 and is left out | Correct it or leave the cell empty.",
            "note stops.csv 4 Cr '< 4': below a limit, read as half of it: 2"));
}

TEST_F(FieldBook, WithoutAnyStopIsAnError) {
    EXPECT_EQ(error("stop,E,N\n"), "stops.csv: there are no stops in it. Check that it is the right file and layer.");
    EXPECT_EQ(error("stop,E,N\n1,,\n"),
              "stops.csv: none of its 1 stops has a usable position. Check the columns named as 'x' and 'y', or "
              "the geometry.");
}

TEST_F(FieldBook, GeometryOfOnePointCounts) {
    folder_.write("stops.geojson", R"({"type": "FeatureCollection", "features": [
      {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.004, 46.956, 812.5]}, "properties": {"stop": "z"}},
      {"type": "Feature", "geometry": {"type": "MultiPoint", "coordinates": [[15.004, 46.956]]}, "properties": {"stop": "one"}},
      {"type": "Feature", "geometry": {"type": "MultiPoint", "coordinates": [[15.004, 46.956], [15.005, 46.956]]}, "properties": {"stop": "two"}},
      {"type": "Feature", "geometry": {"type": "LineString", "coordinates": [[15.004, 46.956], [15.005, 46.956]]}, "properties": {"stop": "line"}},
      {"type": "Feature", "geometry": null, "properties": {"stop": "none"}}]})");
    const ReadSurvey read =
        read_all(folder_, R"({"stops": {"source": "stops.geojson"}, )" + std::string(two_squares_json) + "}");
    ASSERT_THAT(read.survey.stops, SizeIs(2));
    EXPECT_EQ(read.survey.stops[0].position, read.survey.stops[1].position);
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre(
            "error stops.geojson 3: a stop is one point, and this one has 2; the stop is left out | Give the stop its "
            "position.",
            "error stops.geojson 4: a stop is a point, and this row is a line; the stop is left out | Give the stop "
            "its position.",
            "error stops.geojson 5: the stop has no position; the stop is left out | Give the stop its position."));
    EXPECT_EQ(error_of(folder_, R"({"stops": {"source": "map.geojson"}})"),
              "map.geojson: stops are points, and each row of this layer is a polygon. Name the layer of points, or "
              "the columns of coordinates "
              "with 'x' and 'y'.");
}

}  // namespace
}  // namespace subcrop::io
