#include "subcrop/io/layer_writer.hpp"

#include <fcntl.h>
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>
#include <sqlite3.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>
#include <random>
#include <string>
#include <vector>

#include "subcrop/core/error.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::io {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::UnorderedElementsAre;

std::string utm_33_wkt() {
    OGRSpatialReference crs;
    crs.importFromEPSG(32633);
    char* text = nullptr;
    const char* const options[] = {"FORMAT=WKT2_2019", nullptr};
    crs.exportToWkt(&text, options);
    std::string wkt = text;
    CPLFree(text);
    return wkt;
}

FileDefinition definition() {
    return {
        .domains = {{.name = "colour", .codes = {{"r", "Red, as rust."}, {"y", "Yellow."}}},
                    {.name = "share", .range = Domain::Range{0, 1}}},
        .layers = {
            {.name = "places",
             .title = "Places seen",
             .description = "One row a place.",
             .geometry = GeometryKind::point,
             .fields = {{.name = "place", .type = FieldType::text, .description = "Its name."},
                        {.name = "count", .type = FieldType::integer, .description = "Stones, number."},
                        {.name = "depth_cm", .type = FieldType::real, .description = "Depth, centimetres."},
                        {.name = "dug", .type = FieldType::boolean, .description = "Dug, not augered."},
                        {.name = "colour", .description = "Its colour.", .domain = "colour"},
                        {.name = "p", .type = FieldType::real, .description = "0 to 1.", .domain = "share"}}},
            {.name = "lines", .geometry = GeometryKind::line, .fields = {{.name = "n", .type = FieldType::integer}}},
            {.name = "grounds", .geometry = GeometryKind::multipolygon, .fields = {{.name = "unit"}}},
            {.name = "words", .fields = {{.name = "word"}}}}};
}

class LayerWriterTest : public testing::Test {
protected:
    LayerWriterTest() {
        std::string pattern = testing::TempDir() + "layer_writer_XXXXXX";
        folder = mkdtemp(pattern.data());
        target = folder / "results.gpkg";
        GDALAllRegister();
    }
    ~LayerWriterTest() override {
        unsetenv("SOURCE_DATE_EPOCH");
        fs::remove_all(folder);
    }

    void write_small(const fs::path& to, const std::string& name = "Birk") const {
        LayerWriter writer(to, utm_33_wkt(), definition());
        RowBatch places;
        places.point({500010.5, 5600020.25})
            .text(name)
            .integer(-7)
            .real(12.5)
            .boolean(true)
            .text("r")
            .real(0.25)
            .end_row();
        places.absent().absent().absent().absent().absent().absent().absent().end_row();
        writer.append(0, std::move(places));
        RowBatch lines;
        lines.line({{500000, 5600000}, {500100, 5600050}, {500200, 5600000}}).integer(1).end_row();
        writer.append(1, std::move(lines));
        RowBatch grounds;
        const Ring shell{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}};
        const Ring hole{{2, 2}, {2, 4}, {4, 4}, {4, 2}, {2, 2}};
        const Ring other{{20, 20}, {21, 20}, {21, 21}, {20, 20}};
        grounds.multipolygon({{shell, {hole}}, {other, {}}}).text("GAB").end_row();
        writer.append(2, std::move(grounds));
        RowBatch words;
        words.text("only a table").end_row();
        writer.append(3, std::move(words));
        writer.describe(R"({"version":"9"})");
        writer.finish();
    }

    GDALDatasetUniquePtr open(const fs::path& file, unsigned flags = GDAL_OF_READONLY) const {
        return GDALDatasetUniquePtr(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | flags));
    }

    std::vector<std::string> query(const fs::path& file, const std::string& sql) const {
        sqlite3* database = nullptr;
        std::vector<std::string> rows;
        EXPECT_EQ(SQLITE_OK, sqlite3_open_v2(file.c_str(), &database, SQLITE_OPEN_READONLY, nullptr));
        char* error = nullptr;
        sqlite3_exec(
            database, sql.c_str(),
            [](void* to, int columns, char** values, char**) {
                std::string row;
                for (int i = 0; i < columns; ++i)
                    row += (i > 0 ? "|" : "") + std::string(values[i] ? values[i] : "NULL");
                static_cast<std::vector<std::string>*>(to)->push_back(row);
                return 0;
            },
            &rows, &error);
        EXPECT_EQ(error, nullptr) << error;
        sqlite3_close(database);
        return rows;
    }

    std::vector<std::string> names_in_folder() const {
        std::vector<std::string> names;
        for (const auto& entry : fs::directory_iterator(folder)) names.push_back(entry.path().filename());
        return names;
    }

    fs::path folder;
    fs::path target;
};

TEST_F(LayerWriterTest, ValuesComeBackThroughGdal) {
    write_small(target);
    const auto dataset = open(target);
    ASSERT_TRUE(dataset);
    ASSERT_EQ(dataset->GetLayerCount(), 4);

    OGRLayer* places = dataset->GetLayerByName("places");
    ASSERT_NE(places, nullptr);
    EXPECT_EQ(places->GetGeomType(), wkbPoint);
    EXPECT_STREQ(places->GetMetadataItem("IDENTIFIER"), "Places seen");
    EXPECT_STREQ(places->GetMetadataItem("DESCRIPTION"), "One row a place.");
    EXPECT_STREQ(places->GetSpatialRef()->GetAuthorityCode(nullptr), "32633");
    EXPECT_EQ(places->GetFeatureCount(), 2);
    OGREnvelope extent;
    ASSERT_EQ(places->GetExtent(&extent, FALSE), OGRERR_NONE);
    EXPECT_EQ(extent.MinX, 500010.5);
    EXPECT_EQ(extent.MaxY, 5600020.25);

    const OGRFeatureUniquePtr first(places->GetNextFeature());
    ASSERT_TRUE(first);
    EXPECT_EQ(first->GetFID(), 1);
    EXPECT_STREQ(first->GetFieldAsString("place"), "Birk");
    EXPECT_EQ(first->GetFieldAsInteger64("count"), -7);
    EXPECT_EQ(first->GetFieldAsDouble("depth_cm"), 12.5);
    EXPECT_EQ(first->GetFieldAsInteger("dug"), 1);
    EXPECT_EQ(places->GetLayerDefn()->GetFieldDefn(3)->GetSubType(), OFSTBoolean);
    EXPECT_EQ(first->GetGeometryRef()->toPoint()->getX(), 500010.5);
    EXPECT_EQ(first->GetGeometryRef()->toPoint()->getY(), 5600020.25);

    const OGRFeatureUniquePtr second(places->GetNextFeature());
    ASSERT_TRUE(second);
    EXPECT_EQ(second->GetGeometryRef(), nullptr);
    for (int field = 0; field < second->GetFieldCount(); ++field) EXPECT_TRUE(second->IsFieldNull(field)) << field;

    const OGRFeatureUniquePtr line(dataset->GetLayerByName("lines")->GetNextFeature());
    EXPECT_EQ(line->GetGeometryRef()->exportToWkt(), "LINESTRING (500000 5600000,500100 5600050,500200 5600000)");
    const OGRFeatureUniquePtr ground(dataset->GetLayerByName("grounds")->GetNextFeature());
    EXPECT_EQ(ground->GetGeometryRef()->exportToWkt(),
              "MULTIPOLYGON (((0 0,10 0,10 10,0 10,0 0),(2 2,2 4,4 4,4 2,2 2)),((20 20,21 20,21 21,20 20)))");
    EXPECT_EQ(dataset->GetLayerByName("words")->GetGeomType(), wkbNone);
}

TEST_F(LayerWriterTest, DomainsAndDescriptionsAreTold) {
    write_small(target);
    const auto dataset = open(target);
    const OGRFeatureDefn* fields = dataset->GetLayerByName("places")->GetLayerDefn();
    EXPECT_EQ(fields->GetFieldDefn(4)->GetDomainName(), "colour");
    const OGRFieldDomain* colour = dataset->GetFieldDomain("colour");
    ASSERT_NE(colour, nullptr);
    ASSERT_EQ(colour->GetDomainType(), OFDT_CODED);
    const OGRCodedValue* codes = static_cast<const OGRCodedFieldDomain*>(colour)->GetEnumeration();
    EXPECT_STREQ(codes[0].pszCode, "r");
    EXPECT_STREQ(codes[0].pszValue, "Red, as rust.");
    EXPECT_STREQ(codes[1].pszCode, "y");
    EXPECT_EQ(codes[2].pszCode, nullptr);
    const OGRFieldDomain* share = dataset->GetFieldDomain("share");
    ASSERT_NE(share, nullptr);
    ASSERT_EQ(share->GetDomainType(), OFDT_RANGE);
    bool inclusive = false;
    EXPECT_EQ(static_cast<const OGRRangeFieldDomain*>(share)->GetMax(inclusive).Real, 1.0);
    EXPECT_TRUE(inclusive);
    EXPECT_THAT(query(target,
                      "SELECT column_name, description, constraint_name FROM gpkg_data_columns "
                      "WHERE table_name = 'places' AND column_name IN ('depth_cm', 'p') ORDER BY 1"),
                ElementsAre("depth_cm|Depth, centimetres.|NULL", "p|0 to 1.|share"));
}

TEST_F(LayerWriterTest, TheValidatorOfOsgeoIsContent) {
    write_small(target);
    const std::string command = "/usr/bin/python3 -m osgeo_utils.samples.validate_gpkg '" + target.string() + "' > '" +
                                (folder / "out").string() + "' 2>&1";
    EXPECT_EQ(std::system(command.c_str()), 0) << bytes_of(folder / "out");
    EXPECT_THAT(query(target, "PRAGMA integrity_check"), ElementsAre("ok"));
    EXPECT_THAT(query(target, "PRAGMA foreign_key_check"), ElementsAre());
}

TEST_F(LayerWriterTest, MetadataSpeaksOfTheFile) {
    write_small(target);
    EXPECT_THAT(query(target,
                      "SELECT md_scope, mime_type, metadata, reference_scope FROM gpkg_metadata "
                      "JOIN gpkg_metadata_reference ON md_file_id = id"),
                ElementsAre(R"(dataset|application/json|{"version":"9"}|geopackage)"));
}

// Sizes on both sides of one node (51 entries), one level (51 x 51) and two levels.
TEST_F(LayerWriterTest, SpatialIndexAgreesWithThePointsThemselves) {
    for (const std::size_t count : {0U, 1U, 51U, 52U, 2601U, 2602U, 20000U}) {
        SCOPED_TRACE(count);
        std::mt19937_64 random(count);
        std::uniform_real_distribution<double> metres(0, 1000);
        std::vector<Point> points(count);
        for (Point& p : points) p = {500000 + metres(random), 5600000 + metres(random)};
        if (count > 10) points[5] = points[6] = points[7];
        {
            LayerWriter writer(target, utm_33_wkt(), {.layers = {{.name = "places", .geometry = GeometryKind::point}}});
            for (std::size_t i = 0; i < count;) {
                RowBatch rows;
                for (std::size_t k = 0; k < 777 && i < count; ++k, ++i) rows.point(points[i]).end_row();
                writer.append(0, std::move(rows));
            }
            writer.finish();
        }
        EXPECT_THAT(query(target, "SELECT rtreecheck('rtree_places_geom')"), ElementsAre("ok"));
        const auto dataset = open(target);
        OGRLayer* layer = dataset->GetLayer(0);
        EXPECT_TRUE(layer->TestCapability(OLCFastSpatialFilter));
        EXPECT_EQ(layer->GetFeatureCount(), static_cast<GIntBig>(count));
        // single precision at 5,600,000 m is half a metre, so the index alone may let a point that near through
        constexpr double rounding = 0.5;
        for (const double side : {0.0, 10.0, 150.0, 2000.0}) {
            const Box box{500400, 5600300, 500400 + side, 5600300 + side};
            const Box wide{box.min_x - rounding, box.min_y - rounding, box.max_x + rounding, box.max_y + rounding};
            layer->SetSpatialFilterRect(box.min_x, box.min_y, box.max_x, box.max_y);
            std::vector<bool> found(count);
            for (const auto& feature : *layer) found.at(static_cast<std::size_t>(feature->GetFID() - 1)) = true;
            for (std::size_t i = 0; i < count; ++i) {
                EXPECT_TRUE(found[i] || !box.contains(points[i])) << i;
                EXPECT_TRUE(!found[i] || wide.contains(points[i])) << i;
            }
        }
        layer->SetSpatialFilter(nullptr);
        fs::remove(target);
    }
}

TEST_F(LayerWriterTest, GdalCanEditTheFileAfterwards) {
    write_small(target);
    {
        const auto dataset = open(target, GDAL_OF_UPDATE);
        OGRLayer* layer = dataset->GetLayerByName("places");
        OGRFeature feature(layer->GetLayerDefn());
        feature.SetField("place", "Later");
        OGRPoint place(500500, 5600500);
        feature.SetGeometry(&place);
        ASSERT_EQ(layer->CreateFeature(&feature), OGRERR_NONE);
        ASSERT_EQ(layer->DeleteFeature(1), OGRERR_NONE);
    }
    const auto dataset = open(target);
    OGRLayer* layer = dataset->GetLayerByName("places");
    EXPECT_EQ(layer->GetFeatureCount(), 2);
    layer->SetSpatialFilterRect(500499, 5600499, 500501, 5600501);
    EXPECT_EQ(layer->GetFeatureCount(), 1);
    EXPECT_THAT(query(target, "SELECT rtreecheck('rtree_places_geom')"), ElementsAre("ok"));
    EXPECT_THAT(query(target, "SELECT count(*) FROM rtree_places_geom"), ElementsAre("1"));
}

TEST_F(LayerWriterTest, SameRowsSameBytesUnderSourceDateEpoch) {
    setenv("SOURCE_DATE_EPOCH", "1700000000", 1);
    write_small(target);
    const std::string first = bytes_of(target);
    write_small(folder / "again.gpkg");
    EXPECT_TRUE(first == bytes_of(folder / "again.gpkg"));
    EXPECT_THAT(query(target, "SELECT DISTINCT last_change FROM gpkg_contents"),
                ElementsAre("2023-11-14T22:13:20.000Z"));
    EXPECT_THAT(query(target, "SELECT timestamp FROM gpkg_metadata_reference"),
                ElementsAre("2023-11-14T22:13:20.000Z"));
    setenv("SOURCE_DATE_EPOCH", "1700000001", 1);
    write_small(folder / "later.gpkg");
    EXPECT_FALSE(first == bytes_of(folder / "later.gpkg"));
}

TEST_F(LayerWriterTest, RefusesAStrangeSourceDateEpoch) {
    setenv("SOURCE_DATE_EPOCH", "yesterday", 1);
    try {
        write_small(target);
        FAIL();
    } catch (const Error& error) {
        EXPECT_STREQ(error.what(),
                     "the environment variable SOURCE_DATE_EPOCH is 'yesterday'. Set it to whole seconds since "
                     "1970, or unset it.");
    }
}

TEST_F(LayerWriterTest, WithoutFinishTheOldFileStays) {
    write_small(target);
    const std::string old = bytes_of(target);
    {
        LayerWriter writer(target, utm_33_wkt(), definition());
        RowBatch rows;
        rows.text("lost").end_row();
        writer.append(3, std::move(rows));
        EXPECT_THAT(names_in_folder(), testing::Contains("results.partial.gpkg"));
    }
    EXPECT_TRUE(old == bytes_of(target));
    EXPECT_THAT(names_in_folder(), ElementsAre("results.gpkg"));
}

TEST_F(LayerWriterTest, ReplacesTheOldFileWithItsJournalsAndAKilledRunsRest) {
    write_small(target);
    for (const char* stale : {"results.gpkg-journal", "results.gpkg-wal", "results.gpkg-shm", "results.partial.gpkg",
                              "results.partial.gpkg-journal"})
        std::ofstream(folder / stale) << "left over";
    write_small(target, "New");
    EXPECT_THAT(names_in_folder(), ElementsAre("results.gpkg"));
    EXPECT_THAT(query(target, "SELECT place FROM places WHERE fid = 1"), ElementsAre("New"));
}

TEST_F(LayerWriterTest, AReaderKeepsTheFileItOpened) {
    write_small(target, "Old");
    const auto dataset = open(target);
    write_small(target, "New");
    const OGRFeatureUniquePtr feature(dataset->GetLayerByName("places")->GetNextFeature());
    EXPECT_STREQ(feature->GetFieldAsString("place"), "Old");
    EXPECT_THAT(query(target, "SELECT place FROM places WHERE fid = 1"), ElementsAre("New"));
}

TEST_F(LayerWriterTest, TwoWritersOfOneFileAreToldApart) {
    LayerWriter writer(target, utm_33_wkt(), definition());
    try {
        write_small(target);
        FAIL();
    } catch (const Error& error) {
        EXPECT_THAT(error.what(), HasSubstr("another run is writing this file"));
    }
    writer.finish();
    EXPECT_EQ(open(target)->GetLayerCount(), 4);
}

/// As on a full disk: no file may grow beyond the limit while it lives.
class FileSizeLimit {
public:
    explicit FileSizeLimit(rlim_t bytes) {
        handler_ = std::signal(SIGXFSZ, SIG_IGN);
        getrlimit(RLIMIT_FSIZE, &before_);
        rlimit now = before_;
        now.rlim_cur = bytes;
        setrlimit(RLIMIT_FSIZE, &now);
    }
    ~FileSizeLimit() {
        setrlimit(RLIMIT_FSIZE, &before_);
        std::signal(SIGXFSZ, handler_);
    }

private:
    rlimit before_{};
    void (*handler_)(int) = nullptr;
};

TEST_F(LayerWriterTest, AFullDiskIsAnErrorAndLeavesTheOldFile) {
    write_small(target);
    const std::string old = bytes_of(target);
    // From the first page to the last; 0 fails before GDAL, 16 kB within it, the rest among the rows or at their end.
    for (const rlim_t limit : {0U, 16'384U, 300'000U, 20'000'000U, 90'000'000U}) {
        SCOPED_TRACE(limit);
        std::string message;
        {
            const FileSizeLimit full(limit);
            try {
                LayerWriter writer(target, utm_33_wkt(), {.layers = {{.name = "words", .fields = {{.name = "word"}}}}});
                for (int batch = 0; batch < 100; ++batch) {
                    RowBatch rows;
                    for (int row = 0; row < 1000; ++row) rows.text(std::string(1000, 'a')).end_row();
                    writer.append(0, std::move(rows));
                }
                writer.finish();
            } catch (const Error& error) {
                message = error.what();
            }
        }
        EXPECT_EQ(message, target.string() +
                               ": the disk is full, or the file is larger than is allowed here. Make room, or name a "
                               "results folder on another disk. An older file of this name is as it was.");
        EXPECT_TRUE(old == bytes_of(target));
        EXPECT_THAT(names_in_folder(), ElementsAre("results.gpkg"));
    }
}

TEST_F(LayerWriterTest, SaysWhatIsWrongWithTheFolder) {
    const auto message_for = [&](const fs::path& to) -> std::string {
        try {
            write_small(to);
        } catch (const Error& error) {
            return error.what();
        }
        return {};
    };
    std::ofstream(folder / "file") << "in the way";
    EXPECT_THAT(message_for(folder / "file" / "results.gpkg"), HasSubstr("its folder cannot be made"));
    fs::create_directories(folder / "results.gpkg");
    EXPECT_THAT(message_for(target), HasSubstr("a folder of this name is in the way"));
    EXPECT_THAT(message_for("/proc/results.gpkg"), HasSubstr("/proc/results.gpkg"));
    EXPECT_THAT(message_for(folder / "made" / "for" / "it" / "results.gpkg"), "");
}

TEST_F(LayerWriterTest, TextIsMadeValidUtf8) {
    const auto kept = [&](const std::string& text) {
        LayerWriter writer(target, "", {.layers = {{.name = "words", .fields = {{.name = "word"}}}}});
        RowBatch rows;
        rows.text(text).end_row();
        writer.append(0, std::move(rows));
        writer.finish();
        return query(target, "SELECT word FROM words").at(0);
    };
    const std::string replaced = "\xEF\xBF\xBD";
    EXPECT_EQ(kept("gr\xC3\xBCn \xE2\x82\xAC \xF0\x9F\xAA\xA8"), "gr\xC3\xBCn \xE2\x82\xAC \xF0\x9F\xAA\xA8");
    EXPECT_EQ(kept("gr\xFCn"), "gr" + replaced + "n");                // Latin-1
    EXPECT_EQ(kept("cut \xE2\x82"), "cut " + replaced + replaced);    // cut off
    EXPECT_EQ(kept("\xC0\xAF"), replaced + replaced);                 // overlong slash
    EXPECT_EQ(kept("\xED\xA0\x80"), replaced + replaced + replaced);  // surrogate
    EXPECT_EQ(kept(""), "");
}

TEST_F(LayerWriterTest, NumbersThatAreNoneAreAbsent) {
    LayerWriter writer(
        target, "",
        {.layers = {
             {.name = "places", .geometry = GeometryKind::point, .fields = {{.name = "x", .type = FieldType::real}}}}});
    RowBatch rows;
    const double infinity = std::numeric_limits<double>::infinity();
    rows.point({std::nan(""), 0}).real(std::nan("")).end_row();
    rows.point({0, infinity}).real(-infinity).end_row();
    rows.point({1, 2}).real_or_absent(std::nullopt).end_row();
    writer.append(0, std::move(rows));
    writer.finish();
    EXPECT_THAT(query(target, "SELECT geom IS NULL, x FROM places"), ElementsAre("1|NULL", "1|NULL", "0|NULL"));
    EXPECT_THAT(query(target, "SELECT min_x, min_y, max_x, max_y, srs_id FROM gpkg_contents"),
                ElementsAre("1.0|2.0|1.0|2.0|0"));
}

TEST_F(LayerWriterTest, NamesAreQuoted) {
    LayerWriter writer(target, "",
                       {.layers = {{.name = "odd", .fields = {{.name = "a \"b\" c; --"}, {.name = "select"}}}}});
    RowBatch rows;
    rows.text("1").text("2").end_row();
    writer.append(0, std::move(rows));
    writer.finish();
    EXPECT_THAT(query(target, "SELECT * FROM odd"), ElementsAre("1|1|2"));
}

TEST_F(LayerWriterTest, RowsKeepTheOrderOfTheCalls) {
    LayerWriter writer(target, "",
                       {.layers = {{.name = "a", .fields = {{.name = "n", .type = FieldType::integer}}},
                                   {.name = "b", .fields = {{.name = "n", .type = FieldType::integer}}}}});
    for (int batch = 0; batch < 500; ++batch) {
        RowBatch rows;
        for (int row = 0; row < 3; ++row) rows.integer(batch * 3 + row + 1).end_row();
        writer.append(batch % 2, std::move(rows));
    }
    writer.finish();
    EXPECT_THAT(query(target, "SELECT count(*), min(n), max(n) FROM a"), ElementsAre("750|1|1497"));
    EXPECT_THAT(query(target, "SELECT count(*) FROM a x JOIN a y ON y.fid = x.fid + 1 WHERE y.n < x.n"),
                ElementsAre("0"));
}

}  // namespace
}  // namespace subcrop::io
