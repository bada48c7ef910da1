// Plant notes to taxa.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace subcrop::field {

struct PlantReading {
    std::vector<std::string> taxa;  ///< lower case, single spaces, sorted, each once
    bool none_seen = false;         ///< the note says that there were no plants, which is not the same as no note
};

/// Splits free notes ("heather, some bog-myrtle; bracken (dominant)") at commas, semicolons, plus signs and 'and',
/// drops words of quantity and cover ('some', 'dominant', '20 %', 'r', 'cf.') and what stands in brackets.
PlantReading read_plants(std::string_view notes);

}  // namespace subcrop::field
