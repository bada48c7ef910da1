// Which notes distinguish two units, how often each alone was right, and what is usual on either unit.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "infer/answer/reckoning.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::infer {

/// The share of each unit's soil with each value of each channel.
class ChannelUse {
public:
    explicit ChannelUse(const Fit::Reckoning& reckoning);
    void add(std::size_t stop, std::size_t unit, double weight);
    /// After all values were added: computes sums that the functions below need.
    void settle();
    /// What is usual on two units: "stream terrace at 60 %" and "stream terrace at 5 %" (the word whose shares differ
    /// most), "5Y 4/2 most often", "median 12 %". Empty if one of them has no value, or if the channel has several
    /// numbers.
    std::pair<std::string, std::string> usual(std::size_t channel, std::size_t a, std::size_t b) const;

    /// What is usual on one unit: "median 195 (quartiles 120 to 260, about 12 stops)", "andesite (60 % of about 12),
    /// ..."; for several numbers the median of each. Empty if none was noted, or if it is not expressible in a word.
    std::string described(std::size_t channel, std::size_t unit) const;

private:
    /// One of the channel's numbers, as a person would write it.
    std::string quantile_text(std::size_t channel, std::size_t unit, std::size_t dimension, double share) const;
    std::pair<std::string, std::string> usual_words(std::size_t channel, std::size_t a, std::size_t b) const;
    double share_of(std::size_t channel, std::size_t value, std::size_t unit) const {
        return use_[channel][value * units_ + unit];
    }
    double sum_of(std::size_t channel, std::size_t unit) const { return sums_[channel][unit]; }

    const Fit::Reckoning& reckoning_;
    std::size_t units_;
    std::vector<std::vector<double>> use_;                ///< for each channel: values x units
    std::vector<std::vector<double>> sums_, label_sums_;  ///< for each channel: one for each unit; labels x units
};

/// The three channels that add most evidence, on average, at stops known to lie on either unit. A channel must be noted
/// at 5 or more of these, at 3 or more of each unit, and must add something.
std::vector<Difference> differences(const Fit::Reckoning& reckoning, std::span<const std::size_t> known,
                                    const ChannelUse& use, model::UnitIndex a, model::UnitIndex b);

}  // namespace subcrop::infer
