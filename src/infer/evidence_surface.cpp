#include "evidence_surface.hpp"

#include <algorithm>
#include <cmath>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

/// Weights of a Gaussian of standard deviation `sd` steps, out to three of them, normalised.
std::vector<double> gaussian_weights(double sd) {
    const int reach = std::max(1, static_cast<int>(std::ceil(3 * sd)));
    std::vector<double> weights;
    double sum = 0;
    for (int k = -reach; k <= reach; ++k) {
        weights.push_back(sd > 1e-6 ? std::exp(-0.5 * k * k / (sd * sd)) : (k == 0 ? 1.0 : 0.0));
        sum += weights.back();
    }
    for (double& w : weights) w /= sum;
    return weights;
}

/// Blurs a square image along both axes and keeps its middle `width` square.
void blur(const std::vector<double>& image, int size, const std::vector<double>& weights, int width,
          std::vector<double>& scratch, float* out) {
    const int reach = static_cast<int>(weights.size() / 2), from = (size - width) / 2;
    scratch.assign(static_cast<std::size_t>(size * width), 0.0);
    for (int row = 0; row < size; ++row) {
        for (int column = 0; column < width; ++column) {
            double sum = 0;
            for (int k = -reach; k <= reach; ++k) {
                const int source = std::clamp(from + column + k, 0, size - 1);
                sum += weights[static_cast<std::size_t>(k + reach)] * image[static_cast<std::size_t>(row * size + source)];
            }
            scratch[static_cast<std::size_t>(row * width + column)] = sum;
        }
    }
    for (int row = 0; row < width; ++row) {
        for (int column = 0; column < width; ++column) {
            double sum = 0;
            for (int k = -reach; k <= reach; ++k) {
                const int source = std::clamp(from + row + k, 0, size - 1);
                sum += weights[static_cast<std::size_t>(k + reach)] * scratch[static_cast<std::size_t>(source * width + column)];
            }
            out[row * width + column] = static_cast<float>(sum);
        }
    }
}

/// Cubic convolution (Keys 1981, IEEE Transactions on Acoustics, Speech, and Signal Processing 29:1153-1160, a = -1/2):
/// weights of four neighbours at fraction t, and their derivatives.
void cubic(double t, std::array<double, 4>& w, std::array<double, 4>& d) {
    const double t2 = t * t, t3 = t2 * t;
    w = {-0.5 * t + t2 - 0.5 * t3, 1 - 2.5 * t2 + 1.5 * t3, 0.5 * t + 2 * t2 - 1.5 * t3, -0.5 * t2 + 0.5 * t3};
    d = {-0.5 + 2 * t - 1.5 * t2, -5 * t + 4.5 * t2, 0.5 + 4 * t - 4.5 * t2, -t + 1.5 * t2};
}

}  // namespace

std::size_t EvidenceSurfaces::State::blur_index(double blur_m) const {
    std::size_t best = 0;
    for (std::size_t i = 1; i < blurs_m.size(); ++i) {
        if (std::abs(std::log(blurs_m[i] / blur_m)) < std::abs(std::log(blurs_m[best] / blur_m))) best = i;
    }
    return best;
}

double EvidenceSurfaces::State::sample(std::size_t witness, std::size_t blur_number, Point u, Point* gradient) const {
    const float* table = &tables[blur_number][witness * width * width];
    const double limit = 2 * half - 1e-9;
    const double x = std::clamp(u.x / step_m + half, 0.0, limit), y = std::clamp(u.y / step_m + half, 0.0, limit);
    const int column = static_cast<int>(x), row = static_cast<int>(y);
    std::array<double, 4> wx, dx, wy, dy;
    cubic(x - column, wx, dx);
    cubic(y - row, wy, dy);
    double value = 0, along_x = 0, along_y = 0;
    for (int j = 0; j < 4; ++j) {
        const int r = std::clamp(row + j - 1, 0, width - 1);
        double line = 0, slope = 0;
        for (int i = 0; i < 4; ++i) {
            const int c = std::clamp(column + i - 1, 0, width - 1);
            const double s = static_cast<double>(table[r * width + c]);
            line += wx[static_cast<std::size_t>(i)] * s;
            slope += dx[static_cast<std::size_t>(i)] * s;
        }
        value += wy[static_cast<std::size_t>(j)] * line;
        along_x += wy[static_cast<std::size_t>(j)] * slope;
        along_y += dy[static_cast<std::size_t>(j)] * line;
    }
    if (gradient) *gradient = {along_x / step_m, along_y / step_m};
    return value;
}

EvidenceSurfaces::EvidenceSurfaces(std::span<const Witness> witnesses, const geo::UnitRaster& raster,
                                   const ShiftFieldOptions& options, unsigned threads)
    : state(std::make_unique<State>()) {
    State& s = *state;
    const double amplitude = std::max(options.amplitude_m, 1e-3);
    s.step_m = 2.5 * amplitude / State::half;
    // Blurs from twice the amplitude, in which the optimiser sees far contacts, to what remains in the end.
    for (const double sd : {2 * amplitude, amplitude, std::hypot(options.residual_m, 0.5 * amplitude), options.residual_m}) {
        const double blur_m = std::max({sd, options.residual_m, 1e-3});
        if (s.blurs_m.empty() || blur_m < s.blurs_m.back()) s.blurs_m.push_back(blur_m);
    }
    constexpr std::size_t table_size = std::size_t{State::width} * State::width;
    for (std::size_t b = 0; b < s.blurs_m.size(); ++b) s.tables.emplace_back(witnesses.size() * table_size);

    const int margin = static_cast<int>(std::ceil(3 * s.blurs_m.front() / s.step_m));
    const int size = State::width + 2 * margin;
    parallel_blocks(witnesses.size(), 8, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<double> image(static_cast<std::size_t>(size * size)), scratch, likelihood;
        std::vector<model::UnitIndex> sources;
        for (std::size_t i = begin; i < end; ++i) {
            const Witness& witness = witnesses[i];
            // Likelihoods over their mean in the draft's ground, so that off the map nothing is said.
            const float greatest = *std::max_element(witness.log_likelihood.begin(), witness.log_likelihood.end());
            likelihood.clear();
            double pooled = 0;
            for (std::size_t u = 0; u < witness.log_likelihood.size(); ++u) {
                likelihood.push_back(std::exp(static_cast<double>(witness.log_likelihood[u] - greatest)));
                pooled += options.ground[u] * likelihood.back();
            }
            for (int row = 0; row < size; ++row) {
                for (int column = 0; column < size; ++column) {
                    const Point shift{(column - size / 2) * s.step_m, (row - size / 2) * s.step_m};
                    const model::UnitIndex unit = raster.at({witness.place.x + shift.x, witness.place.y + shift.y});
                    double& pixel = image[static_cast<std::size_t>(row * size + column)];
                    pixel = unit == model::no_unit ? pooled : likelihood[static_cast<std::size_t>(unit)];
                    if (witness.soil_from.empty()) continue;
                    sources.clear();
                    for (const Point& from : witness.soil_from) {
                        const model::UnitIndex source = raster.at({from.x + shift.x, from.y + shift.y});
                        sources.push_back(source == model::no_unit ? unit : source);
                    }
                    if (unit == model::no_unit) continue;
                    if (std::all_of(sources.begin(), sources.end(),
                                    [&](model::UnitIndex source) { return source == unit; }))
                        continue;
                    double blend = options.separation.log_scale(sources);
                    for (const model::UnitIndex source : sources) {
                        blend +=
                            static_cast<double>(witness.log_likelihood[static_cast<std::size_t>(source)] - greatest) /
                            static_cast<double>(sources.size());
                    }
                    pixel = std::exp(blend);
                }
            }
            for (std::size_t b = 0; b < s.blurs_m.size(); ++b) {
                float* table = &s.tables[b][i * table_size];
                const double sd = std::hypot(s.blurs_m[b], witness.position_sd_m);
                blur(image, size, gaussian_weights(sd / s.step_m), State::width, scratch, table);
                for (std::size_t k = 0; k < table_size; ++k) {
                    table[k] = static_cast<float>(std::log((1 - options.error_share) * static_cast<double>(table[k]) +
                                                           options.error_share * pooled) - std::log(pooled));
                }
            }
        }
    });
}

EvidenceSurfaces::~EvidenceSurfaces() = default;
EvidenceSurfaces::EvidenceSurfaces(EvidenceSurfaces&&) noexcept = default;

double EvidenceSurfaces::value(std::size_t witness, Point displacement, double blur_m) const {
    return state->sample(witness, state->blur_index(blur_m), displacement, nullptr);
}

}  // namespace subcrop::infer
