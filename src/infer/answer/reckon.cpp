#include <algorithm>
#include <cmath>
#include <cstdint>
#include <set>
#include <utility>

#include "infer/answer/answer_state.hpp"
#include "infer/answer/contact_error.hpp"
#include "infer/answer/stretch_evidence.hpp"
#include "infer/answer/stretch_shift.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// Probability of each unit at each stop on the moved draft. The stop's own effect on the displacement is removed:
/// draws that explain the stop well count less.
std::vector<float> moved_at_stops(const Testimony& testimony, const Seats& seats, const Seats& own_places,
                                  const std::vector<float>& likelihood, const std::vector<float>& as_drawn,
                                  const Answer::State& state, unsigned threads) {
    const std::size_t units = testimony.units;
    std::vector<float> result(testimony.size() * units);
    parallel_blocks(testimony.size(), 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<Point> drawn(state.draws.count());
        std::vector<float> one(units), share(units), sums(units);
        for (std::size_t i = begin; i < end; ++i) {
            float* p = &result[i * units];
            const float* c = &likelihood[i * units];
            const double trust = state.draws.at(testimony.place[i], drawn);
            for (std::size_t k = 0; k < units; ++k) p[k] = as_drawn[i * units + k];
            if (trust <= 0) continue;
            const double pooled = pooled_likelihood(state.shares, c);
            const Seats::Seat seat = own_places.of(i);
            std::fill(sums.begin(), sums.end(), 0.0f);
            for (const Point& u : drawn) {
                std::fill(share.begin(), share.end(), 0.0f);
                for (std::uint32_t g = 0; g < seat.places_of_group; ++g) {
                    const Point& place = own_places.place(seat.first_place + g);
                    state.as_moved->sample({place.x + u.x, place.y + u.y}, one);
                    for (std::size_t k = 0; k < units; ++k) share[k] += one[k];
                }
                const double fit =
                    std::exp(log_likelihood(*state.as_moved, seats, i, u, c, pooled, state.single_errors, nullptr));
                const auto weight = static_cast<float>(1 / std::max(fit, 1e-3));
                for (std::size_t k = 0; k < units; ++k) sums[k] += weight * share[k];
            }
            float sum = 0;
            for (std::size_t k = 0; k < units; ++k) sum += sums[k];
            for (std::size_t k = 0; k < units; ++k) {
                const double drafted = sum > 1e-9f ? static_cast<double>(sums[k] / sum) : state.shares[k];
                const double moved = state.with_single_errors(drafted, k);
                p[k] = static_cast<float>(trust * moved + (1 - trust) * static_cast<double>(p[k]));
            }
        }
    });
    return result;
}

/// The same on the draft as drawn, with contacts uncertain by their learnt error.
std::vector<float> drawn_at_stops(const Testimony& testimony, const AnswerInput& input, const Answer::State& state) {
    const std::size_t units = testimony.units;
    std::vector<float> result(testimony.size() * units);
    parallel_blocks(testimony.size(), 512, input.threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> membership(input.map->unit_count());
        for (std::size_t i = begin; i < end; ++i) {
            std::fill(membership.begin(), membership.end(), 0.0);
            input.map->membership(testimony.place[i], std::hypot(testimony.position_sd_m[i], state.contact_sd_m),
                                  membership);
            double on_map = 0;
            for (const model::UnitIndex unit : state.units) on_map += membership[static_cast<std::size_t>(unit)];
            for (std::size_t k = 0; k < units; ++k) {
                const double drafted =
                    on_map > 1e-6 ? membership[static_cast<std::size_t>(state.units[k])] / on_map : state.shares[k];
                result[i * units + k] = static_cast<float>(state.with_single_errors(drafted, k));
            }
        }
    });
    return result;
}

/// Square root of the area for each stop. Empty squares are not counted; a square is twice the mean distance over the
/// whole box.
double mean_stop_distance(std::span<const Point> places, const Box& box) {
    const double longer = std::max({box.width(), box.height(), 1.0});
    const double each = std::max(box.width(), 0.05 * longer) * std::max(box.height(), 0.05 * longer) /
                        static_cast<double>(std::max<std::size_t>(places.size(), 1));
    const double side = 2 * std::sqrt(each);
    std::set<std::pair<std::int64_t, std::int64_t>> taken;
    for (const Point& p : places)
        taken.emplace(static_cast<std::int64_t>((p.x - box.min_x) / side),
                      static_cast<std::int64_t>((p.y - box.min_y) / side));
    return std::sqrt(std::min(each, static_cast<double>(taken.size()) * side * side /
                                        static_cast<double>(std::max<std::size_t>(places.size(), 1))));
}

std::size_t observed_stops(const Testimony& testimony) {
    return static_cast<std::size_t>(
        std::count_if(testimony.observed.begin(), testimony.observed.end(), [](auto o) { return o != 0; }));
}

/// From this many places on, the field's covariance is computed once for all.
constexpr std::size_t many_stops = 20000;

struct Gain {
    double total = 0, error = 0;
};

/// Gain of one score over another, with its standard error from the sums over folds.
Gain gain_over(const std::vector<double>& score, const std::vector<double>& other,
               std::span<const std::uint16_t> fold) {
    std::vector<double> sums(fold.empty() ? 0 : *std::max_element(fold.begin(), fold.end()) + std::size_t{1}, 0.0);
    std::vector<std::uint8_t> used(sums.size(), 0);
    for (std::size_t i = 0; i < score.size(); ++i) {
        sums[fold[i]] += score[i] - other[i];
        used[fold[i]] = 1;
    }
    double n = 0, squares = 0;
    Gain gain;
    for (std::size_t b = 0; b < sums.size(); ++b) {
        if (!used[b]) continue;
        n += 1;
        gain.total += sums[b];
        squares += sums[b] * sums[b];
    }
    gain.error = n < 2 ? 1e300 : std::sqrt(std::max((squares - gain.total * gain.total / n) * n / (n - 1), 1e-12));
    return gain;
}

/// Uses the same stops for every displacement that is tried.
struct Tried {
    const Testimony& testimony;
    const Seats& seats;
    const StopBumps& bumps;
    const std::vector<float>& likelihood;
    const std::vector<double>& rest;  ///< ln likelihood of each stop by the draft as drawn
    BlurredDraft& draft;
    const AnswerSettings& settings;
};

/// Scores the stops of one fold by a displacement fitted without them.
void score_hidden(const Tried& tried, const DisplacementOptions& options, const BlurredDraft::Layer& layer,
                  std::size_t group, std::vector<double>& scores) {
    const Testimony& testimony = tried.testimony;
    std::vector<std::uint8_t> learns(testimony.size());
    std::vector<std::size_t> hidden;
    std::vector<Point> places;
    for (std::size_t i = 0; i < testimony.size(); ++i) {
        learns[i] = testimony.fold[i] % tried.settings.folds != group;
        if (learns[i]) continue;
        hidden.push_back(i);
        places.push_back(testimony.place[i]);
    }
    if (hidden.empty()) return;
    ShiftField field =
        fit_displacement(testimony, tried.seats, tried.bumps, tried.likelihood, tried.draft, options, learns, 1);
    if (field.still()) {
        for (const std::size_t i : hidden) scores[i] = tried.rest[i];
        return;
    }
    if (testimony.size() > many_stops) field.ready_for_many_places();
    const std::vector<double> trusts = field.state->trusts(places);
    const FewDraws draws(field, tried.settings.draws / 2, 1);
    std::vector<Point> drawn(draws.count());
    for (std::size_t h = 0; h < hidden.size(); ++h) {
        const std::size_t i = hidden[h];
        scores[i] = tried.rest[i];
        if (trusts[h] <= 0) continue;
        draws.at(field, testimony.place[i], drawn);
        const float* c = &tried.likelihood[i * testimony.units];
        const double pooled = pooled_likelihood(options.shares, c);
        double sum = 0;
        for (const Point& u : drawn)
            sum += std::exp(log_likelihood(layer, tried.seats, i, u, c, pooled, options.error_share, nullptr));
        scores[i] =
            std::log(trusts[h] * sum / static_cast<double>(drawn.size()) + (1 - trusts[h]) * std::exp(tried.rest[i]));
    }
}

/// ln likelihood of each stop, by a displacement fitted without its fold. It is mixed with the draft as drawn according
/// to its trust there. One list for each of `options`.
std::vector<std::vector<double>> hidden_scores(const Tried& tried, std::span<const DisplacementOptions> options,
                                               unsigned threads) {
    const double usual_sd = usual_position_sd(tried.testimony);
    std::vector<const BlurredDraft::Layer*> layers;
    for (const DisplacementOptions& one : options) {
        make_layers(tried.draft, one, usual_sd);
        layers.push_back(&tried.draft.layer(std::hypot(one.residual_m, usual_sd)));
    }
    std::vector<std::vector<double>> scores(options.size(), std::vector<double>(tried.testimony.size(), 0.0));
    const std::size_t folds = tried.settings.folds;
    parallel_blocks(options.size() * folds, 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t job = begin; job < end; ++job)
            score_hidden(tried, options[job / folds], *layers[job / folds], job % folds, scores[job / folds]);
    });
    return scores;
}

/// Whether a displacement predicts hidden stops better than the draft as drawn.
bool decide(const Testimony& testimony, const Seats& seats, const StopBumps& bumps,
            const std::vector<float>& likelihood, const BlurredDraft::Layer& as_drawn, BlurredDraft& draft,
            double stated_amplitude_m, DisplacementOptions& options, const AnswerSettings& settings, unsigned threads,
            ShiftChoice& choice) {
    std::vector<double> rest(testimony.size());
    for (std::size_t i = 0; i < testimony.size(); ++i) {
        const float* c = &likelihood[i * testimony.units];
        const double pooled = pooled_likelihood(options.shares, c);
        rest[i] = log_likelihood(as_drawn, seats, i, {}, c, pooled, options.error_share, nullptr);
    }
    const std::size_t observed = observed_stops(testimony);
    choice.decided_by = observed > 0 ? "soil and observed bedrock" : "soil";
    const Tried tried{testimony, seats, bumps, likelihood, rest, draft, settings};
    std::vector<DisplacementOptions> sizes(2, options);
    sizes[1].amplitude_m = stated_amplitude_m;
    const std::vector<std::vector<double>> scores = hidden_scores(tried, sizes, threads);
    Gain gain = gain_over(scores[0], rest, testimony.fold);
    const Gain other = gain_over(scores[1], rest, testimony.fold);
    if (other.total > gain.total) {
        gain = other;
        options.amplitude_m = stated_amplitude_m;
    }
    choice.amplitude_m = options.amplitude_m;
    choice.reach_m = options.reach_m;
    choice.trace_gain = trace_evidence(testimony, options);
    if (!options.traces.empty()) {
        // Wrong attitudes would pull contacts away from the evidence of hidden stops. Such traces are refused.
        const auto traces = std::exchange(options.traces, {});
        const Gain without = gain_over(hidden_scores(tried, {&options, 1}, threads).front(), rest, testimony.fold);
        choice.beds_refused = without.total - gain.total > std::max(1.0, 0.5 * without.error);
        if (choice.beds_refused) {
            gain = without;
            choice.trace_gain = 0;
        } else {
            options.traces = traces;
        }
    }
    choice.gain = gain.total;
    choice.gain_error = gain.error;
    const double needed = observed >= settings.min_observed ? settings.gain_needed : settings.gain_needed_by_soil;
    return gain.total + choice.trace_gain > std::max(needed * gain.error, settings.min_gain);
}

std::vector<MisplacedStretch> misplaced_stretches(const Testimony& testimony, const Seats& seats,
                                                  const AnswerInput& input, const Answer::State& state) {
    StretchInput asked;
    asked.stated_sd_m = input.stated_sd_m;
    asked.error_share = state.single_errors;
    asked.shares = state.shares;
    asked.settings = input.settings;
    const auto likelihood = testimony.likelihoods(testimony.soil, input.settings.stretch_soil_share);
    return find_misplaced_stretches(testimony, seats, likelihood, *state.as_moved, *input.map, asked, input.threads);
}

}  // namespace

Reckoned move_draft(const Testimony& testimony, const AnswerInput& input, const ShiftChoice* decided) {
    const AnswerSettings& settings = input.settings;
    Reckoned result;
    result.state = std::make_shared<Answer::State>();
    Answer::State& state = *result.state;
    state.settings = settings;
    state.units = input.units;
    state.shares = input.shares;
    state.contact_sd_m = input.contact_sd_m;
    state.area_share = settings.wrong_areas * input.draft_error_share;
    state.single_errors =
        input.draft_error_share - (observed_stops(testimony) < settings.min_observed ? 0 : state.area_share);
    state.area_means = PriorMeans(settings.area_sd);
    state.rest_means = PriorMeans(std::sqrt(2.0) * settings.residual_sd);

    Box box;
    for (const Point& place : testimony.place) box.add(place);
    const double extent = std::max({box.width(), box.height(), 1.0});
    state.stop_distance_m = mean_stop_distance(testimony.place, box);
    DisplacementOptions options;
    options.amplitude_m = settings.amplitude * input.contact_sd_m;
    options.reach_m = settings.reach * extent;
    options.residual_m =
        std::min(std::max(settings.residual * input.contact_sd_m, settings.min_residual_m), input.contact_sd_m);
    options.error_share = state.single_errors;
    options.shares = state.shares;
    options.traces = input.traces;
    const double usual_sd = usual_position_sd(testimony);
    state.draft.emplace(*input.map, input.units, 0.5 * std::hypot(options.residual_m, usual_sd), 3 * input.contact_sd_m,
                        input.threads);
    state.as_drawn = &state.draft->layer(std::hypot(input.contact_sd_m, usual_sd));
    state.as_moved = &state.draft->layer(std::hypot(options.residual_m, usual_sd));
    state.about = &state.draft->layer(settings.area_reach * state.stop_distance_m);

    result.moved = drawn_at_stops(testimony, input, state);
    if (decided) {
        result.shift.decided_by = decided->decided_by;
        result.shift.amplitude_m = options.amplitude_m = decided->amplitude_m;
        result.shift.reach_m = options.reach_m;
        result.shift.gain = decided->gain;
        result.shift.gain_error = decided->gain_error;
        result.shift.trace_gain = decided->trace_gain;
        result.shift.beds_refused = decided->beds_refused;
        if (decided->beds_refused) options.traces = {};
    }
    if (testimony.size() >= settings.min_stops && (!decided || !decided->field.still())) {
        const Seats seats(testimony, usual_sd, true), own_places(testimony, usual_sd, false);
        const std::vector<float> likelihood = testimony.likelihoods(testimony.soil, settings.displacement_soil_share);
        const StopBumps bumps(testimony, options.reach_m, options.longer_share, input.threads);
        const bool move =
            decided || decide(testimony, seats, bumps, likelihood, *state.as_drawn, *state.draft,
                              settings.amplitude * input.stated_sd_m, options, settings, input.threads, result.shift);
        if (!move) result.shift.stretches = misplaced_stretches(testimony, seats, input, state);
        if (decided) result.shift.stretches = decided->stretches;
        const bool by_stretch = !result.shift.stretches.empty();
        if (move || by_stretch) {
            const double zone_m = zone_error_m(input.contact_sd_m, input.stated_sd_m, settings);
            result.shift.field =
                by_stretch
                    ? slide_stretches(result.shift.stretches, testimony.place, input.stated_sd_m, zone_m,
                                      zone_residual_m(options.residual_m, zone_m, input.stated_sd_m, settings),
                                      options.residual_m)
                    : fit_displacement(testimony, seats, bumps, likelihood, *state.draft, options, {}, input.threads);
            result.shift.field.ready_for_many_places(input.threads);
            result.shift.beds_followed = !options.traces.empty();
            state.draws = DisplacementDraws(result.shift.field, settings.draws, 1, input.threads);
            result.moved = moved_at_stops(testimony, seats, own_places, likelihood, result.moved, state, input.threads);
        }
    }
    result.prior = result.moved;
    return result;
}

void add_areas(const Testimony& testimony, const AnswerInput& input, Reckoned& reckoned) {
    const AnswerSettings& settings = input.settings;
    Answer::State& state = *reckoned.state;
    const std::size_t units = testimony.units, n = testimony.size();
    if (observed_stops(testimony) < settings.min_observed) return;
    const std::vector<float> likelihood = testimony.likelihoods(testimony.soil_below, settings.area_soil_share);

    // Class 0 is the draft with all errors of its contacts, so these errors do not look like a dispute.
    std::vector<float> evidence(n * (units + 1));
    for (std::size_t i = 0; i < n; ++i) {
        float as_moved = 0;
        for (std::size_t k = 0; k < units; ++k) {
            as_moved += reckoned.moved[i * units + k] * likelihood[i * units + k];
            evidence[i * (units + 1) + k + 1] = likelihood[i * units + k];
        }
        evidence[i * (units + 1)] = std::max(as_moved, 1e-9f);
    }
    CategoryFieldOptions options;
    options.sd = settings.area_sd;
    options.reach_m = settings.area_reach * state.stop_distance_m;
    options.classes = units + 1;
    options.anchors = 1;
    options.draws = settings.draws;
    options.typical_mean = state.area_means(state.area_share);
    state.areas = CategoryField(
        testimony.place, evidence, options,
        [&](double error_share, std::vector<float>& means) {
            for (std::size_t i = 0; i < n; ++i)
                state.means_of_areas(testimony.place[i], {&reckoned.moved[i * units], units},
                                     std::max(error_share, state.area_share), {&means[i * (units + 1)], units + 1});
        },
        input.threads);
    reckoned.as_moved.resize(n);
    reckoned.areas.resize(n * units);
    for (std::size_t i = 0; i < n; ++i) {
        const float* share = &state.areas.at_stops()[i * (units + 1)];
        reckoned.as_moved[i] = share[0];
        for (std::size_t k = 0; k < units; ++k) {
            reckoned.areas[i * units + k] = share[k + 1];
            reckoned.prior[i * units + k] = share[0] * reckoned.moved[i * units + k] + share[k + 1];
        }
    }
    if (!reckoned.shift.field.still() && reckoned.shift.stretches.empty()) return;

    const std::vector<float> before = reckoned.prior;
    options.sd = settings.residual_sd;
    options.reach_m = settings.residual_reach * state.stop_distance_m;
    options.classes = units;
    options.anchors = 0;
    state.rest = CategoryField(
        testimony.place, likelihood, options,
        [&](double error_share, std::vector<float>& means) {
            for (std::size_t i = 0; i < n; ++i)
                state.means_of_rest(testimony.place[i], {&before[i * units], units},
                                    std::max(error_share, state.area_share), {&means[i * units], units});
        },
        input.threads);
    reckoned.prior = state.rest.at_stops();
}

}  // namespace subcrop::infer
