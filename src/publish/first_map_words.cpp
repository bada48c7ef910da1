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
    "Half-width of the doubtful zone, root mean square along the contact, metres. Within it the unit across has a "
    "probability "
    "over 0.05 of the two. This is no 90 % zone: the true contact may lie outside.";

constexpr std::array layer_words{
    LayerWords{"stop_fit", "",
               "Each stop of the survey with the unit that fits its soil and the bedrock observed around it best. "
               "There is no draft."},
    LayerWords{"contact_review", "",
               "Each contact of the first map. It was drawn from the stops, so the stops do not test it: no stop is "
               "counted."},
    LayerWords{"contact_stretches", "",
               "Empty: contacts of a first map are drawn from the stops, so the stops do not test them."},
    LayerWords{
        "relocated_contacts", "Contacts of the first map",
        "Each contact of the first map, drawn where the most probable unit changes. Away from stops it is a guess."},
    LayerWords{"contact_zones", "Contacts of the first map: doubtful zone",
               "The zone about each contact of the first map where the unit across has a probability over 0.05 of the "
               "two. This is no 90 % zone: many true contacts lie outside."},
    LayerWords{"disputed_area", "", no_draft},
    LayerWords{"revised_units", "Units: a first map",
               "The most probable unit from observed bedrock and the soil of all stops. Areas too far from every stop "
               "stay blank. Beds thinner than the distance between stops are missed."},
    LayerWords{"traverse_crossings", "",
               "Empty: a first map is drawn from the stops and cannot be compared with them."},
    LayerWords{"next_stops", "",
               "Places where one more stop is expected to improve the first map most; the settings state how many. "
               "Roads, slopes and fences are not considered. Empty if near stops are no more alike than far ones."},
    LayerWords{"unit_summary", "",
               "Each unit and its area on the first map, with the soil and plants of the stops that show it."},
};

constexpr std::array column_words{
    ColumnWords{"stop_fit", "mapped_unit", no_draft},
    ColumnWords{"stop_fit", "fitted_unit",
                "The most probable unit, from the soil and the bedrock observed around the stop."},
    ColumnWords{"stop_fit", "p_mapped", no_draft},
    ColumnWords{"stop_fit", "soil_log10_odds", no_draft},
    ColumnWords{"stop_fit", "verdict", "How clear the evidence of the stop is."},
    ColumnWords{"stop_fit", "contact_distance_m", no_draft},
    ColumnWords{"stop_fit", "neighbour_unit", no_draft},
    ColumnWords{"stop_fit", "upslope_unit", no_draft},
    ColumnWords{"stop_fit", "upslope_share", no_draft},
    ColumnWords{"contact_review", "stops_for", "0: see the description of the layer."},
    ColumnWords{"contact_review", "stops_against", "0: see the description of the layer."},
    ColumnWords{"contact_review", "log10_odds_against", "0: see the description of the layer."},
    ColumnWords{"contact_review", "shift_m", no_draft},
    ColumnWords{"contact_review", "shift_sd_m", no_draft},
    ColumnWords{"contact_review", "elsewhere_m", no_draft},
    ColumnWords{"contact_review", "elsewhere_by_m", no_draft},
    ColumnWords{"contact_review", "shift_azimuth_deg", no_draft},
    ColumnWords{"contact_review", "p_moved", no_draft},
    ColumnWords{"contact_review", "review", "Untested: see the description of the layer."},
    ColumnWords{"relocated_contacts", "location_confidence_m", doubtful_width},
    ColumnWords{"relocated_contacts", "existence_confidence", "Whether there is a contact."},
    ColumnWords{
        "relocated_contacts", "identity_confidence",
        "Whether it divides these two units: certain if bedrock of both was observed within twice the half-width."},
    ColumnWords{"relocated_contacts", "location_class",
                "How its place is known: approximate if bedrock of both units was observed within twice the "
                "half-width, else inferred."},
    ColumnWords{"contact_zones", "location_confidence_m", doubtful_width},
    ColumnWords{"revised_units", "source", "New: there is no draft."},
    ColumnWords{"revised_units", "draft_row", "Number of the polygon in the first map."},
    ColumnWords{"revised_units", "changed_hectares", no_draft},
    ColumnWords{"unit_summary", "area_m2", "Its area on the first map, square metres."},
    ColumnWords{"unit_summary", "stops", "Number of stops in its area on the first map."},
    ColumnWords{"unit_summary", "known_stops",
                "Number of stops where its bedrock was observed, each judged without its own block of stops."},
    ColumnWords{"unit_summary", "contacts_m", "Length of its contacts with other units in the first map, metres."},
    ColumnWords{"next_stops", "gain_ha", "Area that a stop here is expected to correct on the first map, hectares."},
    ColumnWords{"next_stops", "contact", no_draft},
    ColumnWords{"next_stops", "unit_a", "The unit that the first map has here."},
    ColumnWords{"next_stops", "unit_b", "The second most probable unit here."},
    ColumnWords{"next_stops", "half_width_m", no_draft},
    ColumnWords{"next_stops", "half_width_after_m", no_draft},
};

io::LayerDefinition& layer_of(io::FileDefinition& file, std::string_view name) {
    const auto found = std::find_if(file.layers.begin(), file.layers.end(),
                                    [&](const io::LayerDefinition& l) { return l.name == name; });
    assert(found != file.layers.end());
    return *found;
}

}  // namespace

std::string range_words(const infer::RockPrior& prior, const infer::FirstMap& first) {
    if (prior.shows_range) return {};
    const std::string rock = "The bedrock observed at " + counted(prior.stops_rock_seen, "stop", "stops") +
                             " does not show over what distance units change";
    if (first.shows_range) return rock + ". The distance was taken from the soil of all stops, which blurs it.";
    return rock +
           ", and neither does the soil. Near stops are no more alike than far ones, so the first map shows little "
           "more than the stops themselves.";
}

model::UnitIndex first_map_against(const Results& results, std::size_t stop) {
    if (!results.fit.without_draft) return model::no_unit;
    const model::Stop& noted = results.survey.stops[stop];
    const infer::StopFit& fit = results.fit.stops[stop];
    const model::UnitIndex told = noted.unit_seen != model::no_unit     ? noted.unit_seen
                                  : fit.verdict == infer::Verdict::fits ? fit.fitted_unit
                                                                        : model::no_unit;
    const model::UnitIndex shown = told == model::no_unit ? model::no_unit : results.map.unit_at(noted.position);
    return shown == told ? model::no_unit : shown;
}

std::string reason_words(const Results& results, std::size_t stop) {
    if (!results.reasons.empty()) return results.reasons[stop];
    std::string text = results.fit.reason(stop);
    const model::UnitIndex shown = first_map_against(results, stop);
    if (shown == model::no_unit) return text;
    const bool rock = results.survey.stops[stop].unit_seen != model::no_unit;
    return text + " The first map shows " + results.survey.units[static_cast<std::size_t>(shown)].code +
           " here, against " + (rock ? "the bedrock observed" : "the soil") +
           " at this stop: the stops around it outweigh it.";
}

void tell_of_first_map(io::FileDefinition& file) {
    for (const LayerWords& words : layer_words) {
        io::LayerDefinition& layer = layer_of(file, words.layer);
        if (!words.title.empty()) layer.title = words.title;
        layer.description = words.description;
    }
    for (const ColumnWords& words : column_words) {
        io::LayerDefinition& layer = layer_of(file, words.layer);
        const auto found = std::find_if(layer.fields.begin(), layer.fields.end(),
                                        [&](const auto& field) { return field.name == words.column; });
        assert(found != layer.fields.end());
        found->description = words.description;
    }
}

}  // namespace subcrop::publish
