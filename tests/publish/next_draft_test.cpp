#include "subcrop/publish/next_draft.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>
#include <sqlite3.h>

#include <algorithm>
#include <fstream>
#include <functional>
#include <map>
#include <set>
#include <tuple>

#include "publish/invented_survey.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/publish/survey_run.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;

constexpr double east = 500'000, north = 5'600'000;

/// Two units that meet at x = 2000 of a square of 4 km, with a body of each in the ground of the other that the draft
/// does not have.
/// What the error says that is thrown.
std::string message(const std::function<void()>& what) {
    try {
        what();
    } catch (const Error& error) {
        return error.what();
    }
    return "nothing";
}

class NextDraftTest : public testing::Test {
protected:
    NextDraftTest() : holder_(testing::TempDir()), folder(holder_.path()) {
        setenv("SOURCE_DATE_EPOCH", "1764547200", 1);  // 2025-12-01
        int i = 0;
        const char* const red[] = {"5YR 4/6", "5YR 4/4", "2.5YR 4/6", "7.5YR 4/4"};
        const char* const olive[] = {"5Y 5/3", "5Y 5/2", "2.5Y 5/3", "5Y 4/3"};
        const char* const loams[] = {"L", "SL", "L", "SCL"};
        const char* const clays[] = {"C", "SIC", "C", "CL"};
        for (double x = 100; x < 4000; x += 200) {
            for (double y = 100; y < 4000; y += 400, ++i) {
                const bool west = x < 2000;
                add_stop("S" + std::to_string(i + 1), x, y, west ? red[i % 4] : olive[i % 4],
                         west ? loams[(i / 3) % 4] : clays[(i / 3) % 4],
                         i % 4 != 0 ? ""
                         : west     ? "WES"
                                    : "EAS");
            }
        }
        add_body("A", {3000, 2600}, true);
        add_body("B", {1000, 1400}, false);
        write_map("EPSG:32633");
        write_survey_file("draft.csv", R"("layer": "draft", "crs": "EPSG:32633",)");
    }
    ~NextDraftTest() override { unsetenv("SOURCE_DATE_EPOCH"); }

    void add_stop(const std::string& id, double x, double y, const std::string& colour, const std::string& texture,
                  const std::string& rock) {
        stops_ += id + ',' + std::to_string(east + x) + ',' + std::to_string(north + y) + ",8," + colour + ',' +
                  texture + ',' + rock + '\n';
        test::write_file(folder / "stops.csv", "stop,x,y,position_sd_m,colour_moist,texture,unit_seen\n" + stops_);
    }
    void add_body(const std::string& name, Point middle, bool like_the_west) {
        for (int i = 0; i < 9; ++i)
            add_stop(name + std::to_string(i + 1), middle.x - 80 + 80 * (i % 3), middle.y - 80 + 80 * (i / 3),
                     like_the_west ? "5YR 4/6" : "5Y 5/2", like_the_west ? "L" : "C",
                     i % 2 != 0      ? ""
                     : like_the_west ? "WES"
                                     : "EAS");
    }
    void take_stops(const std::string& name) {
        std::string kept;
        for (std::size_t at = 0; at < stops_.size();) {
            const std::size_t end = stops_.find('\n', at) + 1;
            if (stops_.compare(at, name.size(), name) != 0) kept += stops_.substr(at, end - at);
            at = end;
        }
        stops_ = kept;
    }

    /// The two squares, with a column of hers, in a system of the caller's.
    void write_map(const std::string& crs) {
        const geo::Crs from("EPSG:32633"), to(crs);
        const std::vector<Point> sample{{east, north}, {east + 4000, north + 4000}};
        const geo::Transformation operation(from, to, sample, {});
        const auto square = [&](double left, double right) {
            std::string text = "POLYGON((";
            std::vector<Point> ring{{left, 0}, {right, 0}, {right, 4000}, {left, 4000}, {left, 0}};
            for (Point& p : ring) p = {p.x + east, p.y + north};
            operation.apply(ring);
            for (const Point p : ring) {
                char pair[80];
                std::snprintf(pair, sizeof pair, "%s%.17g %.17g", text.ends_with('(') ? "" : ",", p.x, p.y);
                text += pair;
            }
            return text + "))";
        };
        test::write_file(folder / "draft.csv",
                         "unit,sheet,WKT\nWES,7,\"" + square(0, 2000) + "\"\nEAS,9,\"" + square(2000, 4000) + "\"\n");
    }
    void write_survey_file(const std::string& map, const std::string& more, int contact_sd_m = 25) {
        test::write_file(folder / "survey.json", R"({"title": "Two units", "crs": "EPSG:32633",
"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"},
"map": {"source": ")" + map + R"(", )" + more + R"( "contact_sd_m": )" +
                                                     std::to_string(contact_sd_m) + R"(}, "results": "results"})");
    }

    RunSummary run() { return run_survey(folder / "survey.json", {.report = false}, silent); }
    std::map<std::string, DecidedProposal> proposals() {
        std::map<std::string, DecidedProposal> result;
        for (const DecidedProposal& one : decide(folder / "survey.json", {}).proposals) result[one.id] = one;
        return result;
    }
    void say(const std::string& id, const std::string& decision, const std::string& why = {}) {
        // A second between decisions, as between people's.
        setenv("SOURCE_DATE_EPOCH", std::to_string(++now_).c_str(), 1);
        decide(folder / "survey.json", {.ids = {id}, .decision = decision, .why = why});
    }
    AdoptSummary adopt(AdoptOptions options = {}) { return adopt_survey(folder / "survey.json", options, silent); }

    struct Row {
        std::string unit, changed, source;
        int sheet = 0;
        std::string wkb;
    };
    static std::vector<Row> units_of(const fs::path& file) {
        std::vector<Row> rows;
        const GDALDatasetUniquePtr data(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        for (const auto& f : data->GetLayerByName("units")) {
            std::string wkb(f->GetGeometryRef()->WkbSize(), '\0');
            f->GetGeometryRef()->exportToWkb(wkbNDR, reinterpret_cast<unsigned char*>(wkb.data()), wkbVariantIso);
            EXPECT_TRUE(f->GetGeometryRef()->IsValid());
            rows.push_back({f->GetFieldAsString("unit"), f->GetFieldAsString("changed"), f->GetFieldAsString("source"),
                            f->GetFieldAsInteger("sheet"), wkb});
        }
        return rows;
    }
    /// Edges used by one polygon only: of a clean map those of its outer edge.
    static std::size_t open_edges(const fs::path& file) {
        std::map<std::tuple<double, double, double, double>, int> uses;
        const GDALDatasetUniquePtr data(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        for (const auto& f : data->GetLayerByName("units")) {
            for (const OGRPolygon* part : *f->GetGeometryRef()->toMultiPolygon()) {
                for (const OGRLinearRing* ring : *part) {
                    for (int i = 1; i < ring->getNumPoints(); ++i) {
                        std::pair a{ring->getX(i - 1), ring->getY(i - 1)}, b{ring->getX(i), ring->getY(i)};
                        if (b < a) std::swap(a, b);
                        ++uses[{a.first, a.second, b.first, b.second}];
                    }
                }
            }
        }
        return static_cast<std::size_t>(
            std::count_if(uses.begin(), uses.end(), [](const auto& use) { return use.second != 2; }));
    }

    test::TemporaryFolder holder_;
    fs::path folder;
    Progress silent;
    std::string stops_;
    long now_ = 1764547200;
};

TEST_F(NextDraftTest, ThreeRoundsKeepIdsAndDecisions) {
    // First round: both bodies are proposed, none is decided.
    const RunSummary first = run();
    EXPECT_EQ(first.decided.open, 2U);
    auto listed = proposals();
    ASSERT_EQ(listed.size(), 2U);
    ASSERT_TRUE(listed.contains("A1") && listed.contains("A2"));
    const std::string in_east = listed["A1"].what.find("as WES;") != std::string::npos ? "A1" : "A2";
    const std::string in_west = in_east == "A1" ? "A2" : "A1";
    say(in_east, "accepted", "slate chips");
    say(in_west, "rejected");

    // Second round: a stop far from both changes nothing; one beside the rejected body brings it back.
    add_stop("F1", 3700, 500, "5Y 5/3", "C", "");
    const RunSummary quiet = run();
    EXPECT_EQ(quiet.decided.open, 0U);
    EXPECT_EQ(quiet.decided.accepted, 1U);
    EXPECT_EQ(quiet.decided.rejected, 1U);
    EXPECT_TRUE(quiet.proposals.empty());
    add_stop("N1", 1000, 1360, "5Y 5/2", "C", "EAS");
    const RunSummary again = run();
    EXPECT_EQ(again.decided.open, 1U);
    EXPECT_EQ(again.decided.shown_again, 1U);
    listed = proposals();
    EXPECT_EQ(listed[in_west].decision, "open");
    EXPECT_EQ(listed[in_west].note, "New evidence since you rejected it: stop N1.");
    EXPECT_EQ(listed[in_east].decision, "accepted");
    EXPECT_EQ(listed[in_east].why, "slate chips");
    say(in_west, "rejected");
    EXPECT_EQ(run().decided.open, 0U);
    // A wider error of contacts makes more stops bear on it, and none of them is new.
    write_survey_file("draft.csv", R"("crs": "EPSG:32633", "layer": "draft",)", 60);
    EXPECT_EQ(run().decided.shown_again, 0U);
    write_survey_file("draft.csv", R"("crs": "EPSG:32633", "layer": "draft",)");
    run();

    // Third round: the adopted map is the draft.
    const AdoptSummary adopted = adopt();
    EXPECT_EQ(adopted.file, folder / "adopted_map.gpkg");
    ASSERT_EQ(adopted.carried_out.size(), 1U);
    EXPECT_EQ(adopted.carried_out[0].id, in_east);
    EXPECT_EQ(adopted.rejected, 1U);
    EXPECT_EQ(adopted.faults, 0U);
    EXPECT_NEAR(adopted.hectares, 1600, 1e-6);
    EXPECT_EQ(open_edges(adopted.file), 6U);  // the outer edge: four sides, two of them in two parts
    const auto rows = units_of(adopted.file);
    ASSERT_EQ(rows.size(), 3U);
    EXPECT_EQ(rows[0].unit, "WES");
    EXPECT_EQ(rows[0].changed, "no");
    EXPECT_EQ(rows[0].source, "draft");
    EXPECT_EQ(rows[0].sheet, 7);
    EXPECT_EQ(rows[1].changed, "yes");
    EXPECT_EQ(rows[1].sheet, 9);
    EXPECT_EQ(rows[2].unit, "WES");
    EXPECT_EQ(rows[2].source, in_east);
    EXPECT_EQ(adopted.map_entry, R"("map": {"source":"adopted_map.gpkg","layer":"units","contact_sd_m":25.0})");

    write_survey_file("adopted_map.gpkg", R"("layer": "units",)");
    const RunSummary third = run();
    EXPECT_EQ(third.decided.open, 0U) << (third.proposals.empty() ? "" : third.proposals[0].reason);
    EXPECT_EQ(third.decided.accepted, 0U);  // it is drawn now
    EXPECT_EQ(third.decided.rejected, 1U);
    EXPECT_TRUE(proposals().contains(in_west));
    // The next one never replaces the draft.
    say(in_west, "accepted");
    const AdoptSummary next = adopt();
    EXPECT_EQ(next.file, folder / "adopted_map_2.gpkg");
    EXPECT_EQ(open_edges(next.file), 6U);
    EXPECT_EQ(units_of(next.file).size(), 4U);
}

TEST_F(NextDraftTest, WhatWasAcceptedComesBackWhenStopsContradictIt) {
    run();
    const auto before = proposals();
    const std::string in_east = before.at("A1").what.find("as WES;") != std::string::npos ? "A1" : "A2";
    say(in_east, "accepted");
    // Nothing about it is left but olive clay.
    take_stops("A");
    for (int i = 0; i < 9; ++i)
        add_stop("C" + std::to_string(i + 1), 2920 + 80 * (i % 3), 2520 + 80 * (i / 3), "5Y 5/2", "C",
                 i % 2 != 0 ? "" : "EAS");
    EXPECT_EQ(run().decided.shown_again, 1U);
    auto listed = proposals();
    EXPECT_EQ(listed[in_east].decision, "open");
    EXPECT_THAT(listed[in_east].note,
                HasSubstr("No longer proposed; new evidence since you accepted it: stops C1, C2"));
    // Her word stands once she says it again, and is carried out.
    say(in_east, "accepted");
    EXPECT_EQ(run().decided.accepted, 1U);
    const AdoptSummary adopted = adopt();
    ASSERT_EQ(adopted.carried_out.size(), 1U);
    EXPECT_EQ(adopted.faults, 0U);
    EXPECT_EQ(units_of(adopted.file).size(), 3U);
}

TEST_F(NextDraftTest, ADraftInDegreesKeepsItsOwnCorners) {
    write_map("EPSG:4326");
    write_survey_file("draft.csv", R"("crs": "EPSG:4326",)");
    run();
    const AdoptSummary adopted = adopt({.at_least = 0.5});
    EXPECT_EQ(adopted.carried_out.size(), 2U);
    EXPECT_EQ(open_edges(adopted.file), 6U);
    // Every corner of the draft is there, to the last bit.
    std::set<std::pair<double, double>> corners;
    const GDALDatasetUniquePtr data(GDALDataset::Open(adopted.file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    EXPECT_STREQ(data->GetLayerByName("units")->GetSpatialRef()->GetAuthorityCode(nullptr), "4326");
    for (const auto& f : data->GetLayerByName("units"))
        for (const OGRPolygon* part : *f->GetGeometryRef()->toMultiPolygon())
            for (const OGRLinearRing* ring : *part)
                for (int i = 0; i < ring->getNumPoints(); ++i) corners.emplace(ring->getX(i), ring->getY(i));
    std::ifstream draft(folder / "draft.csv");
    std::string text((std::istreambuf_iterator<char>(draft)), {});
    std::replace_if(
        text.begin(), text.end(), [](char c) { return c == '(' || c == ')' || c == ',' || c == '"'; }, ' ');
    std::size_t found = 0;
    for (std::size_t at = text.find("POLYGON"); at != std::string::npos; at = text.find("POLYGON", at + 1)) {
        const char* next = text.c_str() + at + 7;
        for (int i = 0; i < 5; ++i) {
            char* end = nullptr;
            const double x = std::strtod(next, &end), y = std::strtod(end, &end);
            next = end;
            EXPECT_TRUE(corners.contains({x, y})) << x << ' ' << y;
            ++found;
        }
    }
    EXPECT_EQ(found, 10U);
}

TEST_F(NextDraftTest, DecisionsMadeInTheLayerAndInATableAreTaken) {
    run();
    {
        const GDALDatasetUniquePtr file(
            GDALDataset::Open((folder / "results" / "results.gpkg").c_str(), GDAL_OF_VECTOR | GDAL_OF_UPDATE));
        OGRLayer& layer = *file->GetLayerByName("proposals");
        layer.SetAttributeFilter("id = 'A1'");
        OGRFeatureUniquePtr row(layer.GetNextFeature());
        ASSERT_TRUE(row);
        row->SetField("decision", "later");
        ASSERT_EQ(layer.SetFeature(row.get()), OGRERR_NONE);
    }
    test::write_file(
        folder / "decisions.csv",
        "id,decision,why,decided_on\nA2,rejected,till,2025-12-01T00:00:00Z\nA2,perhaps,,\nZ9,accepted,,\n");
    const RunSummary summary = run();
    EXPECT_EQ(summary.decided.later, 1U);
    EXPECT_EQ(summary.decided.rejected, 1U);
    std::vector<std::string> messages;
    for (const Problem& problem : summary.first_problems)
        if (problem.source.starts_with("decisions")) messages.push_back(problem.value + ": " + problem.message);
    EXPECT_THAT(messages, testing::UnorderedElementsAre(
                              "perhaps: this is no decision; the row is passed over",
                              "Z9: the last run has no proposal of this id; the decision is passed over"));
    EXPECT_EQ(proposals()["A2"].why, "till");
    // Nothing is asked twice, and a table that stays where it is changes nothing later.
    say("A2", "accepted");
    EXPECT_EQ(run().decided.accepted, 1U);
}

TEST_F(NextDraftTest, WhatIsWrongIsSaidPlainly) {
    EXPECT_THAT(message([&] { say("A1", "accepted"); }),
                HasSubstr("there are no proposals to decide on. Run 'subcrop run'"));
    EXPECT_THAT(message([&] { adopt(); }), HasSubstr("nothing was decided yet, and there is no run"));
    run();
    EXPECT_THAT(message([&] { say("A7", "accepted"); }),
                HasSubstr("there is no proposal 'A7'. Did you mean 'A1'? Proposals: A"));
    say("A1", "accepted");
    add_stop("N2", 3000, 2640, "5YR 4/4", "L", "WES");
    add_stop("N3", 1000, 1440, "5Y 5/2", "C", "EAS");
    EXPECT_THAT(message([&] { adopt(); }),
                HasSubstr("proposal A1 is no longer what the last run showed: stops, map or settings changed since"));
    run();
    // Another program in the middle of writing.
    sqlite3* other = nullptr;
    ASSERT_EQ(sqlite3_open((folder / "decisions.gpkg").c_str(), &other), SQLITE_OK);
    ASSERT_EQ(sqlite3_exec(other, "BEGIN IMMEDIATE", nullptr, nullptr, nullptr), SQLITE_OK);
    EXPECT_THAT(message([&] { say("A2", "accepted"); }),
                HasSubstr("another program is writing this file, so nothing was changed in it"));
    sqlite3_exec(other, "ROLLBACK", nullptr, nullptr, nullptr);
    sqlite3_close(other);
    say("A2", "accepted");
    EXPECT_EQ(proposals()["A2"].decision, "accepted");
    const std::string draft = bytes_of(folder / "draft.csv");
    EXPECT_THAT(message([&] { adopt({.output = folder / "draft.csv"}); }), HasSubstr("draft.csv"));
    EXPECT_EQ(bytes_of(folder / "draft.csv"), draft);
    EXPECT_TRUE(adopt({.dry_run = true}).file.empty());
    EXPECT_FALSE(fs::exists(folder / "adopted_map.gpkg"));
}

TEST_F(NextDraftTest, AdoptReplacesNoFile) {
    run();
    const auto listed = proposals();
    ASSERT_FALSE(listed.empty());
    say(listed.begin()->first, "accepted");
    for (const char* file : {"decisions.gpkg", "stops.csv", "draft.csv", "survey.json", "results/results.gpkg"}) {
        const std::string before = bytes_of(folder / file);
        EXPECT_THAT(message([&] { adopt({.output = folder / file}); }),
                    HasSubstr(std::string(file) + ": the file is there already, and nothing is replaced"));
        EXPECT_TRUE(bytes_of(folder / file) == before) << file;
    }
    // Nor a place where a file belongs: the table that every run reads.
    EXPECT_THAT(message([&] { adopt({.output = folder / "decisions.csv"}); }),
                HasSubstr("this would replace the decisions it comes from"));
    EXPECT_EQ(adopt().file, folder / "adopted_map.gpkg");
    const std::string first = bytes_of(folder / "adopted_map.gpkg");
    EXPECT_EQ(adopt().file, folder / "adopted_map_2.gpkg");
    EXPECT_TRUE(bytes_of(folder / "adopted_map.gpkg") == first);
}

TEST_F(NextDraftTest, ASourceIsNotTakenForTheDecisions) {
    run();
    const std::string id = proposals().begin()->first;
    fs::rename(folder / "draft.csv", folder / "decisions.csv");
    fs::create_hard_link(folder / "decisions.csv", folder / "decisions.gpkg");
    write_survey_file("decisions.csv", R"("layer": "decisions", "crs": "EPSG:32633",)");
    const std::string before = bytes_of(folder / "decisions.gpkg");
    EXPECT_THAT(message([&] { say(id, "accepted"); }), HasSubstr("decisions.gpkg"));
    EXPECT_TRUE(bytes_of(folder / "decisions.gpkg") == before);
}

TEST_F(NextDraftTest, WithoutADraftTheFirstMapIsTheNext) {
    test::write_file(folder / "survey.json", R"({"title": "No draft", "crs": "EPSG:32633",
"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"}, "results": "results"})");
    const AdoptSummary first = adopt();
    EXPECT_TRUE(first.first_map);
    EXPECT_GE(first.polygons, 2U);
    write_survey_file("adopted_map.gpkg", R"("layer": "units",)");
    EXPECT_EQ(run().stops, 218U);
}

TEST_F(NextDraftTest, TheSameRunTwiceGivesTheSameProposals) {
    run();
    const std::string once = bytes_of(folder / "results" / "results.gpkg");
    run();
    EXPECT_EQ(bytes_of(folder / "results" / "results.gpkg"), once);
}

}  // namespace
}  // namespace subcrop::publish
