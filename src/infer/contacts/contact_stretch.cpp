#include "subcrop/infer/contact_stretch.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "subcrop/core/parallel.hpp"
#include "subcrop/core/planar.hpp"
#include "subcrop/infer/relocate.hpp"
#include "subcrop/infer/traverse.hpp"

namespace subcrop::infer {

namespace {

constexpr double reach_in_sd = 4;   ///< how far a stop tests a contact beyond its foot, in standard errors of contacts
constexpr double cost_of_cut = 1;   ///< in decimal log odds, as many as make a contact doubtful (`review_of`)
constexpr double moved_from = 0.8;  ///< p_moved of a contact too short for a stretch

struct Crossed {
    double along_m = 0;
    Point place;
};

/// A stop by the place on the contact that is nearest to it.
struct Witness {
    double along_m = 0;
    ContactStop stop;
};

/// For each contact the crossings whose 90 % interval excludes its drawn line.
std::vector<std::vector<Crossed>> crossed_elsewhere(const geo::UnitMap& map,
                                                    std::span<const TraverseCrossing> crossings) {
    std::vector<std::vector<Crossed>> result(map.contacts().size());
    for (const TraverseCrossing& crossing : crossings) {
        if (crossing.status != CrossingStatus::displaced || !crossing.mapped_chainage_m || !crossing.low_m ||
            !crossing.high_m)
            continue;
        if (*crossing.mapped_chainage_m >= *crossing.low_m && *crossing.mapped_chainage_m <= *crossing.high_m) continue;
        const auto [a, b] = std::minmax(crossing.from_unit, crossing.to_unit);
        // The crossed line is no farther from the place found than the distance along the traverse.
        double nearest = std::abs(crossing.offset_m.value_or(0)) + 1;
        std::optional<std::size_t> found;
        double along_m = 0;
        for (std::size_t i = 0; i < map.contacts().size(); ++i) {
            const geo::Contact& contact = map.contacts()[i];
            if (contact.unit_a != a || contact.unit_b != b) continue;
            const NearestOnLine foot = nearest_on(contact.line, crossing.place);
            if (foot.off_m >= nearest) continue;
            nearest = foot.off_m;
            found = i;
            along_m = foot.along_m;
        }
        if (found) result[*found].push_back({along_m, crossing.place});
    }
    return result;
}

/// For each of a run of stops whether it belongs to a doubtful part.
std::vector<char> doubtful_ones(std::span<const Witness> stops) {
    // Best sum up to a stop that ends in a doubtful part (1) or not (0), and whether the stop before was in doubt.
    std::vector<std::array<char, 2>> before(stops.size());
    std::array<double, 2> best{0, 0};
    for (std::size_t i = 0; i < stops.size(); ++i) {
        std::array<double, 2> next{};
        for (const int state : {0, 1}) {
            const double stay = best[state], cut = best[1 - state] - cost_of_cut;
            before[i][state] = static_cast<char>(i > 0 && cut > stay ? 1 - state : state);
            next[state] = (i > 0 ? std::max(stay, cut) : 0) + (state == 1 ? stops[i].stop.log10_odds_against : 0);
        }
        best = next;
    }
    std::vector<char> doubtful(stops.size());
    int state = best[1] > best[0] ? 1 : 0;
    for (std::size_t i = stops.size(); i-- > 0;) {
        doubtful[i] = static_cast<char>(state);
        state = before[i][state];
    }
    return doubtful;
}

/// Cuts one contact.
class Cutting {
public:
    Cutting(const geo::Contact& contact, const RelocatedContact& relocated, std::vector<Witness> stops,
            std::span<const Crossed> crossed, double reach_m)
        : contact_(contact), relocated_(relocated), stops_(std::move(stops)), crossed_(crossed), reach_m_(reach_m) {}

    std::vector<ContactStretch> cut(bool moved_as_a_whole) {
        const double length_m = contact_.length_m;
        if (relocated_.disputed || (moved_as_a_whole && relocated_.stretches.empty())) {
            part(0, length_m).review = relocated_.disputed ? Review::doubtful : Review::shift;
        } else {
            double done_m = 0;
            for (std::size_t k = 0; k < relocated_.stretches.size(); ++k) {
                const MovedStretch& stretch = relocated_.stretches[k];
                rest(done_m, stretch.from_m);
                done_m = std::min(stretch.from_m + stretch.length_m, length_m);
                ContactStretch& moved = part(stretch.from_m, done_m);
                moved.review = Review::shift;
                moved.moved = k;
            }
            rest(done_m, length_m);
        }
        for (ContactStretch& one : parts_) {
            take_stops(one);
            one.half_width_m = half_width_m(one);
        }
        return std::move(parts_);
    }

private:
    /// What lies between misplaced stretches.
    void rest(double from_m, double to_m) {
        if (to_m - from_m <= 1e-6 * contact_.length_m) return;
        const auto within = [&](const Witness& stop) { return stop.along_m < from_m; };
        auto next = std::find_if_not(stops_.begin(), stops_.end(), within);
        const auto end = std::find_if(next, stops_.end(), [&](const Witness& stop) { return stop.along_m > to_m; });
        double done_m = from_m;
        while (next != end) {
            auto last = next + 1;  // stops near enough to one another to test one part
            while (last != end && last->along_m - (last - 1)->along_m <= 3 * reach_m_) ++last;
            const double begin_m = next->along_m - 2 * reach_m_ <= done_m ? done_m : next->along_m - reach_m_;
            const double end_m = (last - 1)->along_m + 2 * reach_m_ >= to_m ? to_m : (last - 1)->along_m + reach_m_;
            tested(done_m, begin_m, {});
            tested(begin_m, end_m, {next, last});
            done_m = end_m;
            next = last;
        }
        tested(done_m, to_m, {});
    }

    /// Cuts a part where its stops change their mind.
    void tested(double from_m, double to_m, std::span<const Witness> stops) {
        if (to_m <= from_m) return;
        const std::vector<char> doubtful = doubtful_ones(stops);
        std::size_t first = 0;
        double begin_m = from_m;
        for (std::size_t i = 1; i < stops.size(); ++i) {
            if (doubtful[i] == doubtful[i - 1]) continue;
            const double end_m = std::clamp((stops[i - 1].along_m + stops[i].along_m) / 2, begin_m, to_m);
            judged(begin_m, end_m, stops.subspan(first, i - first));
            first = i;
            begin_m = end_m;
        }
        judged(begin_m, to_m, stops.subspan(first));
    }

    void judged(double from_m, double to_m, std::span<const Witness> stops) {
        ContactSupport support;
        for (const Witness& stop : stops) support.add(stop.stop);
        Review review = review_of(support);
        for (const Crossed& crossed : crossed_)
            if (crossed.along_m >= from_m && crossed.along_m <= to_m) review = Review::doubtful;
        const bool goes_on = !parts_.empty() && parts_.back().to_m == from_m;
        if (goes_on && review == Review::untested && parts_.back().review == review)
            parts_.back().to_m = to_m;
        else
            part(from_m, to_m).review = review;
    }

    ContactStretch& part(double from_m, double to_m) {
        ContactStretch& result = parts_.emplace_back();
        result.from_m = from_m;
        result.to_m = to_m;
        return result;
    }

    /// Those whose foot lies there, the clearest first. A foot on a cut belongs to the part before it.
    void take_stops(ContactStretch& part) const {
        std::vector<ContactStop> taken;
        for (const Witness& stop : stops_)
            if ((stop.along_m > part.from_m || part.from_m == 0) && stop.along_m <= part.to_m)
                taken.push_back(stop.stop);
        std::stable_sort(taken.begin(), taken.end(), [](const ContactStop& a, const ContactStop& b) {
            return std::abs(a.log10_odds_against) > std::abs(b.log10_odds_against);
        });
        for (const ContactStop& stop : taken) {
            ContactSupport said;
            said.add(stop);
            ++part.stops;
            part.log10_odds_against += stop.log10_odds_against;
            if (said.stops_for > 0) part.supporting.push_back(stop.stop);
            if (said.stops_against > 0) part.contradicting.push_back(stop.stop);
        }
        for (const Crossed& crossed : crossed_)
            if (!part.crossed_elsewhere && crossed.along_m >= part.from_m && crossed.along_m <= part.to_m)
                part.crossed_elsewhere = crossed.place;
    }

    double half_width_m(const ContactStretch& one) const {
        const std::vector<double>& widths = relocated_.half_widths_m;
        if (widths.size() == 1) return widths[0];
        constexpr int places = 8;
        double sum = 0;
        for (int k = 0; k < places; ++k) {
            const double along_m = one.from_m + (k + 0.5) / places * (one.to_m - one.from_m);
            const double width = widths[nearest_on(relocated_.line, place_along(contact_.line, along_m)).edge];
            sum += width * width;
        }
        return std::sqrt(sum / places);
    }

    const geo::Contact& contact_;
    const RelocatedContact& relocated_;
    std::vector<Witness> stops_;
    std::span<const Crossed> crossed_;
    double reach_m_;
    std::vector<ContactStretch> parts_;
};

/// The worst first.
int rank_of(Review review) {
    switch (review) {
        case Review::shift:
            return 0;
        case Review::doubtful:
            return 1;
        case Review::supported:
            return 2;
        case Review::untested:
            return 3;
    }
    return 3;
}

}  // namespace

Review review_of(const Relocation& relocation, std::size_t contact) {
    Review worst = Review::untested;
    for (const ContactStretch& part : relocation.contacts[contact].parts)
        if (rank_of(part.review) < rank_of(worst)) worst = part.review;
    return worst;
}

void review_stretches(const model::Survey& survey, const geo::UnitMap& map, const Fit& fit,
                      std::span<const TraverseCrossing> crossings, Relocation& relocation, unsigned threads) {
    const std::vector<geo::Contact>& contacts = map.contacts();
    const std::vector<std::vector<Crossed>> crossed = crossed_elsewhere(map, crossings);
    const double reach_m = reach_in_sd * std::max(fit.contact_sd_m, survey.contact_sd_m);
    parallel_blocks(contacts.size(), 16, threads, [&](std::size_t begin, std::size_t end, unsigned) {
        for (std::size_t i = begin; i < end; ++i) {
            std::vector<Witness> stops;
            for (const ContactStop& near : fit.contacts[i].stops)
                stops.push_back({nearest_on(contacts[i].line, survey.stops[near.stop].position).along_m, near});
            std::stable_sort(stops.begin(), stops.end(),
                             [](const Witness& a, const Witness& b) { return a.along_m < b.along_m; });
            RelocatedContact& relocated = relocation.contacts[i];
            relocated.crossed_elsewhere = crossed[i].size();
            const bool moved = !relocation.shifts.empty() && relocation.shifts[i].p_moved > moved_from;
            relocated.parts = Cutting(contacts[i], relocated, std::move(stops), crossed[i], reach_m).cut(moved);
        }
    });
}

std::optional<PartShift> shift_of(const Relocation& relocation, std::size_t contact, const ContactStretch& part) {
    if (part.review != Review::shift) return std::nullopt;
    if (part.moved) {
        const MovedStretch& stretch = relocation.contacts[contact].stretches[*part.moved];
        return PartShift{stretch.shift_m, stretch.shift_sd_m, stretch.azimuth_deg};
    }
    const ContactShift& whole = relocation.shifts[contact];
    return PartShift{std::abs(whole.shift_m), whole.shift_sd_m, whole.azimuth_deg};
}

Line line_of(const ContactStretch& part, const geo::Contact& contact) {
    return part_of(contact.line, part.from_m, part.to_m);
}

}  // namespace subcrop::infer
