// `subcrop new`: what it writes can be filled in with any program that edits GeoPackages, or with a spreadsheet, and is
// then checked and run as it stands.
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using test::Outcome;
using test::text_of;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

class NewCommandTest : public testing::Test {
protected:
    NewCommandTest() : holder(testing::TempDir()), folder(holder.path() / "hesk") { GDALAllRegister(); }

    Outcome subcrop(std::vector<std::string> words) const { return test::subcrop(holder.path(), std::move(words)); }
    std::string survey() const { return (folder / "survey.json").string(); }

    publish::test::TemporaryFolder holder;
    fs::path folder;
};

GDALDatasetUniquePtr edit(const fs::path& file) {
    return GDALDatasetUniquePtr(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_UPDATE));
}

/// Codes a form offers for a column.
std::vector<std::string> offered(GDALDataset& file, const char* layer, const char* column) {
    OGRFeatureDefn& definition = *file.GetLayerByName(layer)->GetLayerDefn();
    const OGRFieldDomain* domain =
        file.GetFieldDomain(definition.GetFieldDefn(definition.GetFieldIndex(column))->GetDomainName());
    std::vector<std::string> codes;
    if (domain == nullptr || domain->GetDomainType() != OFDT_CODED) return codes;
    for (auto code = static_cast<const OGRCodedFieldDomain*>(domain)->GetEnumeration(); code->pszCode != nullptr;
         ++code)
        codes.emplace_back(code->pszCode);
    return codes;
}

void add_unit(OGRLayer& layer, const char* unit, double west, double east) {
    const OGRFeatureUniquePtr feature(OGRFeature::CreateFeature(layer.GetLayerDefn()));
    feature->SetField("unit", unit);
    OGRLinearRing ring;
    for (const auto& [x, y] : {std::pair{west, 56.23}, {east, 56.23}, {east, 56.25}, {west, 56.25}, {west, 56.23}})
        ring.addPoint(x, y);
    OGRPolygon polygon;
    polygon.addRing(&ring);
    OGRMultiPolygon both;
    both.addGeometry(&polygon);
    feature->SetGeometry(&both);
    ASSERT_EQ(layer.CreateFeature(feature.get()), OGRERR_NONE);
}

/// Two units side by side along 3.02 degrees east.
void draw_map(const fs::path& file) {
    const GDALDatasetUniquePtr map = edit(file);
    ASSERT_TRUE(map);
    add_unit(*map->GetLayerByName("units"), "Os", 3.0, 3.02);
    add_unit(*map->GetLayerByName("units"), "Kb", 3.02, 3.04);
}

TEST_F(NewCommandTest, WhatItWritesIsCheckedAndRunAtOnceOnceFilledIn) {
    const Outcome made = subcrop({"new", folder.string(), "--title", "Hesk valley"});
    ASSERT_EQ(made.code, 0) << made.err;
    EXPECT_THAT(made.out, AllOf(HasSubstr("field_book.gpkg"), HasSubstr("The next three steps"),
                                HasSubstr("subcrop check " + survey()), HasSubstr("subcrop run " + survey())));

    const Outcome empty = subcrop({"check", survey()});
    EXPECT_EQ(empty.code, 3);
    EXPECT_THAT(empty.out, AllOf(HasSubstr("Hesk valley: nothing to judge yet"), HasSubstr("Still to be filled in"),
                                 HasSubstr("there are no stops in it"), HasSubstr("there are no polygons in it"),
                                 HasSubstr("there are no horizons in it"),
                                 HasSubstr("there is no unit in it. It may stay empty")));
    EXPECT_EQ(subcrop({"run", survey()}).code, 1);

    draw_map(folder / "draft_map.gpkg");
    {
        const GDALDatasetUniquePtr book = edit(folder / "field_book.gpkg");
        ASSERT_TRUE(book);
        OGRLayer& stops = *book->GetLayerByName("stops");
        OGRLayer& horizons = *book->GetLayerByName("horizons");
        // Each code of each pick list stands on one stop or more: none may be a problem to the readers.
        const auto landforms = offered(*book, "stops", "landform"), textures = offered(*book, "horizons", "texture"),
                   shapes = offered(*book, "horizons", "fragment_shape"),
                   reactions = offered(*book, "horizons", "effervescence"), redox = offered(*book, "horizons", "redox");
        for (const auto* list : {&landforms, &textures, &shapes, &reactions, &redox}) ASSERT_GE(list->size(), 5U);
        for (std::size_t i = 0; i < landforms.size(); ++i) {
            const std::string name = "S" + std::to_string(i + 1);
            const OGRFeatureUniquePtr stop(OGRFeature::CreateFeature(stops.GetLayerDefn()));
            const bool west = i % 2 == 0;
            stop->SetField("stop", name.c_str());
            stop->SetField("date", 2026, 5, 3);
            stop->SetField("position_sd_m", 5.0);
            stop->SetField("landform", landforms[i].c_str());
            stop->SetField("plants", west ? "heather" : "ash; ivy");
            stop->SetField("plants_complete", 1);
            OGRPoint place((west ? 3.002 : 3.022) + 0.0004 * static_cast<double>(i),
                           56.231 + 0.0005 * static_cast<double>(i));
            stop->SetGeometry(&place);
            ASSERT_EQ(stops.CreateFeature(stop.get()), OGRERR_NONE);
            const OGRFeatureUniquePtr horizon(OGRFeature::CreateFeature(horizons.GetLayerDefn()));
            horizon->SetField("stop", name.c_str());
            horizon->SetField("top_cm", 0);
            horizon->SetField("bottom_cm", 25);
            horizon->SetField("designation", west ? "A" : "Ap");
            horizon->SetField("colour_moist", west ? "10YR 4/3" : "5YR 4/4");
            horizon->SetField("texture", textures[i % textures.size()].c_str());
            horizon->SetField("fragment_shape", shapes[i % shapes.size()].c_str());
            horizon->SetField("effervescence", reactions[i % reactions.size()].c_str());
            horizon->SetField("redox", redox[i % redox.size()].c_str());
            ASSERT_EQ(horizons.CreateFeature(horizon.get()), OGRERR_NONE);
        }
        // Holes and attitudes may stay empty, and are read once there are any.
        EXPECT_EQ(offered(*book, "borehole_logs", "texture"), textures);
        OGRLayer& holes = *book->GetLayerByName("boreholes");
        const OGRFeatureUniquePtr hole(OGRFeature::CreateFeature(holes.GetLayerDefn()));
        hole->SetField("hole", "B7");
        hole->SetField("position_sd_m", 3.0);
        hole->SetField("weathered_rock_m", 2.3);
        hole->SetField("rock_m", 4.1);
        hole->SetField("end_m", 6.0);
        hole->SetField("unit_seen", "Os");
        OGRPoint collar(3.011, 56.24);
        hole->SetGeometry(&collar);
        ASSERT_EQ(holes.CreateFeature(hole.get()), OGRERR_NONE);
        OGRLayer& logs = *book->GetLayerByName("borehole_logs");
        const OGRFeatureUniquePtr log(OGRFeature::CreateFeature(logs.GetLayerDefn()));
        log->SetField("hole", "B7");
        log->SetField("top_cm", 0);
        log->SetField("bottom_cm", 230);
        log->SetField("texture", "SL");
        ASSERT_EQ(logs.CreateFeature(log.get()), OGRERR_NONE);
        const OGRFieldDomain* strikes = book->GetFieldDomain("strike_deg");
        ASSERT_NE(strikes, nullptr);
        EXPECT_EQ(strikes->GetDomainType(), OFDT_RANGE);
        OGRFeatureDefn& attitude = *book->GetLayerByName("attitudes")->GetLayerDefn();
        EXPECT_EQ(attitude.GetFieldDefn(attitude.GetFieldIndex("strike_deg"))->GetDomainName(), "strike_deg");
    }
    const Outcome check = subcrop({"check", survey(), "--json"});
    const auto read = nlohmann::json::parse(check.out);
    EXPECT_EQ(read["stops"], 33);
    EXPECT_EQ(read["horizons"], 33);
    EXPECT_EQ(read["polygons"], 2);
    ASSERT_EQ(read["problems"].size(), 1U) << read["problems"];
    EXPECT_EQ(read["problems"][0]["message"], "there is no unit in the legend; the units are taken from the map");

    const Outcome run = subcrop({"run", survey()});
    EXPECT_EQ(run.code, 0) << run.err;
    EXPECT_THAT(run.out, HasSubstr("Hesk valley: 33 stops judged"));
    EXPECT_TRUE(fs::exists(folder / "results" / "results.gpkg"));
}

TEST_F(NewCommandTest, TablesForASpreadsheet) {
    ASSERT_EQ(subcrop({"new", folder.string(), "--csv", "--quiet"}).code, 0);
    EXPECT_FALSE(fs::exists(folder / "field_book.gpkg"));
    EXPECT_THAT(text_of(folder / "columns.txt"), AllOf(HasSubstr("top_cm          centimetres, 0 to 3000, such as 20"),
                                                       HasSubstr("SICL  silty clay loam")));
    EXPECT_THAT(subcrop({"check", survey()}).out, HasSubstr("stops.csv: there are no stops in it"));
    draw_map(folder / "draft_map.gpkg");
    // As a spreadsheet saves it: the cells right of the last one that is filled in are left out or empty.
    std::ofstream(folder / "stops.csv", std::ios::app) << "01,3.005,56.24,A,1,2026-05-03,5,shoulder,4,Os,heather,yes,"
                                                          "\n02,3.03,56.24,A,2,2026-05-03,5,footslope,9,,ash,no,\n";
    std::ofstream(folder / "horizons.csv", std::ios::app)
        << "01,0,20,A,10YR 4/3,,SL,,,,,,,,,,,,,\n02,0,20,Ap,5YR 4/4,,C,,,,,,,,,,,,,\n";
    std::ofstream(folder / "legend.csv", std::ios::app)
        << "Os,Orrin sandstone,2,sandstone,#d8a548,no,,,,,\nKb,Kell basalt,1,basalt,#4b3f66,no,,,,,\n";
    std::ofstream(folder / "boreholes.csv", std::ios::app) << "B7,3.011,56.242,212.4,3,2.3,4.1,6,Os,2024-09-17,\n";
    std::ofstream(folder / "borehole_logs.csv", std::ios::app) << "B7,0,230,C,2.5Y 5/4,,SL,,,,,,,,,,,,,\n";
    EXPECT_THAT(text_of(folder / "attitudes.csv"), testing::StartsWith("x,y,strike_deg,dip_deg,error_deg\n"));
    EXPECT_THAT(text_of(folder / "columns.txt"), HasSubstr("strike_deg  degrees, 0 to 360, such as 35"));
    const Outcome check = subcrop({"check", survey()});
    EXPECT_EQ(check.code, 0) << check.out;
    EXPECT_THAT(check.out,
                AllOf(HasSubstr("hesk: 3 stops, 3 horizons, 2 map polygons"), HasSubstr("Problems in the data: none")));
    EXPECT_EQ(subcrop({"run", survey()}).code, 0);
}

TEST_F(NewCommandTest, ReplacesNothing) {
    ASSERT_EQ(subcrop({"new", folder.string(), "--csv"}).code, 0);
    std::ofstream(folder / "stops.csv") << "mine";
    fs::remove(folder / "survey.json");
    for (const auto& words :
         std::vector<std::vector<std::string>>{{"new", folder.string()}, {"new", folder.string(), "--csv"}}) {
        const Outcome again = subcrop(words);
        EXPECT_EQ(again.code, 1);
        EXPECT_THAT(again.err, AllOf(HasSubstr("draft_map.gpkg"), HasSubstr("columns.txt; nothing was written"),
                                     HasSubstr("Name a new folder, or move what is there aside.")));
        EXPECT_THAT(again.out, IsEmpty());
    }
    EXPECT_EQ(text_of(folder / "stops.csv"), "mine");
    EXPECT_FALSE(fs::exists(folder / "survey.json"));
    EXPECT_FALSE(fs::exists(folder / "field_book.gpkg"));
}

TEST_F(NewCommandTest, AProjectedSystemAndANonsenseOne) {
    ASSERT_EQ(subcrop({"new", folder.string(), "--crs", "EPSG:32631"}).code, 0);
    const GDALDatasetUniquePtr book = edit(folder / "field_book.gpkg");
    EXPECT_STREQ(book->GetLayerByName("stops")->GetSpatialRef()->GetAuthorityCode(nullptr), "32631");
    const Outcome nonsense = subcrop({"new", (holder.path() / "other").string(), "--crs", "EPSG:99999999"});
    EXPECT_EQ(nonsense.code, 1);
    EXPECT_THAT(nonsense.err, HasSubstr("99999999"));
    EXPECT_FALSE(fs::exists(holder.path() / "other" / "survey.json"));
}

TEST_F(NewCommandTest, WithoutANameNothingIsWritten) {
    const fs::path here = fs::current_path();
    fs::current_path(holder.path());
    const Outcome refused = subcrop({"new", ""});
    fs::current_path(here);
    EXPECT_EQ(refused.code, 2);
    EXPECT_THAT(refused.err, HasSubstr("Give a name; '.' is the current folder."));
    EXPECT_FALSE(fs::exists(holder.path() / "survey.json"));
}

TEST_F(NewCommandTest, HelpHasAnExample) {
    EXPECT_THAT(subcrop({"new", "--help"}).out, AllOf(HasSubstr("Example: subcrop new hesk"), HasSubstr("--csv"),
                                                      HasSubstr("Exit codes:"), Not(HasSubstr("SURVEY"))));
}

}  // namespace
}  // namespace subcrop::cli
