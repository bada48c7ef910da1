#include <algorithm>
#include <cmath>
#include <cstdio>
#include <utility>

#include "geo/crs_definition.hpp"
#include "geo/operations.hpp"
#include "geo/proj_handle.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/geo/crs.hpp"

namespace subcrop::geo {
namespace {

// How far beyond a system's area of use its formulas are still trusted. UTM goes on being right to well under a
// millimetre 30 degrees from its zone; at 90 degrees it gives garbage without an error.
constexpr double margin_longitude = 30;
constexpr double margin_latitude = 15;

constexpr std::size_t batch_size = 4096;

std::string figure(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.6g", value);
    return text;
}

std::string listed(const std::vector<std::string>& words) {
    std::string text;
    for (const std::string& word : words) text += (text.empty() ? "" : ", ") + word;
    return text;
}

bool finite(Point p) { return std::isfinite(p.x) && std::isfinite(p.y); }

// Smallest box of degrees around places, across the 180th meridian where that is shorter.
DegreeBox degrees_around(std::span<const Point> places) {
    Box plain, turned;
    for (Point p : places) {
        p.x = std::remainder(p.x, 360.0);
        plain.add(p);
        if (p.x < 0) p.x += 360;
        turned.add(p);
    }
    const auto wrapped = [](double longitude) { return longitude > 180 ? longitude - 360 : longitude; };
    if (turned.width() < plain.width())
        return {wrapped(turned.min_x), turned.min_y, wrapped(turned.max_x), turned.max_y};
    return {plain.min_x, plain.min_y, plain.max_x, plain.max_y};
}

std::string where(const DegreeBox& box) {
    return "longitude " + figure(box.west) + " to " + figure(box.east) + ", latitude " + figure(box.south) + " to " +
           figure(box.north);
}

bool more_accurate(const Operation& one, const Operation& two) {
    if (one.ballpark != two.ballpark) return two.ballpark;
    if (one.accuracy_m.has_value() != two.accuracy_m.has_value()) return one.accuracy_m.has_value();
    return one.accuracy_m && *one.accuracy_m < *two.accuracy_m;
}

// Bounds within which a projected system's own coordinates make sense; none where PROJ knows no area of use.
std::optional<Box> sensible_bounds(const OwnDegrees& degrees, const Crs::Definition& crs) {
    if (crs.geographic || !crs.area_of_use) return std::nullopt;
    return image_of(degrees, *crs.area_of_use, margin_longitude, margin_latitude);
}

}  // namespace

struct Transformation::State {
    Crs from, to;
    bool identity = false;
    OperationReport report;
    ProjContext context;
    OwnDegrees degrees;                 // of the source
    std::vector<Operation> operations;  // best first; one where one serves everywhere
    std::optional<Box> from_bounds, to_bounds;
    std::optional<Box> operation_bounds;  // of the one operation's area, in the source's units

    State(Crs f, Crs t) : from(std::move(f)), to(std::move(t)), context(new_context()) {}

    bool sensible_source(Point p) const;
    bool sensible_target(Point before, Point after, PJ* object) const;
    void choose(std::span<const Point> sample, const TransformationOptions& options);
    void adopt(std::vector<Operation> chosen, const OperationChoice& choice, std::span<const Point> places);
    [[noreturn]] void refuse(const OperationChoice& choice, const DegreeBox& area, std::span<const Point> places,
                             const TransformationOptions& options) const;
    void run_batch(std::span<Point> batch, std::span<const Point> original) const;
};

bool Transformation::State::sensible_source(Point p) const {
    if (!finite(p)) return false;
    const Crs::Definition& source = from.definition();
    if (!source.geographic) {
        return (!from_bounds || from_bounds->contains(p)) && (!operation_bounds || operation_bounds->contains(p));
    }
    const double degree = source.radians_per_unit * 57.295779513082321;
    const double longitude = p.x * degree, latitude = p.y * degree;
    if (std::abs(longitude) > 360 || std::abs(latitude) > 90) return false;
    const std::optional<DegreeBox>& area = to.definition().area_of_use;
    if (!to.geographic() && area && !area->holds(longitude, latitude, margin_longitude, margin_latitude)) return false;
    return operations.size() != 1 || operations.front().holds(longitude, latitude);
}

bool Transformation::State::sensible_target(Point before, Point after, PJ* object) const {
    if (!finite(after)) return false;
    if (to.geographic()) return true;
    if (to_bounds) return to_bounds->contains(after);
    // No area of use known: there and back must lead to the same place.
    Point back = after;
    run(object, PJ_INV, {&back, 1});
    if (!finite(back)) return false;
    const bool degrees_in = from.geographic();
    const double dx = degrees_in ? std::remainder(back.x - before.x, 360.0) : back.x - before.x;
    const double slack = degrees_in ? 1e-7 : 1e-2 / from.metres_per_unit();
    return std::abs(dx) <= slack && std::abs(back.y - before.y) <= slack;
}

void Transformation::State::choose(std::span<const Point> sample, const TransformationOptions& options) {
    const ProjObject source = horizontal_crs(context.get(), from.definition().text);
    const ProjObject target = horizontal_crs(context.get(), to.definition().text);
    degrees = OwnDegrees(context.get(), source.get());
    from_bounds = sensible_bounds(degrees, from.definition());
    to_bounds = sensible_bounds(OwnDegrees(context.get(), target.get()), to.definition());

    std::vector<Point> sensible, places;
    for (const Point p : sample) {
        if (sensible_source(p)) sensible.push_back(p);
    }
    places = sensible;
    degrees.to_degrees(places);
    for (std::size_t i = places.size(); i-- > 0;) {
        if (finite(places[i])) continue;
        places.erase(places.begin() + static_cast<std::ptrdiff_t>(i));
        sensible.erase(sensible.begin() + static_cast<std::ptrdiff_t>(i));
    }
    if (places.empty() && !sample.empty()) {
        throw Error(
            {.source = options.source, .layer = {}, .feature = {}, .field = {}},
            "no point lies where both " + from.name() + " and " + to.name() + " hold; the first is x " +
                figure(sample.front().x) + ", y " + figure(sample.front().y),
            "Check the coordinate reference system, and that x (east, longitude) and y (north, latitude) are not "
            "swapped.");
    }
    std::optional<DegreeBox> area;
    if (!places.empty()) area = degrees_around(places);
    OperationChoice choice = operations_between(context.get(), source.get(), target.get(), area);

    // serves[k][i]: operation k holds at place i and gives an answer there.
    std::vector<std::vector<char>> serves;
    for (const Operation& operation : choice.usable) {
        std::vector<Point> moved(sensible);
        run(operation.object.get(), PJ_FWD, moved);
        // What was carried out must be what was enumerated.
        const ProjObject used(proj_trans_get_last_used_operation(operation.object.get()));
        const bool trusted =
            !used || operation.ballpark || !proj_coordoperation_has_ballpark_transformation(context.get(), used.get());
        std::vector<char> row(places.size());
        for (std::size_t i = 0; i < places.size(); ++i) {
            row[i] = trusted && finite(moved[i]) && operation.holds(places[i].x, places[i].y);
        }
        serves.push_back(std::move(row));
    }
    const auto acceptable = [&](std::size_t k) { return !choice.usable[k].ballpark || options.allow_ballpark; };
    // The best operation for each place, and how many have one.
    constexpr std::size_t nobody = static_cast<std::size_t>(-1);
    std::vector<std::size_t> best(places.size(), nobody);
    std::size_t served = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
        for (std::size_t k = 0; k < serves.size(); ++k) {
            if (!serves[k][i] || !acceptable(k)) continue;
            if (best[i] == nobody || more_accurate(choice.usable[k], choice.usable[best[i]])) best[i] = k;
        }
        served += best[i] != nobody;
    }
    if (!places.empty() && 2 * served < places.size() + (places.size() == 1)) refuse(choice, *area, places, options);

    // One operation that serves every served place is fast and leaves no seam.
    std::size_t single = nobody;
    for (std::size_t k = 0; k < serves.size(); ++k) {
        if (!acceptable(k)) continue;
        bool everywhere = true;
        for (std::size_t i = 0; i < places.size(); ++i) everywhere &= best[i] == nobody || serves[k][i];
        if (everywhere && (single == nobody || more_accurate(choice.usable[k], choice.usable[single]))) single = k;
    }
    std::vector<std::size_t> chosen;
    if (single != nobody) {
        chosen.push_back(single);
    } else {
        for (std::size_t k = 0; k < serves.size(); ++k) {
            if (std::find(best.begin(), best.end(), k) != best.end()) chosen.push_back(k);
        }
        std::stable_sort(chosen.begin(), chosen.end(), [&](std::size_t p, std::size_t q) {
            return more_accurate(choice.usable[p], choice.usable[q]);
        });
    }
    std::vector<Operation> taken;
    for (const std::size_t k : chosen) taken.push_back(std::move(choice.usable[k]));
    adopt(std::move(taken), choice, places);
}

void Transformation::State::adopt(std::vector<Operation> chosen, const OperationChoice& choice,
                                  std::span<const Point> places) {
    report = {};
    if (!chosen.empty()) report.accuracy_m = 0;
    for (const Operation& operation : chosen) {
        report.name += (report.name.empty() ? "" : "; ") + operation.name;
        report.ballpark |= operation.ballpark;
        if (!operation.accuracy_m) report.accuracy_m.reset();
        if (report.accuracy_m) report.accuracy_m = std::max(*report.accuracy_m, *operation.accuracy_m);
    }
    for (const Operation& operation : choice.lacking_grids) {
        const bool better = operation.accuracy_m && (!report.accuracy_m || *operation.accuracy_m < *report.accuracy_m);
        const bool here = std::any_of(places.begin(), places.end(), [&](Point p) { return operation.holds(p.x, p.y); });
        if (!better || !here) continue;
        for (const std::string& grid : operation.missing_grids) {
            if (std::find(report.missing_grids.begin(), report.missing_grids.end(), grid) ==
                report.missing_grids.end()) {
                report.missing_grids.push_back(grid);
            }
        }
    }
    operations = std::move(chosen);
    if (operations.size() == 1 && !from.geographic() && operations[0].shifts_datum && operations[0].area) {
        operation_bounds = image_of(degrees, *operations[0].area, 1, 1);
    }
}

void Transformation::State::refuse(const OperationChoice& choice, const DegreeBox& area, std::span<const Point> places,
                                   const TransformationOptions& options) const {
    std::vector<std::string> grids;
    for (const Operation& operation : choice.lacking_grids) {
        if (std::none_of(places.begin(), places.end(), [&](Point p) { return operation.holds(p.x, p.y); })) continue;
        for (const std::string& grid : operation.missing_grids) {
            if (std::find(grids.begin(), grids.end(), grid) == grids.end()) grids.push_back(grid);
        }
    }
    const bool ballpark =
        std::any_of(choice.usable.begin(), choice.usable.end(), [](const Operation& o) { return o.ballpark; });
    std::string message = "no operation with a known accuracy leads from " + from.name() + " to " + to.name() +
                          " in the area of the data (" + where(area) + ")";
    if (!grids.empty()) message += "; missing here: the grid " + listed(grids);
    if (ballpark) message += "; what is left ignores the shift between the datums and may be off by hundreds of metres";
    std::string remedy =
        grids.empty() ? "Give" : "Install the grid (such as by projsync --file " + grids.front() + "), give";
    remedy += " another coordinate reference system";
    if (ballpark) remedy += ", or set settings.allow_ballpark to true to accept the error";
    throw Error({.source = options.source, .layer = {}, .feature = {}, .field = {}}, std::move(message), remedy + ".");
}

void Transformation::State::run_batch(std::span<Point> batch, std::span<const Point> original) const {
    if (operations.size() == 1) {
        run(operations.front().object.get(), PJ_FWD, batch);
        return;
    }
    std::vector<Point> places(original.begin(), original.end());
    degrees.to_degrees(places);
    for (std::size_t i = 0; i < batch.size(); ++i) {
        batch[i] = {HUGE_VAL, HUGE_VAL};
        for (const Operation& operation : operations) {
            if (!operation.holds(places[i].x, places[i].y)) continue;
            batch[i] = original[i];
            run(operation.object.get(), PJ_FWD, batch.subspan(i, 1));
            if (finite(batch[i])) break;
        }
    }
}

Transformation::Transformation(const Crs& from, const Crs& to, std::span<const Point> sample,
                               TransformationOptions options)
    : state_(std::make_unique<State>(from, to)) {
    if (from.same_as(to)) {
        state_->identity = true;
        state_->report.name = "none, the systems are the same";
        state_->report.accuracy_m = 0;
        return;
    }
    state_->choose(sample, options);
}

Transformation::Transformation(Transformation&&) noexcept = default;
Transformation& Transformation::operator=(Transformation&&) noexcept = default;
Transformation::~Transformation() = default;

std::vector<std::uint8_t> Transformation::apply(std::span<Point> points) const {
    const State& s = *state_;
    std::vector<std::uint8_t> good(points.size(), 0);
    if (s.identity) {
        for (std::size_t i = 0; i < points.size(); ++i) good[i] = finite(points[i]);
        return good;
    }
    std::vector<Point> original, batch;
    std::vector<std::size_t> index;
    for (std::size_t begin = 0; begin < points.size(); begin += batch_size) {
        const std::size_t end = std::min(begin + batch_size, points.size());
        original.clear();
        index.clear();
        for (std::size_t i = begin; i < end; ++i) {
            if (!s.sensible_source(points[i])) continue;
            original.push_back(points[i]);
            index.push_back(i);
        }
        batch = original;
        s.run_batch(batch, original);
        for (std::size_t k = 0; k < batch.size(); ++k) {
            PJ* object = s.operations.empty() ? nullptr : s.operations.front().object.get();
            if (!s.sensible_target(original[k], batch[k], object)) continue;
            points[index[k]] = batch[k];
            good[index[k]] = 1;
        }
    }
    return good;
}

const OperationReport& Transformation::report() const { return state_->report; }
bool Transformation::identity() const { return state_->identity; }

Transformation Transformation::clone() const {
    Transformation copy(state_->from, state_->from, {}, {});
    const State& s = *state_;
    State& c = *copy.state_;
    c.to = s.to;
    c.identity = s.identity;
    c.report = s.report;
    c.from_bounds = s.from_bounds;
    c.to_bounds = s.to_bounds;
    c.operation_bounds = s.operation_bounds;
    c.degrees = s.degrees.clone(c.context.get());
    for (const Operation& operation : s.operations) {
        Operation again;
        again.object.reset(proj_clone(c.context.get(), operation.object.get()));
        again.name = operation.name;
        again.accuracy_m = operation.accuracy_m;
        again.ballpark = operation.ballpark;
        again.shifts_datum = operation.shifts_datum;
        again.area = operation.area;
        c.operations.push_back(std::move(again));
    }
    return copy;
}

}  // namespace subcrop::geo
