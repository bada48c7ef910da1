#include "publish/stop_photos.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "publish/invented_photo.hpp"
#include "publish/invented_survey.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/survey_run.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::StartsWith;

class StopPhotos : public testing::Test {
protected:
    StopPhotos() : holder(testing::TempDir()), folder(holder.path()), survey(test::write_survey(folder)) {
        fs::create_directory(folder / "photos");
        std::string text = bytes_of(survey);
        text.insert(1, R"("photos": {"folder": "photos", "within_m": 40}, )");
        test::write_file(survey, text);
    }
    /// The stops' data on the page.
    static Json stops_on(const fs::path& report) {
        const std::string text = bytes_of(report);
        const std::size_t begin = text.find("id=\"data\">") + 10;
        return Json::parse(text.substr(begin, text.find("</script", begin) - begin))["stops"];
    }
    test::TemporaryFolder holder;
    fs::path folder, survey;
    Progress silent;
};

TEST_F(StopPhotos, ComeToTheirStopsByNameAndByPlace) {
    test::write_photo(folder / "photos/S7 pit.jpg", {});
    test::write_photo(folder / "photos/s70.JPEG", {{"Orientation", "6"}}, 300, 900);
    const Json before = stops_on(run_survey(survey, {}, silent).report_file);
    ASSERT_EQ(before[2]["id"], "S3");
    // cs2cs -f %.7f EPSG:32633 EPSG:4326 of the place of S3 in stops.csv, 500832.522981 5600900.710476
    test::write_photo(folder / "photos/IMG_0001.jpg", test::exif_of(50.5600320, 15.0117536));
    const std::string original = bytes_of(folder / "photos/IMG_0001.jpg");
    const Json stops = stops_on(run_survey(survey, {}, silent).report_file);
    ASSERT_TRUE(stops[2].contains("ph"));
    EXPECT_EQ(stops[2]["ph"][0]["n"], "IMG_0001.jpg");
    EXPECT_EQ(stops[2]["ph"][0]["d"], 215);
    EXPECT_EQ(stops[2]["ph"][0]["w"], "2026-05-12 10:22:31");
    EXPECT_THAT(stops[2]["ph"][0]["a"].get<std::string>(),
                StartsWith("data:image/jpeg;base64,/9j/"));  // the first bytes of a JPEG
    EXPECT_EQ(stops[6]["ph"][0]["n"], "S7 pit.jpg");
    EXPECT_EQ(stops[69]["ph"][0]["n"], "s70.JPEG");
    std::size_t with = 0;
    for (const Json& stop : stops) with += stop.contains("ph");
    EXPECT_EQ(with, 3U);
    EXPECT_EQ(bytes_of(folder / "photos/IMG_0001.jpg"), original);
    EXPECT_EQ(std::distance(fs::directory_iterator(folder / "photos"), fs::directory_iterator()),
              3);  // nothing was left beside them
}

TEST_F(StopPhotos, SmallCopiesAreUprightAndSayNothingOfTheCamera) {
    std::map<std::string, std::string> exif = test::exif_of(50.56, 15.01);
    exif["Orientation"] = "6";  // its top is to the right
    test::write_photo(folder / "photos/S1.jpg", exif, 900, 300);
    ProblemLog problems;
    const std::vector<io::Photo> photos = io::read_photos(io::read_survey_file(survey), problems);
    ASSERT_EQ(photos.size(), 1U);
    std::string jpeg = io::thumbnail(photos[0], 240);
    ASSERT_FALSE(jpeg.empty());
    VSIFCloseL(
        VSIFileFromMemBuffer("/vsimem/looked_at.jpg", reinterpret_cast<GByte*>(jpeg.data()), jpeg.size(), FALSE));
    {
        const GDALDatasetUniquePtr small(GDALDataset::Open("/vsimem/looked_at.jpg", GDAL_OF_RASTER));
        ASSERT_TRUE(small);
        EXPECT_EQ(small->GetRasterXSize(), 80);
        EXPECT_EQ(small->GetRasterYSize(), 240);
        for (char** item = small->GetMetadata(); item != nullptr && *item != nullptr; ++item)
            EXPECT_THAT(std::string(*item), testing::Not(StartsWith("EXIF")));
    }
    VSIUnlink("/vsimem/looked_at.jpg");
}

TEST_F(StopPhotos, ComeByTheTimeAlongTheTrack) {
    // The place of S3 at 08:22:31 in UTC, two hours behind the camera's clock.
    test::write_file(
        folder / "day.gpx",
        R"(<?xml version="1.0"?><gpx version="1.1" creator="a receiver" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>
<trkpt lat="50.5600320" lon="15.0117536"><time>2026-05-12T08:22:00Z</time></trkpt><trkpt lat="50.5600320" lon="15.0117536"><time>2026-05-12T08:25:00Z</time></trkpt></trkseg></trk></gpx>)");
    std::string text = bytes_of(survey);
    text.insert(1, R"("waypoints": {"source": "day.gpx", "utc_offset_h": 2}, )");
    test::write_file(survey, text);
    test::write_photo(folder / "photos/IMG_0009.jpg", {{"DateTimeOriginal", "2026:05:12 10:22:31"}});
    const Json stops = stops_on(run_survey(survey, {}, silent).report_file);
    ASSERT_TRUE(stops[2].contains("ph"));
    EXPECT_EQ(stops[2]["ph"][0]["n"], "IMG_0009.jpg");
}

TEST_F(StopPhotos, ThoseOfNoStopAreTold) {
    test::write_photo(folder / "photos/IMG_0002.jpg", {});
    test::write_photo(folder / "photos/IMG_0003.jpg", test::exif_of(50.57, 15.0));
    test::write_photo(folder / "photos/S5 view.jpg", test::exif_of(50.57, 15.0));
    std::map<std::string, std::string> no_side = test::exif_of(50.57, 15.0);
    no_side.erase("GPSLongitudeRef");
    test::write_photo(folder / "photos/IMG_0004.jpg", no_side);
    test::write_file(folder / "photos/torn.jpg", "\xff\xd8\xff\xe0 torn");
    test::write_file(folder / "photos/readme.txt", "no photograph");
    std::vector<std::string> said;
    for (const Problem& problem : check_survey(survey, {}, silent).problems)
        if (problem.source == "photos") said.push_back(problem.value + ": " + problem.message + ". " + problem.remedy);
    EXPECT_THAT(
        said, testing::UnorderedElementsAre(
                  "IMG_0002.jpg: the photograph matches no stop: none begins its name, and it states no place. Begin "
                  "its name with that of its stop.",
                  HasSubstr("IMG_0003.jpg: the photograph matches no stop: none begins its name, and the nearest, 'S"),
                  "IMG_0004.jpg: the photograph matches no stop: none begins its name, and it states no place. Begin "
                  "its name with that of its stop.",
                  testing::MatchesRegex("S5 view.jpg: the photograph is named after stop 'S5' and was taken [0-9]+ m "
                                        "from it. Correct its name, or the place of the stop."),
                  "torn.jpg: the photograph cannot be opened; it is left out. Copy it again from the camera."));
}

TEST_F(StopPhotos, AFolderThatIsNotThereIsAnError) {
    fs::remove(folder / "photos");
    try {
        check_survey(survey, {}, silent);
        FAIL();
    } catch (const Error& error) {
        EXPECT_STREQ(error.what(), "photos: there is no such folder. A path is taken from the survey file's folder.");
    }
}

}  // namespace
}  // namespace subcrop::publish
