#include "geo/orientation.hpp"

#include <array>
#include <cstddef>

namespace subcrop::geo {
namespace {

// A sum of doubles kept exactly, as parts that do not overlap, smallest first (Shewchuk 1997, Grow-Expansion).
class ExactSum {
public:
    void add(double term) {
        double carried = term;
        std::size_t kept = 0;
        for (std::size_t i = 0; i < count_; ++i) {
            const double sum = carried + parts_[i];
            const double virtual_part = sum - carried;
            const double error = (carried - (sum - virtual_part)) + (parts_[i] - virtual_part);
            if (error != 0) parts_[kept++] = error;
            carried = sum;
        }
        if (carried != 0) parts_[kept++] = carried;
        count_ = kept;
    }
    void add_product(double u, double v) {
        const double product = u * v;
        add(std::fma(u, v, -product));
        add(product);
    }
    int sign() const {
        if (count_ == 0) return 0;
        return parts_[count_ - 1] > 0 ? 1 : -1;
    }

private:
    std::array<double, 16> parts_{};
    std::size_t count_ = 0;
};

}  // namespace

int exact_orientation(Point a, Point b, Point p) {
    ExactSum sum;
    sum.add_product(a.x, b.y);
    sum.add_product(-a.x, p.y);
    sum.add_product(-p.x, b.y);
    sum.add_product(-a.y, b.x);
    sum.add_product(a.y, p.x);
    sum.add_product(p.y, b.x);
    return sum.sign();
}

}  // namespace subcrop::geo
