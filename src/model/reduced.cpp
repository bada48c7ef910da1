#include "subcrop/model/reduced.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <unordered_map>
#include <utility>

#include "note_words.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/field/redox.hpp"
#include "texture_coder.hpp"

namespace subcrop::model {

namespace {

/// Place of a note, for its problem.
struct NotePlace {
    const std::string& source;
    std::int64_t row;
    std::string_view field;  ///< ours
    const ColumnNames& names;
    std::optional<Point> position;
};

/// Reads each distinct text once and gives every item the code of its value; equal readings share a code.
template <class Value, class Read, class Key>
class Coder {
public:
    Coder(Read read, Key key, ProblemLog& problems) : read_(read), key_(key), problems_(problems) {}

    void add(Text text, const NotePlace& place) {
        if (text.empty()) {
            coded_.codes.push_back(-1);
            return;
        }
        auto [found, fresh] = read_texts_.try_emplace(text);
        if (fresh) found->second = read_new(text);
        const Reading& reading = found->second;
        if (reading.said != nothing) {
            problems_.add({.severity = reading.code < 0 ? Severity::warning : Severity::note,
                           .source = place.source,
                           .row = place.row,
                           .field = place.names.of(place.field),
                           .value = text.str(),
                           .message = said_[reading.said].first,
                           .remedy = said_[reading.said].second,
                           .position = place.position});
        }
        coded_.codes.push_back(reading.code);
    }

    /// Ends the reading and frees its memory.
    Coded<Value> take() {
        read_texts_ = {};
        codes_ = {};
        return std::move(coded_);
    }

private:
    static constexpr std::uint32_t nothing = std::numeric_limits<std::uint32_t>::max();
    struct Reading {
        std::int32_t code = -1;
        std::uint32_t said = nothing;  ///< index into `said_`
    };

    Reading read_new(Text text) {
        Parsed<Value> parsed = read_(text.str());
        Reading reading;
        if (!parsed.message.empty()) {
            reading.said = static_cast<std::uint32_t>(said_.size());
            said_.emplace_back(std::move(parsed.message), std::move(parsed.remedy));
        }
        if (parsed.value) {
            const auto [same, fresh] =
                codes_.try_emplace(key_(*parsed.value), static_cast<std::int32_t>(coded_.values.size()));
            if (fresh) coded_.values.push_back(std::move(*parsed.value));
            reading.code = same->second;
        }
        return reading;
    }

    Read read_;
    Key key_;
    ProblemLog& problems_;
    Coded<Value> coded_;
    std::unordered_map<Text, Reading> read_texts_;
    std::vector<std::pair<std::string, std::string>> said_;  ///< messages and remedies: most texts have none
    std::unordered_map<std::string, std::int32_t> codes_;
};

Parsed<ColourValue> read_colour(const std::string& text) {
    auto parsed = field::parse_munsell(text);
    Parsed<ColourValue> result{std::nullopt, std::move(parsed.message), std::move(parsed.remedy)};
    if (!parsed.value) return result;
    field::Lab mean;
    const auto& chips = parsed.value->chips;
    for (const field::Munsell& chip : chips) {
        const field::Lab lab = field::to_lab(chip);
        mean.lightness += lab.lightness / static_cast<double>(chips.size());
        mean.a += lab.a / static_cast<double>(chips.size());
        mean.b += lab.b / static_cast<double>(chips.size());
    }
    result.value = ColourValue{parsed.value->notation, mean};
    return result;
}

Parsed<field::Designation> designation_of(Text text) {
    if (text.empty()) return {};
    return field::parse_designation(text.str());
}

/// " in 31 rows (2, 4, 5 ...)".
std::string in_rows(std::vector<std::int64_t>& rows) {
    constexpr std::size_t max_rows = 5;
    std::sort(rows.begin(), rows.end());
    std::string text = " in " + std::to_string(rows.size()) + " rows (";
    for (std::size_t i = 0; i < std::min(rows.size(), max_rows); ++i)
        text += (i > 0 ? ", " : "") + std::to_string(rows[i]);
    return text + (rows.size() > max_rows ? " ...)" : ")");
}

/// Zones and parent-material numbers, horizon by horizon.
void read_designations(const Survey& survey, const std::vector<std::size_t>& stop_of, Reduced& reduced,
                       ProblemLog& problems) {
    std::unordered_map<Text, Parsed<field::Designation>> readings;
    std::map<std::string, std::pair<std::vector<std::int64_t>, Problem>> zeros;  // by source
    for (std::size_t h = 0; h < survey.horizons.size(); ++h) {
        const Horizon& horizon = survey.horizons[h];
        auto [found, fresh] = readings.try_emplace(horizon.designation);
        if (fresh) found->second = designation_of(horizon.designation);
        const auto& reading = found->second;
        if (reading && reading.value->zero_for_letter) {
            const std::size_t s = stop_of[h];
            auto& [rows, problem] = zeros[survey.horizon_source_of(s)];
            if (rows.empty()) {
                problem = {.severity = Severity::note,
                           .source = survey.horizon_source_of(s),
                           .row = horizon.row,
                           .field = survey.horizon_columns_of(s).of("designation"),
                           .value = horizon.designation.str(),
                           .message = reading.message,
                           .remedy = "Write the letter.",
                           .position = survey.stops[s].position};
            }
            rows.push_back(horizon.row);
        } else if (!reading.message.empty()) {
            problems.add({.severity = reading ? Severity::note : Severity::warning,
                          .source = survey.horizon_source_of(stop_of[h]),
                          .row = horizon.row,
                          .field = survey.horizon_columns_of(stop_of[h]).of("designation"),
                          .value = horizon.designation.str(),
                          .message = reading.message,
                          .remedy = reading.remedy,
                          .position = survey.stops[stop_of[h]].position});
        }
        reduced.zone.push_back(reading ? reading.value->zone : field::zone_of_depth(horizon.top_cm, horizon.bottom_cm));
        reduced.weathered_rock.push_back(reading && reading.value->weathered_rock());
        reduced.moved_by_people.push_back(reading && reading.value->moved_by_people);
        reduced.discontinuity.push_back(
            static_cast<std::uint8_t>(reading ? std::min(reading.value->parent_material, 255) : 1));
    }
    for (auto& [source, all] : zeros) {
        auto& [rows, problem] = all;
        if (rows.size() > 1) problem.message += in_rows(rows);
        problems.add(std::move(problem));
    }
}

/// Evidence of profile and terrain on the origin of the soil.
void read_parent_material(const Survey& survey, Reduced& reduced) {
    reduced.p_transported_without_cue =
        field::probability_transported(field::parent_material_shares({}, survey.parent_material));
    struct Reading {
        field::ParentMaterialCues cues;
        field::ParentMaterial likeliest = field::ParentMaterial::residuum;
        float p_transported = 0;
        bool read = false;
    };
    // Most stops have the cues of another: 0.2 s of user CPU on a million stops.
    std::vector<Reading> recent(1024);
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const field::ParentMaterialCues cues = parent_material_cues(survey, reduced, s);
        const std::hash<std::string_view> of_words;
        Reading& reading =
            recent[(of_words(cues.landform) + 3 * of_words(cues.fragment_shape) + 5 * of_words(cues.notes)) %
                   recent.size()];
        if (!reading.read || !(reading.cues == cues)) {
            const field::ParentMaterialShares shares = field::parent_material_shares(cues, survey.parent_material);
            const auto likeliest = std::max_element(shares.begin(), shares.end());
            reading = {cues, static_cast<field::ParentMaterial>(likeliest - shares.begin()),
                       static_cast<float>(field::probability_transported(shares)), true};
        }
        reduced.parent_material.push_back(reading.likeliest);
        reduced.p_transported.push_back(reading.p_transported);
    }
}

/// 'None seen' is an observation; a note that names no plant and does not say so is none.
void tell_none_from_no_note(const Survey& survey, Reduced& reduced) {
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const Stop& stop = survey.stops[s];
        std::int32_t& code = reduced.plants.codes[s];
        bool complete = stop.plants_complete;
        if (code >= 0 && reduced.plants.values[static_cast<std::size_t>(code)].empty()) {
            complete = field::read_plants(stop.plants.str()).none_seen;
            if (!complete) code = -1;
        }
        reduced.plants_complete.push_back(complete);
    }
}

Parsed<std::string> read_redox_note(const std::string& text) {
    auto reading = field::read_redox(text);
    Parsed<std::string> result{std::nullopt, std::move(reading.message), std::move(reading.remedy)};
    if (reading.value) result.value = std::string(field::to_string(reading.value->abundance));
    return result;
}

std::string joined(const std::vector<std::string>& words) {
    std::string all;
    for (const std::string& word : words) all += word + '\n';
    return all;
}

/// The user's names come first and stay as given. `ours` is used for the others.
template <class Ours>
std::vector<std::string> taxa_meant(const Survey& survey, const std::string& note, Ours&& ours) {
    std::vector<std::string> taxa;
    for (const std::string& written : field::read_plants(note).taxa) {
        if (!survey.plant_names.knows(written)) {
            taxa.push_back(ours(written));
            continue;
        }
        const std::vector<std::string> meant = survey.plant_names.settle({{written}, false}).taxa;
        taxa.insert(taxa.end(), meant.begin(), meant.end());
    }
    std::sort(taxa.begin(), taxa.end());
    taxa.erase(std::unique(taxa.begin(), taxa.end()), taxa.end());
    return taxa;
}

/// Gives the words of one field one name each, and reports every merge once.
class NameMerger {
public:
    NameMerger(const field::KindNames& names, field::NamedKind kind, const char* field)
        : names_(names), kind_(kind), field_(field) {}

    std::string merge(const std::string& word, const std::string& text) {
        std::string meant = names_.settle(kind_, word);
        if (meant != word) merged_in_[text].emplace_back(word, meant);
        return meant;
    }
    std::vector<std::string> merge_all(std::vector<std::string> words, const std::string& text) {
        for (std::string& word : words) word = merge(word, text);
        std::sort(words.begin(), words.end());
        words.erase(std::unique(words.begin(), words.end()), words.end());
        return words;
    }

    /// To be called once for every text read, in order.
    void count(Text text, const NotePlace& place) {
        if (merged_in_.empty() || text.empty()) return;
        const auto found = merged_in_.find(text.str());
        if (found == merged_in_.end()) return;
        for (const auto& [word, meant] : found->second) {
            auto& [times, problem] = told_[word];
            if (times++ > 0) continue;
            problem = {.severity = Severity::note,
                       .source = place.source,
                       .row = place.row,
                       .field = place.names.of(field_),
                       .value = word,
                       .message = "is read as '" + meant + "'",
                       .remedy =
                           "Nothing to do. If it means something else, say what in the table that 'names' names in "
                           "the survey file.",
                       .position = {}};
            if (kind_ == field::NamedKind::plant)
                problem.remedy =
                    "Nothing to do. If it is another plant, say which in the table that 'plants' names in the survey "
                    "file.";
        }
    }
    void tell(ProblemLog& problems) const {
        for (const auto& [word, told] : told_) {
            Problem problem = told.second;
            problem.message = "'" + word + "' (" +
                              (told.first == 1   ? "once"
                               : told.first == 2 ? "twice"
                                                 : std::to_string(told.first) + " times") +
                              ") " + problem.message;
            problems.add(std::move(problem));
        }
    }

private:
    const field::KindNames& names_;
    field::NamedKind kind_;
    const char* field_;
    std::unordered_map<std::string, std::vector<std::pair<std::string, std::string>>>
        merged_in_;  ///< by the whole text
    std::map<std::string, std::pair<std::size_t, Problem>> told_;
};

}  // namespace

std::vector<std::string> plants_meant(const Survey& survey, const std::string& note) {
    return taxa_meant(survey, note,
                      [&](const std::string& word) { return survey.kind_names.settle(field::NamedKind::plant, word); });
}

Reduced reduce(const Survey& survey, ProblemLog& problems) {
    Reduced reduced;
    std::vector<std::size_t> stop_of(survey.horizons.size(), 0);
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const Stop& stop = survey.stops[s];
        std::fill_n(stop_of.begin() + stop.first_horizon, stop.horizon_count, s);
    }

    auto notation_of = [](const ColourValue& value) { return value.notation; };
    auto itself = [](const std::string& value) { return value; };
    auto read_reaction = [&survey](const std::string& text) -> Parsed<std::string> {
        auto reading = field::read_effervescence(survey.kind_names.meant(field::NamedKind::reaction, text));
        if (!reading && !reading.message.empty()) reading.remedy += ' ' + std::string(own_words_remedy);
        return reading;
    };
    auto read_mottles = [&survey](const std::string& text) {
        auto reading = read_redox_note(survey.kind_names.meant(field::NamedKind::mottles, text));
        if (!reading) reading.remedy += ' ' + std::string(own_words_remedy);
        return reading;
    };
    Coder<ColourValue, decltype(&read_colour), decltype(notation_of)> moist(read_colour, notation_of, problems);
    Coder<ColourValue, decltype(&read_colour), decltype(notation_of)> dry(read_colour, notation_of, problems);
    Coder<std::string, decltype(read_reaction), decltype(itself)> reaction(read_reaction, itself, problems);
    NameMerger rocks(survey.kind_names, field::NamedKind::rock, "fragment_kind"),
        of_minerals(survey.kind_names, field::NamedKind::mineral, "minerals"),
        landforms(survey.kind_names, field::NamedKind::landform, "landform"),
        of_plants(survey.kind_names, field::NamedKind::plant, "plants");
    auto read_kind = [&rocks](const std::string& text) -> Parsed<std::string> {
        return {rocks.merge(tidy_words(text), text), {}, {}};
    };
    // Lists of minerals are written as lists of plants are.
    auto read_minerals = [&of_minerals](const std::string& text) -> Parsed<std::vector<std::string>> {
        return {of_minerals.merge_all(field::read_plants(text).taxa, text), {}, {}};
    };
    Coder<std::string, decltype(read_kind), decltype(itself)> kind(read_kind, itself, problems);
    Coder<std::string, decltype(read_mottles), decltype(itself)> redox(read_mottles, itself, problems);
    Coder<std::vector<std::string>, decltype(read_minerals), decltype(&joined)> minerals(read_minerals, joined,
                                                                                         problems);
    TextureCoder texture(survey.kind_names, problems);
    for (std::size_t h = 0; h < survey.horizons.size(); ++h) {
        const Horizon& horizon = survey.horizons[h];
        auto place = [&](const char* field) {
            return NotePlace{survey.horizon_source_of(stop_of[h]), horizon.row, field,
                             survey.horizon_columns_of(stop_of[h]), survey.stops[stop_of[h]].position};
        };
        moist.add(horizon.colour_moist, place("colour_moist"));
        dry.add(horizon.colour_dry, place("colour_dry"));
        texture.add(horizon, survey.horizon_source_of(stop_of[h]), survey.horizon_columns_of(stop_of[h]),
                    survey.stops[stop_of[h]].position);
        reaction.add(horizon.effervescence, place("effervescence"));
        kind.add(horizon.fragment_kind, place("fragment_kind"));
        rocks.count(horizon.fragment_kind, place("fragment_kind"));
        redox.add(horizon.redox, place("redox"));
        minerals.add(horizon.minerals, place("minerals"));
        of_minerals.count(horizon.minerals, place("minerals"));
    }
    reduced.colour_moist = moist.take();
    reduced.colour_dry = dry.take();
    reduced.texture = texture.take();
    reduced.effervescence = reaction.take();
    reduced.fragment_kind = kind.take();
    reduced.redox = redox.take();
    reduced.minerals = minerals.take();
    read_designations(survey, stop_of, reduced, problems);

    auto read_taxa = [&](const std::string& text) -> Parsed<std::vector<std::string>> {
        return {taxa_meant(survey, text, [&](const std::string& word) { return of_plants.merge(word, text); }), {}, {}};
    };
    Coder<std::vector<std::string>, decltype(read_taxa), decltype(&joined)> plants(read_taxa, joined, problems);
    auto read_landform = [&landforms](const std::string& text) -> Parsed<std::string> {
        return {landforms.merge(tidy_words(text), text), {}, {}};
    };
    Coder<std::string, decltype(read_landform), decltype(itself)> landform(read_landform, itself, problems);
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const Stop& stop = survey.stops[s];
        const NotePlace plants_place{survey.stop_source, stop.row, "plants", survey.stop_columns, stop.position};
        plants.add(stop.plants, plants_place);
        of_plants.count(stop.plants, plants_place);
        const NotePlace landform_place{survey.source_of(s), stop.row, "landform", survey.columns_of(s), stop.position};
        landform.add(stop.landform, landform_place);
        landforms.count(stop.landform, landform_place);
    }
    reduced.plants = plants.take();
    reduced.landform = landform.take();
    for (const NameMerger* merger : {&rocks, &of_minerals, &landforms, &of_plants}) merger->tell(problems);
    tell_none_from_no_note(survey, reduced);
    read_parent_material(survey, reduced);
    return reduced;
}

}  // namespace subcrop::model
