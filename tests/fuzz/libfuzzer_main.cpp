// The same targets for libFuzzer; SUBCROP_FUZZ_TARGET names one.
#include <cpl_error.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "fuzz/targets.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static const subcrop::fuzz::Target target = [] {
        CPLSetErrorHandler(CPLQuietErrorHandler);
        return subcrop::fuzz::target_named(std::getenv("SUBCROP_FUZZ_TARGET"));
    }();
    target.run({reinterpret_cast<const char*>(data), size});
    return 0;
}
