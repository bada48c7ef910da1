#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include <gdal_priv.h>
#include <ogrsf_frmts.h>

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
        stops += "S" + std::to_string(i) + ',' + std::to_string(x) + ',' + std::to_string(y) + (west ? ",10YR 4/3,L," : ",2.5YR 4/6,C,") +
                 (i % every == 0 ? (west ? "SND" : "MUD") : "") + '\n';
    }
    write_file(folder / "stops.csv", stops);
    write_file(folder / "survey.json", R"({"title": "Two hills", "stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"},
"legend": {"source": "legend.csv"}, "results": "results"})");
    return folder / "survey.json";
}

TEST(NoDraft, AFirstMapIsDrawnAndTold) {
    const TemporaryFolder holder(testing::TempDir());
    const fs::path survey = without_draft(holder.path(), 5);
    const Outcome run = test::subcrop(holder.path(), {"run", survey.string()});
    EXPECT_EQ(run.code, 0) << run.err;
    EXPECT_THAT(run.out, AllOf(HasSubstr("fit one unit"), HasSubstr("A first map"), HasSubstr("rock seen at 30 stops")));
    GDALAllRegister();
    const GDALDatasetUniquePtr file(GDALDataset::Open((holder.path() / "results" / "results.gpkg").c_str(), GDAL_OF_VECTOR));
    ASSERT_TRUE(file);
    EXPECT_EQ(file->GetLayerByName("relocated_units")->GetFeatureCount(), 2);
    EXPECT_GE(file->GetLayerByName("relocated_contacts")->GetFeatureCount(), 1);
    EXPECT_GE(file->GetLayerByName("contact_zones")->GetFeatureCount(), 1);
    OGRLayer& stops = *file->GetLayerByName("stop_fit");
    EXPECT_EQ(stops.GetFeatureCount(), 150);
    for (const auto& stop : stops) {
        EXPECT_FALSE(stop->IsFieldSetAndNotNull(stop->GetFieldIndex("mapped_unit")));
        EXPECT_FALSE(stop->IsFieldSetAndNotNull(stop->GetFieldIndex("p_mapped")));
        EXPECT_TRUE(stop->IsFieldSetAndNotNull(stop->GetFieldIndex("fitted_unit")));
    }
    const auto json = nlohmann::json::parse(test::subcrop(holder.path(), {"run", survey.string(), "--json", "--threads", "1"}).out);
    EXPECT_EQ(json["without_draft"], true);
    EXPECT_EQ(test::subcrop(holder.path(), {"check", survey.string()}).code, 0);
}

TEST(NoDraft, TooLittleRockAndTrialsAreRefusedWithWhatToDo) {
    const TemporaryFolder holder(testing::TempDir());
    const fs::path survey = without_draft(holder.path(), 50);
    const Outcome run = test::subcrop(holder.path(), {"run", survey.string()});
    EXPECT_EQ(run.code, 1);
    EXPECT_THAT(run.err, AllOf(HasSubstr("stops.csv, field unit_seen: there is no draft map, and rock was seen at 3 stops; a first map needs at least 10. "
                                         "Name a draft under 'map'")));
    const Outcome trial = test::subcrop(holder.path(), {"trial", survey.string()});
    EXPECT_EQ(trial.code, 1);
    EXPECT_THAT(trial.err, HasSubstr("there is no draft map to make wrong on purpose"));
}

}  // namespace
}  // namespace subcrop::cli
