// Channels with one value for each stop: the survey's own evidence, and notes on the whole profile.
#include <algorithm>
#include <cmath>
#include <map>

#include "infer/evidence/channel_parts.hpp"
#include "subcrop/field/plants.hpp"

namespace subcrop::infer {

/// Sets of words; two stops share a value when their sets are equal and equally complete.
Channel set_channel(std::string name, const std::vector<std::vector<std::string>>& sets,
                    const std::vector<std::int32_t>& set_of_stop, const std::vector<std::uint8_t>& complete_of_stop) {
    Channel channel;
    channel.name = std::move(name);
    channel.kind = Channel::Kind::set;
    std::map<std::string, std::uint32_t> item_numbers;
    for (const auto& set : sets) {
        for (const std::string& item : set) item_numbers.try_emplace(item, 0);
    }
    for (auto& [item, number] : item_numbers) {
        number = static_cast<std::uint32_t>(channel.labels.size());
        channel.labels.push_back(item);
    }
    std::map<std::pair<std::int32_t, bool>, std::int32_t> values;
    for (std::size_t s = 0; s < set_of_stop.size(); ++s) {
        const bool complete = complete_of_stop[s] != 0;
        const std::int32_t set = set_of_stop[s];
        if (set < 0 || (sets[set].empty() && !complete)) {
            channel.value_of_stop.push_back(-1);
            continue;
        }
        const auto [same, fresh] = values.try_emplace({set, complete}, static_cast<std::int32_t>(channel.items.size()));
        if (fresh) {
            auto& items = channel.items.emplace_back();
            for (const std::string& item : sets[set]) items.push_back(item_numbers.at(item));
            std::sort(items.begin(), items.end());
            items.erase(std::unique(items.begin(), items.end()), items.end());
            channel.complete.push_back(complete);
        }
        channel.value_of_stop.push_back(same->second);
    }
    channel.value_count = channel.items.size();
    return channel;
}

Channel number_channel(std::string name, const std::vector<std::optional<double>>& numbers,
                       double (*coordinate)(double), const char* format) {
    Channel channel;
    channel.name = std::move(name);
    channel.dimensions = 1;
    std::map<double, std::int32_t> codes;
    for (const auto& number : numbers) {
        if (!number) {
            channel.value_of_stop.push_back(-1);
            continue;
        }
        const auto [same, fresh] = codes.try_emplace(*number, static_cast<std::int32_t>(channel.value_count));
        if (fresh) {
            channel.coordinates.push_back(coordinate(*number));
            std::array<char, 48> text{};
            std::snprintf(text.data(), text.size(), format, *number);
            channel.labels.emplace_back(text.data());
            ++channel.value_count;
        }
        channel.value_of_stop.push_back(same->second);
    }
    return channel;
}

namespace {

/// Coordinates of one row of numeric or composition evidence; empty if a part is missing or out of range.
std::vector<double> evidence_coordinates(const model::EvidenceValues& evidence, std::size_t stop) {
    const std::size_t columns = evidence.definition.columns.size();
    const bool composition = evidence.definition.kind == model::EvidenceKind::composition;
    const bool log_scale = composition || evidence.definition.scale == model::Scale::log;
    std::vector<double> coordinates;
    for (std::size_t c = 0; c < columns; ++c) {
        const auto& number = evidence.numbers[stop * columns + c];
        if (!number || (log_scale && *number <= 0)) return {};
        coordinates.push_back(log_scale ? std::log(*number) : *number);
    }
    if (!composition) return coordinates;
    // ilr of Egozcue et al. 2003, Mathematical Geology 35:279-300: y_i = [i (i + 1)]^-1/2 ln(x1 ... xi / x_{i+1}^i)
    std::vector<double> ilr;
    double sum = 0;
    for (std::size_t i = 1; i < columns; ++i) {
        sum += coordinates[i - 1];
        const double k = static_cast<double>(i);
        ilr.push_back((sum - k * coordinates[i]) / std::sqrt(k * (k + 1)));
    }
    return ilr;
}

Channel numeric_channel(const model::EvidenceValues& evidence, std::size_t stops) {
    Channel channel;
    channel.name = evidence.definition.name;
    channel.columns = evidence.definition.columns;
    const bool composition = evidence.definition.kind == model::EvidenceKind::composition;
    channel.dimensions = channel.columns.size() - (composition ? 1 : 0);
    channel.log_scale = evidence.definition.scale == model::Scale::log;
    if (composition) channel.columns.clear();
    std::map<std::vector<double>, std::int32_t> codes;
    for (std::size_t s = 0; s < stops; ++s) {
        std::vector<double> coordinates = evidence_coordinates(evidence, s);
        if (coordinates.empty()) {
            channel.value_of_stop.push_back(-1);
            continue;
        }
        const auto [same, fresh] =
            codes.try_emplace(std::move(coordinates), static_cast<std::int32_t>(channel.value_count));
        if (fresh) {
            channel.coordinates.insert(channel.coordinates.end(), same->first.begin(), same->first.end());
            ++channel.value_count;
        }
        channel.value_of_stop.push_back(same->second);
    }
    return channel;
}

Channel word_channel(const model::EvidenceValues& evidence, std::size_t stops) {
    const std::size_t columns = evidence.definition.columns.size();
    if (evidence.definition.kind == model::EvidenceKind::set) {
        std::map<std::vector<std::string>, std::int32_t> codes;
        std::vector<std::vector<std::string>> sets;
        std::vector<std::int32_t> set_of_stop;
        for (std::size_t s = 0; s < stops; ++s) {
            std::vector<std::string> items;
            for (std::size_t c = 0; c < columns; ++c) {
                const auto taxa = field::read_plants(evidence.texts[s * columns + c].str()).taxa;
                items.insert(items.end(), taxa.begin(), taxa.end());
            }
            std::sort(items.begin(), items.end());
            if (items.empty()) {
                set_of_stop.push_back(-1);
                continue;
            }
            const auto [same, fresh] = codes.try_emplace(items, static_cast<std::int32_t>(sets.size()));
            if (fresh) sets.push_back(std::move(items));
            set_of_stop.push_back(same->second);
        }
        return set_channel(evidence.definition.name, sets, set_of_stop, std::vector<std::uint8_t>(stops, 0));
    }
    Channel channel;
    channel.name = evidence.definition.name;
    channel.kind = Channel::Kind::category;
    std::map<std::string, std::int32_t> codes;
    for (std::size_t s = 0; s < stops; ++s) {
        std::string word;
        for (std::size_t c = 0; c < columns; ++c) {
            const std::string& part = evidence.texts[s * columns + c].str();
            if (!part.empty()) word += (word.empty() ? "" : ", ") + part;
        }
        if (word.empty()) {
            channel.value_of_stop.push_back(-1);
            continue;
        }
        const auto [same, fresh] = codes.try_emplace(word, static_cast<std::int32_t>(channel.value_count));
        if (fresh) {
            channel.labels.push_back(word);
            ++channel.value_count;
        }
        channel.value_of_stop.push_back(same->second);
    }
    return channel;
}

}  // namespace

Channel evidence_channel(const model::EvidenceValues& evidence, std::size_t stops) {
    const bool numeric = evidence.definition.kind == model::EvidenceKind::numeric ||
                         evidence.definition.kind == model::EvidenceKind::composition;
    return numeric ? numeric_channel(evidence, stops) : word_channel(evidence, stops);
}

}  // namespace subcrop::infer
