// Plain text for a person: aligned columns and sentences wrapped beside them.
#pragma once

#include <cstddef>
#include <ostream>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "subcrop/core/error.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::cli {

/// Letters that a UTF-8 text takes up on the screen.
std::size_t width_of(std::string_view text);

/// Columns of the terminal at standard output, 100 where it is none; between 60 and 120.
std::size_t screen_width();

/// `text`, made visible, in lines of at most `width` letters, all but the first indented by `indent`.
std::string wrapped(std::string_view text, std::size_t indent, std::size_t width);

/// Rows of a name and a sentence: "  name   sentence", the sentences below one another.
void print_pairs(std::ostream& out, const std::vector<std::pair<std::string, std::string>>& rows, std::size_t width);

/// "1,234"
std::string grouped(std::size_t count);
/// "1 stop", "1,234 stops"
std::string counted(std::size_t count, std::string_view one, std::string_view many);

/// "stops.csv, row 12, field colour_moist, '10XR 5/6': no such hue. Write 10YR." A long value is cut short.
std::string sentence(const Problem& problem);
/// The same with these rows, such as "rows 3, 7 and 9".
std::string sentence(const Problem& problem, const std::string& rows);

/// Errors, warnings and notes with their counts, "2 errors, 1 warning, 30 notes"; empty where there are none.
std::string problem_counts(std::size_t errors, std::size_t warnings, std::size_t notes);

void print_operations(std::ostream& out, const std::vector<model::CoordinateOperation>& operations, std::size_t width);
/// The first `most`, rows with the same mistake as one, with a line that says how many more there are of `total`.
void print_problems(std::ostream& out, const std::vector<Problem>& problems, std::size_t most, std::size_t total,
                    std::string_view where_all, std::size_t width);

}  // namespace subcrop::cli
