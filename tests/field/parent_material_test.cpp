#include "subcrop/field/parent_material.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace subcrop::field {
namespace {

ParentMaterialCues landform(std::string_view text) {
    ParentMaterialCues cues;
    cues.landform = text;
    return cues;
}

ParentMaterial most_probable(const ParentMaterialCues& cues) {
    const ParentMaterialShares shares = parent_material_shares(cues);
    return static_cast<ParentMaterial>(std::max_element(shares.begin(), shares.end()) - shares.begin());
}

double transported(const ParentMaterialCues& cues) { return probability_transported(parent_material_shares(cues)); }

TEST(ParentMaterial, WithoutCuesThePriorStands) {
    const ParentMaterialShares shares = parent_material_shares({});
    EXPECT_NEAR(shares[static_cast<std::size_t>(ParentMaterial::residuum)], 0.70, 1e-12);
    EXPECT_NEAR(probability_transported(shares), 1.0 - 0.70 - 0.15 / 2.0, 1e-12);
    EXPECT_NEAR(transported(landform("beside the old sheepfold")), 0.225, 1e-12);
}

TEST(ParentMaterial, LandformsSpeak) {
    const std::pair<const char*, ParentMaterial> cases[] = {
        {"crest", ParentMaterial::residuum},         {"ridge top", ParentMaterial::residuum},
        {"Summits", ParentMaterial::residuum},       {"spur", ParentMaterial::residuum},
        {"shoulder", ParentMaterial::residuum},      {"backslope", ParentMaterial::residuum},
        {"scree", ParentMaterial::colluvium},        {"talus", ParentMaterial::colluvium},
        {"footslope", ParentMaterial::colluvium},    {"toeslope", ParentMaterial::colluvium},
        {"hollow", ParentMaterial::colluvium},       {"floodplain", ParentMaterial::alluvium},
        {"flood-plain", ParentMaterial::alluvium},   {"flood plain", ParentMaterial::alluvium},
        {"river terrace", ParentMaterial::alluvium}, {"alluvial fan", ParentMaterial::alluvium},
        {"fan", ParentMaterial::alluvium},           {"valley floor", ParentMaterial::alluvium},
        {"dunes", ParentMaterial::aeolian},          {"moraine", ParentMaterial::glacial},
        {"till plain", ParentMaterial::glacial},     {"lake bed", ParentMaterial::lacustrine},
        {"raised bog", ParentMaterial::organic},     {"fen", ParentMaterial::organic},
    };
    for (const auto& [text, kind] : cases) EXPECT_EQ(most_probable(landform(text)), kind) << text;
}

TEST(ParentMaterial, SpellingsOfOneLandformSayTheSame) {
    EXPECT_EQ(parent_material_shares(landform("foot slope")), parent_material_shares(landform("Footslope")));
    EXPECT_EQ(parent_material_shares(landform("foot slope")), parent_material_shares(landform("FS")));
    EXPECT_EQ(parent_material_shares(landform("flood plain")), parent_material_shares(landform("Floodplains")));
    EXPECT_EQ(parent_material_shares(landform("ridge, crest")), parent_material_shares(landform("crest")));
}

TEST(ParentMaterial, TransportedGroundIsToldFromUpland) {
    for (const char* text : {"floodplain", "terrace", "fan", "dune", "moraine", "bog"})
        EXPECT_GT(transported(landform(text)), 0.7) << text;
    for (const char* text : {"crest", "summit", "shoulder", "spur"})
        EXPECT_LT(transported(landform(text)), 0.1) << text;
    EXPECT_GT(transported(landform("footslope")), transported(landform("backslope")));
}

TEST(ParentMaterial, EachCueTurnsTheRightWay) {
    const double nothing = transported({});
    ParentMaterialCues cues;
    cues.discontinuity = true;
    EXPECT_GT(transported(cues), nothing + 0.2);

    cues = {};
    cues.organic_surface_thick = true;
    EXPECT_EQ(most_probable(cues), ParentMaterial::organic);

    cues = {};
    cues.fragment_shape = "rounded";
    EXPECT_EQ(most_probable(cues), ParentMaterial::alluvium);
    cues.fragment_shape = "Angular";
    EXPECT_LT(transported(cues), nothing);
    cues.fragment_shape = "striated";
    EXPECT_EQ(most_probable(cues), ParentMaterial::glacial);

    cues = {};
    cues.slope_deg = 35.0;
    const ParentMaterialShares steep = parent_material_shares(cues);
    const ParentMaterialShares plain = parent_material_shares({});
    EXPECT_GT(steep[static_cast<std::size_t>(ParentMaterial::colluvium)],
              plain[static_cast<std::size_t>(ParentMaterial::colluvium)]);
    EXPECT_LT(steep[static_cast<std::size_t>(ParentMaterial::alluvium)],
              plain[static_cast<std::size_t>(ParentMaterial::alluvium)]);
}

TEST(ParentMaterial, FewStonesSpeakByHalfAndNoStonesNotAtAll) {
    ParentMaterialCues cues;
    cues.fragments_pct = 0.0;
    const double stoneless = transported(cues);
    cues.fragment_shape = "rounded";
    EXPECT_EQ(transported(cues), stoneless);
    cues.fragments_pct = 3.0;
    const double few = transported(cues);
    cues.fragments_pct = 10.0;
    EXPECT_GT(transported(cues), few);
    EXPECT_GT(few, transported({}));
}

TEST(ParentMaterial, SubroundedIsNotRounded) {
    ParentMaterialCues cues;
    cues.fragment_shape = "sub-rounded";
    const auto apart = parent_material_shares(cues);
    cues.fragment_shape = "subrounded";
    EXPECT_EQ(parent_material_shares(cues), apart);
    cues.fragment_shape = "rounded";
    EXPECT_NE(parent_material_shares(cues), apart);
}

TEST(ParentMaterial, NotesMixtureAndMadeGroundSpeak) {
    const double nothing = transported({});
    ParentMaterialCues cues;
    cues.notes = "Stratified sand and gravel";
    EXPECT_GT(transported(cues), nothing + 0.3);
    cues.notes = "not stratified";
    EXPECT_EQ(transported(cues), nothing);
    cues.notes = "rock structure kept";
    EXPECT_LT(transported(cues), nothing / 2);
    cues = {};
    cues.several_kinds = true;
    EXPECT_GT(transported(cues), nothing);
    cues = {};
    cues.moved_by_people = true;
    EXPECT_GT(transported(cues), 0.5);
}

TEST(ParentMaterial, TheReasonNamesTheCuesThatSpeakForTheLikeliestKind) {
    ParentMaterialCues cues = landform("Flood  plain");
    cues.fragment_shape = "rounded";
    cues.slope_deg = 8;
    EXPECT_EQ(parent_material_reason(cues), "flood plain, rounded fragments");
    EXPECT_EQ(parent_material_reason({}), "");
    EXPECT_EQ(parent_material_reason(landform("crest")), "crest");
}

TEST(ParentMaterial, TheUsersWeightsTakeThePlaceOfTheDefaults) {
    ParentMaterialTable table;
    EXPECT_EQ(table.set("landform", "Stream terraces", {1, 1, 1, 1, 1, 1, 1}), "");
    EXPECT_EQ(table.set("landform", "terrace", {1, 1, 1, 1, 1, 1, 1}), "");
    const ParentMaterialShares plain = parent_material_shares({}, table);
    const ParentMaterialShares on_terrace = parent_material_shares(landform("stream terrace"), table);
    for (std::size_t i = 0; i < parent_material_count; ++i) EXPECT_NEAR(on_terrace[i], plain[i], 1e-15);
    EXPECT_EQ(table.set("Prior", "", {1, 1, 1, 1, 1, 1, 1}), "");
    EXPECT_NEAR(parent_material_shares({}, table)[3], 1.0 / 7, 1e-12);
    EXPECT_EQ(table.set("slope", "15 or more", {1, 1, 1, 1, 1, 1, 1}), "");
    EXPECT_EQ(table.set("slope", "16 or more", {1, 1, 1, 1, 1, 1, 1}), "the cue 'slope' has no '16 or more'");
    EXPECT_EQ(table.set("slop", "", {1, 1, 1, 1, 1, 1, 1}), "there is no cue 'slop'");
    EXPECT_EQ(table.set("shape", "rounded", {1, 0, 1, 1, 1, 1, 1}), "a weight is not above 0");
    EXPECT_EQ(table.set("notes", " ", {1, 1, 1, 1, 1, 1, 1}), "no word is written");
    // The defaults stay as they are.
    EXPECT_NEAR(parent_material_shares({})[0], 0.70, 1e-12);
}

TEST(ParentMaterial, SharesAreProbabilitiesWhateverIsSaid) {
    ParentMaterialCues cues{.landform = "bog, dune, moraine, floodplain, scree, lake, fan, crest, toeslope",
                            .slope_deg = 80.0,
                            .fragment_shape = "rounded striated",
                            .fragments_pct = 95.0,
                            .several_kinds = true,
                            .notes = "stratified, imbricated",
                            .discontinuity = true,
                            .moved_by_people = true,
                            .organic_surface_thick = true};
    const ParentMaterialShares shares = parent_material_shares(cues);
    EXPECT_NEAR(std::accumulate(shares.begin(), shares.end(), 0.0), 1.0, 1e-12);
    for (const double share : shares) EXPECT_TRUE(share > 0.0 && share < 1.0 && std::isfinite(share));
}

TEST(ParentMaterial, Names) {
    EXPECT_EQ(to_string(ParentMaterial::residuum), "residuum");
    EXPECT_EQ(to_string(ParentMaterial::organic), "organic");
}

}  // namespace
}  // namespace subcrop::field
