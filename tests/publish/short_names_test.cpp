#include "publish/short_names.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cctype>
#include <set>

#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {
namespace {

using testing::ElementsAre;

// dBASE III: at most ten letters, digits and underscores, the first a letter (from memory; GDAL's ogrinfo shows the
// names as they stand).
TEST(ShortNames, OfAllResultLayersFitAndDiffer) {
    for (const io::LayerDefinition& layer : result_definition(model::Survey{}).layers) {
        std::vector<std::string> names{"fid"};
        for (const io::FieldDefinition& field : layer.fields) names.push_back(field.name);
        std::set<std::string> seen;
        const std::vector<std::string> shorter = short_names(names);
        ASSERT_EQ(shorter.size(), names.size());
        for (std::size_t i = 0; i < names.size(); ++i) {
            std::string small;
            for (const char c : shorter[i]) {
                EXPECT_TRUE(std::isalnum(static_cast<unsigned char>(c)) || c == '_') << shorter[i];
                small += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
            }
            EXPECT_TRUE(std::isalpha(static_cast<unsigned char>(small[0]))) << small;
            EXPECT_LE(small.size(), 10U) << small;
            EXPECT_TRUE(seen.insert(small).second) << layer.name << ": " << small;
            if (names[i].size() <= 10) {
                EXPECT_EQ(shorter[i], names[i]);
            }
        }
    }
}

TEST(ShortNames, TellAlikeOnesApart) {
    EXPECT_THAT(short_names({"magnetic_susceptibility", "magnetic_susceptibilities", "magn_susce", "MAGN_SUSCE"}),
                ElementsAre("magne_susc", "magne_su_2", "magn_susce", "MAGN_SUS_2"));
    EXPECT_THAT(short_names({"a_b_c_d_e_f_g_h"}), ElementsAre("a_b_c_d_e"));
    EXPECT_THAT(short_names({"half_width_after_m", "depth_to_gravel_cm"}), ElementsAre("half_aft_m", "de_to_gr_c"));
    EXPECT_TRUE(short_names({}).empty());
}

}  // namespace
}  // namespace subcrop::publish
