#include "subcrop/publish/survey_run.hpp"

#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <numeric>
#include <set>

#include "publish/invented_survey.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/publish/survey_trial.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;

std::vector<std::string> field_names(OGRLayer& layer) {
    std::vector<std::string> names;
    for (int i = 0; i < layer.GetLayerDefn()->GetFieldCount(); ++i)
        names.emplace_back(layer.GetLayerDefn()->GetFieldDefn(i)->GetNameRef());
    return names;
}

class SurveyRunTest : public testing::Test {
protected:
    SurveyRunTest() : folder_holder(testing::TempDir()), folder(folder_holder.path()) {}
    ~SurveyRunTest() override { unsetenv("SOURCE_DATE_EPOCH"); }

    test::TemporaryFolder folder_holder;
    fs::path folder;
    Progress silent;
};

TEST_F(SurveyRunTest, WritesEveryLayerWithItsFields) {
    const RunSummary summary = run_survey(test::write_survey(folder), {}, silent);
    EXPECT_EQ(summary.result_file, folder / "results" / "results.gpkg");
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(file);
    ASSERT_EQ(file->GetLayerCount(), 15);
    OGRLayer& stops = *file->GetLayerByName("stop_fit");
    EXPECT_THAT(field_names(stops),
                ElementsAre("stop", "traverse", "mapped_unit", "fitted_unit", "p_mapped", "p_fitted", "soil_log10_odds",
                            "typicality", "verdict", "contact_distance_m", "neighbour_unit", "position_sd_m",
                            "parent_material", "p_transported", "kind", "rock_depth_cm", "slope_deg", "landform",
                            "creep_m", "upslope_unit", "upslope_share", "reason", "unit_seen", "date", "notes"));
    EXPECT_THAT(field_names(*file->GetLayerByName("stop_evidence")),
                ElementsAre("stop", "unit", "channel", "log_likelihood", "weight"));
    EXPECT_THAT(field_names(*file->GetLayerByName("contact_review")),
                ElementsAre("unit_a", "unit_b", "stops_for", "stops_against", "log10_odds_against", "shift_m",
                            "shift_sd_m", "shift_azimuth_deg", "p_moved", "elsewhere_m", "elsewhere_by_m", "review"));
    EXPECT_THAT(field_names(*file->GetLayerByName("contact_stretches")),
                ElementsAre("contact", "stretch", "unit_a", "unit_b", "review", "length_m", "shift_m",
                            "shift_half_width_m", "shift_azimuth_deg", "location_confidence_m", "log10_odds_against",
                            "stops_for", "stops_against", "dig", "dig_x", "dig_y"));
    EXPECT_THAT(field_names(*file->GetLayerByName("relocated_contacts")),
                ElementsAre("contact", "unit_a", "unit_b", "location_confidence_m", "existence_confidence",
                            "identity_confidence", "location_class"));
    EXPECT_THAT(field_names(*file->GetLayerByName("disputed_area")),
                ElementsAre("drafted_unit", "like_unit", "stops", "stops_rock_seen", "probability", "log10_odds",
                            "area_m2", "reason"));
    EXPECT_THAT(field_names(*file->GetLayerByName("traverse_crossings")),
                ElementsAre("traverse", "from_unit", "to_unit", "chainage_m", "chainage_low_m", "chainage_high_m",
                            "probability", "mapped_chainage_m", "offset_m", "status"));
    EXPECT_GT(file->GetLayerByName("traverse_crossings")->GetFeatureCount(), 0);
    EXPECT_THAT(field_names(*file->GetLayerByName("changes")),
                ElementsAre("kind", "what", "before", "after", "sentence"));
    EXPECT_EQ(file->GetLayerByName("changes")->GetFeatureCount(), 0);
    EXPECT_THAT(field_names(*file->GetLayerByName("problems")),
                ElementsAre("source", "row", "stop", "field", "value", "severity", "message", "remedy"));
    EXPECT_EQ(stops.GetFeatureCount(), 150);
    EXPECT_STREQ(stops.GetSpatialRef()->GetAuthorityCode(nullptr), "32633");

    // every coded column names a domain that lists every value that stands in it
    for (OGRLayer* layer : file->GetLayers()) {
        for (int i = 0; i < layer->GetLayerDefn()->GetFieldCount(); ++i) {
            const OGRFieldDefn* field = layer->GetLayerDefn()->GetFieldDefn(i);
            const std::string domain_name = field->GetDomainName();
            const OGRFieldDomain* domain = domain_name.empty() ? nullptr : file->GetFieldDomain(domain_name);
            if (domain == nullptr || domain->GetDomainType() != OFDT_CODED) continue;
            std::set<std::string> codes;
            for (const auto* code = static_cast<const OGRCodedFieldDomain*>(domain)->GetEnumeration(); code->pszCode;
                 ++code)
                codes.insert(code->pszCode);
            layer->ResetReading();
            for (const auto& feature : *layer) {
                const int at = feature->GetFieldIndex(field->GetNameRef());
                if (!feature->IsFieldSetAndNotNull(at)) continue;
                EXPECT_THAT(codes, testing::Contains(feature->GetFieldAsString(at))) << layer->GetName() << domain_name;
            }
        }
    }
    for (const char* coded : {"mapped_unit", "fitted_unit", "neighbour_unit", "verdict", "parent_material"})
        EXPECT_NE(stops.GetLayerDefn()->GetFieldDefn(stops.GetLayerDefn()->GetFieldIndex(coded))->GetDomainName(), "")
            << coded;
}

TEST_F(SurveyRunTest, NotesAndColumnsOfHersAreCarriedThroughToEveryFormat) {
    const fs::path survey = test::write_survey(folder);
    std::string json = bytes_of(survey);
    json.insert(1, R"("carry": ["observer", "Verdict"], )");
    test::write_file(survey, json);
    std::ifstream in(folder / "stops.csv");
    std::string text;
    for (std::string line; std::getline(in, line);) {
        const std::string id = line.substr(0, line.find(','));
        text += line + (id == "stop" ? ",date,notes,observer,Verdict\n"
                        : id == "S8" ? ",12 May 2026,\"auger, \"\"refused\"\" at 40 cm\",E. Tarn,hers\n"
                                     : ",,,,\n");
    }
    in.close();
    test::write_file(folder / "stops.csv", text);
    const RunSummary summary =
        run_survey(survey, {.report = false, .formats = {OutputFormat::csv, OutputFormat::geojson}}, silent);
    for (const fs::path& made : {summary.result_file, folder / "results/geojson/stop_fit.geojson"}) {
        const GDALDatasetUniquePtr file(GDALDataset::Open(made.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        ASSERT_TRUE(file) << made;
        std::size_t rows = 0;
        for (const auto& f : *file->GetLayerByName("stop_fit")) {
            ++rows;
            if (std::string(f->GetFieldAsString("stop")) != "S8") {
                EXPECT_FALSE(f->IsFieldSetAndNotNull(f->GetFieldIndex("notes")));
                EXPECT_FALSE(f->IsFieldSetAndNotNull(f->GetFieldIndex("observer")));
                continue;
            }
            EXPECT_THAT(f->GetFieldAsString("unit_seen"), testing::AnyOf(testing::StrEq("SND"), testing::StrEq("MUD")));
            std::string date = f->GetFieldAsString("date");
            std::replace(date.begin(), date.end(), '/', '-');  // as GDAL shows what it takes for a date in GeoJSON
            EXPECT_EQ(date, "2026-05-12");
            EXPECT_STREQ(f->GetFieldAsString("notes"), "auger, \"refused\" at 40 cm");
            EXPECT_STREQ(f->GetFieldAsString("observer"), "E. Tarn");
            EXPECT_STREQ(f->GetFieldAsString("Verdict_noted"), "hers") << "stop_fit has a verdict of its own";
            EXPECT_STRNE(f->GetFieldAsString("verdict"), "hers");
        }
        EXPECT_EQ(rows, 150U);
    }
    EXPECT_THAT(bytes_of(folder / "results/csv/stop_fit.csv"),
                testing::HasSubstr(",2026-05-12,\"auger, \"\"refused\"\" at 40 cm\",E. Tarn,hers,"));
}

TEST_F(SurveyRunTest, AMistypedPositionBendsNoTraverse) {
    const auto crossings = [&](const fs::path& survey) {
        const RunSummary summary = run_survey(survey, {.report = false}, silent);
        const GDALDatasetUniquePtr file(
            GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        std::vector<double> chainages;
        for (const auto& f : *file->GetLayerByName("traverse_crossings")) {
            const bool wanted = std::string(f->GetFieldAsString("traverse")) == "T2";
            if (wanted) chainages.push_back(f->GetFieldAsDouble("chainage_m"));
        }
        return chainages;
    };
    const fs::path survey = test::write_survey(folder);
    const std::vector<double> before = crossings(survey);
    ASSERT_GE(before.size(), 3U);
    // Ten kilometres off, nothing noted. It widens the survey's box, and so moves blocks by which stops are held out:
    // metres stay, parts do not.
    std::ofstream(folder / "stops.csv", std::ios::app) << "D2,T2,510500,5600500,8,,,,\n";
    EXPECT_THAT(crossings(survey), testing::Pointwise(testing::DoubleNear(2), before));
}

TEST_F(SurveyRunTest, RowsSayWhatTheSummarySays) {
    const RunSummary summary = run_survey(test::write_survey(folder), {}, silent);
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(file);
    std::map<std::string, std::size_t> verdicts;
    std::map<std::string, std::string> reasons;
    std::map<std::string, double> p_of;
    int row = 0;
    for (const auto& stop : *file->GetLayerByName("stop_fit")) {
        EXPECT_EQ(stop->GetFieldAsString("stop"), "S" + std::to_string(++row));  // the order of the field book
        ++verdicts[stop->GetFieldAsString("verdict")];
        reasons[stop->GetFieldAsString("stop")] = stop->GetFieldAsString("reason");
        const double p_mapped = stop->GetFieldAsDouble("p_mapped"), p_fitted = stop->GetFieldAsDouble("p_fitted");
        p_of[stop->GetFieldAsString("stop")] = p_mapped;
        EXPECT_GE(p_fitted, p_mapped);
        EXPECT_LE(p_fitted, 1);
        const OGRPoint& place = *stop->GetGeometryRef()->toPoint();
        EXPECT_STREQ(stop->GetFieldAsString("mapped_unit"), place.getX() < 500500 ? "SND" : "MUD");
        EXPECT_NEAR(stop->GetFieldAsDouble("contact_distance_m"), std::abs(place.getX() - 500500), 0.01);
        EXPECT_NEAR(stop->GetFieldAsDouble("position_sd_m"), 8, 1e-9);
    }
    ASSERT_EQ(summary.verdicts.size(), infer::verdict_count);
    for (std::size_t i = 0; i < infer::verdict_count; ++i)
        EXPECT_EQ(summary.verdicts[i], verdicts[std::string(to_string(static_cast<infer::Verdict>(i)))]) << i;
    EXPECT_EQ(std::accumulate(summary.verdicts.begin(), summary.verdicts.end(), std::size_t{0}), summary.stops);
    EXPECT_GT(verdicts["agrees"], 100U);
    ASSERT_GE(summary.conflicts.size(), 3U);
    ASSERT_LE(summary.conflicts.size(), 5U);
    for (const Highlight& conflict : summary.conflicts) {
        EXPECT_EQ(std::stoi(conflict.name.substr(1)) % 25, 8)
            << conflict.name;  // the stops that are the other way round
        EXPECT_EQ(conflict.reason, reasons.at(conflict.name));
    }
    for (std::size_t i = 1; i < summary.conflicts.size(); ++i)
        EXPECT_LE(p_of.at(summary.conflicts[i - 1].name), p_of.at(summary.conflicts[i].name));

    int contacts = 0;
    for (const auto& contact : *file->GetLayerByName("contact_review")) {
        ++contacts;
        EXPECT_STREQ(contact->GetFieldAsString("unit_a"), "SND");
        EXPECT_STREQ(contact->GetFieldAsString("unit_b"), "MUD");
        EXPECT_NEAR(contact->GetGeometryRef()->toLineString()->get_Length(), 1000, 1e-6);
    }
    EXPECT_EQ(contacts, 1);

    // Held-out ground asks for no move of a right map: contacts stay, zones follow the line.
    const auto only = [&](const char* layer) {
        EXPECT_EQ(file->GetLayerByName(layer)->GetFeatureCount(), 1) << layer;
        return OGRFeatureUniquePtr(file->GetLayerByName(layer)->GetNextFeature());
    };
    const OGRFeatureUniquePtr relocated = only("relocated_contacts"), zone = only("contact_zones");
    ASSERT_TRUE(relocated && zone);
    EXPECT_NEAR(relocated->GetGeometryRef()->toLineString()->get_Length(), 1000, 1e-6);
    EXPECT_EQ(relocated->GetFieldAsInteger("contact"), 1);
    const double half_width = relocated->GetFieldAsDouble("location_confidence_m");
    EXPECT_GT(half_width, 0);
    EXPECT_EQ(zone->GetFieldAsDouble("location_confidence_m"), half_width);
    EXPECT_TRUE(zone->GetGeometryRef()->IsValid());
    const double stadium = 2 * half_width * 1000 + M_PI * half_width * half_width;
    EXPECT_NEAR(zone->GetGeometryRef()->toMultiPolygon()->get_Area(), stadium, 0.01 * stadium);
    // The revised map is the whole map, here as it was drawn.
    OGRLayer& revised = *file->GetLayerByName("revised_units");
    EXPECT_EQ(revised.GetFeatureCount(), 2);
    for (const auto& unit : revised) {
        EXPECT_STREQ(unit->GetFieldAsString("source"), "as_drawn");
        EXPECT_EQ(unit->GetFieldAsDouble("changed_hectares"), 0);
        EXPECT_NEAR(unit->GetFieldAsDouble("hectares"), 50, 1e-7);
        EXPECT_GT(unit->GetFieldAsDouble("probability"), 0.8);
    }
    for (const auto& unit : *file->GetLayerByName("unit_summary")) {
        EXPECT_NEAR(unit->GetFieldAsDouble("area_m2"), 500000, 1e-3);
        EXPECT_NEAR(unit->GetGeometryRef()->toMultiPolygon()->get_Area(), 500000, 1e-3);
        EXPECT_TRUE(unit->GetGeometryRef()->IsValid());
    }
    EXPECT_EQ(file->GetLayerByName("unit_summary")->GetFeatureCount(), 2);
}

TEST_F(SurveyRunTest, TheRasterSaysWhatIsKnownEverywhere) {
    RunOptions options;
    options.grid_m = 10;
    const RunSummary summary = run_survey(test::write_survey(folder), options, silent);
    ASSERT_EQ(summary.grid_file.filename(), "confidence.tif");
    const std::unique_ptr<GDALDataset, void (*)(GDALDataset*)> raster(
        GDALDataset::Open(summary.grid_file.c_str(), GDAL_OF_RASTER | GDAL_OF_READONLY),
        [](GDALDataset* one) { GDALClose(one); });
    ASSERT_TRUE(raster);
    ASSERT_EQ(raster->GetRasterCount(), 3);
    EXPECT_STREQ(raster->GetMetadataItem("unit_1"), "SND: Brown sandstone");
    std::array<double, 6> g{};
    ASSERT_EQ(raster->GetGeoTransform(g.data()), CE_None);
    EXPECT_EQ(g[1], 10);
    EXPECT_EQ(std::fmod(g[0], 10), 0);  // on round numbers
    EXPECT_EQ(std::fmod(g[3], 10), 0);
    const auto value = [&](int band, int column, int row) {
        float v = 0;
        EXPECT_EQ(
            raster->GetRasterBand(band)->RasterIO(GF_Read, column, row, 1, 1, &v, 1, 1, GDT_Float32, 0, 0, nullptr),
            CE_None);
        return static_cast<double>(v);
    };
    // The unit is that of the revised map, and entropy follows from two probabilities (Shannon 1948).
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    OGRLayer& revised = *file->GetLayerByName("revised_units");
    int asked = 0;
    for (int row = 2; row < raster->GetRasterYSize(); row += 9) {
        for (int column = 2; column < raster->GetRasterXSize(); column += 9) {
            OGRPoint place(g[0] + (column + 0.5) * g[1], g[3] + (row + 0.5) * g[5]);
            std::string unit;
            for (const auto& polygon : revised)
                if (polygon->GetGeometryRef()->Contains(&place)) unit = polygon->GetFieldAsString("unit");
            const double p = value(2, column, row);
            if (unit.empty()) {
                EXPECT_EQ(p, -1);
                continue;
            }
            ++asked;
            if (p > 0.6) {
                EXPECT_EQ(value(1, column, row), unit == "SND" ? 1 : 2) << column << ' ' << row;
            }
            const double q = std::max(1 - p, 1e-12);
            EXPECT_NEAR(value(3, column, row), -p * std::log2(p) - q * std::log2(q), 1e-4);
        }
    }
    EXPECT_GT(asked, 50);
    // The same bytes again.
    const std::string first = bytes_of(summary.grid_file);
    options.threads = 1;
    run_survey(folder / "survey.json", options, silent);
    EXPECT_EQ(bytes_of(summary.grid_file), first);
    options.grid_m = 0.1;
    EXPECT_THROW(run_survey(folder / "survey.json", options, silent), Error);
}

TEST_F(SurveyRunTest, EvidenceSpeaksForTheFittedUnit) {
    const RunSummary summary = run_survey(test::write_survey(folder), {}, silent);
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    std::map<std::pair<std::string, std::string>, double> sums;
    for (const auto& row : *file->GetLayerByName("stop_evidence"))
        sums[{row->GetFieldAsString("stop"), row->GetFieldAsString("unit")}] +=
            row->GetFieldAsDouble("weight") * row->GetFieldAsDouble("log_likelihood");
    ASSERT_FALSE(sums.empty());
    int compared = 0;
    for (const auto& stop : *file->GetLayerByName("stop_fit")) {
        const std::string id = stop->GetFieldAsString("stop"), mapped = stop->GetFieldAsString("mapped_unit"),
                          fitted = stop->GetFieldAsString("fitted_unit");
        if (mapped == fitted || !stop->IsFieldSetAndNotNull(stop->GetFieldIndex("soil_log10_odds"))) continue;
        ++compared;
        // a chance that the soil is transported may take some of it away, never add to it
        const double log10_odds = (sums[{id, fitted}] - sums[{id, mapped}]) / std::log(10);
        EXPECT_GT(stop->GetFieldAsDouble("soil_log10_odds"), 0) << id;
        EXPECT_LE(stop->GetFieldAsDouble("soil_log10_odds"), log10_odds + 1e-4) << id;
    }
    EXPECT_GE(compared, 4);
}

TEST_F(SurveyRunTest, EvidenceIsLeftOutWhereAsked) {
    const RunSummary summary =
        run_survey(test::write_survey(folder, {.settings = R"({"evidence": "none"})"}), {}, silent);
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    EXPECT_EQ(file->GetLayerByName("stop_evidence")->GetFeatureCount(), 0);
    EXPECT_EQ(file->GetLayerByName("stop_fit")->GetFeatureCount(), 150);
}

TEST_F(SurveyRunTest, BytesDependOnInputOnly) {
    setenv("SOURCE_DATE_EPOCH", "1700000000", 1);
    const fs::path survey = test::write_survey(folder, {.stops = 400, .mistakes = true});
    std::string first;
    for (const unsigned threads : {1U, 2U, 5U}) {
        const RunSummary summary = run_survey(survey, {.threads = threads, .results = folder / "out"}, silent);
        EXPECT_EQ(summary.result_file, folder / "out" / "results.gpkg");
        if (first.empty())
            first = bytes_of(summary.result_file);
        else
            EXPECT_TRUE(first == bytes_of(summary.result_file)) << threads;
    }
    EXPECT_FALSE(fs::exists(folder / "results"));
}

TEST_F(SurveyRunTest, TheFileTellsWhatItWasMadeFrom) {
    const RunSummary summary = run_survey(test::write_survey(folder), {}, silent);
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    OGRLayer* rows = file->ExecuteSQL("SELECT metadata FROM gpkg_metadata", nullptr, nullptr);
    ASSERT_NE(rows, nullptr);
    const OGRFeatureUniquePtr row(rows->GetNextFeature());
    const nlohmann::json metadata = nlohmann::json::parse(row->GetFieldAsString(0));
    file->ReleaseResultSet(rows);
    EXPECT_EQ(metadata["version"], version());
    EXPECT_EQ(metadata["title"], "Two hills");
    EXPECT_EQ(metadata["inputs"]["stops"]["source"], "stops.csv");
    EXPECT_EQ(metadata["inputs"]["stops"]["rows_used"], 150);
    EXPECT_EQ(metadata["inputs"]["map"]["polygons_used"], 2);
    EXPECT_EQ(metadata["settings"]["contact_sd_m"], 20.0);
    EXPECT_EQ(metadata["settings"]["evidence"], "top");
    EXPECT_FALSE(metadata["channels"].empty());
}

TEST_F(SurveyRunTest, BadRecordsBecomeRowsOfProblems) {
    const RunSummary summary = run_survey(test::write_survey(folder, {.mistakes = true}), {}, silent);
    EXPECT_GE(summary.problem_errors + summary.problem_warnings, 2U);
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    std::set<std::string> values;
    std::size_t rows = 0;
    for (const auto& problem : *file->GetLayerByName("problems")) {
        ++rows;
        EXPECT_STRNE(problem->GetFieldAsString("message"), "");
        values.insert(problem->GetFieldAsString("value"));
    }
    EXPECT_EQ(rows, summary.problem_errors + summary.problem_warnings + summary.problem_notes);
    EXPECT_THAT(values, testing::Contains("10XR 4/3"));
    ASSERT_FALSE(summary.first_problems.empty());
    EXPECT_LE(summary.first_problems.size(), 10U);
}

TEST_F(SurveyRunTest, NeverReplacesItsOwnInput) {
    const fs::path survey = test::write_survey(folder);
    fs::rename(folder / "map.geojson", folder / "results.gpkg");
    std::string text = bytes_of(survey);
    text.replace(text.find("map.geojson"), 11, "results.gpkg");
    test::write_file(survey, text);
    const std::string map = bytes_of(folder / "results.gpkg");
    try {
        run_survey(survey, {.results = folder}, silent);
        FAIL();
    } catch (const Error& error) {
        EXPECT_THAT(error.what(), HasSubstr("this would replace the map it comes from. Name another folder or file."));
    }
    EXPECT_TRUE(map == bytes_of(folder / "results.gpkg"));
}

/// Each source under each name that some result has, with the survey's own folder for the results.
TEST_F(SurveyRunTest, NeverReplacesAnyOfItsInputs) {
    struct Case {
        const char *old_name, *new_name, *source;
    };
    for (const Case& c : {Case{"legend.csv", "units.csv", "legend"},
                          {"stops.csv", "csv/stop_fit.csv", "stops"},
                          {"map.geojson", "results.partial.gpkg", "map"},
                          {"legend.csv", "units.partial.csv", "legend"},
                          {"stops.csv", "stop_fit.dbf", "stops"},
                          {"stops.csv", "report.html", "stops"}}) {
        SCOPED_TRACE(c.new_name);
        const fs::path survey = test::write_survey(folder);
        for (const char* sub : {"csv", "shapefile"}) fs::create_directories(folder / sub);
        const std::string place =
            std::string(c.new_name).ends_with(".dbf") ? std::string("shapefile/") + c.new_name : c.new_name;
        fs::rename(folder / c.old_name, folder / place);
        std::string text = bytes_of(survey);
        text.replace(text.find(c.old_name), std::string(c.old_name).size(), place);
        test::write_file(survey, text);
        const std::string before = bytes_of(folder / place);
        try {
            run_survey(survey, {.results = folder, .formats = {OutputFormat::csv, OutputFormat::shapefile}}, silent);
            ADD_FAILURE() << "no error";
        } catch (const Error& error) {
            const std::string target =
                place.ends_with(".dbf") ? "shapefile/stop_fit.shp" : place;  // of which the table is a part
            EXPECT_EQ(error.what(), (folder / target).string() + ": this would replace the " + c.source +
                                        " it comes from. Name another folder or file. The " + c.source +
                                        " would be read from '" + place + "'.");
        }
        EXPECT_TRUE(before == bytes_of(folder / place));
        EXPECT_FALSE(fs::exists(folder / "results.gpkg"));
        fs::remove(folder / place);
    }
}

TEST_F(SurveyRunTest, NeverReplacesTheSurveyFile) {
    const fs::path survey = test::write_survey(folder);
    fs::rename(survey, folder / "trial.json");
    const std::string before = bytes_of(folder / "trial.json");
    try {
        try_survey(folder / "trial.json", {.results = folder}, silent);
        FAIL();
    } catch (const Error& error) {
        EXPECT_THAT(
            error.what(),
            HasSubstr("trial.json: this would replace the survey file it comes from. Name another folder or file."));
    }
    EXPECT_TRUE(before == bytes_of(folder / "trial.json"));
}

TEST_F(SurveyRunTest, ResultsOfTwoRunsAreNeverMixed) {
    const fs::path survey = test::write_survey(folder);
    run_survey(survey, {.formats = {OutputFormat::csv}}, silent);
    std::map<fs::path, std::string> before;
    for (const auto& entry : fs::recursive_directory_iterator(folder / "results"))
        if (entry.is_regular_file() && entry.path().filename() != "report.html")
            before[entry.path()] = bytes_of(entry.path());
    ASSERT_GT(before.size(), 10U);
    test::write_survey(folder, {.stops = 120});
    fs::remove(folder / "results" / "report.html");
    fs::create_directories(folder / "results" / "report.html" / "in the way");
    EXPECT_THROW(run_survey(survey, {.formats = {OutputFormat::csv}}, silent), Error);
    for (const auto& [file, bytes] : before) EXPECT_TRUE(bytes == bytes_of(file)) << file;
    for (const auto& entry : fs::recursive_directory_iterator(folder / "results"))
        EXPECT_EQ(entry.path().string().find(".partial"), std::string::npos) << entry.path();
}

TEST_F(SurveyRunTest, CheckCountsAndWritesNothing) {
    const CheckSummary summary = check_survey(test::write_survey(folder, {.mistakes = true}), {}, silent);
    EXPECT_EQ(summary.title, "Two hills");
    EXPECT_GE(summary.stops, 151U);
    EXPECT_EQ(summary.polygons, 2U);
    ASSERT_GE(summary.problems.size(), 2U);
    for (std::size_t i = 1; i < summary.problems.size(); ++i)
        EXPECT_GE(summary.problems[i - 1].severity, summary.problems[i].severity);
    EXPECT_FALSE(fs::exists(folder / "results"));
}

}  // namespace
}  // namespace subcrop::publish
