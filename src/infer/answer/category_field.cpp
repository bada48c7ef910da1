#include "infer/answer/category_field.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <tuple>

#include "infer/statistics/random_draw.hpp"
#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

using Eigen::Index;
using Eigen::VectorXd;

namespace {

constexpr int max_steps = 45;
constexpr int max_solver_steps = 60;
constexpr std::size_t block = 1024;
/// Minimum share of errors in each stage of the search. Without the first two stages, areas that are wrong as a whole
/// are missed.
constexpr std::array<double, 3> stages{0.3, 0.1, 0};

/// Sums of exponentials, and the classes' shares.
double softmax(const float* eta, std::size_t classes, float* share) {
    float greatest = eta[0];
    for (std::size_t c = 1; c < classes; ++c) greatest = std::max(greatest, eta[c]);
    float sum = 0;
    for (std::size_t c = 0; c < classes; ++c) sum += share[c] = std::exp(eta[c] - greatest);
    const float scale = 1 / sum;
    for (std::size_t c = 0; c < classes; ++c) share[c] *= scale;
    return static_cast<double>(greatest) + std::log(static_cast<double>(sum));
}

struct Bumps {
    std::vector<std::uint32_t> first{0}, node;
    std::vector<float> value;
    void add(const std::vector<DisplacementBasis::Term>& terms) {
        for (const auto& term : terms) {
            node.push_back(term.node);
            value.push_back(static_cast<float>(term.value));
        }
        first.push_back(static_cast<std::uint32_t>(node.size()));
    }
};

}  // namespace

PriorMeans::PriorMeans(double spread) {
    // Mean of the logistic over a normal, by the trapezoid rule over z in +-6, on 1,500 values of m.
    constexpr int count = 1500, nodes = 97;
    const double far = 14 * std::max(1.0, std::sqrt(1 + spread * spread / 3.3));
    std::array<double, nodes> z{}, weight{};
    double total = 0;
    for (int j = 0; j < nodes; ++j) {
        z[static_cast<std::size_t>(j)] = -6 + 12.0 * j / (nodes - 1);
        total += weight[static_cast<std::size_t>(j)] =
            std::exp(-0.5 * z[static_cast<std::size_t>(j)] * z[static_cast<std::size_t>(j)]);
    }
    for (int i = 0; i < count; ++i) {
        const double m = -far + far * i / (count - 1);
        double sum = 0;
        for (std::size_t j = 0; j < nodes; ++j) sum += weight[j] / total / (1 + std::exp(-m - spread * z[j]));
        log_probability_.push_back(std::log(sum));
        mean_.push_back(m);
    }
}

float PriorMeans::operator()(double probability) const {
    if (probability >= 0.5) return 0;
    const double wanted = std::log(std::max(probability, 1e-300));
    const auto above = std::lower_bound(log_probability_.begin(), log_probability_.end(), wanted);
    if (above == log_probability_.begin()) return static_cast<float>(mean_.front());
    if (above == log_probability_.end()) return static_cast<float>(mean_.back());
    const auto i = static_cast<std::size_t>(above - log_probability_.begin());
    const double t = (wanted - log_probability_[i - 1]) / (log_probability_[i] - log_probability_[i - 1]);
    return static_cast<float>(std::lerp(mean_[i - 1], mean_[i], t));
}

CategoryField::CategoryField(std::span<const Point> places, const std::vector<float>& evidence,
                             const CategoryFieldOptions& options,
                             const std::function<void(double, std::vector<float>&)>& prior_means, unsigned threads)
    : classes_(options.classes), anchors_(options.anchors), draws_(2 * ((options.draws + 1) / 2)) {
    const std::size_t n = places.size(), free = classes_ - anchors_;
    const auto sd = static_cast<float>(options.sd);
    Box box;
    for (const Point& place : places) box.add(place);
    const DisplacementBasis basis(box, options.reach_m, 0);
    Bumps bumps;
    std::vector<DisplacementBasis::Term> terms;
    for (const Point& place : places) {
        basis.at(place, terms);
        bumps.add(terms);
    }
    std::vector<float> log_evidence(evidence.size());
    for (std::size_t i = 0; i < evidence.size(); ++i) log_evidence[i] = std::log(std::max(evidence[i], 1e-30f));

    const auto size = static_cast<Index>(basis.size() * free);
    const std::size_t blocks = (n + block - 1) / block;
    std::vector<float> means(n * classes_), scores(n * classes_);
    std::vector<VectorXd> part(blocks);
    std::vector<double> part_value(blocks);
    /// T g of every class at a stop.
    const auto preferences = [&](std::size_t i, const VectorXd& v, float* eta) {
        for (std::size_t c = 0; c < free; ++c) eta[c] = 0;
        for (std::uint32_t b = bumps.first[i]; b < bumps.first[i + 1]; ++b) {
            const double* node = v.data() + static_cast<std::size_t>(bumps.node[b]) * free;
            for (std::size_t c = 0; c < free; ++c) eta[c] += bumps.value[b] * static_cast<float>(node[c]);
        }
        for (std::size_t c = 0; c < free; ++c) eta[c] *= sd;
    };
    /// Adds `value` (one for each class) to the nodes around a stop.
    const auto spread = [&](std::size_t i, const float* value, VectorXd& into) {
        for (std::uint32_t b = bumps.first[i]; b < bumps.first[i + 1]; ++b) {
            double* node = into.data() + static_cast<std::size_t>(bumps.node[b]) * free;
            for (std::size_t c = 0; c < free; ++c) node[c] += static_cast<double>(bumps.value[b] * value[c]);
        }
    };
    const auto negative_log_posterior = [&](const VectorXd& v, VectorXd& gradient) {
        parallel_blocks(n, block, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            VectorXd& own = part[begin / block];
            own.setZero(size);
            double value = 0;
            std::vector<float> eta(classes_), prior(classes_), after(classes_);
            for (std::size_t i = begin; i < end; ++i) {
                preferences(i, v, eta.data() + anchors_);
                for (std::size_t c = 0; c < anchors_; ++c) eta[c] = 0;
                for (std::size_t c = 0; c < classes_; ++c) eta[c] += means[i * classes_ + c];
                value += softmax(eta.data(), classes_, prior.data());
                for (std::size_t c = 0; c < classes_; ++c) eta[c] += log_evidence[i * classes_ + c];
                value -= softmax(eta.data(), classes_, after.data());
                float most = 0;
                for (std::size_t c = 0; c < classes_; ++c) {
                    const float score = scores[i * classes_ + c] = after[c] - prior[c];
                    after[c] = -sd * score;
                    most = std::max(most, std::abs(score));
                }
                if (most > 1e-7f) spread(i, after.data() + anchors_, own);
            }
            part_value[begin / block] = value;
        });
        double value = 0.5 * v.squaredNorm();
        gradient = v;
        for (std::size_t b = 0; b < blocks; ++b) {
            value += part_value[b];
            gradient += part[b];
        }
        return value;
    };

    // The search starts with wide priors and narrows them. A second search starts from zero with the given prior. The
    // better one is kept.
    VectorXd mode = VectorXd::Zero(size);
    for (const double stage : stages) {
        prior_means(stage, means);
        search_ = minimise(negative_log_posterior, mode, max_steps);
    }
    VectorXd plain = VectorXd::Zero(size);
    const Minimum from_nothing = minimise(negative_log_posterior, plain, max_steps);
    if (from_nothing.value < search_.value) {
        search_ = from_nothing;
        mode = plain;
    }
    VectorXd ignored;
    negative_log_posterior(mode, ignored);  // computes the scores at the mode

    // Stops with zero score change no draw.
    std::vector<std::uint32_t> scored;
    for (std::size_t i = 0; i < n; ++i) {
        float most = 0;
        for (std::size_t c = anchors_; c < classes_; ++c) most = std::max(most, std::abs(scores[i * classes_ + c]));
        if (most > 1e-4f) scored.push_back(static_cast<std::uint32_t>(i));
    }
    // Each draws noise in turn. Its turn is by place, so that the order of rows does not matter.
    std::sort(scored.begin(), scored.end(), [&](std::uint32_t a, std::uint32_t b) {
        return std::tuple(places[a].x, places[a].y, scores[a * classes_], a) <
               std::tuple(places[b].x, places[b].y, scores[b * classes_], b);
    });
    VectorXd diagonal = VectorXd::Ones(size);
    for (const std::uint32_t i : scored) {
        for (std::uint32_t b = bumps.first[i]; b < bumps.first[i + 1]; ++b) {
            for (std::size_t c = 0; c < free; ++c) {
                const double j = static_cast<double>(sd * bumps.value[b] * scores[i * classes_ + anchors_ + c]);
                diagonal[static_cast<Index>(bumps.node[b] * free + c)] += j * j;
            }
        }
    }
    /// Row of a stop times `x`: dot product of its score with T g.
    const auto row_dot = [&](std::size_t i, const VectorXd& x) {
        const float* score = &scores[i * classes_ + anchors_];
        double sum = 0;
        for (std::uint32_t b = bumps.first[i]; b < bumps.first[i + 1]; ++b) {
            const double* node = x.data() + static_cast<std::size_t>(bumps.node[b]) * free;
            double dot = 0;
            for (std::size_t c = 0; c < free; ++c) dot += static_cast<double>(score[c]) * node[c];
            sum += static_cast<double>(bumps.value[b]) * dot;
        }
        return static_cast<double>(sd) * sum;
    };
    const auto add_row = [&](std::size_t i, double factor, VectorXd& into) {
        const float* score = &scores[i * classes_ + anchors_];
        for (std::uint32_t b = bumps.first[i]; b < bumps.first[i + 1]; ++b) {
            double* node = into.data() + static_cast<std::size_t>(bumps.node[b]) * free;
            const double scaled = factor * static_cast<double>(sd * bumps.value[b]);
            for (std::size_t c = 0; c < free; ++c) node[c] += scaled * static_cast<double>(score[c]);
        }
    };
    std::vector<VectorXd> off(draws_ / 2);
    parallel_blocks(off.size(), 1, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t d = begin; d < end; ++d) {
            RandomDraw draw(options.seed * 7919 + d);
            VectorXd right(size);
            for (Index k = 0; k < size; ++k) right[k] = draw.normal();
            for (const std::uint32_t i : scored) add_row(i, draw.normal(), right);
            VectorXd x = right.cwiseQuotient(diagonal);
            const auto times = [&](const VectorXd& p) {
                VectorXd result = p;
                for (const std::uint32_t i : scored) add_row(i, row_dot(i, p), result);
                return result;
            };
            VectorXd residual = right - times(x), z = residual.cwiseQuotient(diagonal), p = z;
            double rz = residual.dot(z);
            const double enough = 1e-3 * right.norm();
            for (int step = 0; step < max_solver_steps && residual.norm() > enough; ++step) {
                const VectorXd q = times(p);
                const double alpha = rz / std::max(p.dot(q), 1e-300);
                x += alpha * p;
                residual -= alpha * q;
                z = residual.cwiseQuotient(diagonal);
                const double next = residual.dot(z);
                p = z + (next / std::max(rz, 1e-300)) * p;
                rz = next;
            }
            off[d] = std::move(x);
        }
    });
    std::vector<VectorXd> drawn;
    for (const VectorXd& x : off) {
        drawn.push_back(mode + x);
        drawn.push_back(mode - x);
    }

    // Each stop's own evidence is removed: draws that fit the stop well count less.
    at_stops_.resize(n * classes_);
    parallel_blocks(n, block, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<float> eta(classes_), share(classes_);
        for (std::size_t i = begin; i < end; ++i) {
            float* sums = &at_stops_[i * classes_];
            std::fill(sums, sums + classes_, 0.0f);
            float total = 0;
            for (const VectorXd& v : drawn) {
                preferences(i, v, eta.data() + anchors_);
                for (std::size_t c = 0; c < anchors_; ++c) eta[c] = 0;
                for (std::size_t c = 0; c < classes_; ++c) eta[c] += means[i * classes_ + c];
                softmax(eta.data(), classes_, share.data());
                float fit = 0;
                for (std::size_t c = 0; c < classes_; ++c) fit += share[c] * evidence[i * classes_ + c];
                const float weight = 1 / std::max(fit, 1e-3f);
                for (std::size_t c = 0; c < classes_; ++c) sums[c] += weight * share[c];
                total += weight;
            }
            for (std::size_t c = 0; c < classes_; ++c) sums[c] /= total;
        }
    });

    spacing_m_ = options.reach_m / 5;
    west_ = box.min_x - options.reach_m;
    south_ = box.min_y - options.reach_m;
    columns_ = 2 + static_cast<std::size_t>((box.width() + 2 * options.reach_m) / spacing_m_);
    rows_ = 2 + static_cast<std::size_t>((box.height() + 2 * options.reach_m) / spacing_m_);
    values_.assign(columns_ * rows_ * draws_ * free, 0.0f);
    typical_share_.assign(columns_ * rows_, 0.0f);
    parallel_blocks(columns_ * rows_, 256, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<DisplacementBasis::Term> at_node;
        for (std::size_t i = begin; i < end; ++i) {
            basis.at({west_ + spacing_m_ * static_cast<double>(i % columns_),
                      south_ + spacing_m_ * static_cast<double>(i / columns_)},
                     at_node);
            for (std::size_t d = 0; d < draws_; ++d) {
                float* into = &values_[(i * draws_ + d) * free];
                for (const auto& term : at_node) {
                    const double* node = drawn[d].data() + static_cast<std::size_t>(term.node) * free;
                    for (std::size_t c = 0; c < free; ++c) into[c] += static_cast<float>(term.value * node[c]);
                }
                float others = 0;
                for (std::size_t c = 0; c < free; ++c)
                    others += std::exp(std::min(options.typical_mean + (into[c] *= sd), 20.0f));
                typical_share_[i] += others / (1 + others) / static_cast<float>(draws_);
            }
        }
    });
}

bool CategoryField::quiet(Point place) const {
    const double x = (place.x - west_) / spacing_m_, y = (place.y - south_) / spacing_m_;
    if (!(x >= 0 && y >= 0 && x < static_cast<double>(columns_ - 1) && y < static_cast<double>(rows_ - 1))) return true;
    const std::size_t corner = static_cast<std::size_t>(y) * columns_ + static_cast<std::size_t>(x);
    return std::max({typical_share_[corner], typical_share_[corner + 1], typical_share_[corner + columns_],
                     typical_share_[corner + columns_ + 1]}) < 0.02f;
}

void CategoryField::at(Point place, std::span<const float> means, std::span<float> probability) const {
    std::fill(probability.begin(), probability.end(), 0.0f);
    const double x = (place.x - west_) / spacing_m_, y = (place.y - south_) / spacing_m_;
    if (!(x >= 0 && y >= 0 && x < static_cast<double>(columns_ - 1) && y < static_cast<double>(rows_ - 1))) {
        softmax(means.data(), classes_, probability.data());
        return;
    }
    const auto column = static_cast<std::size_t>(x), row = static_cast<std::size_t>(y);
    const auto right = static_cast<float>(x - static_cast<double>(column)),
               up = static_cast<float>(y - static_cast<double>(row));
    const float sw = (1 - right) * (1 - up), se = right * (1 - up), nw = (1 - right) * up, ne = right * up;
    const std::size_t free = classes_ - anchors_, step = draws_ * free;
    const float* a = &values_[(row * columns_ + column) * step];
    const float* b = a + columns_ * step;
    std::array<float, 64> eta_small{}, share_small{};
    std::vector<float> eta_large(classes_ > 64 ? classes_ : 0), share_large(eta_large.size());
    float* eta = classes_ > 64 ? eta_large.data() : eta_small.data();
    float* share = classes_ > 64 ? share_large.data() : share_small.data();
    for (std::size_t d = 0; d < draws_; ++d) {
        for (std::size_t c = 0; c < anchors_; ++c) eta[c] = means[c];
        for (std::size_t c = 0; c < free; ++c) {
            const std::size_t i = d * free + c;
            eta[anchors_ + c] = means[anchors_ + c] + sw * a[i] + se * a[step + i] + nw * b[i] + ne * b[step + i];
        }
        softmax(eta, classes_, share);
        for (std::size_t c = 0; c < classes_; ++c) probability[c] += share[c];
    }
    for (float& p : probability) p /= static_cast<float>(draws_);
}

}  // namespace subcrop::infer
