#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <regex>
#include <sstream>

#include "field/figures.hpp"
#include "publish/chapter/document.hpp"
#include "publish/chapter/legend_plate.hpp"
#include "publish/chapter/map_sheet.hpp"
#include "publish/chapter/map_symbols.hpp"
#include "publish/chapter/profile_column.hpp"
#include "publish/chapter/texture_triangle.hpp"
#include "publish/invented_photo.hpp"
#include "publish/invented_survey.hpp"
#include "publish/judged_survey.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/survey_chapter.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using namespace chapter;
using testing::AllOf;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

std::string text_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

/// Every match of a pattern's groups, as numbers.
std::vector<std::vector<double>> numbers_in(const std::string& text, const std::string& pattern) {
    const std::regex expression(pattern);
    std::vector<std::vector<double>> found;
    for (auto it = std::sregex_iterator(text.begin(), text.end(), expression); it != std::sregex_iterator(); ++it) {
        auto& row = found.emplace_back();
        for (std::size_t g = 1; g < it->size(); ++g) row.push_back(std::stod((*it)[g]));
    }
    return found;
}

/// Area of a path of straight lines, by Gauss.
double area_of(const std::string& d) {
    double sum = 0;
    std::vector<std::vector<double>> p = numbers_in(d, R"(([-0-9.]+) ([-0-9.]+))");
    for (std::size_t i = 0; i < p.size(); ++i) {
        const auto& a = p[i];
        const auto& b = p[(i + 1) % p.size()];
        sum += a[0] * b[1] - b[0] * a[1];
    }
    return std::abs(sum) / 2;
}

TEST(TextureTriangle, ClassesAreThoseOfHandbook18) {
    std::size_t classes = 0;
    for (const figures::Row& row : figures::read("texture_polygons.csv")) {
        const auto reading = field::parse_texture(row.text("class"));
        ASSERT_TRUE(reading.value) << row.text("class");
        std::vector<std::pair<double, double>> expected;
        std::stringstream words(row.text("vertices_sand_clay"));
        for (std::string word; words >> word;)
            expected.emplace_back(std::stod(word), std::stod(word.substr(word.find(':') + 1)));
        const auto corners = corners_of(reading.value->texture_class);
        EXPECT_EQ((std::vector<std::pair<double, double>>(corners.begin(), corners.end())), expected)
            << row.text("class");
        ++classes;
    }
    EXPECT_EQ(classes, field::texture_class_count);
}

// Places in the triangle back to grain sizes: sand at the lower left, silt at the lower right, clay at the top.
TEST(TextureTriangle, CirclesStandAtTheirGrainSizeAndTheirAreasGoWithNumbers) {
    const std::vector<std::pair<field::GrainSize, double>> horizons{{{60, 30, 10}, 4}, {{10, 20, 70}, 1}};
    const std::string svg = texture_triangle(horizons, "#884400").inline_markup("");
    const auto frame = numbers_in(
        svg,
        R"x(points="([0-9.]+),([0-9.]+) ([0-9.]+),([0-9.]+) ([0-9.]+),([0-9.]+) [0-9.,]+" fill="none" stroke="#1b2126")x");
    ASSERT_EQ(frame.size(), 1U);
    const auto circles = numbers_in(svg, R"x(cx="([0-9.]+)" cy="([0-9.]+)" r="([0-9.]+)")x");
    ASSERT_EQ(circles.size(), 2U);
    for (std::size_t i = 0; i < 2; ++i) {
        const double clay = 100 * (frame[0][1] - circles[i][1]) / (frame[0][1] - frame[0][5]);
        const double silt = 100 * (circles[i][0] - frame[0][0]) / (frame[0][2] - frame[0][0]) - clay / 2;
        EXPECT_NEAR(clay, horizons[i].first.clay, 0.05);
        EXPECT_NEAR(silt, horizons[i].first.silt, 0.05);
    }
    EXPECT_NEAR(circles[0][2] / circles[1][2], 2, 0.01);
}

TEST(ProfileColumn, HorizonsStandAtTheirDepthsInTheirColours) {
    infer::ProfileSummary profile;
    profile.horizons = {{"A", 0.0, 15.0, 0.0, 0.0, "10YR 3/3"},
                        {"B", 15.0, 48.0, 12.0, 20.0, "5YR 4/6"},
                        {"R", 48.0, std::nullopt, 40.0, 60.0, ""}};
    profile.stops = profile.described = 7;
    const std::string svg = profile_column(profile).inline_markup("");
    const auto boxes = numbers_in(svg, R"x(<rect x="[0-9.]+" y="([0-9.]+)" width="[0-9.]+" height="([0-9.]+)")x");
    ASSERT_EQ(boxes.size(), 3U);
    const double surface = boxes[0][0];
    EXPECT_NEAR((boxes[1][0] - surface) / 0.5, 15, 0.01);
    EXPECT_NEAR((boxes[2][0] - surface) / 0.5, 48, 0.01);
    EXPECT_NEAR(boxes[1][1] / 0.5, 33, 0.01);
    EXPECT_THAT(svg, AllOf(HasSubstr("B, 5YR 4/6"), HasSubstr("R, no colour noted")));
    infer::ProfileSummary without_depths;
    without_depths.horizons = {{"A", std::nullopt, std::nullopt, std::nullopt, std::nullopt, ""}};
    EXPECT_EQ(profile_column(without_depths).height(), 0);
}

TEST(MapSheet, ScalesAreRound) {
    EXPECT_EQ(round_scale(6000, 5000, 305, 266), 20000);
    EXPECT_EQ(round_scale(6100, 5000, 305, 266), 20000);
    EXPECT_EQ(round_scale(6101, 5000, 305, 266), 25000);
    EXPECT_EQ(round_scale(6000, 6000, 305, 266), 25000);
    EXPECT_EQ(round_scale(300, 100, 305, 266), 1000);
    EXPECT_EQ(round_step(800), 1000);
    EXPECT_EQ(round_step(200), 200);
    EXPECT_EQ(scale_words(25000), "1:25,000");
    EXPECT_EQ(scale_words(500), "1:500");
    EXPECT_EQ(scale_words(1000000), "1:1,000,000");
}

TEST(MapSheet, ItsPaperIsTheSmallestThatHoldsIt) {
    // ISO 216, landscape, with 5 mm to each side
    EXPECT_EQ(paper_for(Svg(287, 200)).name, "A4");
    EXPECT_EQ(paper_for(Svg(287.01, 200)).name, "A3");
    EXPECT_EQ(paper_for(Svg(410, 287)).name, "A3");
    EXPECT_EQ(paper_for(Svg(100, 290)).name, "A2");
    EXPECT_EQ(paper_for(Svg(1179, 831)).name, "A0");
    const SheetPaper larger = paper_for(Svg(1179.5, 100));
    EXPECT_EQ(larger.name, "");
    EXPECT_EQ(larger.width_mm, 1190);
    EXPECT_EQ(larger.height_mm, 110);
}

TEST(Document, NothingThatWasWrittenIsMarkup) {
    Document document;
    document.title = "</title><script>1</script>";
    document.blocks = {Heading{1, "<b>A</b>"}, Paragraph{"# no heading *nor* [link](x) | `code`"},
                       List{{"1. one", "- two"}}, Table{"cap|tion", {"a|b"}, {{"<img src=x onerror=1>"}}}};
    const std::string html = as_html(document), markdown = as_markdown(document, "figures");
    EXPECT_THAT(html, AllOf(Not(HasSubstr("<script>")), Not(HasSubstr("<img")), Not(HasSubstr("<b>")),
                            HasSubstr("&lt;img src=x onerror=1&gt;")));
    EXPECT_THAT(markdown, AllOf(HasSubstr("\\# no heading \\*nor\\* \\[link\\](x) \\| \\`code\\`"),
                                HasSubstr("- 1\\. one\n- \\- two\n"), HasSubstr("| a\\|b |"),
                                HasSubstr("\\<img src=x onerror=1\\>"), HasSubstr("# \\<b\\>A\\</b\\>")));
}

class ChapterTest : public testing::Test {
protected:
    ChapterTest() : folder(testing::TempDir()), survey(test::write_survey(folder.path())) {
        test::write_file(folder.path() / "legend.csv",
                         "unit,name,age_order,lithology,colour\nSND,Brown sandstone,2,quartz "
                         "sandstone,#d8a548\nMUD,Red mudstone,1,mudstone,#7f8f8a\n");
    }
    /// Without a PDF: the browser takes seconds.
    ChapterSummary write(ChapterOptions options = {}) {
        options.pdf = false;
        return write_survey_chapter(survey, options, silent);
    }
    std::string page() const { return text_of(folder.path() / "results" / "chapter.html"); }

    test::TemporaryFolder folder;
    fs::path survey;
    Progress silent;
};

TEST_F(ChapterTest, SaysWhatUnitsCsvSays) {
    write();
    run_survey(survey, {}, silent);
    ProblemLog problems;
    const JudgedSurvey judged = judge_survey(io::read_survey_file(survey), {}, problems, silent);
    const std::string markdown = text_of(folder.path() / "results" / "chapter.md"), html = page(),
                      table = text_of(folder.path() / "results" / "units.csv");
    for (const infer::UnitSummary& unit : judged.units) {
        const std::string described = "Described from about " + std::to_string(std::lround(unit.described_stops)) +
                                      " stops, each counted by its probability of lying on it.";
        const std::string colours = unit.moist.chip + " (the middle of about " +
                                    std::to_string(std::lround(unit.moist.chips.total())) + " colours";
        for (const std::string& sentence : {described, colours}) {
            EXPECT_THAT(html, HasSubstr(sentence));
            EXPECT_THAT(table, HasSubstr(sentence));
        }
        char mean[80];
        const field::GrainSize size = field::from_ilr(unit.texture.distribution->mean);
        std::snprintf(mean, sizeof mean, "sand %.0f %%, silt %.0f %%, clay %.0f %%", size.sand, size.silt, size.clay);
        EXPECT_THAT(html, HasSubstr(mean));
    }
    // Both are 50 ha of 100, along one contact of 1 km, by how the survey was made.
    EXPECT_THAT(html, AllOf(HasSubstr("As drawn it covers 50 ha, 50.0 % of the mapped area"),
                            HasSubstr("It meets MUD along 1.0 km."), HasSubstr("It meets SND along 1.0 km.")));
    EXPECT_LT(html.find("<h2 id=\"unit-MUD\">"), html.find("<h2 id=\"unit-SND\">"));  // the youngest first
    EXPECT_THAT(markdown, AllOf(HasSubstr("# Two hills: the map units"), HasSubstr("## Red mudstone (MUD)"),
                                HasSubstr("(chapter_figures/texture-MUD.svg)")));
}

TEST_F(ChapterTest, AsDrawnCountsWholeStops) {
    write({.described_by = infer::DescribedBy::draft});
    EXPECT_THAT(page(), AllOf(HasSubstr(" stops as drawn."), Not(HasSubstr("Described from about"))));
}

TEST_F(ChapterTest, SameSurveyMakesTheSameBytes) {
    const ChapterSummary first = write({.threads = 1}),
                         second = write({.threads = 3, .results = folder.path() / "other"});
    ASSERT_EQ(first.files.size(), second.files.size());
    ASSERT_GE(first.files.size(), 8U);
    for (std::size_t i = 0; i < first.files.size(); ++i)
        EXPECT_EQ(text_of(first.files[i]), text_of(second.files[i])) << first.files[i];
}

// The drawing measured: each unit's paths on the sheet have the area of its polygons at the stated scale.
TEST_F(ChapterTest, MapSheetIsTrueToItsScale) {
    for (const double asked : {0.0, 10000.0}) {
        const ChapterSummary summary = write({.scale = asked});
        EXPECT_EQ(summary.scale, asked > 0 ? asked : 5000);  // 1 km on 266 mm
        const std::string sheet = text_of(folder.path() / "results" / "map_sheet.svg");
        for (const char* colour : {"#d8a548", "#7f8f8a"}) {
            const std::regex unit(std::string("<path d=\"([^\"]+)\" fill-rule=\"evenodd\" fill=\"") + colour + "\"");
            double mm2 = 0;
            for (auto it = std::sregex_iterator(sheet.begin(), sheet.end(), unit); it != std::sregex_iterator(); ++it)
                mm2 += area_of((*it)[1]);
            EXPECT_NEAR(mm2 * summary.scale * summary.scale / 1e6, 500000, 500) << colour;
        }
        const auto bar = numbers_in(sheet, R"x(<rect x="2" y="[0-9.]+" width="([0-9.]+)" height="1.5")x");
        ASSERT_EQ(bar.size(), 1U);
        const double half_m = bar[0][0] * summary.scale / 1000;
        EXPECT_THAT(sheet, HasSubstr(">" + std::to_string(std::lround(half_m)) + "</text>"));
        EXPECT_NEAR(half_m, std::round(half_m), 1e-6);
    }
}

/// The bytes of a "data:image/jpeg;base64,..." address, decoded as RFC 4648 says.
std::string decoded(const std::string& base64) {
    static const std::string letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string bytes;
    unsigned bits = 0;
    int have = 0;
    for (const char c : base64) {
        if (c == '=') break;
        bits = bits << 6U | static_cast<unsigned>(letters.find(c));
        have += 6;
        if (have >= 8) bytes += static_cast<char>(bits >> (have -= 8) & 255U);
    }
    return bytes;
}

TEST_F(ChapterTest, TypeStopsShowTheirPhotographs) {
    fs::create_directory(folder.path() / "photos");
    std::string text = text_of(survey);
    text.insert(1, R"("photos": {"folder": "photos"}, )");
    test::write_file(survey, text);
    ProblemLog problems;
    const JudgedSurvey judged = judge_survey(io::read_survey_file(survey), {}, problems, silent);
    const infer::UnitSummary& unit =
        *std::find_if(judged.units.begin(), judged.units.end(), [&](const infer::UnitSummary& u) {
            return judged.data->survey.units[static_cast<std::size_t>(u.unit)].code == "SND";
        });
    ASSERT_GE(unit.type_stops.size(), 2U);
    const auto id_of = [&](std::size_t k) { return judged.data->survey.stops[unit.type_stops[k].stop].id; };
    const std::string first = id_of(0), second = id_of(1);
    std::size_t other = 0;  // lies on no list of type stops
    const auto is_type_stop = [&](const infer::UnitSummary& u) {
        return std::any_of(u.type_stops.begin(), u.type_stops.end(), [&](const auto& t) { return t.stop == other; });
    };
    while (std::any_of(judged.units.begin(), judged.units.end(), is_type_stop)) ++other;

    const fs::path photos = folder.path() / "photos";
    std::map<std::string, std::string> exif = test::exif_of(50.56, 15.01);
    exif["Orientation"] = "6";  // its top is to the right
    test::write_photo(photos / (first + " pit.jpg"), exif, 900, 600);
    for (const char* letter : {"a", "b", "c", "d"}) test::write_photo(photos / (second + " " + letter + ".jpg"), {});
    test::write_photo(photos / (judged.data->survey.stops[other].id + " view.jpg"), {});
    const std::string original = text_of(photos / (first + " pit.jpg"));
    const ChapterSummary summary = write();

    const std::string html = page();
    std::smatch image;
    const std::regex shown("<img src=\"data:image/jpeg;base64,([^\"]+)\" alt=\"Photograph " + first +
                           " pit.jpg of stop " + first + "\"><figcaption>Stop " + first +
                           ", Brown sandstone \\(SND\\), looking south-west \\(215°\\), 12 May 2026.</figcaption>");
    ASSERT_TRUE(std::regex_search(html, image, shown));
    const fs::path copy = folder.path() / "results/chapter_figures/photo-SND-1.jpg";
    EXPECT_EQ(decoded(image[1]), text_of(copy));
    EXPECT_THAT(summary.files, testing::Contains(copy));
    const GDALDatasetUniquePtr small(GDALDataset::Open(copy.c_str(), GDAL_OF_RASTER));
    ASSERT_TRUE(small);
    EXPECT_EQ(small->GetRasterXSize(), 320);  // upright
    EXPECT_EQ(small->GetRasterYSize(), 480);
    EXPECT_THAT(html, AllOf(HasSubstr("<figcaption>Stop " + second + ", Brown sandstone (SND).</figcaption>"),
                            HasSubstr("The folder of photographs has 1 more of stop " + second + "."),
                            Not(HasSubstr(second + " d.jpg")),
                            Not(HasSubstr(judged.data->survey.stops[other].id + " view.jpg"))));
    EXPECT_THAT(text_of(folder.path() / "results/chapter.md"),
                HasSubstr("![Stop " + first +
                          ", Brown sandstone (SND), looking south-west (215°), 12 May 2026.]"
                          "(chapter_figures/photo-SND-1.jpg){width=70mm}"));
    EXPECT_EQ(text_of(photos / (first + " pit.jpg")), original);
    EXPECT_EQ(std::distance(fs::directory_iterator(photos), fs::directory_iterator()), 6);
}

TEST_F(ChapterTest, ItsSourcesAreNotReplaced) {
    fs::create_directories(folder.path() / "results");
    fs::rename(folder.path() / "legend.csv", folder.path() / "results" / "chapter.md");
    std::string text = text_of(survey);
    text.replace(text.find("legend.csv"), 10, "results/chapter.md");
    test::write_file(survey, text);
    EXPECT_THROW(write(), std::exception);
    EXPECT_THAT(text_of(folder.path() / "results" / "chapter.md"), HasSubstr("Brown sandstone"));
    EXPECT_FALSE(fs::exists(folder.path() / "results" / "chapter.html"));
}

TEST_F(ChapterTest, AMissingPandocIsSaidAndTheRestIsWritten) {
    const char* path = std::getenv("PATH");
    const std::string kept = path == nullptr ? "" : path;
    setenv("PATH", folder.path().c_str(), 1);
    const ChapterSummary summary = write({.docx = true});
    setenv("PATH", kept.c_str(), 1);
    EXPECT_EQ(summary.without_word_processor, "pandoc is not installed");
    EXPECT_FALSE(fs::exists(folder.path() / "results" / "chapter.docx"));
    EXPECT_TRUE(fs::exists(folder.path() / "results" / "chapter.html"));
}

TEST(LegendPlate, UnitsWithoutAnAgeComeLast) {
    model::Survey survey;
    survey.units.resize(4);
    survey.units[0].age_order = 3;
    survey.units[2].age_order = 1;
    survey.units[3].age_order = 2;
    EXPECT_THAT(in_age_order(survey), ElementsAre(2, 3, 0, 1));
}

}  // namespace
}  // namespace subcrop::publish
