// ln likelihood of each witness as a function of the displacement, on a square grid of displacements, at several blurs.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "subcrop/infer/shift_field.hpp"

namespace subcrop::infer {

struct EvidenceSurfaces::State {
    static constexpr int half = 12;             ///< steps from the middle to the rim
    static constexpr int width = 2 * half + 1;
    double step_m = 1;
    std::vector<double> blurs_m;                ///< falling
    std::vector<std::vector<float>> tables;     ///< one a blur: witnesses x width x width

    std::size_t blur_index(double blur_m) const;
    /// Value and gradient in the displacement by cubic convolution; flat beyond the rim.
    double sample(std::size_t witness, std::size_t blur, Point displacement, Point* gradient) const;
};

}  // namespace subcrop::infer
