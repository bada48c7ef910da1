#include "publish/short_names.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <set>
#include <string_view>
#include <utility>

namespace subcrop::publish {

namespace {

/// Chosen by hand for the result layers: cut by rule "half_width_after_m" would be "ha_wi_af_m".
constexpr std::array<std::pair<std::string_view, std::string_view>, 52> chosen{{
    {"chainage_high_m", "chain_hi_m"},
    {"chainage_low_m", "chain_lo_m"},
    {"colour_moist", "col_moist"},
    {"colours_dry", "cols_dry"},
    {"colours_moist", "cols_moist"},
    {"contact_distance_m", "cont_dis_m"},
    {"contact_location", "contac_loc"},
    {"description", "descript"},
    {"drafted_unit", "draft_unit"},
    {"existence_confidence", "exist_conf"},
    {"fitted_unit", "fit_unit"},
    {"fragment_horizons", "frag_n"},
    {"fragment_kinds", "frag_kinds"},
    {"fragments_median_pct", "frag_pct"},
    {"half_width_after_m", "half_aft_m"},
    {"half_width_m", "half_wid_m"},
    {"identity_confidence", "ident_conf"},
    {"known_stops", "stops_know"},
    {"location_class", "loc_class"},
    {"location_confidence_m", "loc_conf_m"},
    {"log10_odds_against", "odds_agnst"},
    {"log_likelihood", "log_likeli"},
    {"mapped_chainage_m", "map_chai_m"},
    {"mapped_unit", "map_unit"},
    {"mistaken_for", "mistak_for"},
    {"mistaken_stops", "mistak_n"},
    {"neighbour_unit", "neigh_unit"},
    {"p_transported", "p_transp"},
    {"parent_material", "parent_mat"},
    {"parent_materials", "parent_mts"},
    {"position_sd_m", "pos_sd_m"},
    {"probability", "probabil"},
    {"rock_depth_cm", "rock_cm"},
    {"rock_depth_greatest_cm", "rockmax_cm"},
    {"rock_depth_least_cm", "rockmin_cm"},
    {"rock_depth_median_cm", "rockmed_cm"},
    {"rock_deeper", "rockdeeper"},
    {"rock_depths", "rockdepths"},
    {"shift_azimuth_deg", "shift_azim"},
    {"soil_log10_odds", "soil_odds"},
    {"stops_agree", "stop_agree"},
    {"stops_against", "stop_agnst"},
    {"stops_conflict", "stop_confl"},
    {"stops_rock_seen", "stops_rock"},
    {"told_apart_by", "told_apart"},
    {"upslope_share", "upsl_share"},
    {"upslope_unit", "upsl_unit"},
    {"weathered_depth_greatest_cm", "weamax_cm"},
    {"weathered_depth_least_cm", "weamin_cm"},
    {"weathered_depth_median_cm", "weather_cm"},
    {"weathered_depths", "weather_n"},
}};

std::string cut(const std::string& name) {
    std::vector<std::string> words(1);
    for (const char c : name) {
        if (c == '_')
            words.emplace_back();
        else
            words.back() += c;
    }
    const auto joined = [&] {
        std::string all;
        for (const std::string& word : words) {
            if (word.empty()) continue;
            if (!all.empty()) all += '_';
            all += word;
        }
        return all;
    };
    while (joined().size() > longest_short_name) {
        // The longest word loses a letter (of equals the last). Words of one letter are dropped.
        const auto longest = std::max_element(words.begin(), words.end(),
                                              [](const auto& a, const auto& b) { return a.size() <= b.size(); });
        longest->pop_back();
    }
    return joined();
}

std::string lower(std::string text) {
    for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return text;
}

}  // namespace

std::vector<std::string> short_names(const std::vector<std::string>& names) {
    std::vector<std::string> result(names.size());
    std::set<std::string> taken;
    for (std::size_t i = 0; i < names.size(); ++i)  // short names are kept
        if (names[i].size() <= longest_short_name && taken.insert(lower(names[i])).second) result[i] = names[i];
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (!result[i].empty()) continue;
        const auto found =
            std::find_if(chosen.begin(), chosen.end(), [&](const auto& pair) { return pair.first == names[i]; });
        const std::string wanted = found != chosen.end() ? std::string(found->second) : cut(names[i]);
        std::string tried = wanted;
        for (int number = 2; !taken.insert(lower(tried)).second; ++number) {
            const std::string ending = "_" + std::to_string(number);
            tried = wanted.substr(0, longest_short_name - ending.size()) + ending;
        }
        result[i] = tried;
    }
    return result;
}

}  // namespace subcrop::publish
