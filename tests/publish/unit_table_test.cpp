#include "publish/unit_table.hpp"

#include <gdal_priv.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <ogrsf_frmts.h>

#include <fstream>
#include <iterator>

#include "publish/csv_text.hpp"
#include "publish/invented_survey.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;

// Quoting: RFC 4180, section 2. The signs that begin a formula: common practice against formula injection, no single
// source.
TEST(CsvText, IsQuotedAndNeverAFormula) {
    EXPECT_EQ(csv_text("plain words"), "plain words");
    EXPECT_EQ(csv_text("a, b"), "\"a, b\"");
    EXPECT_EQ(csv_text("say \"so\""), "\"say \"\"so\"\"\"");
    EXPECT_EQ(csv_text("two\nlines"), "\"two\nlines\"");
    EXPECT_EQ(csv_text("=1+1"), "'=1+1");
    EXPECT_EQ(csv_text("+1"), "'+1");
    EXPECT_EQ(csv_text("-1"), "'-1");
    EXPECT_EQ(csv_text("@sum(a)"), "'@sum(a)");
    EXPECT_EQ(csv_text("\t=1"), "\"'\t=1\"");
    EXPECT_EQ(csv_text("=cmd|'/c calc'!A0,1"), "\"'=cmd|'/c calc'!A0,1\"");
    EXPECT_EQ(csv_text("Ll"), "Ll");
    EXPECT_EQ(csv_text(""), "");
    EXPECT_EQ(csv_number(0.1), "0.1");
    EXPECT_EQ(csv_number(-250), "-250");
}

// GDAL's CSV reader as the outside judge of the table, and the layer as the other way to the same figures.
TEST(UnitTable, SaysWhatTheLayerSays) {
    const test::TemporaryFolder folder(testing::TempDir());
    Progress silent;
    const fs::path survey = test::write_survey(folder.path());
    test::write_file(folder.path() / "legend.csv", "unit,name\nSND,\"=HYPERLINK(1), brown\"\nMUD,Red mudstone\n");
    const RunSummary summary = run_survey(survey, {}, silent);
    const fs::path table = folder.path() / "results" / "units.csv";
    const GDALDatasetUniquePtr csv(GDALDataset::Open(table.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    const GDALDatasetUniquePtr file(GDALDataset::Open(summary.result_file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
    ASSERT_TRUE(csv && file);
    OGRLayer& rows = *csv->GetLayer(0);
    OGRLayer& layer = *file->GetLayerByName("unit_summary");
    ASSERT_EQ(rows.GetFeatureCount(), 2);
    ASSERT_EQ(rows.GetLayerDefn()->GetFieldCount(), layer.GetLayerDefn()->GetFieldCount());
    for (int i = 0; i < 2; ++i) {
        const OGRFeatureUniquePtr row(rows.GetNextFeature()), unit(layer.GetNextFeature());
        for (int k = 0; k < row->GetFieldCount(); ++k) {
            const OGRFieldDefn& field = *unit->GetFieldDefnRef(k);
            EXPECT_STREQ(row->GetFieldDefnRef(k)->GetNameRef(), field.GetNameRef());
            const std::string cell = row->GetFieldAsString(k);
            if (!unit->IsFieldSetAndNotNull(k))
                EXPECT_EQ(cell, "") << field.GetNameRef();
            else if (field.GetType() == OFTReal)
                EXPECT_DOUBLE_EQ(std::stod(cell), unit->GetFieldAsDouble(k)) << field.GetNameRef();
            else if (std::string(unit->GetFieldAsString(k)).starts_with("="))
                EXPECT_EQ(cell, "'" + std::string(unit->GetFieldAsString(k)));
            else
                EXPECT_EQ(cell, unit->GetFieldAsString(k)) << field.GetNameRef();
        }
        EXPECT_THAT(unit->GetFieldAsString("description"), testing::HasSubstr("drawn over 50 ha"));
    }
    EXPECT_FALSE(fs::exists(folder.path() / "results" / "units.partial.csv"));
}

}  // namespace
}  // namespace subcrop::publish
