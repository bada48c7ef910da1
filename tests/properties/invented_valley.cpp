#include "properties/invented_valley.hpp"

#include <gdal_priv.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <random>

#include "publish/invented_survey.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::properties {

namespace {

constexpr double west_contact = -300, east_contact = 350, half_width = 1000, half_height = 800, step = 50;
constexpr Point island{0, -200};
constexpr double island_radius = 160;

// Stops in the corners make the blocks of ground that are held out together the same ones wherever north is, and no
// other stop lies near the edge of a block.
constexpr double farthest_x = 980, farthest_y = 784, block_m = 392, clear_m = 22;

bool within_block(double along, double farthest) {
    const double in_block = std::fmod(along + farthest, block_m);
    return in_block > clear_m && in_block < block_m - clear_m;
}

double first_contact(double y) { return west_contact + 80 * std::sin(y / 250); }
double second_contact(double y) { return east_contact + 60 * std::sin(y / 310 + 1); }

/// From (x, south) to (x, north) by steps, x by a function of y.
template <class X>
Ring upward(X x) {
    Ring line;
    for (double y = -half_height; y <= half_height; y += step) line.push_back({x(y), y});
    return line;
}

Polygon between(const Ring& west, const Ring& east) {
    Polygon polygon;
    polygon.shell = east;
    polygon.shell.insert(polygon.shell.end(), west.rbegin(), west.rend());
    polygon.shell.push_back(polygon.shell.front());
    return polygon;
}

std::string digits(double value, int decimals = 12) {
    char text[64];
    std::snprintf(text, sizeof text, "%.*f", decimals, value);
    return text;
}

std::string json_ring(const Ring& ring, const Placing& place) {
    std::string text = "[";
    for (const Point p : ring) {
        const Point q = place(p);
        text += (text.size() > 1 ? ",[" : "[") + digits(q.x) + "," + digits(q.y) + "]";
    }
    return text + "]";
}

std::string json_polygon(const Polygon& polygon, const Placing& place) {
    std::string text = "[" + json_ring(polygon.shell, place);
    for (const Ring& hole : polygon.holes) text += "," + json_ring(hole, place);
    return text + "]";
}

/// A map in GeoJSON; its system is named by the survey file.
std::string json_map(const Valley& valley, const Placing& place) {
    std::string text = R"({"type":"FeatureCollection","features":[)";
    for (const Valley::Ground& ground : valley.map) {
        if (text.back() == '}') text += ',';
        text += R"({"type":"Feature","properties":{"unit":")" + ground.unit +
                R"("},"geometry":{"type":"MultiPolygon","coordinates":[)";
        for (std::size_t i = 0; i < ground.parts.size(); ++i)
            text += (i > 0 ? "," : "") + json_polygon(ground.parts[i], place);
        text += "]}}";
    }
    return text + "]}";
}

double height_m(Point p) { return 300 + 60 * std::sin(p.x / 210) * std::cos(p.y / 190) + 0.06 * p.x; }

void write_terrain(const std::filesystem::path& file, const Writing& writing) {
    constexpr int margin = 500, cell = 20;
    constexpr int columns = (2 * 1000 + 2 * margin) / cell, rows = (2 * 800 + 2 * margin) / cell;
    GDALAllRegister();
    const GDALDatasetUniquePtr raster(
        GetGDALDriverManager()->GetDriverByName("GTiff")->Create(file.c_str(), columns, rows, 1, GDT_Float64, nullptr));
    ASSERT_TRUE(raster);
    OGRSpatialReference system;
    system.SetFromUserInput(writing.crs.c_str());
    raster->SetSpatialRef(&system);
    const Point corner = writing.place({-half_width - margin, half_height + margin});
    double placed[6] = {corner.x, cell, 0, corner.y, 0, -cell};
    raster->SetGeoTransform(placed);
    GDALRasterBand* band = raster->GetRasterBand(1);
    band->SetUnitType(writing.raster_unit.c_str());
    std::vector<double> line(columns);
    for (int r = 0; r < rows; ++r) {
        for (int c = 0; c < columns; ++c) {
            const Point centre{-half_width - margin + (c + 0.5) * cell, half_height + margin - (r + 0.5) * cell};
            line[static_cast<std::size_t>(c)] = writing.height_factor * height_m(centre);
        }
        ASSERT_EQ(band->RasterIO(GF_Write, 0, r, columns, 1, line.data(), columns, 1, GDT_Float64, 0, 0), CE_None);
    }
}

std::filesystem::path write(const std::filesystem::path& folder, const Valley& valley, const Writing& writing) {
    using publish::test::write_file;
    std::string stops = "stop,x,y,position_sd_m,plants,unit_seen\n";
    for (const Valley::Stop& stop : valley.stops) {
        const Point p = writing.place(stop.place);
        stops += stop.id + "," + digits(p.x) + "," + digits(p.y) + ",8," + stop.plants + "," + stop.unit_seen + "\n";
    }
    write_file(folder / "stops.csv", stops);
    std::string horizons = "stop,top_cm,bottom_cm,designation,colour_moist,texture\n";
    const auto depth = writing.depth ? writing.depth : [](double cm) { return digits(cm, 2); };
    for (const Valley::Layer& h : valley.horizons) {
        horizons += h.stop + "," + depth(h.top_cm) + "," + depth(h.bottom_cm) + "," + h.designation + "," + h.colour +
                    "," + h.texture + "\n";
    }
    write_file(folder / "horizons.csv", horizons);
    write_file(folder / "map.json", json_map(valley, writing.place_map ? writing.place_map : writing.place));
    std::string legend = "unit,name\n";
    for (const std::string& unit : valley.units) legend += unit + "," + unit + "\n";
    write_file(folder / "legend.csv", legend);
    std::string json = R"({"title": "A valley", "stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": ")" +
                       writing.crs + R"("}, "horizons": {"source": "horizons.csv"},)" +
                       R"("map": {"source": "map.json", "contact_sd_m": 30, "crs": ")" +
                       (writing.map_crs.empty() ? writing.crs : writing.map_crs) + R"("}, "settings": )" +
                       writing.settings;
    if (writing.legend) json += R"(, "legend": {"source": "legend.csv"})";
    if (!writing.working_crs.empty()) json += R"(, "crs": ")" + writing.working_crs + "\"";
    if (writing.height_factor > 0) {
        write_terrain(folder / "terrain.tif", writing);
        json += R"(, "terrain": {"source": "terrain.tif")";
        if (!writing.stated_unit.empty()) json += R"(, "vertical_unit": ")" + writing.stated_unit + "\"";
        json += "}";
    }
    write_file(folder / "survey.json", json + R"(, "results": "results"})");
    return folder / "survey.json";
}

}  // namespace

Valley::Valley() : units{"SND", "MUD", "LIM", "GRA"} {
    const Ring west = upward([](double) { return -half_width; }), first = upward(first_contact),
               second = upward(second_contact), east = upward([](double) { return half_width; });
    Ring shore;
    for (int i = 0; i <= 16; ++i) {
        const double angle = i % 16 * M_PI / 8;
        shore.push_back({island.x + island_radius * std::cos(angle), island.y + island_radius * std::sin(angle)});
    }
    Polygon middle = between(first, second);
    middle.holes.push_back(Ring(shore.rbegin(), shore.rend()));
    map = {
        {"SND", {between(west, first)}}, {"MUD", {middle}}, {"LIM", {between(second, east)}}, {"GRA", {{shore, {}}}}};

    const char* const colours[4][4] = {{"10YR 5/6", "10YR 5/4", "7.5YR 5/6", "10YR 6/6"},
                                       {"2.5YR 4/6", "2.5YR 4/4", "5YR 4/6", "2.5YR 3/6"},
                                       {"10YR 3/2", "10YR 3/3", "7.5YR 3/2", "10YR 4/3"},
                                       {"2.5Y 7/3", "2.5Y 7/4", "10YR 7/3", "5Y 7/3"}};
    const char* const textures[4][4] = {
        {"SL", "LS", "SL", "L"}, {"C", "SIC", "CL", "C"}, {"CL", "SICL", "CL", "SIL"}, {"SL", "SCL", "LS", "SL"}};
    const char* const plants[4] = {"heather", "rushes", "wild thyme", "gorse"};
    std::mt19937_64 random(11);  // its sequence is fixed by the standard
    const auto share = [&random] { return static_cast<double>(random() >> 11U) * 0x1.0p-53; };
    const auto any = [&random](const char* const(&words)[4]) { return std::string(words[random() >> 62U]); };
    const auto place = [&share] {
        for (;;) {
            const Point p{(2 * share() - 1) * farthest_x, (2 * share() - 1) * farthest_y};
            if (within_block(p.x, farthest_x) && within_block(p.y, farthest_y)) return p;
        }
    };
    for (int i = 0; i < 184; ++i) {
        const Point corner{i % 2 == 0 ? farthest_x : -farthest_x, i / 2 % 2 == 0 ? farthest_y : -farthest_y};
        const Point p = i < 4 ? corner : place();
        std::size_t unit = p.x < first_contact(p.y) ? 0 : p.x < second_contact(p.y) ? 1 : 2;
        if (distance(p, island) < island_radius) unit = 3;
        if (i % 12 == 5) unit = (unit + 1 + random() % 2) % 4;
        const std::string id = "V" + std::to_string(i + 1);
        stops.push_back({id, p, share() < 0.7 ? plants[unit] : "", i % 10 == 5 ? units[unit] : ""});
        const double a = 10 + std::floor(10 * share()), b = a + 20 + std::floor(20 * share());
        horizons.push_back({id, "A", any(colours[unit]), any(textures[unit]), 0, a});
        horizons.push_back({id, "Bw", any(colours[unit]), any(textures[unit]), a, b});
        if (share() < 0.5) horizons.push_back({id, "C", any(colours[unit]), any(textures[unit]), b, b + 30});
    }
}

Judgement judge(const Valley& valley, const Writing& writing) {
    const publish::test::TemporaryFolder folder(testing::TempDir());
    Judgement judgement;
    try {
        Progress silent;
        publish::RunOptions options;
        options.threads = writing.threads;
        options.report = false;
        const publish::RunSummary summary = publish::run_survey(write(folder.path(), valley, writing), options, silent);
        const GDALDatasetUniquePtr file(
            GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        if (!file) throw std::runtime_error("no results");
        OGRLayer& stops = *file->GetLayerByName("stop_fit");
        judgement.working_crs = stops.GetSpatialRef()->GetName();
        for (const auto& row : stops) {
            const auto text = [&](const char* field) { return std::string(row->GetFieldAsString(field)); };
            judgement.stops[text("stop")] = {text("mapped_unit"),
                                             text("fitted_unit"),
                                             text("verdict"),
                                             text("landform"),
                                             row->GetFieldAsDouble("p_mapped"),
                                             row->GetFieldAsDouble("p_fitted"),
                                             row->GetFieldAsDouble("contact_distance_m")};
            judgement.creep_m += row->GetFieldAsDouble("creep_m");
        }
        for (const auto& row : *file->GetLayerByName("contact_review")) {
            std::string a = row->GetFieldAsString("unit_a"), b = row->GetFieldAsString("unit_b");
            if (b < a) std::swap(a, b);
            Judgement::Contacts& contacts = judgement.contacts[{a, b}];
            contacts.stops_for += row->GetFieldAsInteger("stops_for");
            contacts.stops_against += row->GetFieldAsInteger("stops_against");
            contacts.length_m += row->GetGeometryRef()->toLineString()->get_Length();
        }
        for (const auto& row : *file->GetLayerByName("problems"))
            judgement.problems.emplace_back(row->GetFieldAsString("message"));
    } catch (const std::exception& fault) {
        ADD_FAILURE() << fault.what();
    }
    return judgement;
}

void expect_same(const Judgement& one, const Judgement& other, double tolerance, double distance_share) {
    ASSERT_FALSE(one.stops.empty());
    ASSERT_EQ(one.stops.size(), other.stops.size());
    for (const auto& [id, verdict] : one.stops) {
        ASSERT_TRUE(other.stops.contains(id)) << id;
        const Verdict& now = other.stops.at(id);
        EXPECT_EQ(verdict.mapped, now.mapped) << id;
        EXPECT_EQ(verdict.fitted, now.fitted) << id;
        // Probabilities that may differ by so much may fall to either side of the 0.8 from which a stop agrees.
        constexpr double agrees_from = 0.8;
        const auto [low, high] = std::minmax(verdict.p_mapped, now.p_mapped);
        const bool at_the_limit = low < agrees_from && high >= agrees_from && high - low <= tolerance;
        EXPECT_TRUE(verdict.verdict == now.verdict || at_the_limit)
            << id << ": " << verdict.verdict << ", " << now.verdict;
        EXPECT_NEAR(verdict.p_mapped, now.p_mapped, tolerance) << id;
        EXPECT_NEAR(verdict.p_fitted, now.p_fitted, tolerance) << id;
        EXPECT_NEAR(verdict.contact_distance_m, now.contact_distance_m,
                    0.01 + distance_share * verdict.contact_distance_m)
            << id;
    }
    EXPECT_EQ(one.contacts.size(), other.contacts.size());
    for (const auto& [pair, contacts] : one.contacts) {
        ASSERT_TRUE(other.contacts.contains(pair)) << pair.first << pair.second;
        const Judgement::Contacts& now = other.contacts.at(pair);
        EXPECT_EQ(contacts.stops_for, now.stops_for) << pair.first << pair.second;
        EXPECT_EQ(contacts.stops_against, now.stops_against) << pair.first << pair.second;
        EXPECT_NEAR(contacts.length_m, now.length_m, 0.01 + distance_share * contacts.length_m)
            << pair.first << pair.second;
    }
}

std::vector<std::string> differing(const Judgement& one, const Judgement& other) {
    std::vector<std::string> ids;
    for (const auto& [id, verdict] : one.stops) {
        const auto now = other.stops.find(id);
        if (now == other.stops.end() || now->second.verdict != verdict.verdict ||
            now->second.fitted != verdict.fitted || now->second.mapped != verdict.mapped) {
            ids.push_back(id);
        }
    }
    return ids;
}

Placing transformed(const std::string& from, const std::string& to) {
    OGRSpatialReference a, b;
    EXPECT_EQ(a.SetFromUserInput(from.c_str()), OGRERR_NONE) << from;
    EXPECT_EQ(b.SetFromUserInput(to.c_str()), OGRERR_NONE) << to;
    a.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    b.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    const std::shared_ptr<OGRCoordinateTransformation> operation(OGRCreateCoordinateTransformation(&a, &b));
    return [operation](Point p) {
        EXPECT_TRUE(operation->Transform(1, &p.x, &p.y));
        return p;
    };
}

}  // namespace subcrop::properties
