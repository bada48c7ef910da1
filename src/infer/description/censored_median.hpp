// The median of depths of which some are known only to be greater than the hole was deep.
#pragma once

#include <optional>
#include <vector>

namespace subcrop::infer {

struct Depth {
    double cm = 0;
    bool reached = true;  ///< false: deeper than `cm`
    double weight = 1;    ///< the probability by which the hole counts
};

/// Kaplan and Meier 1958, Journal of the American Statistical Association 53:457-481: where the share still deeper
/// falls to one half; midway to the next depth reached where it is one half exactly. Empty where it never falls so far.
/// Right where holes were not ended because rock was near.
std::optional<double> censored_median(std::vector<Depth> depths);

struct MedianInterval {
    std::optional<double> median, low, high;  ///< absent where the holes give none
};
/// The same with the interval that holds the median with 90 %: the depths at which the pointwise interval of the share
/// still deeper holds one half (Brookmeyer and Crowley 1982, Biometrics 38:29-41), that interval by Greenwood's
/// variance on the scale of ln(-ln) (Kalbfleisch and Prentice 1980, The Statistical Analysis of Failure Time Data).
/// Checked against R's `survival`, whose rule is also followed where a limit is no falling curve
/// (tests/reference/survival.R).
MedianInterval censored_median_interval(std::vector<Depth> depths);

}  // namespace subcrop::infer
