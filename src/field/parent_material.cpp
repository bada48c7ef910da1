#include "subcrop/field/parent_material.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>
#include <vector>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

// Every figure below is common practice put into numbers, no source. A weight is how much more often the cue is met on
// that kind of material than on the others: 1 says nothing, 10 speaks plainly, 100 settles it against the prior.
using Weights = std::array<double, parent_material_count>;

// clang-format off
//                              residuum colluvium alluvium aeolian glacial lacustrine organic
constexpr Weights prior        {0.70,    0.15,     0.05,    0.03,   0.03,   0.01,      0.03};

constexpr Weights upland       {3.0,     0.4,      0.05,    1.0,    1.0,    0.05,      0.3};
constexpr Weights slope        {1.0,     1.5,      0.2,     0.7,    1.0,    0.1,       0.2};
constexpr Weights foot         {1.0,     5.0,      1.5,     1.0,    1.0,    1.0,       1.0};
constexpr Weights toe          {1.0,     5.0,      8.0,     1.0,    1.0,    2.0,       2.0};
constexpr Weights hollow       {1.0,     6.0,      3.0,     1.0,    1.0,    1.0,       2.0};
constexpr Weights debris       {1.0,     60.0,     1.0,     0.1,    1.0,    0.1,       0.1};
constexpr Weights fan          {1.0,     8.0,      60.0,    0.5,    2.0,    0.5,       0.5};
constexpr Weights valley_floor {1.0,     2.0,      60.0,    1.0,    2.0,    5.0,       5.0};
constexpr Weights terrace      {1.0,     1.0,      40.0,    2.0,    5.0,    5.0,       0.5};
constexpr Weights flood_plain  {1.0,     1.0,      200.0,   1.0,    1.0,    10.0,      5.0};
constexpr Weights wind_laid    {1.0,     1.0,      1.0,     400.0,  1.0,    1.0,       0.5};
constexpr Weights ice_laid     {1.0,     1.0,      1.0,     1.0,    400.0,  1.0,       1.0};
constexpr Weights lake         {1.0,     1.0,      10.0,    1.0,    1.0,    800.0,     10.0};
constexpr Weights wetland      {1.0,     1.0,      3.0,     0.5,    1.0,    3.0,       300.0};
// clang-format on

struct LandformWord {
    std::string_view word;  ///< lower case, in one; two words that stand together are tried as one as well
    const Weights* weights;
};

constexpr LandformWord landform_words[] = {
    {"crest", &upland},
    {"summit", &upland},
    {"ridge", &upland},
    {"ridgetop", &upland},
    {"ridgecrest", &upland},
    {"hilltop", &upland},
    {"knoll", &upland},
    {"spur", &upland},
    {"shoulder", &upland},
    {"interfluve", &upland},
    {"nose", &upland},
    {"noseslope", &upland},
    {"divide", &upland},
    {"su", &upland},
    {"sh", &upland},
    {"backslope", &slope},
    {"sideslope", &slope},
    {"midslope", &slope},
    {"upperslope", &slope},
    {"hillside", &slope},
    {"hillslope", &slope},
    {"slope", &slope},
    {"bs", &slope},
    {"footslope", &foot},
    {"lowerslope", &foot},
    {"fs", &foot},
    {"toeslope", &toe},
    {"ts", &toe},
    {"hollow", &hollow},
    {"headslope", &hollow},
    {"swale", &hollow},
    {"cove", &hollow},
    {"gully", &hollow},
    {"draw", &hollow},
    {"talus", &debris},
    {"scree", &debris},
    {"landslide", &debris},
    {"landslip", &debris},
    {"slump", &debris},
    {"earthflow", &debris},
    {"debrisflow", &debris},
    {"rockfall", &debris},
    {"avalanche", &debris},
    {"colluvium", &debris},
    {"colluvial", &debris},
    {"fan", &fan},
    {"alluvialfan", &fan},
    {"valleyfloor", &valley_floor},
    {"valleybottom", &valley_floor},
    {"bottomland", &valley_floor},
    {"terrace", &terrace},
    {"floodplain", &flood_plain},
    {"levee", &flood_plain},
    {"riverbank", &flood_plain},
    {"streambank", &flood_plain},
    {"pointbar", &flood_plain},
    {"oxbow", &flood_plain},
    {"channel", &flood_plain},
    {"alluvium", &flood_plain},
    {"alluvial", &flood_plain},
    {"meander", &flood_plain},
    {"dune", &wind_laid},
    {"sandsheet", &wind_laid},
    {"loess", &wind_laid},
    {"coversand", &wind_laid},
    {"blowout", &wind_laid},
    {"aeolian", &wind_laid},
    {"eolian", &wind_laid},
    {"moraine", &ice_laid},
    {"drumlin", &ice_laid},
    {"esker", &ice_laid},
    {"kame", &ice_laid},
    {"till", &ice_laid},
    {"outwash", &ice_laid},
    {"sandur", &ice_laid},
    {"glacial", &ice_laid},
    {"kettle", &ice_laid},
    {"lake", &lake},
    {"lakebed", &lake},
    {"lakeplain", &lake},
    {"lakeshore", &lake},
    {"playa", &lake},
    {"lacustrine", &lake},
    {"shoreline", &lake},
    {"strandline", &lake},
    {"bog", &wetland},
    {"fen", &wetland},
    {"mire", &wetland},
    {"peat", &wetland},
    {"swamp", &wetland},
    {"marsh", &wetland},
    {"peatland", &wetland},
    {"muskeg", &wetland},
    {"wetland", &wetland},
};

struct ShapeWord {
    std::string_view word;
    Weights weights;
};

// clang-format off
//                              residuum colluvium alluvium aeolian glacial lacustrine organic
constexpr ShapeWord shape_words[] = {
    {"angular",     {1.5,        1.3,      0.2,     1.0,    0.6,    0.5,       1.0}},
    {"subangular",  {1.2,        1.2,      0.7,     1.0,    1.3,    0.8,       1.0}},
    {"subrounded",  {0.5,        0.7,      6.0,     1.0,    4.0,    2.0,       1.0}},
    {"rounded",     {0.2,        0.4,      12.0,    1.0,    4.0,    3.0,       1.0}},
    {"wellrounded", {0.1,        0.3,      15.0,    1.0,    3.0,    4.0,       1.0}},
    {"platy",       {1.5,        1.3,      0.4,     1.0,    0.7,    0.5,       1.0}},
    {"flat",        {1.3,        1.2,      0.7,     1.0,    0.8,    0.7,       1.0}},
    {"mixed",       {0.4,        1.5,      2.0,     1.0,    3.0,    1.0,       1.0}},
    {"faceted",     {0.2,        0.3,      0.7,     1.0,    20.0,   0.7,       1.0}},
    {"striated",    {0.2,        0.3,      0.7,     1.0,    30.0,   0.7,       1.0}},
};

constexpr Weights gentle       {1.0,     0.5,      1.5,     1.0,    1.0,    1.5,       1.5};  // below 2 degrees
constexpr Weights steep        {1.0,     1.5,      0.2,     0.7,    0.7,    0.1,       0.2};  // 15 degrees or more
constexpr Weights very_steep   {1.0,     2.5,      0.05,    0.2,    0.4,    0.02,      0.05}; // 30 degrees or more
constexpr Weights stoneless    {0.8,     0.6,      1.0,     2.0,    0.5,    2.0,       1.0};  // below 1 %
constexpr Weights stony        {1.0,     1.2,      1.0,     0.1,    1.2,    0.1,       0.5};  // 15 % or more
constexpr Weights two_materials{0.15,    1.0,      1.0,     1.0,    1.0,    1.0,       1.0};
constexpr Weights deep_litter  {1.0,     1.0,      1.0,     1.0,    1.0,    1.0,       100.0};
// clang-format on

/// Few stones tell little of how all of the material came: below 5 % their shape counts by half.
constexpr double few_fragments_pct = 5.0;

void multiply(Weights& shares, const Weights& weights, double power = 1.0) {
    for (std::size_t i = 0; i < parent_material_count; ++i) shares[i] *= std::pow(weights[i], power);
}

/// Words in small letters, and each two that stand together written as one; a plural s taken off.
std::vector<std::string> words_and_pairs(std::string_view text) {
    std::vector<std::string> single = words(lower(plain_marks(text)), "-_,;:./()\"?");
    for (std::string& word : single)
        if (word.size() > 4 && word.ends_with('s') && !word.ends_with("ss") && word != "talus") word.pop_back();
    std::vector<std::string> all = single;
    for (std::size_t i = 0; i + 1 < single.size(); ++i) all.push_back(single[i] + single[i + 1]);
    return all;
}

void weigh_landform(Weights& shares, std::string_view text) {
    std::vector<const Weights*> met;
    const std::vector<std::string> all = words_and_pairs(text);
    for (const LandformWord& entry : landform_words) {
        if (std::find(all.begin(), all.end(), entry.word) == all.end()) continue;
        if (std::find(met.begin(), met.end(), entry.weights) == met.end()) met.push_back(entry.weights);
    }
    // 'foot slope', 'toe slope': the second word alone is met as well and says less than the two together.
    if (met.size() > 1) std::erase(met, &slope);
    for (const Weights* weights : met) multiply(shares, *weights);
}

void weigh_shape(Weights& shares, std::string_view text, const std::optional<double>& fragments_pct) {
    if (fragments_pct && *fragments_pct <= 0.0) return;
    const std::vector<std::string> all = words_and_pairs(text);
    const auto written = [&](std::string_view word) { return std::find(all.begin(), all.end(), word) != all.end(); };
    const ShapeWord* met = nullptr;
    // Of several words the strongest is last in the table's order of its kind: 'sub rounded' is also 'rounded'.
    const bool sub = written("sub");
    for (const ShapeWord& entry : shape_words) {
        if (!written(entry.word)) continue;
        if (sub && (entry.word == "rounded" || entry.word == "angular")) continue;
        met = &entry;
    }
    if (!met) return;
    multiply(shares, met->weights, fragments_pct && *fragments_pct < few_fragments_pct ? 0.5 : 1.0);
}

}  // namespace

std::string_view to_string(ParentMaterial kind) {
    constexpr std::array<std::string_view, parent_material_count> names{"residuum", "colluvium",  "alluvium", "aeolian",
                                                                        "glacial",  "lacustrine", "organic"};
    return names[static_cast<std::size_t>(kind)];
}

ParentMaterialShares parent_material_shares(const ParentMaterialCues& cues) {
    Weights shares = prior;
    weigh_landform(shares, cues.landform);
    if (cues.slope_deg) {
        if (*cues.slope_deg >= 30.0)
            multiply(shares, very_steep);
        else if (*cues.slope_deg >= 15.0)
            multiply(shares, steep);
        else if (*cues.slope_deg < 2.0)
            multiply(shares, gentle);
    }
    weigh_shape(shares, cues.fragment_shape, cues.fragments_pct);
    if (cues.fragments_pct) {
        if (*cues.fragments_pct < 1.0)
            multiply(shares, stoneless);
        else if (*cues.fragments_pct >= 15.0)
            multiply(shares, stony);
    }
    if (cues.discontinuity) multiply(shares, two_materials);
    if (cues.organic_surface_thick) multiply(shares, deep_litter);
    const double sum = std::accumulate(shares.begin(), shares.end(), 0.0);
    for (double& share : shares) share /= sum;
    return shares;
}

double probability_transported(const ParentMaterialShares& shares) {
    const double residuum = shares[static_cast<std::size_t>(ParentMaterial::residuum)];
    const double colluvium = shares[static_cast<std::size_t>(ParentMaterial::colluvium)];
    return std::clamp(1.0 - residuum - colluvium / 2.0, 0.0, 1.0);
}

}  // namespace subcrop::field
