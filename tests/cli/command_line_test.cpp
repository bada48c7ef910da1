#include <gdal_version.h>
#include <geos_c.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <proj.h>

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
#include "subcrop/publish/glossary.hpp"

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
    EXPECT_THAT(help.out,
                AllOf(HasSubstr("run"), HasSubstr("check"), HasSubstr("Example: subcrop run sampledata/survey.json")));
    EXPECT_THAT(help.err, IsEmpty());
    for (const publish::Term& term : publish::glossary())
        EXPECT_THAT(help.out, HasSubstr("\n  " + std::string(term.word) + "  ")) << term.word;
    for (const std::string verb : {"run", "check", "trial", "field"}) {
        const Outcome of_verb = subcrop({verb, "--help"});
        EXPECT_EQ(of_verb.code, 0);
        EXPECT_THAT(of_verb.out, AllOf(HasSubstr("Example: subcrop " + verb), HasSubstr("SURVEY"),
                                       HasSubstr("--threads"), HasSubstr("--json"), HasSubstr("--quiet"),
                                       HasSubstr("Exit codes:"), HasSubstr("Keys of --json:")));
    }
    EXPECT_THAT(subcrop({"run", "--help"}).out, HasSubstr("--results"));
    EXPECT_THAT(subcrop({"check", "--help"}).out, Not(HasSubstr("--results")));
}

TEST_F(CommandLineTest, AFormatThatIsNoneIsToldWithThoseThereAre) {
    const Outcome run = subcrop({"run", "survey.json", "--format", "dxf"});
    EXPECT_EQ(run.code, 2);
    EXPECT_THAT(run.err,
                AllOf(HasSubstr("'dxf' is not a format; write csv, geojson, flatgeobuf, shapefile, kml or gpx"),
                      Not(HasSubstr("{"))));
    EXPECT_EQ(subcrop({"run", write_survey(folder).string(), "--format", "GeoJSON", "--no-report"}).code, 0);
    EXPECT_EQ(subcrop({"run", write_survey(folder).string(), "--format", "kml", "--format", "GPX", "--no-report"}).code,
              0);
}

TEST_F(CommandLineTest, ShapefilesTellWhatTheyCut) {
    const Outcome run = subcrop({"run", write_survey(folder).string(), "--format", "shapefile", "--no-report"});
    ASSERT_EQ(run.code, 0) << run.err;
    EXPECT_THAT(run.out, HasSubstr((folder / "results" / "shapefile").string()));
    EXPECT_THAT(
        run.out,
        testing::ContainsRegex(
            "Cut:     [0-9]+ texts of description in unit_summary: a shapefile holds 254 bytes of each. They end"));
    const Outcome json =
        subcrop({"run", write_survey(folder).string(), "--format", "shapefile", "--no-report", "--json"});
    const auto told = nlohmann::json::parse(json.out);
    EXPECT_EQ(told["other_formats"][0], (folder / "results" / "shapefile").string());
    EXPECT_EQ(told["cut_texts"][0]["layer"], "unit_summary");
    EXPECT_TRUE(told["database"].is_null());
}

/// Nothing that a terminal would obey, or that turns the line round, is printed.
TEST_F(CommandLineTest, TextOfTheDataCannotCommandTheTerminal) {
    const std::string evil =
        "\x1b]0;owned\x07\xC2\x9B"
        "2J\xE2\x80\xAE";
    const fs::path survey = write_survey(folder, {.mistakes = true});
    std::string json = text_of(survey);
    json.replace(json.find("Two hills"), 9, "Two \\u001b[2J\\nhills\\u009b\\u202e");
    json.replace(json.find("\"results\": \"results\""), 20, "\"results\": \"out\\u001b[2J\"");
    write_file(survey, json);
    std::string stops = text_of(folder / "stops.csv");
    stops.replace(stops.find("10XR 4/3"), 8, "10XR" + evil);
    write_file(folder / "stops.csv", stops);
    const auto clean = [](const std::string& text) {
        return text.find_first_of("\x1b\x07\x7f") == std::string::npos && text.find("\xC2\x9B") == std::string::npos &&
               text.find("\xE2\x80\xAE") == std::string::npos;
    };
    for (const auto& words : std::vector<std::vector<std::string>>{{"run", survey.string(), "--threads", "1"},
                                                                   {"check", survey.string()},
                                                                   {"run", survey.string(), "--json"},
                                                                   {"check", survey.string(), "--json"},
                                                                   {"check", folder.string() + "/none" + evil},
                                                                   {"no" + evil},
                                                                   {"run", survey.string(), "--no" + evil},
                                                                   {"colour", "10XR" + evil},
                                                                   {"trial", survey.string(), "--seeds", "1"},
                                                                   {"new", (folder / ("made" + evil)).string()}}) {
        const Outcome said = subcrop(words);
        EXPECT_TRUE(clean(said.out)) << said.out;
        EXPECT_TRUE(clean(said.err)) << said.err;
        EXPECT_FALSE(said.out.empty() && said.err.empty());
        if (words.back() == "--json") {
            EXPECT_EQ(nlohmann::json::parse(said.out)["title"], "Two \x1b[2J\nhills\xC2\x9B\xE2\x80\xAE");
        }
    }
    EXPECT_THAT(subcrop({"check", survey.string()}).out,
                AllOf(StartsWith("Two \\u{1b}[2J\\u{a}hills\\u{9b}\\u{202e}: 15"),
                      HasSubstr("10XR\\u{1b}]0;owned\\u{7}\\u{9b}2J\\u{202e}")));
    EXPECT_THAT(subcrop({"no" + evil}).err, StartsWith("subcrop: there is no verb 'no\\u{1b}]0;owned"));
}

TEST_F(CommandLineTest, OptionsOfTheEnvironmentChangeNothing) {
    const std::string survey = write_survey(folder).string();
    setenv("SOURCE_DATE_EPOCH", "1700000000", 1);
    ASSERT_EQ(subcrop({"run", survey, "--results", (folder / "plain").string()}).code, 0);
    const std::vector<std::pair<const char*, const char*>> options{{"GDAL_SKIP", "GPKG,GeoJSON"},
                                                                   {"CPL_DEBUG", "ON"},
                                                                   {"OGR_SQLITE_PRAGMA", "page_size=65536"},
                                                                   {"OGR_CT_FORCE_TRADITIONAL_GIS_ORDER", "YES"},
                                                                   {"OGR_SQLITE_SYNCHRONOUS", "OFF"},
                                                                   {"OGR_GEOJSON_MAX_OBJ_SIZE", "0.00001"},
                                                                   {"OGR_GPKG_NUM_THREADS", "7"},
                                                                   {"CSV_DUMMY", "1"},
                                                                   {"PROJ_DEBUG", "3"},
                                                                   {"GDAL_CONFIG_FILE", "/nowhere/gdalrc"}};
    for (const auto& [name, value] : options) setenv(name, value, 1);
    const Outcome run = subcrop({"run", survey, "--results", (folder / "odd").string()});
    for (const auto& [name, value] : options) unsetenv(name);
    unsetenv("SOURCE_DATE_EPOCH");
    EXPECT_EQ(run.code, 0) << run.err;
    EXPECT_THAT(run.err, IsEmpty());
    EXPECT_TRUE(text_of(folder / "plain" / "results.gpkg") == text_of(folder / "odd" / "results.gpkg"));
}

TEST_F(CommandLineTest, MissingDataOfProjAreToldAsSuch) {
    const std::string survey = write_survey(folder).string();
    fs::create_directories(folder / "empty");
    setenv("PROJ_DATA", (folder / "empty").c_str(), 1);
    setenv("PROJ_LIB", (folder / "empty").c_str(), 1);
    const Outcome run = subcrop({"run", survey}), made = subcrop({"new", (folder / "made").string()});
    unsetenv("PROJ_DATA");
    unsetenv("PROJ_LIB");
    for (const Outcome& said : {run, made}) {
        EXPECT_EQ(said.code, 1);
        EXPECT_THAT(said.err, AllOf(StartsWith("subcrop: PROJ's own data (proj.db) are missing or of another version, "
                                               "so that no coordinate reference system is known. "
                                               "The environment variable PROJ_DATA names '" +
                                               (folder / "empty").string() + "': unset it"),
                                    HasSubstr("Debian's comes with the package proj-data.")));
    }
}

TEST_F(CommandLineTest, AnEmptyNameIsNoFolder) {
    const std::string survey = write_survey(folder).string();
    for (const auto& words :
         std::vector<std::vector<std::string>>{{"run", survey, "--results", ""}, {"trial", survey, "--results", ""}}) {
        const Outcome refused = subcrop(words);
        EXPECT_EQ(refused.code, 2);
        EXPECT_THAT(refused.err, HasSubstr("Give a name; '.' is the current folder."));
    }
}

TEST_F(CommandLineTest, ADatabaseThatIsNotThereIsToldBeforeTheWorkAndWithoutItsPassword) {
    const std::string survey = write_survey(folder).string();
    const Outcome absent = subcrop({"run", survey, "--postgis", "PG:host=/nowhere-at-all dbname=a password=secret"});
    EXPECT_EQ(absent.code, 1);
    EXPECT_THAT(absent.err,
                AllOf(HasSubstr("PG:host=/nowhere-at-all dbname=a password=...: the database cannot be opened"),
                      Not(HasSubstr("secret"))));
    EXPECT_FALSE(fs::exists(folder / "results" / "results.gpkg"));
    const Outcome no_scheme = subcrop({"run", survey, "--postgis", "dbname=a password=secret"});
    EXPECT_EQ(no_scheme.code, 2);
    EXPECT_THAT(no_scheme.err, AllOf(HasSubstr("A connection begins with 'PG:'"), Not(HasSubstr("secret"))));
    EXPECT_EQ(subcrop({"run", survey, "--schema", "mine"}).code, 2);
}

TEST_F(CommandLineTest, VersionIsThatOfTheBuildAndOfItsLibraries) {
    const Outcome version = subcrop({"--version"});
    EXPECT_EQ(version.code, 0);
    // As the headers of the libraries have them, which Debian updates together with the libraries.
    const std::string proj = std::to_string(PROJ_VERSION_MAJOR) + '.' + std::to_string(PROJ_VERSION_MINOR) + '.' +
                             std::to_string(PROJ_VERSION_PATCH);
    EXPECT_THAT(version.out, StartsWith("subcrop " SUBCROP_VERSION "\nGDAL " GDAL_RELEASE_NAME "\nPROJ " + proj +
                                        "\nGEOS " GEOS_VERSION "\nlibqrencode "));
    EXPECT_THAT(
        version.out.substr(version.out.find("libqrencode")),
        testing::MatchesRegex("libqrencode ([0-9]+[.][0-9.]+|not in this build: field sheets have no QR codes)\n"));
}

TEST_F(CommandLineTest, WrongUsageIsTwoAndSaysWhatIsMeant) {
    struct Case {
        std::vector<std::string> words;
        std::string error;
    };
    const std::vector<Case> cases{
        {{"rnu", "survey.json"},
         "subcrop: there is no verb 'rnu'. Did you mean 'run'? The verbs are run, check, decide, adopt, trial, field, "
         "chapter, new, "
         "colour, "
         "texture, jar, plane; see 'subcrop --help'.\n"},
        {{"xyzzy"},
         "subcrop: there is no verb 'xyzzy'. The verbs are run, check, decide, adopt, trial, field, chapter, new, "
         "colour, texture, "
         "jar, plane; "
         "see 'subcrop --help'.\n"},
        {{},
         "subcrop: no verb was given. The verbs are run, check, decide, adopt, trial, field, chapter, new, colour, "
         "texture, jar, "
         "plane; see "
         "'subcrop --help'.\n"},
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
    EXPECT_THAT(outcome.out, AllOf(HasSubstr(" agree "), HasSubstr(" conflict "), HasSubstr(" undecided "),
                                   HasSubstr("\nStrongest conflicts with the draft map\n  S"),
                                   HasSubstr("\nHow far to trust it\n"), HasSubstr("\nCoordinates\n"),
                                   HasSubstr("\nResults: " + (folder / "results" / "results.gpkg").string() + "\n"),
                                   HasSubstr("\nCaution: before digging")));
    EXPECT_THAT(outcome.out, Not(HasSubstr("\033")));
    EXPECT_TRUE(fs::exists(folder / "results" / "results.gpkg"));
}

TEST_F(CommandLineTest, TooLittleRockSeenIsSaid) {
    const Outcome outcome = subcrop({"run", write_survey(folder).string()});
    EXPECT_THAT(outcome.out,
                HasSubstr("Use the probabilities only to rank stops: bedrock was observed at too few stops ("));
}

TEST_F(CommandLineTest, RunQuietly) {
    const Outcome outcome =
        subcrop({"run", write_survey(folder).string(), "--quiet", "--results", (folder / "there").string()});
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
    EXPECT_THAT(outcome.out, AllOf(StartsWith("Two hills: "), HasSubstr("2 map polygons"),
                                   HasSubstr("Problems in the data: "), HasSubstr("10XR")));
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
