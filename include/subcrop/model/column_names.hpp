// The user's names of our columns, so that a problem names the column to look in.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <utility>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

class ColumnNames {
public:
    void set(const std::string& ours, const std::string& theirs) { theirs_[ours] = theirs; }
    /// Of one of our names, or of several with commas between them: "sand_pct, silt_pct".
    std::string of(std::string_view ours) const;

    /// The unit of the user's numbers, where it is not ours.
    struct Unit {
        std::string short_name;  ///< "ft"
        std::string name;        ///< "feet"
        double size = 1;         ///< in our unit
    };
    void set_unit(const std::string& ours, Unit unit) { units_[ours] = std::move(unit); }
    /// Null: it is ours.
    const Unit* unit_of(std::string_view ours) const {
        const auto found = units_.find(ours);
        return found == units_.end() ? nullptr : &found->second;
    }

private:
    std::map<std::string, std::string, std::less<>> theirs_;
    std::map<std::string, Unit, std::less<>> units_;
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END
