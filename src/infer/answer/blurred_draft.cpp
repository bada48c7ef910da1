#include "infer/answer/blurred_draft.hpp"

#include <algorithm>
#include <cmath>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

namespace {

constexpr double max_planes = 50'000'000;  ///< cells x units, 4 bytes each

/// Half of a Gaussian's weights, from the middle outwards, cut at 3.5 standard deviations; the whole sums to one.
std::vector<float> gaussian_weights(double sd_cells) {
    const int reach = std::max(1, static_cast<int>(std::ceil(3.5 * sd_cells)));
    std::vector<double> weights;
    double sum = 0;
    for (int i = 0; i <= reach; ++i) {
        // The mean of the density over the cell, so that narrow blurs are exact too.
        const double scale = 1 / (std::sqrt(2.0) * std::max(sd_cells, 1e-3));
        weights.push_back(0.5 * (std::erf((i + 0.5) * scale) - std::erf((i - 0.5) * scale)));
        sum += (i == 0 ? 1 : 2) * weights.back();
    }
    std::vector<float> result;
    for (const double w : weights) result.push_back(static_cast<float>(w / sum));
    return result;
}

/// Blurs a plane along its rows, then along its columns.
void blur(std::vector<float>& plane, std::size_t columns, std::size_t rows, const std::vector<float>& weights) {
    const auto reach = static_cast<std::ptrdiff_t>(weights.size()) - 1;
    std::vector<float> padded(columns + 2 * static_cast<std::size_t>(reach), 0.0f), sums(columns);
    for (std::size_t row = 0; row < rows; ++row) {
        float* line = &plane[row * columns];
        std::copy(line, line + columns, padded.begin() + reach);
        const float* middle = padded.data() + reach;
        for (std::size_t c = 0; c < columns; ++c) line[c] = weights[0] * middle[c];
        for (std::ptrdiff_t k = 1; k <= reach; ++k) {
            const float w = weights[static_cast<std::size_t>(k)];
            const float *left = middle - k, *right = middle + k;
            for (std::size_t c = 0; c < columns; ++c) line[c] += w * (left[c] + right[c]);
        }
    }
    const std::vector<float> before = plane;
    const auto last = static_cast<std::ptrdiff_t>(rows) - 1;
    for (std::ptrdiff_t row = 0; row <= last; ++row) {
        float* line = &plane[static_cast<std::size_t>(row) * columns];
        for (std::size_t c = 0; c < columns; ++c) line[c] *= weights[0];
        for (std::ptrdiff_t k = 1; k <= reach; ++k) {
            const float w = weights[static_cast<std::size_t>(k)];
            for (const std::ptrdiff_t other : {row - k, row + k}) {
                if (other < 0 || other > last) continue;
                const float* from = &before[static_cast<std::size_t>(other) * columns];
                for (std::size_t c = 0; c < columns; ++c) line[c] += w * from[c];
            }
        }
    }
}

}  // namespace

BlurredDraft::BlurredDraft(const geo::UnitMap& map, std::span<const model::UnitIndex> units, double cell_m,
                           double margin_m, unsigned threads)
    : units_(units.size()), threads_(threads) {
    const Box extent = map.extent();
    const double width = std::max(extent.width(), 0.0) + 2 * margin_m,
                 height = std::max(extent.height(), 0.0) + 2 * margin_m;
    const double max_cells = std::min(4'000'000.0, max_planes / static_cast<double>(std::max<std::size_t>(units_, 1)));
    cell_m_ = std::max(cell_m, std::sqrt(width * height / max_cells));
    west_ = extent.min_x - margin_m + cell_m_ / 2;
    south_ = extent.min_y - margin_m + cell_m_ / 2;
    columns_ = std::max<std::int64_t>(3, static_cast<std::int64_t>(std::ceil(width / cell_m_)));
    rows_ = std::max<std::int64_t>(3, static_cast<std::int64_t>(std::ceil(height / cell_m_)));
    std::vector<std::int16_t> number(map.unit_count(), -1);
    for (std::size_t k = 0; k < units.size(); ++k)
        number[static_cast<std::size_t>(units[k])] = static_cast<std::int16_t>(k);
    raster_.assign(static_cast<std::size_t>(columns_ * rows_), -1);
    parallel_blocks(static_cast<std::size_t>(rows_), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t row = begin; row < end; ++row) {
            for (std::int64_t column = 0; column < columns_; ++column) {
                const Point centre{west_ + static_cast<double>(column) * cell_m_,
                                   south_ + static_cast<double>(row) * cell_m_};
                if (!extent.contains(centre)) continue;
                const model::UnitIndex unit = map.unit_at(centre);
                if (unit == model::no_unit) continue;
                raster_[row * static_cast<std::size_t>(columns_) + static_cast<std::size_t>(column)] =
                    number[static_cast<std::size_t>(unit)];
            }
        }
    });
}

const BlurredDraft::Layer& BlurredDraft::layer(double sd_m) {
    std::unique_ptr<Layer>& kept = layers_[std::llround(10 * sd_m)];
    if (!kept) kept = std::make_unique<Layer>(make_layer(sd_m));
    return *kept;
}

BlurredDraft::Layer BlurredDraft::make_layer(double sd_m) const {
    const auto coarser = std::max<std::int64_t>(1, static_cast<std::int64_t>(0.4 * sd_m / cell_m_));
    Layer layer;
    layer.units_ = units_;
    layer.cell_m_ = cell_m_ * static_cast<double>(coarser);
    layer.columns_ = std::max<std::int64_t>(3, (columns_ + coarser - 1) / coarser);
    layer.rows_ = std::max<std::int64_t>(3, (rows_ + coarser - 1) / coarser);
    layer.west_ = west_ + (static_cast<double>(coarser) - 1) / 2 * cell_m_;
    layer.south_ = south_ + (static_cast<double>(coarser) - 1) / 2 * cell_m_;
    const auto columns = static_cast<std::size_t>(layer.columns_), rows = static_cast<std::size_t>(layer.rows_);
    layer.shares_.resize(columns * rows * units_);
    // Cells and splines themselves blur, by a variance of a third of the squared cell size.
    const double cells = sd_m / layer.cell_m_;
    const std::vector<float> weights = gaussian_weights(std::sqrt(std::max(cells * cells - 1.0 / 3, 0.01)));
    // share_of[n]: the share of a coarse cell that n of its cells make, summed one by one.
    std::vector<float> share_of{0};
    for (std::int64_t i = 0; i < coarser * coarser; ++i)
        share_of.push_back(share_of.back() + 1 / static_cast<float>(coarser * coarser));
    parallel_blocks(units_, 1, threads_, [&](std::size_t begin, std::size_t end, unsigned) {
        std::vector<float> plane(columns * rows);
        std::vector<std::int32_t> count(columns);
        for (std::size_t k = begin; k < end; ++k) {
            const auto wanted = static_cast<std::int16_t>(k);
            std::fill(plane.begin(), plane.end(), 0.0f);
            for (std::int64_t first = 0; first < rows_; first += coarser) {
                std::fill(count.begin(), count.end(), 0);
                for (std::int64_t row = first; row < std::min(first + coarser, rows_); ++row) {
                    const std::int16_t* units = &raster_[static_cast<std::size_t>(row * columns_)];
                    for (std::int64_t c = 0, column = 0; column < columns_; ++c) {
                        const std::int64_t last = std::min(column + coarser, columns_);
                        for (; column < last; ++column) count[static_cast<std::size_t>(c)] += units[column] == wanted;
                    }
                }
                float* into = &plane[static_cast<std::size_t>(first / coarser) * columns];
                for (std::size_t c = 0; c < columns; ++c) into[c] = share_of[static_cast<std::size_t>(count[c])];
            }
            blur(plane, columns, rows, weights);
            for (std::size_t i = 0; i < plane.size(); ++i) layer.shares_[i * units_ + k] = plane[i];
        }
    });
    parallel_blocks(columns * rows, 8192, threads_, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            float* shares = &layer.shares_[i * units_];
            float sum = 0;
            for (std::size_t k = 0; k < units_; ++k) sum += shares[k];
            const float scale = sum > 1e-6f ? 1 / sum : 0;
            for (std::size_t k = 0; k < units_; ++k) shares[k] *= scale;
        }
    });
    return layer;
}

BlurredDraft::Layer::Window BlurredDraft::Layer::window(Point place) const {
    Window w;
    const auto along = [](double t, std::int64_t count, std::array<float, 3>& weight, std::array<float, 3>& slope) {
        const double middle = std::clamp(std::round(t), 1.0, static_cast<double>(count - 2));
        const auto d = static_cast<float>(std::clamp(t - middle, -0.5, 0.5));
        weight = {0.5f * (0.5f - d) * (0.5f - d), 0.75f - d * d, 0.5f * (0.5f + d) * (0.5f + d)};
        slope = {-(0.5f - d), -2 * d, 0.5f + d};
        return static_cast<std::int64_t>(middle) - 1;
    };
    const std::int64_t column = along((place.x - west_) / cell_m_, columns_, w.across, w.across_slope);
    const std::int64_t row = along((place.y - south_) / cell_m_, rows_, w.up, w.up_slope);
    w.first = shares_.data() + static_cast<std::size_t>(row * columns_ + column) * units_;
    return w;
}

void BlurredDraft::Layer::sample(Point place, std::span<float> shares) const {
    const Window w = window(place);
    std::fill(shares.begin(), shares.end(), 0.0f);
    for (std::size_t j = 0; j < 3; ++j) {
        const float* row = w.first + j * static_cast<std::size_t>(columns_) * units_;
        for (std::size_t i = 0; i < 3; ++i, row += units_) {
            const float weight = w.up[j] * w.across[i];
            for (std::size_t k = 0; k < units_; ++k) shares[k] += weight * row[k];
        }
    }
}

double BlurredDraft::Layer::dot(Point place, const float* value, Point& slope) const {
    const Window w = window(place);
    float sum = 0, east = 0, north = 0;
    for (std::size_t j = 0; j < 3; ++j) {
        const float* row = w.first + j * static_cast<std::size_t>(columns_) * units_;
        for (std::size_t i = 0; i < 3; ++i, row += units_) {
            float at = 0;
            for (std::size_t k = 0; k < units_; ++k) at += row[k] * value[k];
            sum += w.up[j] * w.across[i] * at;
            east += w.up[j] * w.across_slope[i] * at;
            north += w.up_slope[j] * w.across[i] * at;
        }
    }
    slope = {static_cast<double>(east) / cell_m_, static_cast<double>(north) / cell_m_};
    return static_cast<double>(sum);
}

}  // namespace subcrop::infer
