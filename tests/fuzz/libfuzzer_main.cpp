// The same targets for libFuzzer; SUBCROP_FUZZ_TARGET names one.
#include <cpl_error.h>

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <cstring>

#include "fuzz/mutation.hpp"
#include "fuzz/targets.hpp"

namespace {

const subcrop::fuzz::Target& target() {
    static const subcrop::fuzz::Target named = [] {
        CPLSetErrorHandler(CPLQuietErrorHandler);
        const char* name = std::getenv("SUBCROP_FUZZ_TARGET");
        return subcrop::fuzz::target_named(name != nullptr ? name : "");
    }();
    return named;
}

}  // namespace

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t most);

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    target().run({reinterpret_cast<const char*>(data), size});
    return 0;
}

/// Half the time libFuzzer's own damage, half the time ours, which knows the target's words.
extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t most, unsigned seed) {
    if (seed % 2 == 0) return LLVMFuzzerMutate(data, size, most);
    std::mt19937_64 random(seed);
    const std::string input(reinterpret_cast<const char*>(data), size);
    const auto& seeds = target().seeds;
    const std::string changed =
        subcrop::fuzz::mutated(input, seeds[random() % seeds.size()], target().dictionary, random);
    const std::size_t length = std::min(changed.size(), most);
    std::memcpy(data, changed.data(), length);
    return length;
}
