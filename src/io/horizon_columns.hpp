// The columns of a horizon, found once and read for each row. They are in a table of their own or in the stop table.
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "io/table.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::io {

class HorizonColumns {
public:
    /// `number`: of the horizon, where a row has several side by side; 0: it has one.
    explicit HorizonColumns(const Table& table, std::size_t number = 0);

    bool any() const { return any_; }
    /// Reads the table's present row. False where every cell is empty.
    bool read(Table& table, TextPool& texts, model::Horizon& horizon) const;
    /// Our names of the columns found.
    const std::vector<std::string>& found() const { return found_; }

private:
    Column column(const Table& table, const char* name);

    std::size_t number_;
    bool any_ = false;
    std::vector<std::string> found_;
    std::vector<std::pair<Column, Text model::Horizon::*>> texts_;
    struct NumberColumn {
        Column column;
        std::optional<double> model::Horizon::*member;
        NumberRule rule;
    };
    std::vector<NumberColumn> numbers_;
    Column top_;
    Column bottom_;
    NumberRule depth_rule_;
};

/// Those of a stop table: of its one horizon, or of several side by side.
std::vector<HorizonColumns> horizons_of_stops(const Table& table);

}  // namespace subcrop::io
