// Reaction of soil to a drop of dilute hydrochloric acid.
//
//     std::string code = *read_effervescence("strongly effervescent").value;  // "ST"
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "subcrop/core/export.hpp"
#include "subcrop/core/parsed.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::field {

struct EffervescenceClass {
    std::string_view code;
    std::string_view meaning;
};

/// From none to violent.
std::span<const EffervescenceClass> effervescence_classes();

/// NE (none), VS (very slight: few bubbles), SL (slight: bubbles readily seen), ST (strong: low foam) or VE (violent:
/// thick foam), from the code or from words in any case. Classes of the Soil Survey Manual (2017), chapter 3; codes
/// from memory. A dash alone gives no value and no message: the cell is empty.
Parsed<std::string> read_effervescence(std::string_view text);

}  // namespace subcrop::field
SUBCROP_EXPORT_END
