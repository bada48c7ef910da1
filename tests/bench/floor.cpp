// What no program that does the job can do without, each as a process of its own to be timed.
//
//     floor read FILE ...                    every byte of the files
//     floor write BYTES FILE                 so many bytes, and fsync; the file is removed afterwards
//     floor features FILE LAYER              every feature of a layer through OGR, its geometry and fields
//     floor likelihood STOPS UNITS CHANNELS  one pass of a table of likelihoods: of each stop and unit the sum over the
//     channels,
//                                            and the probabilities of the units
#include <fcntl.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "bench/random.hpp"

namespace {

constexpr std::size_t piece = std::size_t{1} << 20;

void read_bytes(const char* path) {
    const int file = open(path, O_RDONLY);
    if (file < 0) throw std::runtime_error(std::string("cannot read ") + path);
    std::vector<char> bytes(piece);
    while (read(file, bytes.data(), bytes.size()) > 0) {
    }
    close(file);
}

void write_bytes(std::size_t count, const char* path) {
    const int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    const std::vector<char> bytes(piece, 'x');
    bool good = file >= 0;
    for (std::size_t written = 0; good && written < count;) {
        const ssize_t now = write(file, bytes.data(), std::min(bytes.size(), count - written));
        good = now > 0;
        written += good ? static_cast<std::size_t>(now) : 0;
    }
    good = good && fsync(file) == 0;
    if (file >= 0) close(file);
    unlink(path);
    if (!good) throw std::runtime_error(std::string("cannot write ") + path);
}

void read_features(const char* path, const char* name) {
    GDALAllRegister();
    const GDALDatasetUniquePtr set(GDALDataset::Open(path, GDAL_OF_VECTOR | GDAL_OF_READONLY));
    OGRLayer* layer = set ? set->GetLayerByName(name) : nullptr;
    if (layer == nullptr) throw std::runtime_error(std::string("no layer ") + name + " in " + path);
    std::size_t features = 0;
    for (const OGRFeatureUniquePtr& feature : layer) features += feature->GetGeometryRef() != nullptr;
    std::printf("%zu features\n", features);
}

void pass_table(std::size_t stops, std::size_t units, std::size_t channels) {
    constexpr std::size_t values = 1000;
    subcrop::bench::Random random(1);
    std::vector<float> table(channels * values * units);
    for (float& number : table) number = static_cast<float>(random.uniform(-6, 0));
    std::vector<std::uint32_t> value(stops * channels);
    for (std::uint32_t& v : value) v = static_cast<std::uint32_t>(random.index(values));
    std::vector<double> sum(units);
    double check = 0;
    for (std::size_t s = 0; s < stops; ++s) {
        std::fill(sum.begin(), sum.end(), 0.0);
        for (std::size_t c = 0; c < channels; ++c) {
            const float* row = &table[(c * values + value[s * channels + c]) * units];
            for (std::size_t u = 0; u < units; ++u) sum[u] += static_cast<double>(row[u]);
        }
        const double greatest = *std::max_element(sum.begin(), sum.end());
        double total = 0;
        for (double& number : sum) total += number = std::exp(number - greatest);
        check += 1 / total;
    }
    std::printf("%.6f\n", check / static_cast<double>(stops));
}

}  // namespace

int main(int count, char** words) {
    try {
        const std::string what = count > 1 ? words[1] : "";
        if (what == "read" && count > 2) {
            for (int i = 2; i < count; ++i) read_bytes(words[i]);
        } else if (what == "write" && count == 4) {
            write_bytes(std::stoull(words[2]), words[3]);
        } else if (what == "features" && count == 4) {
            read_features(words[2], words[3]);
        } else if (what == "likelihood" && count == 5) {
            pass_table(std::stoull(words[2]), std::stoull(words[3]), std::stoull(words[4]));
        } else {
            std::fprintf(stderr,
                         "usage: floor read FILE ... | write BYTES FILE | features FILE LAYER | likelihood STOPS UNITS "
                         "CHANNELS\n");
            return 2;
        }
        return 0;
    } catch (const std::exception& error) {
        std::fprintf(stderr, "floor: %s\n", error.what());
        return 1;
    }
}
