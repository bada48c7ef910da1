#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <unordered_map>
#include <utility>

#include "geo/point_hash.hpp"
#include "io/draft_columns.hpp"
#include "io/map_reader.hpp"
#include "io/nearest_name.hpp"
#include "io/own_sources.hpp"
#include "io/pending_file.hpp"
#include "publish/judged_survey.hpp"
#include "publish/loop/decisions.hpp"
#include "publish/loop/proposal_list.hpp"
#include "publish/loop/proposal_words.hpp"
#include "publish/results_folder.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/geo/crs.hpp"
#include "subcrop/geo/redraw.hpp"
#include "subcrop/geo/zone.hpp"
#include "subcrop/io/layer_writer.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/publish/next_draft.hpp"

namespace subcrop::publish {

namespace {

namespace fs = std::filesystem;
using model::UnitIndex;

constexpr double square_metres_a_hectare = 10'000;

/// Places of the working system in the draft's own system. Corners of the draft keep their original coordinates.
class DraftPlaces {
public:
    DraftPlaces(const io::MapTable& source, const std::vector<model::MapPolygon>& working,
                const std::string& working_wkt) {
        const geo::Crs from(working_wkt);
        same_ = from.same_as(*source.crs);
        if (same_) return;
        std::unordered_map<std::int64_t, std::vector<const Polygon*>> by_row;
        for (const model::MapPolygon& polygon : source.polygons) by_row[polygon.row].push_back(&polygon.polygon);
        std::unordered_map<std::int64_t, std::vector<const Polygon*>> own;
        for (const model::MapPolygon& polygon : working) own[polygon.row].push_back(&polygon.polygon);
        std::vector<Point> sample;
        for (const auto& [row, parts] : own) {
            const auto& theirs = by_row[row];
            sample.push_back(parts.front()->shell.front());
            if (theirs.size() != parts.size()) continue;  // it was repaired when it was read
            for (std::size_t i = 0; i < parts.size(); ++i) pair(*parts[i], *theirs[i]);
        }
        std::sort(sample.begin(), sample.end(),
                  [](Point a, Point b) { return a.x < b.x || (a.x == b.x && a.y < b.y); });
        sample.resize(std::min<std::size_t>(sample.size(), 1000));
        operation_.emplace(from, *source.crs, sample, geo::TransformationOptions{.allow_ballpark = true, .source = {}});
    }

    void bring_back(Line& line) const {
        if (same_) return;
        Line far = line;
        operation_->apply(far);
        for (std::size_t i = 0; i < line.size(); ++i) {
            const auto drafted = drafted_.find(line[i]);
            line[i] = drafted != drafted_.end() ? drafted->second : far[i];
        }
    }
    void bring_back(Polygon& polygon) const {
        bring_back(polygon.shell);
        for (Ring& hole : polygon.holes) bring_back(hole);
    }

private:
    void pair(const Polygon& working, const Polygon& source) {
        const auto rings = [&](const Ring& a, const Ring& b) {
            if (a.size() != b.size()) return;
            for (std::size_t i = 0; i < a.size(); ++i) drafted_.emplace(a[i], b[i]);
        };
        rings(working.shell, source.shell);
        if (working.holes.size() != source.holes.size()) return;
        for (std::size_t h = 0; h < working.holes.size(); ++h) rings(working.holes[h], source.holes[h]);
    }

    bool same_ = true;
    std::unordered_map<Point, Point, geo::PointHash> drafted_;
    std::optional<geo::Transformation> operation_;
};

/// One row of layer `units`.
struct AdoptedUnit {
    UnitIndex unit = model::no_unit;
    std::int64_t row = 0;  ///< of the draft; 0: new
    MultiPolygon ground;
    bool changed = false;
    std::vector<std::string> ids;  ///< of the proposals carried out in it
};

/// The draft's other columns stay; our columns replace those with the same names.
const std::vector<io::FieldDefinition>& own_unit_columns() {
    using io::FieldType;
    static const std::vector<io::FieldDefinition> columns{
        {.name = "name", .type = FieldType::text, .description = "Name of the unit in the legend."},
        {.name = "age_order", .type = FieldType::real, .description = "Order of age in the legend; 1 is the youngest."},
        {.name = "lithology", .type = FieldType::text, .description = "Lithology in the legend."},
        {.name = "colour", .type = FieldType::text, .description = "Display colour in the legend."},
        {.name = "changed", .type = FieldType::text, .description = "Whether the polygon's area changed: yes or no."},
        {.name = "source", .type = FieldType::text, .description = "draft, or the proposals carried out in it, by id."},
    };
    return columns;
}

class Adopting {
public:
    Adopting(const fs::path& survey_file, const AdoptOptions& options, Progress& progress)
        : options_(options),
          file_(io::read_survey_file(survey_file)),
          results_(results_folder(file_, options.results) / "results.gpkg"),
          target_(target(file_, options)),
          judged_(judge_survey(file_, {.threads = options.threads, .follow_traverses = false, .propose = true},
                               problems_, progress)) {
        progress.stage("carrying out what was accepted", 0);
    }

    AdoptSummary take() {
        summary_.title = survey().title;
        if (judged_.first) {
            adopt_first_map();
        } else {
            choose();
            if (!summary_.carried_out.empty()) draw();
        }
        if (!units_.empty() && !options_.dry_run) write();
        return std::move(summary_);
    }

private:
    const model::Survey& survey() const { return judged_.data->survey; }
    std::string code(UnitIndex unit) const { return survey().units[static_cast<std::size_t>(unit)].code; }

    /// Which proposals are carried out.
    void choose() {
        const KnownProposals known = gather_decisions(file_, results_, survey().crs_wkt, problems_);
        if (known.earlier.empty() && !options_.at_least && known.decided.empty()) nothing_decided();
        listed_ = list_proposals(survey(), judged_.data->map, judged_.relocation, judged_.proposals, known);
        accepted_.assign(judged_.proposals.changes.areas().size(), 0);
        for (const ListedProposal& one : listed_) {
            const bool sure = one.open() && options_.at_least && one.row.note.empty() && !one.row.parts.empty() &&
                              one.row.probability.value_or(0) >= *options_.at_least;
            if (one.row.decision != "accepted" && !sure) {
                summary_.left_open += one.open();
                summary_.rejected += one.row.decision == "rejected";
                summary_.later += one.row.decision == "later";
                continue;
            }
            if (!sure) require_as_decided(one, known.earlier);
            summary_.carried_out.push_back(as_decided(one.row));
            if (!one.proposal)
                before_.push_back(&one.row);
            else
                for (const std::uint32_t a : judged_.proposals.list[*one.proposal].areas) {
                    accepted_[a] = 1;
                    id_of_area_[a] = one.row.id;
                }
        }
    }

    [[noreturn]] void nothing_decided() const {
        throw Error({.source = results_.string()},
                    "nothing was decided yet, and there is no run whose proposals to decide",
                    "Run 'subcrop run' on the survey, then 'subcrop decide'; or adopt with --at-least 0.9.");
    }

    /// The user accepted what the last run showed. So that run must have had the same stops and the same map.
    void require_as_decided(const ListedProposal& one, const std::vector<io::DecisionRow>& earlier) const {
        const auto seen = std::find_if(earlier.begin(), earlier.end(),
                                       [&](const io::DecisionRow& row) { return row.id == one.row.id; });
        const bool same = seen != earlier.end() && seen->parts == one.row.parts &&
                          std::abs(seen->hectares.value_or(0) - one.row.hectares.value_or(0)) < 1e-6;
        if (same) return;
        throw Error(
            {.source = results_.string(), .layer = "proposals"},
            "proposal " + one.row.id + " is no longer what the last run showed: stops, map or settings changed since",
            "Run 'subcrop run' on the survey, look at its proposals, then adopt.");
    }

    void draw() {
        draft_ = judged_.data->map.polygons();
        std::vector<geo::CarriedOut> drawn = judged_.proposals.changes.carried_out(draft_, accepted_);
        std::vector<std::vector<std::string>> ids(drawn.size());
        for (std::size_t i = 0; i < drawn.size(); ++i)
            for (const std::uint32_t a : drawn[i].areas) ids[i].push_back(id_of_area_.at(a));
        draw_accepted_before(drawn, ids);
        std::unordered_map<std::int64_t, std::size_t> of_row;
        for (std::size_t i = 0; i < drawn.size(); ++i) {
            geo::CarriedOut& one = drawn[i];
            polygons_.push_back(one.polygon);
            summary_.changed_hectares += one.changed_m2 / square_metres_a_hectare;
            summary_.hectares += geo::area_m2(one.polygon.polygon) / square_metres_a_hectare;
            // A row of the draft stays one row, whatever its parts.
            std::size_t at = units_.size();
            if (one.polygon.row > 0) at = of_row.try_emplace(one.polygon.row, at).first->second;
            if (at == units_.size()) units_.push_back({one.polygon.unit, one.polygon.row, {}, false, {}});
            AdoptedUnit& unit = units_[at];
            unit.ground.push_back(std::move(one.polygon.polygon));
            unit.ids.insert(unit.ids.end(), ids[i].begin(), ids[i].end());
        }
        mark_changed();
        for (AdoptedUnit& unit : units_) {
            std::sort(unit.ids.begin(), unit.ids.end());
            unit.ids.erase(std::unique(unit.ids.begin(), unit.ids.end()), unit.ids.end());
        }
    }

    /// Area that a row of the draft gained or lost.
    void mark_changed() {
        std::unordered_map<std::int64_t, double> before;
        for (const model::MapPolygon& polygon : draft_) before[polygon.row] += geo::area_m2(polygon.polygon);
        for (AdoptedUnit& unit : units_) {
            double now = 0;
            for (const Polygon& polygon : unit.ground) now += geo::area_m2(polygon);
            const double was = before[unit.row];
            unit.changed = unit.row == 0 || !unit.ids.empty() || std::abs(now - was) > 1e-6 * std::max(was, 1.0);
            summary_.polygons_as_drawn += !unit.changed;
        }
        summary_.polygons = units_.size();
    }

    /// Accepted in an earlier run and no longer proposed: the decision stays.
    void draw_accepted_before(std::vector<geo::CarriedOut>& drawn, std::vector<std::vector<std::string>>& ids) const {
        for (const io::DecisionRow* const row : before_) {
            std::vector<model::MapPolygon> map, areas;
            for (const geo::CarriedOut& one : drawn) map.push_back(one.polygon);
            for (std::size_t i = 0; i < std::min(row->ground.size(), row->parts.size()); ++i) {
                const auto unit = unit_of_code(survey(), row->parts[i].to);
                if (unit != model::no_unit) areas.push_back({unit, 0, row->ground[i]});
            }
            std::vector<geo::CarriedOut> next;
            std::vector<std::vector<std::string>> next_ids;
            for (geo::Redrawn& one : geo::redraw(map, areas, {.min_width_m = 0.01, .min_area_m2 = 1})) {
                std::vector<std::string> of_one;
                double changed_m2 = one.redrawn_m2;
                for (const std::size_t part : one.parts) {
                    if (map[part].unit != one.polygon.unit) continue;
                    of_one.insert(of_one.end(), ids[part].begin(), ids[part].end());
                    changed_m2 += drawn[part].changed_m2;
                }
                if (one.redrawn_m2 > 0) of_one.push_back(row->id);
                next_ids.push_back(std::move(of_one));
                next.push_back({std::move(one.polygon), {}, changed_m2, one.as_it_was});
            }
            drawn = std::move(next);
            ids = std::move(next_ids);
        }
    }

    void adopt_first_map() {
        summary_.first_map = true;
        polygons_ = infer::polygons_of(judged_.revised, judged_.data->map);
        for (const model::MapPolygon& one : polygons_) {
            units_.push_back({one.unit, 0, {one.polygon}, true, {}});
            summary_.hectares += geo::area_m2(one.polygon) / square_metres_a_hectare;
        }
        summary_.changed_hectares = summary_.hectares;
        summary_.polygons = units_.size();
    }

    /// Never replaces a file: an adopted map may be the draft by now, or may have been edited by hand.
    static fs::path target(const io::SurveyFile& file, const AdoptOptions& options) {
        std::error_code none;
        fs::path path = options.output.value_or(file.path.parent_path() / "adopted_map.gpkg");
        if (options.output) {
            if (fs::exists(fs::symlink_status(path, none))) {
                throw Error({.source = path.string()}, "the file is there already, and nothing is replaced",
                            "Give another name, or move it away first.");
            }
        } else {
            for (int number = 2; fs::exists(fs::symlink_status(path, none)); ++number)
                path.replace_filename("adopted_map_" + std::to_string(number) + ".gpkg");
        }
        io::refuse_to_replace(io::files_of(file), io::files_written_for(path));
        return path;
    }

    void write() {
        std::optional<io::MapTable> source;
        io::DraftColumns draft;
        std::string wkt = survey().crs_wkt;
        std::optional<DraftPlaces> places;
        if (file_.map) {
            ProblemLog unheard;
            source = io::read_map(file_, unheard);
            draft = io::read_draft_columns(file_);
            wkt = source->crs->wkt();
            places.emplace(*source, draft_, survey().crs_wkt);
        } else {
            draft.unit_column = "unit";
            draft.columns.push_back(
                {.name = "unit", .type = io::FieldType::text, .description = "Code of the unit in the legend."});
        }
        ProblemLog faults, faults_of_draft;
        geo::UnitMapOptions map_options;
        map_options.contact_sd_m = survey().contact_sd_m;
        map_options.threads = options_.threads;
        const geo::UnitMap adopted(polygons_, survey().units.size(), map_options, faults);
        if (file_.map) geo::UnitMap(draft_, survey().units.size(), map_options, faults_of_draft);
        summary_.faults = faults.size();
        summary_.faults_of_draft = faults_of_draft.size();

        io::LayerWriter writer(target_, wkt, {.domains = {}, .layers = {units_layer(draft), contacts_layer()}});
        writer.append(0, unit_rows(draft, places));
        writer.append(1, contact_rows(adopted, places));
        writer.finish();
        summary_.contacts = adopted.contacts().size();
        summary_.file = target_;
        nlohmann::ordered_json entry{
            {"source",
             fs::relative(target_, file_.path.parent_path().empty() ? fs::path(".") : file_.path.parent_path())
                 .generic_string()},
            {"layer", "units"}};
        if (draft.unit_column != "unit") entry["columns"] = {{"unit", draft.unit_column}};
        if (file_.map && file_.map->contact_sd_m) entry["contact_sd_m"] = *file_.map->contact_sd_m;
        summary_.map_entry = "\"map\": " + entry.dump();
    }

    static bool is_ours(const std::string& name) {
        return std::any_of(own_unit_columns().begin(), own_unit_columns().end(),
                           [&](const io::FieldDefinition& field) { return io::lower(field.name) == io::lower(name); });
    }

    io::LayerDefinition units_layer(const io::DraftColumns& draft) const {
        io::LayerDefinition layer{.name = "units",
                                  .title = "Units: the adopted map",
                                  .description =
                                      "The whole map: the draft with the accepted proposals carried out, and "
                                      "nothing else changed.",
                                  .geometry = io::GeometryKind::multipolygon,
                                  .fields = {}};
        for (const io::FieldDefinition& field : draft.columns)
            if (!is_ours(field.name) || field.name == draft.unit_column) layer.fields.push_back(field);
        for (const io::FieldDefinition& field : own_unit_columns())
            if (io::lower(field.name) != io::lower(draft.unit_column)) layer.fields.push_back(field);
        return layer;
    }

    io::RowBatch unit_rows(const io::DraftColumns& draft, const std::optional<DraftPlaces>& places) const {
        io::RowBatch rows;
        for (const AdoptedUnit& unit : units_) {
            MultiPolygon ground = unit.ground;
            if (places)
                for (Polygon& polygon : ground) places->bring_back(polygon);
            rows.multipolygon(ground);
            const auto cells = draft.rows.find(unit.row);
            for (std::size_t i = 0; i < draft.columns.size(); ++i) {
                const std::string& name = draft.columns[i].name;
                if (name == draft.unit_column) {
                    rows.text(code(unit.unit));
                } else if (!is_ours(name)) {
                    const io::DraftCell cell = cells == draft.rows.end() ? io::DraftCell() : cells->second[i];
                    if (const auto* text = std::get_if<std::string>(&cell))
                        rows.text(*text);
                    else if (const auto* whole = std::get_if<std::int64_t>(&cell))
                        rows.integer(*whole);
                    else if (const auto* real = std::get_if<double>(&cell))
                        rows.real(*real);
                    else
                        rows.absent();
                }
            }
            const model::LegendUnit& legend = survey().units[static_cast<std::size_t>(unit.unit)];
            std::string ids;
            for (const std::string& id : unit.ids) ids += (ids.empty() ? "" : ", ") + id;
            const std::string source = !ids.empty() ? ids : judged_.first ? "first map" : "draft";
            for (const io::FieldDefinition& field : own_unit_columns()) {
                if (io::lower(field.name) == io::lower(draft.unit_column)) continue;
                if (field.name == "name")
                    rows.text_or_absent(legend.name);
                else if (field.name == "age_order")
                    rows.real_or_absent(legend.age_order);
                else if (field.name == "lithology")
                    rows.text_or_absent(legend.lithology);
                else if (field.name == "colour")
                    rows.text_or_absent(legend.colour);
                else if (field.name == "changed")
                    rows.text(unit.changed ? "yes" : "no");
                else
                    rows.text(source);
            }
            rows.end_row();
        }
        return rows;
    }

    static io::LayerDefinition contacts_layer() {
        using io::FieldType;
        return {.name = "contacts",
                .title = "Contacts of the adopted map",
                .description = "The lines along which two units of the adopted map meet.",
                .geometry = io::GeometryKind::line,
                .fields = {{.name = "unit_a", .type = FieldType::text, .description = "One unit."},
                           {.name = "unit_b", .type = FieldType::text, .description = "The other unit."},
                           {.name = "existence",
                            .type = FieldType::text,
                            .description = "Whether it exists: certain or questionable."},
                           {.name = "identity",
                            .type = FieldType::text,
                            .description = "Whether it divides these units: certain or questionable."},
                           {.name = "location",
                            .type = FieldType::text,
                            .description = "accurate, approximate, inferred or concealed."},
                           {.name = "half_width_m",
                            .type = FieldType::real,
                            .description = "90 % half-width of its place, metres."},
                           {.name = "changed",
                            .type = FieldType::text,
                            .description = "Whether its line is another one than the draft's: yes or no."}}};
    }

    /// Location of a contact of the adopted map: taken from the nearest contact of the run between the same units.
    io::RowBatch contact_rows(const geo::UnitMap& adopted, const std::optional<DraftPlaces>& places) const {
        io::RowBatch rows;
        const geo::UnitMap& draft = judged_.data->map;
        const double stated = infer::half_width_in_sd * survey().contact_sd_m;
        for (const geo::Contact& contact : adopted.contacts()) {
            const Point middle = contact.line[contact.line.size() / 2];
            std::optional<std::size_t> nearest;
            bool as_drawn = false, as_moved = false;
            double best = 4 * survey().contact_sd_m;
            for (std::size_t i = 0; i < draft.contacts().size(); ++i) {
                const geo::Contact& drafted = draft.contacts()[i];
                if (drafted.unit_a != contact.unit_a || drafted.unit_b != contact.unit_b) continue;
                const double from_draft = nearest_on(drafted.line, middle).off_m,
                             from_moved = nearest_on(infer::relocated_line(judged_.relocation, draft, i), middle).off_m;
                if (std::min(from_draft, from_moved) >= best) continue;
                best = std::min(from_draft, from_moved);
                nearest = i;
                as_drawn = from_draft < 1e-3;
                as_moved = from_moved < 1e-3;
            }
            Line line = contact.line;
            if (places) places->bring_back(line);
            rows.line(line).text(code(contact.unit_a)).text(code(contact.unit_b));
            const bool known = nearest && *nearest < judged_.relocation.contacts.size();
            const infer::RelocatedContact about =
                known ? judged_.relocation.contacts[*nearest] : infer::RelocatedContact{};
            infer::Confidence existence = known ? about.existence : infer::Confidence::certain;
            if (known) existence = decided_existence(*nearest, existence);
            rows.text(to_string(existence)).text(to_string(about.identity)).text(to_string(about.location));
            // The run's half-width is for its own line; at other places the stated error is used.
            const infer::RedrawnContact* const redrawn = as_moved ? nullptr : redrawn_at(contact, middle);
            rows.real(redrawn                                            ? redrawn->half_width_m
                      : known && (as_moved || !judged_.relocation.moved) ? about.location_confidence_m
                                                                         : stated);
            rows.text(judged_.first || !as_drawn ? "yes" : "no").end_row();
        }
        return rows;
    }

    /// The outline of a redrawn area, where it was adopted as the run drew it.
    const infer::RedrawnContact* redrawn_at(const geo::Contact& contact, Point middle) const {
        for (const infer::RedrawnContact& one : judged_.revised.contacts) {
            const bool same = one.unit_a == contact.unit_a && one.unit_b == contact.unit_b;
            if (same && nearest_on(one.line, middle).off_m < 1e-3) return &one;
        }
        return nullptr;
    }

    infer::Confidence decided_existence(std::size_t contact, infer::Confidence found) const {
        for (const ListedProposal& one : listed_) {
            if (!one.proposal) continue;
            const infer::Proposal& proposal = judged_.proposals.list[*one.proposal];
            if (proposal.kind != infer::ProposalKind::doubtful_contact || proposal.contact != contact) continue;
            if (one.row.decision == "accepted") return infer::Confidence::questionable;
            if (one.row.decision == "rejected") return infer::Confidence::certain;
        }
        return found;
    }

    const AdoptOptions& options_;
    io::SurveyFile file_;
    fs::path results_;
    fs::path target_;
    ProblemLog problems_;
    JudgedSurvey judged_;
    AdoptSummary summary_;
    std::vector<ListedProposal> listed_;
    std::vector<std::uint8_t> accepted_;  ///< one for each area of the changes
    std::unordered_map<std::uint32_t, std::string> id_of_area_;
    std::vector<const io::DecisionRow*> before_;  ///< accepted in an earlier run, no longer proposed
    std::vector<AdoptedUnit> units_;
    std::vector<model::MapPolygon> draft_;     ///< assembled once, because the map stores it compactly
    std::vector<model::MapPolygon> polygons_;  ///< the whole map in the working system
};

}  // namespace

AdoptSummary adopt_survey(const fs::path& survey_file, const AdoptOptions& options, Progress& progress) {
    return Adopting(survey_file, options, progress).take();
}

}  // namespace subcrop::publish
