// A survey visited twice: what the second run says of the first.
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cstdlib>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using test::Outcome;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

class Since : public testing::Test {
protected:
    ~Since() override { unsetenv("SOURCE_DATE_EPOCH"); }

    static void set_clock(const char* seconds) { setenv("SOURCE_DATE_EPOCH", seconds, 1); }
    Outcome run(std::vector<std::string> more = {}) const {
        std::vector<std::string> words{"run", survey_.string()};
        words.insert(words.end(), more.begin(), more.end());
        return test::subcrop(holder_.path(), words);
    }
    fs::path results() const { return folder_ / "results"; }
    std::map<std::string, std::string> bytes_of_results() const {
        std::map<std::string, std::string> bytes;
        for (const auto& entry : fs::recursive_directory_iterator(results()))
            if (entry.is_regular_file()) bytes[entry.path().lexically_relative(results())] = bytes_of(entry.path());
        return bytes;
    }
    std::vector<std::string> records() const {
        std::vector<std::string> names;
        for (const auto& entry : fs::directory_iterator(results() / "history"))
            names.push_back(entry.path().filename());
        std::sort(names.begin(), names.end());
        return names;
    }
    /// Three stops more, the soil of one that conflicted written anew, and one taken out.
    void second_visit() const {
        std::ifstream in(folder_ / "stops.csv");
        std::string text;
        for (std::string line; std::getline(in, line);) {
            if (line.starts_with("S3,")) continue;
            if (line.starts_with("S8,")) line = line.substr(0, line.find(",8,")) + ",8,10YR 4/3,L,heather,";
            text += line + '\n';
        }
        for (int i = 0; i < 3; ++i)
            text += "N" + std::to_string(i + 1) + ",T9," + std::to_string(500480 + 20 * i) +
                    ",5600500,8,10YR 4/3,L,heather,\n";
        publish::test::write_file(folder_ / "stops.csv", text);
    }

    const publish::test::TemporaryFolder holder_{testing::TempDir()};
    const fs::path folder_ = holder_.path() / "survey";
    fs::path survey_;

    void SetUp() override {
        fs::create_directory(folder_);
        survey_ = publish::test::write_survey(folder_);
        set_clock("1795843233");  // 28 November 2026, 05:20:33 UTC
    }
};

TEST_F(Since, TheSecondRunSaysWhatChangedInTheSameWordsEverywhere) {
    const Outcome first = run();
    ASSERT_EQ(first.code, 0) << first.err;
    EXPECT_THAT(first.out, Not(HasSubstr("Since ")));
    EXPECT_EQ(records(), std::vector<std::string>{"2026-11-28T052033Z.json"});
    EXPECT_EQ(Json::parse(run({"--json"}).out)["changes"], nullptr);

    second_visit();
    set_clock("1796102433");  // 1 December
    const Outcome second = run({"--json"});
    ASSERT_EQ(second.code, 0) << second.err;
    EXPECT_EQ(records(), (std::vector<std::string>{"2026-11-28T052033Z.json", "2026-12-01T052033Z.json"}));
    const Json changes = Json::parse(second.out)["changes"];
    EXPECT_EQ(changes["since"], "28 November 2026");
    const std::string headline = changes["headline"];
    EXPECT_THAT(headline,
                testing::StartsWith("Since 28 November 2026: 3 stops more, 1 stop gone, 1 conflict resolved"));
    std::map<std::string, std::string> sentences;
    for (const Json& row : changes["rows"]) sentences[row["what"]] = row["sentence"];
    EXPECT_EQ(sentences.at("S3"), "Stop S3 is gone. It was: agrees with the draft.");
    EXPECT_THAT(sentences.at("S8"), HasSubstr("; was: conflicts with the draft. Probability of the mapped unit: "));
    EXPECT_THAT(sentences.at("N1"), testing::StartsWith("Stop N1 is new: "));

    std::string screen = run().out;
    for (std::size_t at = 0; (at = screen.find("\n  ", at)) != std::string::npos;) screen.replace(at, 3, " ");
    EXPECT_THAT(screen, HasSubstr(headline + "."));
    EXPECT_THAT(bytes_of(results() / "report.html"), HasSubstr("\"since\":\"" + headline + '"'));
    GDALAllRegister();
    const GDALDatasetUniquePtr file(
        GDALDataset::Open((results() / "results.gpkg").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(file);
    std::size_t row = 0;
    for (const auto& f : *file->GetLayerByName("changes")) {
        const Json& told = changes["rows"].at(row++);
        EXPECT_EQ(told["kind"], f->GetFieldAsString("kind"));
        EXPECT_EQ(told["what"], f->GetFieldAsString("what"));
        EXPECT_EQ(told["before"], f->GetFieldAsString("before"));
        EXPECT_EQ(told["after"], f->GetFieldAsString("after"));
        EXPECT_EQ(told["sentence"], f->GetFieldAsString("sentence"));
        ASSERT_NE(f->GetGeometryRef(), nullptr);
        EXPECT_EQ(told["x"], f->GetGeometryRef()->toPoint()->getX());
    }
    EXPECT_EQ(row, changes["rows"].size());
    EXPECT_STREQ(file->GetLayerByName("changes")->GetLayerDefn()->GetFieldDefn(0)->GetDomainName().c_str(), "change");
}

TEST_F(Since, RunningTwiceGivesTheSameBytesEverywhere) {
    for (const bool second : {false, true}) {
        if (second) second_visit();
        ASSERT_EQ(run({"--format", "csv", "--format", "kml"}).code, 0);
        const auto once = bytes_of_results();
        ASSERT_EQ(run({"--format", "csv", "--format", "kml", "--threads", "1"}).code, 0);
        const auto twice = bytes_of_results();
        ASSERT_EQ(once.size(), twice.size());
        for (const auto& [name, bytes] : once) EXPECT_TRUE(twice.at(name) == bytes) << name;
        EXPECT_EQ(records().size(), second ? 2U : 1U);
        EXPECT_EQ(once.at("csv/changes.csv").find("stop_added") != std::string::npos, second);
    }
    // Without the variable the kept record's date stands for that of the run.
    unsetenv("SOURCE_DATE_EPOCH");
    ASSERT_EQ(run().code, 0);
    EXPECT_EQ(records().size(), 2U);
}

TEST_F(Since, ADamagedRecordIsAProblemAndNoFailure) {
    ASSERT_EQ(run().code, 0);
    fs::resize_file(results() / "history/2026-11-28T052033Z.json", 500);
    second_visit();
    const Outcome second = run({"--json"});
    ASSERT_EQ(second.code, 0) << second.err;
    const Json summary = Json::parse(second.out);
    EXPECT_EQ(summary["changes"], nullptr);
    EXPECT_EQ(summary["problem_counts"]["warnings"], 1);
    EXPECT_EQ(summary["problems"][0]["source"], "history/2026-11-28T052033Z.json");
    EXPECT_THAT(summary["problems"][0]["message"].get<std::string>(), HasSubstr("cannot be read (line 1, column 50"));
    // It stands where it stood, and the next run has a record again.
    EXPECT_EQ(fs::file_size(results() / "history/2026-11-28T052033Z.json"), 500U);
    EXPECT_EQ(records().size(), 2U);
    EXPECT_EQ(run({"--json"}).out, second.out);
}

TEST_F(Since, AFailedRunLeavesNoRecord) {
    ASSERT_EQ(run().code, 0);
    second_visit();
    fs::remove(results() / "report.html");
    fs::create_directory(results() / "report.html");
    EXPECT_EQ(run().code, 1);
    EXPECT_EQ(records().size(), 1U);
    fs::remove(results() / "report.html");
    EXPECT_THAT(run().out, HasSubstr("Since 28 November 2026, 05:20 UTC: 3 stops more"));
}

}  // namespace
}  // namespace subcrop::cli
