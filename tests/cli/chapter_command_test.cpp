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
    Outcome subcrop(std::vector<std::string> words) const { return test::subcrop(folder, std::move(words)); }
    static bool installed(const char* program) {
        return std::system((std::string("command -v ") + program + " > /dev/null 2>&1").c_str()) == 0;
    }

    TemporaryFolder holder;
    fs::path folder, survey;
};

TEST_F(ChapterCommandTest, SaysWhatItWroteAndWhichUnitsAreConfused) {
    const Outcome chapter = subcrop({"chapter", survey.string()});
    EXPECT_EQ(chapter.code, 0);
    EXPECT_THAT(chapter.err, IsEmpty());
    EXPECT_THAT(chapter.out,
                AllOf(HasSubstr("Two hills: chapter of 2 units from 150 stops"), HasSubstr("are most easily confused"),
                      HasSubstr("chapter.html"), HasSubstr("map_sheet.svg")));
    const Outcome json = subcrop({"chapter", survey.string(), "--json", "--results", (folder / "other").string()});
    const auto told = nlohmann::json::parse(json.out);
    EXPECT_EQ(told["units"], 2);
    EXPECT_EQ(told["stops"], 150);
    EXPECT_EQ(told["without_word_processor"], "");
    EXPECT_THAT(told["most_confused"].get<std::string>(), HasSubstr("are most easily confused"));
    for (const auto& file : told["files"]) EXPECT_TRUE(fs::exists(file.get<std::string>())) << file;
}

TEST_F(ChapterCommandTest, WrongScalesAreRefused) {
    EXPECT_EQ(subcrop({"chapter", survey.string(), "--scale", "3"}).code, 2);
    EXPECT_EQ(subcrop({"chapter"}).code, 2);
}

TEST_F(ChapterCommandTest, DocxOpensInAWordProcessor) {
    if (!installed("pandoc") || !installed("rsvg-convert")) GTEST_SKIP() << "pandoc or rsvg-convert is not installed";
    ASSERT_EQ(subcrop({"chapter", survey.string(), "--docx", "--odt", "--quiet"}).code, 0);
    const fs::path results = folder / "results";
    const std::string first = text_of(results / "chapter.docx");
    EXPECT_EQ(first.substr(0, 2), "PK");
    EXPECT_EQ(text_of(results / "chapter.odt").substr(0, 2), "PK");
    ASSERT_EQ(subcrop({"chapter", survey.string(), "--docx", "--quiet"}).code, 0);
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
