// The columns of a horizon, found once and read for each row. They are in a table of their own or in the stop table.
#pragma once

#include <array>

#include "io/table.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::io {

class HorizonColumns {
public:
    explicit HorizonColumns(const Table& table);

    bool any() const { return any_; }
    /// Reads the table's present row. False where every cell is empty.
    bool read(Table& table, TextPool& texts, model::Horizon& horizon) const;
    /// Our names of the columns found.
    const std::vector<std::string>& found() const { return found_; }

private:
    Column column(const Table& table, const char* name);

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

}  // namespace subcrop::io
