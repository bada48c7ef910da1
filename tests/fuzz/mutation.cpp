#include "fuzz/mutation.hpp"

#include <algorithm>
#include <array>
#include <cstdint>

namespace subcrop::fuzz {

namespace {

constexpr std::size_t longest = 1 << 20;

std::size_t below(std::size_t n, std::mt19937_64& random) {
    return n == 0 ? 0 : static_cast<std::size_t>(random() % n);
}

/// Lengths of stretches: mostly short, now and then long.
std::size_t stretch(std::size_t most, std::mt19937_64& random) {
    return std::min(most, below(std::size_t{1} << below(12, random), random) + 1);
}

void put_number(std::string& input, std::mt19937_64& random) {
    static constexpr std::array<std::uint64_t, 9> numbers{
        0, 1, 0x7F, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0xFFFFFFFF, 0x7FF0000000000000};
    const std::uint64_t number = numbers[below(numbers.size(), random)];
    const std::size_t bytes = std::size_t{1} << below(4, random), at = below(input.size(), random);
    const bool big = below(2, random) == 0;
    for (std::size_t i = 0; i < bytes && at + i < input.size(); ++i)
        input[at + i] = static_cast<char>(number >> (8 * (big ? bytes - 1 - i : i)));
}

}  // namespace

std::string mutated(std::string input, std::string_view other, const std::vector<std::string>& dictionary,
                    std::mt19937_64& random) {
    for (std::size_t edits = 1 + below(std::size_t{1} << below(6, random), random); edits > 0; --edits) {
        const std::size_t at = below(input.size() + 1, random);
        switch (below(9, random)) {
            case 0:
                if (at < input.size()) input[at] = static_cast<char>(input[at] ^ (1 << below(8, random)));
                break;
            case 1:
                if (at < input.size()) input[at] = static_cast<char>(below(256, random));
                break;
            case 2:
                input.erase(at, stretch(input.size() - at, random));
                break;
            case 3:
                input.insert(at, input.substr(at, stretch(input.size() - at + 1, random)));
                break;
            case 4:
                input.insert(at, 1, static_cast<char>(below(256, random)));
                break;
            case 5:
                put_number(input, random);
                break;
            case 6:
                if (!dictionary.empty()) input.insert(at, dictionary[below(dictionary.size(), random)]);
                break;
            case 7: {
                const std::size_t from = below(other.size() + 1, random);
                input.insert(at, other.substr(from, stretch(other.size() - from + 1, random)));
                break;
            }
            default:
                if (below(20, random) == 0)
                    input.resize(at);
                else if (below(20, random) == 0)
                    input.insert(at, below(70'000, random), static_cast<char>(below(256, random)));
        }
        if (input.size() > longest) input.resize(longest);
    }
    return input;
}

}  // namespace subcrop::fuzz
