// Parts from which channels are built.
#pragma once

#include <array>
#include <cstdint>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "subcrop/infer/channel.hpp"

namespace subcrop::infer {

/// Sets of words; `set_of_stop` is an index into `sets`, or -1. An empty set that is not complete is no evidence.
Channel set_channel(std::string name, const std::vector<std::vector<std::string>>& sets,
                    const std::vector<std::int32_t>& set_of_stop, const std::vector<std::uint8_t>& complete_of_stop);

/// One number for each stop. `coordinate` transforms it so that its scatter is about constant. `format` writes it for
/// people.
Channel number_channel(std::string name, const std::vector<std::optional<double>>& numbers,
                       double (*coordinate)(double), const char* format);

/// A channel the survey file defines.
Channel evidence_channel(const model::EvidenceValues& evidence, std::size_t stops);

}  // namespace subcrop::infer
