#include "subcrop/core/problem.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

namespace subcrop {

std::string_view to_string(Severity severity) {
    switch (severity) {
        case Severity::note:
            return "note";
        case Severity::warning:
            return "warning";
        case Severity::error:
            return "error";
    }
    return "error";
}

void ProblemLog::add(Problem problem) {
    const std::scoped_lock lock(mutex_);
    problems_.push_back(std::move(problem));
}

std::vector<Problem> ProblemLog::sorted() const {
    const std::scoped_lock lock(mutex_);
    std::vector<Problem> result = problems_;
    auto key = [](const Problem& p) {
        return std::tuple(-static_cast<int>(p.severity), std::string_view(p.source), p.row.value_or(-1),
                          std::string_view(p.field), std::string_view(p.value), std::string_view(p.message));
    };
    std::stable_sort(result.begin(), result.end(), [&](const Problem& a, const Problem& b) { return key(a) < key(b); });
    return result;
}

std::size_t ProblemLog::count(Severity severity) const {
    const std::scoped_lock lock(mutex_);
    return static_cast<std::size_t>(
        std::count_if(problems_.begin(), problems_.end(), [&](const Problem& p) { return p.severity == severity; }));
}

std::size_t ProblemLog::size() const {
    const std::scoped_lock lock(mutex_);
    return problems_.size();
}

}  // namespace subcrop
