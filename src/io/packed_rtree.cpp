#include "io/packed_rtree.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>

namespace subcrop::io {

namespace {

// sqlite.org/rtree.html: a node is two big-endian 16-bit numbers (depth of the tree, in the root only; entries) and
// then its entries, a 64-bit integer and four 32-bit floats each, big-endian, filled up with zeros to the length of
// node 1.
constexpr std::size_t header_bytes = 4;
constexpr std::size_t entry_bytes = 24;

float rounded_down(double value) {
    const auto nearest = static_cast<float>(value);
    return static_cast<double>(nearest) > value ? std::nextafter(nearest, -std::numeric_limits<float>::infinity())
                                                : nearest;
}

float rounded_up(double value) {
    const auto nearest = static_cast<float>(value);
    return static_cast<double>(nearest) < value ? std::nextafter(nearest, std::numeric_limits<float>::infinity())
                                                : nearest;
}

// Distance along the Hilbert curve of order 16 (Hilbert 1891), by turning the square quadrant by quadrant.
std::uint32_t hilbert_distance(std::uint32_t x, std::uint32_t y) {
    std::uint32_t distance = 0;
    for (std::uint32_t half = 1U << 15U; half > 0; half >>= 1U) {
        const std::uint32_t right = (x & half) != 0 ? 1 : 0;
        const std::uint32_t upper = (y & half) != 0 ? 1 : 0;
        distance += half * half * ((3 * right) ^ upper);
        if (upper == 0) {
            if (right == 1) {
                x = 0xFFFFU - x;
                y = 0xFFFFU - y;
            }
            std::swap(x, y);
        }
    }
    return distance;
}

template <class Number>
void put_big_endian(char*& to, Number value) {
    for (int shift = static_cast<int>(sizeof(Number)) * 8 - 8; shift >= 0; shift -= 8)
        *to++ = static_cast<char>(static_cast<unsigned char>(value >> static_cast<unsigned>(shift)));
}

void put_entry(char*& to, const IndexEntry& entry) {
    put_big_endian(to, static_cast<std::uint64_t>(entry.row));
    for (const float side : {entry.min_x, entry.max_x, entry.min_y, entry.max_y})
        put_big_endian(to, std::bit_cast<std::uint32_t>(side));
}

// One level of the tree: nodes of consecutive entries, of nearly equal size so that none is emptier than the module's
// own deletions would leave it.
struct Level {
    std::vector<IndexEntry> entries;
    std::size_t nodes = 0;
    std::int64_t first_node = 0;

    std::size_t begin_of(std::size_t node) const { return node * entries.size() / nodes; }
    std::size_t end_of(std::size_t node) const { return (node + 1) * entries.size() / nodes; }
};

/// Inserts pairs of whole numbers, many at once.
class NumberPairs {
public:
    NumberPairs(SqliteFile& database, BatchTable& batch_table, const std::string& table, const std::string& columns)
        : batch_table_(batch_table),
          insert_(
              database.prepare("INSERT INTO " + quoted_name(table) + "(" + columns + ") SELECT c0, c1 FROM batch")) {}

    void add(std::int64_t first, std::int64_t second) {
        batch_.integer(first).integer(second).end_row();
        if (batch_.rows() == max_rows) finish();
    }
    void finish() {
        batch_table_.show(batch_, 2);
        insert_.run();
        batch_ = {};
    }

private:
    static constexpr std::size_t max_rows = 8192;
    BatchTable& batch_table_;
    SqliteStatement insert_;
    RowBatch batch_;
};

}  // namespace

void sort_along_curve(std::vector<IndexEntry>& entries) {
    Box extent;
    auto centre = [](const IndexEntry& e) {
        return Point{(static_cast<double>(e.min_x) + static_cast<double>(e.max_x)) / 2,
                     (static_cast<double>(e.min_y) + static_cast<double>(e.max_y)) / 2};
    };
    for (const IndexEntry& entry : entries) extent.add(centre(entry));
    const double side = std::max({extent.width(), extent.height(), std::numeric_limits<double>::min()});
    std::vector<std::pair<std::uint32_t, std::uint32_t>> order(entries.size());
    for (std::size_t i = 0; i < entries.size(); ++i) {
        const Point c = centre(entries[i]);
        order[i] = {hilbert_distance(static_cast<std::uint32_t>((c.x - extent.min_x) / side * 65535.0),
                                     static_cast<std::uint32_t>((c.y - extent.min_y) / side * 65535.0)),
                    static_cast<std::uint32_t>(i)};
    }
    std::sort(order.begin(), order.end());
    std::vector<IndexEntry> sorted;
    sorted.reserve(entries.size());
    for (const auto& [distance, index] : order) sorted.push_back(entries[index]);
    entries = std::move(sorted);
}

IndexEntry index_entry(std::int64_t row, const Box& box) {
    return {row, rounded_down(box.min_x), rounded_up(box.max_x), rounded_down(box.min_y), rounded_up(box.max_y)};
}

void fill_packed(SqliteFile& database, BatchTable& batch_table, const std::string& table,
                 std::vector<IndexEntry> entries) {
    if (entries.empty()) return;
    std::size_t node_bytes = 0;
    {
        SqliteStatement root =
            database.prepare("SELECT length(data) FROM " + quoted_name(table + "_node") + " WHERE nodeno = 1");
        if (root.step()) node_bytes = static_cast<std::size_t>(root.integer(0));
    }
    const std::size_t capacity =
        node_bytes < header_bytes + 2 * entry_bytes ? 0 : (node_bytes - header_bytes) / entry_bytes;
    if (capacity == 0) {
        throw Error(
            {}, "the spatial index of SQLite " + std::string(sqlite3_libversion()) + " is not laid out as published");
    }
    std::vector<Level> levels;
    levels.push_back({.entries = std::move(entries)});
    for (;;) {
        Level& level = levels.back();
        level.nodes = (level.entries.size() + capacity - 1) / capacity;
        if (level.nodes == 1) break;
        Level above;
        above.entries.resize(level.nodes);
        for (std::size_t node = 0; node < level.nodes; ++node) {
            IndexEntry box = level.entries[level.begin_of(node)];
            for (std::size_t i = level.begin_of(node); i < level.end_of(node); ++i) {
                const IndexEntry& e = level.entries[i];
                box.min_x = std::min(box.min_x, e.min_x);
                box.max_x = std::max(box.max_x, e.max_x);
                box.min_y = std::min(box.min_y, e.min_y);
                box.max_y = std::max(box.max_y, e.max_y);
            }
            above.entries[node] = box;
        }
        levels.push_back(std::move(above));
    }
    // The root is node 1; numbers run on from there, level by level towards the leaves.
    std::int64_t next = 1;
    for (auto level = levels.rbegin(); level != levels.rend(); ++level) {
        level->first_node = next;
        next += static_cast<std::int64_t>(level->nodes);
    }
    for (std::size_t l = 1; l < levels.size(); ++l)
        for (std::size_t i = 0; i < levels[l].entries.size(); ++i)
            levels[l].entries[i].row = levels[l - 1].first_node + static_cast<std::int64_t>(i);

    database.run("DELETE FROM " + quoted_name(table + "_node"));
    SqliteStatement insert_node =
        database.prepare("INSERT INTO " + quoted_name(table + "_node") + "(nodeno, data) VALUES (?, ?)");
    SqliteStatement insert_parent =
        database.prepare("INSERT INTO " + quoted_name(table + "_parent") + "(nodeno, parentnode) VALUES (?, ?)");
    std::string data;
    for (std::size_t l = levels.size(); l-- > 0;) {
        const Level& level = levels[l];
        for (std::size_t node = 0; node < level.nodes; ++node) {
            const std::size_t begin = level.begin_of(node), end = level.end_of(node);
            data.assign(node_bytes, '\0');
            char* to = data.data();
            put_big_endian(to, static_cast<std::uint16_t>(l + 1 == levels.size() ? l : 0));
            put_big_endian(to, static_cast<std::uint16_t>(end - begin));
            for (std::size_t i = begin; i < end; ++i) put_entry(to, level.entries[i]);
            const std::int64_t number = level.first_node + static_cast<std::int64_t>(node);
            insert_node.bind(1, number).bind_blob(2, data).run();
            if (l > 0)
                for (std::size_t i = begin; i < end; ++i)
                    insert_parent.bind(1, level.entries[i].row).bind(2, number).run();
        }
    }
    // By row, so that this table too grows at its end; rows of a layer run from 1 without great gaps.
    std::vector<std::int64_t> node_of_row;
    for (std::size_t node = 0; node < levels[0].nodes; ++node) {
        for (std::size_t i = levels[0].begin_of(node); i < levels[0].end_of(node); ++i) {
            const auto row = static_cast<std::size_t>(levels[0].entries[i].row);
            if (row >= node_of_row.size()) node_of_row.resize(std::max(row + 1, levels[0].entries.size() + 1), 0);
            node_of_row[row] = levels[0].first_node + static_cast<std::int64_t>(node);
        }
    }
    NumberPairs nodes(database, batch_table, table + "_rowid", "rowid, nodeno");
    for (std::size_t row = 0; row < node_of_row.size(); ++row) {
        if (node_of_row[row] != 0) nodes.add(static_cast<std::int64_t>(row), node_of_row[row]);
    }
    nodes.finish();
}

}  // namespace subcrop::io
