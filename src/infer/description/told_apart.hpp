// Which notes tell two units apart, how often each was right alone, and what is usual on either.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "infer/answer/reckoning.hpp"
#include "subcrop/infer/unit_summary.hpp"

namespace subcrop::infer {

/// How much of each unit's soil has each value of each channel.
class ChannelUse {
public:
    explicit ChannelUse(const Fit::Reckoning& reckoning);
    void add(std::size_t stop, std::size_t unit, double weight);
    /// Once all are added: sums that the questions below need again and again.
    void settle();
    /// What is usual on two units: "stream terrace at 60 %" and "stream terrace at 5 %" (the word by whose share they
    /// differ most), "5Y 4/2 most often", "median 12 %". Empty where either has none, or the channel has several
    /// numbers.
    std::pair<std::string, std::string> usual(std::size_t channel, std::size_t a, std::size_t b) const;

    /// What is usual on one unit: "median 195 (quartiles 120 to 260, about 12 stops)", "andesite (60 % of about 12),
    /// ..."; of several numbers the median of each. Empty where none was noted or nothing can be said in a word.
    std::string described(std::size_t channel, std::size_t unit) const;

private:
    /// Of one of the channel's numbers, as a person would write it.
    std::string quantile_text(std::size_t channel, std::size_t unit, std::size_t dimension, double share) const;
    std::pair<std::string, std::string> usual_words(std::size_t channel, std::size_t a, std::size_t b) const;
    double share_of(std::size_t channel, std::size_t value, std::size_t unit) const {
        return use_[channel][value * units_ + unit];
    }
    double sum_of(std::size_t channel, std::size_t unit) const { return sums_[channel][unit]; }

    const Fit::Reckoning& reckoning_;
    std::size_t units_;
    std::vector<std::vector<double>> use_;                ///< of each channel: values x units
    std::vector<std::vector<double>> sums_, label_sums_;  ///< of each channel: one a unit; labels x units
};

/// The best three channels by what they add on average at the stops where either unit is known to lie; those noted at
/// fewer than 5 of them or than 3 of either unit, or that add nothing, are left out.
std::vector<Difference> differences(const Fit::Reckoning& reckoning, std::span<const std::size_t> known,
                                    const ChannelUse& use, model::UnitIndex a, model::UnitIndex b);

}  // namespace subcrop::infer
