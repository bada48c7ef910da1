#include "subcrop/field/parent_material.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>
#include <utility>
#include <vector>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

// Every figure below is common practice put into numbers, no source. The header explains the weights.
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
constexpr Weights kinds_mixed  {0.8,     1.2,      1.3,     1.0,    2.0,    1.0,       1.0};
constexpr Weights two_materials{0.15,    1.0,      1.0,     1.0,    1.0,    1.0,       1.0};
constexpr Weights deep_litter  {1.0,     1.0,      1.0,     1.0,    1.0,    1.0,       100.0};
constexpr Weights made_ground  {0.02,    1.0,      1.0,     1.0,    1.0,    1.0,       1.0};

constexpr Weights stratified   {0.15,    0.3,      6.0,     1.5,    1.5,    6.0,       0.5};
constexpr Weights well_sorted  {0.3,     0.2,      3.0,     8.0,    0.5,    3.0,       0.5};
constexpr Weights unsorted     {0.8,     2.0,      0.3,     0.05,   4.0,    0.1,       0.3};
constexpr Weights imbricated   {0.1,     0.2,      15.0,    0.2,    0.5,    0.2,       0.2};
constexpr Weights rock_fabric  {8.0,     0.3,      0.1,     0.1,    0.2,    0.1,       0.1};
constexpr Weights slope_wash   {0.5,     8.0,      1.0,     0.3,    0.5,    0.3,       0.3};
// clang-format on

/// Few stones tell little about the origin of the whole material. Below 5 % their shape counts by half.
constexpr double few_fragments_pct = 5.0;

struct NoteWord {
    std::string_view word;
    const Weights* weights;
};

constexpr NoteWord note_words[] = {
    {"stratified", &stratified},  {"laminated", &stratified},      {"varved", &lake},
    {"wellsorted", &well_sorted}, {"unsorted", &unsorted},         {"poorlysorted", &unsorted},
    {"imbricated", &imbricated},  {"rockstructure", &rock_fabric}, {"saprolite", &rock_fabric},
    {"rockfabric", &rock_fabric}, {"slopewash", &slope_wash},      {"hillwash", &slope_wash},
};

struct FixedCue {
    std::string_view cue;
    std::string_view word;
    const Weights* weights;
    std::string_view said;  ///< in a reason
};

constexpr FixedCue fixed_cues[] = {
    {"prior", "", &prior, ""},
    {"slope", "below 2", &gentle, "level ground"},
    {"slope", "15 or more", &steep, "steep slope"},
    {"slope", "30 or more", &very_steep, "very steep slope"},
    {"fragments", "below 1", &stoneless, "no stones"},
    {"fragments", "15 or more", &stony, "stony soil"},
    {"fragments", "several kinds", &kinds_mixed, "stones of several kinds"},
    {"profile", "discontinuity", &two_materials, "two materials in the profile"},
    {"profile", "thick organic surface", &deep_litter, "thick organic surface"},
    {"profile", "moved by people", &made_ground, "material moved by people"},
};

bool words_are_fixed(std::string_view cue) { return cue != "landform" && cue != "shape" && cue != "notes"; }

/// Words in small letters, and each two that stand together written as one; a plural s taken off.
std::vector<std::string> words_and_pairs(std::string_view text) {
    std::vector<std::string> single = words(lower(plain_marks(text)), "-_,;:./()\"?");
    for (std::string& word : single)
        if (word.size() > 4 && word.ends_with('s') && !word.ends_with("ss") && word != "talus") word.pop_back();
    std::vector<std::string> all = single;
    for (std::size_t i = 0; i + 1 < single.size(); ++i) all.push_back(single[i] + single[i + 1]);
    return all;
}

/// As words of the table are kept: "Foot slopes" is "footslope".
std::string table_word(std::string_view text) {
    std::string word;
    for (const std::string& part : words(lower(plain_marks(text)), "-_,;:./()\"?")) word += part;
    if (word.size() > 4 && word.ends_with('s') && !word.ends_with("ss") && word != "talus") word.pop_back();
    return word;
}

/// One cue found: its weights, the power they are raised to, and its words in a reason.
struct Met {
    const Weights* weights;
    double power;
    std::string said;
};

class Reader {
public:
    /// `tell`: words for a reason are wanted.
    Reader(const ParentMaterialCues& cues, const ParentMaterialTable& table, bool tell)
        : cues_(cues), table_(table), tell_(tell) {}

    std::vector<Met> read() {
        landform();
        if (cues_.slope_deg) {
            if (*cues_.slope_deg >= 30.0)
                fixed("slope", "30 or more");
            else if (*cues_.slope_deg >= 15.0)
                fixed("slope", "15 or more");
            else if (*cues_.slope_deg < 2.0)
                fixed("slope", "below 2");
        }
        shape();
        if (cues_.fragments_pct) {
            if (*cues_.fragments_pct < 1.0)
                fixed("fragments", "below 1");
            else if (*cues_.fragments_pct >= 15.0)
                fixed("fragments", "15 or more");
        }
        if (cues_.several_kinds && !(cues_.fragments_pct && *cues_.fragments_pct <= 0.0))
            fixed("fragments", "several kinds");
        notes();
        if (cues_.discontinuity) fixed("profile", "discontinuity");
        if (cues_.moved_by_people) fixed("profile", "moved by people");
        if (cues_.organic_surface_thick) fixed("profile", "thick organic surface");
        return std::move(met_);
    }

private:
    void fixed(std::string_view cue, std::string_view word) {
        for (const FixedCue& entry : fixed_cues)
            if (entry.cue == cue && entry.word == word)
                met_.push_back({table_.find(cue, word), 1.0, tell_ ? std::string(entry.said) : std::string()});
    }

    void landform() {
        // Words of one meaning have the same weights and count once.
        std::vector<const Weights*> found;
        for (const std::string& word : words_and_pairs(cues_.landform)) {
            const Weights* weights = table_.find("landform", word);
            if (!weights || std::any_of(found.begin(), found.end(), [&](const Weights* w) { return *w == *weights; }))
                continue;
            found.push_back(weights);
        }
        // 'foot slope', 'toe slope': the second word alone is met as well and says less than the two together.
        if (const Weights* plain = table_.find("landform", "slope"); plain && found.size() > 1)
            std::erase_if(found, [&](const Weights* w) { return *w == *plain; });
        for (const Weights* weights : found)
            met_.push_back({weights, 1.0, tell_ ? single_spaced(lower(cues_.landform)) : std::string()});
    }

    void shape() {
        if (cues_.fragments_pct && *cues_.fragments_pct <= 0.0) return;
        const std::vector<std::string> all = words_and_pairs(cues_.fragment_shape);
        // 'sub rounded' is also 'rounded', and so is 'well rounded'. Of several words the one written first as a pair
        // is used.
        const bool part =
            std::any_of(all.begin(), all.end(), [](const std::string& w) { return w == "sub" || w == "well"; });
        const Weights* weights = nullptr;
        for (auto word = all.rbegin(); word != all.rend() && !weights; ++word) {
            if (part && (*word == "rounded" || *word == "angular")) continue;
            weights = table_.find("shape", *word);
        }
        if (!weights) return;
        const bool few = cues_.fragments_pct && *cues_.fragments_pct < few_fragments_pct;
        met_.push_back({weights, few ? 0.5 : 1.0,
                        tell_ ? single_spaced(lower(cues_.fragment_shape)) + " fragments" : std::string()});
    }

    void notes() {
        // "not stratified", "no lamination": if a word is denied, none of these words is used.
        const std::vector<std::string> single = words(lower(cues_.notes), ",;:.");
        if (std::any_of(single.begin(), single.end(), [](const std::string& w) { return w == "no" || w == "not"; }))
            return;
        std::vector<const Weights*> found;
        for (const std::string& word : words_and_pairs(cues_.notes)) {
            const Weights* weights = table_.find("notes", word);
            if (!weights || std::any_of(found.begin(), found.end(), [&](const Weights* w) { return *w == *weights; }))
                continue;
            found.push_back(weights);
            met_.push_back({weights, 1.0, "noted as " + word});
        }
    }

    const ParentMaterialCues& cues_;
    const ParentMaterialTable& table_;
    bool tell_;
    std::vector<Met> met_;
};

}  // namespace

std::string_view to_string(ParentMaterial kind) {
    constexpr std::array<std::string_view, parent_material_count> names{"residuum", "colluvium",  "alluvium", "aeolian",
                                                                        "glacial",  "lacustrine", "organic"};
    return names[static_cast<std::size_t>(kind)];
}

std::span<const std::string_view> landform_terms() {
    static constexpr std::string_view terms[] = {
        "summit",      "ridge",      "knoll",      "spur",  "interfluve", "shoulder",     "backslope",    "footslope",
        "toeslope",    "hollow",     "gully",      "talus", "landslide",  "alluvial fan", "valley floor", "terrace",
        "flood plain", "levee",      "channel",    "dune",  "moraine",    "drumlin",      "esker",        "kame",
        "kettle",      "lake plain", "lake shore", "playa", "bog",        "fen",          "swamp",        "marsh"};
    return terms;
}

std::span<const std::string_view> fragment_shape_terms() {
    static constexpr std::string_view terms[] = {"angular", "subangular", "subrounded", "rounded",  "well rounded",
                                                 "platy",   "flat",       "faceted",    "striated", "mixed"};
    return terms;
}

ParentMaterialTable::ParentMaterialTable() {
    for (const FixedCue& entry : fixed_cues) weights_[std::string(entry.cue)][std::string(entry.word)] = *entry.weights;
    for (const LandformWord& entry : landform_words) weights_["landform"][std::string(entry.word)] = *entry.weights;
    for (const ShapeWord& entry : shape_words) weights_["shape"][std::string(entry.word)] = entry.weights;
    for (const NoteWord& entry : note_words) weights_["notes"][std::string(entry.word)] = *entry.weights;
}

std::string ParentMaterialTable::set(std::string_view cue, std::string_view word, const ParentMaterialShares& weights) {
    const std::string small = single_spaced(lower(cue));
    const auto of_cue = weights_.find(small);
    if (of_cue == weights_.end()) return "there is no cue '" + std::string(cue) + "'";
    if (std::any_of(weights.begin(), weights.end(), [](double w) { return !(w > 0.0) || !std::isfinite(w); }))
        return "a weight is not above 0";
    if (!words_are_fixed(small)) {
        const std::string key = table_word(word);
        if (key.empty()) return "no word is written";
        of_cue->second[key] = weights;
        return {};
    }
    const auto row = of_cue->second.find(single_spaced(lower(word)));
    if (row == of_cue->second.end()) return "the cue '" + small + "' has no '" + std::string(word) + "'";
    row->second = weights;
    return {};
}

const ParentMaterialShares* ParentMaterialTable::find(std::string_view cue, std::string_view word) const {
    const auto of_cue = weights_.find(cue);
    if (of_cue == weights_.end()) return nullptr;
    const auto row = of_cue->second.find(std::string(word));
    return row == of_cue->second.end() ? nullptr : &row->second;
}

const ParentMaterialTable& ParentMaterialTable::defaults() {
    static const ParentMaterialTable table;
    return table;
}

const std::vector<std::string>& ParentMaterialTable::cues() {
    static const std::vector<std::string> names{"prior", "landform", "shape", "slope", "fragments", "notes", "profile"};
    return names;
}

std::vector<std::string> ParentMaterialTable::fixed_words(std::string_view cue) {
    std::vector<std::string> fixed;
    for (const FixedCue& entry : fixed_cues)
        if (entry.cue == cue) fixed.emplace_back(entry.word);
    return fixed;
}

bool knows_landform(std::string_view landform, const ParentMaterialTable& table) {
    const std::vector<std::string> all = words_and_pairs(landform);
    return std::any_of(all.begin(), all.end(),
                       [&](const std::string& word) { return table.find("landform", word) != nullptr; });
}

ParentMaterialShares parent_material_shares(const ParentMaterialCues& cues, const ParentMaterialTable& table) {
    Weights shares = *table.find("prior", "");
    for (const Met& met : Reader(cues, table, false).read())
        for (std::size_t i = 0; i < parent_material_count; ++i) shares[i] *= std::pow((*met.weights)[i], met.power);
    const double sum = std::accumulate(shares.begin(), shares.end(), 0.0);
    for (double& share : shares) share /= sum;
    return shares;
}

std::string parent_material_reason(const ParentMaterialCues& cues, const ParentMaterialTable& table) {
    const ParentMaterialShares shares = parent_material_shares(cues, table);
    const auto likeliest = static_cast<std::size_t>(std::max_element(shares.begin(), shares.end()) - shares.begin());
    std::size_t other = static_cast<std::size_t>(ParentMaterial::residuum);
    if (likeliest == other) {
        other = likeliest == 0 ? 1 : 0;
        for (std::size_t i = 0; i < parent_material_count; ++i)
            if (i != likeliest && shares[i] > shares[other]) other = i;
    }
    struct Part {
        double strength;
        std::string said;
    };
    std::vector<Part> parts;
    for (Met& met : Reader(cues, table, true).read()) {
        const double strength = met.power * std::log((*met.weights)[likeliest] / (*met.weights)[other]);
        const auto same =
            std::find_if(parts.begin(), parts.end(), [&](const Part& part) { return part.said == met.said; });
        if (same != parts.end())
            same->strength += strength;
        else
            parts.push_back({strength, std::move(met.said)});
    }
    std::stable_sort(parts.begin(), parts.end(), [](const Part& a, const Part& b) { return a.strength > b.strength; });
    constexpr std::size_t max_parts = 3;
    constexpr double worth_telling = 0.4;  // odds of 1.5 to 1
    std::string text;
    for (std::size_t i = 0; i < std::min(max_parts, parts.size()) && parts[i].strength > worth_telling; ++i)
        text += (i > 0 ? ", " : "") + parts[i].said;
    return text;
}

double probability_transported(const ParentMaterialShares& shares) {
    const double residuum = shares[static_cast<std::size_t>(ParentMaterial::residuum)];
    const double colluvium = shares[static_cast<std::size_t>(ParentMaterial::colluvium)];
    return std::clamp(1.0 - residuum - colluvium / 2.0, 0.0, 1.0);
}

}  // namespace subcrop::field
