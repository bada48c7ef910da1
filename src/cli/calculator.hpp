// What the pocket calculators (colour, texture, jar, plane) share.
#pragma once

#include <iostream>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cli/command.hpp"
#include "cli/screen.hpp"
#include "subcrop/core/parsed.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::cli {

using Json = nlohmann::ordered_json;
using Rows = std::vector<std::pair<std::string, std::string>>;

/// A number with this many decimals.
std::string fixed(double number, int decimals);

/// "sand 65 %, silt 25 %, clay 10 %"
std::string percentages(const field::GrainSize& size, int decimals);

Json json_of(const field::GrainSize& size);
Json json_of(const field::IlrDistribution& distribution);

void print_json(std::ostream& out, const Json& json);

/// "Sources: ..." below an answer.
void print_sources(std::ostream& out, const std::vector<std::string>& sources, std::size_t width);

/// Says why a note cannot be read, in the words of its reader; returns the exit code.
int refuse(std::string_view message, std::string_view remedy);

}  // namespace subcrop::cli
