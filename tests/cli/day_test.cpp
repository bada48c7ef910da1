// A day played through: the walk from the sheet, waypoints and photographs of the day, notes typed into the field book,
// and the run after it.
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <array>
#include <cstdio>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/program.hpp"
#include "publish/invented_photo.hpp"
#include "publish/invented_survey.hpp"

namespace subcrop::cli {
namespace {

namespace fs = std::filesystem;
using Json = nlohmann::json;
using publish::test::write_file;
using test::Outcome;
using test::text_of;
using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;

TEST(Day, WhatTheEveningSaidTheMorningWalksAndTheNextRunKnows) {
    const publish::test::TemporaryFolder holder(testing::TempDir());
    const fs::path folder = holder.path(), survey = publish::test::write_survey(folder);
    const auto subcrop = [&](std::vector<std::string> words) { return test::subcrop(folder, std::move(words)); };

    // The evening.
    const Outcome evening = subcrop({"field", survey.string(), "--from", "S1", "--hours", "3", "--no-pdf", "--json"});
    ASSERT_EQ(evening.code, 0) << evening.err;
    const Json walk = Json::parse(evening.out);
    ASSERT_GE(walk["stops"].size(), 3U);
    const std::string sheet = text_of(folder / "results/field/sheet.html");

    // The morning: her receiver leads to the waypoints and marks where she dug, three metres off. On the sheet she
    // reads what to look for.
    GDALAllRegister();
    struct Dug {
        std::string name;
        double latitude, longitude;
    };
    std::vector<Dug> dug;
    {
        const GDALDatasetUniquePtr gpx(
            GDALDataset::Open((folder / "results/field/walk.gpx").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
        ASSERT_TRUE(gpx);
        for (const auto& f : *gpx->GetLayerByName("waypoints")) {
            if (std::string(f->GetFieldAsString("type")) != "next stop" || dug.size() == 3) continue;
            const OGRPoint& place = *f->GetGeometryRef()->toPoint();
            dug.push_back({f->GetFieldAsString("name"), place.getY() + 0.000027, place.getX()});
            EXPECT_THAT(sheet, HasSubstr("<h3>" + dug.back().name + "</h3>"));
        }
    }
    std::string receiver =
        R"(<?xml version="1.0"?><gpx version="1.1" creator="a receiver" xmlns="http://www.topografix.com/GPX/1/1">)";
    for (const Dug& d : dug) {
        std::array<char, 200> text{};
        std::snprintf(text.data(), text.size(),
                      R"(<wpt lat="%.7f" lon="%.7f"><time>2026-05-12T08:00:00Z</time><name>%s</name></wpt>)",
                      d.latitude, d.longitude, d.name.c_str());
        receiver += text.data();
    }
    write_file(folder / "day.gpx", receiver + "</gpx>");
    fs::create_directory(folder / "photos");
    publish::test::write_photo(folder / "photos" / (dug[0].name + " pit.jpg"), {});
    publish::test::write_photo(folder / "photos/IMG_0002.jpg",
                               publish::test::exif_of(dug[1].latitude + 0.00005, dug[1].longitude));

    // The next evening: notes typed as the sheet has them, without places.
    {
        std::ofstream book(folder / "stops.csv", std::ios::app);
        for (const Dug& d : dug) book << d.name << ",T9,,,5,2.5YR 4/6,C,ash,\n";
    }
    std::string text = text_of(survey);
    text.insert(1, R"("waypoints": {"source": "day.gpx"}, "photos": {"folder": "photos", "within_m": 30}, )");
    write_file(survey, text);
    const Outcome run = subcrop({"run", survey.string(), "--json"});
    ASSERT_EQ(run.code, 0) << run.err;
    EXPECT_EQ(Json::parse(run.out)["stops"], 150 + dug.size());

    const GDALDatasetUniquePtr results(
        GDALDataset::Open((folder / "results/results.gpkg").c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(results);
    std::map<std::string, OGRPoint> places;
    for (const auto& f : *results->GetLayerByName("stop_fit")) {
        places[f->GetFieldAsString("stop")] = *f->GetGeometryRef()->toPoint();
        if (std::string(f->GetFieldAsString("traverse")) == "T9") {
            EXPECT_STREQ(f->GetFieldAsString("fitted_unit"), "MUD");
        }
    }
    for (std::size_t i = 0; i < dug.size(); ++i) {
        ASSERT_TRUE(places.contains(dug[i].name)) << dug[i].name;
        EXPECT_NEAR(places[dug[i].name].getX(), walk["stops"][i]["east"].get<double>(), 0.02);
        EXPECT_NEAR(places[dug[i].name].getY(), walk["stops"][i]["north"].get<double>() + 3.0,
                    0.02);  // 0.000027 degrees of latitude are 3.00 m at 50.6 north
    }
    std::vector<std::string> told;
    for (const auto& f : *results->GetLayerByName("problems")) told.emplace_back(f->GetFieldAsString("message"));
    for (const Dug& d : dug)
        EXPECT_THAT(told, testing::Contains("the place is that of waypoint '" + d.name + "' of day.gpx:waypoints"));
    EXPECT_THAT(
        text_of(folder / "results/report.html"),
        AllOf(HasSubstr(dug[0].name + " pit.jpg"), HasSubstr("IMG_0002.jpg"), HasSubstr("data:image/jpeg;base64,")));
    EXPECT_THAT(subcrop({"field", survey.string(), "--no-pdf"}).err, IsEmpty());
}

}  // namespace
}  // namespace subcrop::cli
