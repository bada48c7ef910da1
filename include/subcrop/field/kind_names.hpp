// Rocks, minerals, landforms and plants under one name each: "sst" is sandstone, "qtz" quartz. The user's own words for
// textures, reactions to acid and mottles.
//
//     KindNames names;
//     names.add("rock", "greenstone", "basalt");                // the user's own come first
//     std::string rock = names.settle(NamedKind::rock, "sst");  // "sandstone"
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

enum class NamedKind : std::uint8_t { rock, mineral, landform, plant, texture, reaction, mottles };
inline constexpr std::size_t named_kind_count = 7;

class KindNames {
public:
    /// `kind`: any but plant; plants have `PlantNames`. Both words are taken in lower case with single spaces. A word
    /// that means itself is never merged. The meaning of a texture, reaction or mottles must be a note that we read.
    /// Returns what is wrong, or nothing.
    std::string add(std::string_view kind, std::string_view written, std::string_view meant);
    /// The name meant by a word in lower case with single spaces; the word itself if no table has it. The user's table
    /// comes first, then ours: abbreviations, spellings and plurals. Mineral symbols are those of Whitney and Evans
    /// 2010, American Mineralogist 95:185-187; the others are common practice, no source.
    std::string settle(NamedKind kind, const std::string& word) const;

    /// What the user's table says that a note means, else the note itself. Capitals and spaces do not matter.
    std::string meant(NamedKind kind, const std::string& note) const;

private:
    std::array<std::unordered_map<std::string, std::string>, named_kind_count> own_;
};

}  // namespace subcrop::field
SUBCROP_EXPORT_END
