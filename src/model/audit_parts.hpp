// Common parts of the two halves of the audit.
#pragma once

#include <algorithm>
#include <array>
#include <cstdio>
#include <string>
#include <utility>
#include <vector>

#include "subcrop/core/problem.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/survey.hpp"

namespace subcrop::model {

void audit_profiles(const Survey& survey, const Reduced& reduced, ProblemLog& problems);
void audit_words(const Survey& survey, const Reduced& reduced, ProblemLog& problems);
void audit_stops(const Survey& survey, unsigned threads, ProblemLog& problems);

/// One kind of finding. A mistake throughout a large book is reported some times, then only counted.
class Findings {
public:
    explicit Findings(ProblemLog& problems) : problems_(problems) {}
    ~Findings() {
        if (count_ <= max_told) return;
        last_.row.reset();
        last_.value.clear();
        last_.position.reset();
        last_.message =
            std::to_string(count_ - max_told) + " more of this kind, which are not told one by one: " + last_.message;
        problems_.add(std::move(last_));
    }
    Findings(const Findings&) = delete;
    Findings& operator=(const Findings&) = delete;

    void add(Problem problem) {
        if (++count_ <= max_told)
            problems_.add(std::move(problem));
        else if (count_ == max_told + 1)
            last_ = std::move(problem);
    }

private:
    static constexpr std::size_t max_told = 1000;
    ProblemLog& problems_;
    std::size_t count_ = 0;
    Problem last_;
};

/// A number as a person writes it, or in another format of printf.
inline std::string number(double value, const char* format = "%g") {
    std::array<char, 40> text{};
    std::snprintf(text.data(), text.size(), format, value);
    return text.data();
}

/// The median (the upper of two). Changes the order of `values`, which must not be empty.
inline double median_of(std::vector<double>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

}  // namespace subcrop::model
