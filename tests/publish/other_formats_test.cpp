#include "publish/other_formats.hpp"

#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <fstream>
#include <iterator>

#include "publish/invented_survey.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;

TEST(OtherFormats, KmlAndGpxHoldTheLayersThatFit) {
    const test::TemporaryFolder folder(testing::TempDir());
    Progress silent;
    const RunSummary summary = run_survey(test::write_survey(folder.path()),
                                          {.report = false, .formats = {OutputFormat::kml, OutputFormat::gpx}}, silent);
    const fs::path results = folder.path() / "results";
    const auto names = [](const fs::path& of) {
        std::vector<std::string> all;
        for (const auto& entry : fs::directory_iterator(of)) all.push_back(entry.path().filename());
        return all;
    };
    EXPECT_THAT(names(results / "gpx"),
                testing::UnorderedElementsAre("stop_fit.gpx", "contact_review.gpx", "contact_stretches.gpx",
                                              "relocated_contacts.gpx", "traverse_crossings.gpx", "next_stops.gpx"));
    EXPECT_THAT(names(results / "kml"),
                testing::UnorderedElementsAre("stop_fit.kml", "contact_review.kml", "contact_stretches.kml",
                                              "relocated_contacts.kml", "contact_zones.kml", "disputed_area.kml",
                                              "revised_units.kml", "proposals.kml", "traverse_crossings.kml",
                                              "unit_summary.kml", "next_stops.kml"));
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    OGRLayer& stops = *file->GetLayerByName("stop_fit");
    const GDALDatasetUniquePtr gpx(
        GDALDataset::Open((results / "gpx/stop_fit.gpx").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(gpx);
    OGRLayer& waypoints = *gpx->GetLayerByName("waypoints");
    EXPECT_EQ(waypoints.GetFeatureCount(), stops.GetFeatureCount());
    const OGRFeatureUniquePtr stop(stops.GetNextFeature()), waypoint(waypoints.GetNextFeature());
    EXPECT_STREQ(waypoint->GetFieldAsString("name"), stop->GetFieldAsString("stop"));
    EXPECT_STREQ(waypoint->GetFieldAsString("desc"), stop->GetFieldAsString("reason"));
    // The survey lies by the central meridian of UTM zone 33, 15 degrees east, at 50.5 north.
    EXPECT_NEAR(waypoint->GetGeometryRef()->toPoint()->getX(), 15, 0.02);
    EXPECT_NEAR(waypoint->GetGeometryRef()->toPoint()->getY(), 50.55, 0.05);
    const GDALDatasetUniquePtr tracks(
        GDALDataset::Open((results / "gpx/relocated_contacts.gpx").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    EXPECT_EQ(tracks->GetLayerByName("tracks")->GetFeatureCount(),
              file->GetLayerByName("relocated_contacts")->GetFeatureCount());
    const GDALDatasetUniquePtr zones(
        GDALDataset::Open((results / "kml/contact_zones.kml").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(zones);
    EXPECT_EQ(zones->GetLayer(0)->GetFeatureCount(), file->GetLayerByName("contact_zones")->GetFeatureCount());
}

// GDAL's readers as outside judges: each file says what the layer of results.gpkg says.
TEST(OtherFormats, SayWhatTheLayersSay) {
    const test::TemporaryFolder folder(testing::TempDir());
    Progress silent;
    const RunSummary summary =
        run_survey(test::write_survey(folder.path(), {.mistakes = true}),
                   {.formats = {OutputFormat::csv, OutputFormat::geojson, OutputFormat::flatgeobuf}}, silent);
    const fs::path results = folder.path() / "results";
    EXPECT_THAT(summary.other_formats,
                testing::ElementsAre(results / "csv", results / "geojson", results / "flatgeobuf"));
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(file);
    for (const auto& [name, ending] :
         {std::pair{"csv", ".csv"}, std::pair{"geojson", ".geojson"}, std::pair{"flatgeobuf", ".fgb"}}) {
        for (OGRLayer* layer : file->GetLayers()) {
            if (std::string(layer->GetName()) == "layer_styles") continue;
            const bool table = layer->GetGeomType() == wkbNone ||
                               (std::string(name) == "flatgeobuf" && std::string(layer->GetName()) == "problems");
            const fs::path path = results / name / (std::string(layer->GetName()) + (table ? ".csv" : ending));
            ASSERT_TRUE(fs::exists(path)) << path;
            const GDALDatasetUniquePtr other(GDALDataset::Open(path.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
            ASSERT_TRUE(other) << path;
            EXPECT_EQ(other->GetLayer(0)->GetFeatureCount(), layer->GetFeatureCount()) << path;
        }
    }
    // One stop of each, place and words.
    OGRLayer& stops = *file->GetLayerByName("stop_fit");
    const OGRFeatureUniquePtr stop(stops.GetNextFeature());
    const OGRPoint& place = *stop->GetGeometryRef()->toPoint();
    const auto first = [&](const fs::path& path, GDALDatasetUniquePtr& keep) {
        keep.reset(GDALDataset::Open(path.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        OGRLayer& layer = *keep->GetLayer(0);
        layer.SetAttributeFilter("stop = 'S1'");
        return OGRFeatureUniquePtr(layer.GetNextFeature());
    };
    GDALDatasetUniquePtr csv, geojson, flatgeobuf;
    const auto row = first(results / "csv" / "stop_fit.csv", csv),
               degrees = first(results / "geojson" / "stop_fit.geojson", geojson),
               same = first(results / "flatgeobuf" / "stop_fit.fgb", flatgeobuf);
    ASSERT_TRUE(row && degrees && same);
    EXPECT_EQ(std::stod(row->GetFieldAsString("x")), place.getX());
    EXPECT_EQ(std::stod(row->GetFieldAsString("p_mapped")), stop->GetFieldAsDouble("p_mapped"));
    for (const auto* other : {row.get(), degrees.get(), same.get()})
        EXPECT_STREQ(other->GetFieldAsString("reason"), stop->GetFieldAsString("reason"));
    EXPECT_EQ(same->GetGeometryRef()->toPoint()->getX(), place.getX());
    // The survey lies by the central meridian of UTM zone 33, 15 degrees east, at 50.5 north.
    EXPECT_NEAR(degrees->GetGeometryRef()->toPoint()->getX(), 15, 0.02);
    EXPECT_NEAR(degrees->GetGeometryRef()->toPoint()->getY(), 50.55, 0.05);
    // FlatGeobuf numbers rows by its own order (its specification: features follow the packed Hilbert R-tree), so the
    // column has to join them.
    const GDALDatasetUniquePtr relocated(GDALDataset::Open((results / "flatgeobuf" / "relocated_contacts.fgb").c_str(),
                                                           GDAL_OF_VECTOR | GDAL_OF_READONLY));
    const GDALDatasetUniquePtr reviewed(
        GDALDataset::Open((results / "flatgeobuf" / "contact_review.fgb").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(relocated && reviewed);
    std::map<GIntBig, std::string> unit_of;
    for (const auto& contact : *reviewed->GetLayer(0))
        unit_of[contact->GetFieldAsInteger64("fid")] = contact->GetFieldAsString("unit_a");
    EXPECT_EQ(static_cast<GIntBig>(unit_of.size()), reviewed->GetLayer(0)->GetFeatureCount());
    for (const auto& contact : *relocated->GetLayer(0))
        EXPECT_EQ(unit_of.at(contact->GetFieldAsInteger64("contact")), contact->GetFieldAsString("unit_a"));
    const GDALDatasetUniquePtr all_stops(
        GDALDataset::Open((results / "flatgeobuf" / "stop_fit.fgb").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    std::size_t elsewhere = 0;
    for (const auto& row_there : *all_stops->GetLayer(0)) {
        const OGRFeatureUniquePtr here(stops.GetFeature(row_there->GetFieldAsInteger64("fid")));
        ASSERT_TRUE(here);
        EXPECT_STREQ(row_there->GetFieldAsString("stop"), here->GetFieldAsString("stop"));
        elsewhere += row_there->GetFID() + 1 != row_there->GetFieldAsInteger64("fid");
    }
    EXPECT_GT(elsewhere, 0U);  // else the driver's own numbers would do
    for (const auto& entry : fs::recursive_directory_iterator(results))
        EXPECT_EQ(entry.path().string().find(".partial"), std::string::npos) << entry.path();
}

}  // namespace
}  // namespace subcrop::publish
