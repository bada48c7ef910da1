#include "subcrop/infer/answer.hpp"

#include <algorithm>
#include <array>

#include "infer/answer/answer_state.hpp"

namespace subcrop::infer {

namespace {

/// Space for one number for each class; on the stack for short legends.
class Scratch {
public:
    explicit Scratch(std::size_t size) : size_(size), large_(size > small_.size() ? size : 0) {}
    std::span<float> span() { return {large_.empty() ? small_.data() : large_.data(), size_}; }

private:
    std::size_t size_;
    std::array<float, 64> small_{};
    std::vector<float> large_;
};

constexpr float ruled_out = -60;  ///< mean of an impossible class

}  // namespace

void Answer::State::common(Point place, std::span<float> q) const {
    about->sample(place, q);
    float on_map = 0;
    for (const float share : q) on_map += share;
    const double local = on_map > 0.5f ? settings.area_local_share : 0;
    for (std::size_t k = 0; k < units.size(); ++k)
        q[k] = static_cast<float>((1 - local) * shares[k] + local * static_cast<double>(q[k]));
}

void Answer::State::moved(Point place, std::span<float> p) const {
    std::array<Point, 64> drawn{};
    const std::size_t draw_count = std::min(draws.count(), drawn.size());
    float sum = 0;
    as_drawn->sample(place, p);
    const auto trust = static_cast<float>(draw_count > 0 ? draws.at(place, {drawn.data(), draw_count}) : 0);
    if (trust > 0) {
        Scratch one(units.size());
        for (float& share : p) share *= 1 - trust;
        for (std::size_t d = 0; d < draw_count; ++d) {
            as_moved->sample({place.x + drawn[d].x, place.y + drawn[d].y}, one.span());
            for (std::size_t k = 0; k < units.size(); ++k)
                p[k] += trust / static_cast<float>(draw_count) * one.span()[k];
        }
    }
    for (const float share : p) sum += share;
    for (std::size_t k = 0; k < units.size(); ++k) {
        const double drafted = sum > 1e-6f ? static_cast<double>(p[k] / sum) : shares[k];
        p[k] = static_cast<float>(with_single_errors(drafted, k));
    }
}

void Answer::State::means_of_areas(Point place, std::span<const float> p, double share, std::span<float> means) const {
    common(place, means.subspan(1));
    float others = 0;
    for (std::size_t k = 0; k < units.size(); ++k)
        if (p[k] < 0.5f) others += means[k + 1];
    means[0] = 0;
    for (std::size_t k = 0; k < units.size(); ++k) {
        const double prior =
            std::clamp(share * static_cast<double>(means[k + 1] / std::max(others, 1e-9f)), 1e-7, 0.49);
        means[k + 1] = p[k] < 0.5f ? area_means(prior) : ruled_out;
    }
}

void Answer::State::means_of_rest(Point place, std::span<const float> p, double share, std::span<float> means) const {
    common(place, means);
    for (std::size_t k = 0; k < units.size(); ++k)
        means[k] = rest_means((1 - share) * static_cast<double>(p[k]) + share * static_cast<double>(means[k]));
}

void Answer::State::answer(Point place, std::span<float> p, float* as_moved_share, std::span<float> before) const {
    moved(place, p);
    if (!before.empty()) std::copy(p.begin(), p.end(), before.begin());
    if (as_moved_share) *as_moved_share = 1;
    const std::size_t count = units.size();
    if (!areas.empty() && !areas.quiet(place)) {
        Scratch means(count + 1), share(count + 1);
        means_of_areas(place, p, area_share, means.span());
        areas.at(place, means.span(), share.span());
        for (std::size_t k = 0; k < count; ++k) p[k] = share.span()[0] * p[k] + share.span()[k + 1];
        if (as_moved_share) *as_moved_share = share.span()[0];
    }
    if (!rest.empty()) {
        Scratch means(count), share(count);
        means_of_rest(place, p, area_share, means.span());
        rest.at(place, means.span(), share.span());
        std::copy(share.span().begin(), share.span().end(), p.begin());
    }
}

Answer::Answer() = default;
Answer::Answer(std::shared_ptr<const State> state) : state_(std::move(state)) {}

double Answer::contact_sd_m() const { return state_->contact_sd_m; }
double Answer::stop_distance_m() const { return state_->stop_distance_m; }

void Answer::at(Point place, std::span<float> probability) const {
    Scratch p(state_->units.size());
    state_->answer(place, p.span(), nullptr);
    std::fill(probability.begin(), probability.end(), 0.0f);
    for (std::size_t k = 0; k < state_->units.size(); ++k)
        probability[static_cast<std::size_t>(state_->units[k])] = p.span()[k];
}

Point Answer::place_on_draft(Point place) const {
    const DisplacementDraws& draws = state_->draws;
    std::array<Point, 64> drawn{};
    const std::size_t count = std::min(draws.count(), drawn.size());
    const double trust = count > 0 ? draws.at(place, {drawn.data(), count}) : 0;
    if (trust <= 0) return place;
    // Draws come in pairs, symmetric about the mode.
    return {place.x + trust * (drawn[0].x + drawn[1].x) / 2, place.y + trust * (drawn[0].y + drawn[1].y) / 2};
}

Answer::Revision Answer::revision(Point place, model::UnitIndex drafted) const {
    Revision result{drafted};
    const auto own = std::find(state_->units.begin(), state_->units.end(), drafted);
    if (own == state_->units.end() || (state_->areas.empty() && state_->rest.empty())) return result;
    if (state_->rest.empty() && state_->areas.quiet(place)) return result;
    const auto b = static_cast<std::size_t>(own - state_->units.begin());
    Scratch before(state_->units.size()), after(state_->units.size());
    state_->answer(place, after.span(), nullptr, before.span());
    if (after.span()[b] > 0.6f) return result;
    // The rounding of corners by the blur of contacts is no evidence.
    for (std::size_t k = 0; k < state_->units.size(); ++k) {
        const double blur = std::max(1.0, static_cast<double>(before.span()[k] / std::max(before.span()[b], 1e-9f)));
        const double odds = static_cast<double>(after.span()[k] / std::max(after.span()[b], 1e-9f)) / blur;
        if (k != b && odds > result.odds) result = {state_->units[k], odds};
    }
    return result;
}

double Answer::p_disputed(Point place) const {
    Scratch p(state_->units.size());
    float as_moved = 1;
    state_->answer(place, p.span(), &as_moved);
    return 1 - static_cast<double>(as_moved);
}

}  // namespace subcrop::infer
