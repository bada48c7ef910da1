// The examples at the head of publish's public headers, word for word: they compile, and they do what they say.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <string>
#include <vector>

#include "publish/invented_survey.hpp"
#include "publish/judged_survey.hpp"
#include "subcrop/publish/field_trip.hpp"
#include "subcrop/publish/library_versions.hpp"
#include "subcrop/publish/next_draft.hpp"
#include "subcrop/publish/prepared_survey.hpp"
#include "subcrop/publish/report.hpp"
#include "subcrop/publish/run_changes.hpp"
#include "subcrop/publish/survey_chapter.hpp"
#include "subcrop/publish/survey_run.hpp"
#include "subcrop/publish/survey_trial.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;

/// Works in a folder of its own with a survey in it, as one does in a shell.
class PublishHeaderExample : public testing::Test {
protected:
    PublishHeaderExample() : holder_(testing::TempDir()), before_(fs::current_path()) {
        fs::current_path(holder_.path());
        test::write_survey(".");
    }
    ~PublishHeaderExample() override {
        unsetenv("SOURCE_DATE_EPOCH");
        fs::current_path(before_);
    }

    Progress progress;
    ProblemLog problems;

private:
    test::TemporaryFolder holder_;
    fs::path before_;
};

/// A body of SND, with bedrock observed, in the land that the draft gives to MUD: the run proposes it as area A1.
void write_wrong_draft() {
    std::string stops = "stop,x,y,position_sd_m,colour_moist,texture,unit_seen\n";
    const auto add = [&](double x, double y, bool sand, bool seen) {
        stops += "S" + std::to_string(stops.size()) + ',' + std::to_string(500000 + x) + ',' +
                 std::to_string(5600000 + y) + (sand ? ",8,10YR 4/3,L," : ",8,2.5YR 4/6,C,") +
                 (!seen  ? ""
                  : sand ? "SND"
                         : "MUD") +
                 '\n';
    };
    int i = 0;
    for (double x = 25; x < 1000; x += 50)
        for (double y = 25; y < 1000; y += 50, ++i) {
            const bool body = std::hypot(x - 750, y - 500) < 130;
            add(x, y, x < 500 || body, body || i % 4 == 0);
        }
    test::write_file("stops.csv", stops);
}

TEST_F(PublishHeaderExample, FieldTrip) {
    FieldOptions day{.from = "500500 east, 5600500 north", .hours = 6, .pdf = false};
    FieldSummary trip = write_field("survey.json", day, progress);
    std::filesystem::path track = trip.folder / "walk.gpx";

    EXPECT_TRUE(fs::exists(track));
    EXPECT_LE(trip.walk_minutes + trip.stop_minutes, 6 * 60);
}

TEST_F(PublishHeaderExample, NextDraft) {
    write_wrong_draft();
    run_survey("survey.json", {}, progress);

    decide("survey.json", {.ids = {"A1"}, .decision = "accepted", .why = "slate in the ditch"});
    AdoptSummary next = adopt_survey("survey.json", {}, progress);
    std::filesystem::path map = next.file;  // adopted_map.gpkg: the whole map, layers units and contacts

    EXPECT_EQ(map.filename(), "adopted_map.gpkg");
    ASSERT_EQ(next.carried_out.size(), 1U);
    EXPECT_GT(next.changed_hectares, 2);
}

TEST_F(PublishHeaderExample, LibraryVersions) {
    testing::internal::CaptureStdout();

    for (const auto& [name, version] : library_versions()) std::cout << name << ' ' << version << '\n';

    EXPECT_EQ(testing::internal::GetCapturedStdout().substr(0, 5), "GDAL ");
}

TEST_F(PublishHeaderExample, PreparedSurvey) {
    const fs::path path = "survey.json";
    const unsigned threads = 1;

    const PreparedSurvey data = prepare_survey(io::read_survey_file(path), threads, problems, progress);
    infer::Fit fit = infer::fit_stops(data.survey, data.reduced, data.map, threads, problems, progress);

    EXPECT_EQ(fit.stops.size(), 150U);
}

TEST_F(PublishHeaderExample, Report) {
    const unsigned threads = 1;
    const JudgedSurvey judged =
        judge_survey(io::read_survey_file("survey.json"), {.threads = threads}, problems, progress);
    const Results results{judged.data->survey,
                          judged.data->reduced,
                          judged.data->map,
                          judged.fit,
                          judged.relocation,
                          judged.revised,
                          judged.traverses,
                          judged.crossings,
                          judged.units,
                          judged.next_stops,
                          {},
                          "{}"};
    fs::create_directory("results");

    write_report("results/report.html", results, threads);  // whole or not at all

    EXPECT_GT(fs::file_size("results/report.html"), 0U);
}

TEST_F(PublishHeaderExample, RunChanges) {
    setenv("SOURCE_DATE_EPOCH", "1795867200", 1);  // 28 November 2026
    run_survey("survey.json", {}, progress);
    setenv("SOURCE_DATE_EPOCH", "1796126400", 1);  // 1 December 2026
    test::write_survey(".", {.stops = 162});

    RunChanges changes = run_survey("survey.json", {}, progress).changes;
    std::string headline = changes.headline;  // "Since 28 November 2026: 12 stops more", and what else there is

    EXPECT_FALSE(changes.rows.empty());
    EXPECT_EQ(headline.rfind("Since 28 November 2026: 12 stops more", 0), 0U) << headline;
}

TEST_F(PublishHeaderExample, SurveyChapter) {
    ChapterSummary chapter = write_survey_chapter("survey.json", {.docx = true}, progress);
    std::string warning = chapter.most_confused;  // a sentence on the two units that the soil confuses most

    EXPECT_TRUE(fs::exists(chapter.files.front()));
    EXPECT_NE(warning.find("SND"), std::string::npos) << warning;
}

TEST_F(PublishHeaderExample, SurveyRun) {
    RunSummary run = run_survey("survey.json", {.threads = 2}, progress);  // writes results.gpkg and report.html
    std::size_t conflicts = run.verdicts[static_cast<std::size_t>(infer::Verdict::conflicts)];
    std::filesystem::path layers = run.result_file;

    EXPECT_LT(conflicts, run.stops);
    EXPECT_TRUE(fs::exists(layers));
}

TEST_F(PublishHeaderExample, SurveyTrial) {
    TrialSummary summary = try_survey("survey.json", {.seeds = 3}, progress);  // writes trial.json among the results

    EXPECT_EQ(summary.seeds, 3U);
    EXPECT_TRUE(fs::exists("results/trial.json"));
}

}  // namespace
}  // namespace subcrop::publish
