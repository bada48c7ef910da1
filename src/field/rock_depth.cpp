#include "subcrop/field/rock_depth.hpp"

#include <algorithm>
#include <array>
#include <vector>

#include "field/words.hpp"

namespace subcrop::field {

namespace {

// Common practice, no source.
constexpr double rock_pct = 90.0;  // a horizon with this many fragments in place is rock
constexpr double nearly_rock_pct = 75.0;
constexpr double min_growth_pct = 15.0;
constexpr double farthest_cm = 200.0;  // below the hole; a line extended further is no evidence
constexpr double fresh_mineral_cm = 50.0;
constexpr double stone_cm = 30.0;  // refusal may be a large stone; the rock is seldom further

bool says_refusal(std::string_view notes) {
    const std::string text = single_spaced(lower(plain_marks(notes)));
    constexpr std::array<std::string_view, 11> phrases{
        "refusal",         "hit rock",      "on rock",         "struck rock",         "reached rock",
        "stopped by rock", "stopped by st", "no further down", "could not go deeper", "could not dig deeper",
        "impenetrable"};
    if (text.find("no refusal") != text.npos || text.find("without refusal") != text.npos) return false;
    return std::any_of(phrases.begin(), phrases.end(), [&](std::string_view p) { return text.find(p) != text.npos; });
}

bool names_fresh_mineral(std::string_view minerals) {
    const std::string text = lower(plain_marks(minerals));
    if (text.find("weathered") != text.npos || text.find("clay") != text.npos) return false;
    for (const char* mineral : {"mica", "biotite", "muscovite", "feldspar", "plagioclase", "orthoclase"})
        if (text.find(mineral) != text.npos) return true;
    return false;
}

struct Stones {
    double middle_cm;
    double pct;
};

/// Least squares through the horizons with fragments of the lowest one's kind.
std::optional<RockDepth> from_stones(std::span<const RockCues> horizons, double end_cm) {
    std::vector<Stones> stones;
    std::string kind;
    for (auto h = horizons.rbegin(); h != horizons.rend(); ++h) {
        if (!h->fragments_pct || !h->top_cm || !h->bottom_cm || h->zone == Zone::none) continue;
        const std::string here = single_spaced(lower(h->fragment_kind));
        if (kind.empty()) kind = here;
        if (here != kind) continue;
        stones.push_back({(*h->top_cm + *h->bottom_cm) / 2, *h->fragments_pct});
    }
    if (stones.size() < 2 || kind.empty() || kind == "mixed") return std::nullopt;
    // From the bottom up; each must be no stonier than the one below it.
    for (std::size_t i = 0; i + 1 < stones.size(); ++i)
        if (stones[i + 1].pct > stones[i].pct) return std::nullopt;
    if (stones.front().pct - stones.back().pct < min_growth_pct) return std::nullopt;
    const double n = static_cast<double>(stones.size());
    double z = 0, y = 0;
    for (const Stones& s : stones) {
        z += s.middle_cm / n;
        y += s.pct / n;
    }
    double zz = 0, zy = 0;
    for (const Stones& s : stones) {
        zz += (s.middle_cm - z) * (s.middle_cm - z);
        zy += (s.middle_cm - z) * (s.pct - y);
    }
    if (zz <= 0 || zy <= 0) return std::nullopt;
    const double slope = zy / zz;
    const double at_rock = std::max(end_cm, z + (rock_pct - y) / slope);
    if (at_rock > end_cm + farthest_cm) return std::nullopt;
    RockDepth depth;
    depth.basis = RockDepth::Basis::inferred;
    depth.depth_cm = at_rock;
    depth.low_cm = std::max(end_cm, z + (nearly_rock_pct - y) / slope);
    depth.high_cm = at_rock + std::max(stone_cm, 0.5 * (at_rock - end_cm));
    depth.because = kind + " fragments grow from " + plain_number(stones.back().pct) + " to " +
                    plain_number(stones.front().pct) + " %";
    return depth;
}

std::optional<RockDepth> from_minerals(std::span<const RockCues> horizons, double end_cm) {
    if (horizons.size() < 2 || !names_fresh_mineral(horizons.back().minerals)) return std::nullopt;
    for (const RockCues& h : horizons.first(horizons.size() - 1))
        if (names_fresh_mineral(h.minerals)) return std::nullopt;
    RockDepth depth;
    depth.basis = RockDepth::Basis::inferred;
    depth.depth_cm = end_cm + fresh_mineral_cm / 2;
    depth.low_cm = end_cm;
    depth.high_cm = end_cm + fresh_mineral_cm;
    depth.because =
        "fresh minerals (" + single_spaced(lower(horizons.back().minerals)) + ") in the lowest horizon only";
    return depth;
}

}  // namespace

std::string_view to_string(RockDepth::Basis basis) {
    constexpr std::array<std::string_view, 5> names{"unknown", "designated", "refusal", "inferred", "deeper_than"};
    return names[static_cast<std::size_t>(basis)];
}

RockDepth rock_depth(std::span<const RockCues> horizons, std::string_view notes) {
    RockDepth depth;
    std::optional<double> end_cm;
    for (const RockCues& h : horizons) {
        if (h.top_cm && h.weathered_rock && (!depth.weathered_cm || *h.top_cm < *depth.weathered_cm))
            depth.weathered_cm = h.top_cm;
        if (h.top_cm && (h.weathered_rock || h.zone == Zone::rock) && (!depth.depth_cm || *h.top_cm < *depth.depth_cm))
            depth.depth_cm = h.top_cm;
        for (const auto& cm : {h.top_cm, h.bottom_cm})
            if (cm) end_cm = std::max(end_cm.value_or(*cm), *cm);
    }
    if (depth.depth_cm) {
        depth.basis = RockDepth::Basis::designated;
        depth.low_cm = *depth.depth_cm;
        depth.high_cm = depth.depth_cm;
        return depth;
    }
    if (!end_cm || *end_cm <= 0) return depth;
    if (says_refusal(notes)) {
        depth.basis = RockDepth::Basis::refusal;
        depth.depth_cm = end_cm;
        depth.low_cm = *end_cm;
        depth.high_cm = *end_cm + stone_cm;
        depth.because = "refusal noted";
        return depth;
    }
    if (auto found = from_stones(horizons, *end_cm)) return *found;
    if (auto found = from_minerals(horizons, *end_cm)) return *found;
    depth.basis = RockDepth::Basis::deeper_than;
    depth.low_cm = *end_cm;
    return depth;
}

}  // namespace subcrop::field
