// The median of censored depths: some are known only to be greater than the depth of the hole.
#pragma once

#include <optional>
#include <vector>

namespace subcrop::infer {

struct Depth {
    double cm = 0;
    bool reached = true;  ///< false: deeper than `cm`
    double weight = 1;    ///< weight of the hole (a probability)
};

/// Kaplan and Meier 1958, Journal of the American Statistical Association 53:457-481: the depth at which the share
/// still deeper falls to one half. If the share is exactly one half, midway to the next depth reached. Empty if it
/// never falls so far. Assumes that holes did not end because rock was near.
std::optional<double> censored_median(std::vector<Depth> depths);

struct MedianInterval {
    std::optional<double> median, low, high;  ///< absent if the holes give none
};
/// The same with a 90 % interval: the depths at which the pointwise interval of the share still deeper includes one
/// half (Brookmeyer and Crowley 1982, Biometrics 38:29-41). The pointwise interval uses Greenwood's variance on the
/// ln(-ln) scale (Kalbfleisch and Prentice 1980, The Statistical Analysis of Failure Time Data). Checked against R's
/// `survival` (tests/reference/survival.R). Its rule is also used if a limit does not fall monotonically.
MedianInterval censored_median_interval(std::vector<Depth> depths);

}  // namespace subcrop::infer
