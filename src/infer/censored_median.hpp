// The median of depths of which some are known only to be greater than the hole was deep.
#pragma once

#include <optional>
#include <vector>

namespace subcrop::infer {

struct Depth {
    double cm = 0;
    bool reached = true;  ///< false: deeper than `cm`
};

/// Kaplan and Meier 1958, Journal of the American Statistical Association 53:457-481: where the share still deeper falls to
/// one half; midway to the next depth reached where it is one half exactly. Empty where it never falls so far. Right where
/// holes were not ended because rock was near.
std::optional<double> censored_median(std::vector<Depth> depths);

}  // namespace subcrop::infer
