#include "publish/map_colours.hpp"

#include <array>

namespace subcrop::publish {

namespace {

constexpr std::array<const char*, 9> spare{"#88ccee", "#ddcc77", "#cc6677", "#117733", "#aa4499",
                                           "#44aa99", "#999933", "#882255", "#332288"};

}  // namespace

std::string unit_colour(const model::Survey& survey, std::size_t unit) {
    const std::string& stated = survey.units[unit].colour;
    const bool is_colour = stated.size() == 7 && stated[0] == '#' &&
                           stated.find_first_not_of("0123456789abcdefABCDEF", 1) == std::string::npos;
    return is_colour ? stated : spare[unit % spare.size()];
}

}  // namespace subcrop::publish
