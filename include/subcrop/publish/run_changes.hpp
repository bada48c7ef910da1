// The differences between two runs of one survey.
//
//     RunChanges changes = run_survey("survey.json", {}, progress).changes;
//     std::string headline = changes.headline;  // "Since 28 November 2026: 12 stops more", and what else there is
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"
#include "subcrop/core/geometry.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::publish {

enum class ChangeKind : std::uint8_t {
    verdict_changed,
    contact_located,
    contact_verdict,
    stop_added,
    stop_gone,
    stop_moved,
    contact_added,
    contact_gone,
};
inline constexpr std::size_t change_kind_count = 8;

std::string_view to_string(ChangeKind kind);
std::string_view description(ChangeKind kind);

struct Change {
    ChangeKind kind = ChangeKind::verdict_changed;
    std::string what;                     ///< id of the stop, or "Ha | Os no. 3"
    std::string before = {}, after = {};  ///< verdict, half-width or place; empty if there was or is none
    std::string sentence = {};
    std::optional<Point> place = {};  ///< in the working projection
};

struct RunChanges {
    std::string since = {};     ///< "28 November 2026"; empty: there is no earlier run to compare with
    std::string headline = {};  ///< "Since 28 November 2026: 12 stops more"; empty as well
    std::vector<Change> rows = {};
};

}  // namespace subcrop::publish
SUBCROP_EXPORT_END
