#include "cli/memory.hpp"

#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <limits>

namespace subcrop::cli {

void prepare_memory() {
    constexpr std::size_t reserved = std::size_t{1900} << 20;
    mallopt(M_ARENA_MAX, 1);
    mallopt(M_MMAP_MAX, 0);
    mallopt(M_TRIM_THRESHOLD, std::numeric_limits<int>::max());
    // The heap, grown once and freed again, stays one stretch of addresses that may be marked as a whole.
    void* whole = std::malloc(reserved);
    if (whole == nullptr) return;
    const auto begin = reinterpret_cast<std::uintptr_t>(whole);
    const auto page = static_cast<std::uintptr_t>(sysconf(_SC_PAGESIZE));
    const std::uintptr_t first = (begin + page - 1) / page * page;
    const auto end = reinterpret_cast<std::uintptr_t>(sbrk(0)) / page * page;
    if (end > first) madvise(reinterpret_cast<void*>(first), end - first, MADV_HUGEPAGE);
    std::free(whole);
}

}  // namespace subcrop::cli
