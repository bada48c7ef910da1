#include "subcrop/core/parallel.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace subcrop {

unsigned thread_count(unsigned requested) {
    if (requested != 0) return requested;
    return std::max(1u, std::thread::hardware_concurrency());
}

void parallel_blocks(std::size_t count, std::size_t block, unsigned threads,
                     const std::function<void(std::size_t, std::size_t, unsigned)>& work) {
    block = std::max<std::size_t>(block, 1);
    const std::size_t blocks = (count + block - 1) / block;
    const unsigned workers = static_cast<unsigned>(std::min<std::size_t>(std::max(1u, thread_count(threads)), blocks));
    std::atomic<std::size_t> next{0};
    std::exception_ptr failure;
    std::mutex failure_mutex;
    auto run = [&](unsigned worker) {
        for (std::size_t b = next++; b < blocks; b = next++) {
            try {
                work(b * block, std::min(count, (b + 1) * block), worker);
            } catch (...) {
                const std::scoped_lock lock(failure_mutex);
                if (!failure) failure = std::current_exception();
                next = blocks;
            }
        }
    };
    std::vector<std::jthread> team;
    for (unsigned worker = 1; worker < workers; ++worker) team.emplace_back(run, worker);
    if (workers > 0) run(0);
    team.clear();  // joins
    if (failure) std::rethrow_exception(failure);
}

}  // namespace subcrop
