#include "cli/calculator.hpp"

#include <array>
#include <cstdio>

#include "cli/visible.hpp"

namespace subcrop::cli {

std::string fixed(double number, int decimals) {
    std::array<char, 64> text{};
    std::snprintf(text.data(), text.size(), "%.*f", decimals, number);
    return text.data();
}

std::string percentages(const field::GrainSize& size, int decimals) {
    return "sand " + fixed(size.sand, decimals) + " %, silt " + fixed(size.silt, decimals) + " %, clay " +
           fixed(size.clay, decimals) + " %";
}

Json json_of(const field::GrainSize& size) { return {{"sand", size.sand}, {"silt", size.silt}, {"clay", size.clay}}; }

Json json_of(const field::IlrDistribution& distribution) {
    return {{"mean", distribution.mean}, {"covariance", distribution.covariance}};
}

void print_json(std::ostream& out, const Json& json) {
    // A note may be no UTF-8; what cannot be shown is replaced.
    out << visible_in_json(json.dump(2, ' ', false, Json::error_handler_t::replace)) << '\n';
}

void print_sources(std::ostream& out, const std::vector<std::string>& sources, std::size_t width) {
    std::string text = "Sources: ";
    for (std::size_t i = 0; i < sources.size(); ++i) text += (i == 0 ? "" : "; ") + sources[i];
    out << '\n' << wrapped(text + '.', 2, width) << '\n';
}

int refuse(std::string_view message, std::string_view remedy) {
    std::cerr << "subcrop: " << visible(message) << '.';
    if (!remedy.empty()) std::cerr << ' ' << visible(remedy);
    std::cerr << '\n';
    return failed;
}

}  // namespace subcrop::cli
