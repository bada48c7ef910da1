#include "cli/pages.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <cstdio>
#include <fstream>
#include <regex>
#include <sstream>

#include "cli/command_line.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;
using testing::UnorderedElementsAre;

/// What a reader sees of a page, without the marks of groff.
std::string read_plainly(std::string page) {
    for (const auto& [mark, letter] : {std::pair{R"(\\f[BIR])", ""},
                                       {R"(\\-)", "-"},
                                       {R"(\\\(aq)", "'"},
                                       {R"(\\\(ti)", "~"},
                                       {R"(\\e)", "\\"},
                                       {R"(\\&)", ""}})
        page = std::regex_replace(page, std::regex(mark), letter);
    return page;
}

TEST(ManPage, HasEveryOptionOfItsVerbInTheWordsOfTheHelp) {
    const CommandLine line = command_line();
    for (const Command& command : line.commands) {
        const std::string page = read_plainly(man_page(*line.app, *command.app, "1.2.3"));
        for (const CLI::Option* option : command.app->get_options()) {
            const std::string name =
                option->get_positional() ? option->get_name(true) : "--" + option->get_lnames().front();
            EXPECT_THAT(page, HasSubstr(name)) << command.app->get_name();
            EXPECT_THAT(page, HasSubstr('\n' + option->get_description() + '\n'))
                << command.app->get_name() << ' ' << name;
        }
        EXPECT_THAT(page, AllOf(HasSubstr(".SH EXIT STATUS\n0 "),
                                HasSubstr(".SH EXAMPLES\n.nf\nsubcrop " + command.app->get_name())));
    }
}

TEST(ManPage, OfAVerbHasItsPartsInTheUsualOrder) {
    const CommandLine line = command_line();
    const std::string page = man_page(*line.app, *line.app->get_subcommand("new"), "1.2.3");
    EXPECT_THAT(
        page,
        HasSubstr(".TH SUBCROP\\-NEW 1 \"\" \"subcrop 1.2.3\" \"User Commands\"\n"
                  ".SH NAME\n"
                  "subcrop\\-new \\- Make an empty survey to fill in: field book, legend, draft map, survey file\n"
                  ".SH SYNOPSIS\n"
                  "\\fBsubcrop new\\fR [\\fIoptions\\fR] FOLDER\n"
                  ".SH DESCRIPTION\n"
                  "Existing files are never replaced.\n"
                  ".SH ARGUMENTS\n"
                  ".TP\n"
                  "\\fBFOLDER FOLDER REQUIRED\\fR\n"
                  "The folder to write; made if it is missing\n"
                  ".SH OPTIONS\n"));
    EXPECT_THAT(
        page,
        HasSubstr(".SH EXAMPLES\n.nf\nsubcrop new hesk \\-\\-title \\(aqHesk valley\\(aq \\-\\-crs EPSG:32631\n.fi\n"));
}

TEST(ManPage, TablesOfTheHelpBecomeEntries) {
    const CommandLine line = command_line();
    EXPECT_THAT(read_plainly(man_page(*line.app, *line.app, "1.2.3")),
                AllOf(HasSubstr(".SH WORDS\n"), HasSubstr(".TP\nblock\nNeighbouring stops that are hidden together"),
                      HasSubstr(".SH VERBS\n.TP\nrun\nJudge every stop")));
    EXPECT_THAT(read_plainly(man_page(*line.app, *line.app->get_subcommand("run"), "1.2.3")),
                AllOf(HasSubstr(".SH KEYS OF --JSON\n"),
                      // A row that goes on in a second line.
                      HasSubstr(".TP\nchanges\nwhat differs from the last run of other inputs, null if there was none: "
                                "since, headline, rows (")));
    // Keys that stand in a sentence.
    EXPECT_THAT(read_plainly(man_page(*line.app, *line.app->get_subcommand("adopt"), "1.2.3")),
                HasSubstr(".SH KEYS OF --JSON\ntitle, file (null: none written)"));
}

class BashCompletionTest : public testing::Test {
protected:
    /// What bash offers for the last word.
    std::vector<std::string> offered(const std::vector<std::string>& words) {
        std::string script =
            bash_completion(*command_line().app) + "\ncd '" + folder_.path().string() + "'\nCOMP_WORDS=(subcrop";
        for (const std::string& word : words) script += " '" + word + "'";
        script += ")\nCOMP_CWORD=" + std::to_string(words.size()) + "\n_subcrop\nprintf '%s\\n' \"${COMPREPLY[@]}\"\n";
        const std::filesystem::path file = folder_.path() / "script.sh";
        std::ofstream(file) << script;
        FILE* pipe = popen(("bash --norc '" + file.string() + "' 2>&1").c_str(), "r");
        std::vector<std::string> lines;
        std::array<char, 512> line{};
        while (std::fgets(line.data(), line.size(), pipe)) {
            std::string text = line.data();
            while (!text.empty() && text.back() == '\n') text.pop_back();
            if (!text.empty()) lines.push_back(text);
        }
        EXPECT_EQ(pclose(pipe), 0);
        std::filesystem::remove(file);
        return lines;
    }

    publish::test::TemporaryFolder folder_{testing::TempDir()};
};

TEST_F(BashCompletionTest, OffersVerbsAndTheirOptions) {
    EXPECT_THAT(offered({"ch"}), UnorderedElementsAre("check", "chapter"));
    EXPECT_THAT(offered({"--v"}), ElementsAre("--version"));
    EXPECT_THAT(offered({"run", "--no"}), ElementsAre("--no-report"));
    EXPECT_THAT(offered({"check", "--no"}), ElementsAre());
}

TEST_F(BashCompletionTest, OffersTheWordsThatAnOptionTakes) {
    EXPECT_THAT(offered({"run", "--format", ""}),
                ElementsAre("csv", "geojson", "flatgeobuf", "shapefile", "kml", "gpx"));
    EXPECT_THAT(offered({"run", "--format", "=", "g"}), ElementsAre("geojson", "gpx"));
    EXPECT_THAT(offered({"field", "--paper", "l"}), ElementsAre("letter"));
    EXPECT_THAT(offered({"run", "--threads", ""}), ElementsAre());
}

TEST_F(BashCompletionTest, OffersFilesForASurveyAndFoldersForResults) {
    std::filesystem::create_directory(folder_.path() / "sub folder");
    std::ofstream(folder_.path() / "survey.json") << "{}";
    EXPECT_THAT(offered({"run", "su"}), UnorderedElementsAre("sub folder", "survey.json"));
    EXPECT_THAT(offered({"run", "survey.json", "--results", "su"}), ElementsAre("sub folder"));
    EXPECT_THAT(offered({"colour", "su"}), ElementsAre());
}

TEST(OfferedWords, AreThoseThatTheCheckLetsThrough) {
    const CommandLine line = command_line();
    for (const auto& [verb, name] :
         {std::pair{"field", "--paper"}, {"plane", "--vertical-unit"}, {"run", "--format"}}) {
        CLI::Option* option = line.app->get_subcommand(verb)->get_option(name);
        const std::string words = offered_words(*option);
        ASSERT_FALSE(words.empty()) << name;
        std::istringstream each(words);
        for (std::string word; each >> word;) {
            // An option checks its words when it is asked for them.
            option->clear();
            option->add_result(word);
            EXPECT_NO_THROW(option->run_callback()) << name << ' ' << word;
        }
        option->clear();
        option->add_result("neither");
        EXPECT_THROW(option->run_callback(), CLI::ValidationError) << name;
    }
}

}  // namespace
}  // namespace subcrop::cli
