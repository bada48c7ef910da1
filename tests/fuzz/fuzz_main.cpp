// Feeds one reader with damaged input, the same each time.
//     fuzz TARGET [--runs N | --seconds N] [--seed S] [--corpus FOLDER] [--keep FILE]
//     fuzz TARGET --write-seeds FOLDER
// First every file of FOLDER/TARGET as it is, then mutations of those and of the target's own seeds. FILE holds the
// input that was being read: after a crash, or a hang of 20 s, it is the culprit, to be kept in the corpus. No more
// than 3 GB of addresses are taken.
#include <cpl_error.h>
#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <exception>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "fuzz/mutation.hpp"
#include "fuzz/targets.hpp"
#include "under_sanitizer.hpp"

namespace {

namespace fs = std::filesystem;
constexpr unsigned longest_seconds = 20;

class Feeder {
public:
    Feeder(subcrop::fuzz::Target target, fs::path keep) : target_(std::move(target)), keep_(std::move(keep)) {}

    void feed(const std::string& input) const {
        if (!keep_.empty()) std::ofstream(keep_, std::ios::binary) << input;
        alarm(longest_seconds);
        target_.run(input);
        alarm(0);
    }

private:
    subcrop::fuzz::Target target_;
    fs::path keep_;
};

int fuzz(int argc, char** argv) {
    const subcrop::fuzz::Target target = subcrop::fuzz::target_named(argv[1]);
    long runs = 1000, seconds = 0;
    std::uint64_t seed = 1;
    fs::path corpus, keep;
    for (int i = 2; i + 1 < argc; i += 2) {
        const std::string option = argv[i];
        if (option == "--runs") runs = std::atol(argv[i + 1]);
        if (option == "--seconds") seconds = std::atol(argv[i + 1]);
        if (option == "--seed") seed = static_cast<std::uint64_t>(std::atoll(argv[i + 1]));
        if (option == "--corpus") corpus = fs::path(argv[i + 1]) / target.name;
        if (option == "--keep") keep = argv[i + 1];
        if (option == "--write-seeds") {
            for (std::size_t k = 0; k < target.seeds.size(); ++k)
                std::ofstream(fs::path(argv[i + 1]) / ("seed" + std::to_string(k)), std::ios::binary)
                    << target.seeds[k];
            return 0;
        }
    }
    std::vector<std::string> inputs = target.seeds;
    std::vector<fs::path> files;
    std::error_code none;
    for (const auto& entry : fs::directory_iterator(corpus, none)) files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    for (const fs::path& file : files) {
        std::ifstream in(file, std::ios::binary);
        inputs.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
    }
    const Feeder feeder(target, keep);
    for (const std::string& input : inputs) feeder.feed(input);
    std::mt19937_64 random(seed);
    const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(seconds);
    long done = 0;
    for (; seconds > 0 ? std::chrono::steady_clock::now() < end : done < runs; ++done) {
        const std::string& base = inputs[random() % inputs.size()];
        const std::string& other = inputs[random() % inputs.size()];
        feeder.feed(subcrop::fuzz::mutated(base, other, target.dictionary, random));
    }
    std::printf("%s: %ld inputs\n", target.name.c_str(), done + static_cast<long>(inputs.size()));
    if (!keep.empty()) fs::remove(keep, none);
    return 0;
}

}  // namespace

int main(int argc, char** argv) {
    if (argc < 2) return 2;
    const rlimit most{rlim_t{3} << 30, rlim_t{3} << 30};
    if (!subcrop::test::under_sanitizer) setrlimit(RLIMIT_AS, &most);
    CPLSetErrorHandler(CPLQuietErrorHandler);
    try {
        return fuzz(argc, argv);
    } catch (const std::exception& fault) {
        std::fprintf(stderr, "%s: %s\n", argv[1], fault.what());
        return 1;
    }
}
