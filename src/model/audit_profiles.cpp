#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <span>
#include <string_view>
#include <utility>

#include "audit_parts.hpp"
#include "subcrop/field/munsell.hpp"

namespace subcrop::model {

namespace {

/// Depths are written in whole centimetres.
constexpr double depth_slack_cm = 0.5;
/// Half a step of Munsell value is about 5 in L*. A smaller difference may come from handling the chip.
constexpr double lightness_slack = 4.0;
/// From one family of hues to the next (10R to 10YR), the slip of a letter.
constexpr double hue_family = 10.0;
/// Three pages of a colour book from every other hue of the profile.
constexpr double far_hue = 7.5;
/// Hues of one profile that support each other lie within two pages of a colour book.
constexpr double hue_company = 5.0;
/// Below this chroma hues are hard to distinguish and depend on wetness.
constexpr double min_chroma = 2.0;
/// Soil with free carbonates has a pH of 7 or more.
constexpr double neutral_ph = 7.0;
/// Number of profiles needed to know the usual depths.
constexpr std::size_t min_profiles = 8;

class Profiles {
public:
    Profiles(const Survey& survey, const Reduced& reduced, ProblemLog& problems)
        : survey_(survey),
          reduced_(reduced),
          overlaps_(problems),
          gaps_(problems),
          values_(problems),
          hues_(problems),
          reactions_(problems),
          units_(problems) {}

    void look() {
        for (const Stop& stop : survey_.stops) {
            if (stop.horizon_count == 0) continue;
            look_at_depths(stop);
            look_at_hues(stop, reduced_.colour_moist, moist_, &Horizon::colour_moist, "colour_moist");
            look_at_hues(stop, reduced_.colour_dry, dry_, &Horizon::colour_dry, "colour_dry");
            for (std::size_t h = stop.first_horizon; h < stop.first_horizon + stop.horizon_count; ++h) {
                look_at_values(stop, h);
                look_at_reaction(stop, h);
            }
        }
        look_at_units();
    }

private:
    Problem problem(Severity severity, const Stop& stop, std::int64_t row, const char* field, std::string value) const {
        const auto s = static_cast<std::size_t>(&stop - survey_.stops.data());
        return {.severity = severity,
                .source = survey_.horizon_source_of(s),
                .row = row,
                .field = survey_.horizon_columns_of(s).of(field),
                .value = std::move(value),
                .message = {},
                .remedy = {},
                .position = stop.position};
    }

    std::span<const Horizon> horizons_of(const Stop& stop) const {
        return std::span(survey_.horizons).subspan(stop.first_horizon, stop.horizon_count);
    }

    struct OtherUnit {
        const char* name;
        double cm;
    };
    static constexpr std::array<OtherUnit, 5> every_unit{
        {{"metres", 100}, {"feet", 30.48}, {"inches", 2.54}, {"millimetres", 0.1}, {"centimetres", 1}}};
    static constexpr double same_unit = 0.05;  ///< apart in the logarithm

    /// The unit of the depths of this stop.
    const ColumnNames::Unit& unit_of(const Stop& stop) const {
        static const ColumnNames::Unit ours{"cm", "centimetres", 1};
        const ColumnNames::Unit* stated =
            survey_.horizon_columns_of(static_cast<std::size_t>(&stop - survey_.stops.data())).unit_of("top_cm");
        return stated != nullptr ? *stated : ours;
    }
    /// All units but that one, each by what a depth must be multiplied with if it was taken for the other.
    static std::vector<OtherUnit> other_units(const ColumnNames::Unit& stated) {
        std::vector<OtherUnit> others;
        for (const OtherUnit& unit : every_unit) {
            if (std::abs(std::log(unit.cm / stated.size)) > same_unit)
                others.push_back({unit.name, unit.cm / stated.size});
        }
        return others;
    }
    const std::vector<OtherUnit>& units_other_than_of(const Stop& stop) const {
        const bool log = survey_.borehole(static_cast<std::size_t>(&stop - survey_.stops.data())) != nullptr;
        return log ? other_units_of_logs_ : other_units_;
    }
    /// In words, in the unit of the stops' profiles: whole centimetres as `cm_shown`, other units to three figures.
    std::string in_unit(double cm_shown, double cm) const {
        return (stated_ ? number(cm / unit_.size, "%.3g") : number(cm_shown)) + ' ' + unit_.short_name;
    }
    /// A depth in the unit of the stop's table.
    std::string depth(const Stop& stop, double cm) const { return number(cm / unit_of(stop).size); }
    std::string depths_of(const Stop& stop, const Horizon& horizon) const {
        return depth(stop, *horizon.top_cm) + " to " + depth(stop, *horizon.bottom_cm);
    }
    std::string all_in_one_unit(const Stop& stop) const { return "Write all depths in " + unit_of(stop).name + "."; }

    /// The unit in which the horizon would begin where another of its profile ends; null: none.
    const OtherUnit* unit_that_joins(const Stop& stop, const Horizon& horizon) const {
        for (const OtherUnit& unit : units_other_than_of(stop)) {
            for (const Horizon& other : horizons_of(stop)) {
                if (&other == &horizon || !other.bottom_cm || *other.bottom_cm <= 0 || *horizon.top_cm <= 0) continue;
                if (std::abs(*horizon.top_cm * unit.cm - *other.bottom_cm) <= 0.3 + 0.05 * *other.bottom_cm)
                    return &unit;
            }
        }
        return nullptr;
    }

    void look_at_depths(const Stop& stop) {
        const OtherUnit* last_unit = nullptr;  // of the horizon before, where that was in another
        double last_bottom = 0;
        const Horizon* above = nullptr;  // the one that reaches deepest so far
        for (const Horizon& horizon : horizons_of(stop)) {
            if (!horizon.top_cm || !horizon.bottom_cm) continue;
            if (above != nullptr) {
                const double overlap = *above->bottom_cm - *horizon.top_cm;
                // A boundary that was written as a range lies anywhere in it.
                const double slack =
                    depth_slack_cm + static_cast<double>(above->bottom_spread_cm + horizon.top_spread_cm);
                const OtherUnit* unit = nullptr;
                if (last_unit != nullptr && *horizon.top_cm == last_bottom)
                    unit = last_unit;
                else if (std::abs(overlap) > slack)
                    unit = unit_that_joins(stop, horizon);
                last_unit = unit;
                last_bottom = *horizon.bottom_cm;
                const std::string looks_like =
                    unit != nullptr ? std::string("; its depths look like ") + unit->name : std::string();
                const std::string other = " of row " + std::to_string(above->row) + " (" + depths_of(stop, *above) +
                                          ' ' + unit_of(stop).short_name + ')';
                if (overlap > slack) {
                    Problem found =
                        problem(Severity::warning, stop, horizon.row, "top_cm, bottom_cm", depths_of(stop, horizon));
                    found.message = "the horizon overlaps that" + other + " by " +
                                    depth(stop, std::min(overlap, *horizon.bottom_cm - *horizon.top_cm)) + ' ' +
                                    unit_of(stop).short_name + looks_like;
                    found.remedy = unit != nullptr ? all_in_one_unit(stop) : "Correct the depths of one of them.";
                    overlaps_.add(std::move(found));
                } else if (overlap < -slack) {
                    Problem found =
                        problem(Severity::warning, stop, horizon.row, "top_cm, bottom_cm", depths_of(stop, horizon));
                    found.message = "between this horizon and that" + other + " " + depth(stop, -overlap) + ' ' +
                                    unit_of(stop).short_name + " are missing" + looks_like;
                    found.remedy = unit != nullptr ? all_in_one_unit(stop)
                                                   : "Add the horizon between them, or correct the depths.";
                    gaps_.add(std::move(found));
                }
            }
            if (above == nullptr || *horizon.bottom_cm > *above->bottom_cm) above = &horizon;
        }
    }

    void look_at_values(const Stop& stop, std::size_t h) {
        const std::int32_t moist = reduced_.colour_moist.codes[h], dry = reduced_.colour_dry.codes[h];
        if (moist < 0 || dry < 0) return;
        const ColourValue& wet = reduced_.colour_moist.values[static_cast<std::size_t>(moist)];
        const ColourValue& dried = reduced_.colour_dry.values[static_cast<std::size_t>(dry)];
        if (wet.lab.lightness <= dried.lab.lightness + lightness_slack) return;
        const Horizon& horizon = survey_.horizons[h];
        Problem found = problem(Severity::warning, stop, horizon.row, "colour_moist, colour_dry",
                                wet.notation + " moist, " + dried.notation + " dry");
        found.message = "the moist colour is lighter than the dry one, and soil darkens when it is wetted";
        found.remedy = "Were the two swapped, or is one value misread?";
        values_.add(std::move(found));
    }

    void look_at_reaction(const Stop& stop, std::size_t h) {
        const std::int32_t code = reduced_.effervescence.codes[h];
        const Horizon& horizon = survey_.horizons[h];
        if (code < 0 || !horizon.ph || *horizon.ph >= neutral_ph) return;
        const std::string& reaction = reduced_.effervescence.values[static_cast<std::size_t>(code)];
        if (reaction == "NE") return;
        Problem found = problem(Severity::warning, stop, horizon.row, "effervescence, ph",
                                reaction + ", pH " + number(*horizon.ph));
        found.message = "the horizon bubbles in acid and yet its pH is below 7: soil that holds lime is not acid";
        found.remedy = "Repeat both on a fresh piece; lime-coated stones bubble in soil that does not.";
        reactions_.add(std::move(found));
    }

    /// First chip of each distinct colour; absent where it has no hue.
    static std::vector<std::optional<field::Munsell>> chips_of(const Coded<ColourValue>& colours) {
        std::vector<std::optional<field::Munsell>> chips;
        for (const ColourValue& value : colours.values) {
            const auto parsed = field::parse_munsell(value.notation);
            chips.emplace_back();
            if (parsed && parsed.value->chips.front().chroma >= min_chroma) chips.back() = parsed.value->chips.front();
        }
        return chips;
    }

    static double hue_difference(const field::Munsell& a, const field::Munsell& b) {
        const double apart = std::abs(a.hue - b.hue);
        return std::min(apart, 100.0 - apart);
    }

    void look_at_hues(const Stop& stop, const Coded<ColourValue>& colours,
                      const std::vector<std::optional<field::Munsell>>& chips, Text Horizon::*written,
                      const char* field) {
        const std::size_t end = stop.first_horizon + stop.horizon_count;
        const auto chip_of = [&](std::size_t h) -> const field::Munsell* {
            const std::int32_t code = colours.codes[h];
            if (code < 0 || !chips[static_cast<std::size_t>(code)]) return nullptr;
            return &*chips[static_cast<std::size_t>(code)];
        };
        for (std::size_t h = stop.first_horizon; h < end; ++h) {
            const field::Munsell* chip = chip_of(h);
            if (chip == nullptr) continue;
            // The others of the same material, if they agree among themselves.
            std::vector<const field::Munsell*> others;
            bool one_mind = true;
            for (std::size_t k = stop.first_horizon; k < end; ++k) {
                const field::Munsell* other = chip_of(k);
                if (k == h || other == nullptr || reduced_.discontinuity[k] != reduced_.discontinuity[h]) continue;
                for (const field::Munsell* earlier : others)
                    one_mind = one_mind && hue_difference(*earlier, *other) <= hue_company;
                others.push_back(other);
            }
            if (others.size() < 2 || !one_mind) continue;
            if (std::any_of(others.begin(), others.end(),
                            [&](const field::Munsell* o) { return hue_difference(*o, *chip) < far_hue; })) {
                continue;
            }
            const Horizon& horizon = survey_.horizons[h];
            Problem found = problem(Severity::warning, stop, horizon.row, field, (horizon.*written).str());
            found.message =
                "the hue is far from those of the rest of the profile (" + field::notation(*others.front()) + ")";
            found.remedy = "Check the hue";
            for (const double turned : {hue_family, -hue_family}) {
                const field::Munsell meant{std::fmod(chip->hue + turned + 100.0, 100.0), chip->value, chip->chroma};
                if (hue_difference(meant, *others.front()) <= hue_company)
                    found.remedy += ": was " + field::notation(meant) + " meant?";
            }
            if (!found.remedy.ends_with('?')) found.remedy += '.';
            hues_.add(std::move(found));
        }
    }

    /// How deep a profile was seen.
    struct Depth {
        const Stop* stop;
        double cm;
        bool rock;  ///< rock ended it, at whatever depth
        bool told = false;
    };

    /// The unit that brings a depth nearest to the usual one, both as logarithms; null where none brings it within
    /// `reach`.
    const OtherUnit* unit_that_mends(double log_cm, double usual, double reach) const {
        const OtherUnit* best = nullptr;
        for (const OtherUnit& unit : other_units_) {
            const double off = std::abs(log_cm + std::log(unit.cm) - usual);
            if (off > reach) continue;
            reach = off;
            best = &unit;
        }
        return best;
    }

    /// Middle and spread (as the median deviation of a normal distribution tells it) of logarithms.
    static std::pair<double, double> middle_and_spread(std::vector<double> logs) {
        const double middle = median_of(logs);
        for (double& value : logs) value = std::abs(value - middle);
        return {middle, std::max(1.4826 * median_of(logs), min_log_spread)};
    }

    std::vector<Depth> depths_of_profiles() const {
        std::vector<Depth> depths;
        // The depth of a borehole depends on its purpose.
        for (const Stop& stop : std::span(survey_.stops).first(survey_.stops.size() - survey_.boreholes.size())) {
            if (stop.horizon_count == 0) continue;
            double deepest = 0;
            bool rock = false;
            for (std::size_t h = stop.first_horizon; h < stop.first_horizon + stop.horizon_count; ++h) {
                const Horizon& horizon = survey_.horizons[h];
                deepest = std::max({deepest, horizon.bottom_cm.value_or(0), horizon.top_cm.value_or(0)});
                rock = rock || reduced_.zone[h] == field::Zone::rock || reduced_.weathered_rock[h] != 0;
            }
            // Without the lowest bottom the depth of the hole is unknown.
            const Horizon& lowest = survey_.horizons[stop.first_horizon + stop.horizon_count - 1];
            if (deepest <= 0 || (!rock && lowest.top_cm && !lowest.bottom_cm)) continue;
            depths.push_back({&stop, deepest, rock});
        }
        return depths;
    }

    /// Profiles that end in no rock should be about as deep as the rest; in metres, feet, inches or millimetres they
    /// are not.
    void look_at_units() {
        std::vector<Depth> depths = depths_of_profiles();
        if (depths.size() < min_profiles) return;
        std::vector<double> logs;
        for (const Depth& depth : depths) logs.push_back(std::log(depth.cm));
        const auto [usual, spread] = middle_and_spread(logs);
        const double usual_cm = std::exp(usual);
        if (usual_cm >= deepest_usual_cm || usual_cm <= shallowest_usual_cm) {
            tell_of_all_depths(usual_cm);
            return;
        }
        for (Depth& depth : depths) {
            const double off = std::log(depth.cm) - usual;
            if (std::abs(off) < unlike * spread) continue;
            // Rock may end a profile at any shallow depth, but nobody digs ten times as deep for it.
            if (depth.rock && off < 0 && depth.cm > shallow_rock_cm) continue;
            const OtherUnit* best = unit_that_mends(std::log(depth.cm), usual, alike * spread);
            if (best == nullptr) continue;
            depth.told = true;
            const Horizon& first = survey_.horizons[depth.stop->first_horizon];
            Problem found = problem(Severity::warning, *depth.stop, first.row, "top_cm, bottom_cm",
                                    this->depth(*depth.stop, depth.cm));
            found.message = "the profile of stop '" + depth.stop->id + "' ends at " + in_unit(depth.cm, depth.cm) +
                            ", the others by their middle at " + in_unit(std::round(usual_cm), usual_cm) +
                            ": its depths look like " + best->name;
            found.remedy = all_in_one_unit(*depth.stop);
            units_.add(std::move(found));
        }
        look_at_units_of_traverses(depths);
    }

    void tell_of_all_depths(double usual_cm) {
        const Stop& stop = survey_.stops.front();
        Problem found = problem(Severity::warning, stop, 0, "top_cm, bottom_cm", {});
        found.row.reset();
        found.position.reset();
        found.message = "half of the profiles end " + std::string(usual_cm > 100 ? "below " : "above ") +
                        number(usual_cm / unit_.size, "%.3g") + ' ' + unit_.short_name + ", " +
                        (usual_cm > 100 ? "deeper than spade and auger go" : "which is hardly a profile");
        if (stated_)
            found.message += "; the unit is stated as " + unit_.name;
        else
            found.message +=
                usual_cm > 100 ? ": the depths look like millimetres" : ": the depths look like metres or feet";
        found.remedy = stated_ ? "Check the stated unit."
                               : "Write all depths in centimetres, or state their unit by the key 'depth_unit'.";
        units_.add(std::move(found));
    }

    /// A traverse in inches beside others in centimetres. No single profile is unusual, but all together are.
    void look_at_units_of_traverses(const std::vector<Depth>& depths) {
        std::map<std::string_view, std::vector<const Depth*>> traverses;
        for (const Depth& depth : depths) {
            if (!depth.stop->traverse.empty() && !depth.rock) traverses[depth.stop->traverse.str()].push_back(&depth);
        }
        if (traverses.size() > max_traverses) return;  // each is set against all the others
        for (const auto& [name, own] : traverses) {
            std::vector<double> here, elsewhere;
            for (const Depth& depth : depths) {
                if (depth.rock || depth.told) continue;
                (depth.stop->traverse.str() == name ? here : elsewhere).push_back(std::log(depth.cm));
            }
            if (here.size() < min_of_traverse || elsewhere.size() < min_of_traverse) continue;
            const auto [middle, spread] = middle_and_spread(here);
            const auto [usual, usual_spread] = middle_and_spread(elsewhere);
            const double off = std::abs(middle - usual);
            if (off < min_log_off ||
                off < unlike * std::max(spread, usual_spread) / std::sqrt(static_cast<double>(here.size())))
                continue;
            const OtherUnit* best = unit_that_mends(middle, usual, alike_traverse);
            if (best == nullptr) continue;
            const Stop& first = *own.front()->stop;
            Problem found =
                problem(Severity::note, first, survey_.horizons[first.first_horizon].row, "top_cm, bottom_cm", {});
            found.message = "the profiles of traverse '" + std::string(name) + "' end at " +
                            in_unit(std::round(std::exp(middle)), std::exp(middle)) +
                            " by their middle, all others at " + in_unit(std::round(std::exp(usual)), std::exp(usual)) +
                            ": perhaps its depths are " + best->name;
            found.remedy = "If they are, write them in " + unit_.name + "; if not, leave them.";
            units_.add(std::move(found));
        }
    }

    static constexpr double shallow_rock_cm = 8;   ///< rock nearer the surface is rather metres or feet
    static constexpr double min_log_spread = 0.2;  ///< profiles differ by a fifth in depth at the least
    static constexpr double unlike = 4.0;  ///< spreads from the middle that are a mistake rather than a shallow profile
    static constexpr double alike = 2.0;   ///< and so near it in the right unit
    static constexpr double deepest_usual_cm = 400;   ///< half of all profiles are never dug or augered deeper
    static constexpr double shallowest_usual_cm = 4;  ///< nor are they shallower
    static constexpr std::size_t min_of_traverse = 5;
    static constexpr std::size_t max_traverses = 1000;
    static constexpr double min_log_off = 0.7;     ///< half or double the depth of the others, at the least
    static constexpr double alike_traverse = 0.3;  ///< and so near it in the right unit

    const Survey& survey_;
    const Reduced& reduced_;
    ColumnNames::Unit unit_ = unit_of(survey_.stops.front());
    bool stated_ = survey_.horizon_columns.unit_of("top_cm") != nullptr;
    std::vector<OtherUnit> other_units_ = other_units(unit_),
                           other_units_of_logs_ = other_units(unit_of(survey_.stops.back()));
    std::vector<std::optional<field::Munsell>> moist_ = chips_of(reduced_.colour_moist),
                                               dry_ = chips_of(reduced_.colour_dry);
    Findings overlaps_, gaps_, values_, hues_, reactions_, units_;
};

}  // namespace

void audit_profiles(const Survey& survey, const Reduced& reduced, ProblemLog& problems) {
    if (survey.horizons.empty()) return;
    Profiles(survey, reduced, problems).look();
}

}  // namespace subcrop::model
