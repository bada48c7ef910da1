#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/program.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using publish::test::TemporaryFolder;
using publish::test::write_file;
using publish::test::write_survey;
using test::Outcome;
using test::text_of;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;

class TrialCommandTest : public testing::Test {
protected:
    TrialCommandTest() : holder(testing::TempDir()), folder(holder.path()), survey(write_survey(folder)) {}
    Outcome subcrop(std::vector<std::string> words) const { return test::subcrop(folder, std::move(words)); }

    TemporaryFolder holder;
    fs::path folder, survey;
};

TEST_F(TrialCommandTest, TellsWhatTheStopsCanFindAndLeavesItForTheReport) {
    const Outcome trial = subcrop({"trial", survey.string(), "--seeds", "1"});
    EXPECT_EQ(trial.code, 0);
    EXPECT_THAT(trial.err, IsEmpty());
    EXPECT_THAT(trial.out, AllOf(HasSubstr("Two hills: what these 150 stops can find"), HasSubstr("10 m"),
                                 HasSubstr("20 m"), HasSubstr("40 m"), HasSubstr("With the draft as drawn"),
                                 HasSubstr("errors blur these figures"), HasSubstr("trial.json")));
    const Json json = Json::parse(text_of(folder / "results" / "trial.json"));
    EXPECT_EQ(json["seeds"], 1);
    EXPECT_EQ(json["warped"].size(), 3U);
    EXPECT_EQ(json["warped"][1]["warp_m"], 20);
    EXPECT_EQ(json["unwarped"]["warp_m"], 0);
    for (const Json& f : json["warped"]) {
        EXPECT_GT(f["wrong_stops"].get<double>(), 0);
        EXPECT_GT(f["found"].get<double>(), 0);
        EXPECT_LE(f["false_conflicts"].get<int>(), f["conflicts"].get<int>());
    }
    ASSERT_EQ(subcrop({"run", survey.string(), "--quiet"}).code, 0);
    EXPECT_THAT(text_of(folder / "results" / "report.html"), HasSubstr(R"("trial":{"program":"subcrop")"));
}

TEST_F(TrialCommandTest, JsonIsTheFileAndTheSameEachTime) {
    const Outcome first = subcrop({"trial", survey.string(), "--seeds", "1", "--json", "--threads", "1"});
    EXPECT_EQ(first.out, text_of(folder / "results" / "trial.json"));
    const Outcome second = subcrop({"trial", survey.string(), "--seeds", "1", "--json", "--threads", "3", "--results",
                                    (folder / "other").string()});
    EXPECT_EQ(second.out, first.out);
    EXPECT_TRUE(fs::exists(folder / "other" / "trial.json"));
    EXPECT_THAT(subcrop({"trial", survey.string(), "--seeds", "1", "--quiet"}).out, IsEmpty());
}

TEST_F(TrialCommandTest, WrongUsageAndImpossibleTrials) {
    EXPECT_EQ(subcrop({"trial", survey.string(), "--seeds", "0"}).code, 2);
    EXPECT_EQ(subcrop({"trial", (folder / "none.json").string()}).code, 1);
    write_file(folder / "stops.csv", "stop,x,y,colour_moist\nA,501050,5600500,10YR 4/3\n");
    const Outcome off = subcrop({"trial", survey.string()});
    EXPECT_EQ(off.code, 1);
    EXPECT_THAT(off.err,
                HasSubstr("no stop lies on the draft map, so there is nothing to test. See what 'subcrop check' says"));
}

TEST_F(TrialCommandTest, ATrialThatIsNoJsonIsNotQuoted) {
    fs::create_directories(folder / "results");
    write_file(folder / "results" / "trial.json", "{\"title\": \"Two hills\", ");
    ASSERT_EQ(subcrop({"run", survey.string(), "--quiet"}).code, 0);
    EXPECT_THAT(text_of(folder / "results" / "report.html"), testing::Not(HasSubstr(R"("trial":)")));
}

}  // namespace
}  // namespace subcrop::cli
