// Whether the next stops suggested are worth more than stops evenly spaced along the contacts or at random, on an
// invented survey whose truth is known. Each way chooses as many places; what would be noted there is drawn from the
// survey's own stops over the true unit, the contact is narrowed by it, and the mean distance of where it is then
// thought to run from where it truly runs is taken over all contacts.
//     next_stops SURVEY.json TRUTH_MAP [--visits 10] [--repeats 40] [--reach METRES] [--right SHARE] [--again 0.8]
#include "subcrop/infer/next_stops.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <numeric>
#include <optional>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "infer/planning/contact_knowledge.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/io/survey_file.hpp"
#include "subcrop/io/survey_reader.hpp"

namespace {

using namespace subcrop;

struct World {
    model::Survey survey, truth;
    ProblemLog problems;
    std::optional<geo::UnitMap> map, true_map;
    std::optional<model::Reduced> reduced;
    infer::Fit fit;
    infer::Relocation relocation;
    std::vector<std::vector<std::size_t>> stops_over;  ///< those with something noted, by their true unit

    World(const char* survey_path, const char* truth_path) {
        Progress silent;
        io::SurveyFile file = io::read_survey_file(survey_path);
        survey = io::read_survey(file, 0, problems, silent);
        file.map->source = std::filesystem::absolute(truth_path).string();
        truth = io::read_survey(file, 0, problems, silent);
        reduced.emplace(model::reduce(survey, problems));
        map.emplace(survey.map, survey.units.size(), geo::UnitMapOptions{.contact_sd_m = survey.contact_sd_m},
                    problems);
        true_map.emplace(truth.map, truth.units.size(), geo::UnitMapOptions{.contact_sd_m = survey.contact_sd_m},
                         problems);
        fit = infer::fit_stops(survey, *reduced, *map, 0, problems, silent);
        relocation = infer::relocate(survey, *map, fit, 0, problems);
        stops_over.resize(survey.units.size());
        for (std::size_t s = 0; s < survey.stops.size(); ++s) {
            const model::UnitIndex unit = true_map->unit_at(survey.stops[s].position);
            if (unit != model::no_unit && fit.reckoning->has_evidence(s))
                stops_over[static_cast<std::size_t>(unit)].push_back(s);
        }
    }
};

/// How far to the left of a node the contact truly runs; absent where these two units do not meet within four standard
/// errors.
std::optional<double> true_offset(const World& world, const infer::ContactKnowledge::Known& known, std::size_t node) {
    const auto& n = known.process.nodes()[node];
    const auto at = [&](double t) {
        return world.true_map->unit_at({n.place.x + t * n.left.x, n.place.y + t * n.left.y});
    };
    const double farthest = 4 * world.survey.contact_sd_m;
    for (double t = 0; t <= farthest; t += 2)
        for (const double way : {t, -t})
            if (at(way + 1) == known.left && at(way - 1) == known.right) return way;
    return std::nullopt;
}

class Trial {
public:
    Trial(const World& world, const infer::ContactKnowledge& knowledge, std::uint64_t seed)
        : world_(world), knowledge_(knowledge), random_(seed) {
        for (const auto& known : knowledge_.contacts) {
            auto& list = truth_.emplace_back();
            for (std::size_t i = 0; i < known.process.nodes().size(); ++i) list.push_back(true_offset(world, known, i));
        }
    }

    infer::ContactKnowledge& knowledge() { return knowledge_; }
    double share() { return static_cast<double>(random_() >> 11U) * 0x1.0p-53; }

    /// Stops on the contact at the node, within the error of the position, and hears what is noted.
    void visit(std::size_t k, std::size_t node, Point place) {
        const double sd = 10;
        auto& known = knowledge_.contacts[k];
        const double r = sd * std::sqrt(-2 * std::log(1 - share())), angle = 2 * M_PI * share();
        const model::UnitIndex unit =
            world_.true_map->unit_at({place.x + r * std::cos(angle), place.y + r * std::sin(angle)});
        if (unit == model::no_unit || world_.stops_over[static_cast<std::size_t>(unit)].empty()) return;
        const auto& like = world_.stops_over[static_cast<std::size_t>(unit)];
        std::vector<double> likelihood(world_.survey.units.size());
        world_.fit.reckoning->tempered_log_likelihood(
            like[static_cast<std::size_t>(share() * static_cast<double>(like.size()))], likelihood);
        const auto [left, right] = knowledge_.sides(known, likelihood);
        const auto& n = known.process.nodes()[node];
        known.process.hear(node, (place.x - n.place.x) * n.left.x + (place.y - n.place.y) * n.left.y, sd, left, right);
    }

    /// Mean distance from where contacts are thought to run to where they truly run, over their length.
    double error() const {
        double sum = 0, length = 0;
        for (std::size_t k = 0; k < truth_.size(); ++k) {
            const auto& process = knowledge_.contacts[k].process;
            for (std::size_t i = 0; i < truth_[k].size(); ++i) {
                if (!truth_[k][i]) continue;
                sum += process.nodes()[i].length_m * std::abs(process.estimate_m(i) - *truth_[k][i]);
                length += process.nodes()[i].length_m;
            }
        }
        return length > 0 ? sum / length : 0;
    }
    double drafted_error() const {
        double sum = 0, length = 0;
        for (std::size_t k = 0; k < truth_.size(); ++k) {
            for (std::size_t i = 0; i < truth_[k].size(); ++i) {
                if (!truth_[k][i]) continue;
                const double w = knowledge_.contacts[k].process.nodes()[i].length_m;
                sum += w * std::abs(*truth_[k][i]);
                length += w;
            }
        }
        return length > 0 ? sum / length : 0;
    }

    void at_chainage(double s) {
        for (std::size_t k = 0; k < knowledge_.contacts.size(); ++k) {
            const auto& process = knowledge_.contacts[k].process;
            for (std::size_t i = 0; i < process.nodes().size(); ++i) {
                s -= process.nodes()[i].length_m;
                if (s <= 0) return visit(k, i, process.place(i));
            }
        }
    }
    double length() const {
        double sum = 0;
        for (const auto& known : knowledge_.contacts)
            for (const auto& node : known.process.nodes()) sum += node.length_m;
        return sum;
    }

private:
    const World& world_;
    infer::ContactKnowledge knowledge_;
    std::vector<std::vector<std::optional<double>>> truth_;
    std::mt19937_64 random_;
};

}  // namespace

int main(int argc, char** argv) try {
    std::size_t visits = 10, repeats = 40;
    infer::NextStopOptions options;
    std::vector<const char*> files;
    for (int i = 1; i < argc; ++i) {
        if (std::strcmp(argv[i], "--visits") == 0 && i + 1 < argc)
            visits = std::strtoul(argv[++i], nullptr, 10);
        else if (std::strcmp(argv[i], "--repeats") == 0 && i + 1 < argc)
            repeats = std::strtoul(argv[++i], nullptr, 10);
        else if (std::strcmp(argv[i], "--reach") == 0 && i + 1 < argc)
            options.reach_m = std::strtod(argv[++i], nullptr);
        else if (std::strcmp(argv[i], "--right") == 0 && i + 1 < argc)
            options.right_share = std::strtod(argv[++i], nullptr);
        else if (std::strcmp(argv[i], "--again") == 0 && i + 1 < argc)
            options.again = std::strtod(argv[++i], nullptr);
        else
            files.push_back(argv[i]);
    }
    if (files.size() != 2) {
        std::fprintf(stderr,
                     "next_stops SURVEY.json TRUTH_MAP [--visits 10] [--repeats 40] [--reach METRES] [--right SHARE] "
                     "[--again 0.8]\n");
        return 2;
    }
    const World world(files[0], files[1]);
    options.count = visits;
    const auto suggested = infer::suggest_next_stops(world.survey, *world.map, world.fit, world.relocation, options, 0);
    const infer::ContactKnowledge knowledge(world.survey, *world.map, world.fit, world.relocation, 0, options.reach_m,
                                            options.right_share);
    std::set<std::pair<model::UnitIndex, model::UnitIndex>> pairs;
    for (const auto& stop : suggested) {
        if (!stop.contact) continue;
        const geo::Contact& contact = world.map->contacts()[*stop.contact];
        pairs.insert(std::minmax(contact.unit_a, contact.unit_b));
    }
    std::size_t on_contacts = 0;
    for (const auto& stop : suggested) on_contacts += stop.contact.has_value();
    struct Way {
        const char* name;
        double gain = 0, square = 0;
    } ways[] = {{"suggested"}, {"evenly spaced"}, {"random"}};
    double drafted = 0, before = 0;
    for (std::size_t r = 0; r < repeats; ++r) {
        for (std::size_t w = 0; w < 3; ++w) {
            Trial trial(world, knowledge, 1000 * r + w + 1);
            drafted = trial.drafted_error();
            before = trial.error();
            const double length = trial.length(), start = trial.share();
            for (std::size_t i = 0; i < visits; ++i) {
                if (w == 0) {
                    if (i >= suggested.size() || !suggested[i].contact) continue;
                    for (std::size_t k = 0; k < trial.knowledge().contacts.size(); ++k) {
                        if (trial.knowledge().contacts[k].contact != *suggested[i].contact) continue;
                        trial.visit(k, trial.knowledge().contacts[k].process.seat(suggested[i].place).first,
                                    suggested[i].place);
                    }
                } else {
                    trial.at_chainage(length * (w == 1 ? (static_cast<double>(i) + start) / static_cast<double>(visits)
                                                       : trial.share()));
                }
            }
            const double gain = before - trial.error();
            ways[w].gain += gain / static_cast<double>(repeats);
            ways[w].square += gain * gain / static_cast<double>(repeats);
        }
    }
    std::printf("%s: reach %.0f m; drafted %.2f m, by the stops so far %.2f m; after %zu visits less by", files[0],
                knowledge.reach_m, drafted, before, visits);
    for (const Way& way : ways)
        std::printf(" %s %.3f m (+- %.3f)", way.name, way.gain,
                    std::sqrt(std::max(0.0, way.square - way.gain * way.gain) / static_cast<double>(repeats)));
    std::printf("; %zu of the suggested on contacts, of %zu pairs of units; right share %.2f\n", on_contacts,
                pairs.size(), knowledge.right_share);
    return 0;
} catch (const subcrop::Error& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
}
