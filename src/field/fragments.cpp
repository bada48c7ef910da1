#include "subcrop/field/fragments.hpp"

#include <cassert>
#include <cstddef>
#include <optional>

#include "field/fragment_table.hpp"
#include "field/words.hpp"

namespace subcrop::field {

namespace {

const FragmentWords& words_of(FragmentKind kind) { return fragment_table[static_cast<std::size_t>(kind)]; }

constexpr double noun_from_percent = 90;

}  // namespace

std::string_view name(FragmentKind kind) { return words_of(kind).noun; }

Parsed<FragmentKind> parse_fragment_kind(std::string_view text) {
    const std::string word = single_spaced(lower(plain_marks(text)));
    for (std::size_t i = 0; i < fragment_table.size(); ++i) {
        const FragmentWords& kind = fragment_table[i];
        if (word == kind.code || word == kind.adjective || word == kind.noun || word == kind.one)
            return {static_cast<FragmentKind>(i), {}, {}};
    }
    return {std::nullopt, "'" + std::string(trimmed(text)) + "' is no size of coarse fragments",
            "Write gravel, cobbles, stones, boulders, channers or flagstones."};
}

std::string fragment_modifier(double percent, FragmentKind kind) {
    assert(percent >= 0.0 && percent <= 100.0);
    const FragmentWords& written = words_of(kind);
    if (percent < 15) return {};
    if (percent >= noun_from_percent) return std::string(written.noun);
    const std::string adjective(written.adjective);
    if (percent < 35) return adjective;
    return (percent < 60 ? "very " : "extremely ") + adjective;
}

std::string texture_name(TextureClass texture_class, double fragments_percent, FragmentKind kind) {
    const std::string modifier = fragment_modifier(fragments_percent, kind);
    if (fragments_percent >= noun_from_percent) return modifier;
    return (modifier.empty() ? "" : modifier + " ") + std::string(name(texture_class));
}

}  // namespace subcrop::field
