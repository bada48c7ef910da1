#include "io/legend_reader.hpp"

#include <algorithm>
#include <set>

#include "io/book_columns.hpp"
#include "io/nearest_name.hpp"
#include "io/standard_columns.hpp"
#include "io/table.hpp"
#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::io {

namespace {

/// "#rrggbb" in lower case from "#RRGGBB", "RRGGBB" or "#rgb"; empty: no colour.
std::string display_colour(std::string_view written) {
    std::string text = lower(written);
    if (text.starts_with('#')) text.erase(0, 1);
    if (text.size() == 3) text = {text[0], text[0], text[1], text[1], text[2], text[2]};
    const bool digits = text.find_first_not_of("0123456789abcdef") == std::string::npos;
    return text.size() == 6 && digits ? '#' + text : std::string();
}

std::vector<std::string> codes_of(const std::vector<model::LegendUnit>& units) {
    std::vector<std::string> codes;
    for (const model::LegendUnit& unit : units) codes.push_back(unit.code);
    return codes;
}

/// The items of a cell that can be read; the others are reported and left out.
template <class Read>
std::vector<std::string> readable_items(Table& table, const Column& column, Read read) {
    std::vector<std::string> kept;
    for (std::string& item : split_list(table.text(column))) {
        auto [value, message, remedy] = read(item);
        if (value) {
            kept.push_back(std::move(*value));
            continue;
        }
        table.report(Severity::warning, column, item,
                     "this expectation cannot be read and is left out: " + std::move(message), std::move(remedy));
    }
    return kept;
}

/// An expectation as written where the reader of such notes can read it.
template <class Reading>
Parsed<std::string> as_written(const std::string& item, Reading reading) {
    Parsed<std::string> result{std::nullopt, std::move(reading.message), std::move(reading.remedy)};
    if (reading.value) result.value = item;
    return result;
}

Parsed<std::string> plant_item(const std::string& item) {
    if (!field::read_plants(item).taxa.empty()) return {item, {}, {}};
    return {std::nullopt, "it names no plant", "Write names with semicolons between them."};
}

}  // namespace

std::vector<model::LegendUnit> read_legend(const SurveyFile& file, const field::KindNames& names,
                                           ProblemLog& problems) {
    Table table(open_layer(file, *file.legend), *file.legend, "legend", problems);
    const Column unit = table.require("unit"), name = table.find("name"), age = table.find("age_order"),
                 lithology = table.find("lithology"), colour = table.find("colour"), cover = table.find("cover"),
                 colours = table.find("expected_colours"), textures = table.find("expected_textures"),
                 plants = table.find("expected_plants"), reactions = table.find("expected_reactions"),
                 worth = table.find("expected_worth_stops");
    table.report_near_misses(legend_columns());
    std::vector<model::LegendUnit> units;
    std::set<std::string> seen;
    while (table.next()) {
        model::LegendUnit entry;
        entry.code = table.text(unit);
        if (entry.code.empty()) {
            table.report(Severity::error, unit, {}, "the legend's row names no unit and is left out",
                         "Write the unit's code.");
            continue;
        }
        if (!seen.insert(entry.code).second) {
            table.report(Severity::error, unit, entry.code,
                         "the unit stands in the legend already; this row is left out", "Keep one row for each unit.");
            continue;
        }
        entry.name = table.text(name);
        entry.age_order = table.number(age, {});
        entry.lithology = table.text(lithology);
        if (const std::string written(table.text(colour)); !written.empty()) {
            entry.colour = display_colour(written);
            if (entry.colour.empty()) {
                table.report(Severity::warning, colour, written, "this is no display colour; one is chosen instead",
                             "Write it as #rrggbb, such as #c8a46e.");
            }
        }
        entry.cover = table.yes_no(cover).value_or(false);
        entry.expected.colours = readable_items(
            table, colours, [](const std::string& item) { return as_written(item, field::parse_munsell(item)); });
        entry.expected.textures = readable_items(table, textures, [&](const std::string& item) {
            const std::string meant = names.meant(field::NamedKind::texture, item);
            return as_written(meant, field::parse_texture(meant));
        });
        entry.expected.plants = readable_items(table, plants, plant_item);
        // As codes, which is what stops are reduced to.
        entry.expected.reactions = readable_items(table, reactions, [&](const std::string& item) {
            return field::read_effervescence(names.meant(field::NamedKind::reaction, item));
        });
        entry.expected.worth_stops =
            table.number(worth, rule_of(legend_book(), "expected_worth_stops")).value_or(entry.expected.worth_stops);
        units.push_back(std::move(entry));
    }
    if (units.empty()) {
        problems.add({.severity = Severity::warning,
                      .source = table.source(),
                      .row = std::nullopt,
                      .field = {},
                      .value = {},
                      .message = std::string("there is no unit in the legend; the units are taken from ") +
                                 (file.map ? "the map" : "the observed bedrock"),
                      .remedy = "Fill it in, or check that it is the right file and layer.",
                      .position = std::nullopt});
    }
    return units;
}

void complete_legend(std::vector<model::LegendUnit>& units, std::vector<std::string> map_codes, bool has_legend,
                     const std::string& map_source, const std::string& column, ProblemLog& problems) {
    const std::vector<std::string> legend_codes = codes_of(units);
    const std::set<std::string> known(legend_codes.begin(), legend_codes.end());
    std::sort(map_codes.begin(), map_codes.end());
    for (const std::string& code : map_codes) {
        if (known.contains(code)) continue;
        model::LegendUnit unit;
        unit.code = code;
        unit.name = code;
        units.push_back(std::move(unit));
        if (!has_legend) continue;
        problems.add({.severity = Severity::warning,
                      .source = map_source,
                      .row = std::nullopt,
                      .field = column,
                      .value = code,
                      .message = "the map's unit '" + code + "' is not in the legend; it is taken as a unit of its own",
                      .remedy = did_you_mean(code, legend_codes) + "Add it to the legend or correct the map.",
                      .position = std::nullopt});
    }
}

}  // namespace subcrop::io
