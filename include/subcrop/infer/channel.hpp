// A channel: one kind of observation, in a form that signatures can learn from. Each stop has one of the channel's
// distinct values, or none.
//
//     std::vector<Channel> channels = build_channels(survey, reduced);
//     const std::string& name = channels[0].name;                                // "moist subsoil colour"
//     std::string value = channels[0].value_text(channels[0].value_of_stop[0]);  // "5YR 4/6"
//
// To add a channel, write one function in channel.cpp that fills a Channel, and call it in build_channels. Learning,
// weighting, reasons and layers then follow by themselves.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::infer {

struct Channel {
    enum class Kind : std::uint8_t {
        continuous,  ///< points of a space in which distance has a meaning
        category,    ///< one of several words
        set,         ///< any number of words (taxa)
    };
    /// A value that the geologist expects over a unit, and how many stops the expectation is worth.
    struct Expectation {
        model::UnitIndex unit = model::no_unit;
        std::int32_t value = -1;
        double stops = 0;
    };

    std::string name;
    Kind kind = Kind::continuous;
    std::vector<std::int32_t> value_of_stop;  ///< one a stop, -1 where nothing was noted
    std::size_t value_count = 0;
    std::vector<Expectation> expected;

    // continuous
    std::size_t dimensions = 0;
    std::vector<double> coordinates;            ///< value_count x dimensions
    std::vector<std::uint8_t> spread_of_value;  ///< index into spreads; empty: every value is exact
    std::vector<std::vector<double>> spreads;   ///< dimensions x dimensions covariances of the values' own error

    // category: labels are the words; set: labels name the items, items lists them for each value
    std::vector<std::string> labels;
    std::vector<std::vector<std::uint32_t>> items;  ///< sorted, for each value
    std::vector<std::uint8_t> complete;             ///< set: the list is complete, so that absences count

    // numeric evidence: how to write a value again
    std::vector<std::string> columns;
    bool log_scale = false;

    std::size_t stops_with_value() const;
    /// The value as a person would write it.
    std::string value_text(std::int32_t value) const;
    void append_value_text(std::int32_t value, std::string& text) const;
};

/// Every channel in which at least one stop has a value: colour moist and dry and texture for topsoil, subsoil and
/// parent material, reaction to acid, kind of fragments, plants, landform, and the survey's own evidence. Below a
/// lithologic discontinuity only the lowest material is used.
std::vector<Channel> build_channels(const model::Survey& survey, const model::Reduced& reduced, unsigned threads = 1);

}  // namespace subcrop::infer
SUBCROP_EXPORT_END
