#include "io/rock_tables.hpp"

#include <cmath>
#include <unordered_set>
#include <utility>

#include "io/book_columns.hpp"
#include "io/point_reader.hpp"
#include "io/source_crs.hpp"
#include "io/standard_columns.hpp"
#include "io/table.hpp"

namespace subcrop::io {

namespace {

/// For an attitude that states no error; common practice, no source.
constexpr double usual_error_deg = 5;

/// Rows whose place could be brought into the working projection, by their number; the others become problems.
struct Located {
    std::vector<std::uint8_t> good;
    model::CoordinateOperation operation;
};

Located locate(const SurveyFile& file, const Table& table, const geo::Crs& from, const geo::Crs& working,
               std::vector<Point>& places, const std::vector<std::int64_t>& rows, const std::string& noun,
               ProblemLog& problems) {
    Located located;
    located.operation = {table.source(), from.name(), working.name(), "none needed", 0.0, false};
    located.good.assign(places.size(), 1);
    for (std::size_t i = 0; i < places.size(); ++i) {
        if (from.geographic() && (std::abs(places[i].y) > 90 || std::abs(places[i].x) > 360)) located.good[i] = 2;
    }
    std::vector<Point> possible;
    for (std::size_t i = 0; i < places.size(); ++i) {
        if (located.good[i] == 1) possible.push_back(places[i]);
    }
    if (!possible.empty()) {
        const geo::Transformation transformation(
            from, working, possible, {.allow_ballpark = file.settings.allow_ballpark, .source = table.source()});
        if (!transformation.identity()) {
            const std::vector<std::uint8_t> reached = transformation.apply(possible);
            for (std::size_t i = 0, k = 0; i < places.size(); ++i) {
                if (located.good[i] != 1) continue;
                located.good[i] = reached[k];
                places[i] = possible[k++];
            }
            const geo::OperationReport& report = transformation.report();
            located.operation.name = report.name;
            located.operation.accuracy_m = report.accuracy_m;
            located.operation.ballpark = report.ballpark;
        }
    }
    for (std::size_t i = 0; i < places.size(); ++i) {
        if (located.good[i] == 1) continue;
        problems.add(
            {.severity = Severity::error,
             .source = table.source(),
             .row = rows[i],
             .field = {},
             .value = "(" + number_text(places[i].x) + ", " + number_text(places[i].y) + ")",
             .message = (located.good[i] == 2 ? "the coordinates are not degrees, as " + from.name() + " has them"
                                              : "the place is outside the area in which " + from.name() + " and " +
                                                    working.name() + " hold") +
                        "; the " + noun + " is left out",
             .remedy = "Correct its coordinates, or the key 'crs' of '" + table.key() + "'.",
             .position = std::nullopt});
        located.good[i] = 0;
    }
    return located;
}

/// Depths that contradict one another are left out.
void check_depths(Table& table, const Column& weathered, const Column& rock, const Column& end, model::Borehole& hole) {
    const auto both = [&](const Column& a, const Column& b) {
        return table.as_written(a) + " and " + table.as_written(b);
    };
    const std::string below =
        std::string("Depths are ") + (rock.unit == Unit::none ? "metres " : "") + "below the collar";
    if (hole.weathered_rock_m && hole.rock_m && *hole.weathered_rock_m > *hole.rock_m) {
        table.report(Severity::warning, weathered, both(weathered, rock),
                     "the weathered rock lies below the fresh rock; both depths are left out",
                     below + ": weathered rock first.");
        hole.weathered_rock_m.reset();
        hole.rock_m.reset();
    }
    for (auto* depth : {&hole.weathered_rock_m, &hole.rock_m}) {
        if (!*depth || !hole.end_m || **depth <= *hole.end_m) continue;
        table.report(Severity::warning, depth == &hole.rock_m ? rock : weathered,
                     both(depth == &hole.rock_m ? rock : weathered, end),
                     "the rock lies below the end of the hole; its depth is left out", below + ".");
        depth->reset();
    }
}

}  // namespace

BoreholeTable read_boreholes(const SurveyFile& file, const geo::Crs& working, TextPool& texts, ProblemLog& problems) {
    Table table(open_layer(file, *file.boreholes), *file.boreholes, "boreholes", problems);
    BoreholeTable result;
    result.source = table.source();
    PointReader points(table, *file.boreholes, "borehole");
    const geo::Crs from = source_crs(file, *file.boreholes, table);
    points.expect(from);
    const Column name = table.require("hole"), collar = table.find("collar_height_m"), sd = table.find("position_sd_m"),
                 weathered = table.find("weathered_rock_m"), rock = table.find("rock_m"), end = table.find("end_m"),
                 unit_seen = table.find("unit_seen"), date = table.find("date"), notes = table.find("notes");
    table.name_owner_by(name);
    std::vector<Column> to_carry;
    for (const std::string& theirs : file.carry) to_carry.push_back(table.find_if_there(theirs));
    table.report_near_misses(borehole_columns());
    const std::string usual_sd = instead_of_position_sd(file);
    const auto number = [&](const Column& column, const char* ours) {
        return table.number(column, rule_of(borehole_book(), ours));
    };
    std::vector<Point> places;
    std::vector<std::int64_t> rows;
    std::unordered_set<std::string> taken;
    while (table.next()) {
        const std::string id(table.text(name));
        const auto place = points.read();
        if (!place) {
            if (!id.empty()) result.left_out.push_back(id);
            continue;
        }
        model::Stop& stop = result.stops.emplace_back();
        stop.row = table.row();
        stop.id = id.empty() ? "borehole " + std::to_string(stop.row) : id;
        for (int n = 2; !taken.insert(stop.id).second; ++n) stop.id = id + " (" + std::to_string(n) + ")";
        if (stop.id != id) {
            table.report(Severity::warning, name, id,
                         id.empty() ? "the borehole has no name; it is called '" + stop.id + "'"
                                    : "another borehole has this name; this one is called '" + stop.id +
                                          "' and the log goes to the first",
                         "Give each borehole a name of its own.");
        }
        const std::optional<double> stated_sd = table.number(sd, rule_of(borehole_book(), "position_sd_m"), usual_sd);
        stop.position_sd_m = stated_sd.value_or(file.settings.default_position_sd_m);
        stop.position_sd_stated = stated_sd.has_value();
        stop.date = table.interned(date, texts);
        stop.notes = table.interned(notes, texts);
        result.unit_seen.push_back(table.interned(unit_seen, texts));
        std::vector<Text>& carried = result.carried.emplace_back();
        for (const Column& column : to_carry) carried.push_back(table.interned(column, texts));
        model::Borehole& hole = result.holes.emplace_back();
        hole.collar_height_m = number(collar, "collar_height_m");
        hole.weathered_rock_m = number(weathered, "weathered_rock_m");
        hole.rock_m = number(rock, "rock_m");
        hole.end_m = number(end, "end_m");
        check_depths(table, weathered, rock, end, hole);
        if (result.unit_seen.back().empty() && !hole.weathered_rock_m && !hole.rock_m && !hole.end_m) {
            table.report(Severity::note, name, stop.id, "nothing is written of this borehole but its place",
                         "Write the depth to rock and the unit at its bottom.");
        }
        places.push_back(*place);
        rows.push_back(stop.row);
    }
    result.names = table.their_names();
    Located located = locate(file, table, from, working, places, rows, "borehole", problems);
    result.operation = std::move(located.operation);
    const double accuracy = result.operation.accuracy_m.value_or(0);
    BoreholeTable kept;
    for (std::size_t i = 0; i < places.size(); ++i) {
        if (located.good[i] == 0) {
            result.left_out.push_back(result.stops[i].id);
            continue;
        }
        kept.stops.push_back(std::move(result.stops[i]));
        kept.stops.back().position = places[i];
        kept.stops.back().position_sd_m = std::hypot(kept.stops.back().position_sd_m, accuracy);
        kept.holes.push_back(result.holes[i]);
        kept.unit_seen.push_back(result.unit_seen[i]);
        kept.carried.push_back(std::move(result.carried[i]));
    }
    result.stops = std::move(kept.stops);
    result.holes = std::move(kept.holes);
    result.unit_seen = std::move(kept.unit_seen);
    result.carried = std::move(kept.carried);
    return result;
}

void append_boreholes(StopTable& stops, BoreholeTable& holes, ProblemLog& problems) {
    std::unordered_set<std::string> taken;
    for (const model::Stop& stop : stops.stops) taken.insert(stop.id);
    for (std::size_t i = 0; i < holes.stops.size(); ++i) {
        model::Stop& hole = holes.stops[i];
        const std::string written = hole.id;
        if (taken.contains(written)) {
            hole.id = written + " (borehole)";
            for (int n = 2; taken.contains(hole.id); ++n) hole.id = written + " (borehole " + std::to_string(n) + ")";
            problems.add({.severity = Severity::warning,
                          .source = holes.source,
                          .row = hole.row,
                          .field = holes.names.of("hole"),
                          .value = written,
                          .message = "a stop has this name; the borehole is called '" + hole.id +
                                     "' and horizons go to the stop",
                          .remedy = "Give each borehole a name that no stop has.",
                          .position = hole.position});
        }
        taken.insert(hole.id);
        stops.stops.push_back(std::move(hole));
        stops.unit_seen.push_back(holes.unit_seen[i]);
        for (std::size_t k = 0; k < stops.carried.size(); ++k) stops.carried[k].values.push_back(holes.carried[i][k]);
    }
    for (const std::string& name : holes.left_out) stops.left_out.push_back(name);
    for (model::EvidenceValues& channel : stops.evidence) {
        const std::size_t cells = holes.stops.size() * channel.definition.columns.size();
        const bool words = channel.definition.kind == model::EvidenceKind::category ||
                           channel.definition.kind == model::EvidenceKind::set;
        if (words)
            channel.texts.resize(channel.texts.size() + cells);
        else
            channel.numbers.resize(channel.numbers.size() + cells);
    }
}

AttitudeTable read_attitudes(const SurveyFile& file, const geo::Crs& working, ProblemLog& problems) {
    Table table(open_layer(file, *file.attitudes), *file.attitudes, "attitudes", problems);
    AttitudeTable result;
    result.source = table.source();
    PointReader points(table, *file.attitudes, "attitude");
    const geo::Crs from = source_crs(file, *file.attitudes, table);
    points.expect(from);
    const Column strike = table.require("strike_deg"), dip = table.require("dip_deg"), error = table.find("error_deg");
    table.report_near_misses(attitude_columns());
    std::vector<Point> places;
    std::vector<std::int64_t> rows;
    while (table.next()) {
        const auto place = points.read();
        if (!place) continue;
        const auto strike_deg = table.number(strike, rule_of(attitude_book(), "strike_deg"));
        const auto dip_deg = table.number(dip, rule_of(attitude_book(), "dip_deg"));
        const auto error_deg = table.number(error, rule_of(attitude_book(), "error_deg"));
        // A level bed has no strike.
        if (!dip_deg || (!strike_deg && *dip_deg > 0)) {
            table.report(Severity::error, dip_deg ? strike : dip, {},
                         std::string("the ") + (dip_deg ? "strike" : "dip") + " is missing; the attitude is left out",
                         "Write strike by the right-hand rule, 0 to 360, and dip, 0 to 90.");
            continue;
        }
        result.attitudes.push_back(
            {table.row(), *place, strike_deg.value_or(0), *dip_deg, error_deg.value_or(usual_error_deg)});
        places.push_back(*place);
        rows.push_back(table.row());
    }
    Located located = locate(file, table, from, working, places, rows, "attitude", problems);
    result.operation = std::move(located.operation);
    std::vector<model::Attitude> kept;
    for (std::size_t i = 0; i < places.size(); ++i) {
        if (located.good[i] == 0) continue;
        kept.push_back(result.attitudes[i]);
        kept.back().position = places[i];
    }
    result.attitudes = std::move(kept);
    return result;
}

}  // namespace subcrop::io
