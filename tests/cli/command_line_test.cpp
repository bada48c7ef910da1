#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using publish::test::TemporaryFolder;
using publish::test::write_file;
using publish::test::write_survey;
using test::Outcome;
using test::text_of;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::StartsWith;

class CommandLineTest : public testing::Test {
protected:
    CommandLineTest() : holder(testing::TempDir()), folder(holder.path()) {}

    Outcome subcrop(std::vector<std::string> words) const { return test::subcrop(folder, std::move(words)); }

    TemporaryFolder holder;
    fs::path folder;
};

TEST_F(CommandLineTest, HelpTellsEachVerbWithAnExample) {
    const Outcome help = subcrop({"--help"});
    EXPECT_EQ(help.code, 0);
    EXPECT_THAT(help.out, AllOf(HasSubstr("run"), HasSubstr("check"), HasSubstr("Example: subcrop run sampledata/survey.json")));
    EXPECT_THAT(help.err, IsEmpty());
    for (const std::string verb : {"run", "check", "trial"}) {
        const Outcome of_verb = subcrop({verb, "--help"});
        EXPECT_EQ(of_verb.code, 0);
        EXPECT_THAT(of_verb.out, AllOf(HasSubstr("Example: subcrop " + verb), HasSubstr("SURVEY"), HasSubstr("--threads"),
                                       HasSubstr("--json"), HasSubstr("--quiet"), HasSubstr("Exit codes:"),
                                       HasSubstr("Keys of --json:")));
    }
    EXPECT_THAT(subcrop({"run", "--help"}).out, HasSubstr("--results"));
    EXPECT_THAT(subcrop({"check", "--help"}).out, Not(HasSubstr("--results")));
}

TEST_F(CommandLineTest, AFormatThatIsNoneIsToldWithThoseThereAre) {
    const Outcome run = subcrop({"run", "survey.json", "--format", "kml"});
    EXPECT_EQ(run.code, 2);
    EXPECT_THAT(run.err, AllOf(HasSubstr("'kml' is no format; write csv, geojson, flatgeobuf or shapefile"), Not(HasSubstr("{"))));
    EXPECT_EQ(subcrop({"run", write_survey(folder).string(), "--format", "GeoJSON", "--no-report"}).code, 0);
}

TEST_F(CommandLineTest, ShapefilesTellWhatTheyCut) {
    const Outcome run = subcrop({"run", write_survey(folder).string(), "--format", "shapefile", "--no-report"});
    ASSERT_EQ(run.code, 0) << run.err;
    EXPECT_THAT(run.out, HasSubstr((folder / "results" / "shapefile").string()));
    EXPECT_THAT(run.out, testing::ContainsRegex("Cut:     [0-9]+ texts of description in unit_summary: a shapefile holds 254 bytes of each. They end"));
    const Outcome json = subcrop({"run", write_survey(folder).string(), "--format", "shapefile", "--no-report", "--json"});
    const auto told = nlohmann::json::parse(json.out);
    EXPECT_EQ(told["other_formats"][0], (folder / "results" / "shapefile").string());
    EXPECT_EQ(told["cut_texts"][0]["layer"], "unit_summary");
    EXPECT_TRUE(told["database"].is_null());
}

TEST_F(CommandLineTest, ADatabaseThatIsNotThereIsToldBeforeTheWorkAndWithoutItsPassword) {
    const std::string survey = write_survey(folder).string();
    const Outcome absent = subcrop({"run", survey, "--postgis", "PG:host=/nowhere-at-all dbname=a password=secret"});
    EXPECT_EQ(absent.code, 1);
    EXPECT_THAT(absent.err, AllOf(HasSubstr("PG:host=/nowhere-at-all dbname=a password=...: the database cannot be opened"), Not(HasSubstr("secret"))));
    EXPECT_FALSE(fs::exists(folder / "results" / "results.gpkg"));
    const Outcome no_scheme = subcrop({"run", survey, "--postgis", "dbname=a password=secret"});
    EXPECT_EQ(no_scheme.code, 2);
    EXPECT_THAT(no_scheme.err, AllOf(HasSubstr("A connection begins with 'PG:'"), Not(HasSubstr("secret"))));
    EXPECT_EQ(subcrop({"run", survey, "--schema", "mine"}).code, 2);
}

TEST_F(CommandLineTest, VersionIsThatOfTheBuild) {
    const Outcome version = subcrop({"--version"});
    EXPECT_EQ(version.code, 0);
    EXPECT_EQ(version.out, "subcrop " SUBCROP_VERSION "\n");
}

TEST_F(CommandLineTest, WrongUsageIsTwoAndSaysWhatIsMeant) {
    struct Case {
        std::vector<std::string> words;
        std::string error;
    };
    const std::vector<Case> cases{
        {{"rnu", "survey.json"},
         "subcrop: there is no verb 'rnu'. Did you mean 'run'? The verbs are run, check, trial, new, colour, texture, jar, plane; see 'subcrop --help'.\n"},
        {{"xyzzy"}, "subcrop: there is no verb 'xyzzy'. The verbs are run, check, trial, new, colour, texture, jar, plane; see 'subcrop --help'.\n"},
        {{}, "subcrop: no verb was given. The verbs are run, check, trial, new, colour, texture, jar, plane; see 'subcrop --help'.\n"},
        {{"run"}, "subcrop: SURVEY is required\nSee 'subcrop run --help'.\n"},
        {{"run", "a.json", "--threads", "-3"},
         "subcrop: --threads: Value -3 not in range 0 to 1024\nSee 'subcrop run --help'.\n"},
        {{"check", "a.json", "--results", "b"},
         "subcrop: The following arguments were not expected: b --results\nSee 'subcrop check --help'.\n"},
    };
    for (const Case& wrong : cases) {
        const Outcome outcome = subcrop(wrong.words);
        EXPECT_EQ(outcome.code, 2);
        EXPECT_EQ(outcome.err, wrong.error);
        EXPECT_THAT(outcome.out, IsEmpty());
    }
}

TEST_F(CommandLineTest, ASurveyThatCannotBeReadIsOneWithOneLine) {
    for (const std::string verb : {"run", "check"}) {
        const Outcome outcome = subcrop({verb, (folder / "nowhere.json").string()});
        EXPECT_EQ(outcome.code, 1);
        EXPECT_THAT(outcome.err, AllOf(StartsWith("subcrop: "), HasSubstr("nowhere.json")));
        EXPECT_EQ(std::count(outcome.err.begin(), outcome.err.end(), '\n'), 1);
        EXPECT_THAT(outcome.out, IsEmpty());
    }
}

TEST_F(CommandLineTest, RunTellsTheResultInPlainWords) {
    const Outcome outcome = subcrop({"run", write_survey(folder).string()});
    EXPECT_EQ(outcome.code, 0) << outcome.err;
    EXPECT_THAT(outcome.err, IsEmpty());  // no progress where nobody watches
    EXPECT_THAT(outcome.out, StartsWith("Two hills: 150 stops judged\n\n"));
    EXPECT_THAT(outcome.out,
                AllOf(HasSubstr(" agree "), HasSubstr(" conflict "), HasSubstr(" undecided "), HasSubstr("\nStrongest conflicts with the draft map\n  S"), HasSubstr("\nHow far to trust it\n"),
                      HasSubstr("\nCoordinates\n"),
                      HasSubstr("\nResults: " + (folder / "results" / "results.gpkg").string() + "\n"),
                      HasSubstr("\nCaution: before digging")));
    EXPECT_THAT(outcome.out, Not(HasSubstr("\033")));
    EXPECT_TRUE(fs::exists(folder / "results" / "results.gpkg"));
}

TEST_F(CommandLineTest, TooLittleRockSeenIsSaid) {
    const Outcome outcome = subcrop({"run", write_survey(folder).string()});
    EXPECT_THAT(outcome.out, HasSubstr("Too little rock was seen to calibrate the probabilities"));
}

TEST_F(CommandLineTest, RunQuietly) {
    const Outcome outcome = subcrop({"run", write_survey(folder).string(), "--quiet", "--results", (folder / "there").string()});
    EXPECT_EQ(outcome.code, 0);
    EXPECT_THAT(outcome.out, IsEmpty());
    EXPECT_THAT(outcome.err, IsEmpty());
    EXPECT_TRUE(fs::exists(folder / "there" / "results.gpkg"));
}

TEST_F(CommandLineTest, RunForMachines) {
    const Outcome outcome = subcrop({"run", write_survey(folder).string(), "--json", "--threads", "1"});
    ASSERT_EQ(outcome.code, 0) << outcome.err;
    const nlohmann::json json = nlohmann::json::parse(outcome.out);
    EXPECT_EQ(json["title"], "Two hills");
    EXPECT_EQ(json["stops"], 150);
    EXPECT_EQ(json["results"], (folder / "results" / "results.gpkg").string());
    int verdicts = 0;
    for (const auto& count : json["verdicts"]) verdicts += count.get<int>();
    EXPECT_EQ(verdicts, 150);
    // every key is told in the help
    const std::string help = subcrop({"run", "--help"}).out;
    for (const auto& [key, value] : json.items()) EXPECT_THAT(help, HasSubstr(key));
}

TEST_F(CommandLineTest, CheckIsThreeWhereThereAreProblems) {
    const fs::path survey = write_survey(folder, {.mistakes = true});
    const Outcome outcome = subcrop({"check", survey.string()});
    EXPECT_EQ(outcome.code, 3);
    EXPECT_THAT(outcome.out, AllOf(StartsWith("Two hills: "), HasSubstr("2 map polygons"), HasSubstr("Problems in the data: "),
                                   HasSubstr("10XR")));
    EXPECT_FALSE(fs::exists(folder / "results"));
    const Outcome machine = subcrop({"check", survey.string(), "--json"});
    EXPECT_EQ(machine.code, 3);
    const nlohmann::json json = nlohmann::json::parse(machine.out);
    EXPECT_GE(json["problems"].size(), 2U);
    const std::string help = subcrop({"check", "--help"}).out;
    for (const auto& [key, value] : json.items()) EXPECT_THAT(help, HasSubstr(key));
    const Outcome quiet = subcrop({"check", survey.string(), "--quiet"});
    EXPECT_EQ(quiet.code, 3);
    EXPECT_THAT(quiet.out, IsEmpty());
}

TEST_F(CommandLineTest, CheckIsNoughtWhereAllIsWell) {
    const Outcome outcome = subcrop({"check", write_survey(folder).string()});
    EXPECT_EQ(outcome.code, 0) << outcome.out;
    EXPECT_THAT(outcome.err, IsEmpty());
}

TEST_F(CommandLineTest, AResultThatCannotBePrintedIsAFailure) {
    const std::string command = std::string(SUBCROP_EXECUTABLE) + " check '" + write_survey(folder).string() +
                                "' > /dev/full 2> '" + (folder / "stderr").string() + "'";
    const int status = std::system(command.c_str());
    EXPECT_EQ(WEXITSTATUS(status), 1);
    EXPECT_EQ(text_of(folder / "stderr"), "subcrop: the result could not be printed; is the disk full?\n");
}

}  // namespace
}  // namespace subcrop::cli
