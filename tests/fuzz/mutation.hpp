// Seeded damage to a text or file: the same seed gives the same damage.
#pragma once

#include <random>
#include <string>
#include <string_view>
#include <vector>

namespace subcrop::fuzz {

/// Flipped bits, cut and doubled stretches, bytes and numbers at their limits, words of `dictionary`, pieces of
/// `other`.
std::string mutated(std::string input, std::string_view other, const std::vector<std::string>& dictionary,
                    std::mt19937_64& random);

}  // namespace subcrop::fuzz
