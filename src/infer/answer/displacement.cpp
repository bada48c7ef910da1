#include "infer/answer/displacement.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <memory>
#include <utility>

#include "infer/answer/minimise.hpp"
#include "infer/answer/smooth_shift.hpp"
#include "infer/answer/trace_prior.hpp"
#include "infer/statistics/random_draw.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

namespace {

/// Stages of the search: extra blur of the draft (in amplitudes) and minimum share of single errors. The first is wide,
/// so that a stop far on the wrong side of a contact still pulls it.
struct Stage {
    double blur, error_share;
};
constexpr std::array<Stage, 4> stages{{{1.6, 0.3}, {0.6, 0.15}, {0, 0.08}, {0, 0}}};
constexpr int max_steps = 100;

double stage_blur(const Stage& stage, const DisplacementOptions& options, double usual_position_sd_m) {
    return std::hypot(options.residual_m, stage.blur * options.amplitude_m, usual_position_sd_m);
}

}  // namespace

double usual_position_sd(const Testimony& testimony) {
    std::vector<double> errors = testimony.position_sd_m;
    if (errors.empty()) return 0;
    const auto middle = errors.begin() + static_cast<std::ptrdiff_t>(errors.size() / 2);
    std::nth_element(errors.begin(), middle, errors.end());
    return *middle;
}

Seats::Seats(const Testimony& testimony, double usual_position_sd_m, bool blends) {
    for (std::size_t i = 0; i < testimony.size(); ++i) {
        // Four places with the variance that the blur lacks. Position errors up to 1.5 times the usual one need no
        // extra places.
        const double sd = testimony.position_sd_m[i];
        const bool badly_known = sd > 1.5 * usual_position_sd_m;
        const double apart = badly_known ? std::sqrt(2 * (sd * sd - usual_position_sd_m * usual_position_sd_m)) : 0;
        const bool blended = blends && !testimony.soil_from[i].empty() && !testimony.observed[i];
        const std::vector<Point> own{testimony.place[i]};
        const std::vector<Point>& groups = blended ? testimony.soil_from[i] : own;
        seats_.push_back({static_cast<std::uint32_t>(places_.size()), badly_known ? 4u : 1u,
                          static_cast<std::uint32_t>(groups.size())});
        for (const Point& p : groups) {
            if (!badly_known) {
                places_.push_back(p);
                continue;
            }
            places_.insert(places_.end(),
                           {{p.x + apart, p.y}, {p.x - apart, p.y}, {p.x, p.y + apart}, {p.x, p.y - apart}});
        }
    }
}

double log_likelihood(const BlurredDraft::Layer& layer, const Seats& seats, std::size_t stop, Point u,
                      const float* likelihood, double pooled, double error_share, Point* slope) {
    const Seats::Seat seat = seats.of(stop);
    double result = 0;
    if (slope) *slope = {};
    std::size_t number = seat.first_place;
    for (std::uint32_t g = 0; g < seat.groups; ++g) {
        double sum = 0;
        Point sum_slope;
        for (std::uint32_t p = 0; p < seat.places_of_group; ++p) {
            const Point& place = seats.place(number++);
            Point one;
            sum += layer.dot({place.x + u.x, place.y + u.y}, likelihood, one);
            sum_slope.x += one.x;
            sum_slope.y += one.y;
        }
        const double each = (1 - error_share) / seat.places_of_group;
        const double value = std::max(each * sum + error_share * pooled, 1e-12);
        result += std::log(value) / seat.groups;
        if (!slope) continue;
        slope->x += each * sum_slope.x / (value * seat.groups);
        slope->y += each * sum_slope.y / (value * seat.groups);
    }
    return result;
}

void make_layers(BlurredDraft& draft, const DisplacementOptions& options, double usual_position_sd_m) {
    for (const Stage& stage : stages) draft.layer(stage_blur(stage, options, usual_position_sd_m));
}

double trace_evidence(const Testimony& testimony, const DisplacementOptions& options) {
    if (options.traces.empty() || options.amplitude_m <= 0) return 0;
    Box box;
    for (const Point& place : testimony.place) box.add(place);
    const DisplacementBasis basis(box, options.reach_m, options.longer_share);
    return TracePrior(options.traces, basis, options.amplitude_m, box, options.reach_m).evidence();
}

StopBumps::StopBumps(const Testimony& testimony, double reach_m, double longer_share, unsigned threads) {
    for (const Point& place : testimony.place) box_.add(place);
    if (testimony.size() == 0) return;
    basis_ = DisplacementBasis(box_, reach_m, longer_share);
    const std::size_t stops = testimony.size();
    first_.assign(stops + 1, 0);
    const auto for_stops = [&](const auto& take) {
        parallel_blocks(stops, 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            std::vector<DisplacementBasis::Term> terms;
            for (std::size_t i = begin; i < end; ++i) {
                basis_.at(testimony.place[i], terms);
                take(i, terms);
            }
        });
    };
    for_stops([&](std::size_t i, const auto& terms) { first_[i + 1] = terms.size(); });
    for (std::size_t i = 0; i < stops; ++i) first_[i + 1] += first_[i];
    node_.resize(first_.back());
    value_.resize(first_.back());
    for_stops([&](std::size_t i, const auto& terms) {
        for (std::size_t k = 0; k < terms.size(); ++k) {
            node_[first_[i] + k] = terms[k].node;
            value_[first_[i] + k] = terms[k].value;
        }
    });
}

namespace {

/// A stop used to fit a displacement.
struct Taught {
    std::size_t stop;
    double pooled;
};

/// Displacement at each of the stops. Four independent sums are computed together, because a single sum would wait for
/// each addition.
void find_displacements(const StopBumps& bumps, std::span<const Taught> stops, double amplitude_m,
                        std::span<const Point> v, std::span<Point> result) {
    constexpr std::size_t abreast = 4;
    const auto add = [&](std::size_t stop, std::size_t from, std::size_t to, Point& u) {
        const std::uint32_t* nodes = bumps.nodes(stop).data();
        const double* values = bumps.values(stop).data();
        for (std::size_t k = from; k < to; ++k) {
            const double scaled = amplitude_m * values[k];
            u.x += scaled * v[nodes[k]].x;
            u.y += scaled * v[nodes[k]].y;
        }
    };
    std::size_t t = 0;
    for (; t + abreast <= stops.size(); t += abreast) {
        std::array<const std::uint32_t*, abreast> nodes{};
        std::array<const double*, abreast> values{};
        std::size_t shared = std::numeric_limits<std::size_t>::max();
        for (std::size_t j = 0; j < abreast; ++j) {
            nodes[j] = bumps.nodes(stops[t + j].stop).data();
            values[j] = bumps.values(stops[t + j].stop).data();
            shared = std::min(shared, bumps.nodes(stops[t + j].stop).size());
        }
        std::array<Point, abreast> u{};
        for (std::size_t k = 0; k < shared; ++k) {
            for (std::size_t j = 0; j < abreast; ++j) {
                const double scaled = amplitude_m * values[j][k];
                const Point& at = v[nodes[j][k]];
                u[j].x += scaled * at.x;
                u[j].y += scaled * at.y;
            }
        }
        for (std::size_t j = 0; j < abreast; ++j) {
            add(stops[t + j].stop, shared, bumps.nodes(stops[t + j].stop).size(), u[j]);
            result[t + j] = u[j];
        }
    }
    for (; t < stops.size(); ++t) {
        result[t] = {};
        add(stops[t].stop, 0, bumps.nodes(stops[t].stop).size(), result[t]);
    }
}

/// x and y of each node are stored next to each other, because stops read both.
std::vector<Point> paired(const VectorXd& v) {
    const auto n = static_cast<std::size_t>(v.size() / 2);
    std::vector<Point> result(n);
    for (std::size_t i = 0; i < n; ++i) result[i] = {v[static_cast<Index>(i)], v[static_cast<Index>(n + i)]};
    return result;
}

/// Adds the outer products of the stops' gradients to the lower half of `precision`. They replace the true curvature of
/// a stop's evidence, which may be negative.
void add_curvatures(const StopBumps& bumps, std::span<const Taught> stops, std::span<const Point> slopes,
                    double amplitude_m, MatrixXd& precision) {
    const Index n = precision.rows() / 2;
    std::vector<double> x, y;
    for (std::size_t t = 0; t < stops.size(); ++t) {
        const Point& slope = slopes[t];
        if (slope.x == 0 && slope.y == 0) continue;
        const auto nodes = bumps.nodes(stops[t].stop);
        const auto values = bumps.values(stops[t].stop);
        x.resize(nodes.size());
        y.resize(nodes.size());
        for (std::size_t k = 0; k < nodes.size(); ++k) {
            x[k] = slope.x * amplitude_m * values[k];
            y[k] = slope.y * amplitude_m * values[k];
        }
        for (std::size_t b = 0; b < nodes.size(); ++b) {
            double* of_x = &precision(0, nodes[b]);
            double* of_y = &precision(n, n + nodes[b]);
            for (std::size_t a = b; a < nodes.size(); ++a) {
                of_x[nodes[a]] += x[a] * x[b];
                of_y[nodes[a]] += y[a] * y[b];
            }
            double* across = &precision(n, nodes[b]);
            for (std::size_t a = 0; a < nodes.size(); ++a) across[nodes[a]] += y[a] * x[b];
        }
    }
}

}  // namespace

ShiftField fit_displacement(const Testimony& testimony, const Seats& seats, const StopBumps& bumps,
                            const std::vector<float>& likelihood, BlurredDraft& draft,
                            const DisplacementOptions& options, std::span<const std::uint8_t> learns,
                            unsigned threads) {
    ShiftField field;
    if (options.amplitude_m <= 0 || testimony.size() == 0) return field;
    auto made = std::make_unique<SmoothShift>();
    SmoothShift& s = *made;
    s.amplitude_m = options.amplitude_m;
    s.reach_m = options.reach_m;
    s.residual_m = options.residual_m;
    s.box = bumps.box();
    s.basis = bumps.basis();
    const Index n = s.nodes();
    const std::size_t units = testimony.units;
    const double usual_sd = usual_position_sd(testimony);

    std::vector<Taught> taught;
    for (std::size_t i = 0; i < testimony.size(); ++i) {
        if (!learns.empty() && !learns[i]) continue;
        taught.push_back({i, pooled_likelihood(options.shares, &likelihood[i * units])});
    }
    const TracePrior beds(options.traces, s.basis, options.amplitude_m, s.box, options.reach_m);
    // Gradients are summed block by block, so that the sum does not depend on the threads.
    constexpr std::size_t block = 1024;
    const std::size_t blocks = (taught.size() + block - 1) / block;
    std::vector<std::vector<Point>> part(blocks);
    std::vector<double> part_value(blocks);
    std::vector<Point> displacements(taught.size());
    s.v = VectorXd::Zero(2 * n);
    for (const Stage& stage : stages) {
        const BlurredDraft::Layer& layer = draft.layer(stage_blur(stage, options, usual_sd));
        const double error_share = std::max(stage.error_share, options.error_share);
        const auto negative_log_posterior = [&](const VectorXd& v, VectorXd& gradient) {
            const std::vector<Point> pairs = paired(v);
            parallel_blocks(taught.size(), block, threads, [&](std::size_t begin, std::size_t end, unsigned) {
                std::vector<Point>& own = part[begin / block];
                own.assign(static_cast<std::size_t>(n), {});
                find_displacements(bumps, {&taught[begin], end - begin}, s.amplitude_m, pairs,
                                   {&displacements[begin], end - begin});
                double value = 0;
                for (std::size_t t = begin; t < end; ++t) {
                    const Taught& one = taught[t];
                    Point slope;
                    value -= log_likelihood(layer, seats, one.stop, displacements[t], &likelihood[one.stop * units],
                                            one.pooled, error_share, &slope);
                    if (slope.x == 0 && slope.y == 0) continue;
                    const double x = slope.x * s.amplitude_m, y = slope.y * s.amplitude_m;
                    const auto nodes = bumps.nodes(one.stop);
                    const auto values = bumps.values(one.stop);
                    for (std::size_t k = 0; k < nodes.size(); ++k) {
                        own[nodes[k]].x -= x * values[k];
                        own[nodes[k]].y -= y * values[k];
                    }
                }
                part_value[begin / block] = value;
            });
            double value = 0.5 * v.squaredNorm();
            gradient = v;
            value += beds.value(v, gradient);
            for (std::size_t b = 0; b < blocks; ++b) {
                value += part_value[b];
                for (Index i = 0; i < n; ++i) {
                    gradient[i] += part[b][static_cast<std::size_t>(i)].x;
                    gradient[n + i] += part[b][static_cast<std::size_t>(i)].y;
                }
            }
            return value;
        };
        s.settled = minimise(negative_log_posterior, s.v, max_steps).settled;
    }

    const BlurredDraft::Layer& layer = draft.layer(stage_blur(stages.back(), options, usual_sd));
    find_displacements(bumps, taught, s.amplitude_m, paired(s.v), displacements);
    std::vector<Point> slopes(taught.size());
    for (std::size_t t = 0; t < taught.size(); ++t) {
        log_likelihood(layer, seats, taught[t].stop, displacements[t], &likelihood[taught[t].stop * units],
                       taught[t].pooled, options.error_share, &slopes[t]);
    }
    MatrixXd precision = MatrixXd::Identity(2 * n, 2 * n);
    if (!beds.empty()) precision += beds.matrix();
    add_curvatures(bumps, taught, slopes, s.amplitude_m, precision);
    s.precision.compute(precision);
    if (s.precision.info() != Eigen::Success) s.settled = false;
    field.state = std::move(made);
    return field;
}

FewDraws::FewDraws(const ShiftField& field, std::size_t count, std::uint64_t seed) {
    noise_.resize(field.state->noise_size(), static_cast<Index>((count + 1) / 2));
    RandomDraw draw(seed);
    for (Index column = 0; column < noise_.cols(); ++column)
        for (Index row = 0; row < noise_.rows(); ++row) noise_(row, column) = draw.normal();
    field.state->prepare(noise_);
}

void FewDraws::at(const ShiftField& field, Point place, std::span<Point> draws) const {
    field.state->draw(place, noise_, draws);
}

DisplacementDraws::DisplacementDraws(const ShiftField& field, std::size_t count, std::uint64_t seed, unsigned threads) {
    if (field.still()) return;
    const ShiftField::State& s = *field.state;
    const FewDraws few(field, count, seed);
    count_ = few.count();
    spacing_m_ = s.reach_m / 8;
    west_ = s.box.min_x - s.reach_m;
    south_ = s.box.min_y - s.reach_m;
    columns_ = 2 + static_cast<std::size_t>((s.box.width() + 2 * s.reach_m) / spacing_m_);
    rows_ = 2 + static_cast<std::size_t>((s.box.height() + 2 * s.reach_m) / spacing_m_);
    values_.resize(columns_ * rows_ * count_ * 2);
    trust_.resize(columns_ * rows_);
    parallel_blocks(columns_ * rows_, 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<Point> drawn(count_);
        for (std::size_t i = begin; i < end; ++i) {
            const Point place{west_ + spacing_m_ * static_cast<double>(i % columns_),
                              south_ + spacing_m_ * static_cast<double>(i / columns_)};
            trust_[i] = static_cast<float>(field.trust(place));
            few.at(field, place, drawn);
            for (std::size_t d = 0; d < count_; ++d) {
                values_[(i * count_ + d) * 2] = static_cast<float>(drawn[d].x);
                values_[(i * count_ + d) * 2 + 1] = static_cast<float>(drawn[d].y);
            }
        }
    });
}

double DisplacementDraws::at(Point place, std::span<Point> draws) const {
    if (count_ == 0) return 0;
    const double x = (place.x - west_) / spacing_m_, y = (place.y - south_) / spacing_m_;
    if (!(x >= 0 && y >= 0 && x < static_cast<double>(columns_ - 1) && y < static_cast<double>(rows_ - 1))) return 0;
    const auto column = static_cast<std::size_t>(x), row = static_cast<std::size_t>(y);
    const auto right = static_cast<float>(x - static_cast<double>(column)),
               up = static_cast<float>(y - static_cast<double>(row));
    const float sw = (1 - right) * (1 - up), se = right * (1 - up), nw = (1 - right) * up, ne = right * up;
    const std::size_t step = count_ * 2;
    const float* a = &values_[(row * columns_ + column) * step];
    const float* b = a + columns_ * step;
    for (std::size_t d = 0; d < count_; ++d) {
        const std::size_t i = 2 * d;
        draws[d] = {static_cast<double>(sw * a[i] + se * a[step + i] + nw * b[i] + ne * b[step + i]),
                    static_cast<double>(sw * a[i + 1] + se * a[step + i + 1] + nw * b[i + 1] + ne * b[step + i + 1])};
    }
    const float* t = &trust_[row * columns_ + column];
    return static_cast<double>(sw * t[0] + se * t[1] + nw * t[columns_] + ne * t[columns_ + 1]);
}

}  // namespace subcrop::infer
