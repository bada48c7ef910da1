#include "io/ways_reader.hpp"

#include <algorithm>
#include <memory>
#include <utility>

#include "io/ogr_shapes.hpp"
#include "io/source_crs.hpp"
#include "io/table.hpp"

namespace subcrop::io {

namespace {

/// The lines of a geometry; nothing of it where `polygons` is wanted instead, and the other way round.
void collect(const OGRGeometry& geometry, std::vector<Line>* lines, std::vector<Polygon>* polygons) {
    if (geometry.IsEmpty()) return;
    if (geometry.hasCurveGeometry(TRUE)) {
        const std::unique_ptr<OGRGeometry> straight(geometry.getLinearGeometry());
        if (straight) collect(*straight, lines, polygons);
        return;
    }
    const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
    if (type == wkbLineString && lines != nullptr) {
        lines->push_back(line_of(*geometry.toLineString()));
    } else if (type == wkbPolygon && polygons != nullptr) {
        polygons->push_back(polygon_of(*geometry.toPolygon()));
    } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection)) {
        for (const OGRGeometry* part : *geometry.toGeometryCollection()) collect(*part, lines, polygons);
    }
}

/// Reads one layer; each row's lines or polygons, as `wanted` says, go into the working projection.
void read_layer(const SurveyFile& file, const SourceDescription& description, const char* key, const char* wanted,
                const geo::Crs& working, ProblemLog& problems, std::vector<Line>* lines,
                std::vector<Polygon>* polygons) {
    Table table(open_layer(file, description), description, key, problems);
    const geo::Crs from = source_crs(file, description, table);
    struct Row {
        std::int64_t row;
        std::vector<Line> lines;
        std::vector<Polygon> polygons;
    };
    std::vector<Row> rows;
    std::vector<Point> sample;
    while (table.next()) {
        Row row{table.row(), {}, {}};
        if (const OGRGeometry* geometry = table.geometry())
            collect(*geometry, lines ? &row.lines : nullptr, polygons ? &row.polygons : nullptr);
        std::erase_if(row.lines, [](const Line& line) { return line.size() < 2; });
        if (row.lines.empty() && row.polygons.empty()) {
            table.report(Severity::warning, {}, {}, std::string("the row is no ") + wanted + " and is left out",
                         std::string("Keep ") + wanted + "s only in this layer.");
            continue;
        }
        if (sample.size() < 2000) sample.push_back(row.lines.empty() ? row.polygons[0].shell[0] : row.lines[0][0]);
        rows.push_back(std::move(row));
    }
    if (rows.empty()) {
        problems.add({.severity = Severity::warning,
                      .source = table.source(),
                      .row = {},
                      .field = {},
                      .value = {},
                      .message = std::string("there is no ") + wanted + " in it",
                      .remedy = std::string("Check the source and layer under '") + key + "' in the survey file.",
                      .position = {}});
        return;
    }
    const geo::Transformation transformation(
        from, working, sample, {.allow_ballpark = file.settings.allow_ballpark, .source = table.source()});
    const auto moved = [&](std::vector<Point>& points) {
        if (transformation.identity()) return true;
        const std::vector<std::uint8_t> good = transformation.apply(points);
        return std::find(good.begin(), good.end(), 0) == good.end();
    };
    for (Row& row : rows) {
        bool good = true;
        for (Line& line : row.lines) good = good && moved(line);
        for (Polygon& polygon : row.polygons) {
            good = good && moved(polygon.shell);
            for (Ring& hole : polygon.holes) good = good && moved(hole);
        }
        if (!good) {
            problems.add({.severity = Severity::warning,
                          .source = table.source(),
                          .row = row.row,
                          .field = {},
                          .value = {},
                          .message = "the " + std::string(wanted) + " reaches outside the area in which " +
                                     from.name() + " and " + working.name() + " hold and is left out",
                          .remedy = std::string("Correct it, or the key 'crs' of '") + key + "'.",
                          .position = {}});
            continue;
        }
        if (lines) std::move(row.lines.begin(), row.lines.end(), std::back_inserter(*lines));
        if (polygons) std::move(row.polygons.begin(), row.polygons.end(), std::back_inserter(*polygons));
    }
}

}  // namespace

void read_ways(const SurveyFile& file, const geo::Crs& working, model::Survey& survey, ProblemLog& problems) {
    if (file.tracks) {
        read_layer(file, *file.tracks, "tracks", "line", working, problems, &survey.tracks, nullptr);
        survey.track_reach_m = file.tracks->within_m.value_or(survey.track_reach_m);
    }
    if (file.no_go) read_layer(file, *file.no_go, "no_go", "polygon", working, problems, nullptr, &survey.no_go);
}

}  // namespace subcrop::io
