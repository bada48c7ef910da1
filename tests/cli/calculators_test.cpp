// The pocket calculators: their words, their JSON and their exit codes.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::cli {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::StartsWith;

struct Answer {
    int code = -1;
    std::string out;
    std::string err;
    nlohmann::json json() const { return nlohmann::json::parse(out); }
};

/// Parses the words as main does, and runs the verb.
Answer ask(std::vector<std::string> words) {
    std::ostringstream out, err;
    auto* const old_out = std::cout.rdbuf(out.rdbuf());
    auto* const old_err = std::cerr.rdbuf(err.rdbuf());
    Answer answer;
    CLI::App app("", "subcrop");
    const std::vector<Command> commands{add_colour(app), add_texture(app), add_jar(app), add_plane(app)};
    std::reverse(words.begin(), words.end());  // as the parser wants them
    try {
        app.parse(words);
        for (const Command& command : commands)
            if (command.app->parsed()) answer.code = command.run();
    } catch (const CLI::Success& help) {
        app.exit(help, out, err);
        answer.code = done;
    } catch (const CLI::ParseError& wrong) {
        err << wrong.what();
        answer.code = wrong_usage;
    } catch (...) {
        std::cout.rdbuf(old_out);
        std::cerr.rdbuf(old_err);
        throw;
    }
    std::cout.rdbuf(old_out);
    std::cerr.rdbuf(old_err);
    answer.out = out.str();
    answer.err = err.str();
    return answer;
}

/// Every key of the answer, and of what is in it, stands in the verb's help.
void expect_keys_told(const std::string& verb, const nlohmann::json& json) {
    const std::string help = ask({verb, "--help"}).out;
    for (const auto& [key, value] : json.items()) EXPECT_THAT(help, HasSubstr(key)) << verb;
}

TEST(Colour, OneNotation) {
    const Answer answer = ask({"colour", "10 yr 5/6 moist"});
    EXPECT_EQ(answer.code, done);
    // L* of value 5 by ASTM D1535: 51.0037.
    EXPECT_THAT(answer.out, AllOf(StartsWith("10YR 5/6, moist\n"), HasSubstr("L* 51.00"), HasSubstr("sRGB swatch   #"),
                                  HasSubstr("nearest chip  10YR 5/6 of"), HasSubstr("Sources: 1943 renotation"),
                                  Not(HasSubstr("Difference"))));
    EXPECT_THAT(answer.err, IsEmpty());
}

TEST(Colour, TwoNotationsDiffer) {
    const Answer answer = ask({"colour", "10YR 5/6", "10YR 6/6"});
    EXPECT_EQ(answer.code, done);
    EXPECT_THAT(answer.out, AllOf(HasSubstr("\n10YR 6/6\n"), HasSubstr("\nDifference: "), HasSubstr("Sharma")));
    const auto json = ask({"colour", "10YR 5/6", "10YR 6/6", "--json"}).json();
    ASSERT_EQ(json["colours"].size(), 2u);
    EXPECT_EQ(json["colours"][1]["notation"], "10YR 6/6");
    EXPECT_NEAR(json["colours"][0]["chips"][0]["lab"][0].get<double>(), 51.0037, 1e-3);
    EXPECT_GT(json["difference"].get<double>(), 5.0);
    EXPECT_EQ(ask({"colour", "N 5/", "N 5/", "--json"}).json()["difference"], 0.0);
    expect_keys_told("colour", json);
    expect_keys_told("colour", json["colours"][0]);
    expect_keys_told("colour", json["colours"][0]["chips"][0]);
}

TEST(Colour, ARangeHasTwoChips) {
    const auto json = ask({"colour", "10YR 4/4-6/4", "10YR 5/4", "--json"}).json();
    EXPECT_EQ(json["colours"][0]["chips"].size(), 2u);
    EXPECT_LT(json["difference"].get<double>(), 2.0);  // its mean is about the chip between
}

TEST(Colour, WhatCannotBeReadIsOneInTheReadersWords) {
    const Answer answer = ask({"colour", "10XR 5/6"});
    EXPECT_EQ(answer.code, failed);
    EXPECT_THAT(answer.out, IsEmpty());
    EXPECT_THAT(answer.err, AllOf(StartsWith("subcrop: "), HasSubstr("10XR")));
    EXPECT_EQ(ask({"colour"}).code, wrong_usage);
    EXPECT_EQ(ask({"colour", "N 5/", "N 5/", "N 5/"}).code, wrong_usage);
}

TEST(Texture, FiguresWithFragments) {
    const Answer answer = ask({"texture", "65", "25", "10", "--fragments", "40", "--kind", "gravel"});
    EXPECT_EQ(answer.code, done) << answer.err;
    EXPECT_THAT(answer.out, AllOf(StartsWith("very gravelly sandy loam\n"), HasSubstr("SL, sandy loam"),
                                  HasSubstr("sand 65.0 %, silt 25.0 %, clay 10.0 %"), HasSubstr("Soil Survey Manual")));
    const auto json = ask({"texture", "65", "-", "10", "--json"}).json();
    EXPECT_EQ(json["class"], "SL");
    EXPECT_DOUBLE_EQ(json["grain_size"]["silt"].get<double>(), 25.0);
    // ilr of sandy loam 65/25/10: python3-skbio 0.5.8, ln(65/25)/sqrt 2 and ln(65 25/100)/sqrt 6.
    EXPECT_NEAR(json["ilr"]["mean"][0].get<double>(), 0.675650, 1e-5);
    EXPECT_NEAR(json["ilr"]["mean"][1].get<double>(), 1.138238, 1e-5);
    expect_keys_told("texture", json);
}

TEST(Texture, AClass) {
    for (const auto& words : {std::vector<std::string>{"texture", "SIL"}, {"texture", "silt", "loam"}}) {
        const Answer answer = ask(words);
        EXPECT_EQ(answer.code, done);
        EXPECT_THAT(answer.out,
                    AllOf(StartsWith("silt loam\n"), HasSubstr("sand 0 to 50 %, silt 50 to 88 %, clay 0 to 27 %")));
    }
    const auto json = ask({"texture", "grv-sl", "--json"}).json();
    EXPECT_EQ(json["name"], "very gravelly sandy loam");
    EXPECT_EQ(json["range"]["greatest"]["clay"], 20);
    EXPECT_EQ(json["ilr"]["covariance"].size(), 3u);
    expect_keys_told("texture", json);
    EXPECT_THAT(ask({"texture", "loam", "--fragments", "95", "--kind", "channers"}).out, StartsWith("channers\n"));
}

TEST(Texture, FiguresAsPeopleWriteThem) {
    const auto expected = ask({"texture", "65", "25", "10", "--json"}).json();
    for (const auto& words : {std::vector<std::string>{"65%", "25%", "10%"},
                              {"65 % 25 % 10 %"},
                              {"65,25,10"},
                              {"65,0 25,0 10,0"},
                              {"65; 25; 10"}}) {
        std::vector<std::string> asked{"texture"};
        asked.insert(asked.end(), words.begin(), words.end());
        asked.push_back("--json");
        const Answer answer = ask(asked);
        ASSERT_EQ(answer.code, done) << words.front() << ": " << answer.err;
        EXPECT_EQ(answer.json(), expected) << words.front();
    }
    EXPECT_THAT(ask({"texture", "33,3 33,3 33,4"}).out, StartsWith("clay loam\n"));
}

TEST(Texture, TheSizeOfTheSandIsKeptInTheName) {
    EXPECT_THAT(ask({"texture", "fine", "sandy", "loam"}).out,
                AllOf(StartsWith("fine sandy loam\n"), HasSubstr("SL, sandy loam")));
    EXPECT_THAT(ask({"texture", "GRV-LVFS"}).out, StartsWith("very gravelly loamy very fine sand\n"));
    EXPECT_THAT(ask({"texture", "cosl", "--fragments", "20", "--kind", "cobbles"}).out,
                StartsWith("cobbly coarse sandy loam\n"));
}

TEST(Texture, ExitCodes) {
    const Answer sum = ask({"texture", "60", "40", "12"});
    EXPECT_EQ(sum.code, failed);
    EXPECT_EQ(sum.err,
              "subcrop: sand 60, silt 40, clay 12 sum to 112, not to 100. Check the three percentages; a sum from 95 "
              "to 105 is "
              "brought to 100.\n");
    EXPECT_EQ(ask({"texture", "mud"}).code, failed);
    EXPECT_EQ(ask({"texture", "SL", "--fragments", "20", "--kind", "basalt"}).code, failed);
    EXPECT_EQ(ask({"texture", "65", "25"}).code, wrong_usage);
    EXPECT_EQ(ask({"texture"}).code, wrong_usage);
    EXPECT_EQ(ask({"texture", "SL", "--fragments", "120"}).code, wrong_usage);
    EXPECT_EQ(ask({"texture", "SL", "--kind", "gravel"}).code, wrong_usage);
}

TEST(Jar, WhenToMarkTheLines) {
    const Answer answer = ask({"jar", "--height", "10", "--temperature", "20"});
    EXPECT_EQ(answer.code, done);
    // 44.52 s and 7 h 43 m 45 s for 10 cm at 20 C by Stokes' law.
    EXPECT_THAT(answer.out,
                AllOf(HasSubstr("after 45 s, when all of 0.05 mm"), HasSubstr("after 7 h 44 min, when all of 0.002 mm"),
                      HasSubstr("IAPWS SR6-08"), HasSubstr("usually after 2 h")));
    const auto json = ask({"jar", "--json"}).json();
    EXPECT_EQ(json["water_height_cm"], 15);
    EXPECT_NEAR(json["marks"]["silt_s"].get<double>(), 1.5 * 27824.6, 10);
    // What has cleared 15 cm after 2 h.
    EXPECT_NEAR(json["lines"][1]["cut_mm"].get<double>(), 0.0048, 0.00005);
    EXPECT_TRUE(json["lines"][1]["stokes_holds"].get<bool>());
    expect_keys_told("jar", json);
    expect_keys_told("jar", json["lines"][0]);
}

TEST(Jar, GrainSizeOfTheLayers) {
    const std::vector<std::string> words{"jar", "--sand", "40", "--silt", "25", "--clay", "10", "--silt-read-after",
                                         "2h"};
    const Answer answer = ask(words);
    EXPECT_EQ(answer.code, done) << answer.err;
    EXPECT_THAT(answer.out, AllOf(StartsWith("sandy loam (SL)\n"), HasSubstr("by mass, in brackets standard errors"),
                                  HasSubstr("SL 0."),
                                  HasSubstr("after 2 h: all of 0.0048 mm and above is down, so finer silt is read"),
                                  HasSubstr("Thickness is not mass")));
    auto machine = words;
    machine.push_back("--json");
    const auto json = ask(machine).json();
    double sum = 0;
    for (const auto& [code, probability] : json["classes"].items()) sum += probability.get<double>();
    EXPECT_NEAR(sum, 1.0, 1e-9);
    EXPECT_EQ(json["class"], "SL");
    EXPECT_LT(json["grain_size"]["clay"].get<double>(), 100.0 * 10 / 75);
    EXPECT_GT(json["standard_error"]["sand"].get<double>(), 2.0);
    EXPECT_FALSE(json["lines"][1]["usual"].get<bool>());
    expect_keys_told("jar", json);
    // The same time written otherwise.
    machine[8] = "120 min";
    EXPECT_EQ(ask(machine).json(), json);
}

TEST(Jar, ALayerThatWasNotMeasuredIsSaidAndTheLikeliestClassNamed) {
    const std::vector<std::string> words{"jar", "--sand", "40", "--silt", "25"};
    const std::string missing =
        "No clay is given: it counts as not measured, so any amount is possible. If there was none, add --clay 0.";
    const Answer answer = ask(words);
    EXPECT_EQ(answer.code, done) << answer.err;
    EXPECT_THAT(answer.out, HasSubstr("No clay is given"));
    auto machine = words;
    machine.push_back("--json");
    const auto json = ask(machine).json();
    EXPECT_EQ(json["remark"], missing);
    const std::string named = json["class"];
    for (const auto& [code, probability] : json["classes"].items()) {
        EXPECT_LE(probability.get<double>(), json["classes"][named].get<double>()) << code;
    }
    EXPECT_THAT(answer.out, HasSubstr(" (" + named + "), the likeliest of several classes\n"));
    EXPECT_EQ(ask({"jar", "--sand", "40", "--silt", "25", "--clay", "0", "--json"}).json()["remark"], "");
}

TEST(Jar, ExitCodes) {
    const Answer one = ask({"jar", "--sand", "40"});
    EXPECT_EQ(one.code, failed);
    EXPECT_EQ(one.err, "subcrop: the jar gives fewer than two layers. Measure at least two of sand, silt and clay.\n");
    EXPECT_EQ(ask({"jar", "--sand", "100", "--silt", "90"}).code, failed);
    const Answer time = ask({"jar", "--silt-read-after", "soon"});
    EXPECT_EQ(time.code, wrong_usage);
    EXPECT_THAT(time.err, HasSubstr("'soon' is no time; write 40s, 1min or 2h."));
    EXPECT_EQ(ask({"jar", "--temperature", "68"}).code, wrong_usage);
    EXPECT_EQ(ask({"jar", "--height", "0"}).code, wrong_usage);
    EXPECT_EQ(ask({"jar", "--sand", "x"}).code, wrong_usage);
}

TEST(Plane, ThreePointsWithErrors) {
    const std::vector<std::string> words{"plane",        "393,2374,550", "1891,2738,650",  "2191,1037,450",
                                         "--plan-error", "10",           "--height-error", "5"};
    const Answer answer = ask(words);
    EXPECT_EQ(answer.code, done) << answer.err;
    // Bennison 1990, as worked in published course notes: 106.4 +- 1.6, 7.4 +- 0.3.
    EXPECT_THAT(answer.out,
                AllOf(StartsWith("106/07, strike by the right-hand rule and dip\n"),
                      HasSubstr("106.4 degrees (standard error 1.6)"),
                      HasSubstr("7.37 degrees (standard error 0.29), to 196"), HasSubstr("3 points, met exactly")));
    auto machine = words;
    machine.insert(machine.end(), {"--json", "--at", "393,2374", "--section", "106.4469"});
    const auto json = ask(machine).json();
    EXPECT_NEAR(json["strike_deg"].get<double>(), 106.4469, 1e-3);
    EXPECT_NEAR(json["heights"][0]["height_m"].get<double>(), 550, 1e-6);
    EXPECT_NEAR(json["sections"][0]["apparent_dip_deg"].get<double>(), 0, 1e-3);
    expect_keys_told("plane", json);
}

TEST(Plane, DipsDueNorthWithoutAMinus) {
    // The plane falls by 10 m in 100 m to the north: it strikes 270 by the right-hand rule.
    const std::vector<std::string> words{"plane", "0,0,100", "100,0,100", "0,100,90"};
    EXPECT_THAT(ask(words).out, AllOf(StartsWith("270/06"), HasSubstr("to 000"), Not(HasSubstr("-0"))));
    auto machine = words;
    machine.push_back("--json");
    EXPECT_THAT(ask(machine).out, Not(HasSubstr("-0.0")));
}

TEST(Plane, ReplacesNoTraceThatIsThere) {
    const auto file = std::filesystem::path(testing::TempDir()) / "a trace that is there.geojson";
    std::ofstream(file) << "kept";
    try {
        ask({"plane", "0,0,0", "--strike", "5", "--dip", "30", "--terrain", "none.tif", "--trace", file.string()});
        ADD_FAILURE() << "the trace was drawn";
    } catch (const Error& error) {
        EXPECT_EQ(error.message(), "the file is there already, and nothing is replaced");
        EXPECT_EQ(error.remedy(), "Give another name, or move it away first.");
    }
    std::ifstream in(file);
    std::string text;
    in >> text;
    EXPECT_EQ(text, "kept");
    std::filesystem::remove(file);
}

TEST(Plane, StrikeAndDipWithLetters) {
    struct Case {
        const char *strike, *dip, *plane;
    };
    const Case cases[] = {{"N45E", "22SE", "045/22"}, {"N45E", "22NW", "225/22"}, {"n 45 w", "22 ne", "315/22"},
                          {"S45E", "22SW", "135/22"}, {"45", "22NW", "225/22"},   {"45", "22", "045/22"},
                          {"N0E", "10W", "180/10"},   {"N90E", "10N", "270/10"}};
    for (const Case& c : cases) {
        const Answer answer = ask({"plane", "0,0,0", "--strike", c.strike, "--dip", c.dip});
        EXPECT_EQ(answer.code, done) << c.strike << ' ' << c.dip << ": " << answer.err;
        EXPECT_THAT(answer.out, StartsWith(std::string(c.plane) + ", strike")) << c.strike << ' ' << c.dip;
    }
    EXPECT_THAT(ask({"plane", "0,0,0", "--strike", "N45E", "--dip", "22"}).err,
                HasSubstr("a strike written as N45E leaves two sides; say to which the bed dips, such as 22E."));
    EXPECT_THAT(ask({"plane", "0,0,0", "--strike", "N45E", "--dip", "22NE"}).err,
                HasSubstr("a bed that strikes N45E does not dip to NE, which lies along its strike."));
    EXPECT_THAT(ask({"plane", "0,0,0", "--strike", "N95E", "--dip", "22S"}).err,
                HasSubstr("'N95E' is no strike; write 45 (0 to 360) or N45E."));
    EXPECT_THAT(ask({"plane", "0,0,0", "--strike", "45", "--dip", "steep"}).err, HasSubstr("'steep' is no dip"));
}

TEST(Plane, ExitCodes) {
    EXPECT_EQ(ask({"plane", "0,0,0", "1,1,1", "2,2,2"}).err,
              "subcrop: the points lie on one line, through which many planes pass. Give a point well off that line, "
              "or one point "
              "with strike and dip.\n");
    EXPECT_EQ(ask({"plane", "0,0,0", "1,1,1", "2,2,2"}).code, failed);
    EXPECT_EQ(ask({"plane", "0,0"}).code, wrong_usage);
    EXPECT_EQ(ask({"plane"}).code, wrong_usage);
    EXPECT_EQ(ask({"plane", "0,0,0", "--strike", "5"}).code, wrong_usage);
    EXPECT_EQ(ask({"plane", "0,0,0", "5,5,5", "--strike", "5", "--dip", "30"}).code, wrong_usage);
    EXPECT_EQ(ask({"plane", "0,0,0", "--strike", "5", "--dip", "95"}).code, wrong_usage);
    EXPECT_EQ(ask({"plane", "0,0,0", "--strike", "5", "--dip", "30", "--trace", "a.gpkg"}).code, wrong_usage);
    EXPECT_THAT(ask({"plane", "0,0,0", "--strike", "0", "--dip", "90"}).out, HasSubstr("90.00 degrees, vertical"));
}

}  // namespace
}  // namespace subcrop::cli
