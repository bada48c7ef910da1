// The user's names of our columns, so that a problem names the column to look in.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::model {

class ColumnNames {
public:
    void set(const std::string& ours, const std::string& theirs) { theirs_[ours] = theirs; }
    /// Of one of our names, or of several with commas between them: "sand_pct, silt_pct".
    std::string of(std::string_view ours) const;

private:
    std::map<std::string, std::string, std::less<>> theirs_;
};

}  // namespace subcrop::model
SUBCROP_EXPORT_END
