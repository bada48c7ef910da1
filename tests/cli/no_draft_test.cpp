#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using publish::test::TemporaryFolder;
using publish::test::write_file;
using publish::test::write_survey;
using test::Outcome;
using testing::AllOf;
using testing::HasSubstr;

/// The invented survey without its map; rock seen at every n-th stop.
fs::path without_draft(const fs::path& folder, int every) {
    write_survey(folder);
    std::string stops = "stop,x,y,colour_moist,texture,unit_seen\n";
    for (int i = 0; i < 150; ++i) {
        const double x = 500000 + (i * 37) % 1000, y = 5600000 + (i * 61) % 1000;
        const bool west = x < 500500;
        stops += "S" + std::to_string(i) + ',' + std::to_string(x) + ',' + std::to_string(y) +
                 (west ? ",10YR 4/3,L," : ",2.5YR 4/6,C,") + (i % every == 0 ? (west ? "SND" : "MUD") : "") + '\n';
    }
    write_file(folder / "stops.csv", stops);
    write_file(folder / "survey.json",
               R"({"title": "Two hills", "stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"},
"legend": {"source": "legend.csv"}, "results": "results"})");
    return folder / "survey.json";
}

// One loose block of mudstone rock among thirty stops with sandstone seen: the first map keeps its sandstone, and says
// so at the stop.
TEST(NoDraft, AFirstMapThatContradictsRockSeenSaysSoAtTheStop) {
    const TemporaryFolder holder(testing::TempDir());
    const fs::path survey = without_draft(holder.path(), 5);
    std::ofstream(holder.path() / "stops.csv", std::ios::app) << "odd,500205,5600505,10YR 4/3,L,MUD\n"
                                                              << "even,500204,5600504,10YR 4/3,L,SND\n"
                                                              << "more,500206,5600506,10YR 4/3,L,SND\n"
                                                              << "most,500206,5600504,10YR 4/3,L,SND\n";
    const Outcome run = test::subcrop(holder.path(), {"run", survey.string()});
    ASSERT_EQ(run.code, 0) << run.err;
    GDALAllRegister();
    const GDALDatasetUniquePtr file(
        GDALDataset::Open((holder.path() / "results" / "results.gpkg").c_str(), GDAL_OF_VECTOR));
    ASSERT_TRUE(file);
    OGRLayer& map = *file->GetLayerByName("revised_units");
    std::size_t against = 0;
    for (const auto& stop : *file->GetLayerByName("stop_fit")) {
        const std::string id = stop->GetFieldAsString("stop"), reason = stop->GetFieldAsString("reason");
        std::string shown;  // GEOS, through GDAL, says what the first map shows there
        for (const auto& unit : map)
            if (unit->GetGeometryRef()->Contains(stop->GetGeometryRef())) shown = unit->GetFieldAsString("unit");
        if (shown.empty()) continue;  // on the very edge
        const bool rock_says_otherwise = reason.find((shown == "SND" ? "MUD" : "SND") +
                                                     std::string(" bedrock was observed here")) != std::string::npos;
        const bool told =
            reason.find("The first map shows " + shown + " here, against the bedrock observed") != std::string::npos;
        EXPECT_EQ(told, rock_says_otherwise) << id << ": " << reason;
        against += told;
    }
    EXPECT_GE(against, 1U);
}

TEST(NoDraft, AFirstMapIsDrawnAndTold) {
    const TemporaryFolder holder(testing::TempDir());
    const fs::path survey = without_draft(holder.path(), 5);
    const Outcome run = test::subcrop(holder.path(), {"run", survey.string()});
    EXPECT_EQ(run.code, 0) << run.err;
    EXPECT_THAT(run.out, AllOf(HasSubstr("fit one unit"), HasSubstr("A first map"), HasSubstr("bedrock observed at")));
    GDALAllRegister();
    const GDALDatasetUniquePtr file(
        GDALDataset::Open((holder.path() / "results" / "results.gpkg").c_str(), GDAL_OF_VECTOR));
    ASSERT_TRUE(file);
    EXPECT_EQ(file->GetLayerByName("revised_units")->GetFeatureCount(), 2);
    EXPECT_GE(file->GetLayerByName("relocated_contacts")->GetFeatureCount(), 1);
    EXPECT_GE(file->GetLayerByName("contact_zones")->GetFeatureCount(), 1);
    OGRLayer& stops = *file->GetLayerByName("stop_fit");
    EXPECT_EQ(stops.GetFeatureCount(), 150);
    for (const auto& stop : stops) {
        EXPECT_FALSE(stop->IsFieldSetAndNotNull(stop->GetFieldIndex("mapped_unit")));
        EXPECT_FALSE(stop->IsFieldSetAndNotNull(stop->GetFieldIndex("p_mapped")));
        EXPECT_TRUE(stop->IsFieldSetAndNotNull(stop->GetFieldIndex("fitted_unit")));
    }
    const auto json =
        nlohmann::json::parse(test::subcrop(holder.path(), {"run", survey.string(), "--json", "--threads", "1"}).out);
    EXPECT_EQ(json["without_draft"], true);
    EXPECT_EQ(test::subcrop(holder.path(), {"check", survey.string()}).code, 0);
}

TEST(NoDraft, NextStopsAreSuggestedForAFirstMap) {
    const TemporaryFolder holder(testing::TempDir());
    const fs::path survey = without_draft(holder.path(), 5);
    const Outcome run = test::subcrop(holder.path(), {"run", survey.string()});
    EXPECT_EQ(run.code, 0) << run.err;
    EXPECT_THAT(run.out, AllOf(HasSubstr("Next stops, best for the first map first"),
                               HasSubstr(" on the first map, but perhaps ")));
    EXPECT_THAT(run.out, testing::Not(HasSubstr("does not show over what distance")));
    GDALAllRegister();
    const GDALDatasetUniquePtr file(
        GDALDataset::Open((holder.path() / "results" / "results.gpkg").c_str(), GDAL_OF_VECTOR));
    OGRLayer& next = *file->GetLayerByName("next_stops");
    EXPECT_GT(next.GetFeatureCount(), 0);
    for (const auto& stop : next) {
        EXPECT_GT(stop->GetFieldAsDouble("gain_ha"), 0);
        EXPECT_STRNE(stop->GetFieldAsString("unit_a"), stop->GetFieldAsString("unit_b"));
        EXPECT_FALSE(stop->IsFieldSetAndNotNull(stop->GetFieldIndex("contact")));
    }
}

TEST(NoDraft, RockAndSoilThatShowNoRangeAreToldOnScreenPageAndInTheProblems) {
    const TemporaryFolder holder(testing::TempDir());
    const fs::path survey = without_draft(holder.path(), 5);
    std::string stops = "stop,x,y,colour_moist,texture,unit_seen\n";
    for (int i = 0; i < 150; ++i) {  // dealt out without regard to place
        const bool sand = i / 5 % 2 == 0;
        stops += "S" + std::to_string(i) + ',' + std::to_string(500000 + i * 7919 % 1000) + ',' +
                 std::to_string(5600000 + i * 104729 % 1000) + (sand ? ",10YR 4/3,L," : ",2.5YR 4/6,C,") +
                 (i % 5 == 0 ? (sand ? "SND" : "MUD") : "") + '\n';
    }
    write_file(holder.path() / "stops.csv", stops);
    const Outcome run = test::subcrop(holder.path(), {"run", survey.string(), "--json"});
    EXPECT_EQ(run.code, 0) << run.err;
    const std::string words =
        "The bedrock observed at 30 stops does not show over what distance units change, and neither does the soil. "
        "Near stops are no more alike than far ones, so the first map shows little more than the stops themselves";
    const auto json = nlohmann::json::parse(run.out);
    EXPECT_EQ(json["first_map_range"], words + ".");
    EXPECT_EQ(json["problems"][0]["message"], words);
    EXPECT_EQ(json["problems"][0]["severity"], "warning");
    EXPECT_EQ(json["problems"][0]["remedy"], "Observe bedrock at more stops, some of them near one another.");
    EXPECT_TRUE(json["next_stops"].empty());
    std::ifstream page(holder.path() / "results" / "report.html");
    const std::string text{std::istreambuf_iterator<char>(page), {}};
    EXPECT_THAT(text, HasSubstr("\"caution\":\"" + words));
    EXPECT_THAT(test::subcrop(holder.path(), {"run", survey.string()}).out, HasSubstr("does not show over what"));
}

TEST(NoDraft, TooLittleRockAndTrialsAreRefusedWithWhatToDo) {
    const TemporaryFolder holder(testing::TempDir());
    const fs::path survey = without_draft(holder.path(), 50);
    const Outcome run = test::subcrop(holder.path(), {"run", survey.string()});
    EXPECT_EQ(run.code, 1);
    EXPECT_THAT(run.err, AllOf(HasSubstr("stops.csv, field unit_seen: there is no draft map, and bedrock was observed "
                                         "at 3 stops; a first map needs at least 10. "
                                         "Name a draft under 'map'")));
    const Outcome trial = test::subcrop(holder.path(), {"trial", survey.string()});
    EXPECT_EQ(trial.code, 1);
    EXPECT_THAT(trial.err, HasSubstr("there is no draft map to make wrong on purpose"));
}

}  // namespace
}  // namespace subcrop::cli
