#include "publish/unit_table.hpp"

#include <cmath>
#include <optional>
#include <ostream>

#include "infer/description/unit_words.hpp"
#include "io/pending_file.hpp"
#include "publish/csv_text.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::publish {

namespace {

using infer::UnitSummary;
using io::FieldType;
using model::Survey;

UnitValue text(const std::string& value) { return value.empty() ? UnitValue{} : UnitValue(value); }
UnitValue integer(std::size_t value) { return static_cast<std::int64_t>(value); }
UnitValue real(const std::optional<double>& value) { return value ? UnitValue(*value) : UnitValue{}; }
/// A sum of probabilities, rounded to a tenth, because it is not known better.
UnitValue sum(double value) { return std::round(value * 10) / 10; }

/// One part of the mean grain size, rounded to a tenth of a percent, because it is not known better.
UnitValue part(const UnitSummary& u, double field::GrainSize::*which) {
    if (!u.texture.distribution) return {};
    return std::round(field::from_ilr(u.texture.distribution->mean).*which * 10) / 10;
}

std::string location_words(const infer::ContactsKnown& known) {
    std::string words;
    for (std::size_t i = 0; i < known.length_of_class_m.size(); ++i) {
        if (known.length_of_class_m[i] <= 0) continue;
        words += (words.empty() ? "" : ", ") + std::string(to_string(static_cast<infer::LocationClass>(i))) + ' ' +
                 std::to_string(std::lround(100 * known.length_of_class_m[i] / known.length_m)) + " %";
    }
    return words;
}

}  // namespace

const std::vector<UnitColumn>& unit_columns() {
    static const std::vector<UnitColumn> columns{
        {{.name = "unit", .type = FieldType::text, .description = "Code of the unit in the legend.", .domain = "unit"},
         [](const Survey& s, const UnitSummary& u) { return text(s.units[static_cast<std::size_t>(u.unit)].code); }},
        {{.name = "name", .type = FieldType::text, .description = "Name of the unit in the legend."},
         [](const Survey& s, const UnitSummary& u) { return text(s.units[static_cast<std::size_t>(u.unit)].name); }},
        {{.name = "area_m2", .type = FieldType::real, .description = "Its area on the draft map, square metres."},
         [](const Survey&, const UnitSummary& u) { return real(u.area_m2); }},
        {{.name = "stops", .type = FieldType::integer, .description = "Number of stops in its drawn area."},
         [](const Survey&, const UnitSummary& u) { return integer(u.stops); }},
        {{.name = "stops_rock_seen",
          .type = FieldType::integer,
          .description = "Number of stops where bedrock of this unit was observed."},
         [](const Survey&, const UnitSummary& u) { return integer(u.stops_rock_seen); }},
        {{.name = "stops_agree",
          .type = FieldType::integer,
          .description = "Number of stops that agree with the draft."},
         [](const Survey&, const UnitSummary& u) { return integer(u.stops_agree); }},
        {{.name = "stops_conflict",
          .type = FieldType::integer,
          .description = "Number of stops that conflict with the draft."},
         [](const Survey&, const UnitSummary& u) { return integer(u.stops_conflict); }},
        {{.name = "described_stops",
          .type = FieldType::real,
          .description = "Number of stops that the description uses. Each counts by its probability of lying on the "
                         "unit, or as drawn with --as-drawn. Counts and shares below use these stops."},
         [](const Survey&, const UnitSummary& u) { return sum(u.described_stops); }},
        {{.name = "colour_moist",
          .type = FieldType::text,
          .description =
              "Middle Munsell chip of the moist colours of the subsoil. Of the 30 commonest chips it has the "
              "smallest sum of CIEDE2000 differences to all."},
         [](const Survey&, const UnitSummary& u) { return text(u.moist.chip); }},
        {{.name = "colours_moist",
          .type = FieldType::text,
          .description =
              "Commonest moist colours of the subsoil, Munsell, with their share and the number of horizons."},
         [](const Survey&, const UnitSummary& u) { return text(u.moist.chips.text()); }},
        {{.name = "colour_dry",
          .type = FieldType::text,
          .description = "Middle Munsell chip of the dry colours of the subsoil."},
         [](const Survey&, const UnitSummary& u) { return text(u.dry.chip); }},
        {{.name = "colours_dry",
          .type = FieldType::text,
          .description = "Commonest dry colours of the subsoil, Munsell, with their share and the number of horizons."},
         [](const Survey&, const UnitSummary& u) { return text(u.dry.chips.text()); }},
        {{.name = "textures",
          .type = FieldType::text,
          .description = "Commonest texture classes of the subsoil, with their share."},
         [](const Survey&, const UnitSummary& u) { return text(u.texture.classes.text()); }},
        {{.name = "sand_pct",
          .type = FieldType::real,
          .description = "Sand in the fine earth of the subsoil, percent by mass; mean in log-ratio coordinates."},
         [](const Survey&, const UnitSummary& u) { return part(u, &field::GrainSize::sand); }},
        {{.name = "silt_pct", .type = FieldType::real, .description = "Silt, likewise."},
         [](const Survey&, const UnitSummary& u) { return part(u, &field::GrainSize::silt); }},
        {{.name = "clay_pct", .type = FieldType::real, .description = "Clay, likewise."},
         [](const Survey&, const UnitSummary& u) { return part(u, &field::GrainSize::clay); }},
        {{.name = "fragments_median_pct",
          .type = FieldType::real,
          .description = "Median of coarse fragments in the subsoil, percent by volume."},
         [](const Survey&, const UnitSummary& u) { return real(u.fragments.median_pct); }},
        {{.name = "fragment_horizons",
          .type = FieldType::real,
          .description = "Number of subsoil horizons that state fragments in percent; each counts like its stop."},
         [](const Survey&, const UnitSummary& u) { return sum(u.fragments.horizons); }},
        {{.name = "fragment_kinds",
          .type = FieldType::text,
          .description = "Commonest kinds of fragments in the subsoil, with their share."},
         [](const Survey&, const UnitSummary& u) { return text(u.fragments.kinds.text()); }},
        {{.name = "reactions",
          .type = FieldType::text,
          .description =
              "Commonest classes of reaction to acid (the strongest at each stop), with their share of the stops."},
         [](const Survey&, const UnitSummary& u) { return text(u.reaction.text()); }},
        {{.name = "profile",
          .type = FieldType::text,
          .description = "Commonest sequence of horizons, number of profiles with it, and its median depths."},
         [](const Survey&, const UnitSummary& u) { return text(u.profile.text()); }},
        {{.name = "minerals",
          .type = FieldType::text,
          .description = "Commonest minerals above the rock, with their share of the stops that name any."},
         [](const Survey&, const UnitSummary& u) { return text(u.minerals.text()); }},
        {{.name = "landforms",
          .type = FieldType::text,
          .description = "Commonest landforms, with their share of the stops that state one."},
         [](const Survey&, const UnitSummary& u) { return text(u.landforms.text()); }},
        {{.name = "evidence",
          .type = FieldType::text,
          .description = "The survey's own evidence: medians with quartiles, or the commonest words."},
         [](const Survey&, const UnitSummary& u) { return text(infer::evidence_words(u)); }},
        {{.name = "plants",
          .type = FieldType::text,
          .description =
              "The plants that best indicate the unit, with indicator value (Dufrene and Legendre 1997) and p. "
              "Corrected p allows for the number of taxa tried (Benjamini and Hochberg 1995). Here each stop "
              "counts for one unit only, if its probability is over 0.5."},
         [](const Survey&, const UnitSummary& u) { return text(u.plants); }},
        {{.name = "weathered_depth_median_cm",
          .type = FieldType::real,
          .description = "Median depth to weathered rock (Cr), centimetres. Holes that ended above it count as deeper "
                         "(Kaplan and Meier 1958). Empty if only one hole reached it."},
         [](const Survey&, const UnitSummary& u) { return real(u.weathered_rock.median_cm); }},
        {{.name = "weathered_depth_low_cm",
          .type = FieldType::real,
          .description = "Lower end of the 90 % interval of this median, centimetres (Brookmeyer and Crowley 1982)."},
         [](const Survey&, const UnitSummary& u) { return real(u.weathered_rock.low_cm); }},
        {{.name = "weathered_depth_high_cm",
          .type = FieldType::real,
          .description = "Upper end of the interval, centimetres. Empty if too few holes went deep enough."},
         [](const Survey&, const UnitSummary& u) { return real(u.weathered_rock.high_cm); }},
        {{.name = "weathered_depth_least_cm",
          .type = FieldType::real,
          .description = "Minimum depth at which weathered rock was reached, centimetres."},
         [](const Survey&, const UnitSummary& u) { return real(u.weathered_rock.min_cm); }},
        {{.name = "weathered_depth_greatest_cm",
          .type = FieldType::real,
          .description = "Maximum depth at which weathered rock was reached, centimetres."},
         [](const Survey&, const UnitSummary& u) { return real(u.weathered_rock.max_cm); }},
        {{.name = "weathered_depths",
          .type = FieldType::real,
          .description = "Number of stops where weathered rock was reached."},
         [](const Survey&, const UnitSummary& u) { return sum(u.weathered_rock.reached); }},
        {{.name = "rock_depth_median_cm",
          .type = FieldType::real,
          .description = "Median depth to rock, weathered or not, centimetres. Holes that ended above it count as "
                         "deeper (Kaplan and Meier 1958). Empty if only one hole reached it."},
         [](const Survey&, const UnitSummary& u) { return real(u.rock.median_cm); }},
        {{.name = "rock_depth_low_cm",
          .type = FieldType::real,
          .description = "Lower end of the 90 % interval of this median, centimetres."},
         [](const Survey&, const UnitSummary& u) { return real(u.rock.low_cm); }},
        {{.name = "rock_depth_high_cm",
          .type = FieldType::real,
          .description = "Upper end of the interval, centimetres. Empty if too few holes went deep enough."},
         [](const Survey&, const UnitSummary& u) { return real(u.rock.high_cm); }},
        {{.name = "rock_depth_least_cm",
          .type = FieldType::real,
          .description = "Minimum depth at which rock was reached, centimetres."},
         [](const Survey&, const UnitSummary& u) { return real(u.rock.min_cm); }},
        {{.name = "rock_depth_greatest_cm",
          .type = FieldType::real,
          .description = "Maximum depth at which rock was reached, centimetres."},
         [](const Survey&, const UnitSummary& u) { return real(u.rock.max_cm); }},
        {{.name = "rock_depths", .type = FieldType::real, .description = "Number of stops where rock was reached."},
         [](const Survey&, const UnitSummary& u) { return sum(u.rock.reached); }},
        {{.name = "rock_deeper",
          .type = FieldType::real,
          .description = "Number of stops whose hole ended above the rock."},
         [](const Survey&, const UnitSummary& u) { return sum(u.rock.deeper); }},
        {{.name = "fresh_depth_median_cm",
          .type = FieldType::real,
          .description = "Median depth to fresh rock (R, or where spade or auger was stopped), centimetres, estimated "
                         "likewise."},
         [](const Survey&, const UnitSummary& u) { return real(u.fresh_rock.median_cm); }},
        {{.name = "parent_materials",
          .type = FieldType::text,
          .description =
              "What the soil most probably formed from, with the share of the stops; transported soil included."},
         [](const Survey&, const UnitSummary& u) { return text(u.parent_materials.text()); }},
        {{.name = "mistaken_for",
          .type = FieldType::text,
          .description = "The other unit that soil alone names most often at stops known to lie on this one.",
          .domain = "unit"},
         [](const Survey& s, const UnitSummary& u) {
             return u.mistaken.unit == model::no_unit ? UnitValue{}
                                                      : text(s.units[static_cast<std::size_t>(u.mistaken.unit)].code);
         }},
        {{.name = "mistaken_stops",
          .type = FieldType::integer,
          .description = "Number of known stops at which soil alone names mistaken_for."},
         [](const Survey&, const UnitSummary& u) { return integer(u.mistaken.taken); }},
        {{.name = "known_stops",
          .type = FieldType::integer,
          .description =
              "Number of stops known to lie on this unit (bedrock observed, or far from every drawn contact). "
              "Each is judged without its own block of stops."},
         [](const Survey&, const UnitSummary& u) { return integer(u.mistaken.known); }},
        {{.name = "told_apart_by",
          .type = FieldType::text,
          .description = "The kind of evidence that best distinguishes it from mistaken_for."},
         [](const Survey&, const UnitSummary& u) { return text(u.mistaken.channel); }},
        {{.name = "contacts_m",
          .type = FieldType::real,
          .description = "Length of its drawn contacts with other units, metres."},
         [](const Survey&, const UnitSummary& u) { return real(u.contacts.length_m); }},
        {{.name = "contact_location",
          .type = FieldType::text,
          .description = "How the place of its contacts is known, by share of their length."},
         [](const Survey&, const UnitSummary& u) { return text(location_words(u.contacts)); }},
        {{.name = "description", .type = FieldType::text, .description = "These figures in words."},
         [](const Survey& s, const UnitSummary& u) { return text(infer::unit_description(s, u)); }},
    };
    return columns;
}

void write_unit_table(const std::filesystem::path& target, const model::Survey& survey,
                      const std::vector<UnitSummary>& units, io::PendingFiles& together) {
    together.write(target, [&](std::ostream& out) {
        const char* comma = "";
        for (const UnitColumn& column : unit_columns()) {
            out << comma << column.field.name;
            comma = ",";
        }
        out << "\r\n";
        for (const UnitSummary& unit : units) {
            comma = "";
            for (const UnitColumn& column : unit_columns()) {
                out << comma;
                comma = ",";
                const UnitValue value = column.value(survey, unit);
                if (const auto* words = std::get_if<std::string>(&value))
                    out << csv_text(*words);
                else if (const auto* count = std::get_if<std::int64_t>(&value))
                    out << *count;
                else if (const auto* number = std::get_if<double>(&value))
                    out << csv_number(*number);
            }
            out << "\r\n";
        }
    });
}

}  // namespace subcrop::publish
