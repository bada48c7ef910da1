// Strike and dip of a bed from where it was seen, and how deep it lies below another place.
//
// Prints:
//     strike 075 ± 1°, dip 12.7 ± 0.4°
//     below the borehole: 38 m
#include <cstdio>
#include <vector>

#include "subcrop/geo/plane.hpp"

using namespace subcrop::geo;

int main() {
    // Metres east, north and up, each with its standard errors in place and height.
    const std::vector<PlanePoint> seen{
        {0, 0, 312, 5, 1}, {420, 160, 333, 5, 1}, {150, 530, 425, 5, 1}, {610, 480, 381, 5, 1}};
    const auto fit = fit_plane(seen);
    if (!fit) {
        std::fprintf(stderr, "%s. %s\n", fit.message.c_str(), fit.remedy.c_str());
        return 1;
    }
    const Plane& bed = fit.value->plane;
    const double in_90_pct = 1.645;
    std::printf("strike %03.0f ± %.0f°, dip %.1f ± %.1f°\n", *strike_deg(bed), in_90_pct * *strike_sd_deg(bed),
                dip_deg(bed), in_90_pct * *dip_sd_deg(bed));

    const double collar_m = 402;
    std::printf("below the borehole: %.0f m\n", collar_m - *height_m(bed, {300, 300}));
}
