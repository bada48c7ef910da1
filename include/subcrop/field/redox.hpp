// Mottles and other redoximorphic features: changes of colour by wetness, recorded apart from the matrix.
//
//     RedoxAbundance abundance = read_redox("common distinct 7.5YR 5/6 masses").value->abundance;  // common
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"
#include "subcrop/field/munsell.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

/// Classes of area covered, Soil Survey Manual 2017, chapter 3: few below 2 %, common to 20 %, many above; `gleyed` if
/// the whole matrix is reduced.
enum class RedoxAbundance : std::uint8_t { none, few, common, many, gleyed };
inline constexpr std::size_t redox_abundance_count = 5;
std::string_view to_string(RedoxAbundance abundance);
std::string_view description(RedoxAbundance abundance);  ///< "2 to 20 % of the area"

struct RedoxReading {
    RedoxAbundance abundance = RedoxAbundance::few;
    bool concentrations = false;   ///< iron or manganese gathered: rust, masses, nodules
    bool depletions = false;       ///< iron and clay washed out: grey mottles
    std::vector<Munsell> colours;  ///< of the features, never of the matrix
};

/// Reads "few faint", "30 % grey mottles", "many 5YR 4/6 masses", "gley", "none". Features named without an amount are
/// taken as few, with a message. Refuses words that name no such feature ("clay films").
Parsed<RedoxReading> read_redox(std::string_view text);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
