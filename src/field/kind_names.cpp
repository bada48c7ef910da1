#include "subcrop/field/kind_names.hpp"

#include <algorithm>
#include <span>
#include <utility>

#include "field/words.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/redox.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::field {

namespace {

using Pair = std::pair<std::string_view, std::string_view>;

constexpr Pair rocks[] = {{"sst", "sandstone"},
                          {"sdst", "sandstone"},
                          {"sand stone", "sandstone"},
                          {"lst", "limestone"},
                          {"lmst", "limestone"},
                          {"lime stone", "limestone"},
                          {"slst", "siltstone"},
                          {"sltst", "siltstone"},
                          {"mdst", "mudstone"},
                          {"mud stone", "mudstone"},
                          {"clst", "claystone"},
                          {"cgl", "conglomerate"},
                          {"congl", "conglomerate"},
                          {"dolst", "dolostone"},
                          {"dolomite rock", "dolostone"},
                          {"qtz", "quartz"},
                          {"qz", "quartz"},
                          {"vein quartz", "quartz"},
                          {"qzt", "quartzite"},
                          {"qtzt", "quartzite"},
                          {"qtzite", "quartzite"},
                          {"bas", "basalt"},
                          {"bslt", "basalt"},
                          {"grnt", "granite"},
                          {"gns", "gneiss"},
                          {"gneisses", "gneiss"},
                          {"sch", "schist"},
                          {"gwke", "greywacke"},
                          {"graywacke", "greywacke"},
                          {"grauwacke", "greywacke"},
                          {"rhyol", "rhyolite"},
                          {"andes", "andesite"},
                          {"amph", "amphibolite"},
                          {"serp", "serpentinite"},
                          {"cht", "chert"}};

/// Names whose plural is merged as well.
constexpr std::string_view rock_names[] = {
    "sandstone", "limestone", "siltstone", "mudstone", "claystone",    "shale",        "slate",       "schist",
    "basalt",    "granite",   "diorite",   "gabbro",   "conglomerate", "breccia",      "dolostone",   "greywacke",
    "quartzite", "marl",      "chert",     "flint",    "rhyolite",     "andesite",     "tuff",        "phyllite",
    "hornfels",  "arkose",    "diabase",   "dolerite", "amphibolite",  "serpentinite", "granodiorite"};

constexpr Pair minerals[] = {
    {"qz", "quartz"},        {"qtz", "quartz"},         {"fsp", "feldspar"},   {"feld", "feldspar"},
    {"felspar", "feldspar"}, {"feldspars", "feldspar"}, {"kfs", "k feldspar"}, {"pl", "plagioclase"},
    {"plag", "plagioclase"}, {"ms", "muscovite"},       {"musc", "muscovite"}, {"bt", "biotite"},
    {"biot", "biotite"},     {"micas", "mica"},         {"cal", "calcite"},    {"dol", "dolomite"},
    {"ol", "olivine"},       {"oliv", "olivine"},       {"px", "pyroxene"},    {"cpx", "clinopyroxene"},
    {"hbl", "hornblende"},   {"amp", "amphibole"},      {"chl", "chlorite"},   {"ep", "epidote"},
    {"grt", "garnet"},       {"garnets", "garnet"},     {"hem", "haematite"},  {"hematite", "haematite"},
    {"mag", "magnetite"},    {"py", "pyrite"},          {"gth", "goethite"},   {"glt", "glauconite"},
    {"glauc", "glauconite"}, {"gp", "gypsum"},          {"tur", "tourmaline"}};

constexpr Pair landforms[] = {
    {"foot slope", "footslope"},        {"back slope", "backslope"},       {"toe slope", "toeslope"},
    {"floodplain", "flood plain"},      {"hill top", "hilltop"},           {"hill slope", "hillslope"},
    {"side slope", "sideslope"},        {"valley bottom", "valley floor"}, {"river terrace", "stream terrace"},
    {"interfluve crest", "interfluve"}, {"foothill slope", "footslope"}};

constexpr Pair plants[] = {{"ling", "heather"},       {"blaeberry", "bilberry"}, {"whortleberry", "bilberry"},
                           {"whin", "gorse"},         {"furze", "gorse"},        {"sweet gale", "bog myrtle"},
                           {"mountain ash", "rowan"}, {"nettles", "nettle"},     {"rushes", "rush"},
                           {"sedges", "sedge"},       {"brambles", "bramble"},   {"thistles", "thistle"}};

std::span<const Pair> table_of(NamedKind kind) {
    switch (kind) {
        case NamedKind::rock:
            return rocks;
        case NamedKind::mineral:
            return minerals;
        case NamedKind::landform:
            return landforms;
        case NamedKind::plant:
            return plants;
        default:
            return {};
    }
}

/// By `NamedKind`.
constexpr std::array<std::string_view, named_kind_count> kinds = {"rock",    "mineral",  "landform", "plant",
                                                                  "texture", "reaction", "mottles"};

/// Whether the readers of notes can read this meaning.
std::string refusal_of(NamedKind kind, const std::string& meaning) {
    const auto of = [](const auto& parsed) { return parsed ? std::string() : parsed.message; };
    if (kind == NamedKind::texture) return of(parse_texture(meaning));
    if (kind == NamedKind::reaction) return of(read_effervescence(meaning));
    if (kind == NamedKind::mottles) return of(read_redox(meaning));
    return {};
}

/// As the tables have it.
std::string key_of(std::string_view note) { return single_spaced(lower(plain_marks(note))); }

}  // namespace

std::string KindNames::add(std::string_view kind, std::string_view written, std::string_view meant) {
    const std::string of = single_spaced(lower(kind)), from = key_of(written), to = key_of(meant);
    const auto* const found = std::find(kinds.begin(), kinds.end(), of);
    if (of == "plant") return "plants have a table of their own";
    if (found == kinds.end()) return of.empty() ? "no kind is written" : "there is no kind '" + of + "'";
    if (from.empty()) return "no word is written";
    if (to.empty()) return "no meaning is written";
    const auto index = static_cast<std::size_t>(found - kinds.begin());
    if (const std::string refusal = refusal_of(static_cast<NamedKind>(index), to); !refusal.empty()) return refusal;
    const auto [row, fresh] = own_[index].try_emplace(from, to);
    return fresh || row->second == to ? std::string()
                                      : "'" + from + "' stands in the table already as '" + row->second + "'";
}

std::string KindNames::meant(NamedKind kind, const std::string& note) const {
    const auto& own = own_[static_cast<std::size_t>(kind)];
    if (own.empty()) return note;
    const auto found = own.find(key_of(note));
    return found == own.end() ? note : found->second;
}

std::string KindNames::settle(NamedKind kind, const std::string& word) const {
    const auto& own = own_[static_cast<std::size_t>(kind)];
    if (const auto found = own.find(word); found != own.end()) return found->second;
    for (const auto& [written, meant] : table_of(kind))
        if (written == word) return std::string(meant);
    if (kind == NamedKind::rock && word.ends_with('s')) {
        for (const std::string_view name : rock_names)
            if (std::string_view(word).substr(0, word.size() - 1) == name) return std::string(name);
    }
    return word;
}

}  // namespace subcrop::field
