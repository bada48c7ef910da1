#include "subcrop/infer/fit.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "infer/answer/calibration.hpp"
#include "infer/answer/contact_error.hpp"
#include "infer/answer/placement.hpp"
#include "infer/answer/reckoning.hpp"
#include "infer/answer/testify.hpp"
#include "infer/answer/verdict.hpp"
#include "infer/statistics/normal.hpp"
#include "subcrop/core/parallel.hpp"
#include "subcrop/infer/blocks.hpp"
#include "subcrop/infer/weights.hpp"

namespace subcrop::infer {

namespace {

/// More judges would not improve the few weights.
constexpr std::size_t max_judges = 20000;

/// The unit upslope, other than the mapped one, that gives most of a stop's soil.
void name_source(const geo::UnitMap& map, Point place, std::span<const Point> sources,
                 const std::vector<Origin>& origins, std::vector<double>& shares, StopFit& fit) {
    std::fill(shares.begin(), shares.end(), 0.0);
    for (const Origin& origin : origins) {
        for (const model::UnitIndex source : origin.sources) {
            shares[static_cast<std::size_t>(source)] +=
                static_cast<double>(origin.share) / static_cast<double>(origin.sources.size());
        }
    }
    if (fit.mapped_unit != model::no_unit) shares[static_cast<std::size_t>(fit.mapped_unit)] = 0;
    const auto most = std::max_element(shares.begin(), shares.end());
    fit.upslope_share = *most;
    fit.upslope_unit = static_cast<model::UnitIndex>(most - shares.begin());
    const auto first = std::find_if(sources.begin(), sources.end(),
                                    [&](const Point& p) { return map.unit_at(p) == fit.upslope_unit; });
    fit.upslope_m = distance(place, first != sources.end() ? *first : sources.back());
}

Placement place_stops(const Fit::Reckoning& reckoning, const geo::UnitMap& map, std::vector<StopFit>& fits,
                      unsigned threads) {
    const model::Survey& survey = *reckoning.survey;
    const std::size_t units = survey.units.size();
    Placement placement;
    std::vector<std::vector<Origin>> origins(reckoning.creep != nullptr ? survey.stops.size() : 0);
    placement.membership =
        StopShares(survey.stops.size(), units, threads, [&](std::size_t begin, std::size_t end, auto&& put) {
            std::vector<double> shares(units);
            for (std::size_t s = begin; s < end; ++s) {
                const model::Stop& stop = survey.stops[s];
                StopFit& fit = fits[s];
                fit.mapped_unit = map.unit_at(stop.position);
                const double sd = std::hypot(stop.position_sd_m, reckoning.contact_sd_m);
                if (const auto contact = map.nearest_contact(stop.position, std::max(1000.0, 10 * sd))) {
                    fit.contact_distance_m = contact->distance_m;
                    fit.nearest_contact = contact->contact;
                    const geo::Contact& line = map.contacts()[contact->contact];
                    fit.neighbour_unit = line.unit_a == fit.mapped_unit ? line.unit_b : line.unit_a;
                    if (line.unit_a != fit.mapped_unit && line.unit_b != fit.mapped_unit)
                        fit.neighbour_unit = model::no_unit;
                }
                std::fill(shares.begin(), shares.end(), 0.0);
                map.membership(stop.position, sd, shares);
                put(shares);
                const std::span<const Point> sources = reckoning.soil_from(s);
                if (sources.empty()) continue;
                origins[s] = joint_origins(map, stop.position, sources, {}, sd);
                if (!origins[s].empty()) name_source(map, stop.position, sources, origins[s], shares, fit);
            }
        });
    if (!origins.empty()) placement.origins = SoilOrigins(origins);
    return placement;
}

/// How much each unit learns from each stop.
std::vector<float> responsibilities(const Fit::Reckoning& reckoning, const StopShares& membership, unsigned threads) {
    const model::Survey& survey = *reckoning.survey;
    const std::size_t units = survey.units.size();
    std::vector<float> result(survey.stops.size() * units);
    parallel_blocks(survey.stops.size(), 4096, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> shares(units);
        std::vector<float> row(units);
        for (std::size_t s = begin; s < end; ++s) {
            const double carried = carried_beyond_doubt(*reckoning.reduced, s);
            membership.row(s, std::span(row));
            reckoning.soil_shares(s, row, shares);
            for (std::size_t u = 0; u < units; ++u) {
                double r = shares[u];
                // Transported soil teaches nothing about bedrock, but cover units consist of it.
                if (!survey.units[u].cover) r *= 1 - carried;
                result[s * units + u] = static_cast<float>(r);
            }
        }
    });
    return result;
}

std::vector<double> shares_of(const std::vector<float>& responsibility, std::size_t units) {
    std::vector<double> shares(units, 1.0);  // one stop each: no unit is impossible
    for (std::size_t i = 0; i < responsibility.size(); ++i) shares[i % units] += static_cast<double>(responsibility[i]);
    const double total = std::accumulate(shares.begin(), shares.end(), 0.0);
    for (double& share : shares) share /= total;
    return shares;
}

/// Keeps every n-th judge, so that at most `max_judges` remain.
void thin_out(Judges& judges) {
    const auto known = static_cast<std::size_t>(
        std::count_if(judges.begin(), judges.end(), [](model::UnitIndex u) { return u != model::no_unit; }));
    const std::size_t stride = (known + max_judges - 1) / max_judges;
    if (stride <= 1) return;
    std::size_t i = 0;
    for (model::UnitIndex& judge : judges) {
        if (judge != model::no_unit && i++ % stride != 0) judge = model::no_unit;
    }
}

struct JudgeChoice {
    Judges judges;
    std::string known_by;
    bool rock_seen = false;
};

JudgeChoice choose_judges(const model::Survey& survey, const StopShares& membership, const std::vector<StopFit>& fits) {
    JudgeChoice choice;
    for (const model::Stop& stop : survey.stops) choice.judges.push_back(stop.unit_seen);
    auto known = [&] {
        return static_cast<std::size_t>(std::count_if(choice.judges.begin(), choice.judges.end(),
                                                      [](model::UnitIndex u) { return u != model::no_unit; }));
    };
    if (known() >= enough_observed_stops) {
        choice.known_by = "observed bedrock";
        choice.rock_seen = true;
        return choice;
    }
    auto take = [&](auto&& trusted) {
        for (std::size_t s = 0; s < fits.size(); ++s) {
            const model::UnitIndex seen = survey.stops[s].unit_seen;
            choice.judges[s] = seen != model::no_unit ? seen : trusted(s) ? fits[s].mapped_unit : model::no_unit;
        }
    };
    choice.known_by = "stops far from every drawn contact";
    take([&](std::size_t s) {
        return fits[s].mapped_unit != model::no_unit &&
               (fits[s].contact_distance_m < 0 || fits[s].contact_distance_m > 2 * survey.contact_sd_m);
    });
    if (known() < 20) {
        choice.known_by = "the draft map";
        take([&](std::size_t s) {
            return fits[s].mapped_unit != model::no_unit &&
                   membership.at(s, static_cast<std::size_t>(fits[s].mapped_unit)) > 0.5f;
        });
    }
    return choice;
}

/// Drops judges whose soil came mostly from another unit. They do not show how well channels distinguish units.
void leave_out_crept_soil(const Fit::Reckoning& reckoning, const StopShares& membership, Judges& judges) {
    if (reckoning.origins.empty()) return;
    const std::size_t units = reckoning.units();
    std::vector<double> shares(units);
    std::vector<float> row(units);
    for (std::size_t s = 0; s < judges.size(); ++s) {
        if (judges[s] == model::no_unit || reckoning.origins.of(s).empty()) continue;
        membership.row(s, std::span(row));
        reckoning.soil_shares(s, row, shares);
        if (shares[static_cast<std::size_t>(judges[s])] < 0.5) judges[s] = model::no_unit;
    }
}

/// Units in falling order of probability.
void rank(const std::vector<double>& p, StopFit& fit) {
    fit.fitted_unit = model::no_unit;
    fit.next_unit = model::no_unit;
    for (std::size_t u = 0; u < p.size(); ++u) {
        const auto unit = static_cast<model::UnitIndex>(u);
        if (fit.fitted_unit == model::no_unit || p[u] > p[static_cast<std::size_t>(fit.fitted_unit)]) {
            fit.next_unit = fit.fitted_unit;
            fit.fitted_unit = unit;
        } else if (fit.next_unit == model::no_unit || p[u] > p[static_cast<std::size_t>(fit.next_unit)]) {
            fit.next_unit = unit;
        }
    }
}

/// Shares of the units, none zero: a legend unit that is nowhere on the draft may still exist.
std::vector<double> shares_of_ground(std::vector<double> ground) {
    constexpr double any_unit = 0.01;
    const double total = std::accumulate(ground.begin(), ground.end(), 0.0),
                 alike = 1.0 / static_cast<double>(ground.size());
    for (double& share : ground) share = total > 0 ? (1 - any_unit) * share / total + any_unit * alike : alike;
    return ground;
}

/// Means over the stops.
std::vector<double> sums_of(const std::vector<float>& prior, std::size_t units) {
    std::vector<double> sums(units, 0.0);
    for (std::size_t i = 0; i < prior.size(); ++i) sums[i % units] += static_cast<double>(prior[i]);
    return sums;
}

void score_stops(const Fit::Reckoning& reckoning, const StopShares& membership, std::vector<StopFit>& fits,
                 unsigned threads) {
    const std::size_t units = reckoning.units();
    parallel_blocks(fits.size(), 2048, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> likelihood(units), p(units), row(units);
        for (std::size_t s = begin; s < end; ++s) {
            StopFit& fit = fits[s];
            fit.p_transported = static_cast<double>(reckoning.reduced->p_transported[s]);
            reckoning.posterior(s, likelihood, p);
            double on_map = 0;
            membership.row(s, std::span(row));
            for (const double share : row) on_map += share;
            if (!reckoning.has_evidence(s) && on_map <= 1e-6) continue;
            rank(p, fit);
            fit.p_fitted = p[static_cast<std::size_t>(fit.fitted_unit)];
            if (fit.mapped_unit != model::no_unit) {
                fit.p_mapped = p[static_cast<std::size_t>(fit.mapped_unit)];
                fit.soil_log10_odds = (likelihood[static_cast<std::size_t>(fit.fitted_unit)] -
                                       likelihood[static_cast<std::size_t>(fit.mapped_unit)]) /
                                      std::log(10.0);
            }
        }
    });
}

/// Prior by the draft, before the stops' own soil and bedrock: stops x units.
std::vector<float> priors_as_drawn(const Fit::Reckoning& reckoning, unsigned threads) {
    const std::size_t units = reckoning.units(), stops = reckoning.survey->stops.size();
    std::vector<float> prior(stops * units);
    parallel_blocks(stops, 4096, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> p(units);
        for (std::size_t s = begin; s < end; ++s) {
            reckoning.prior_of(s, p);
            std::copy(p.begin(), p.end(), prior.begin() + static_cast<std::ptrdiff_t>(s * units));
        }
    });
    return prior;
}

/// Stops x units of the survey, from rows of the testimony. Other stops keep their row of `all`.
void take_rows(const Testimony& testimony, std::span<const model::UnitIndex> told_apart, const std::vector<float>& rows,
               std::size_t units, std::vector<float>& all) {
    for (std::size_t i = 0; i < testimony.size(); ++i) {
        float* row = &all[testimony.stop[i] * units];
        std::fill(row, row + units, 0.0f);
        for (std::size_t k = 0; k < told_apart.size(); ++k)
            row[static_cast<std::size_t>(told_apart[k])] = rows[i * told_apart.size() + k];
    }
}

/// Placement of the stops and their soil on the moved draft.
Placement moved_placement(const Fit::Reckoning& reckoning, const geo::UnitMap& map, const Testimony& testimony,
                          const Reckoned& reckoned, const Placement& as_drawn, unsigned threads) {
    Placement moved;
    std::vector<float> shares = as_drawn.membership.table();
    take_rows(testimony, reckoned.state->units, reckoned.moved, reckoning.units(), shares);
    moved.membership = StopShares(shares, reckoning.units(), threads);
    if (reckoning.creep == nullptr) return moved;
    const ShiftField& field = reckoned.shift.field;
    std::vector<std::vector<Origin>> origins(reckoning.survey->stops.size());
    parallel_blocks(origins.size(), 512, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t s = begin; s < end; ++s) {
            const std::span<const Point> sources = reckoning.soil_from(s);
            if (sources.empty()) continue;
            const model::Stop& stop = reckoning.survey->stops[s];
            const double sd = std::hypot(stop.position_sd_m, field.residual_m(), field.sd_m(stop.position));
            origins[s] = joint_origins(map, stop.position, sources, field.displacement(stop.position), sd);
        }
    });
    moved.origins = SoilOrigins(origins);
    return moved;
}

/// Each stop is evidence on its nearest contact. It supports the contact if its soil fits its own side better than the
/// other. If the contact is where it is drawn, give or take its error s, the unit across lies below a stop at distance
/// d with probability Phi(-d / s). So the odds against it are L(across) to (1 - Phi) L(own) + Phi L(across).
std::vector<ContactSupport> support_contacts(const Fit::Reckoning& reckoning, const geo::UnitMap& map,
                                             const std::vector<StopFit>& fits, unsigned threads) {
    constexpr double reach = 4;  // in standard errors of contact and position together
    const model::Survey& survey = *reckoning.survey;
    std::vector<double> against(fits.size(), 0.0);
    parallel_blocks(fits.size(), 4096, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> likelihood(reckoning.units());
        for (std::size_t s = begin; s < end; ++s) {
            const StopFit& fit = fits[s];
            const double sd =
                std::hypot(survey.stops[s].position_sd_m, std::max(survey.contact_sd_m, reckoning.contact_sd_m));
            if (fit.contact_distance_m < 0 || fit.contact_distance_m > reach * sd ||
                fit.neighbour_unit == model::no_unit || fit.mapped_unit == model::no_unit ||
                !reckoning.has_evidence(s)) {
                continue;
            }
            reckoning.soil_below(s, likelihood);
            reckoning.add_rock_seen(s, likelihood);
            const double across = likelihood[static_cast<std::size_t>(fit.neighbour_unit)] -
                                  likelihood[static_cast<std::size_t>(fit.mapped_unit)];
            const double beyond = normal_cdf(-fit.contact_distance_m / sd);
            against[s] = -std::log10((1 - beyond) * std::exp(std::min(-across, 700.0)) + beyond);
        }
    });
    std::vector<ContactSupport> support(map.contacts().size());
    for (std::size_t s = 0; s < fits.size(); ++s)
        if (against[s] != 0) support[fits[s].nearest_contact].add({static_cast<std::uint32_t>(s), against[s]});
    return support;
}

/// Share of the stops in areas that are drawn as the wrong unit.
double share_in_other_areas(const Reckoned& reckoned) {
    if (reckoned.as_moved.empty()) return 0;
    double as_moved = 0;
    for (const float p : reckoned.as_moved) as_moved += static_cast<double>(p);
    return 1 - as_moved / static_cast<double>(reckoned.as_moved.size());
}

/// Signatures and weights from the current memberships.
ChannelWeights learn(Fit::Reckoning& reckoning, const Training& training, const Judges& judges, unsigned threads) {
    const std::size_t channels = reckoning.channels.size();
    const unsigned of_a_channel = channels >= thread_count(threads) ? 1 : threads;
    reckoning.signatures.assign(channels, {});
    parallel_blocks(channels, 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t c = begin; c < end; ++c) {
            reckoning.signatures[c] = learn_signature(reckoning.channels[c], training, judges, of_a_channel);
        }
    });
    std::vector<double> log_shares;
    for (const double share : training.shares) log_shares.push_back(std::log(share));
    ChannelWeights learnt = learn_weights(reckoning.signatures, judges, training.fold_of_stop, log_shares);
    reckoning.weights = learnt.weights;
    return learnt;
}

/// How different the units' soils are; see soil_origins.hpp. More stops than `max_judges` would not improve it.
Separation learn_separation(const Fit::Reckoning& reckoning, const std::vector<float>& responsibility) {
    const std::size_t units = reckoning.units(), stops = responsibility.size() / units;
    std::vector<double> sums(units * units, 0.0), weights(units, 0.0), soil(units);
    const std::size_t stride = (stops + max_judges - 1) / max_judges;
    for (std::size_t s = 0; s < stops; s += std::max<std::size_t>(stride, 1)) {
        reckoning.soil(s, soil);
        for (std::size_t a = 0; a < units; ++a) {
            const auto r = static_cast<double>(responsibility[s * units + a]);
            if (r < 0.01) continue;
            weights[a] += r;
            for (std::size_t b = 0; b < units; ++b) sums[a * units + b] += r * (soil[a] - soil[b]);
        }
    }
    Separation separation(units);
    for (std::size_t a = 0; a < units; ++a) {
        for (std::size_t b = 0; b < units; ++b) {
            const double ab = weights[a] > 0 ? sums[a * units + b] / weights[a] : 0,
                         ba = weights[b] > 0 ? sums[b * units + a] / weights[b] : 0;
            separation.at(a, b) = std::max(0.0, ab + ba);
        }
    }
    return separation;
}

/// The length of creep (or none) that best explains the stops' soil. If only one length is given, it is used without a
/// test.
CreepChoice choose_creep(const Fit::Reckoning& reckoning, const geo::UnitMap& map, unsigned threads) {
    // Draft errors near contacts look a little like creep. On invented surveys without creep the gain was up to 1.0;
    // with 60 m of creep 3.2 and 18.7. Creep of 25 m could not be distinguished from none (tests/bench/creep.cpp).
    constexpr double gain_needed = 2;
    const model::Survey& survey = *reckoning.survey;
    const double error = survey.settings.draft_error_share;
    CreepChoice choice;
    choice.stated = survey.settings.creep.length_m.has_value();
    double best = gain_needed;
    for (const model::CreepPaths& paths : survey.creep) {
        std::vector<double> gains(survey.stops.size(), 0.0);
        parallel_blocks(gains.size(), 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            std::vector<double> likelihood(reckoning.units());
            for (std::size_t s = begin; s < end; ++s) {
                const model::Stop& stop = survey.stops[s];
                if (paths.soil_from[s].empty() || stop.unit_seen != model::no_unit || !reckoning.has_evidence(s))
                    continue;
                const auto origins = joint_origins(map, stop.position, paths.soil_from[s], {},
                                                   std::hypot(stop.position_sd_m, reckoning.contact_sd_m));
                if (origins.empty()) continue;
                reckoning.soil(s, likelihood);
                double crept = 0, still = 0, pooled = 0;
                for (std::size_t u = 0; u < likelihood.size(); ++u)
                    pooled += reckoning.ground[u] * std::exp(likelihood[u]);
                for (const Origin& origin : origins) {
                    const auto share = static_cast<double>(origin.share);
                    crept += share * std::exp(log_blend(origin, reckoning.separation, likelihood));
                    still += share * std::exp(likelihood[static_cast<std::size_t>(origin.below)]);
                }
                gains[s] = std::log(((1 - error) * crept + error * pooled) / ((1 - error) * still + error * pooled));
            }
        });
        const double gain = std::accumulate(gains.begin(), gains.end(), 0.0);
        choice.trials.push_back({paths.length_m, gain});
        if (choice.stated || gain > best) {
            choice.length_m = paths.length_m;
            best = gain;
        }
    }
    return choice;
}

/// How often soil was right at stops with observed bedrock, computed after all was learnt. So it is the same count as
/// in the calibration. It allows for transported soil; learning the weights does not.
void count_right(Fit& fit) {
    std::size_t stops = 0, right = 0;
    for (const CalibrationBin& bin : calibration(*fit.reckoning)) {
        stops += bin.stops;
        right += bin.right;
    }
    if (stops == 0) return;
    fit.skill.stops = stops;
    fit.skill.accuracy = static_cast<double>(right) / static_cast<double>(stops);
}

}  // namespace

Fit fit_stops(const model::Survey& survey, const model::Reduced& reduced, const geo::UnitMap& map, unsigned threads,
              ProblemLog& /*problems*/, Progress& progress, const FitOptions& options) {
    const std::size_t units = survey.units.size();
    Fit fit;
    fit.stops.resize(survey.stops.size());
    auto reckoning = std::make_shared<Fit::Reckoning>();
    reckoning->survey = &survey;
    reckoning->reduced = &reduced;
    reckoning->contact_sd_m = survey.contact_sd_m;

    progress.stage("locating stops on the draft", 0);
    const bool without_draft = fit.without_draft = !options.prior.empty();
    Placement placement;
    const auto settle = [&](Placement next) {
        placement = std::move(next);
        reckoning->origins = placement.origins;
    };
    settle(without_draft ? Placement{StopShares(options.prior, units, threads), {}}
                         : place_stops(*reckoning, map, fit.stops, threads));
    const std::vector<double> ground = reckoning->ground =
        shares_of_ground(without_draft ? sums_of(options.prior, units) : map.unit_areas_m2());

    progress.stage("learning soil signatures", 0);
    std::vector<Point> places;
    for (const model::Stop& stop : survey.stops) places.push_back(stop.position);
    Blocks blocks = divide_into_blocks(places, survey.settings.block_m, 4 * survey.contact_sd_m);
    fit.block_m = blocks.side_m;
    Training training;
    training.units = units;
    training.folds = blocks.folds;
    training.fold_of_stop = std::move(blocks.fold_of_stop);
    auto relabel = [&] {
        training.responsibility = responsibilities(*reckoning, placement.membership, threads);
        training.shares = shares_of(training.responsibility, units);
    };
    relabel();
    JudgeChoice choice = choose_judges(survey, placement.membership, fit.stops);
    if (without_draft) choice.known_by = "observed bedrock";
    thin_out(choice.judges);
    fit.calibrated = choice.rock_seen;
    reckoning->channels = build_channels(survey, reduced, threads);
    ChannelWeights learnt = learn(*reckoning, training, choice.judges, threads);
    if (!survey.creep.empty() && !without_draft) {
        reckoning->separation = learn_separation(*reckoning, training.responsibility);
        fit.creep = choose_creep(*reckoning, map, threads);
        const auto followed =
            std::find_if(survey.creep.begin(), survey.creep.end(),
                         [&](const model::CreepPaths& paths) { return paths.length_m == fit.creep.length_m; });
        if (followed != survey.creep.end()) {
            reckoning->creep = &*followed;
            settle(place_stops(*reckoning, map, fit.stops, threads));
            relabel();
            leave_out_crept_soil(*reckoning, placement.membership, choice.judges);
            learnt = learn(*reckoning, training, choice.judges, threads);
            reckoning->separation = learn_separation(*reckoning, training.responsibility);
        }
    }

    const AnswerSettings settings;
    Testimony testimony;
    Reckoned reckoned;
    if (options.move_contacts && !without_draft) {
        progress.stage("learning the error of the contacts", 0);
        AnswerInput input;
        input.map = &map;
        input.units = units_told_apart(survey, map);
        for (const model::UnitIndex unit : input.units) input.shares.push_back(ground[static_cast<std::size_t>(unit)]);
        const double all = std::accumulate(input.shares.begin(), input.shares.end(), 0.0);
        for (double& share : input.shares) share /= all;
        input.draft_error_share = survey.settings.draft_error_share;
        input.traces = options.traces;
        input.threads = threads;
        input.stated_sd_m = survey.contact_sd_m;
        testimony = testify(*reckoning, training, fit.stops, input.units);
        reckoning->contact_sd_m = input.contact_sd_m =
            learn_contact_error(testimony, map, input.units, input.shares, survey.contact_sd_m, settings, threads);
        const auto relearn = [&](Placement next) {
            settle(std::move(next));
            relabel();
            learnt = learn(*reckoning, training, choice.judges, threads);
            testimony = testify(*reckoning, training, fit.stops, input.units);
        };
        relearn(place_stops(*reckoning, map, fit.stops, threads));

        progress.stage("asking whether contacts should move", 0);
        reckoned = move_draft(testimony, input, nullptr);
        if (!reckoned.shift.field.still()) {
            // Again with signatures learnt from the moved draft.
            const Placement as_drawn = placement;
            relearn(moved_placement(*reckoning, map, testimony, reckoned, as_drawn, threads));
            reckoned = move_draft(testimony, input, &reckoned.shift);
            relearn(moved_placement(*reckoning, map, testimony, reckoned, as_drawn, threads));
        }
        if (options.find_patches) {
            progress.stage("looking for areas drawn wrong", 0);
            add_areas(testimony, input, reckoned);
            if (share_in_other_areas(reckoned) > settings.areas_to_learn_from) {
                // Again with signatures learnt from the areas, and not from what the draft shows there.
                const StopShares as_moved = placement.membership;
                std::vector<float> shares = as_moved.table();
                take_rows(testimony, input.units, reckoned.prior, units, shares);
                relearn({StopShares(shares, units, threads), placement.origins});
                placement.membership = as_moved;
                reckoned = move_draft(testimony, input, &reckoned.shift);
                add_areas(testimony, input, reckoned);
            }
        }
        fit.answer = Answer(reckoned.state);
        fit.shift = std::move(reckoned.shift);
    }
    fit.contact_sd_m = zone_error_m(reckoning->contact_sd_m, survey.contact_sd_m, settings);

    reckoning->placed = std::move(placement.membership);
    if (!fit.answer.empty()) {
        reckoning->prior = priors_as_drawn(*reckoning, threads);
        for (std::size_t s = 0; s < fit.stops.size(); ++s)
            if (fit.stops[s].mapped_unit != model::no_unit)
                fit.answer.at(survey.stops[s].position, {&reckoning->prior[s * units], units});
        take_rows(testimony, reckoned.state->units, reckoned.prior, units, reckoning->prior);
    }
    // A prior kriged from observed bedrock already contains the answer, so it cannot be tested on it.
    if (!without_draft) {
        // Soil that moved the map near a stop is similar to the stop's own. So part of the stop's evidence is already
        // used.
        const bool spoken = !fit.shift.field.still() || !reckoned.as_moved.empty();
        reckoning->own_share = learn_own_share(*reckoning, spoken ? settings.own_soil_share : 1, settings);
    }
    fit.skill = {choice.known_by,       learnt.judges,   learnt.log_loss,
                 learnt.share_log_loss, learnt.accuracy, learnt.share_accuracy};
    std::vector<double> log_shares;
    for (const double share : training.shares) log_shares.push_back(std::log(share));
    fit.channels.resize(reckoning->channels.size());
    parallel_blocks(fit.channels.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t c = begin; c < end; ++c) {
            const Channel& channel = reckoning->channels[c];
            const Signature& signature = reckoning->signatures[c];
            fit.channels[c] = {channel.name,
                               channel.stops_with_value(),
                               reckoning->weights[c],
                               signature.bandwidth,
                               held_out_log_loss(signature, choice.judges, log_shares, learnt.weights[c]),
                               held_out_log_loss(signature, choice.judges, log_shares, 0)};
        }
    });

    progress.stage("judging stops", 0);
    score_stops(*reckoning, reckoning->placed, fit.stops, threads);
    fit.clusters = find_disputes(*reckoning, testimony, reckoned, fit.stops);
    const std::vector<std::uint8_t> unlike_any =
        judge_typicality(*reckoning, training.responsibility, fit.stops, threads);
    set_verdicts(*reckoning, unlike_any, fit.stops, threads, without_draft);
    fit.contacts = support_contacts(*reckoning, map, fit.stops, threads);
    reckoning->judges = std::move(choice.judges);
    reckoning->fold_of_stop = std::move(training.fold_of_stop);
    reckoning->log_shares = std::move(log_shares);
    fit.reckoning = std::move(reckoning);
    if (fit.skill.known_by == "observed bedrock") count_right(fit);
    return fit;
}

void ContactSupport::add(const ContactStop& near) {
    constexpr double speaks_from = 0.2;  // a stop with smaller log10 odds is no evidence
    stops.push_back(near);
    log10_odds_against += near.log10_odds_against;
    if (near.log10_odds_against > speaks_from) ++stops_against;
    if (near.log10_odds_against < -speaks_from) ++stops_for;
}

Review review_of(const ContactSupport& support) {
    if (support.stops_for + support.stops_against == 0) return Review::untested;
    // One strong stop may outweigh several weak ones, or the reverse. In both cases the contact is in doubt.
    const bool outnumbered = support.stops_against >= 3 && support.stops_against > support.stops_for;
    if (support.log10_odds_against >= 1 || outnumbered) return Review::doubtful;
    if (support.log10_odds_against <= -1) return Review::supported;
    // Three or more stops against it are enough. If about as many support it, the stops disagree.
    return support.stops_against >= 3 && 4 * support.stops_against >= 3 * support.stops_for ? Review::doubtful
                                                                                            : Review::untested;
}

}  // namespace subcrop::infer
