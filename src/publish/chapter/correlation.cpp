#include "publish/chapter/correlation.hpp"

#include <cmath>

#include "publish/chapter/legend_plate.hpp"

namespace subcrop::publish::chapter {

std::string most_confused_sentence(const model::Survey& survey, const std::vector<infer::UnitSummary>& units) {
    const auto pair = infer::most_confused_pair(units);
    if (!pair)
        return "Too few stops are known to lie on a unit to tell which units are confused. Needed: 5 stops for each of "
               "two units.";
    const auto code = [&](model::UnitIndex u) { return survey.units[static_cast<std::size_t>(u)].code; };
    return code(pair->a) + " and " + code(pair->b) +
           " are most easily confused. At stops known to lie on one of them, soil alone gives the other a "
           "probability of " +
           std::to_string(std::lround(100 * pair->probability)) +
           " % on average, and names the wrong one of the two at " + std::to_string(pair->named) + " of " +
           std::to_string(pair->known) + " stops.";
}

Table correlation_table(const JudgedSurvey& judged) {
    const model::Survey& survey = judged.data->survey;
    const std::vector<model::UnitIndex> order = in_age_order(survey);
    Table table;
    const std::string& by = judged.fit.skill.known_by;
    table.caption =
        std::string("Rows: the unit that a stop is known to lie on (") +
        (by == "observed bedrock" ? "stops with bedrock observed"
         : by == "the draft map"  ? "by observed bedrock, else by the draft"
                                  : "stops with bedrock observed, or far from every drawn contact") +
        "). Columns: mean probability that soil alone gives each unit, percent; in brackets the number of "
        "stops at which it is the most probable. Each stop is judged by what was learnt outside its own block.";
    table.header = {"known", "n"};
    for (const model::UnitIndex u : order) table.header.push_back(survey.units[static_cast<std::size_t>(u)].code);
    for (const model::UnitIndex u : order) {
        const infer::Confusion& of = judged.units[static_cast<std::size_t>(u)].mistaken;
        std::vector<std::string> row{survey.units[static_cast<std::size_t>(u)].code, std::to_string(of.known)};
        for (const model::UnitIndex other : order) {
            const auto o = static_cast<std::size_t>(other);
            row.push_back(of.known == 0 ? ""
                                        : std::to_string(std::lround(100 * of.probability[o])) +
                                              (of.named[o] > 0 ? " (" + std::to_string(of.named[o]) + ")" : ""));
        }
        table.rows.push_back(std::move(row));
    }
    return table;
}

}  // namespace subcrop::publish::chapter
