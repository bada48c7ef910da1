#include "io/field_book.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>
#include <string_view>
#include <unordered_set>
#include <utility>

#include "io/book_columns.hpp"
#include "io/horizon_columns.hpp"
#include "io/nearest_name.hpp"
#include "io/point_reader.hpp"
#include "io/source_crs.hpp"
#include "io/standard_columns.hpp"
#include "io/table.hpp"
#include "io/timed_track.hpp"
#include "io/waypoints.hpp"
#include "subcrop/field/written_date.hpp"

namespace subcrop::io {

namespace {

using model::EvidenceKind;
using model::Stop;

/// The columns of one extra channel.
struct EvidenceColumns {
    std::vector<Column> columns;
    model::EvidenceValues* values;
};

void read_evidence(Table& table, TextPool& texts, const EvidenceColumns& channel) {
    const auto& definition = channel.values->definition;
    for (const Column& column : channel.columns) {
        if (definition.kind == EvidenceKind::category || definition.kind == EvidenceKind::set) {
            channel.values->texts.push_back(table.described(column, texts));
            continue;
        }
        NumberRule rule;
        if (definition.kind == EvidenceKind::composition) rule.least = 0;
        std::optional<double> value = table.number(column, rule);
        if (value && definition.scale == model::Scale::log && *value <= 0) {
            table.report(Severity::warning, column, number_text(*value),
                         "only values above 0 have a logarithm; this one is left out",
                         "Leave the cell empty, or write the limit of detection as '< 5'.");
            value.reset();
        }
        channel.values->numbers.push_back(value);
    }
}

/// Dates in words become ISO 8601, so that stops can be sorted by date; reported once for all.
class DateReader {
public:
    Text read(Table& table, const Column& column, TextPool& texts) {
        const Text written = table.described(column, texts);
        if (written.empty() || written == last_) return written.empty() ? written : last_read_;
        last_ = last_read_ = written;
        const std::string& text = written.str();
        if (text.size() >= 10 && text[4] == '-' && text[7] == '-') return written;
        const Parsed<std::string> date = field::read_date(text);
        if (!date) return written;  // the audit tells
        const bool year_first =
            text.size() >= 4 && text.find_first_not_of("0123456789") >= 4;  // "2026/05/12" needs no word
        if (!year_first && count_++ == 0) {
            example_ = text;
            example_read_ = *date.value;
        }
        last_read_ = texts.intern(*date.value);
        return last_read_;
    }

    void tell(const std::string& source, const Column& column, ProblemLog& problems) const {
        if (count_ == 0) return;
        problems.add({.severity = Severity::note,
                      .source = source,
                      .row = std::nullopt,
                      .field = column.name,
                      .value = example_,
                      .message = "dates written so are read as year, month and day, here " + example_read_,
                      .remedy = {},
                      .position = std::nullopt});
    }

private:
    Text last_, last_read_;
    std::size_t count_ = 0;
    std::string example_, example_read_;
};

/// Gives an id to rows without one, and another to the second of two equal ids.
class IdKeeper {
public:
    void settle(std::vector<Stop>& stops, const std::string& source, const std::string& column, ProblemLog& problems) {
        if (all_differ(stops)) return;
        std::unordered_set<std::string_view> taken;
        taken.reserve(stops.size() * 2);
        // Names in the book come before names made here.
        std::vector<Stop*> later;
        for (Stop& stop : stops) {
            if (stop.id.empty() || !taken.insert(stop.id).second) later.push_back(&stop);
        }
        for (Stop* stop : later) {
            const std::string written = stop->id;
            const std::string base = written.empty() ? "row " + std::to_string(stop->row) : written;
            std::string name = base;
            for (int n = 2; taken.contains(name); ++n) name = base + " (" + std::to_string(n) + ")";
            stop->id = name;
            taken.insert(stop->id);
            problems.add({.severity = Severity::warning,
                          .source = source,
                          .row = stop->row,
                          .field = column,
                          .value = written,
                          .message = written.empty() ? "the stop has no id; it is called '" + name + "'"
                                                     : "another stop has this id; this one is called '" + name +
                                                           "' and horizons go to the first",
                          .remedy = "Give each stop an id of its own.",
                          .position = std::nullopt});
        }
    }

private:
    /// A quick yes for clean tables: no id is missing and no two hashes are alike.
    static bool all_differ(const std::vector<Stop>& stops) {
        std::vector<std::size_t> hashes;
        hashes.reserve(stops.size());
        for (const Stop& stop : stops) {
            if (stop.id.empty()) return false;
            hashes.push_back(std::hash<std::string>{}(stop.id));
        }
        std::sort(hashes.begin(), hashes.end());
        return std::adjacent_find(hashes.begin(), hashes.end()) == hashes.end();
    }
};

/// Where the receiver was at the time of this row, in the stops' own system.
std::optional<Point> place_by_time(Table& table, const Column& id, const Column& date, const SurveyFile& file,
                                   const TimedTrack& track, PointReader& points) {
    if (track.empty()) return std::nullopt;
    const Parsed<std::string> written = field::read_date(table.text(date));
    const auto seconds = written ? field::seconds_of(*written.value) : std::nullopt;
    if (!seconds) return std::nullopt;
    const auto degrees = track.at(*seconds - std::llround(*file.waypoints->utc_offset_h * 3600));
    const auto place = degrees ? points.brought_over(*degrees, geo::Crs("EPSG:4326")) : std::nullopt;
    if (place) {
        table.report(Severity::note, id, std::string(table.text(id)),
                     "the place is that of the track of " + file.waypoints->source + " at " + *written.value);
    }
    return place;
}

/// The waypoint called as the stop of this row, in the stops' own system; else the place by the time.
std::optional<Point> place_from_receiver(Table& table, const Column& id, const Column& date, const SurveyFile& file,
                                         const WaypointTable& waypoints, const TimedTrack& track, PointReader& points) {
    const std::string name(table.text(id));
    const std::optional<std::size_t> found = name.empty() ? std::nullopt : waypoints.find(name);
    if (!found) {
        if (const auto place = place_by_time(table, id, date, file, track, points)) return place;
        const std::vector<std::string> names = waypoints.names();
        table.report(
            Severity::error, id, name,
            "the stop has no place, and no waypoint of " + waypoints.source + " is called so; the stop is left out",
            did_you_mean(name, names) + "Name the waypoint as the stop, or give the stop its position.");
        return std::nullopt;
    }
    const WaypointTable::Waypoint& waypoint = waypoints.waypoints[*found];
    std::optional<Point> place = points.brought_over(waypoint.place, *waypoints.crs);
    if (!place) {
        table.report(Severity::error, id, name,
                     "the waypoint '" + waypoint.name +
                         "' lies outside the area in which the stops' system holds; the stop is left out",
                     "Give the stop its position.");
        return std::nullopt;
    }
    table.report(Severity::note, id, name,
                 "the place is that of waypoint '" + waypoint.name + "' of " + waypoints.source);
    return place;
}

/// The columns to carry, in the order of the survey file.
std::vector<Column> columns_to_carry(const Table& table, const SurveyFile& file) {
    std::vector<Column> columns;
    for (std::size_t i = 0; i < file.carry.size(); ++i) {
        try {
            columns.push_back(table.find_theirs(file.carry[i], ""));
        } catch (const Error& missing) {
            throw Error(missing.place(),
                        "there is no column '" + file.carry[i] + "', which the survey file names in carry[" +
                            std::to_string(i) + "]",
                        missing.remedy());
        }
    }
    return columns;
}

std::vector<std::string> names_of_stop_table(const SurveyFile& file) {
    std::vector<std::string> names = stop_columns();
    names.insert(names.end(), file.carry.begin(), file.carry.end());
    if (!file.horizons) names.insert(names.end(), horizon_columns().begin(), horizon_columns().end());
    return names;
}

/// Horizons without a top come last.
double top_of(const model::Horizon& horizon) {
    return horizon.top_cm.value_or(std::numeric_limits<double>::infinity());
}

void sort_from_the_top(std::span<model::Horizon> horizons) {
    std::stable_sort(horizons.begin(), horizons.end(),
                     [](const auto& a, const auto& b) { return top_of(a) < top_of(b); });
}

/// Numbered ids resemble many others: a hint only where one is nearer than the rest.
std::string hint_at_id(const std::string& id, const std::vector<std::string>& ids) {
    std::string hint = did_you_mean(id, ids);
    if (hint.empty() || ids.size() < 2) return hint;
    const std::vector<std::string> near = by_nearness(id, ids);
    return edit_distance(id, near[0]) < edit_distance(id, near[1]) ? hint : std::string();
}

/// Horizons without their stop, or whose stop has no place: reported once for each stop.
struct LostHorizons {
    std::string id;
    std::vector<std::int64_t> rows;

    std::string message(bool no_place, const std::string& owner) const {
        const std::string what = rows.size() == 1
                                     ? "the horizon"
                                     : "its " + std::to_string(rows.size()) + " horizons (rows " + rows_text() + ")";
        if (rows.size() == 1) {
            return no_place ? what + "'s " + owner + " has no usable position; both are left out"
                            : "no " + owner + " has this id; " + what + " is left out";
        }
        return no_place ? "the " + owner + " has no usable position; it and " + what + " are left out"
                        : "no " + owner + " has this id; " + what + " are left out";
    }

private:
    std::string rows_text() const {
        constexpr std::size_t max_rows = 6;
        std::string text;
        for (std::size_t i = 0; i < std::min(rows.size(), max_rows); ++i)
            text += (i > 0 ? ", " : "") + std::to_string(rows[i]);
        return text + (rows.size() > max_rows ? " ..." : "");
    }
};

/// More names than these are told together if most horizons are lost: then the tables do not belong together.
constexpr std::size_t max_lost_ids = 20;

std::size_t lost_rows(const std::vector<LostHorizons>& lost) {
    std::size_t rows = 0;
    for (const LostHorizons& of_stop : lost) rows += of_stop.rows.size();
    return rows;
}

Problem lost_altogether(const std::vector<LostHorizons>& lost, const std::unordered_set<std::string_view>& left_out,
                        const std::string& owner, const std::string& source, const std::string& field) {
    std::vector<std::string> ids;
    std::size_t rows = 0;
    std::int64_t first = 0;
    for (const LostHorizons& of_stop : lost) {
        if (left_out.contains(of_stop.id)) continue;
        if (ids.empty()) first = of_stop.rows.front();
        ids.push_back(of_stop.id);
        rows += of_stop.rows.size();
    }
    constexpr std::size_t max_named = 5;
    return {.severity = Severity::error,
            .source = source,
            .row = first,
            .field = field,
            .value = {},
            .message = std::to_string(rows) + " horizons are left out, since no " + owner + " has one of these " +
                       std::to_string(ids.size()) + " ids: " + listed(ids, max_named),
            .remedy = "Is the table of " + owner + "s whole? Ids must be written alike in both tables.",
            .position = std::nullopt};
}

}  // namespace

StopTable read_stops(const SurveyFile& file, TextPool& texts, ProblemLog& problems) {
    Table table(open_layer(file, file.stops), file.stops, "stops", problems);
    StopTable result;
    result.source = table.source();
    result.place = table.place();
    std::optional<WaypointTable> waypoints;
    if (file.waypoints) waypoints = read_waypoints(file, problems);
    const TimedTrack track = read_timed_track(file);
    PointReader points(table, file.stops, "stop", waypoints.has_value());
    const bool no_places =
        file.stops.x.empty() && wkbFlatten(table.layer().GetGeomType()) == wkbNone;  // then all come from the waypoints
    result.crs =
        waypoints && no_places && file.stops.crs.empty() ? *waypoints->crs : source_crs(file, file.stops, table);
    points.expect(*result.crs);

    const Column id = table.find("stop"), traverse = table.find("traverse"), seq = table.find("seq"),
                 date = table.find("date"), sd = table.find("position_sd_m"), landform = table.find("landform"),
                 slope = table.find("slope_deg"), unit_seen = table.find("unit_seen"), plants = table.find("plants"),
                 complete = table.find("plants_complete"), notes = table.find("notes");
    const NumberRule &sd_rule = rule_of(stop_book(), "position_sd_m"), &slope_rule = rule_of(stop_book(), "slope_deg");
    const std::string usual_sd = instead_of_position_sd(file);
    table.name_owner_by(id);
    if (unit_seen.present()) result.unit_seen_column = unit_seen.name;
    const std::vector<Column> to_carry = columns_to_carry(table, file);
    for (const std::string& name : file.carry) result.carried.push_back({name, {}});
    const std::vector<HorizonColumns> own_horizons = horizons_of_stops(table);
    const bool read_own = !file.horizons && !own_horizons.empty();
    if (file.horizons && !own_horizons.empty()) {
        problems.add({.severity = Severity::note,
                      .source = table.source(),
                      .row = std::nullopt,
                      .field = {},
                      .value = listed(own_horizons.front().found()),
                      .message = "these columns of the stops are not read, since there is a horizon table",
                      .remedy = "Move what they say to the horizon table, or take 'horizons' out of the survey file.",
                      .position = std::nullopt});
    }
    table.report_near_misses(names_of_stop_table(file));
    std::vector<EvidenceColumns> channels;
    result.evidence.reserve(file.evidence.size());
    for (std::size_t i = 0; i < file.evidence.size(); ++i) {
        result.evidence.push_back({file.evidence[i], {}, {}});
        EvidenceColumns channel{{}, &result.evidence.back()};
        for (std::size_t k = 0; k < file.evidence[i].columns.size(); ++k) {
            try {
                channel.columns.push_back(table.find_theirs(file.evidence[i].columns[k], ""));
            } catch (const Error& missing) {
                throw Error(missing.place(),
                            "there is no column '" + file.evidence[i].columns[k] +
                                "', which the survey file names in evidence[" + std::to_string(i) + "].columns",
                            missing.remedy());
            }
        }
        channels.push_back(std::move(channel));
    }

    const GIntBig count = table.layer().GetFeatureCount(FALSE);
    if (count > 0) {
        result.stops.reserve(static_cast<std::size_t>(count));
        result.unit_seen.reserve(static_cast<std::size_t>(count));
        if (read_own) result.horizons.reserve(static_cast<std::size_t>(count));
    }
    std::size_t rows = 0;
    DateReader dates;
    while (table.next()) {
        ++rows;
        const auto place = waypoints && !points.written()
                               ? place_from_receiver(table, id, date, file, *waypoints, track, points)
                               : points.read();
        if (!place) {
            if (const std::string_view name = table.text(id); !name.empty()) result.left_out.emplace_back(name);
            continue;
        }
        Stop& stop = result.stops.emplace_back();
        stop.row = table.row();
        stop.position = *place;
        stop.id = table.text(id);
        stop.traverse = table.interned(traverse, texts);
        stop.seq = table.number(seq, {});
        stop.date = dates.read(table, date, texts);
        const std::optional<double> stated_sd = table.number(sd, sd_rule, usual_sd);
        stop.position_sd_m = stated_sd.value_or(file.settings.default_position_sd_m);
        stop.position_sd_stated = stated_sd.has_value();
        stop.landform = table.described(landform, texts);
        stop.slope_deg = table.number(slope, slope_rule);
        stop.plants = table.described(plants, texts);
        stop.plants_complete = table.yes_no(complete).value_or(false);
        stop.notes = table.interned(notes, texts);
        result.unit_seen.push_back(table.interned(unit_seen, texts));
        for (const EvidenceColumns& channel : channels) read_evidence(table, texts, channel);
        for (std::size_t k = 0; k < to_carry.size(); ++k)
            result.carried[k].values.push_back(table.interned(to_carry[k], texts));
        if (read_own) {
            stop.first_horizon = static_cast<std::uint32_t>(result.horizons.size());
            for (const HorizonColumns& own : own_horizons) {
                model::Horizon horizon;
                if (!own.read(table, texts, horizon)) continue;
                result.horizons.push_back(horizon);
                ++stop.horizon_count;
            }
            if (stop.horizon_count > 1) sort_from_the_top(std::span(result.horizons).subspan(stop.first_horizon));
        }
    }
    dates.tell(result.source, date, problems);
    if (rows == 0) throw Error(table.place(), "there are no stops in it", "Check that it is the right file and layer.");
    if (result.stops.empty()) {
        throw Error(table.place(), "none of its " + std::to_string(rows) + " stops has a usable position",
                    "Check the columns named as 'x' and 'y', or the geometry.");
    }
    result.stop_names = result.horizon_names = table.their_names();
    IdKeeper().settle(result.stops, result.source, id.present() ? id.name : "stop", problems);
    return result;
}

HorizonTableRead read_horizons(const SurveyFile& file, const HorizonTable& wanted, TextPool& texts, StopTable& stops,
                               ProblemLog& problems) {
    Table table(open_layer(file, wanted.description), wanted.description, wanted.key, problems);
    const std::string& owner = wanted.owner;
    HorizonTableRead result;
    result.source = table.source();
    const Column stop_id = table.require(wanted.owner_column);
    table.name_owner_by(stop_id);
    const HorizonColumns columns(table);
    if (!columns.any()) {
        throw Error(table.place(), "none of the horizon columns is in it",
                    "Map yours to ours in " + wanted.key + ".columns. " + table.columns_here() +
                        " Ours: " + listed(horizon_columns()) + ".");
    }
    result.names = table.their_names();
    std::vector<std::string> ours = horizon_columns();
    ours.push_back(wanted.owner_column);
    table.report_near_misses(ours);

    std::unordered_map<std::string_view, std::uint32_t> by_id;
    by_id.reserve((wanted.end - wanted.first) * 2);
    for (std::size_t i = wanted.first; i < wanted.end; ++i)
        by_id.emplace(stops.stops[i].id, static_cast<std::uint32_t>(i));
    const std::unordered_set<std::string_view> left_out(stops.left_out.begin(), stops.left_out.end());
    std::vector<std::string> ids;  // for hints; looked through only in field books of a size that people write
    constexpr std::size_t max_ids = 20000, max_hints = 200;
    std::size_t hints = 0;
    if (wanted.end - wanted.first <= max_ids) {
        for (std::size_t i = wanted.first; i < wanted.end; ++i) ids.push_back(stops.stops[i].id);
    }

    std::vector<std::pair<std::uint32_t, model::Horizon>> rows;
    std::vector<LostHorizons> lost;
    std::unordered_map<std::string, std::size_t> lost_by_id;
    while (table.next()) {
        result.any_row = true;
        const std::string id(table.text(stop_id));
        const auto found = by_id.find(id);
        if (found == by_id.end()) {
            if (id.empty()) {
                table.report(Severity::error, stop_id, {}, "the horizon names no " + owner + " and is left out",
                             "Write the " + owner + "'s id.");
                continue;
            }
            const auto [at, fresh] = lost_by_id.try_emplace(id, lost.size());
            if (fresh) lost.push_back({id, {}});
            lost[at->second].rows.push_back(table.row());
            continue;
        }
        model::Horizon horizon;
        if (!columns.read(table, texts, horizon)) {
            table.report(Severity::note, stop_id, id, "the horizon's row is empty");
            continue;
        }
        rows.emplace_back(found->second, horizon);
    }
    if (lost.size() > max_lost_ids && lost_rows(lost) > rows.size()) {
        problems.add(lost_altogether(lost, left_out, owner, result.source, stop_id.name));
        std::erase_if(lost, [&](const LostHorizons& of_stop) { return !left_out.contains(of_stop.id); });
    }
    for (const LostHorizons& of_stop : lost) {
        const bool no_place = left_out.contains(of_stop.id);
        const std::string hint = !no_place && hints++ < max_hints ? hint_at_id(of_stop.id, ids) : std::string();
        problems.add({.severity = Severity::error,
                      .source = result.source,
                      .row = of_stop.rows.front(),
                      .field = stop_id.name,
                      .value = of_stop.id,
                      .message = of_stop.message(no_place, owner),
                      .remedy = no_place ? "Give the " + owner + " its position."
                                         : hint + "Ids must be written alike in both tables.",
                      .position = std::nullopt,
                      .stop = of_stop.id});
    }
    std::stable_sort(rows.begin(), rows.end(), [](const auto& a, const auto& b) {
        return a.first != b.first ? a.first < b.first : top_of(a.second) < top_of(b.second);
    });
    stops.horizons.reserve(stops.horizons.size() + rows.size());
    for (const auto& [stop, horizon] : rows) {
        Stop& of = stops.stops[stop];
        if (of.horizon_count == 0) of.first_horizon = static_cast<std::uint32_t>(stops.horizons.size());
        ++of.horizon_count;
        stops.horizons.push_back(horizon);
    }
    return result;
}

void keep_stops(StopTable& table, const std::vector<std::uint8_t>& keep) {
    if (std::find(keep.begin(), keep.end(), 0) == keep.end()) return;
    StopTable kept;
    for (const auto& channel : table.evidence) kept.evidence.push_back({channel.definition, {}, {}});
    for (const auto& column : table.carried) kept.carried.push_back({column.name, {}});
    for (std::size_t i = 0; i < table.stops.size(); ++i) {
        Stop& stop = table.stops[i];
        if (keep[i] == 0) {
            table.left_out.push_back(stop.id);
            continue;
        }
        const auto first = table.horizons.begin() + stop.first_horizon;
        stop.first_horizon = static_cast<std::uint32_t>(kept.horizons.size());
        kept.horizons.insert(kept.horizons.end(), first, first + stop.horizon_count);
        for (std::size_t c = 0; c < table.evidence.size(); ++c) {
            const auto& from = table.evidence[c];
            auto& to = kept.evidence[c];
            const std::size_t width = from.definition.columns.size();
            for (std::size_t k = i * width; k < (i + 1) * width; ++k) {
                if (!from.numbers.empty()) to.numbers.push_back(from.numbers[k]);
                if (!from.texts.empty()) to.texts.push_back(from.texts[k]);
            }
        }
        for (std::size_t c = 0; c < table.carried.size(); ++c)
            kept.carried[c].values.push_back(table.carried[c].values[i]);
        kept.unit_seen.push_back(table.unit_seen[i]);
        kept.stops.push_back(std::move(stop));
    }
    table.stops = std::move(kept.stops);
    table.unit_seen = std::move(kept.unit_seen);
    table.horizons = std::move(kept.horizons);
    table.evidence = std::move(kept.evidence);
    table.carried = std::move(kept.carried);
}

}  // namespace subcrop::io
