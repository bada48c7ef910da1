#include "publish/shapefile.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <memory>

#include "io/gdal_support.hpp"
#include "publish/invented_survey.hpp"
#include "publish/other_formats.hpp"
#include "publish/short_names.hpp"
#include "subcrop/geo/crs.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using io::FieldType;
using io::GeometryKind;
using testing::ElementsAre;
using testing::HasSubstr;

GDALDatasetUniquePtr opened(const fs::path& file) {
    return GDALDatasetUniquePtr(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
}

/// The same ground: a shapefile turns rings the other way and calls a multipolygon of one part a polygon.
bool same_place(const OGRGeometry& a, const OGRGeometry& b) {
    if (wkbFlatten(b.getGeometryType()) != wkbMultiPolygon) return a.Equals(&b);
    const std::unique_ptr<OGRGeometry> difference(a.SymDifference(&b));
    return difference && difference->IsEmpty();
}

/// What GDAL reads of a shapefile against what it reads of the GeoPackage: rows, geometry, reference system, values.
void compare(OGRLayer& wanted, const fs::path& path) {
    const GDALDatasetUniquePtr file = opened(path);
    ASSERT_TRUE(file) << path;
    OGRLayer& layer = *file->GetLayer(0);
    ASSERT_EQ(layer.GetFeatureCount(), wanted.GetFeatureCount()) << path;
    ASSERT_NE(layer.GetSpatialRef(), nullptr) << path;
    EXPECT_TRUE(layer.GetSpatialRef()->IsSame(wanted.GetSpatialRef())) << path;
    EXPECT_EQ(bytes_of(fs::path(path).replace_extension(".cpg")), "UTF-8");
    OGRFeatureDefn& columns = *wanted.GetLayerDefn();
    std::vector<std::string> names{"fid"};
    for (int i = 0; i < columns.GetFieldCount(); ++i) names.emplace_back(columns.GetFieldDefn(i)->GetNameRef());
    const std::vector<std::string> shorter = short_names(names);
    for (std::size_t i = 0; i < names.size(); ++i)
        ASSERT_STREQ(layer.GetLayerDefn()->GetFieldDefn(static_cast<int>(i))->GetNameRef(), shorter[i].c_str()) << path;
    for (const auto& row : wanted) {
        const OGRFeatureUniquePtr got(layer.GetNextFeature());
        ASSERT_TRUE(got);
        EXPECT_EQ(got->GetFieldAsInteger64(0), row->GetFID());
        ASSERT_EQ(got->GetGeometryRef() == nullptr, row->GetGeometryRef() == nullptr) << path;
        if (row->GetGeometryRef() != nullptr) {
            EXPECT_TRUE(same_place(*got->GetGeometryRef(), *row->GetGeometryRef())) << path << ' ' << row->GetFID();
        }
        for (int i = 0; i < columns.GetFieldCount(); ++i) {
            const std::string what =
                path.string() + ' ' + names[static_cast<std::size_t>(i) + 1] + ' ' + std::to_string(row->GetFID());
            ASSERT_EQ(got->IsFieldSetAndNotNull(i + 1), row->IsFieldSetAndNotNull(i)) << what;
            if (!row->IsFieldSetAndNotNull(i)) continue;
            switch (columns.GetFieldDefn(i)->GetType()) {
                case OFTReal: {
                    const double value = row->GetFieldAsDouble(i);
                    const int decimals = layer.GetLayerDefn()->GetFieldDefn(i + 1)->GetPrecision();
                    EXPECT_GE(decimals, 9) << what;
                    EXPECT_NEAR(
                        got->GetFieldAsDouble(i + 1), value,
                        std::max(0.51 * std::pow(10, -decimals) + std::abs(value) * 1.2e-16, std::abs(value) * 4e-16))
                        << what;
                    break;
                }
                case OFTString: {
                    const std::string text = row->GetFieldAsString(i), found = got->GetFieldAsString(i + 1);
                    if (text.size() <= 254) {
                        EXPECT_EQ(found, text) << what;
                    } else {
                        EXPECT_THAT(found, testing::EndsWith("...")) << what;
                        EXPECT_THAT(text, testing::StartsWith(found.substr(0, found.size() - 3))) << what;
                        EXPECT_GT(found.size(), 250U) << what;
                    }
                    break;
                }
                default:
                    EXPECT_EQ(got->GetFieldAsInteger64(i + 1), row->GetFieldAsInteger64(i)) << what;
            }
        }
    }
}

// GDAL's readers as outside judges: each file says what the layer of results.gpkg says.
TEST(Shapefile, SaysWhatTheLayersSay) {
    const test::TemporaryFolder folder(testing::TempDir());
    Progress silent;
    const RunSummary summary = run_survey(test::write_survey(folder.path(), {.mistakes = true}),
                                          {.formats = {OutputFormat::shapefile}}, silent);
    const fs::path made = folder.path() / "results" / "shapefile";
    EXPECT_THAT(summary.other_formats, ElementsAre(made));
    const GDALDatasetUniquePtr file = opened(summary.result_file);
    std::map<std::string, std::size_t> cut;
    std::size_t shapes = 0;
    for (OGRLayer* layer : file->GetLayers()) {
        const std::string name = layer->GetName();
        if (name == "layer_styles") continue;
        if (layer->GetGeomType() == wkbNone) {
            EXPECT_TRUE(fs::exists(made / (name + ".csv"))) << name;
            continue;
        }
        ++shapes;
        compare(*layer, made / (name + ".shp"));
        for (const auto& row : *layer)
            for (int i = 0; i < layer->GetLayerDefn()->GetFieldCount(); ++i)
                if (layer->GetLayerDefn()->GetFieldDefn(i)->GetType() == OFTString &&
                    std::string(row->GetFieldAsString(i)).size() > 254)
                    ++cut[name + '.' + layer->GetLayerDefn()->GetFieldDefn(i)->GetNameRef()];
    }
    EXPECT_EQ(shapes, 13U);
    EXPECT_FALSE(cut.empty());
    std::map<std::string, std::size_t> told;
    for (const CutTexts& texts : summary.cut_texts) told[texts.layer + '.' + texts.column] = texts.rows;
    EXPECT_EQ(told, cut);
    const std::string columns = bytes_of(made / "columns.csv");
    EXPECT_THAT(columns, testing::StartsWith("layer,short_name,column,description,texts_cut\r\nstop_fit,fid,fid,"));
    EXPECT_THAT(columns, HasSubstr("\r\nstop_fit,cont_dis_m,contact_distance_m,\"Distance to the nearest drawn "
                                   "contact, metres. Empty if none is near.\",0\r\n"));
    for (const auto& entry : fs::directory_iterator(made))
        EXPECT_EQ(entry.path().string().find(".partial"), std::string::npos) << entry.path();
}

class ShapefileTest : public testing::Test {
protected:
    ShapefileTest() : folder(testing::TempDir()), results(folder.path() / "results.gpkg") {}

    /// What a survey rarely has: letters of many bytes about the cut, numbers great and small, rings within rings, rows
    /// without a place.
    void write_results(bool more = true) const {
        io::LayerWriter writer(results, geo::Crs("EPSG:32633").wkt(), definition);
        io::RowBatch rows;
        std::string greek;
        for (int i = 0; i < 200; ++i) greek += "\xCE\xB8";  // theta, two bytes each
        rows.multipolygon({{{{0, 0}, {0, 9}, {9, 9}, {9, 0}, {0, 0}}, {{{2, 2}, {4, 2}, {4, 4}, {2, 4}, {2, 2}}}},
                           {{{20, 0}, {20, 5}, {25, 5}, {20, 0}}, {}}})
            .text("x" + greek)
            .real(-123456789012.25)
            .integer(9007199254740993)
            .end_row();
        rows.absent().text(std::string(254, 'n')).real(1.25e-9).integer(-1).end_row();
        if (more)
            rows.multipolygon({{{{0.1, 0}, {0.1, 1e7 / 3}, {9, 9}, {0.1, 0}}, {}}})
                .absent()
                .absent()
                .absent()
                .end_row();
        writer.append(0, std::move(rows));
        io::RowBatch lines;
        lines.line({{0, 0}, {1e6 / 3, 5}, {7, 7}}).text("\xE2\x82\xAC 5").end_row();
        writer.append(1, std::move(lines));
        writer.finish();
    }

    io::FileDefinition definition{
        .layers = {
            {.name = "bodies",
             .geometry = GeometryKind::multipolygon,
             .fields = {{.name = "a_rather_long_remark", .type = FieldType::text, .description = "What was said."},
                        {.name = "a_rather_long_number", .type = FieldType::real},
                        {.name = "count", .type = FieldType::integer}}},
            {.name = "lines", .geometry = GeometryKind::line, .fields = {{.name = "note", .type = FieldType::text}}}}};
    test::TemporaryFolder folder;
    fs::path results;
};

TEST_F(ShapefileTest, HoldsManyPartsMissingPlacesGreatNumbersAndManyBytes) {
    write_results();
    const std::vector<CutTexts> cut = write_other_format(results, OutputFormat::shapefile, definition);
    ASSERT_EQ(cut.size(), 1U);
    EXPECT_EQ(cut[0].layer + ' ' + cut[0].column + ' ' + std::to_string(cut[0].rows), "bodies a_rather_long_remark 1");
    const GDALDatasetUniquePtr file = opened(results);
    for (OGRLayer* layer : file->GetLayers())
        compare(*layer, folder.path() / "shapefile" / (std::string(layer->GetName()) + ".shp"));
    EXPECT_THAT(bytes_of(folder.path() / "shapefile" / "columns.csv"),
                HasSubstr("\r\nbodies,a_ra_lo_re,a_rather_long_remark,What was said.,1\r\n"));
}

TEST_F(ShapefileTest, TakesAnOlderOnesPlaceWithItsIndexAndHasTheSameBytes) {
    setenv("SOURCE_DATE_EPOCH", "1700000000", 1);
    const fs::path made = folder.path() / "shapefile";
    write_results(false);
    write_other_format(results, OutputFormat::shapefile, definition);
    std::ofstream(made / "bodies.qix") << "an index of the older rows";
    std::ofstream(made / "mine.txt") << "somebody's own";
    write_results();
    write_other_format(results, OutputFormat::shapefile, definition);
    EXPECT_FALSE(fs::exists(made / "bodies.qix"));
    EXPECT_TRUE(fs::exists(made / "mine.txt"));
    EXPECT_EQ(opened(made / "bodies.shp")->GetLayer(0)->GetFeatureCount(), 3);
    std::map<std::string, std::string> first;
    for (const auto& entry : fs::directory_iterator(made)) first[entry.path().filename()] = bytes_of(entry.path());
    write_other_format(results, OutputFormat::shapefile, definition);
    for (const auto& [name, bytes] : first) EXPECT_TRUE(bytes_of(made / name) == bytes) << name;
    // Bytes 1 to 3 of a dBASE table are the day it was written: 14 November 2023.
    EXPECT_EQ(first["bodies.dbf"].substr(1, 3), (std::string{123, 11, 14}));
    unsetenv("SOURCE_DATE_EPOCH");
}

TEST_F(ShapefileTest, LeavesTheOlderOneWhereTheNewOneCannotBeWritten) {
    write_results();
    write_other_format(results, OutputFormat::shapefile, definition);
    const fs::path made = folder.path() / "shapefile";
    const std::string before = bytes_of(made / "bodies.dbf");
    fs::create_directory(made / "bodies.partial.dbf");  // in the way of the new table
    std::ofstream(made / "bodies.partial.dbf" / "file") << "";
    EXPECT_THROW(write_other_format(results, OutputFormat::shapefile, definition), Error);
    EXPECT_EQ(bytes_of(made / "bodies.dbf"), before);
    EXPECT_TRUE(fs::exists(made / "bodies.shp"));
    EXPECT_FALSE(fs::exists(made / "bodies.partial.shp"));
}

TEST(ShapefileText, IsCutBetweenCharacters) {
    EXPECT_EQ(cut_text("abcdef", 6), "abcdef");
    EXPECT_EQ(cut_text("abcdefg", 6), "abc...");
    EXPECT_EQ(cut_text("ab\xE2\x82\xAC"
                       "defg",
                       7),
              "ab...");  // the euro's three bytes would end at the fifth
    EXPECT_EQ(cut_text("ab\xE2\x82\xAC"
                       "defg",
                       8),
              "ab\xE2\x82\xAC...");
}

}  // namespace
}  // namespace subcrop::publish
