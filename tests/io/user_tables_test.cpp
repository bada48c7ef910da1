#include "io/scratch_survey.hpp"

namespace subcrop::io {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

constexpr const char* stops = "stop,x,y,plants,landform\nA1,500100,5200100,\"ling, bracken\",raised shelf\n";

std::string survey_with(const std::string& more) {
    return R"({"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"}, )" + more + "}";
}

TEST(UserTables, NamesOfPlants) {
    const ScratchFolder folder;
    folder.write("stops.csv", stops);
    folder.write("names.csv", "name,taxon\nling,Calluna vulgaris\nHeather,Calluna vulgaris\nling,Erica cinerea\n");
    const ReadSurvey read =
        read_all(folder, survey_with(R"("plants": {"source": "names.csv", "columns": {"written": "name"}})"));
    EXPECT_THAT(read.survey.plant_names.settle(field::read_plants("ling, bracken")).taxa,
                ElementsAre("bracken", "calluna vulgaris"));
    EXPECT_THAT(lines_of(read.problems),
                testing::Contains(
                    "warning names.csv 4 name 'ling': 'ling' stands in the list already as 'calluna vulgaris'; the "
                    "row is left out | Write one name as in the notes, and the one taxon that is meant, "
                    "or none if it is no plant."));
}

TEST(UserTables, NamesOfRocksMineralsAndLandforms) {
    const ScratchFolder folder;
    folder.write("stops.csv", stops);
    folder.write("names.csv",
                 "kind,written,meant\nrock,Greenstone,basalt\nRock,sst,sst\nmineral,ol,orthoclase\nfossil,ammonite,"
                 "ammonite\nrock,greenstone,gabbro\nplant,ling,heather\n");
    const ReadSurvey read = read_all(folder, survey_with(R"("names": {"source": "names.csv"})"));
    const field::KindNames& names = read.survey.kind_names;
    EXPECT_EQ(names.settle(field::NamedKind::rock, "greenstone"), "basalt");
    EXPECT_EQ(names.settle(field::NamedKind::rock, "sst"), "sst");  // hers keeps it from being merged
    EXPECT_EQ(names.settle(field::NamedKind::mineral, "ol"), "orthoclase");
    EXPECT_EQ(names.settle(field::NamedKind::rock, "lst"), "limestone");
    EXPECT_THAT(
        lines_of(read.problems),
        ElementsAre("warning names.csv 5 kind 'fossil, ammonite': there is no kind 'fossil'; the row is left out | "
                    "Write rock, mineral, landform, texture, reaction or mottles; then the words as in the notes, and "
                    "what they mean.",
                    "warning names.csv 6 written 'rock, greenstone': 'greenstone' stands in the table already as "
                    "'basalt'; the row is left out | Write rock, mineral, landform, texture, reaction or mottles; then "
                    "the words as in the notes, and what they mean.",
                    "warning names.csv 7 kind 'plant': plants have a table of their own; the row is left out | Name it "
                    "under 'plants', by 'written' and 'taxon'."));
}

TEST(UserTables, WeightsOfParentMaterial) {
    const ScratchFolder folder;
    folder.write("stops.csv", stops);
    folder.write("weights.csv",
                 "cue,word,residuum,alluvium\nlandform,Raised shelf,1,50\nlandforms,shelf,1,5\nslope,16 or more,1,2\n"
                 "shape,rounded,-1,2\n");
    const ReadSurvey read = read_all(folder, survey_with(R"("parent_material_weights": {"source": "weights.csv"})"));
    field::ParentMaterialCues cues;
    cues.landform = "raised shelf";
    const auto shares = field::parent_material_shares(cues, read.survey.parent_material);
    const auto plain = field::parent_material_shares({}, read.survey.parent_material);
    EXPECT_NEAR(shares[2] / shares[0], 50 * plain[2] / plain[0], 1e-9);
    EXPECT_NEAR(shares[1] / shares[0], plain[1] / plain[0], 1e-9);  // an absent column weighs 1
    const auto lines = lines_of(read.problems);
    EXPECT_THAT(
        lines,
        testing::Contains(HasSubstr(
            "there is no cue 'landforms'; the row is left out | Did you mean 'landform'? Cues: prior, landform,")));
    EXPECT_THAT(
        lines,
        testing::Contains(HasSubstr(
            "the cue 'slope' has no '16 or more'; the row is left out | It has: below 2, 15 or more, 30 or more.")));
    EXPECT_THAT(lines, testing::Contains(HasSubstr(
                           "a weight is not above 0; the row is left out | Weights are above 0; 1 says nothing.")));
}

TEST(UserTables, AMissingColumnOrKeyIsTold) {
    const ScratchFolder folder;
    folder.write("stops.csv", stops);
    folder.write("names.csv", "name,taxon\nling,Calluna vulgaris\n");
    EXPECT_THAT(error_of(folder, survey_with(R"("plants": {"source": "names.csv"})")), HasSubstr("written"));
    EXPECT_THAT(error_of(folder, survey_with(R"("plant": {"source": "names.csv"})")), HasSubstr("plants"));
}

}  // namespace
}  // namespace subcrop::io
