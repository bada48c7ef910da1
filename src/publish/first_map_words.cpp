#include "publish/first_map_words.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <string>
#include <string_view>

#include "subcrop/core/counted.hpp"

namespace subcrop::publish {

namespace {

struct LayerWords {
    std::string_view layer, title, description;
};
struct ColumnWords {
    std::string_view layer, column, description;
};

constexpr std::string_view no_draft = "Empty: there is no draft.";
constexpr std::string_view doubtful_width =
    "Half-width of the doubtful ground, root mean square along the contact, metres: how far the unit across stays, of the two, more "
    "probable than 0.05. No 90 percent zone: the true contact may lie outside.";

constexpr std::array layer_words{
    LayerWords{
        "stop_fit", "",
        "Each stop of the survey with the unit that soil and the rock seen about it fit best. There is no draft."},
    LayerWords{"contact_review", "",
               "Each contact of the first map. It was drawn from the stops, so they do not test it: nothing is counted "
               "for or against it."},
    LayerWords{
        "relocated_contacts", "Contacts of the first map",
        "Each contact of the first map, drawn where the more probable unit changes. Away from stops it is a guess."},
    LayerWords{"contact_zones", "Contacts of the first map: doubtful ground",
               "The ground about each contact of the first map where the unit across is, of the two, more probable "
               "than 0.05. No 90 percent "
               "zone: contacts that the first map lacks, and many of those it has, lie outside."},
    LayerWords{"disputed_ground", "", no_draft},
    LayerWords{"revised_units", "Units: a first map",
               "The most probable unit from the rock seen and the soil of all stops. Ground farther from every stop "
               "than the rock seen tells "
               "stays blank; beds thinner than the stops lie apart are missed."},
    LayerWords{"traverse_crossings", "",
               "Empty: a first map is drawn from the stops and cannot be compared with them."},
    LayerWords{"next_stops", "",
               "Places from which the first map is expected to gain most, in a number that the settings state; ways, "
               "slopes and fences are not known here. Empty where near "
               "stops are no more alike than far ones."},
    LayerWords{"unit_summary", "",
               "Each unit on its ground in the first map, with the soil and plants seen at stops that show it."},
};

constexpr std::array column_words{
    ColumnWords{"stop_fit", "mapped_unit", no_draft},
    ColumnWords{"stop_fit", "fitted_unit", "The most probable unit, soil and the rock seen about the stop together."},
    ColumnWords{"stop_fit", "p_mapped", no_draft},
    ColumnWords{"stop_fit", "soil_log10_odds", no_draft},
    ColumnWords{"stop_fit", "verdict", "How plainly the stop speaks."},
    ColumnWords{"stop_fit", "contact_distance_m", no_draft},
    ColumnWords{"stop_fit", "neighbour_unit", no_draft},
    ColumnWords{"stop_fit", "upslope_unit", no_draft},
    ColumnWords{"stop_fit", "upslope_share", no_draft},
    ColumnWords{"contact_review", "stops_for", "0: see the layer."},
    ColumnWords{"contact_review", "stops_against", "0: see the layer."},
    ColumnWords{"contact_review", "log10_odds_against", "0: see the layer."},
    ColumnWords{"contact_review", "shift_m", no_draft},
    ColumnWords{"contact_review", "shift_sd_m", no_draft},
    ColumnWords{"contact_review", "elsewhere_m", no_draft},
    ColumnWords{"contact_review", "elsewhere_by_m", no_draft},
    ColumnWords{"contact_review", "shift_azimuth_deg", no_draft},
    ColumnWords{"contact_review", "p_moved", no_draft},
    ColumnWords{"contact_review", "review", "Untested: see the layer."},
    ColumnWords{"relocated_contacts", "location_confidence_m", doubtful_width},
    ColumnWords{"relocated_contacts", "existence_confidence", "Whether there is a contact."},
    ColumnWords{"relocated_contacts", "identity_confidence",
                "Whether it divides these two units: certain where rock of both was seen within twice the half-width."},
    ColumnWords{"relocated_contacts", "location_class",
                "How its place is known: approximate where rock of both units was seen within twice the half-width, "
                "else inferred."},
    ColumnWords{"contact_zones", "location_confidence_m", doubtful_width},
    ColumnWords{"revised_units", "source", "New: there is no draft."},
    ColumnWords{"revised_units", "draft_row", "Number of the polygon in the first map."},
    ColumnWords{"revised_units", "changed_hectares", no_draft},
    ColumnWords{"unit_summary", "area_m2", "Its ground on the first map, square metres."},
    ColumnWords{"unit_summary", "stops", "Number of stops on its ground in the first map."},
    ColumnWords{"unit_summary", "known_stops",
                "Number of stops where its rock was seen, each judged without its own block of ground."},
    ColumnWords{"unit_summary", "contacts_m", "Length of its contacts with other units in the first map, metres."},
    ColumnWords{"next_stops", "gain_m",
                "Ground that the visit is expected to put right on the first map, thousands of square metres."},
    ColumnWords{"next_stops", "contact", no_draft},
    ColumnWords{"next_stops", "unit_a", "The unit that the first map has here."},
    ColumnWords{"next_stops", "unit_b", "The next likeliest unit here."},
    ColumnWords{"next_stops", "half_width_m", no_draft},
    ColumnWords{"next_stops", "half_width_after_m", no_draft},
};

io::LayerDefinition& layer_of(io::FileDefinition& file, std::string_view name) {
    const auto found = std::find_if(file.layers.begin(), file.layers.end(), [&](const io::LayerDefinition& l) { return l.name == name; });
    assert(found != file.layers.end());
    return *found;
}

}  // namespace

std::string range_words(const infer::RockPrior& prior, const infer::FirstMap& first) {
    if (prior.shows_range) return {};
    const std::string rock = "The rock seen at " + counted(prior.stops_rock_seen, "stop", "stops") + " does not show over what distance units change";
    if (first.shows_range) return rock + ", so that was taken from the soil of all stops, which blurs it.";
    return rock + ", and neither does the soil: near stops are no more alike than far ones, and the first map shows little more than the stops themselves.";
}

model::UnitIndex first_map_against(const Results& results, std::size_t stop) {
    if (!results.fit.without_draft) return model::no_unit;
    const model::Stop& noted = results.survey.stops[stop];
    const infer::StopFit& fit = results.fit.stops[stop];
    const model::UnitIndex told =
        noted.unit_seen != model::no_unit ? noted.unit_seen : fit.verdict == infer::Verdict::fits ? fit.fitted_unit : model::no_unit;
    const model::UnitIndex shown = told == model::no_unit ? model::no_unit : results.map.unit_at(noted.position);
    return shown == told ? model::no_unit : shown;
}

std::string reason_words(const Results& results, std::size_t stop) {
    std::string text = results.fit.reason(stop);
    const model::UnitIndex shown = first_map_against(results, stop);
    if (shown == model::no_unit) return text;
    const bool rock = results.survey.stops[stop].unit_seen != model::no_unit;
    return text + " The first map shows " + results.survey.units[static_cast<std::size_t>(shown)].code + " here, against " +
           (rock ? "the rock seen" : "the soil") + ": the stops about it outweigh it.";
}

void tell_of_first_map(io::FileDefinition& file) {
    for (const LayerWords& words : layer_words) {
        io::LayerDefinition& layer = layer_of(file, words.layer);
        if (!words.title.empty()) layer.title = words.title;
        layer.description = words.description;
    }
    for (const ColumnWords& words : column_words) {
        io::LayerDefinition& layer = layer_of(file, words.layer);
        const auto found = std::find_if(layer.fields.begin(), layer.fields.end(), [&](const auto& field) { return field.name == words.column; });
        assert(found != layer.fields.end());
        found->description = words.description;
    }
}

}  // namespace subcrop::publish
