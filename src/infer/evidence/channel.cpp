#include "subcrop/infer/channel.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <optional>
#include <set>
#include <string_view>

#include "infer/evidence/channel_parts.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::infer {

namespace {

using field::Zone;
using model::Horizon;
using model::Reduced;
using model::Stop;
using model::Survey;

constexpr std::array<std::pair<Zone, std::string_view>, 3> zones{
    {{Zone::topsoil, "topsoil"}, {Zone::subsoil, "subsoil"}, {Zone::parent_material, "parent material"}}};

/// Chips have steps of 1 in value, 2 in chroma and 2.5 in hue: about 10, 9 and 6 units of CIELAB for the colours of
/// soils. A colour read to the nearest chip has a uniform error over such a cell, with standard deviation
/// step/sqrt(12).
const std::vector<double> chip_covariance{100.0 / 12, 0, 0, 0, 40.0 / 12, 0, 0, 0, 80.0 / 12};

/// The horizons of a stop in the lowest material, from the top down. Litter and material moved by people are left out.
void find_speaking_horizons(const Stop& stop, const Reduced& reduced, std::vector<std::size_t>& speaking) {
    std::uint8_t lowest = 1;
    for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
        lowest = std::max(lowest, reduced.discontinuity[stop.first_horizon + k]);
    }
    speaking.clear();
    for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
        const std::size_t h = stop.first_horizon + k;
        if (reduced.discontinuity[h] == lowest && reduced.zone[h] != Zone::none) speaking.push_back(h);
    }
}

/// Code of the horizon that represents a zone: the highest for the topsoil, the lowest (nearest the rock) for the
/// others.
std::int32_t code_in_zone(const std::vector<std::size_t>& horizons, const Reduced& reduced,
                          const std::vector<std::int32_t>& codes, Zone zone) {
    std::int32_t code = -1;
    for (const std::size_t h : horizons) {
        if (reduced.zone[h] != zone || codes[h] < 0) continue;
        if (code < 0 || zone != Zone::topsoil) code = codes[h];
    }
    return code;
}

/// Code of the lowest horizon that has one.
std::int32_t lowest_code(const std::vector<std::size_t>& horizons, const std::vector<std::int32_t>& codes) {
    std::int32_t code = -1;
    for (const std::size_t h : horizons) {
        if (codes[h] >= 0) code = codes[h];
    }
    return code;
}

/// The number of the lowest horizon above rock that has one.
std::optional<double> lowest_number(const std::vector<std::size_t>& horizons, const Survey& survey,
                                    const Reduced& reduced, std::optional<double> Horizon::*number) {
    std::optional<double> found;
    for (const std::size_t h : horizons) {
        if (reduced.zone[h] != Zone::rock && survey.horizons[h].*number) found = survey.horizons[h].*number;
    }
    return found;
}

/// For each stop, the minerals named in any of its horizons.
Channel mineral_channel(const Survey& survey, const Reduced& reduced) {
    std::map<std::vector<std::string>, std::int32_t> codes;
    std::vector<std::vector<std::string>> sets;
    std::vector<std::int32_t> set_of_stop;
    std::vector<std::size_t> speaking;
    for (const Stop& stop : survey.stops) {
        std::vector<std::string> named;
        find_speaking_horizons(stop, reduced, speaking);
        for (const std::size_t h : speaking) {
            const std::int32_t code = reduced.minerals.codes[h];
            if (code < 0) continue;
            const auto& minerals = reduced.minerals.values[static_cast<std::size_t>(code)];
            named.insert(named.end(), minerals.begin(), minerals.end());
        }
        std::sort(named.begin(), named.end());
        named.erase(std::unique(named.begin(), named.end()), named.end());
        if (named.empty()) {
            set_of_stop.push_back(-1);
            continue;
        }
        const auto [same, fresh] = codes.try_emplace(named, static_cast<std::int32_t>(sets.size()));
        if (fresh) sets.push_back(std::move(named));
        set_of_stop.push_back(same->second);
    }
    return set_channel("minerals", sets, set_of_stop, std::vector<std::uint8_t>(survey.stops.size(), 0));
}

Channel colour_channel(const model::Coded<model::ColourValue>& colours, std::string name) {
    Channel channel;
    channel.name = std::move(name);
    channel.dimensions = 3;
    channel.value_count = colours.values.size();
    for (const model::ColourValue& value : colours.values) {
        channel.coordinates.insert(channel.coordinates.end(), {value.lab.lightness, value.lab.a, value.lab.b});
        channel.labels.push_back(value.notation);
    }
    channel.spread_of_value.assign(channel.value_count, 0);
    channel.spreads = {chip_covariance};
    return channel;
}

Channel texture_channel(const model::Coded<model::TextureValue>& textures, std::string name) {
    Channel channel;
    channel.name = std::move(name);
    channel.dimensions = 2;
    channel.value_count = textures.values.size();
    std::map<std::vector<double>, std::uint8_t> spreads;
    for (const model::TextureValue& value : textures.values) {
        channel.coordinates.insert(channel.coordinates.end(), {value.distribution.mean[0], value.distribution.mean[1]});
        channel.labels.emplace_back(field::name(value.texture_class));
        const auto& c = value.distribution.covariance;
        const std::vector<double> covariance{c[0], c[1], c[1], c[2]};
        const auto [same, fresh] = spreads.try_emplace(covariance, static_cast<std::uint8_t>(channel.spreads.size()));
        if (fresh) channel.spreads.push_back(covariance);
        channel.spread_of_value.push_back(same->second);
    }
    return channel;
}

Channel category_channel(const model::Coded<std::string>& words, std::string name) {
    Channel channel;
    channel.name = std::move(name);
    channel.kind = Channel::Kind::category;
    channel.value_count = words.values.size();
    channel.labels = words.values;
    return channel;
}

std::int32_t append_value(Channel& channel, std::initializer_list<double> coordinates, std::string label,
                          const std::vector<double>& spread) {
    channel.coordinates.insert(channel.coordinates.end(), coordinates);
    channel.labels.push_back(std::move(label));
    const auto found = std::find(channel.spreads.begin(), channel.spreads.end(), spread);
    channel.spread_of_value.push_back(static_cast<std::uint8_t>(found - channel.spreads.begin()));
    if (found == channel.spreads.end()) channel.spreads.push_back(spread);
    return static_cast<std::int32_t>(channel.value_count++);
}

std::int32_t value_labelled(Channel& channel, const std::string& label) {
    const auto found = std::find(channel.labels.begin(), channel.labels.end(), label);
    if (found != channel.labels.end()) return static_cast<std::int32_t>(found - channel.labels.begin());
    channel.labels.push_back(label);
    return static_cast<std::int32_t>(channel.value_count++);
}

void expect_colours(const Survey& survey, Channel& channel) {
    for (std::size_t u = 0; u < survey.units.size(); ++u) {
        const model::ExpectedSoil& expected = survey.units[u].expected;
        for (const std::string& text : expected.colours) {
            const auto reading = field::parse_munsell(text);
            if (!reading) continue;  // reported when the legend was read
            const field::Lab lab = field::to_lab(reading.value->chips.front());
            const std::int32_t value =
                append_value(channel, {lab.lightness, lab.a, lab.b}, reading.value->notation, chip_covariance);
            channel.expected.push_back({static_cast<model::UnitIndex>(u), value,
                                        expected.worth_stops / static_cast<double>(expected.colours.size())});
        }
    }
}

void expect_textures(const Survey& survey, Channel& channel) {
    for (std::size_t u = 0; u < survey.units.size(); ++u) {
        const model::ExpectedSoil& expected = survey.units[u].expected;
        for (const std::string& text : expected.textures) {
            const auto reading = field::parse_texture(text);
            if (!reading) continue;
            const field::TextureClass texture_class = reading.value->texture_class;
            const auto& c = field::class_distribution(texture_class);
            const std::int32_t value =
                append_value(channel, {c.mean[0], c.mean[1]}, std::string(field::name(texture_class)),
                             {c.covariance[0], c.covariance[1], c.covariance[1], c.covariance[2]});
            channel.expected.push_back({static_cast<model::UnitIndex>(u), value,
                                        expected.worth_stops / static_cast<double>(expected.textures.size())});
        }
    }
}

void expect_reactions(const Survey& survey, Channel& channel) {
    for (std::size_t u = 0; u < survey.units.size(); ++u) {
        const model::ExpectedSoil& expected = survey.units[u].expected;
        for (const std::string& code : expected.reactions) {
            channel.expected.push_back({static_cast<model::UnitIndex>(u), value_labelled(channel, code),
                                        expected.worth_stops / static_cast<double>(expected.reactions.size())});
        }
    }
}

/// An expected plant is an incomplete list with this plant.
void expect_plants(const Survey& survey, Channel& channel) {
    for (std::size_t u = 0; u < survey.units.size(); ++u) {
        const model::ExpectedSoil& expected = survey.units[u].expected;
        for (const std::string& plant : expected.plants) {
            for (const std::string& taxon : model::plants_meant(survey, plant)) {
                auto found = std::find(channel.labels.begin(), channel.labels.end(), taxon);
                if (found == channel.labels.end()) found = channel.labels.insert(found, taxon);
                channel.items.push_back({static_cast<std::uint32_t>(found - channel.labels.begin())});
                channel.complete.push_back(0);
                channel.expected.push_back({static_cast<model::UnitIndex>(u),
                                            static_cast<std::int32_t>(channel.value_count++), expected.worth_stops});
            }
        }
    }
}

Channel landform_channel(const Reduced& reduced) {
    Channel channel = category_channel(reduced.landform, "landform");
    channel.value_of_stop = reduced.landform.codes;
    return channel;
}

/// "violent" for "VE".
void spell_out_reactions(Channel& channel) {
    for (std::string& label : channel.labels)
        for (const field::EffervescenceClass& c : field::effervescence_classes())
            if (label == c.code) label = c.meaning.substr(0, c.meaning.find(':'));
}

}  // namespace

std::size_t Channel::stops_with_value() const {
    return static_cast<std::size_t>(
        std::count_if(value_of_stop.begin(), value_of_stop.end(), [](std::int32_t v) { return v >= 0; }));
}

std::string Channel::value_text(std::int32_t value) const {
    std::string text;
    append_value_text(value, text);
    return text;
}

void Channel::append_value_text(std::int32_t value, std::string& text) const {
    const std::size_t begin = text.size();
    const auto separate = [&] { text += text.size() == begin ? "" : ", "; };
    if (kind == Kind::set) {
        for (const std::uint32_t item : items[value]) {
            separate();
            text += labels[item];
        }
        if (text.size() == begin) text += "none";
        return;
    }
    if (!labels.empty()) {
        text += labels[value];
        return;
    }
    for (std::size_t d = 0; d < columns.size(); ++d) {
        const double coordinate = coordinates[static_cast<std::size_t>(value) * dimensions + d];
        std::array<char, 32> number{};
        std::snprintf(number.data(), number.size(), "%.3g", log_scale ? std::exp(coordinate) : coordinate);
        separate();
        if (columns.size() > 1) text.append(columns[d]).append(" ");  // a single column needs no prefix
        text += number.data();
    }
}

std::vector<Channel> build_channels(const Survey& survey, const Reduced& reduced, unsigned threads) {
    std::vector<Channel> channels;
    const std::size_t stops = survey.stops.size();
    for (const auto& [zone, zone_name] : zones) {
        channels.push_back(colour_channel(reduced.colour_moist, "moist " + std::string(zone_name) + " colour"));
        channels.push_back(colour_channel(reduced.colour_dry, "dry " + std::string(zone_name) + " colour"));
        channels.push_back(texture_channel(reduced.texture, std::string(zone_name) + " texture"));
    }
    const std::size_t reaction = channels.size();
    channels.push_back(category_channel(reduced.effervescence, "reaction to acid"));
    channels.push_back(category_channel(reduced.fragment_kind, "kind of fragments"));
    channels.push_back(category_channel(reduced.redox, "redoximorphic features"));
    for (Channel& channel : channels) channel.value_of_stop.resize(stops);

    std::vector<std::optional<double>> fragments_pct(stops), ph(stops);
    parallel_blocks(stops, 4096, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<std::size_t> horizons;
        for (std::size_t s = begin; s < end; ++s) {
            find_speaking_horizons(survey.stops[s], reduced, horizons);
            std::size_t c = 0;
            for (const auto& [zone, zone_name] : zones) {
                for (const auto* codes :
                     {&reduced.colour_moist.codes, &reduced.colour_dry.codes, &reduced.texture.codes}) {
                    channels[c++].value_of_stop[s] = code_in_zone(horizons, reduced, *codes, zone);
                }
            }
            channels[c++].value_of_stop[s] = lowest_code(horizons, reduced.effervescence.codes);
            channels[c++].value_of_stop[s] = lowest_code(horizons, reduced.fragment_kind.codes);
            channels[c++].value_of_stop[s] = lowest_code(horizons, reduced.redox.codes);
            fragments_pct[s] = lowest_number(horizons, survey, reduced, &Horizon::fragments_pct);
            ph[s] = lowest_number(horizons, survey, reduced, &Horizon::ph);
        }
    });

    channels.push_back(mineral_channel(survey, reduced));
    channels.push_back(number_channel(
        "fragments", fragments_pct, [](double pct) { return std::sqrt(pct); }, "%.3g %%"));
    channels.push_back(number_channel(
        "acidity", ph, [](double x) { return x; }, "pH %.3g"));
    const std::size_t plants = channels.size();
    channels.push_back(set_channel("plants", reduced.plants.values, reduced.plants.codes, reduced.plants_complete));
    channels.push_back(landform_channel(reduced));

    constexpr std::size_t subsoil_moist = 3, subsoil_texture = 5;  // in the order of `zones` above
    expect_colours(survey, channels[subsoil_moist]);
    expect_textures(survey, channels[subsoil_texture]);
    expect_reactions(survey, channels[reaction]);
    expect_plants(survey, channels[plants]);
    spell_out_reactions(channels[reaction]);

    for (const model::EvidenceValues& evidence : survey.evidence) channels.push_back(evidence_channel(evidence, stops));
    std::erase_if(channels, [](const Channel& channel) { return channel.stops_with_value() == 0; });
    return channels;
}

}  // namespace subcrop::infer
