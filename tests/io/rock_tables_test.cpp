// Boreholes and attitudes as they are read, right and wrong.
#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::string survey_with(const std::string& more) {
    return std::string(R"({"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"}, )") +
           two_squares_json + more + "}";
}

void write_base(const ScratchFolder& folder) {
    folder.write("map.geojson", two_squares);
    folder.write("stops.csv", "stop,x,y,use\nS1,500100,5200100,wood\nS2,501500,5200900,field\n");
}

TEST(RockTables, BoreholesAreStopsWithDepthsAndTheRockBelow) {
    const ScratchFolder folder;
    write_base(folder);
    folder.write("holes.csv",
                 "hole,lon,lat,collar_height_m,weathered_rock_m,rock_m,end_m,unit_seen\n"
                 "B1,15.003,46.953,212.4,2.3,4.1,6,Kd\nB2,15.004,46.954,,,,3.5,\n");
    folder.write("horizons.csv", "stop,top_cm,bottom_cm,colour_moist\nS1,0,30,10YR 4/3\nB1,0,120,2.5Y 5/4\n");
    const ReadSurvey read = read_all(folder, survey_with(R"(, "horizons": {"source": "horizons.csv"},
        "boreholes": {"source": "holes.csv", "x": "lon", "y": "lat", "crs": "EPSG:4326"},
        "evidence": [{"name": "use", "kind": "category", "columns": ["use"]}])"));
    EXPECT_THAT(lines_of(read.problems), IsEmpty());
    const model::Survey& survey = read.survey;
    ASSERT_EQ(survey.stops.size(), 4u);
    ASSERT_EQ(survey.boreholes.size(), 2u);
    EXPECT_EQ(survey.borehole(1), nullptr);
    ASSERT_NE(survey.borehole(2), nullptr);
    EXPECT_EQ(survey.stops[2].id, "B1");
    EXPECT_EQ(survey.borehole(2)->weathered_rock_m, 2.3);
    EXPECT_EQ(survey.borehole(2)->rock_m, 4.1);
    EXPECT_EQ(survey.borehole(2)->collar_height_m, 212.4);
    EXPECT_EQ(survey.units[static_cast<std::size_t>(survey.stops[2].unit_seen)].code, "Kd");
    EXPECT_EQ(survey.stops[2].horizon_count, 1u);  // its log, by its name
    EXPECT_EQ(survey.borehole(3)->end_m, 3.5);
    EXPECT_EQ(survey.evidence.at(0).texts.size(), 4u);
    EXPECT_NEAR(survey.stops[2].position.x, 500228, 2);  // 0.003 degrees of longitude at 46.953 are 228.4 m
    EXPECT_EQ(survey.operations.size(), 3u);
    EXPECT_EQ(survey.source_of(2), "holes.csv");
    EXPECT_EQ(survey.source_of(0), "stops.csv");
}

TEST(RockTables, LogsMayStandInATableOfTheirOwn) {
    const ScratchFolder folder;
    write_base(folder);
    folder.write("holes.csv", "hole,x,y,rock_m,unit_seen\nB1,500200,5200200,4.1,Kd\nB2,,5200300,3,Kd\n");
    folder.write("horizons.csv", "stop,top_cm,bottom_cm,colour_moist\nS1,0,30,10YR 4/3\nB1,0,30,5Y 5/3\n");
    folder.write(
        "logs.csv",
        "bore,top_cm,bottom_cm,colour_moist,Textur\nB1,80,120,2.5Y 5/4,Q\nB1,0,80,10YR 3/3,L\nB2,0,50,10YR 3/3,L\n"
        "S1,0,50,10YR 3/3,L\n,0,50,10YR 3/3,L\n");
    const std::string holes = R"(, "boreholes": {"source": "holes.csv", "x": "x", "y": "y", "crs": "EPSG:32633"})";
    const std::string logs =
        R"(, "borehole_logs": {"source": "logs.csv", "columns": {"hole": "bore", "texture": "Textur"}})";
    ReadSurvey read = read_all(folder, survey_with(R"(, "horizons": {"source": "horizons.csv"})" + holes + logs));
    ASSERT_EQ(read.survey.stops.size(), 3u);
    ASSERT_EQ(read.survey.stops[2].horizon_count, 2u);
    EXPECT_EQ(read.survey.horizons[read.survey.stops[2].first_horizon].colour_moist.str(),
              "10YR 3/3");  // from the top down
    EXPECT_EQ(read.survey.stops[0].horizon_count, 1u);
    EXPECT_EQ(read.survey.horizon_source_of(0), "horizons.csv");
    EXPECT_EQ(read.survey.horizon_source_of(2), "logs.csv");
    EXPECT_EQ(read.survey.horizon_columns_of(2).of("texture"), "Textur");
    EXPECT_THAT(
        lines_of(read.problems),
        testing::UnorderedElementsAre(
            HasSubstr("holes.csv 3 x: the coordinate is missing"),
            HasSubstr("horizons.csv 3 stop 'B1': no stop has this id; the horizon is left out"),
            HasSubstr("logs.csv 4 bore 'B2': the horizon's borehole has no usable position; both are left out | Give "
                      "the borehole its position."),
            HasSubstr("logs.csv 5 bore 'S1': no borehole has this id; the horizon is left out"),
            HasSubstr("logs.csv 6 bore: the horizon names no borehole and is left out | Write the borehole's id.")));
    // Beside horizons that stand on the stops themselves.
    folder.write("stops.csv", "stop,x,y,colour_moist\nS1,500100,5200100,7.5YR 4/4\nS2,501500,5200900,\n");
    read = read_all(folder, survey_with(holes + logs));
    EXPECT_EQ(read.survey.stops[0].horizon_count, 1u);
    EXPECT_EQ(read.survey.stops[2].horizon_count, 2u);
    EXPECT_EQ(read.survey.horizons.size(), 3u);
    EXPECT_THAT(error_of(folder, survey_with(logs)),
                HasSubstr("field borehole_logs: there are logs, but no boreholes"));
}

TEST(RockTables, WhatContradictsItselfInALogIsLeftOut) {
    const ScratchFolder folder;
    write_base(folder);
    folder.write(
        "holes.csv",
        "hole,x,y,weathered_rock_m,rock_m,end_m,unit_seen\n"
        "S1,500200,5200200,5,3,6,Kd\nB2,500300,5200300,2,9,6,Kx\nB3,,5200300,,,,Kd\nB2,500400,5200300,-1,,,Kd\n"
        "B5,500500,5200300,,,,\n");
    const ReadSurvey read = read_all(
        folder, survey_with(R"(, "boreholes": {"source": "holes.csv", "x": "x", "y": "y", "crs": "EPSG:32633"})"));
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre(
            "error holes.csv 4 x: the coordinate is missing; the borehole is left out | Give the borehole its "
            "position.",
            "warning holes.csv 2 hole 'S1': a stop has this name; the borehole is called 'S1 (borehole)' and "
            "horizons go to the stop | Give each borehole a name that no stop has.",
            "warning holes.csv 2 weathered_rock_m '5 and 3': the weathered rock lies below the fresh rock; "
            "both depths are left out | Depths are metres below the collar: weathered rock first.",
            "warning holes.csv 3 rock_m '9 and 6': the rock lies below the end of the hole; its depth is left "
            "out | Depths are metres below the collar.",
            testing::StartsWith(
                "warning holes.csv 3 unit_seen 'Kx': no map unit has this code; the observed bedrock is left out"),
            "warning holes.csv 5 hole 'B2': another borehole has this name; this one is called 'B2 (2)' and "
            "the log goes to the first | Give each borehole a name of its own.",
            testing::StartsWith("warning holes.csv 5 weathered_rock_m '-1': the value is "),
            "note holes.csv 6 hole 'B5': nothing is written of this borehole but its place | Write the depth "
            "to rock and the unit at its bottom."));
    ASSERT_EQ(read.survey.boreholes.size(), 4u);
    EXPECT_EQ(read.survey.borehole(2)->rock_m, std::nullopt);
    EXPECT_EQ(read.survey.borehole(3)->weathered_rock_m, 2);
}

TEST(RockTables, AttitudesNeedTheirDipAndAStrikeUnlessLevel) {
    const ScratchFolder folder;
    write_base(folder);
    folder.write("dips.csv",
                 "x,y,strike,dip_deg,error_deg\n500100,5200100,35,12,3\n500200,5200100,,0,\n500300,5200100,,20,\n"
                 "500400,5200100,30,95,\n");
    const ReadSurvey read =
        read_all(folder, survey_with(R"(, "attitudes": {"source": "dips.csv", "x": "x", "y": "y", "crs": "EPSG:32633",
        "columns": {"strike_deg": "strike"}})"));
    ASSERT_EQ(read.survey.attitudes.size(), 2u);
    EXPECT_EQ(read.survey.attitudes[0].strike_deg, 35);
    EXPECT_EQ(read.survey.attitudes[0].dip_deg, 12);
    EXPECT_EQ(read.survey.attitudes[0].error_deg, 3);
    EXPECT_EQ(read.survey.attitudes[1].error_deg, 5);  // where none is stated
    EXPECT_THAT(lines_of(read.problems),
                ElementsAre(HasSubstr("dips.csv 4 strike: the strike is missing; the attitude is left out"),
                            HasSubstr("dips.csv 5 dip_deg: the dip is missing; the attitude is left out"),
                            HasSubstr("dips.csv 5 dip_deg '95'")));
    EXPECT_THAT(
        error_of(folder,
                 survey_with(R"(, "attitudes": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"})")),
        HasSubstr("strike_deg"));
}

}  // namespace
}  // namespace subcrop::io
