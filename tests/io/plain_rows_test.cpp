// What is read through SQLite must be what GDAL (Debian's, 3.6.2) makes of the same rows.
#include "io/plain_rows.hpp"

#include <gmock/gmock.h>

#include <algorithm>

#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::ElementsAre;
using testing::SizeIs;

constexpr const char* places = R"({"type": "FeatureCollection", "features": [
 {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.004, 46.956]},
  "properties": {"stop": "007", "seq": 1, "sd": 4.5, "date": "2026-05-03"}},
 {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.0141, 46.957]},
  "properties": {"stop": "Z\u00fcrg-9", "seq": null, "sd": null, "date": null}},
 {"type": "Feature", "geometry": {"type": "Point", "coordinates": [15.02, 46.958, 300]},
  "properties": {"stop": "009", "seq": 3, "sd": 0.1, "date": "2026-12-31"}},
 {"type": "Feature", "geometry": {"type": "MultiPoint", "coordinates": [[15.02, 46.958]]},
  "properties": {"stop": "010", "seq": 4, "sd": 7, "date": "2026-01-01"}},
 {"type": "Feature", "geometry": null, "properties": {"stop": "", "seq": 5, "sd": 7, "date": "2026-01-01"}}]})";

OpenLayer opened(const ScratchFolder& folder, const char* name) {
    SurveyFile file;
    file.path = folder.path() / "survey.json";
    SourceDescription description;
    description.source = name;
    return open_layer(file, description);
}

void run_sql(const ScratchFolder& folder, const char* name, const std::string& sql) {
    const GDALDatasetUniquePtr dataset(
        GDALDataset::Open((folder.path() / name).c_str(), GDAL_OF_VECTOR | GDAL_OF_UPDATE));
    ASSERT_TRUE(dataset);
    dataset->ReleaseResultSet(dataset->ExecuteSQL(sql.c_str(), nullptr, nullptr));
}

std::set<int> all_columns(const OpenLayer& layer) {
    std::set<int> columns;
    for (int i = 0; i < layer.layer->GetLayerDefn()->GetFieldCount(); ++i) columns.insert(i);
    return columns;
}

void expect_as_gdal_has_it(const PlainRows& row, OGRFeature& feature) {
    EXPECT_EQ(row.id(), feature.GetFID());
    for (int i = 0; i < feature.GetFieldCount(); ++i) {
        const OGRFieldType type = feature.GetFieldDefnRef(i)->GetType();
        ASSERT_EQ(row.has(i), feature.IsFieldSetAndNotNull(i) != FALSE) << i;
        if (!row.has(i)) continue;
        std::string text = feature.GetFieldAsString(i);
        if (type == OFTDate) std::replace(text.begin(), text.end(), '/', '-');  // GDAL's way of writing it
        if (type == OFTString || type == OFTDate) {
            EXPECT_EQ(row.text(i), text);
        } else if (type == OFTReal) {
            EXPECT_EQ(row.real(i), feature.GetFieldAsDouble(i));
        } else {
            EXPECT_EQ(row.integer(i), feature.GetFieldAsInteger64(i));
        }
    }
}

TEST(PlainRows, AreAsGdalHasThem) {
    const ScratchFolder folder;
    folder.translate(places, "GPKG", "stops.gpkg", {"-nln", "stops", "-nlt", "GEOMETRYZ"});
    const OpenLayer layer = opened(folder, "stops.gpkg");
    const auto rows = PlainRows::open(layer, all_columns(layer));
    ASSERT_TRUE(rows);
    std::vector<bool> points;
    for (const auto& feature : *layer.layer) {
        ASSERT_EQ(rows->next(), PlainRows::Step::plain);
        expect_as_gdal_has_it(*rows, *feature);
        const auto point = rows->point();
        points.push_back(point.has_value());
        if (!point) continue;
        EXPECT_EQ(point->x, feature->GetGeometryRef()->toPoint()->getX());
        EXPECT_EQ(point->y, feature->GetGeometryRef()->toPoint()->getY());
    }
    EXPECT_EQ(rows->next(), PlainRows::Step::end);
    // A height, a multipoint and no geometry at all are left to GDAL.
    EXPECT_THAT(points, ElementsAre(true, true, false, false, false));
}

TEST(PlainRows, LeaveOddCellsToGdal) {
    const ScratchFolder folder;
    folder.translate(places, "GPKG", "stops.gpkg", {"-nln", "stops", "-nlt", "GEOMETRYZ"});
    for (const char* sql :
         {"UPDATE stops SET seq = 'two' WHERE fid = 1", "UPDATE stops SET date = '2026-13-01' WHERE fid = 2",
          "UPDATE stops SET sd = 'about 4' WHERE fid = 3", "UPDATE stops SET stop = 10 WHERE fid = 4",
          "UPDATE stops SET stop = x'3031' WHERE fid = 4"}) {
        run_sql(folder, "stops.gpkg", sql);
    }
    const OpenLayer layer = opened(folder, "stops.gpkg");
    const auto rows = PlainRows::open(layer, all_columns(layer));
    ASSERT_TRUE(rows);
    for (int fid = 1; fid <= 4; ++fid) {
        EXPECT_EQ(rows->next(), PlainRows::Step::odd) << fid;
        EXPECT_EQ(rows->id(), fid);
    }
    EXPECT_EQ(rows->next(), PlainRows::Step::plain);
}

TEST(PlainRows, ARowLeftToGdalIsReadLikeTheOthers) {
    const ScratchFolder folder;
    folder.translate(places, "GPKG", "stops.gpkg", {"-nln", "stops", "-nlt", "GEOMETRYZ"});
    run_sql(folder, "stops.gpkg", "UPDATE stops SET sd = '7' WHERE fid = 3");
    folder.write("map.geojson", two_squares);
    const ReadSurvey read =
        read_all(folder, std::string(R"({"stops": {"source": "stops.gpkg", "columns": {"position_sd_m": "sd"}}, )") +
                             two_squares_json + "}");
    const auto& stops = read.survey.stops;
    ASSERT_THAT(stops, SizeIs(4));  // one has no place
    EXPECT_EQ(stops[0].id, "007");
    EXPECT_EQ(stops[0].date.str(), "2026-05-03");
    EXPECT_EQ(stops[1].id, "Z\xC3\xBCrg-9");
    EXPECT_EQ(stops[2].id, "009");
    EXPECT_EQ(stops[2].position_sd_m, 7);
    EXPECT_EQ(stops[3].id, "010");
    EXPECT_EQ(stops[3].seq, 4);
}

TEST(PlainRows, PolygonsAreAsGdalHasThem) {
    const ScratchFolder folder;
    folder.translate(R"({"type": "FeatureCollection", "features": [
 {"type": "Feature", "properties": {"unit": "A"}, "geometry": {"type": "Polygon", "coordinates":
  [[[0, 0], [9, 0], [9, 9], [0, 9], [0, 0]], [[1, 1], [1, 2], [2, 2], [1, 1]]]}},
 {"type": "Feature", "properties": {"unit": "B"}, "geometry": {"type": "MultiPolygon", "coordinates":
  [[[[20, 0], [29, 0], [29, 9], [20, 0]]], [[[30, 0], [39, 0], [39, 9], [30, 0]]]]}},
 {"type": "Feature", "properties": {"unit": "C"}, "geometry": {"type": "LineString", "coordinates": [[0, 0], [1, 1]]}}]})",
                     "GPKG", "map.gpkg", {"-nlt", "GEOMETRY"});
    const OpenLayer layer = opened(folder, "map.gpkg");
    const auto rows = PlainRows::open(layer, all_columns(layer));
    ASSERT_TRUE(rows);
    std::vector<std::size_t> parts;
    for (const auto& feature : *layer.layer) {
        ASSERT_EQ(rows->next(), PlainRows::Step::plain);
        const std::vector<Polygon> polygons = rows->polygons();
        parts.push_back(polygons.size());
        if (polygons.empty()) continue;
        OGRMultiPolygon all;
        for (const Polygon& polygon : polygons) {
            OGRPolygon part;
            const auto add = [&](const Ring& ring) {
                OGRLinearRing line;
                for (const Point p : ring) line.addPoint(p.x, p.y);
                part.addRing(&line);
            };
            add(polygon.shell);
            for (const Ring& hole : polygon.holes) add(hole);
            all.addGeometry(&part);
        }
        const std::unique_ptr<OGRGeometry> gdal(OGRGeometryFactory::forceToMultiPolygon(feature->StealGeometry()));
        EXPECT_TRUE(all.Equals(gdal.get())) << feature->GetFID();
    }
    EXPECT_THAT(parts, ElementsAre(1U, 2U, 0U));
}

TEST(PlainRows, AreRefusedWhereTheLayerIsNoPlainTable) {
    const ScratchFolder folder;
    folder.translate(places, "GPKG", "stops.gpkg", {"-nln", "stops"});
    folder.translate(places, "GeoJSON", "stops.geojson");
    const OpenLayer json = opened(folder, "stops.geojson");
    EXPECT_FALSE(PlainRows::open(json, all_columns(json)));
    for (const char* sql : {"ALTER TABLE stops RENAME TO kept", "CREATE VIEW stops AS SELECT * FROM kept"})
        run_sql(folder, "stops.gpkg", sql);
    run_sql(folder, "stops.gpkg",
            "INSERT OR REPLACE INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES ('stops', "
            "'attributes', 'seen', 0)");
    SurveyFile file;
    file.path = folder.path() / "survey.json";
    SourceDescription description;
    description.source = "stops.gpkg";
    description.layer = "stops";
    const OpenLayer view = open_layer(file, description);
    EXPECT_FALSE(PlainRows::open(view, all_columns(view)));
}

}  // namespace
}  // namespace subcrop::io
