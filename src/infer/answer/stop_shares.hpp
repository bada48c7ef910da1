// A sparse table of stops x units: only entries above 0 are stored. On a draft a stop has two or three units of twenty,
// so the table takes a fifth of the memory.
//
//     StopShares shares(stops, units, threads, [&](std::size_t begin, std::size_t end, auto&& put) {
//         for (std::size_t s = begin; s < end; ++s) put(row_of(s));   // one row a stop, in order
//     });
//     shares.row(s, row);
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "subcrop/core/parallel.hpp"

namespace subcrop::infer {

class StopShares {
public:
    StopShares() = default;
    template <class Make>
    StopShares(std::size_t stops, std::size_t units, unsigned threads, const Make& make)
        : stops_(stops), units_(units), blocks_((stops + in_block - 1) / in_block) {
        parallel_blocks(stops, in_block, threads, [&](std::size_t begin, std::size_t end, unsigned) {
            Block& block = blocks_[begin / in_block];
            block.first.reserve(end - begin + 1);
            block.first.push_back(0);
            make(begin, end, [&block](const auto& row) {
                for (std::size_t u = 0; u < row.size(); ++u) {
                    const auto share = static_cast<float>(row[u]);
                    if (share == 0) continue;
                    block.unit.push_back(static_cast<std::uint32_t>(u));
                    block.share.push_back(share);
                }
                block.first.push_back(static_cast<std::uint32_t>(block.unit.size()));
            });
            block.unit.shrink_to_fit();
            block.share.shrink_to_fit();
        });
    }
    /// From a table of stops x units.
    StopShares(const std::vector<float>& table, std::size_t units, unsigned threads)
        : StopShares(units == 0 ? 0 : table.size() / units, units, threads,
                     [&](std::size_t begin, std::size_t end, auto&& put) {
                         for (std::size_t s = begin; s < end; ++s)
                             put(std::span<const float>(&table[s * units], units));
                     }) {}

    std::size_t stops() const { return stops_; }
    /// One share a unit.
    template <class Number>
    void row(std::size_t stop, std::span<Number> into) const {
        std::fill(into.begin(), into.end(), Number{0});
        const Block& block = blocks_[stop / in_block];
        const std::size_t in = stop % in_block;
        for (std::uint32_t i = block.first[in]; i < block.first[in + 1]; ++i)
            into[block.unit[i]] = static_cast<Number>(block.share[i]);
    }
    float at(std::size_t stop, std::size_t unit) const {
        const Block& block = blocks_[stop / in_block];
        const std::size_t in = stop % in_block;
        for (std::uint32_t i = block.first[in]; i < block.first[in + 1]; ++i)
            if (block.unit[i] == unit) return block.share[i];
        return 0;
    }
    /// As a table of stops x units.
    std::vector<float> table() const {
        std::vector<float> all(stops_ * units_);
        for (std::size_t s = 0; s < stops_; ++s) row(s, std::span<float>(&all[s * units_], units_));
        return all;
    }

private:
    static constexpr std::size_t in_block = 2048;
    struct Block {
        std::vector<std::uint32_t> first;  ///< first entry of each stop, and the end
        std::vector<std::uint32_t> unit;
        std::vector<float> share;
    };
    std::size_t stops_ = 0, units_ = 0;
    std::vector<Block> blocks_;
};

}  // namespace subcrop::infer
