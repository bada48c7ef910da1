// How well wrong drafts are put right, and right ones left alone, on invented surveys whose truth lies beside them.
//     invented_shift FOLDER...          each made by scripts/make_sampledata
// tests/bench/invented_table makes the surveys and calls this.
#include <cstdio>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "bench/map_figures.hpp"
#include "bench/true_stops.hpp"
#include "subcrop/infer/average_precision.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/traverse.hpp"
#include "subcrop/publish/prepared_survey.hpp"

namespace {

using namespace subcrop;

/// Contacts farther from any of the same two units than this have no counterpart: the draft invented or lost them.
constexpr double counterpart_reach_m = 500;

/// The area that a stop is asked to correct.
constexpr double near_stop_m = 75;

struct Truth {
    publish::PreparedSurvey survey;
    std::map<std::string, bench::TrueStop> stops;
};

publish::PreparedSurvey prepare(const io::SurveyFile& file) {
    ProblemLog ignored;
    Progress silent;
    return publish::prepare_survey(file, 0, ignored, silent);
}

Truth read_truth(const std::filesystem::path& folder, io::SurveyFile file) {
    file.map->source = "truth/truth_map.gpkg";
    return {prepare(file), bench::read_true_stops(folder / "truth/truth_stops.csv")};
}

struct Figures {
    double stops = 0, seen = 0, wrong = 0, ap_distance = 0, ap_rest = 0, ap_moved = 0, flags = 0, false_flags = 0;
    double contact_before = 0, contact_after = 0, covered = 0, half_width = 0;
    double crossings = 0, crossings_covered = 0;
    double learnt_sd = 0, amplitude = 0, reach = 0, gain = 0, gain_error = 0;
    bench::AreaFigures ground, near_stops;
    bench::Calibration calibration;
};

/// Mean distance from contacts to those of the same two units in truth, by length; those without a counterpart left
/// out.
void compare_contacts(const publish::PreparedSurvey& data, const geo::UnitMap& truth,
                      const infer::Relocation& relocation, Figures& f) {
    const bench::SameContacts right(truth);
    double length = 0;
    for (std::size_t c = 0; c < data.map.contacts().size(); ++c) {
        const geo::Contact& contact = data.map.contacts()[c];
        const Line& moved = infer::relocated_line(relocation, data.map, c);
        auto mean_distance = [&](const Line& line, double& sum) {
            double measured = 0;
            for (std::size_t i = 1; i < line.size(); ++i) {
                const Point middle{(line[i - 1].x + line[i].x) / 2, (line[i - 1].y + line[i].y) / 2};
                const auto d = right.distance_to(contact.unit_a, contact.unit_b, middle, counterpart_reach_m);
                if (!d) continue;
                sum += *d * distance(line[i - 1], line[i]);
                measured += distance(line[i - 1], line[i]);
            }
            return measured;
        };
        double before = 0, after = 0;
        const double measured = mean_distance(contact.line, before), measured_after = mean_distance(moved, after);
        if (measured <= 0 || measured_after <= 0) continue;
        length += measured;
        f.contact_before += before;
        f.contact_after += after / measured_after * measured;
    }
    f.contact_before /= length;
    f.contact_after /= length;
}

/// Share of the true contacts' length that lies within the 90 % zone of a contact of the same two units.
void compare_zones(const publish::PreparedSurvey& data, const geo::UnitMap& truth, const infer::Relocation& relocation,
                   const infer::RevisedMap& revised, Figures& f) {
    double length = 0, drawn = 0;
    for (const geo::Contact& contact : truth.contacts()) {
        for (std::size_t i = 1; i < contact.line.size(); ++i) {
            const Point middle{(contact.line[i - 1].x + contact.line[i].x) / 2,
                               (contact.line[i - 1].y + contact.line[i].y) / 2};
            const bool inside = bench::in_a_zone(relocation, revised, data.map, contact, middle);
            const double piece = distance(contact.line[i - 1], contact.line[i]);
            length += piece;
            f.covered += inside ? piece : 0;
        }
    }
    f.covered /= length;
    for (std::size_t c = 0; c < data.map.contacts().size(); ++c) {
        f.half_width += relocation.contacts[c].location_confidence_m * data.map.contacts()[c].length_m;
        drawn += data.map.contacts()[c].length_m;
    }
    f.half_width /= drawn;
}

/// Of the crossings told with probability 0.5 or more, how many have a true one of the same change within their
/// interval.
void compare_crossings(const publish::PreparedSurvey& data, const geo::UnitMap& truth, const infer::Fit& fit,
                       Figures& f) {
    const auto crossings = infer::cross_traverses(data.survey, data.map, fit, 0);
    for (const infer::Traverse& traverse : infer::order_traverses(data.survey)) {
        Line line;
        for (const std::size_t stop : traverse.stops) line.push_back(data.survey.stops[stop].position);
        const auto right = infer::mapped_crossings(truth, line, 5);
        for (const infer::TraverseCrossing& told : crossings) {
            if (told.traverse != traverse.name || !told.chainage_m || told.probability < 0.5) continue;
            f.crossings += 1;
            f.crossings_covered += std::any_of(right.begin(), right.end(), [&](const infer::MappedCrossing& c) {
                return c.from_unit == told.from_unit && c.to_unit == told.to_unit && c.chainage_m >= *told.low_m &&
                       c.chainage_m <= *told.high_m;
            });
        }
    }
}

Figures measure(const std::filesystem::path& folder) {
    const io::SurveyFile file = io::read_survey_file(folder / "survey.json");
    const publish::PreparedSurvey data = prepare(file);
    const Truth truth = read_truth(folder, file);
    ProblemLog problems;
    Progress silent;
    infer::FitOptions still, moving;
    still.move_contacts = false;
    moving.move_contacts = true;
    const infer::Fit rest = infer::fit_stops(data.survey, data.reduced, data.map, 0, problems, silent, still);
    const infer::Fit fit = infer::fit_stops(data.survey, data.reduced, data.map, 0, problems, silent, moving);

    Figures f;
    std::vector<std::pair<double, bool>> by_distance, by_rest, by_fit;
    for (std::size_t s = 0; s < data.survey.stops.size(); ++s) {
        const auto known = truth.stops.find(data.survey.stops[s].id);
        const infer::StopFit& stop = fit.stops[s];
        if (known == truth.stops.end() || stop.mapped_unit == model::no_unit || stop.fitted_unit == model::no_unit)
            continue;
        auto code = [&](model::UnitIndex unit) { return data.survey.units[static_cast<std::size_t>(unit)].code; };
        const bool wrong = code(stop.mapped_unit) != known->second.unit;
        f.stops += 1;
        f.seen += data.survey.stops[s].unit_seen != model::no_unit;
        f.wrong += wrong;
        by_distance.emplace_back(-stop.contact_distance_m, wrong);
        by_rest.emplace_back(1 - rest.stops[s].p_mapped, wrong);
        by_fit.emplace_back(1 - stop.p_mapped, wrong);
        f.calibration.add(stop.p_fitted, code(stop.fitted_unit) == known->second.unit);
        if (stop.verdict == infer::Verdict::conflicts) {
            f.flags += 1;
            f.false_flags += !wrong;
        }
    }
    f.ap_distance = infer::average_precision(by_distance);
    f.ap_rest = infer::average_precision(by_rest);
    f.ap_moved = infer::average_precision(by_fit);
    const infer::Relocation relocation = infer::relocate(data.survey, data.map, fit, 0, problems);
    const infer::RevisedMap revised = infer::revise_map(data.survey, data.map, fit, relocation, 0);
    const geo::UnitMap drawn = bench::drawn_map(data.survey, data.map, revised);
    f.ground = bench::compare_ground(truth.survey.map, data.map, 20, [&](Point p) { return drawn.unit_at(p); });
    f.near_stops = bench::compare_ground(
        truth.survey.map, data.map, 20, [&](Point p) { return drawn.unit_at(p); },
        [&](Point p) {
            return std::any_of(data.survey.stops.begin(), data.survey.stops.end(),
                               [&](const model::Stop& stop) { return distance(stop.position, p) <= near_stop_m; });
        });
    compare_contacts(data, truth.survey.map, relocation, f);
    compare_zones(data, truth.survey.map, relocation, revised, f);
    compare_crossings(data, truth.survey.map, fit, f);
    for (const infer::MisplacedStretch& stretch : fit.shift.stretches) {
        const geo::Contact& contact = data.map.contacts()[stretch.contact];
        const Point middle = stretch.drafted[stretch.drafted.size() / 2];
        std::fprintf(stderr,
                     "stretch of contact %u (%s | %s) about %.0f, %.0f: %.0f m (%.0f), ln odds %.1f, %.1f without one "
                     "group, %zu stops\n",
                     stretch.contact, data.survey.units[static_cast<std::size_t>(contact.unit_a)].code.c_str(),
                     data.survey.units[static_cast<std::size_t>(contact.unit_b)].code.c_str(), middle.x, middle.y,
                     stretch.shift_m, stretch.shift_sd_m, stretch.log_odds, stretch.log_odds_without_one,
                     stretch.stops.size());
    }
    f.learnt_sd = fit.contact_sd_m;
    f.amplitude = fit.shift.field.still() ? 0 : fit.shift.amplitude_m;
    f.reach = fit.shift.reach_m;
    f.gain = fit.shift.gain;
    f.gain_error = fit.shift.gain_error;
    return f;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2) {
        std::fputs("usage: invented_shift FOLDER...\n", stderr);
        return 2;
    }
    std::printf("%-18s %5s %4s %5s | %-23s | %-13s | %-27s | %-13s | %-14s | %-9s | %5s | %s\n", "survey", "stops",
                "rock", "wrong", "AP distance rest moved", "flags (false)", "ground wrong: before after spoilt",
                "contact off, m", "zone (width)", "crossings", "ECE", "moved: size reach gain (error)");
    bench::Calibration all;
    std::vector<std::pair<std::string, bench::AreaFigures>> near_stops;
    for (int i = 1; i < argc; ++i) {
        const std::filesystem::path folder = argv[i];
        const Figures f = measure(folder);
        std::printf(
            "%-18s %5.0f %4.0f %5.0f |   %5.3f   %5.3f   %5.3f |   %3.0f (%2.0f)    |    %5.3f   %5.3f   %5.3f       | "
            " %4.1f  %4.1f   | %5.3f (%3.0f m)  | %3.0f/%3.0f   | %5.3f | %.0f %.0f %.1f (%.1f), learnt %.0f\n",
            folder.filename().c_str(), f.stops, f.seen, f.wrong, f.ap_distance, f.ap_rest, f.ap_moved, f.flags,
            f.false_flags, f.ground.wrong_before, f.ground.wrong_after, f.ground.spoilt, f.contact_before,
            f.contact_after, f.covered, f.half_width, f.crossings_covered, f.crossings, f.calibration.error(),
            f.amplitude, f.reach, f.gain, f.gain_error, f.learnt_sd);
        std::fflush(stdout);
        near_stops.emplace_back(folder.filename(), f.near_stops);
        for (std::size_t b = 0; b < all.bins.size(); ++b) {
            all.bins[b].count += f.calibration.bins[b].count;
            all.bins[b].claimed += f.calibration.bins[b].claimed;
            all.bins[b].right += f.calibration.bins[b].right;
        }
    }
    std::printf("\nwithin %.0f m of a stop: wrong before, of it corrected, of the right area spoilt\n", near_stop_m);
    for (const auto& [name, near] : near_stops)
        std::printf("%-18s %5.3f %5.2f %5.3f\n", name.c_str(), near.wrong_before, near.corrected / near.wrong_before,
                    near.spoilt / (1 - near.wrong_before));
    std::printf("\np_fitted of all surveys, claimed and right: expected calibration error %.3f\n", all.error());
    for (const auto& bin : all.bins) {
        if (bin.count > 0)
            std::printf("  %.2f  %.2f  (%.0f stops)\n", bin.claimed / bin.count, bin.right / bin.count, bin.count);
    }
}
