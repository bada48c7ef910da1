#include "subcrop/publish/result_layers.hpp"

#include <algorithm>
#include <array>
#include <functional>
#include <optional>
#include <utility>

#include "infer/answer/reckoning.hpp"
#include "io/pending_file.hpp"
#include "publish/first_map_words.hpp"
#include "publish/loop/proposal_list.hpp"
#include "publish/styles.hpp"
#include "publish/unit_table.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/geo/unit_areas.hpp"
#include "subcrop/geo/zone.hpp"
#include "subcrop/infer/where_to_dig.hpp"

namespace subcrop::publish {

namespace {

constexpr std::size_t batch_rows = 2048;
constexpr std::size_t evidence_limit = 100'000;

constexpr double square_metres_a_hectare = 1e4;

class ResultRows {
public:
    explicit ResultRows(const Results& results) : results_(results), survey_(results.survey) {}

    void stop_fit_row(std::size_t stop, io::RowBatch& rows) const {
        const model::Stop& s = survey_.stops[stop];
        const infer::StopFit& f = results_.fit.stops[stop];
        const bool on_map = f.mapped_unit != model::no_unit;
        const bool fitted = f.fitted_unit != model::no_unit;
        const bool heard = f.verdict != infer::Verdict::no_evidence;
        rows.point(s.position).text(s.id).text_or_absent(s.traverse.str());
        unit(f.mapped_unit, rows);
        unit(f.fitted_unit, rows);
        on_map ? rows.real(f.p_mapped) : rows.absent();
        fitted ? rows.real(f.p_fitted) : rows.absent();
        on_map&& fitted&& heard ? rows.real(f.soil_log10_odds) : rows.absent();
        fitted&& heard ? rows.real(f.typicality) : rows.absent();
        rows.text(to_string(f.verdict));
        f.contact_distance_m >= 0 ? rows.real(f.contact_distance_m) : rows.absent();
        unit(f.neighbour_unit, rows);
        rows.real(s.position_sd_m).text(to_string(results_.reduced.parent_material[stop])).real(f.p_transported);
        const model::Borehole* hole = survey_.borehole(stop);
        rows.text(hole != nullptr ? "borehole" : "stop");
        rows.real_or_absent(hole != nullptr ? model::rock_depth(survey_, results_.reduced, stop).depth_cm
                                            : std::nullopt);
        ground(stop, rows);
        rows.text_or_absent(reason_words(results_, stop));
        unit(hole != nullptr && hole->unit_below_cover != model::no_unit ? hole->unit_below_cover : s.unit_seen, rows);
        rows.text_or_absent(s.date.str()).text_or_absent(s.notes.str());
        for (const model::CarriedColumn& column : survey_.carried) rows.text_or_absent(column.values[stop].str());
        rows.end_row();
    }

    void evidence_rows_of(std::size_t stop, model::EvidenceRows which, io::RowBatch& rows) const {
        for (const infer::EvidenceRow& row : results_.fit.evidence(stop, which)) {
            rows.text(survey_.stops[stop].id);
            unit(row.unit, rows);
            rows.text(row.channel).real(row.log_likelihood).real(row.weight).end_row();
        }
    }

    void contact_row(std::size_t contact, io::RowBatch& rows) const {
        const geo::Contact& c = results_.map.contacts()[contact];
        const infer::ContactSupport& support = results_.fit.contacts[contact];
        rows.line(c.line);
        unit(c.unit_a, rows);
        unit(c.unit_b, rows);
        rows.integer(support.stops_for).integer(support.stops_against);
        support.stops_for + support.stops_against > 0 ? rows.real(support.log10_odds_against) : rows.absent();
        if (results_.relocation.moved) {
            const infer::ContactShift& shift = results_.relocation.shifts[contact];
            rows.real(shift.shift_m).real(shift.shift_sd_m).real_or_absent(shift.azimuth_deg).real(shift.p_moved);
            double length = 0, ground = 0;
            for (const infer::MovedStretch& stretch : results_.relocation.contacts[contact].stretches) {
                length += stretch.length_m;
                ground += stretch.length_m * stretch.shift_m;
            }
            results_.fit.without_draft ? rows.absent() : rows.real(length);
            rows.real_or_absent(length > 0 ? std::optional(ground / length) : std::nullopt);
        } else {
            rows.absent().absent().absent().absent().absent().absent();
        }
        rows.text(to_string(review_of(results_.relocation, contact))).end_row();
    }

    /// "07-11, 07-12".
    std::string names(const std::vector<std::uint32_t>& stops) const {
        std::string text;
        for (const std::uint32_t s : stops) text += (text.empty() ? "" : ", ") + survey_.stops[s].id;
        return text;
    }

    /// Stretches of all contacts, one after another.
    struct StretchOfContact {
        std::size_t contact, part;
    };
    std::vector<StretchOfContact> stretches() const {
        std::vector<StretchOfContact> all;
        for (std::size_t i = 0; i < results_.relocation.contacts.size(); ++i)
            for (std::size_t k = 0; k < results_.relocation.contacts[i].parts.size(); ++k) all.push_back({i, k});
        return all;
    }

    void stretch_row(const StretchOfContact& of, io::RowBatch& rows) const {
        const geo::Contact& c = results_.map.contacts()[of.contact];
        const infer::RelocatedContact& r = results_.relocation.contacts[of.contact];
        const infer::ContactStretch& part = r.parts[of.part];
        rows.line(line_of(part, c));
        rows.integer(static_cast<std::int64_t>(of.contact) + 1).integer(static_cast<std::int64_t>(of.part) + 1);
        unit(c.unit_a, rows);
        unit(c.unit_b, rows);
        rows.text(to_string(part.review)).real(part.to_m - part.from_m);
        const std::optional<infer::PartShift> shift = shift_of(results_.relocation, of.contact, part);
        if (shift)
            rows.real(shift->shift_m)
                .real(infer::half_width_in_sd * shift->shift_sd_m)
                .real_or_absent(shift->azimuth_deg);
        else
            rows.absent().absent().absent();
        rows.real(part.half_width_m);
        part.stops > 0 ? rows.real(part.log10_odds_against) : rows.absent();
        rows.text_or_absent(names(part.supporting)).text_or_absent(names(part.contradicting));
        const auto dig = where_to_dig(survey_, results_.map, results_.fit, results_.relocation, of.contact, part);
        if (dig)
            rows.text(dig->sentence).real(dig->place.x).real(dig->place.y);
        else
            rows.absent().absent().absent();
        rows.end_row();
    }

    void relocated_row(std::size_t contact, io::RowBatch& rows) const {
        const geo::Contact& c = results_.map.contacts()[contact];
        const infer::RelocatedContact& r = results_.relocation.contacts[contact];
        rows.line(relocated_line(results_.relocation, results_.map, contact))
            .integer(static_cast<std::int64_t>(contact) + 1);
        unit(c.unit_a, rows);
        unit(c.unit_b, rows);
        rows.real(r.location_confidence_m).text(to_string(r.existence)).text(to_string(r.identity));
        rows.text(to_string(r.location)).end_row();
    }

    /// An outline of a redrawn area: no drawn contact, so that it has no feature in contact_review.
    void redrawn_row(std::size_t index, io::RowBatch& rows) const {
        const infer::RedrawnContact& c = results_.revised.contacts[index];
        rows.line(c.line).absent();
        unit(c.unit_a, rows);
        unit(c.unit_b, rows);
        rows.real(c.half_width_m).text(to_string(infer::Confidence::questionable));
        rows.text(to_string(infer::Confidence::questionable)).text(to_string(infer::LocationClass::inferred)).end_row();
    }

    void redrawn_zone_row(std::size_t index, io::RowBatch& rows) const {
        const infer::RedrawnContact& c = results_.revised.contacts[index];
        rows.multipolygon(geo::zone_about(c.line, std::array{c.half_width_m})).absent();
        unit(c.unit_a, rows);
        unit(c.unit_b, rows);
        rows.real(c.half_width_m).end_row();
    }

    void zone_row(std::size_t contact, io::RowBatch& rows) const {
        const geo::Contact& c = results_.map.contacts()[contact];
        const infer::RelocatedContact& r = results_.relocation.contacts[contact];
        rows.multipolygon(zone_of(results_, contact));
        rows.integer(static_cast<std::int64_t>(contact) + 1);
        unit(c.unit_a, rows);
        unit(c.unit_b, rows);
        rows.real(r.location_confidence_m).end_row();
    }

    void disputed_row(std::size_t index, io::RowBatch& rows) const {
        const infer::DisputedArea& d = results_.disputed[index];
        d.ground.empty() ? rows.absent() : rows.multipolygon(d.ground);
        unit(d.drafted, rows);
        unit(d.like, rows);
        rows.integer(static_cast<std::int64_t>(d.stops)).integer(static_cast<std::int64_t>(d.stops_rock_seen));
        rows.real(d.probability).real(d.log10_odds).real(d.area_m2).text(d.reason).end_row();
    }

    void revised_row(std::size_t index, io::RowBatch& rows) const {
        const infer::RevisedUnit& revised = results_.revised.units[index];
        rows.multipolygon({polygon_of(revised, results_.map)});
        unit(revised.unit, rows);
        rows.text(revised.unit == model::no_unit ? std::string()
                                                 : results_.survey.units[static_cast<std::size_t>(revised.unit)].name);
        rows.text(to_string(revised.source));
        revised.row > 0 ? rows.integer(revised.row) : rows.absent();
        rows.real_or_absent(revised.probability >= 0 ? std::optional(revised.probability) : std::nullopt);
        rows.real(revised.area_m2 / square_metres_a_hectare)
            .real(revised.changed_m2 / square_metres_a_hectare)
            .end_row();
    }

    void proposal_row(std::size_t index, io::RowBatch& rows) const {
        const ListedProposal& p = (*results_.proposals)[index];
        io::append_decision(p.row, rows);
        rows.real(p.gain_hectares).real_or_absent(p.nearest_stop_m).text_or_absent(p.row.note).text(p.row.decision);
        rows.end_row();
    }

    void crossing_row(std::size_t index, io::RowBatch& rows) const {
        const infer::TraverseCrossing& c = results_.crossings[index];
        rows.point(c.place).text(c.traverse);
        unit(c.from_unit, rows);
        unit(c.to_unit, rows);
        rows.real_or_absent(c.chainage_m).real_or_absent(c.low_m).real_or_absent(c.high_m).real(c.probability);
        rows.real_or_absent(c.mapped_chainage_m).real_or_absent(c.offset_m).text(to_string(c.status)).end_row();
    }

    void unit_row(std::size_t index, const geo::UnitAreas& grounds, io::RowBatch& rows) const {
        const infer::UnitSummary& u = results_.units[index];
        const MultiPolygon ground = grounds.of(u.unit);
        ground.empty() ? rows.absent() : rows.multipolygon(ground);
        for (const UnitColumn& column : unit_columns()) {
            const UnitValue value = column.value(survey_, u);
            if (const auto* words = std::get_if<std::string>(&value))
                rows.text(*words);
            else if (const auto* count = std::get_if<std::int64_t>(&value))
                rows.integer(*count);
            else if (const auto* number = std::get_if<double>(&value))
                rows.real(*number);
            else
                rows.absent();
        }
        rows.end_row();
    }

    void next_stop_row(std::size_t index, io::RowBatch& rows) const {
        const infer::NextStop& next = results_.next_stops[index];
        rows.point(next.place)
            .integer(static_cast<std::int64_t>(index) + 1)
            .integer(static_cast<std::int64_t>(next.walk))
            .real(next.gain_ha);
        if (next.contact) {
            const geo::Contact& contact = results_.map.contacts()[*next.contact];
            rows.integer(static_cast<std::int64_t>(*next.contact) + 1);
            unit(contact.unit_a, rows);
            unit(contact.unit_b, rows);
            rows.real(next.half_width_m).real(next.half_width_after_m);
        } else {
            rows.absent();
            unit(next.unit_a, rows);
            unit(next.unit_b, rows);
            rows.absent().absent();
        }
        rows.text(next.purpose).end_row();
    }

    void change_row(std::size_t index, io::RowBatch& rows) const {
        const Change& c = results_.changes.rows[index];
        c.place ? rows.point(*c.place) : rows.absent();
        rows.text(to_string(c.kind)).text(c.what).text_or_absent(c.before).text_or_absent(c.after).text(c.sentence);
        rows.end_row();
    }

    void problem_row(std::size_t index, io::RowBatch& rows) const {
        const Problem& p = results_.problems[index];
        p.position ? rows.point(*p.position) : rows.absent();
        rows.text_or_absent(p.source);
        p.row ? rows.integer(*p.row) : rows.absent();
        rows.text_or_absent(p.stop);
        rows.text_or_absent(p.field).text_or_absent(p.value).text(to_string(p.severity)).text(p.message);
        rows.text_or_absent(p.remedy).end_row();
    }

private:
    /// Slope, landform and creep.
    void ground(std::size_t stop, io::RowBatch& rows) const {
        const model::Stop& s = survey_.stops[stop];
        const model::StopTerrain* terrain = survey_.terrain.empty() ? nullptr : &survey_.terrain[stop];
        rows.real_or_absent(terrain != nullptr && terrain->slope_deg ? terrain->slope_deg : s.slope_deg);
        rows.text_or_absent(!s.landform.empty()  ? std::string_view(s.landform.str())
                            : terrain != nullptr ? terrain->landform
                                                 : "");
        if (results_.fit.creep.length_m <= 0) {
            rows.absent().absent().absent();
            return;
        }
        double creep_m = 0;
        const auto sources = results_.fit.reckoning->soil_from(stop);
        for (const Point& source : sources)
            creep_m += distance(source, s.position) / static_cast<double>(sources.size());
        rows.real(creep_m);
        unit(results_.fit.stops[stop].upslope_unit, rows);
        const double share = results_.fit.stops[stop].upslope_share;
        rows.real_or_absent(share > 0 ? std::optional(share) : std::nullopt);
    }
    void unit(model::UnitIndex index, io::RowBatch& rows) const {
        if (index == model::no_unit)
            rows.absent();
        else
            rows.text(survey_.units[static_cast<std::size_t>(index)].code);
    }

    const Results& results_;
    const model::Survey& survey_;
};

/// Prepares batches on all threads, a few at a time, and passes them on in order.
template <class MakeRow>
void append_rows(io::LayerWriter& writer, ResultLayer layer, std::size_t count, std::size_t block, unsigned threads,
                 const MakeRow& make_row, const std::function<void(std::size_t)>& done) {
    const std::size_t group = block * (block > 1 ? 4 : 1) * thread_count(threads);
    for (std::size_t begin = 0; begin < count; begin += group) {
        const std::size_t size = std::min(group, count - begin);
        std::vector<io::RowBatch> batches((size + block - 1) / block);
        parallel_blocks(size, block, threads, [&](std::size_t from, std::size_t to, unsigned) {
            io::RowBatch& rows = batches[from / block];
            for (std::size_t i = from; i < to; ++i) make_row(begin + i, rows);
        });
        for (io::RowBatch& rows : batches) writer.append(layer, std::move(rows));
        done(begin + size);
    }
}

}  // namespace

model::EvidenceRows evidence_rows(model::EvidenceRows setting, std::size_t stops) {
    if (setting != model::EvidenceRows::automatic) return setting;
    return stops <= evidence_limit ? model::EvidenceRows::top : model::EvidenceRows::none;
}

std::vector<MultiPolygon> zones_of(const infer::Relocation& relocation, const geo::UnitMap& map, unsigned threads) {
    const std::size_t contacts = map.contacts().size();
    if (contacts > max_drawn_zones) return {};
    std::vector<MultiPolygon> zones(contacts);
    parallel_blocks(contacts, 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i)
            zones[i] = geo::zone_about(relocated_line(relocation, map, i), relocation.contacts[i].half_widths_m);
    });
    return zones;
}

MultiPolygon zone_of(const Results& results, std::size_t contact) {
    if (!results.zones.empty()) return results.zones[contact];
    return geo::zone_about(relocated_line(results.relocation, results.map, contact),
                           results.relocation.contacts[contact].half_widths_m);
}

std::vector<std::string> reasons_of(const Results& results, unsigned threads) {
    std::vector<std::string> reasons(results.survey.stops.size());
    parallel_blocks(reasons.size(), 64, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t s = begin; s < end; ++s) reasons[s] = reason_words(results, s);
    });
    return reasons;
}

void write_results(const std::filesystem::path& target, const Results& results, unsigned threads, Progress& progress) {
    io::PendingFiles alone;
    write_results(target, results, threads, progress, alone);
    alone.put_in_place();
}

std::filesystem::path write_results(const std::filesystem::path& target, const Results& results, unsigned threads,
                                    Progress& progress, io::PendingFiles& together) {
    const ResultRows rows(results);
    const std::size_t stops = results.survey.stops.size();
    io::FileDefinition definition = result_definition(results.survey);
    definition.expected_rows = stops;
    const std::vector<LayerStyle> styles = layer_styles(results.survey, definition);
    io::LayerWriter writer(target, results.survey.crs_wkt, std::move(definition));
    writer.describe(results.metadata);

    progress.stage("writing results", stops);
    append_rows(
        writer, stop_fit, stops, batch_rows, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.stop_fit_row(i, batch); },
        [&](std::size_t done) { progress.advance(done); });
    const auto silent = [](std::size_t) {};
    const model::EvidenceRows which = evidence_rows(results.survey.settings.evidence, stops);
    if (which != model::EvidenceRows::none) {
        append_rows(
            writer, stop_evidence, stops, batch_rows / 8, threads,
            [&](std::size_t i, io::RowBatch& batch) { rows.evidence_rows_of(i, which, batch); }, silent);
    }
    append_rows(
        writer, contact_review, results.map.contacts().size(), batch_rows / 8, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.contact_row(i, batch); }, silent);
    const std::size_t contacts = results.map.contacts().size();
    const std::vector<ResultRows::StretchOfContact> stretches = rows.stretches();
    append_rows(
        writer, contact_stretches, stretches.size(), batch_rows / 8, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.stretch_row(stretches[i], batch); }, silent);
    append_rows(
        writer, relocated_contacts, contacts, batch_rows / 8, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.relocated_row(i, batch); }, silent);
    const std::size_t redrawn = results.revised.contacts.size();
    append_rows(
        writer, relocated_contacts, redrawn, batch_rows / 8, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.redrawn_row(i, batch); }, silent);
    if (contacts <= max_zones) {
        append_rows(
            writer, contact_zones, contacts, 16, threads,
            [&](std::size_t i, io::RowBatch& batch) { rows.zone_row(i, batch); }, silent);
        append_rows(
            writer, contact_zones, redrawn, 16, threads,
            [&](std::size_t i, io::RowBatch& batch) { rows.redrawn_zone_row(i, batch); }, silent);
    }
    append_rows(
        writer, disputed_area, results.disputed.size(), 16, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.disputed_row(i, batch); }, silent);
    append_rows(
        writer, revised_units, results.revised.units.size(), batch_rows / 8, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.revised_row(i, batch); }, silent);
    if (results.proposals != nullptr)
        append_rows(
            writer, proposals, results.proposals->size(), batch_rows / 8, threads,
            [&](std::size_t i, io::RowBatch& batch) { rows.proposal_row(i, batch); }, silent);
    append_rows(
        writer, traverse_crossings, results.crossings.size(), batch_rows, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.crossing_row(i, batch); }, silent);
    {
        // The few rows of the units are as large as the map.
        const geo::UnitAreas grounds(results.map);
        append_rows(
            writer, unit_summary, results.units.size(), 1, threads,
            [&](std::size_t i, io::RowBatch& batch) { rows.unit_row(i, grounds, batch); }, silent);
    }
    append_rows(
        writer, next_stops, results.next_stops.size(), batch_rows, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.next_stop_row(i, batch); }, silent);
    append_rows(
        writer, changes, results.changes.rows.size(), batch_rows, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.change_row(i, batch); }, silent);
    append_rows(
        writer, problems, results.problems.size(), batch_rows, threads,
        [&](std::size_t i, io::RowBatch& batch) { rows.problem_row(i, batch); }, silent);
    io::RowBatch style_rows;
    for (const LayerStyle& style : styles) {
        style_rows.text(style.layer).text("geom").text(style.layer).text(style.sld).boolean(true).text(style.title);
        style_rows.end_row();
    }
    writer.append(layer_style_table, std::move(style_rows));
    progress.stage("indexing results", 0);
    return writer.finish(together);
}

}  // namespace subcrop::publish
