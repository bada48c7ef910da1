// A file as it lies on the disk.
#pragma once

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace subcrop {

/// Empty where there is none.
inline std::string bytes_of(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace subcrop
