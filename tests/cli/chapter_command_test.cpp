#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using publish::test::TemporaryFolder;
using publish::test::write_survey;
using test::Outcome;
using test::text_of;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;

class ChapterCommandTest : public testing::Test {
protected:
    ChapterCommandTest() : holder(testing::TempDir()), folder(holder.path()), survey(write_survey(folder)) {}
    /// Without a PDF: the browser takes seconds.
    Outcome chapter(std::vector<std::string> more = {}) const {
        more.insert(more.begin(), {"chapter", survey.string(), "--no-pdf"});
        return test::subcrop(folder, std::move(more));
    }
    static bool installed(const char* program) {
        return std::system((std::string("command -v ") + program + " > /dev/null 2>&1").c_str()) == 0;
    }

    TemporaryFolder holder;
    fs::path folder, survey;
};

TEST_F(ChapterCommandTest, SaysWhatItWroteAndWhichUnitsAreConfused) {
    const Outcome said = chapter();
    EXPECT_EQ(said.code, 0);
    EXPECT_THAT(said.err, IsEmpty());
    EXPECT_THAT(said.out,
                AllOf(HasSubstr("Two hills: chapter of 2 units from 150 stops"), HasSubstr("are most easily confused"),
                      HasSubstr("chapter.html"), HasSubstr("map_sheet.svg")));
    const Outcome json = chapter({"--json", "--results", (folder / "other").string()});
    const auto told = nlohmann::json::parse(json.out);
    EXPECT_EQ(told["units"], 2);
    EXPECT_EQ(told["stops"], 150);
    EXPECT_EQ(told["without_word_processor"], "");
    EXPECT_THAT(told["most_confused"].get<std::string>(), HasSubstr("are most easily confused"));
    for (const auto& file : told["files"]) EXPECT_TRUE(fs::exists(file.get<std::string>())) << file;
}

TEST_F(ChapterCommandTest, WithoutChromiumItSaysHowToPrint) {
    const char* path = std::getenv("PATH");
    const std::string kept = path == nullptr ? "" : path;
    setenv("PATH", folder.c_str(), 1);
    const Outcome said = test::subcrop(folder, {"chapter", survey.string()});
    setenv("PATH", kept.c_str(), 1);
    EXPECT_EQ(said.code, 0);
    EXPECT_THAT(
        said.out,
        HasSubstr("No map_sheet.pdf: Chromium is not installed; print map_sheet.svg from any browser, at 100 %."));
    EXPECT_TRUE(fs::exists(folder / "results/map_sheet.svg"));
    EXPECT_FALSE(fs::exists(folder / "results/map_sheet.pdf"));
}

TEST_F(ChapterCommandTest, WrongScalesAreRefused) {
    EXPECT_EQ(chapter({"--scale", "3"}).code, 2);
    EXPECT_EQ(test::subcrop(folder, {"chapter"}).code, 2);
}

TEST_F(ChapterCommandTest, DocxOpensInAWordProcessor) {
    if (!installed("pandoc") || !installed("rsvg-convert")) GTEST_SKIP() << "pandoc or rsvg-convert is not installed";
    ASSERT_EQ(chapter({"--docx", "--odt", "--quiet"}).code, 0);
    const fs::path results = folder / "results";
    const std::string first = text_of(results / "chapter.docx");
    EXPECT_EQ(first.substr(0, 2), "PK");
    EXPECT_EQ(text_of(results / "chapter.odt").substr(0, 2), "PK");
    ASSERT_EQ(chapter({"--docx", "--quiet"}).code, 0);
    EXPECT_EQ(text_of(results / "chapter.docx"), first);  // the day of the run is no part of it
    if (!installed("soffice")) GTEST_SKIP() << "LibreOffice is not installed";
    for (const char* name : {"chapter.docx", "chapter.odt"}) {
        const std::string convert = "cd '" + folder.string() + "' && soffice -env:UserInstallation=file://" +
                                    (folder / "office").string() + " --headless --convert-to txt:Text --outdir '" +
                                    folder.string() + "' 'results/" + name + "' > said 2>&1";
        ASSERT_EQ(std::system(convert.c_str()), 0);
        EXPECT_THAT(text_of(folder / "said"),
                    testing::Not(testing::ContainsRegex("[Rr]epair|corrupt|could not be loaded")));
        EXPECT_THAT(text_of(folder / "chapter.txt"),
                    AllOf(HasSubstr("Brown sandstone (SND)"), HasSubstr("How to tell it from its neighbours")));
        fs::remove(folder / "chapter.txt");
    }
}

}  // namespace
}  // namespace subcrop::cli
