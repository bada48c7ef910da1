#include "publish/stop_photos.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <memory>
#include <optional>
#include <utility>

#include "subcrop/geo/crs.hpp"

namespace subcrop::publish {

namespace {

constexpr int thumbnail_pixels = 240;
/// A photograph named after a stop but taken this far from it becomes a note.
constexpr double far_from_its_stop_m = 500;

bool is_mark(char c) {
    return static_cast<unsigned char>(c) < 0x80 &&
           !((c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'));
}

std::string lower(std::string text) {
    for (char& c : text)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return text;
}

/// Stop "P1" matches "p1_pit.jpg" and "P1.jpg", not "P12.jpg".
bool begins_with_stop(const std::string& name, const std::string& id) {
    return !id.empty() && name.size() > id.size() && name.starts_with(id) && is_mark(name[id.size()]);
}

std::string metres(double m) { return std::to_string(std::llround(m)) + " m"; }

class Matcher {
public:
    Matcher(const io::SurveyFile& file, const model::Survey& survey, ProblemLog& problems)
        : file_(file), survey_(survey), problems_(problems) {
        for (const model::Stop& stop : survey.stops) ids_.push_back(lower(stop.id));
    }

    std::vector<StopPhoto> match() {
        std::vector<io::Photo> photos = io::read_photos(file_, problems_);
        io::place_by_time(photos, file_);
        place_all(photos);
        std::vector<StopPhoto> matched;
        for (std::size_t i = 0; i < photos.size(); ++i) {
            const std::optional<std::size_t> stop = stop_of(photos[i], places_[i]);
            if (stop) matched.push_back({*stop, std::move(photos[i])});
        }
        std::stable_sort(matched.begin(), matched.end(),
                         [](const StopPhoto& a, const StopPhoto& b) { return a.stop < b.stop; });
        return matched;
    }

private:
    void place_all(const std::vector<io::Photo>& photos) {
        places_.resize(photos.size());
        std::vector<Point> points;
        std::vector<std::size_t> which;
        for (std::size_t i = 0; i < photos.size(); ++i) {
            if (!photos[i].degrees) continue;
            points.push_back(*photos[i].degrees);
            which.push_back(i);
        }
        if (points.empty()) return;
        const std::vector<Point> sample(
            points.begin(), points.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(points.size(), 500)));
        // A datum shift of some metres hardly changes which stop is nearest.
        const geo::Transformation to(geo::Crs("EPSG:4326"), geo::Crs(survey_.crs_wkt), sample,
                                     {.allow_ballpark = true, .source = file_.photos->folder});
        const std::vector<std::uint8_t> good = to.apply(points);
        for (std::size_t k = 0; k < which.size(); ++k)
            if (good[k] != 0) places_[which[k]] = points[k];
    }

    void tell(Severity severity, const io::Photo& photo, const std::optional<Point>& place, std::string message,
              std::string remedy) {
        problems_.add({.severity = severity,
                       .source = file_.photos->folder,
                       .row = std::nullopt,
                       .field = {},
                       .value = photo.name,
                       .message = std::move(message),
                       .remedy = std::move(remedy),
                       .position = place});
    }

    std::optional<std::size_t> stop_of(const io::Photo& photo, const std::optional<Point>& place) {
        const std::string name = lower(photo.name);
        std::optional<std::size_t> named, nearest;
        double least = std::numeric_limits<double>::infinity();
        for (std::size_t s = 0; s < ids_.size(); ++s) {
            if (begins_with_stop(name, ids_[s]) && (!named || ids_[s].size() > ids_[*named].size())) named = s;
            const double away =
                place ? distance(*place, survey_.stops[s].position) : std::numeric_limits<double>::infinity();
            if (away < least) {
                least = away;
                nearest = s;
            }
        }
        if (named) {
            const double away = place ? distance(*place, survey_.stops[*named].position) : 0;
            if (away > far_from_its_stop_m) {
                tell(Severity::warning, photo, place,
                     "the photograph is named after stop '" + survey_.stops[*named].id + "' and was taken " +
                         metres(away) + " from it",
                     "Correct its name, or the place of the stop.");
            }
            return named;
        }
        if (nearest && least <= file_.photos->within_m) return nearest;
        tell(Severity::warning, photo, place,
             nearest && place ? "the photograph matches no stop: none begins its name, and the nearest, '" +
                                    survey_.stops[*nearest].id + "', is " + metres(least) + " away"
                              : "the photograph matches no stop: none begins its name, and it states no place",
             "Begin its name with that of its stop.");
        return std::nullopt;
    }

    const io::SurveyFile& file_;
    const model::Survey& survey_;
    ProblemLog& problems_;
    std::vector<std::string> ids_;
    std::vector<std::optional<Point>> places_;  ///< of the photographs, working projection
};

}  // namespace

std::vector<StopPhoto> match_photos(const io::SurveyFile& file, const model::Survey& survey, ProblemLog& problems) {
    if (!file.photos) return {};
    return Matcher(file, survey, problems).match();
}

std::vector<StopPicture> pictures_of(const std::vector<StopPhoto>& photos) {
    std::vector<StopPicture> pictures;
    for (const StopPhoto& p : photos) {
        if (pictures.size() == max_thumbnails) break;
        const std::string jpeg = io::thumbnail(p.photo, thumbnail_pixels);
        if (!jpeg.empty())
            pictures.push_back({p.stop, p.photo.name, p.photo.taken, p.photo.direction_deg, jpeg_address(jpeg)});
    }
    return pictures;
}

std::string jpeg_address(std::string_view jpeg) {
    static constexpr char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text = "data:image/jpeg;base64,";
    for (std::size_t i = 0; i < jpeg.size(); i += 3) {
        std::uint32_t group = 0;
        const std::size_t bytes = std::min<std::size_t>(3, jpeg.size() - i);
        for (std::size_t k = 0; k < 3; ++k)
            group = group << 8U | (k < bytes ? static_cast<unsigned char>(jpeg[i + k]) : 0U);
        for (std::size_t k = 0; k < 4; ++k) text += k <= bytes ? letters[group >> (18 - 6 * k) & 63U] : '=';
    }
    return text;
}

}  // namespace subcrop::publish
