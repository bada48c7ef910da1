// Descriptions of the layers of results.gpkg, as a geologist reads them in a GIS.
#include <array>
#include <unordered_set>
#include <utility>

#include "io/decision_file.hpp"
#include "io/nearest_name.hpp"
#include "publish/first_map_words.hpp"
#include "publish/unit_table.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/infer/proposals.hpp"
#include "subcrop/publish/result_layers.hpp"

namespace subcrop::publish {

namespace {

using io::CodedValue;
using io::Domain;
using io::FieldType;
using io::GeometryKind;

Domain verdict_domain() {
    Domain domain{.name = "verdict"};
    for (std::size_t i = 0; i < infer::verdict_count; ++i) {
        const auto verdict = static_cast<infer::Verdict>(i);
        domain.codes.push_back({std::string(to_string(verdict)), std::string(description(verdict))});
    }
    return domain;
}

Domain review_domain() {
    Domain domain{.name = "review"};
    using infer::Review;
    for (const Review review : {Review::supported, Review::shift, Review::doubtful, Review::untested})
        domain.codes.push_back({std::string(to_string(review)), std::string(description(review))});
    return domain;
}

Domain confidence_domain() {
    Domain domain{.name = "confidence"};
    for (const auto value : {infer::Confidence::certain, infer::Confidence::questionable})
        domain.codes.push_back({std::string(to_string(value)), std::string(description(value))});
    return domain;
}

Domain location_class_domain() {
    Domain domain{.name = "location_class"};
    using infer::LocationClass;
    for (const auto value :
         {LocationClass::accurate, LocationClass::approximate, LocationClass::inferred, LocationClass::concealed})
        domain.codes.push_back({std::string(to_string(value)), std::string(description(value))});
    return domain;
}

Domain crossing_status_domain() {
    Domain domain{.name = "crossing_status"};
    for (std::size_t i = 0; i < infer::crossing_status_count; ++i) {
        const auto status = static_cast<infer::CrossingStatus>(i);
        domain.codes.push_back({std::string(to_string(status)), std::string(description(status))});
    }
    return domain;
}

Domain revised_source_domain() {
    Domain domain{.name = "revised_source"};
    for (std::size_t i = 0; i < infer::revised_source_count; ++i) {
        const auto source = static_cast<infer::RevisedSource>(i);
        domain.codes.push_back({std::string(to_string(source)), std::string(description(source))});
    }
    return domain;
}

Domain proposal_kind_domain() {
    Domain domain{.name = "proposal_kind"};
    for (std::size_t i = 0; i < infer::proposal_kind_count; ++i) {
        const auto kind = static_cast<infer::ProposalKind>(i);
        domain.codes.push_back({std::string(to_string(kind)), std::string(description(kind))});
    }
    return domain;
}

Domain change_domain() {
    Domain domain{.name = "change"};
    for (std::size_t i = 0; i < change_kind_count; ++i) {
        const auto kind = static_cast<ChangeKind>(i);
        domain.codes.push_back({std::string(to_string(kind)), std::string(description(kind))});
    }
    return domain;
}

Domain severity_domain() {
    return {.name = "severity",
            .codes = {
                {std::string(to_string(Severity::error)), "The record as a whole could not be used"},
                {std::string(to_string(Severity::warning)), "One value was left out; the rest of the record was used"},
                {std::string(to_string(Severity::note)), "Read in a way you should know; nothing was lost"}}};
}

std::string meaning(field::ParentMaterial kind) {
    switch (kind) {
        case field::ParentMaterial::residuum:
            return "Weathered in place from the rock below";
        case field::ParentMaterial::colluvium:
            return "Moved down the slope";
        case field::ParentMaterial::alluvium:
            return "Laid down by running water";
        case field::ParentMaterial::aeolian:
            return "Blown in, such as loess or dune sand";
        case field::ParentMaterial::glacial:
            return "Laid down by ice or its meltwater, such as till";
        case field::ParentMaterial::lacustrine:
            return "Laid down in a lake";
        case field::ParentMaterial::organic:
            return "Peat or other plant remains";
    }
    return {};
}

Domain parent_material_domain() {
    Domain domain{.name = "parent_material"};
    for (std::size_t i = 0; i < field::parent_material_count; ++i) {
        const auto kind = static_cast<field::ParentMaterial>(i);
        domain.codes.push_back({std::string(to_string(kind)), meaning(kind)});
    }
    return domain;
}

Domain stop_kind_domain() {
    return {.name = "stop_kind",
            .codes = {{"stop", "A stop of the field book"}, {"borehole", "A borehole, at its collar"}}};
}

Domain unit_domain(const model::Survey& survey) {
    Domain domain{.name = "unit"};
    std::unordered_set<std::string> seen;
    for (const model::LegendUnit& unit : survey.units)
        if (seen.insert(unit.code).second)
            domain.codes.push_back({unit.code, unit.name.empty() ? unit.code : unit.name});
    return domain;
}

/// Its own name, or with "_noted" if `stop_fit` has another column with that name.
void add_carried(const model::Survey& survey, io::LayerDefinition& layer) {
    std::unordered_set<std::string> taken{"fid", "geom"};
    for (const io::FieldDefinition& field : layer.fields) taken.insert(field.name);
    for (const model::CarriedColumn& column : survey.carried) {
        std::string name = column.name;
        while (!taken.insert(io::lower(name)).second) name += "_noted";
        layer.fields.push_back({.name = name,
                                .type = FieldType::text,
                                .description = "Column '" + column.name + "' of the stops, as it was read."});
    }
}

io::LayerDefinition stop_fit_layer(const model::Survey& survey) {
    io::LayerDefinition layer{
        .name = "stop_fit",
        .title = "Stops: which unit the soil fits",
        .description = "Each stop of the survey, the mapped unit that it fits best, and whether the draft map agrees.",
        .geometry = GeometryKind::point,
        .fields = {
            {.name = "stop", .type = FieldType::text, .description = "Identifier of the stop, as in the field book."},
            {.name = "traverse", .type = FieldType::text, .description = "Traverse to which the stop belongs."},
            {.name = "mapped_unit",
             .type = FieldType::text,
             .description = "Unit that the draft map shows here. Empty off the map.",
             .domain = "unit"},
            {.name = "fitted_unit",
             .type = FieldType::text,
             .description = "The most probable unit, from soil and draft map together.",
             .domain = "unit"},
            {.name = "p_mapped",
             .type = FieldType::real,
             .description = "Probability of the mapped unit, from soil and draft map together; 0 to 1.",
             .domain = "share"},
            {.name = "p_fitted",
             .type = FieldType::real,
             .description = "Probability of the fitted unit; 0 to 1.",
             .domain = "share"},
            {.name = "soil_log10_odds",
             .type = FieldType::real,
             .description =
                 "Decimal logarithm of a ratio: how probable the notes are over the fitted unit, over the mapped "
                 "unit. The draft map is not used. 2 means 100 times as probable."},
            {.name = "typicality",
             .type = FieldType::real,
             .description = "Share of the fitted unit's own stops with soil at least as unusual as here; 0 to 1.",
             .domain = "share"},
            {.name = "verdict",
             .type = FieldType::text,
             .description = "What the stop says about the draft map.",
             .domain = "verdict"},
            {.name = "contact_distance_m",
             .type = FieldType::real,
             .description = "Distance to the nearest drawn contact, metres. Empty if none is near."},
            {.name = "neighbour_unit",
             .type = FieldType::text,
             .description = "Unit across the nearest drawn contact.",
             .domain = "unit"},
            {.name = "position_sd_m",
             .type = FieldType::real,
             .description =
                 "Standard error of the stop's position, metres. Includes the error of the coordinate operation."},
            {.name = "parent_material",
             .type = FieldType::text,
             .description = "What the soil most probably formed from.",
             .domain = "parent_material"},
            {.name = "p_transported",
             .type = FieldType::real,
             .description = "Probability of transported soil, such as alluvium or till; 0 to 1. Creep does not count.",
             .domain = "share"},
            {.name = "kind",
             .type = FieldType::text,
             .description = "A stop of the field book, or a borehole.",
             .domain = "stop_kind"},
            {.name = "rock_depth_cm",
             .type = FieldType::real,
             .description = "Depth to rock, weathered or not, from the log of a borehole, centimetres."},
            {.name = "slope_deg",
             .type = FieldType::real,
             .description = "Slope of the land from the terrain, degrees; from the field book if there is no terrain."},
            {.name = "landform",
             .type = FieldType::text,
             .description = "Landform from the field book, or from the terrain if the field book has none."},
            {.name = "creep_m",
             .type = FieldType::real,
             .description =
                 "Creep: mean distance upslope from which the soil comes, metres. Empty if creep was not considered."},
            {.name = "upslope_unit",
             .type = FieldType::text,
             .description = "Creep: the unit upslope from which part of the soil comes, according to the draft.",
             .domain = "unit"},
            {.name = "upslope_share",
             .type = FieldType::real,
             .description = "Creep: share of the soil that comes from upslope_unit, according to the draft; 0 to 1.",
             .domain = "share"},
            {.name = "reason",
             .type = FieldType::text,
             .description = "The strongest evidence behind the verdict, in a few sentences."},
            {.name = "unit_seen",
             .type = FieldType::text,
             .description = "Unit whose bedrock was observed here.",
             .domain = "unit"},
            {.name = "date",
             .type = FieldType::text,
             .description = "Date of the visit: year, month and day where it could be read so, else as written."},
            {.name = "notes", .type = FieldType::text, .description = "Notes, as in the field book."},
        }};
    add_carried(survey, layer);
    return layer;
}

io::LayerDefinition stop_evidence_layer() {
    return {.name = "stop_evidence",
            .title = "Stops: evidence breakdown",
            .description =
                "What each kind of evidence says at each stop. Joins to stop_fit by stop. Empty if the settings "
                "ask for none, and by default above 100,000 stops.",
            .geometry = GeometryKind::none,
            .fields = {
                {.name = "stop", .type = FieldType::text, .description = "Identifier of the stop, as in stop_fit."},
                {.name = "unit",
                 .type = FieldType::text,
                 .description = "Unit for which this row holds.",
                 .domain = "unit"},
                {.name = "channel", .type = FieldType::text, .description = "Kind of evidence."},
                {.name = "log_likelihood",
                 .type = FieldType::real,
                 .description =
                     "Natural logarithm of how probable the value is over this unit, relative to the mean of all "
                     "units. Above 0 supports the unit."},
                {.name = "weight",
                 .type = FieldType::real,
                 .description = "Factor by which log_likelihood counts, because kinds of evidence overlap; 0 to 1.",
                 .domain = "share"},
            }};
}

io::LayerDefinition contact_review_layer() {
    return {
        .name = "contact_review",
        .title = "Contacts: reviewed by the soil",
        .description = "Each drawn contact between two units, with the stops near it that support or contradict it.",
        .geometry = GeometryKind::line,
        .fields = {
            {.name = "unit_a", .type = FieldType::text, .description = "One of the two units.", .domain = "unit"},
            {.name = "unit_b", .type = FieldType::text, .description = "The other unit.", .domain = "unit"},
            {.name = "stops_for",
             .type = FieldType::integer,
             .description = "Number of stops near the contact that support it."},
            {.name = "stops_against",
             .type = FieldType::integer,
             .description = "Number of stops near the contact that fit the unit across it better."},
            {.name = "log10_odds_against",
             .type = FieldType::real,
             .description = "Decimal logarithm of the odds of the unit across, against the contact as drawn with its "
                            "error, summed "
                            "over these stops. Above 0 contradicts the contact."},
            {.name = "shift_m",
             .type = FieldType::real,
             .description =
                 "How far it should move along its normal, mean over its length, metres. Above 0: into unit_b; "
                 "below 0: into unit_a. Empty if contacts were left as drawn."},
            {.name = "shift_sd_m",
             .type = FieldType::real,
             .description = "Standard error of shift_m at one place, root mean square over the length, metres."},
            {.name = "shift_azimuth_deg",
             .type = FieldType::real,
             .description = "Direction in which it should move, degrees clockwise from grid north."},
            {.name = "p_moved",
             .type = FieldType::real,
             .description = "Probability that it lies farther from the drawn line than the stated standard error "
                            "(contact_sd_m), mean over its length; 0 to 1.",
             .domain = "share"},
            {.name = "elsewhere_m",
             .type = FieldType::real,
             .description = "Length along which it is misplaced: the drawn line lies outside the 90 % zone; metres. 0 "
                            "if the area on one side is "
                            "disputed (disputed_area), so that the contact may not exist."},
            {.name = "elsewhere_by_m",
             .type = FieldType::real,
             .description =
                 "How far it should move along that length, mean, metres. Empty if it is nowhere misplaced."},
            {.name = "review",
             .type = FieldType::text,
             .description =
                 "What the stops say about the contact: the review of its worst stretch (contact_stretches).",
             .domain = "review"},
        }};
}

io::LayerDefinition contact_stretches_layer() {
    return {
        .name = "contact_stretches",
        .title = "Contacts: reviewed stretch by stretch",
        .description =
            "Each drawn contact in stretches, with the stops on which each rests and where to dig to settle "
            "it. A contact has the review of its worst stretch.",
        .geometry = GeometryKind::line,
        .fields = {
            {.name = "contact", .type = FieldType::integer, .description = "Feature id in contact_review."},
            {.name = "stretch",
             .type = FieldType::integer,
             .description = "Number of the stretch along the contact, from 1."},
            {.name = "unit_a", .type = FieldType::text, .description = "One of the two units.", .domain = "unit"},
            {.name = "unit_b", .type = FieldType::text, .description = "The other unit.", .domain = "unit"},
            {.name = "review",
             .type = FieldType::text,
             .description = "What the stops say about the stretch.",
             .domain = "review"},
            {.name = "length_m", .type = FieldType::real, .description = "Length as drawn, metres."},
            {.name = "shift_m",
             .type = FieldType::real,
             .description = "How far it should move, mean over the stretch, metres. Empty if it is not misplaced."},
            {.name = "shift_half_width_m",
             .type = FieldType::real,
             .description = "Half-width of the 90 % interval of shift_m, metres."},
            {.name = "shift_azimuth_deg",
             .type = FieldType::real,
             .description = "Direction in which it should move, degrees clockwise from grid north."},
            {.name = "location_confidence_m",
             .type = FieldType::real,
             .description = "Half-width of the 90 % zone, root mean square along the stretch, metres."},
            {.name = "log10_odds_against",
             .type = FieldType::real,
             .description = "Decimal logarithm of the odds of the unit across, against the contact as drawn, summed "
                            "over its stops. Empty without stops."},
            {.name = "stops_for", .type = FieldType::text, .description = "Stops that support it, the clearest first."},
            {.name = "stops_against",
             .type = FieldType::text,
             .description = "Stops that fit the unit across it better, the clearest first."},
            {.name = "dig",
             .type = FieldType::text,
             .description = "Where to dig to settle it, and what each outcome means. Empty if it is supported, or if "
                            "no place is allowed."},
            {.name = "dig_x", .type = FieldType::real, .description = "Easting of that place, metres."},
            {.name = "dig_y", .type = FieldType::real, .description = "Northing of that place, metres."},
        }};
}

io::LayerDefinition relocated_contacts_layer() {
    return {.name = "relocated_contacts",
            .title = "Contacts: where they should run",
            .description =
                "Each contact where the stops place it. Left as drawn if moving contacts did not improve "
                "predictions at hidden stops. Outlines of redrawn areas (revised_units) come last.",
            .geometry = GeometryKind::line,
            .fields = {
                {.name = "contact",
                 .type = FieldType::integer,
                 .description = "Feature id in contact_review. Empty for the outline of a redrawn area."},
                {.name = "unit_a", .type = FieldType::text, .description = "One of the two units.", .domain = "unit"},
                {.name = "unit_b", .type = FieldType::text, .description = "The other unit.", .domain = "unit"},
                {.name = "location_confidence_m",
                 .type = FieldType::real,
                 .description = "Half-width of the 90 % zone, root mean square along the contact, metres. Does not "
                                "include the error of the base map."},
                {.name = "existence_confidence",
                 .type = FieldType::text,
                 .description = "Whether there is a contact. Questionable if at least 3 stops on one side fit the unit "
                                "across with 0.8 or more, and they "
                                "outnumber those that fit their own. Questionable also if the area on one side is "
                                "disputed and like the other, and of outlines of redrawn areas.",
                 .domain = "confidence"},
                {.name = "identity_confidence",
                 .type = FieldType::text,
                 .description = "Whether it divides these two units. Certain if, on both sides, more stops fit the "
                                "unit of their side (0.8 or more) "
                                "than any other. Otherwise questionable, also without stops.",
                 .domain = "confidence"},
                {.name = "location_class",
                 .type = FieldType::text,
                 .description = "How its place is known. The map's stated zone is ± 1.645 contact_sd_m; nearby means "
                                "within 4 standard errors.",
                 .domain = "location_class"},
            }};
}

io::LayerDefinition contact_zones_layer() {
    return {.name = "contact_zones",
            .title = "Contacts: 90 % zones",
            .description =
                "The zone in which each contact lies with 90 % probability, place by place. Outlines of redrawn areas "
                "(revised_units) come last. Empty above 20,000 contacts.",
            .geometry = GeometryKind::multipolygon,
            .fields = {
                {.name = "contact",
                 .type = FieldType::integer,
                 .description = "Feature id in contact_review. Empty for the outline of a redrawn area."},
                {.name = "unit_a", .type = FieldType::text, .description = "One of the two units.", .domain = "unit"},
                {.name = "unit_b", .type = FieldType::text, .description = "The other unit.", .domain = "unit"},
                {.name = "location_confidence_m",
                 .type = FieldType::real,
                 .description = "Half-width of the zone, root mean square along the contact, metres."},
            }};
}

io::LayerDefinition disputed_area_layer() {
    return {
        .name = "disputed_area",
        .title = "Disputed areas: perhaps unmapped bodies",
        .description =
            "An area where a cluster of stops supports another unit than the drawn one, and moving contacts does not "
            "explain it. It is the part of the drawn unit that is nearer to these stops than to any other stop.",
        .geometry = GeometryKind::multipolygon,
        .fields = {
            {.name = "drafted_unit",
             .type = FieldType::text,
             .description = "Unit that the draft shows there.",
             .domain = "unit"},
            {.name = "like_unit",
             .type = FieldType::text,
             .description = "Unit that the stops look like.",
             .domain = "unit"},
            {.name = "stops", .type = FieldType::integer, .description = "Number of stops in the cluster."},
            {.name = "stops_rock_seen",
             .type = FieldType::integer,
             .description = "Number of them with bedrock of like_unit observed."},
            {.name = "probability",
             .type = FieldType::real,
             .description =
                 "Probability that there is such a body: at least as high as at its surest stop; over 0.5. Its "
                 "extent is less sure.",
             .domain = "share"},
            {.name = "log10_odds",
             .type = FieldType::real,
             .description =
                 "Decimal logarithm of the odds of like_unit over drafted_unit, from soil and observed bedrock, summed "
                 "over the stops."},
            {.name = "area_m2", .type = FieldType::real, .description = "Its area, square metres."},
            {.name = "reason", .type = FieldType::text, .description = "Why it is disputed, in words."},
        }};
}

io::LayerDefinition revised_units_layer() {
    return {
        .name = "revised_units",
        .title = "Units: the revised map",
        .description =
            "The whole map, from draft, soil and observed bedrock together: contacts moved, and areas of another unit "
            "drawn "
            "in where the stops require it. What does not change keeps every vertex of the draft. Polygons share their "
            "edges.",
        .geometry = GeometryKind::multipolygon,
        .fields = {
            {.name = "unit",
             .type = FieldType::text,
             .description = "Code of the unit in the legend.",
             .domain = "unit"},
            {.name = "name", .type = FieldType::text, .description = "Name of the unit in the legend."},
            {.name = "source",
             .type = FieldType::text,
             .description = "Where the polygon comes from.",
             .domain = "revised_source"},
            {.name = "draft_row",
             .type = FieldType::integer,
             .description = "Row of the polygon in the draft map; of the largest if several became one. Empty: new."},
            {.name = "probability",
             .type = FieldType::real,
             .description =
                 "Probability of the unit, mean over the polygon. Empty if the settings do not move contacts.",
             .domain = "share"},
            {.name = "hectares", .type = FieldType::real, .description = "Its area, hectares."},
            {.name = "changed_hectares",
             .type = FieldType::real,
             .description = "Part of it that belongs to another unit in the draft, hectares."},
        }};
}

io::LayerDefinition proposals_layer() {
    io::LayerDefinition layer{
        .name = "proposals",
        .title = "Proposals: what to change in the draft",
        .description =
            "Each proposed change of the draft. Accept it, reject it or leave it for later. 'adopt' writes "
            "the next draft from those accepted.",
        .geometry = GeometryKind::multipolygon,
        .fields = io::decision_columns()};
    for (io::FieldDefinition& field : layer.fields) {
        if (field.name == "kind") field.domain = "proposal_kind";
        if (field.name == "probability") field.domain = "share";
    }
    layer.fields.push_back({.name = "gain_hectares",
                            .type = FieldType::real,
                            .description = "Area expected to be corrected, hectares: probability of the proposed unit "
                                           "minus that of the drafted one, summed over the area."});
    layer.fields.push_back({.name = "nearest_stop_m",
                            .type = FieldType::real,
                            .description = "Distance to the nearest stop, metres; 0: inside the area."});
    layer.fields.push_back({.name = "note",
                            .type = FieldType::text,
                            .description = "Why a decided proposal is shown again, or how it has changed since."});
    layer.fields.push_back({.name = "decision_then",
                            .type = FieldType::text,
                            .description = "The decision when the layer was written. Do not edit. If 'decision' "
                                           "differs from this, the program takes it as your decision.",
                            .domain = "decision"});
    return layer;
}

io::LayerDefinition traverse_crossings_layer() {
    return {
        .name = "traverse_crossings",
        .title = "Traverses: where contacts are crossed",
        .description = "Each change of unit along a traverse: where its stops find it, and where the draft map has it.",
        .geometry = GeometryKind::point,
        .fields = {
            {.name = "traverse", .type = FieldType::text, .description = "Traverse, as in the field book."},
            {.name = "from_unit",
             .type = FieldType::text,
             .description = "Unit before the crossing.",
             .domain = "unit"},
            {.name = "to_unit", .type = FieldType::text, .description = "Unit beyond it.", .domain = "unit"},
            {.name = "chainage_m",
             .type = FieldType::real,
             .description =
                 "Where the stops find it: metres along the line through the stops, from the first (median). "
                 "Empty if it is not found."},
            {.name = "chainage_low_m",
             .type = FieldType::real,
             .description = "Lower end of its 90 % interval, metres."},
            {.name = "chainage_high_m",
             .type = FieldType::real,
             .description = "Upper end of its 90 % interval, metres."},
            {.name = "probability",
             .type = FieldType::real,
             .description = "Probability that there is such a change of unit here; 0 to 1.",
             .domain = "share"},
            {.name = "mapped_chainage_m",
             .type = FieldType::real,
             .description = "Where the draft map has it, metres. If the draft has a strip without stops between the "
                            "two units: its middle. Empty if the draft has none."},
            {.name = "offset_m",
             .type = FieldType::real,
             .description = "How far beyond the crossing of the draft it lies, metres; below 0: before it."},
            {.name = "status",
             .type = FieldType::text,
             .description = "What the stops say about the crossing of the draft.",
             .domain = "crossing_status"},
        }};
}

io::LayerDefinition unit_summary_layer() {
    io::LayerDefinition layer{.name = "unit_summary",
                              .title = "Units: what the stops say about each",
                              .description = "Each map unit with its drawn area, and the soil and plants of its stops.",
                              .geometry = GeometryKind::multipolygon,
                              .fields = {}};
    for (const UnitColumn& column : unit_columns()) layer.fields.push_back(column.field);
    return layer;
}

io::LayerDefinition next_stops_layer() {
    return {
        .name = "next_stops",
        .title = "Next stops: where to look next",
        .description =
            "Places where one more stop is expected to correct most of the map; the settings state how many. Roads, "
            "slopes and "
            "fences are not considered.",
        .geometry = GeometryKind::point,
        .fields = {
            {.name = "rank",
             .type = FieldType::integer,
             .description = "Order by gain, 1 the greatest. Each is ranked as if those before it had been visited."},
            {.name = "walk_order",
             .type = FieldType::integer,
             .description = "Order in a short walk past all of them, in straight lines."},
            {.name = "gain_ha",
             .type = FieldType::real,
             .description = "Area that a stop here is expected to correct, hectares."},
            {.name = "contact",
             .type = FieldType::integer,
             .description = "Feature id in contact_review, if its 90 % zone holds the place. Else empty."},
            {.name = "unit_a",
             .type = FieldType::text,
             .description = "One of the contact's units, else the most probable one. Empty for an area without stops.",
             .domain = "unit"},
            {.name = "unit_b",
             .type = FieldType::text,
             .description = "The contact's other unit, else the second most probable one.",
             .domain = "unit"},
            {.name = "half_width_m",
             .type = FieldType::real,
             .description = "Half-width of the 90 % zone of the contact here, metres."},
            {.name = "half_width_after_m",
             .type = FieldType::real,
             .description = "The half-width expected after a stop here, metres."},
            {.name = "purpose", .type = FieldType::text, .description = "What to see there, in one sentence."},
        }};
}

io::LayerDefinition changes_layer() {
    return {
        .name = "changes",
        .title = "Changes since the last run",
        .description =
            "Changes since the last run with other inputs (folder 'history'). Empty at "
            "the first run, and above 20,000 stops.",
        .geometry = GeometryKind::point,
        .fields = {
            {.name = "kind", .type = FieldType::text, .description = "What kind of change it is.", .domain = "change"},
            {.name = "what",
             .type = FieldType::text,
             .description = "Identifier of the stop; or units of the contact and its feature id in contact_review."},
            {.name = "before",
             .type = FieldType::text,
             .description = "Verdict, 90 % half-width or place at the last run; empty where there was none."},
            {.name = "after", .type = FieldType::text, .description = "The same now; empty where there is none."},
            {.name = "sentence", .type = FieldType::text, .description = "The change in words."},
        }};
}

io::LayerDefinition problems_layer() {
    return {.name = "problems",
            .title = "Problems in the data",
            .description = "What was wrong or doubtful in the records and the map, and how to correct it.",
            .geometry = GeometryKind::point,
            .fields = {
                {.name = "source", .type = FieldType::text, .description = "File or layer that holds it."},
                {.name = "row",
                 .type = FieldType::integer,
                 .description =
                     "Row as you see it in the source. In spreadsheets and CSV the headings are row 1. In a GeoPackage "
                     "or database: the feature id. In shapefiles and dBase tables: the record, from 1."},
                {.name = "stop", .type = FieldType::text, .description = "Stop or borehole to which it belongs."},
                {.name = "field", .type = FieldType::text, .description = "Column that holds it."},
                {.name = "value", .type = FieldType::text, .description = "The value as it was written."},
                {.name = "severity", .type = FieldType::text, .description = "How bad it is.", .domain = "severity"},
                {.name = "message", .type = FieldType::text, .description = "What is wrong."},
                {.name = "remedy", .type = FieldType::text, .description = "How to correct it."},
            }};
}

io::LayerDefinition layer_styles_table() {
    return {.name = "layer_styles",
            .title = "How to draw the layers",
            .description = "A style for each layer, as an OGC Styled Layer Descriptor (02-070).",
            .geometry = GeometryKind::none,
            .fields = {
                {.name = "f_table_name", .type = FieldType::text, .description = "Layer to which the style belongs."},
                {.name = "f_geometry_column", .type = FieldType::text, .description = "Its geometry column."},
                {.name = "styleName", .type = FieldType::text, .description = "Name of the style."},
                {.name = "styleSLD",
                 .type = FieldType::text,
                 .description = "The style: an OGC Styled Layer Descriptor, XML."},
                {.name = "useAsDefault",
                 .type = FieldType::boolean,
                 .description = "Whether this is the default style of the layer."},
                {.name = "description", .type = FieldType::text, .description = "What the style shows."},
            }};
}

}  // namespace

io::FileDefinition result_definition(const model::Survey& survey) {
    io::FileDefinition file{
        .domains = {unit_domain(survey),
                    stop_kind_domain(),
                    verdict_domain(),
                    review_domain(),
                    crossing_status_domain(),
                    revised_source_domain(),
                    proposal_kind_domain(),
                    io::decision_domain(),
                    change_domain(),
                    severity_domain(),
                    parent_material_domain(),
                    confidence_domain(),
                    location_class_domain(),
                    {.name = "share", .range = Domain::Range{0, 1}}},
        .layers = {stop_fit_layer(survey), stop_evidence_layer(), contact_review_layer(), contact_stretches_layer(),
                   relocated_contacts_layer(), contact_zones_layer(), disputed_area_layer(), revised_units_layer(),
                   proposals_layer(), traverse_crossings_layer(), unit_summary_layer(), next_stops_layer(),
                   changes_layer(), problems_layer(), layer_styles_table()}};
    if (survey.map_source.empty()) tell_of_first_map(file);
    return file;
}

}  // namespace subcrop::publish
