// Whether proposals are worth what they say, on invented surveys whose truth lies beside them.
//     proposals_kept FOLDER...          each made by scripts/make_sampledata
// Of each proposal that changes area: its probability beside the share of that area on which the true map has the
// proposed unit; the area that it is expected to put right beside what it puts right. Then all of them are adopted and
// the same stops judged once more on the new map: what evidence counted twice would do. `figures BUILD answer` calls
// this.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "bench/map_figures.hpp"
#include "bench/true_stops.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/infer/proposals.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/revised_map.hpp"
#include "subcrop/publish/prepared_survey.hpp"

namespace {

using namespace subcrop;

constexpr double square_metres_a_hectare = 1e4;

struct Sum {
    std::size_t proposals = 0, mostly_right = 0;
    double area_m2 = 0, claimed_m2 = 0, true_m2 = 0, gain_m2 = 0, true_gain_m2 = 0;

    void add(const Sum& one) {
        proposals += one.proposals;
        mostly_right += one.mostly_right;
        area_m2 += one.area_m2;
        claimed_m2 += one.claimed_m2;
        true_m2 += one.true_m2;
        gain_m2 += one.gain_m2;
        true_gain_m2 += one.true_gain_m2;
    }
    void print(const char* name) const {
        if (proposals == 0) return;
        std::printf("%-24s %5zu   %7.1f   %8.3f   %8.3f   %7.2f   %12.2f   %9.2f\n", name, proposals,
                    area_m2 / square_metres_a_hectare, claimed_m2 / area_m2, true_m2 / area_m2,
                    static_cast<double>(mostly_right) / static_cast<double>(proposals),
                    gain_m2 / square_metres_a_hectare, true_gain_m2 / square_metres_a_hectare);
    }
};

publish::PreparedSurvey prepare(const io::SurveyFile& file) {
    ProblemLog ignored;
    Progress silent;
    return publish::prepare_survey(file, 0, ignored, silent);
}

/// One judgement of all stops on one map.
struct Judgement {
    infer::Fit fit;
    infer::Relocation relocation;
    infer::RevisedMap revised;
    infer::Proposals proposals;

    Judgement(const publish::PreparedSurvey& data, const geo::UnitMap& map) {
        ProblemLog problems;
        Progress silent;
        infer::FitOptions options;
        options.move_contacts = true;
        fit = infer::fit_stops(data.survey, data.reduced, map, 0, problems, silent, options);
        relocation = infer::relocate(data.survey, map, fit, 0, problems);
        revised = infer::revise_map(data.survey, map, fit, relocation, 0);
        proposals = infer::propose(data.survey, map, fit, relocation, revised, 0);
    }
};

/// How one round fares against the true map, sums over surveys.
struct Round {
    double surveys = 0, places = 0, log_loss = 0, wrong = 0, zone_m = 0, contacts_m = 0, error_m = 0;
    std::size_t conflicts = 0, proposals = 0;
    double changed_m2 = 0;
    bench::Calibration calibration;

    void add(const Judgement& j, const publish::PreparedSurvey& data, const geo::UnitMap& map,
             const publish::PreparedSurvey& truth) {
        surveys += 1;
        error_m += j.fit.contact_sd_m;
        for (const infer::StopFit& stop : j.fit.stops) conflicts += stop.verdict == infer::Verdict::conflicts;
        for (const infer::Proposal& p : j.proposals.list) proposals += !p.areas.empty();
        changed_m2 += j.revised.changed_m2;
        const Box extent = truth.map.extent();
        std::vector<float> p(data.survey.units.size());
        for (double x = extent.min_x + 20; x < extent.max_x; x += 40) {
            for (double y = extent.min_y + 20; y < extent.max_y; y += 40) {
                const auto right = truth.map.unit_at({x, y});
                if (right == model::no_unit || map.unit_at({x, y}) == model::no_unit) continue;
                j.fit.answer.at({x, y}, p);
                const auto best = std::max_element(p.begin(), p.end());
                const bool agrees = best - p.begin() == right;
                calibration.add(*best, agrees);
                places += 1;
                wrong += !agrees;
                log_loss -= std::log(std::max(1e-6, static_cast<double>(p[static_cast<std::size_t>(right)])));
            }
        }
        for (const geo::Contact& contact : truth.map.contacts()) {
            for (std::size_t i = 1; i < contact.line.size(); ++i) {
                const Point a = contact.line[i - 1], b = contact.line[i], middle{(a.x + b.x) / 2, (a.y + b.y) / 2};
                contacts_m += distance(a, b);
                if (bench::in_a_zone(j.relocation, j.revised, map, contact, middle)) zone_m += distance(a, b);
            }
        }
    }
    void print(const char* name) const {
        std::printf("%-24s %8.4f   %5.3f   %5.3f   %5.3f   %6.1f   %9zu   %9zu   %7.1f\n", name, log_loss / places,
                    wrong / places, calibration.error(), zone_m / contacts_m, error_m / surveys, conflicts, proposals,
                    changed_m2 / square_metres_a_hectare);
    }
};

/// What one proposal claims and what the true map has there.
Sum compare(const infer::Proposal& proposal, const infer::Proposals& all, const model::Survey& survey,
            const publish::PreparedSurvey& truth, const std::map<std::string, bench::TrueStop>& true_stops) {
    const auto code_at = [&](Point place) {
        const model::UnitIndex unit = truth.map.unit_at(place);
        return unit == model::no_unit ? std::string() : truth.survey.units[static_cast<std::size_t>(unit)].code;
    };
    const auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
    Sum sum{.proposals = 1,
            .area_m2 = proposal.area_m2,
            .claimed_m2 = proposal.area_m2 * *proposal.probability,
            .gain_m2 = proposal.gain_m2};
    const double step = std::sqrt(proposal.area_m2) / 30;
    for (const std::uint32_t index : proposal.areas) {
        const geo::ChangedArea& area = all.changes.areas()[index];
        std::vector<Point> places = places_in(area.ground, step);
        if (places.empty()) places.push_back(area.inside);
        const double share = area.area_m2 / static_cast<double>(places.size());
        for (const Point place : places) {
            const std::string found = code_at(place);
            sum.true_m2 += found == code(area.to) ? share : 0;
            sum.true_gain_m2 += share * ((found == code(area.to)) - (found == code(area.from)));
        }
    }
    // Of an area about one stop the probability is that below the stop.
    if (proposal.stop) {
        const auto known = true_stops.find(survey.stops[*proposal.stop].id);
        sum.true_m2 = known != true_stops.end() && known->second.unit == code(proposal.to) ? proposal.area_m2 : 0;
    }
    sum.mostly_right = sum.true_m2 > 0.5 * proposal.area_m2;
    return sum;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2) {
        std::fputs("usage: proposals_kept FOLDER...\n", stderr);
        return 2;
    }
    std::vector<Sum> by_probability(10);
    Round once, again;
    Sum moved, redrawn, about_one_stop, every;
    for (int i = 1; i < argc; ++i) {
        const std::filesystem::path folder = argv[i];
        io::SurveyFile file = io::read_survey_file(folder / "survey.json");
        const publish::PreparedSurvey data = prepare(file);
        file.map->source = "truth/truth_map.gpkg";
        const publish::PreparedSurvey truth = prepare(file);
        const auto true_stops = bench::read_true_stops(folder / "truth/truth_stops.csv");
        const Judgement judged(data, data.map);
        once.add(judged, data, data.map, truth);
        const infer::Proposals& proposals = judged.proposals;
        for (const infer::Proposal& proposal : proposals.list) {
            if (proposal.areas.empty() || !proposal.probability) continue;
            const Sum one = compare(proposal, proposals, data.survey, truth, true_stops);
            if (proposal.stop) {
                about_one_stop.add(one);
                continue;
            }
            every.add(one);
            by_probability[std::min<std::size_t>(9, static_cast<std::size_t>(10 * *proposal.probability))].add(one);
            (proposal.kind == infer::ProposalKind::move_contact ? moved : redrawn).add(one);
        }
        std::vector<std::uint8_t> accepted(proposals.changes.areas().size(), 0);
        for (const infer::Proposal& proposal : proposals.list)
            for (const std::uint32_t area : proposal.areas) accepted[area] = 1;
        std::vector<model::MapPolygon> next;
        for (geo::CarriedOut& polygon : proposals.changes.carried_out(data.map.polygons(), accepted))
            next.push_back(std::move(polygon.polygon));
        ProblemLog problems;
        const geo::UnitMap adopted(next.empty() ? data.map.polygons() : std::move(next), data.survey.units.size(), {},
                                   problems);
        again.add(Judgement(data, adopted), data, adopted, truth);
    }
    std::printf("%-24s %5s   %7s   %8s   %8s   %7s   %12s   %9s\n", "", "count", "ha", "claimed", "true", "mostly",
                "gain claimed", "gain true");
    for (std::size_t bin = 0; bin < by_probability.size(); ++bin) {
        char name[32];
        std::snprintf(name, sizeof name, "probability %.1f to %.1f", 0.1 * static_cast<double>(bin),
                      0.1 * static_cast<double>(bin + 1));
        by_probability[bin].print(name);
    }
    moved.print("contacts that move");
    redrawn.print("areas redrawn");
    every.print("all of these");
    about_one_stop.print("about one stop");
    std::printf("\n%-24s %8s   %5s   %5s   %5s   %6s   %9s   %9s   %7s\n", "", "log loss", "wrong", "ECE", "zones",
                "error", "conflicts", "proposals", "changed");
    once.print("on the draft");
    again.print("on the adopted map");
}
