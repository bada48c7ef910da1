#include "publish/styles.hpp"

#include <cpl_minixml.h>
#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <set>

#include "publish/invented_survey.hpp"
#include "subcrop/publish/result_layers.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class StylesTest : public testing::Test {
protected:
    StylesTest() : folder_holder(testing::TempDir()), folder(folder_holder.path()) {
        survey.texts = std::make_shared<TextPool>();
        survey.units.resize(2);
        survey.units[0].code = "A&B <x>";
        survey.units[0].name = "Quote \" and\x01 worse";
        survey.units[0].colour = "#12ab34";
        survey.units[1].code = "Pm";
        survey.units[1].colour = "red;} evil";
    }
    std::map<std::string, std::string> styles() const {
        std::map<std::string, std::string> result;
        for (const LayerStyle& style : layer_styles(survey, result_definition(survey))) result[style.layer] = style.sld;
        return result;
    }
    test::TemporaryFolder folder_holder;
    fs::path folder;
    model::Survey survey;
};

struct FreeXml {
    void operator()(CPLXMLNode* node) const { CPLDestroyXMLNode(node); }
};

/// Text of every element of a name, wherever it stands.
void collect(const CPLXMLNode* node, const std::string& name, std::vector<std::string>& into) {
    for (; node != nullptr; node = node->psNext) {
        if (node->eType == CXT_Element && name == node->pszValue) into.emplace_back(CPLGetXMLValue(node, nullptr, ""));
        collect(node->psChild, name, into);
    }
}
std::vector<std::string> texts_of(const std::string& xml, const std::string& name) {
    const std::unique_ptr<CPLXMLNode, FreeXml> tree(CPLParseXMLString(xml.c_str()));
    EXPECT_TRUE(tree) << xml;
    std::vector<std::string> texts;
    collect(tree.get(), name, texts);
    return texts;
}

// XML 1.0, section 2.2: no control characters, no U+FFFE and U+FFFF.
TEST_F(StylesTest, HoldNoCharacterThatXmlHasNot) {
    survey.units[0].name =
        "a\x01"
        "b\xEF\xBF\xBF"
        "c\xEF\xBF\xBE"
        "d\te\xEF\xBF\xBC";
    const auto titles = texts_of(styles().at("unit_summary"), "Title");
    EXPECT_THAT(titles, testing::Contains("A&B <x>, a\xEF\xBF\xBD"
                                          "b\xEF\xBF\xBD"
                                          "c\xEF\xBF\xBD"
                                          "d e\xEF\xBF\xBC"));
}

// Element names and their order: OGC 02-070, Styled Layer Descriptor 1.0.0, and its well-known marks; parsed by GDAL's
// own reader of XML.
TEST_F(StylesTest, AreWellFormedAndNameOnlyWhatTheStandardKnows) {
    const auto all = styles();
    EXPECT_GE(all.size(), 8U);
    const std::set<std::string> marks{"square", "circle", "triangle", "star", "cross", "x"};
    for (const auto& [layer, sld] : all) {
        EXPECT_EQ(texts_of(sld, "Name"), std::vector<std::string>{layer});
        for (const std::string& mark : texts_of(sld, "WellKnownName")) EXPECT_TRUE(marks.contains(mark)) << mark;
        EXPECT_FALSE(texts_of(sld, "Rule").empty()) << layer;
    }
}

// Every property a rule asks for is a column of its layer, and every code it asks for one that the column may hold.
TEST_F(StylesTest, AskForColumnsAndCodesThatExist) {
    const io::FileDefinition file = result_definition(survey);
    for (const auto& style : styles()) {
        const auto& layer = style.first;
        const auto& sld = style.second;
        const auto definition =
            std::find_if(file.layers.begin(), file.layers.end(), [&](const auto& l) { return l.name == layer; });
        ASSERT_NE(definition, file.layers.end());
        std::set<std::string> columns, codes{"?"};
        for (const io::FieldDefinition& field : definition->fields) {
            columns.insert(field.name);
            for (const io::Domain& domain : file.domains)
                if (domain.name == field.domain)
                    for (const io::CodedValue& code : domain.codes) codes.insert(code.code);
        }
        for (const std::string& property : texts_of(sld, "ogc:PropertyName"))
            EXPECT_TRUE(columns.contains(property)) << layer << ' ' << property;
        for (const std::string& literal : texts_of(sld, "ogc:Literal"))
            EXPECT_TRUE(codes.contains(literal)) << layer << ' ' << literal;
    }
}

TEST_F(StylesTest, DrawUnitsInTheirLegendColoursAndVerdictsInShapes) {
    const auto all = styles();
    const std::string& units = all.at("unit_summary");
    EXPECT_THAT(units, HasSubstr("#12ab34"));
    EXPECT_THAT(units, testing::Not(HasSubstr("evil")));
    EXPECT_EQ(texts_of(units, "ogc:Literal"), (std::vector<std::string>{"A&B <x>", "Pm"}));
    // Each verdict has a rule, and no two verdicts the same mark in the same fill, turn and size.
    const std::string& stops = all.at("stop_fit");
    EXPECT_EQ(texts_of(stops, "ogc:Literal").size(), infer::verdict_count);
    std::set<std::string> marks;
    std::size_t count = 0;
    for (auto at = stops.find("<Graphic>"); at != std::string::npos; at = stops.find("<Graphic>", at + 1), ++count)
        marks.insert(stops.substr(at, stops.find("</Graphic>", at) - at));
    EXPECT_EQ(marks.size(), count);
    // Kinds of line: FGDC-STD-013-2006, section 1.1: a solid line is accurate, none of the others is.
    EXPECT_EQ(texts_of(all.at("relocated_contacts"), "Rule").size(), 5U);
    std::size_t dashed = 0;
    for (auto at = all.at("relocated_contacts").find("stroke-dasharray"); at != std::string::npos;
         at = all.at("relocated_contacts").find("stroke-dasharray", at + 1))
        ++dashed;
    EXPECT_EQ(dashed, 3U);
}

TEST_F(StylesTest, StandInTheFileAndBesideItAndTheFileIsValid) {
    Progress silent;
    const RunSummary summary = run_survey(test::write_survey(folder), {}, silent);
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(file);
    std::size_t rows = 0;
    for (const auto& row : *file->GetLayerByName("layer_styles")) {
        ++rows;
        const std::string layer = row->GetFieldAsString("f_table_name");
        ASSERT_NE(file->GetLayerByName(layer.c_str()), nullptr) << layer;
        EXPECT_STREQ(row->GetFieldAsString("f_geometry_column"),
                     file->GetLayerByName(layer.c_str())->GetGeometryColumn());
        std::ifstream in(folder / "results" / "styles" / (layer + ".sld"), std::ios::binary);
        EXPECT_EQ(std::string(std::istreambuf_iterator<char>(in), {}), row->GetFieldAsString("styleSLD"));
    }
    EXPECT_GE(rows, 8U);
    // GDAL's own validator of GeoPackages (package python3-gdal 3.6.2); it answers by its exit code.
    const std::string command = "/usr/bin/python3 -m osgeo_utils.samples.validate_gpkg '" +
                                summary.result_file.string() + "' > '" + (folder / "said").string() + "' 2>&1";
    EXPECT_EQ(std::system(command.c_str()), 0) << [&] {
        std::ifstream in(folder / "said");
        return std::string(std::istreambuf_iterator<char>(in), {});
    }();
}

}  // namespace
}  // namespace subcrop::publish
