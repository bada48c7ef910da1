#include "io/nearest_name.hpp"

#include <algorithm>
#include <numeric>

namespace subcrop::io {

std::string lower(std::string_view text) {
    std::string result(text);
    for (char& c : result) {
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    }
    return result;
}

std::size_t edit_distance(std::string_view a_text, std::string_view b_text) {
    const std::string a = lower(a_text), b = lower(b_text);
    std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), now(b.size() + 1);
    std::iota(last.begin(), last.end(), std::size_t{0});
    for (std::size_t i = 1; i <= a.size(); ++i) {
        now[0] = i;
        for (std::size_t j = 1; j <= b.size(); ++j) {
            now[j] = std::min({last[j] + 1, now[j - 1] + 1, last[j - 1] + (a[i - 1] == b[j - 1] ? 0U : 1U)});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                now[j] = std::min(now[j], before[j - 2] + 1);
        }
        before = last;
        last = now;
    }
    return last[b.size()];
}

std::vector<std::string> by_nearness(std::string_view wanted, std::span<const std::string> candidates) {
    std::vector<std::pair<std::size_t, std::string>> ranked;
    ranked.reserve(candidates.size());
    for (const std::string& candidate : candidates) ranked.emplace_back(edit_distance(wanted, candidate), candidate);
    std::stable_sort(ranked.begin(), ranked.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<std::string> result;
    for (auto& [distance, name] : ranked) result.push_back(std::move(name));
    return result;
}

std::string nearest_name(std::string_view wanted, std::span<const std::string> candidates) {
    if (candidates.empty() || wanted.empty()) return {};
    const std::string best = by_nearness(wanted, candidates).front();
    const std::size_t length = std::max(wanted.size(), best.size());
    // A third of the letters, at least one: farther than that the hint would mislead.
    const std::size_t allowed = std::max<std::size_t>(1, length / 3);
    const bool a_cut =
        wanted.size() >= 3 && (lower(best).starts_with(lower(wanted)) || lower(wanted).starts_with(lower(best)));
    if (edit_distance(wanted, best) <= allowed && edit_distance(wanted, best) < length) return best;
    if (a_cut) return best;
    for (const std::string& candidate : candidates) {
        if (wanted.size() >= 3 && lower(candidate).starts_with(lower(wanted))) return candidate;
    }
    return {};
}

std::string did_you_mean(std::string_view wanted, std::span<const std::string> candidates) {
    const std::string name = nearest_name(wanted, candidates);
    return name.empty() ? std::string() : "Did you mean '" + name + "'? ";
}

std::string listed(std::span<const std::string> names, std::size_t most) {
    std::string text;
    for (std::size_t i = 0; i < names.size() && i < most; ++i) {
        if (i > 0) text += ", ";
        text += names[i];
    }
    if (names.size() > most) text += " and " + std::to_string(names.size() - most) + " more";
    return text;
}

}  // namespace subcrop::io
