// A horizon's texture from all that was noted of it: class by feel, fractions, layers of the jar test.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "subcrop/core/parsed.hpp"
#include "subcrop/core/problem.hpp"
#include "subcrop/field/kind_names.hpp"
#include "subcrop/field/texture.hpp"
#include "subcrop/model/reduced.hpp"
#include "subcrop/model/stop.hpp"

namespace subcrop::model {

/// A class alone is its region. Several sources are multiplied (field::combine), each set of notes once. Two rules keep
/// one source from counting twice: a class equal to that of the measured fractions may have been named from them and
/// adds nothing, and clay alone is a guess by hand. Where two sources disagree beyond their errors (p < 0.01) the
/// horizon gets a note, and its covariance grows with their misfit.
///
/// Water height, times and temperature of jars are no columns: 15 cm, 1 minute, 2 hours and 20 degrees are taken.
class TextureCoder {
public:
    /// `names`: the user's words for classes.
    TextureCoder(const field::KindNames& names, ProblemLog& problems) : names_(names), problems_(problems) {}

    /// `names`: what the columns are called in `source`.
    void add(const Horizon& horizon, const std::string& source, const ColumnNames& names,
             std::optional<Point> position);
    /// Ends the reading and frees its memory.
    Coded<TextureValue> take() {
        readings_ = {};
        codes_ = {};
        return std::move(coded_);
    }

private:
    using Class = std::optional<field::TextureClass>;
    using Distribution = std::optional<field::IlrDistribution>;
    /// Class by feel or -1, sand, silt, clay in percent, then layers in mm; absent ones are the lowest double.
    using Notes = std::array<double, 7>;
    struct HashNumbers {
        std::size_t operator()(const std::array<double, 7>& numbers) const noexcept {
            std::size_t mixed = 0;
            for (const double number : numbers)
                mixed = (mixed ^ std::hash<double>()(number)) * std::size_t{0x9E3779B97F4A7C15};
            return mixed ^ (mixed >> 32U);
        }
    };
    struct Reading {
        std::int32_t code = -1;
        std::vector<Problem> problems;  ///< without place
    };

    const Parsed<Class>& read_class(Text text);
    Distribution read_fractions(const Horizon& horizon, std::optional<field::GrainSize>& measured, Reading& reading);
    Distribution read_jar(const Horizon& horizon, Reading& reading);
    Reading read(Class feel, const Horizon& horizon);
    std::int32_t code_of(field::TextureClass texture_class, const field::IlrDistribution& distribution, bool measured);

    const field::KindNames& names_;
    ProblemLog& problems_;
    Coded<TextureValue> coded_;
    std::unordered_map<Text, Parsed<Class>> classes_;
    std::unordered_map<Notes, Reading, HashNumbers> readings_;
    std::map<std::array<double, 3>, Parsed<field::IlrDistribution>> jars_;
    std::map<double, field::IlrDistribution> clay_guesses_;
    std::unordered_map<std::array<double, 7>, std::int32_t, HashNumbers> codes_;
};

}  // namespace subcrop::model
