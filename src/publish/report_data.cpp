// What the report page shows, gathered from the results in memory. Keys are short, because a thousand stops repeat
// them. page/page.js explains them where they are used.
#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>
#include <optional>
#include <string>
#include <vector>

#include "geo/edge_grid.hpp"
#include "infer/answer/calibration.hpp"
#include "infer/answer/reckoning.hpp"
#include "publish/first_map_words.hpp"
#include "publish/loop/proposal_list.hpp"
#include "publish/report_shapes.hpp"
#include "publish/report_units.hpp"
#include "publish/report_values.hpp"
#include "publish/where_contacts_run.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/geo/zone.hpp"
#include "subcrop/infer/where_to_dig.hpp"
#include "subcrop/publish/glossary.hpp"
#include "subcrop/publish/report.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

namespace {

/// Arrows from the drafted to the relocated contact: their distance along it in contact errors, and their maximum
/// number for a contact.
constexpr double arrow_spacing = 4;
constexpr double max_arrows = 60;
/// Further proposals are only in the layer.
constexpr std::size_t max_proposals = 500;

class ReportData {
public:
    ReportData(const Results& results, unsigned threads)
        : results_(results), survey_(results.survey), ground_(results), threads_(threads) {
        if (results.relocation.moved) count_given_over();
    }

    Json all() const {
        Json data;
        data["title"] = survey_.title;
        data["version"] = version();
        data["origin"] = {ground_.origin().x, ground_.origin().y};
        data["step"] = ground_.step_m();
        data["contact_sd"] = survey_.contact_sd_m;
        data["run"] = Json::parse(results_.metadata, nullptr, false);
        if (!survey_.tracks.empty() || !survey_.no_go.empty()) data["tracks"] = true;
        data["moved"] = results_.relocation.moved;
        if (!results_.fit.without_draft) data["elsewhere"] = elsewhere();
        data["units"] = report_units(survey_, results_.units);
        data["verdicts"] = Json::array();
        for (std::size_t i = 0; i < infer::verdict_count; ++i) {
            const auto verdict = static_cast<infer::Verdict>(i);
            data["verdicts"].push_back({to_string(verdict), description(verdict)});
        }
        data["reviews"] = Json::object();
        for (const auto review :
             {infer::Review::shift, infer::Review::doubtful, infer::Review::supported, infer::Review::untested})
            data["reviews"][std::string(to_string(review))] = description(review);
        data["glossary"] = Json::array();
        for (const Term& term : glossary()) data["glossary"].push_back({term.word, term.meaning});
        data["colours"] = colours();
        data["textures"] = textures();
        data["stops"] = stops();
        data["polygons"] = polygons(results_.map.polygons());
        data["revised"] = revised();
        data["disputed"] = disputed();
        // Of another survey, or not JSON: not quoted.
        if (const Json trial = Json::parse(results_.trial, nullptr, false);
            trial.is_object() && trial.value("title", Json()) == survey_.title)
            data["trial"] = trial;
        data["proposals"] = proposals();
        data["to_decide"] = to_decide();
        if (!results_.changes.headline.empty()) data["since"] = results_.changes.headline;
        data["contacts"] = contacts();
        data["followed"] = survey_.settings.follows_traverses(survey_.stops.size());
        data["traverses"] = traverses();
        data["problems"] = problems();
        data["next_stops"] = next_stops();
        double mapped_m2 = 0;
        for (const infer::UnitSummary& u : results_.units) mapped_m2 += u.area_m2;
        data["next_ha"] = hectares_put_right(results_.next_stops);
        if (!results_.fit.without_draft) data["next_worth"] = worth_of_visits(results_.next_stops, mapped_m2);
        data["calibration"] = Json::array();
        for (const infer::CalibrationBin& bin : infer::calibration(*results_.fit.reckoning))
            data["calibration"].push_back({bin.low, bin.high, bin.stops, rounded(bin.mean_p, 3), bin.right});
        return data;
    }

private:
    /// Stops between a drafted contact and its new place, and how many of them support (by soil and observed bedrock)
    /// the unit that the area goes to.
    struct GivenOver {
        std::size_t stops = 0, speak_for_it = 0;
    };

    void count_given_over() {
        given_over_.resize(results_.map.contacts().size());
        std::vector<double> likelihood(survey_.units.size());
        for (std::size_t s = 0; s < survey_.stops.size(); ++s) {
            const infer::StopFit& fit = results_.fit.stops[s];
            if (fit.mapped_unit == model::no_unit || fit.contact_distance_m < 0 ||
                !results_.fit.reckoning->has_evidence(s))
                continue;
            const Point here = survey_.stops[s].position, u = results_.fit.shift.field.displacement(here);
            const model::UnitIndex now = results_.map.unit_at({here.x + u.x, here.y + u.y});
            const geo::Contact& contact = results_.map.contacts()[fit.nearest_contact];
            if (now == fit.mapped_unit ||
                std::minmax(now, fit.mapped_unit) != std::minmax(contact.unit_a, contact.unit_b))
                continue;
            results_.fit.reckoning->soil_below(s, likelihood);
            results_.fit.reckoning->add_rock_seen(s, likelihood);
            GivenOver& here_counted = given_over_[fit.nearest_contact];
            ++here_counted.stops;
            here_counted.speak_for_it +=
                likelihood[static_cast<std::size_t>(now)] > likelihood[static_cast<std::size_t>(fit.mapped_unit)];
        }
    }

    Json colours() const {
        Json both = Json::array();
        for (const auto* coded : {&results_.reduced.colour_moist, &results_.reduced.colour_dry}) {
            Json list = Json::array();
            for (const model::ColourValue& value : coded->values)
                list.push_back({value.notation, swatch(value.notation)});
            both.push_back(std::move(list));
        }
        return both;
    }

    Json textures() const {
        Json list = Json::array();
        for (const model::TextureValue& value : results_.reduced.texture.values) {
            const field::GrainSize size = field::from_ilr(value.distribution.mean);
            list.push_back({value.name, rounded(size.sand, 1), rounded(size.silt, 1), rounded(size.clay, 1),
                            value.measured ? 1 : 0});
        }
        return list;
    }

    Json horizons(const model::Stop& stop) const {
        Json list = Json::array();
        const auto code = [](const auto& coded, std::size_t h) { return coded.codes.empty() ? -1 : coded.codes[h]; };
        for (std::uint32_t k = 0; k < stop.horizon_count; ++k) {
            const std::size_t h = stop.first_horizon + k;
            const model::Horizon& horizon = survey_.horizons[h];
            Json row{{"z", static_cast<int>(results_.reduced.zone[h])}};
            if (horizon.top_cm) row["t"] = rounded(horizon.top_cm, 1);
            if (horizon.bottom_cm) row["b"] = rounded(horizon.bottom_cm, 1);
            put(row, "d", horizon.designation);
            if (const int m = code(results_.reduced.colour_moist, h); m >= 0) row["m"] = m;
            if (const int d = code(results_.reduced.colour_dry, h); d >= 0) row["y"] = d;
            if (const int x = code(results_.reduced.texture, h); x >= 0) row["x"] = x;
            if (horizon.fragments_pct) row["f"] = rounded(horizon.fragments_pct, 0);
            put(row, "k", horizon.fragment_kind);
            put(row, "e", horizon.effervescence);
            list.push_back(std::move(row));
        }
        return list;
    }

    /// Evidence breakdown between the fitted and another unit (the mapped one if it differs, else the next best), in
    /// log10 odds.
    void reckoning(std::size_t s, Json& into) const {
        const infer::StopFit& fit = results_.fit.stops[s];
        const model::UnitIndex other =
            fit.mapped_unit != model::no_unit && fit.mapped_unit != fit.fitted_unit ? fit.mapped_unit : fit.next_unit;
        const infer::Fit::Reckoning& r = *results_.fit.reckoning;
        if (fit.fitted_unit == model::no_unit || other == model::no_unit || !r.has_evidence(s)) return;
        const auto f = static_cast<std::size_t>(fit.fitted_unit), o = static_cast<std::size_t>(other);
        Json parts = Json::array();
        double sum = 0;
        for (std::size_t c = 0; c < r.channels.size(); ++c) {
            if (!r.signatures[c].speaks(s)) continue;
            const auto row = r.signatures[c].row(s);
            const double part = r.weight(c) * static_cast<double>(row[f] - row[o]) / std::numbers::ln10;
            sum += part;
            parts.push_back(
                {r.channels[c].name, r.channels[c].value_text(r.channels[c].value_of_stop[s]), rounded(part, 6)});
        }
        std::vector<double> likelihood(r.units());
        r.soil(s, likelihood);
        const double soil = (likelihood[f] - likelihood[o]) / std::numbers::ln10;
        if (std::abs(soil - sum) > 1e-4)
            parts.push_back({"", "", rounded(soil - sum, 6)});  // the discount for transported soil
        double total = soil;
        if (!r.origins.of(s).empty()) {
            r.soil_below(s, likelihood);
            const double creep = (likelihood[f] - likelihood[o]) / std::numbers::ln10 - soil;
            parts.push_back({"soil from upslope",
                             fit.upslope_unit == model::no_unit
                                 ? ""
                                 : survey_.units[static_cast<std::size_t>(fit.upslope_unit)].code,
                             rounded(creep, 6)});
            total += creep;
        }
        if (survey_.stops[s].unit_seen != model::no_unit) {
            std::fill(likelihood.begin(), likelihood.end(), 0.0);
            r.add_rock_seen(s, likelihood);
            const double rock = (likelihood[f] - likelihood[o]) / std::numbers::ln10;
            parts.push_back({"observed bedrock",
                             survey_.units[static_cast<std::size_t>(survey_.stops[s].unit_seen)].code,
                             rounded(rock, 6)});
            total += rock;
        }
        into["o"] = other;
        into["e"] = std::move(parts);
        into["et"] = rounded(total, 6);
    }

    Json stop(std::size_t s) const {
        const model::Stop& noted = survey_.stops[s];
        const infer::StopFit& fit = results_.fit.stops[s];
        Json row{{"id", noted.id}};
        put(row, "tr", noted.traverse);
        row["x"] = rounded(noted.position.x - ground_.origin().x, 1);
        row["y"] = rounded(noted.position.y - ground_.origin().y, 1);
        row["sd"] = rounded(noted.position_sd_m, 1);
        row["v"] = static_cast<int>(fit.verdict);
        put(row, "m", fit.mapped_unit);
        put(row, "f", fit.fitted_unit);
        put(row, "n", fit.neighbour_unit);
        if (fit.mapped_unit != model::no_unit) row["pm"] = rounded(fit.p_mapped, 4);
        if (fit.fitted_unit != model::no_unit) row["pf"] = rounded(fit.p_fitted, 4);
        if (fit.p_disputed > 0.5) row["pd"] = rounded(fit.p_disputed, 3);
        if (fit.contact_distance_m >= 0) row["cd"] = rounded(fit.contact_distance_m, 0);
        row["ty"] = rounded(fit.typicality, 3);
        row["pt"] = rounded(fit.p_transported, 2);
        row["pk"] = to_string(results_.reduced.parent_material[s]);
        if (fit.upslope_share >= 0.05)
            row["up"] = {fit.upslope_unit, rounded(fit.upslope_m, 0), rounded(fit.upslope_share, 2)};
        put(row, "se", noted.unit_seen);
        put(row, "da", noted.date);
        put(row, "lf", noted.landform);
        if (noted.slope_deg) row["sl"] = rounded(noted.slope_deg, 0);
        put(row, "pl", noted.plants);
        put(row, "no", noted.notes);
        row["r"] = reason_words(results_, s);
        if (results_.fit.without_draft) put(row, "fm", results_.map.unit_at(noted.position));
        row["h"] = horizons(noted);
        pictures(s, row);
        reckoning(s, row);
        return row;
    }

    void pictures(std::size_t s, Json& row) const {
        const auto before = [](const StopPicture& picture, std::size_t stop) { return picture.stop < stop; };
        for (auto p = std::lower_bound(results_.pictures.begin(), results_.pictures.end(), s, before);
             p != results_.pictures.end() && p->stop == s; ++p) {
            Json picture{{"n", p->name}, {"a", p->address}};
            if (!p->taken.empty()) picture["w"] = p->taken;
            if (p->direction_deg) picture["d"] = rounded(*p->direction_deg, 0);
            row["ph"].push_back(std::move(picture));
        }
    }

    Json stops() const {
        std::vector<Json> rows(survey_.stops.size());
        parallel_blocks(rows.size(), 64, threads_, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t s = begin; s < end; ++s) rows[s] = stop(s);
        });
        return Json(std::move(rows));
    }

    Json polygons(const std::vector<model::MapPolygon>& polygons) const {
        Json list = Json::array();
        for (const model::MapPolygon& polygon : polygons) {
            Json rings = ground_.polygon(polygon.polygon);
            if (!rings.empty()) list.push_back({unit_or_null(polygon.unit), std::move(rings)});
        }
        return list;
    }

    /// Polygons of the revised map that differ from the draft.
    Json revised() const {
        Json list = Json::array();
        for (const infer::RevisedUnit& unit : results_.revised.units) {
            if (unit.source == infer::RevisedSource::as_drawn || results_.fit.without_draft) continue;
            Json rings = ground_.polygon(unit.redrawn);
            if (rings.empty()) continue;
            list.push_back({{"unit", unit_or_null(unit.unit)},
                            {"rings", std::move(rings)},
                            {"source", description(unit.source)},
                            {"p", rounded(unit.probability, 2)},
                            {"changed", rounded(unit.changed_m2 / 1e4, 1)}});
        }
        return list;
    }

    Json disputed() const {
        Json list = Json::array();
        for (const infer::DisputedArea& d : results_.disputed) {
            Json ground = Json::array();
            for (const Polygon& polygon : d.ground)
                if (Json rings = ground_.polygon(polygon); !rings.empty()) ground.push_back(std::move(rings));
            list.push_back({{"ground", std::move(ground)},
                            {"x", rounded(d.middle.x - ground_.origin().x, 0)},
                            {"y", rounded(d.middle.y - ground_.origin().y, 0)},
                            {"drafted", d.drafted},
                            {"like", d.like},
                            {"stops", d.stops},
                            {"fit", d.stops_like},
                            {"seen", d.stops_rock_seen},
                            {"area", rounded(d.area_m2, 0)},
                            {"p", rounded(d.probability, 3)},
                            {"reason", d.reason}});
        }
        return list;
    }

    /// In the order of the layer; `areas` is [unit it goes to or null, rings] of each polygon.
    Json proposals() const {
        Json list = Json::array();
        if (results_.proposals == nullptr) return list;
        for (const ListedProposal& one : *results_.proposals) {
            if (list.size() == max_proposals) break;
            const io::DecisionRow& proposed = one.row;
            Json row{{"id", proposed.id},
                     {"kind", proposed.kind},
                     {"what", proposed.what},
                     {"decision", proposed.decision},
                     {"stops", proposed.stops}};
            row["x"] = rounded(one.middle.x - ground_.origin().x, 0);
            row["y"] = rounded(one.middle.y - ground_.origin().y, 0);
            if (!proposed.why.empty()) row["why"] = proposed.why;
            if (!proposed.decided_on.empty()) row["on"] = proposed.decided_on;
            if (!proposed.note.empty()) row["note"] = proposed.note;
            if (!proposed.stop.empty()) row["stop"] = proposed.stop;
            if (one.contact) row["contact"] = *one.contact;
            if (proposed.probability) row["p"] = rounded(*proposed.probability, 4);
            if (proposed.hectares) row["ha"] = rounded(*proposed.hectares, 2);
            if (one.gain_hectares > 0) row["gain"] = rounded(one.gain_hectares, 2);
            if (one.nearest_stop_m) row["near"] = rounded(*one.nearest_stop_m, 0);
            row["areas"] = Json::array();
            for (std::size_t k = 0; k < proposed.ground.size(); ++k) {
                Json rings = ground_.polygon(proposed.ground[k]);
                if (rings.empty()) continue;
                const bool goes = k < proposed.parts.size();
                row["areas"].push_back(
                    {goes ? unit_or_null(unit_of_code(survey_, proposed.parts[k].to)) : Json(), std::move(rings)});
            }
            list.push_back(std::move(row));
        }
        return list;
    }

    /// Number of open proposals (also those beyond `max_proposals`), and the hectares expected to be corrected.
    Json to_decide() const {
        if (results_.proposals == nullptr) return {{"open", 0}, {"gain", 0.0}};
        const ProposalCounts counts = counts_of(*results_.proposals);
        return {{"open", counts.open}, {"gain", rounded(counts.open_gain_hectares, 1)}};
    }

    /// The answer: the sentence, its reasons, the figures in metres, and every stretch as [contact, stretch], the
    /// largest first.
    Json elsewhere() const {
        const infer::MovedLength length = infer::moved_length(results_.relocation, results_.map);
        Json order = Json::array();
        for (const StretchOf& of : largest_stretches(results_.relocation)) order.push_back({of.contact, of.stretch});
        return {{"headline", contacts_in_a_line(length)},
                {"because", contacts_because(length, results_.fit, results_.relocation, results_.revised)},
                {"length", rounded(length.length_m, 0)},
                {"of", rounded(length.of_m, 0)},
                {"mean", rounded(length.mean_m, 0)},
                {"least", rounded(length.min_m, 0)},
                {"most", rounded(length.max_m, 0)},
                {"order", std::move(order)}};
    }

    Json stretch(const infer::MovedStretch& s) const {
        return {{"length", rounded(s.length_m, 0)},
                {"by", rounded(s.shift_m, 0)},
                {"half", rounded(infer::half_width_in_sd * s.shift_sd_m, 0)},
                {"azimuth", rounded(s.azimuth_deg, 0)},
                {"least", rounded(s.min_m, 0)},
                {"most", rounded(s.max_m, 0)},
                {"draft", ground_.line(s.drafted)},
                {"now", ground_.line(s.moved)},
                {"arrows", arrows(s.drafted, s.moved)}};
    }

    /// Short lines from a stretch of the drafted contact to the nearest place of the moved one: [x, y, x, y, ...] in
    /// grid steps.
    Json arrows(const Line& drafted, const Line& relocated) const {
        double length = 0;
        for (std::size_t i = 1; i < drafted.size(); ++i) length += distance(drafted[i - 1], drafted[i]);
        const double spacing = std::max(arrow_spacing * survey_.contact_sd_m, length / max_arrows);
        Json list = Json::array();
        double next = std::min(spacing, length) / 2, begun = 0;
        for (std::size_t i = 1; i < drafted.size(); ++i) {
            const double step = distance(drafted[i - 1], drafted[i]);
            for (; step > 0 && next <= begun + step; next += spacing) {
                const double t = (next - begun) / step;
                const Point from{std::lerp(drafted[i - 1].x, drafted[i].x, t),
                                 std::lerp(drafted[i - 1].y, drafted[i].y, t)};
                for (const Json& value : ground_.line({from, nearest_on(relocated, from)})) list.push_back(value);
            }
            begun += step;
        }
        return list;
    }

    static Point nearest_on(const Line& line, Point place) {
        Point best = line.front();
        for (std::size_t i = 1; i < line.size(); ++i) {
            if (line[i - 1] == line[i]) continue;
            const Point here = geo::foot_on(line[i - 1], line[i], place).place;
            if (distance(here, place) < distance(best, place)) best = here;
        }
        return best;
    }

    /// What the stops say of a contact stretch by stretch.
    Json parts(std::size_t contact) const {
        Json list = Json::array();
        for (const infer::ContactStretch& part : results_.relocation.contacts[contact].parts) {
            Json row{{"review", to_string(part.review)}, {"length", rounded(part.to_m - part.from_m, 0)}};
            if (!part.supporting.empty()) row["for"] = part.supporting;
            if (!part.contradicting.empty()) row["against"] = part.contradicting;
            if (part.crossed_elsewhere) row["crossed"] = true;
            if (part.review == infer::Review::doubtful)
                row["line"] = ground_.line(line_of(part, results_.map.contacts()[contact]));
            if (const auto shift = shift_of(results_.relocation, contact, part)) {
                row["by"] = rounded(shift->shift_m, 0);
                row["half"] = rounded(infer::half_width_in_sd * shift->shift_sd_m, 0);
                row["azimuth"] = rounded(shift->azimuth_deg, 0);
            }
            if (const auto dig =
                    where_to_dig(results_.survey, results_.map, results_.fit, results_.relocation, contact, part))
                row["dig"] = dig->sentence;
            list.push_back(std::move(row));
        }
        return list;
    }

    Json contact(std::size_t i) const {
        const geo::Contact& c = results_.map.contacts()[i];
        const infer::ContactSupport& support = results_.fit.contacts[i];
        const infer::RelocatedContact& r = results_.relocation.contacts[i];
        Json row{{"a", c.unit_a}, {"b", c.unit_b}, {"line", ground_.line(c.line)}, {"length", rounded(c.length_m, 0)}};
        row["for"] = support.stops_for;
        row["against"] = support.stops_against;
        row["odds"] = rounded(support.log10_odds_against, 2);
        if (r.crossed_elsewhere > 0) row["crossed"] = r.crossed_elsewhere;
        row["review"] = to_string(review_of(results_.relocation, i));
        row["half"] = rounded(r.location_confidence_m, 0);
        if (!r.parts.empty()) row["parts"] = parts(i);
        row["location"] = to_string(r.location);
        row["existence"] = to_string(r.existence);
        row["identity"] = to_string(r.identity);
        if (r.disputed) row["disputed"] = *r.disputed;
        const Line& now = relocated_line(results_.relocation, results_.map, i);
        if (results_.relocation.moved) {
            const infer::ContactShift& shift = results_.relocation.shifts[i];
            row["shift"] = rounded(shift.shift_m, 1);
            row["shift_sd"] = rounded(shift.shift_sd_m, 1);
            row["azimuth"] = rounded(shift.azimuth_deg, 0);
            row["p"] = rounded(shift.p_moved, 3);
            row["now"] = ground_.line(now);
            if (given_over_[i].stops > 0) row["given"] = {given_over_[i].stops, given_over_[i].speak_for_it};
            row["stretches"] = Json::array();
            for (const infer::MovedStretch& part : r.stretches) row["stretches"].push_back(stretch(part));
        }
        if (results_.map.contacts().size() <= max_drawn_zones) {
            Json zone = Json::array();
            for (const Polygon& polygon : zone_of(results_, i)) {
                Json rings = ground_.polygon(polygon);
                if (!rings.empty()) zone.push_back(std::move(rings));
            }
            row["zone"] = std::move(zone);
        }
        return row;
    }

    Json contacts() const {
        std::vector<Json> rows(results_.map.contacts().size());
        parallel_blocks(rows.size(), 4, threads_, [&](std::size_t begin, std::size_t end, unsigned) {
            for (std::size_t i = begin; i < end; ++i) rows[i] = contact(i);
        });
        return Json(std::move(rows));
    }

    Json traverses() const {
        Json list = Json::array();
        const std::size_t units = survey_.units.size();
        if (!survey_.settings.follows_traverses(survey_.stops.size())) return list;
        for (const infer::TraverseCourse& course : results_.traverses) {
            Json row{{"name", course.traverse.name}, {"stops", course.traverse.stops}};
            Json chainage = Json::array(), probability = Json::array(), mapped = Json::array(),
                 crossings = Json::array();
            for (std::size_t i = 0; i < course.chainage_m.size(); ++i) {
                chainage.push_back(rounded(course.chainage_m[i], 1));
                Json at = Json::array();
                for (std::size_t u = 0; u < units; ++u) at.push_back(rounded(course.probability[i * units + u], 3));
                probability.push_back(std::move(at));
            }
            for (const infer::MappedCrossing& m : course.mapped)
                mapped.push_back({rounded(m.chainage_m, 1), unit_or_null(m.from_unit), unit_or_null(m.to_unit)});
            for (const infer::TraverseCrossing& c : course.crossings) {
                crossings.push_back({{"from", unit_or_null(c.from_unit)},
                                     {"to", unit_or_null(c.to_unit)},
                                     {"at", rounded(c.chainage_m, 1)},
                                     {"low", rounded(c.low_m, 1)},
                                     {"high", rounded(c.high_m, 1)},
                                     {"p", rounded(c.probability, 3)},
                                     {"mapped", rounded(c.mapped_chainage_m, 1)},
                                     {"offset", rounded(c.offset_m, 1)},
                                     {"status", to_string(c.status)}});
            }
            row["chainage"] = std::move(chainage);
            row["probability"] = std::move(probability);
            row["mapped"] = std::move(mapped);
            row["crossings"] = std::move(crossings);
            list.push_back(std::move(row));
        }
        return list;
    }

    Json next_stops() const {
        Json list = Json::array();
        for (std::size_t i = 0; i < results_.next_stops.size(); ++i) {
            const infer::NextStop& next = results_.next_stops[i];
            Json row{{"x", rounded(next.place.x - ground_.origin().x, 0)},
                     {"y", rounded(next.place.y - ground_.origin().y, 0)},
                     {"rank", i + 1},
                     {"walk", next.walk},
                     {"gain", rounded(next.gain_ha, 2)},
                     {"purpose", next.purpose}};
            if (next.contact) {
                row["contact"] = *next.contact;
                row["half"] = {rounded(next.half_width_m, 0), rounded(next.half_width_after_m, 0)};
            } else if (next.unit_a != model::no_unit) {
                row["units"] = {next.unit_a, next.unit_b};
            }
            list.push_back(std::move(row));
        }
        return list;
    }

    Json problems() const {
        Json list = Json::array();
        for (const Problem& p : results_.problems) {
            Json row{{"severity", to_string(p.severity)}, {"source", p.source}};
            if (p.position)
                row["at"] = {rounded(p.position->x - ground_.origin().x, 1),
                             rounded(p.position->y - ground_.origin().y, 1)};
            if (p.row) row["row"] = *p.row;
            put(row, "field", p.field);
            put(row, "value", p.value);
            row["message"] = p.message;
            put(row, "remedy", p.remedy);
            list.push_back(std::move(row));
        }
        return list;
    }

    const Results& results_;
    const model::Survey& survey_;
    DrawnShapes ground_;
    unsigned threads_;
    std::vector<GivenOver> given_over_;  ///< by contact; empty if nothing was moved
};

}  // namespace

std::string report_data(const Results& results, unsigned threads) {
    return ReportData(results, threads).all().dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace subcrop::publish
