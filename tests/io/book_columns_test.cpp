// What the empty field book offers is what the readers take.
#include "io/book_columns.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>

#include "io/survey_keys.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/field/profile.hpp"
#include "subcrop/field/redox.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/io/new_survey.hpp"

namespace subcrop::io {
namespace {

const Domain& domain(const std::string& name) {
    for (const Domain& entry : book_domains())
        if (entry.name == name) return entry;
    static const Domain none;
    ADD_FAILURE() << "no domain " << name;
    return none;
}

template <class Read>
void expect_each_is_read(const std::string& name, const Read& read) {
    EXPECT_GE(domain(name).codes.size(), 5U);
    for (const CodedValue& value : domain(name).codes) {
        const auto parsed = read(value.code);
        EXPECT_TRUE(parsed) << name << ' ' << value.code;
        EXPECT_EQ(parsed.message, "") << name << ' ' << value.code;
        EXPECT_FALSE(value.meaning.empty());
    }
}

TEST(BookColumnsTest, EveryCodeOfAPickListIsReadWithoutARemark) {
    expect_each_is_read("texture", [](const std::string& code) { return field::parse_texture(code); });
    expect_each_is_read("effervescence", [](const std::string& code) { return field::read_effervescence(code); });
    expect_each_is_read("redox", [](const std::string& code) { return field::read_redox(code); });
}

TEST(BookColumnsTest, EveryLandformAndShapeSpeaks) {
    const auto nothing = field::parent_material_shares({});
    for (const CodedValue& value : domain("landform").codes) {
        field::ParentMaterialCues cues;
        cues.landform = value.code;
        EXPECT_NE(field::parent_material_shares(cues), nothing) << value.code;
    }
    for (const CodedValue& value : domain("fragment_shape").codes) {
        field::ParentMaterialCues cues;
        cues.fragment_shape = value.code;
        EXPECT_NE(field::parent_material_shares(cues), nothing) << value.code;
    }
}

TEST(BookColumnsTest, EveryMasterLetterIsADesignationAndInThePattern) {
    for (const field::MasterHorizon& master : field::master_horizons()) {
        EXPECT_TRUE(field::parse_designation(std::string(1, master.letter))) << master.letter;
        EXPECT_NE(domain("designation").pattern.find(master.letter), std::string::npos);
    }
}

TEST(BookColumnsTest, RangesLieWithinWhatTheReadersAccept) {
    for (const auto* book : {&stop_book(), &horizon_book(), &legend_book(), &borehole_book(), &attitude_book()}) {
        for (const BookColumn& column : *book) {
            if (column.type != FieldType::real) continue;
            if (!column.domain.empty()) {
                ASSERT_TRUE(domain(column.domain).range) << column.name;
                EXPECT_GE(domain(column.domain).range->min, column.rule.least) << column.name;
                EXPECT_LE(domain(column.domain).range->max, column.rule.most) << column.name;
            } else {
                EXPECT_TRUE(std::isinf(column.rule.least) && std::isinf(column.rule.most))
                    << column.name << " has limits, a form has none";
            }
        }
    }
}

TEST(BookColumnsTest, ExamplesAreReadAsWritten) {
    std::set<std::string> names;
    for (const auto* book :
         {&stop_book(), &horizon_book(), &legend_book(), &map_book(), &borehole_book(), &attitude_book()}) {
        for (const BookColumn& column : *book) {
            EXPECT_TRUE(column.description.ends_with('.')) << column.name;
            EXPECT_FALSE(column.example.empty()) << column.name;
            names.insert(column.name);
            if (column.type == FieldType::real) {
                const auto number = read_number(column.example, column.rule.unit);
                ASSERT_TRUE(number) << column.name;
                EXPECT_EQ(number.message, "") << column.name;
                EXPECT_TRUE(*number.value >= column.rule.least && *number.value <= column.rule.most) << column.name;
            }
            if (column.type == FieldType::boolean) {
                EXPECT_TRUE(read_yes_no(column.example)) << column.name;
            }
            if (column.name.starts_with("colour_")) {
                EXPECT_EQ(field::parse_munsell(column.example).message, "") << column.name;
            }
            if (column.name == "designation") {
                EXPECT_EQ(field::parse_designation(column.example).message, "");
            }
            if (!column.domain.empty() && !domain(column.domain).codes.empty()) {
                const auto& codes = domain(column.domain).codes;
                EXPECT_TRUE(std::any_of(codes.begin(), codes.end(), [&](const auto& c) {
                    return c.code == column.example;
                })) << column.name;
            }
        }
    }
    EXPECT_GT(names.size(), 48U);
}

TEST(BookColumnsTest, ColumnsTxtNamesEachColumnAndEachKeyOfTheSurveyFile) {
    const std::filesystem::path folder = std::filesystem::path(testing::TempDir()) / "columns_txt";
    std::filesystem::remove_all(folder);
    write_new_survey({.folder = folder, .title = "Hesk valley"});
    std::ifstream file(folder / "columns.txt");
    const std::string text{std::istreambuf_iterator<char>(file), {}};
    const auto named = [&](const std::string& name) { return text.find("\n  " + name + "  ") != std::string::npos; };
    for (const auto* keys : {&survey_keys(), &source_keys(), &settings_keys()})
        for (const SurveyKey& key : *keys) EXPECT_TRUE(named(std::string(key.name))) << key.name;
    for (const auto* book :
         {&stop_book(), &horizon_book(), &legend_book(), &map_book(), &borehole_book(), &attitude_book()})
        for (const BookColumn& column : *book) EXPECT_TRUE(named(column.name)) << column.name;
}

}  // namespace
}  // namespace subcrop::io
