#include "subcrop/publish/report.hpp"

#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>

#include "publish/invented_survey.hpp"
#include "subcrop/publish/survey_run.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;

/// The data as a browser finds it: up to the first end of the script element.
Json data_of(const fs::path& page) {
    const std::string text = bytes_of(page);
    const std::string mark = R"(<script type="application/json" id="data">)";
    const std::size_t begin = text.find(mark) + mark.size();
    return Json::parse(text.substr(begin, text.find("</script", begin) - begin));
}

class ReportTest : public testing::Test {
protected:
    ReportTest() : folder_holder(testing::TempDir()), folder(folder_holder.path()) {}
    test::TemporaryFolder folder_holder;
    fs::path folder;
    Progress silent;
};

// What may end or open a script element or a line of script: HTML Living Standard, section "Restrictions for contents
// of script elements", and ECMA-262, section "Line Terminators" (both from memory).
TEST(SafeInScript, LeavesNothingThatEndsTheElementAndTheSameJson) {
    const Json text = {{"</script><script>alert(1)</script>",
                        "<!-- & --> \xE2\x80\xA8 \xE2\x80\xA9 \xE2\x80\xA6 \xE2\x82\xAC \" \\ \xE2"}};
    const std::string json = text.dump(-1, ' ', false, Json::error_handler_t::replace);
    const std::string safe = safe_in_script(json);
    for (const char* part : {"<", ">", "&", "\xE2\x80\xA8", "\xE2\x80\xA9"})
        EXPECT_EQ(safe.find(part), std::string::npos) << part;
    EXPECT_NE(safe.find("\xE2\x80\xA6 \xE2\x82\xAC"),
              std::string::npos);  // an ellipsis and a euro sign pass as they are
    EXPECT_EQ(Json::parse(safe), Json::parse(json));
    EXPECT_EQ(safe_in_script("\"cut \xE2\x80"), "\"cut \xE2\x80");  // half a character at the end
}

TEST_F(ReportTest, SaysWhatTheLayersSay) {
    const RunSummary summary = run_survey(test::write_survey(folder), {}, silent);
    ASSERT_EQ(summary.report_file, folder / "results" / "report.html");
    const Json data = data_of(summary.report_file);
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(file);
    ASSERT_EQ(data["stops"].size(), 150U);
    std::size_t row = 0, compared = 0;
    for (const auto& stop : *file->GetLayerByName("stop_fit")) {
        const Json& shown = data["stops"][row++];
        EXPECT_EQ(shown["id"], stop->GetFieldAsString("stop"));
        EXPECT_EQ(shown["r"], stop->GetFieldAsString("reason"));
        EXPECT_EQ(data["verdicts"][shown["v"].get<std::size_t>()][0], stop->GetFieldAsString("verdict"));
        EXPECT_EQ(data["units"][shown["m"].get<std::size_t>()]["code"], stop->GetFieldAsString("mapped_unit"));
        EXPECT_NEAR(shown["pm"].get<double>(), stop->GetFieldAsDouble("p_mapped"), 5e-5 + 1e-9);
        const OGRPoint& place = *stop->GetGeometryRef()->toPoint();
        EXPECT_NEAR(data["origin"][0].get<double>() + shown["x"].get<double>(), place.getX(), 0.0501);
        EXPECT_NEAR(data["origin"][1].get<double>() + shown["y"].get<double>(), place.getY(), 0.0501);
        if (!shown.contains("e")) continue;
        double sum = 0;
        for (const Json& part : shown["e"]) sum += part[2].get<double>();
        EXPECT_NEAR(sum, shown["et"].get<double>(), 1e-3);
        if (shown["o"] != shown["m"]) continue;
        EXPECT_NEAR(shown["et"].get<double>(), stop->GetFieldAsDouble("soil_log10_odds"),
                    1e-3);  // the layer counts rock seen too
        ++compared;
    }
    EXPECT_GE(compared, 3U);
    for (const Json& traverse : data["traverses"]) {
        ASSERT_EQ(traverse["probability"].size(), traverse["stops"].size());
        for (const Json& at : traverse["probability"]) EXPECT_NEAR(at[0].get<double>() + at[1].get<double>(), 1, 2e-3);
    }
    EXPECT_EQ(data["traverses"].size(), 5U);
    // Swatches: what is looked at is the hue's side, brown is redder than blue; the colours themselves are tested with
    // the renotation.
    ASSERT_EQ(data["colours"][0].size(), 2U);
    for (const Json& colour : data["colours"][0]) {
        const std::string swatch = colour[1];
        ASSERT_THAT(swatch, testing::MatchesRegex("#[0-9a-f]{6}"));
        EXPECT_GT(std::stoi(swatch.substr(1, 2), nullptr, 16), std::stoi(swatch.substr(5, 2), nullptr, 16))
            << colour[0];
    }
    // Both polygons keep the edge they share.
    const double step = data["step"];
    for (const Json& polygon : data["polygons"]) {
        const Json& ring = polygon[1][0];
        std::size_t on_edge = 0;
        for (std::size_t i = 0; i < ring.size(); i += 2)
            on_edge += std::abs(ring[i].get<double>() * step - 500) < step ? 1U : 0U;
        EXPECT_EQ(on_edge, 2U);
        EXPECT_EQ(ring.size(), 8U);
    }
}

TEST_F(ReportTest, BytesDoNotDependOnThreads) {
    const fs::path survey = test::write_survey(folder);
    const std::string one = bytes_of(run_survey(survey, {.threads = 1, .results = folder / "one"}, silent).report_file);
    const std::string three =
        bytes_of(run_survey(survey, {.threads = 3, .results = folder / "three"}, silent).report_file);
    EXPECT_GT(one.size(), 300'000U);
    EXPECT_EQ(one, three);
    EXPECT_FALSE(fs::exists(folder / "one" / "report.partial.html"));
}

TEST_F(ReportTest, IsLeftOutWhereAskedAndAnOlderOneTold) {
    const fs::path survey = test::write_survey(folder);
    const RunSummary first = run_survey(survey, {.report = false}, silent);
    EXPECT_TRUE(first.report_file.empty());
    EXPECT_FALSE(first.older_report);
    EXPECT_FALSE(first.too_many_for_report);
    EXPECT_FALSE(fs::exists(folder / "results" / "report.html"));
    EXPECT_FALSE(run_survey(survey, {}, silent).report_file.empty());
    EXPECT_TRUE(run_survey(survey, {.report = false}, silent).older_report);
}

TEST_F(ReportTest, NothingInThePageAsksForAFile) {
    const std::string page = bytes_of(run_survey(test::write_survey(folder), {}, silent).report_file);
    const std::string own = page.substr(0, page.find("id=\"data\">"));
    EXPECT_EQ(own.find("url("), std::string::npos);
    EXPECT_EQ(own.find("@import"), std::string::npos);
    EXPECT_EQ(own.find("src="), std::string::npos);
    EXPECT_NE(own.find("default-src 'none'"), std::string::npos);
    for (const char* notice : {"Redistribution and use in source and binary forms", "Vladimir Agafonkin", "Bostock"})
        EXPECT_NE(page.find(notice), std::string::npos) << notice;
}

}  // namespace
}  // namespace subcrop::publish
