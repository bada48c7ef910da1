#include "publish/chapter/legend_plate.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <numeric>

#include "publish/chapter/map_symbols.hpp"
#include "publish/map_colours.hpp"
#include "subcrop/core/counted.hpp"

namespace subcrop::publish::chapter {

std::vector<model::UnitIndex> in_age_order(const model::Survey& survey) {
    std::vector<model::UnitIndex> order(survey.units.size());
    std::iota(order.begin(), order.end(), 0);
    const auto age = [&](model::UnitIndex u) {
        return survey.units[static_cast<std::size_t>(u)].age_order.value_or(std::numeric_limits<double>::infinity());
    };
    std::stable_sort(order.begin(), order.end(),
                     [&](model::UnitIndex a, model::UnitIndex b) { return age(a) < age(b); });
    return order;
}

Svg legend_plate(const JudgedSurvey& judged, double width_mm, double denominator) {
    const model::Survey& survey = judged.data->survey;
    Svg plate(width_mm, 0);
    const std::string edge = std::string("stroke=\"") + ink + "\" stroke-width=\"0.2\"";
    const auto characters = static_cast<std::size_t>((width_mm - 16) / 1.5);
    double y = 5;
    const auto title = [&](const char* words) {
        plate.text(0, y, 3.4, words, "start", "font-weight=\"bold\"");
        y += 4;
    };
    const auto say = [&](const std::string& words, double x = 14) {
        for (const std::string& line : broken(words, characters)) {
            plate.text(x, y, 2.6, line);
            y += 3.4;
        }
    };
    const bool dated = std::any_of(survey.units.begin(), survey.units.end(),
                                   [](const model::LegendUnit& unit) { return unit.age_order.has_value(); });
    title(dated ? "Map units, youngest first" : "Map units (no ages in the legend)");
    for (const model::UnitIndex u : in_age_order(survey)) {
        const model::LegendUnit& unit = survey.units[static_cast<std::size_t>(u)];
        const double begin = y;
        plate.rectangle(
            0, y, 11, 6,
            "fill=\"" + unit_colour(survey, static_cast<std::size_t>(u)) + "\" fill-opacity=\"0.75\" " + edge);
        constexpr std::size_t fits = 5;  // letters in a box
        const bool short_code = unit.code.size() <= fits;
        if (short_code)
            plate.text(5.5, y + 4.1, 2.8, unit.code, "middle",
                       "paint-order=\"stroke\" stroke=\"#ffffff\" stroke-width=\"0.7\"");
        y += 2.8;
        say(unit.name.empty() || unit.name == unit.code ? unit.code
            : short_code                                ? unit.name
                                                        : unit.name + " (" + unit.code + ")");
        if (!unit.lithology.empty()) say(unit.lithology);
        y = std::max(y, begin + 7.5);
    }
    y += 4;
    title("Contacts");
    std::array<std::array<std::size_t, 2>, 4> contacts{};
    for (const infer::RelocatedContact& contact : judged.relocation.contacts) {
        const bool questionable =
            contact.existence == infer::Confidence::questionable || contact.identity == infer::Confidence::questionable;
        ++contacts[static_cast<std::size_t>(contact.location)][questionable ? 1 : 0];
    }
    for (std::size_t c = 0; c < contacts.size(); ++c) {
        for (const bool questionable : {false, true}) {
            const std::size_t n = contacts[c][questionable ? 1 : 0];
            if (n == 0) continue;
            const auto location = static_cast<infer::LocationClass>(c);
            plate.polyline({{0, y + 1.5}, {11, y + 1.5}}, contact_line(location));
            if (questionable)
                plate.text(5.5, y + 2.4, 2.6, "?", "middle",
                           "paint-order=\"stroke\" stroke=\"#ffffff\" stroke-width=\"1.2\"");
            y += 2.4;
            say(contact_name(location, questionable) + " (" + std::to_string(n) + ")");
            y += 0.6;
        }
    }
    y += 3;
    title("Stops, by what soil and draft say");
    std::array<std::size_t, infer::verdict_count> stops{};
    for (const infer::StopFit& stop : judged.fit.stops) ++stops[static_cast<std::size_t>(stop.verdict)];
    for (std::size_t v = 0; v < stops.size(); ++v) {
        if (stops[v] == 0) continue;
        draw_stop(plate, 5.5, y + 1.5, static_cast<infer::Verdict>(v));
        y += 2.4;
        say(std::string(description(static_cast<infer::Verdict>(v))) + " (" + std::to_string(stops[v]) + ")");
        y += 0.6;
    }
    if (denominator > 0) {
        y += 3;
        title(("Scale " + scale_words(denominator)).c_str());
        y += draw_scale_bar(plate, 2, y, denominator, width_mm - 30) + 10;
        draw_north_arrow(plate, 5.5, y);
        y += 2;
    }
    plate.set_height(y + 1);
    return plate;
}

}  // namespace subcrop::publish::chapter
