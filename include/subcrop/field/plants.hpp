// Plant notes to taxa.
#pragma once

#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

struct PlantReading {
    std::vector<std::string> taxa;  ///< lower case, single spaces, sorted, each once
    bool none_seen = false;         ///< the note says that there were no plants, which is not the same as no note
};

/// Splits free notes ("heather, some bog-myrtle; bracken (dominant)") at commas, semicolons, plus signs and 'and'.
/// Drops words of quantity and cover ('some', 'a little', 'dominant', '20 %', 'r', 'cf.') and all in brackets. A hyphen
/// in a name is read as a space: bog-myrtle is bog myrtle.
PlantReading read_plants(std::string_view notes);

/// The user's own list of names: the words in notes, and the taxon that is meant.
///
///     PlantNames names;
///     names.add("ling", "Calluna vulgaris");
///     PlantReading reading = names.settle(read_plants("ling, Heather"));  // taxa "calluna vulgaris", "heather"
class PlantNames {
public:
    /// Both are read as notes are; an empty taxon means that the word is no plant. Returns what is wrong, or nothing.
    std::string add(std::string_view written, std::string_view taxon);
    /// Taxa by their names in the list, sorted, each once.
    PlantReading settle(PlantReading reading) const;
    bool empty() const { return taxon_of_.empty(); }
    bool knows(const std::string& written) const { return taxon_of_.contains(written); }

private:
    std::unordered_map<std::string, std::string> taxon_of_;
};

}  // namespace subcrop::field
SUBCROP_EXPORT_END
