// What is fed with damaged input.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace subcrop::fuzz {

struct Target {
    std::string name;
    std::vector<std::string> seeds;       ///< sound input to begin with
    std::vector<std::string> dictionary;  ///< words that mean something to the reader
    /// Returns whatever the input is; an Error is an answer, anything else that is thrown is a fault.
    std::function<void(std::string_view)> run;
};

/// Throws std::out_of_range for a name there is none of.
Target target_named(const std::string& name);

}  // namespace subcrop::fuzz
