// Notes of absurd length: what a reader costs grows no faster than the note.
#include <gtest/gtest.h>
#include <malloc.h>

#include <algorithm>
#include <ctime>
#include <functional>
#include <limits>
#include <string>
#include <string_view>

#include "subcrop/field/effervescence.hpp"
#include "subcrop/field/fragments.hpp"
#include "subcrop/field/munsell.hpp"
#include "subcrop/field/parent_material.hpp"
#include "subcrop/field/plants.hpp"
#include "subcrop/field/profile.hpp"
#include "subcrop/field/redox.hpp"
#include "subcrop/field/rock_depth.hpp"
#include "subcrop/field/texture.hpp"

namespace subcrop::field {
namespace {

struct NoteReader {
    const char* name;
    std::function<void(const std::string&)> read;
};

const NoteReader readers[] = {
    {"munsell", [](const std::string& note) { parse_munsell(note); }},
    {"texture", [](const std::string& note) { parse_texture(note); }},
    {"designation", [](const std::string& note) { parse_designation(note); }},
    {"plants", [](const std::string& note) { read_plants(note); }},
    {"redox", [](const std::string& note) { read_redox(note); }},
    {"effervescence", [](const std::string& note) { read_effervescence(note); }},
    {"kind of fragments", [](const std::string& note) { parse_fragment_kind(note); }},
    {"depth of rock",
     [](const std::string& note) {
         const RockCues cues[] = {
             {.top_cm = 0, .bottom_cm = 40, .fragments_pct = {}, .fragment_kind = note, .minerals = note}};
         rock_depth(cues, note);
     }},
    {"parent material",
     [](const std::string& note) {
         const ParentMaterialCues cues{
             .landform = note, .slope_deg = {}, .fragment_shape = note, .fragments_pct = {}, .notes = note};
         parent_material_shares(cues);
         parent_material_reason(cues);
     }},
};

constexpr std::string_view patterns[] = {"A",
                                         "a",
                                         "1",
                                         " ",
                                         ",",
                                         "/",
                                         "-",
                                         "(",
                                         ")",
                                         "[(",
                                         "^",
                                         "?",
                                         "1,",
                                         "1, ",
                                         "/1,2",
                                         "1.",
                                         ".",
                                         "10YR ",
                                         "10YR, ",
                                         "5/6,",
                                         "10YR 5/6 ",
                                         "10YR 5/6, ",
                                         "N",
                                         "1OYR5/6 ",
                                         "a ",
                                         "very ",
                                         "sand ",
                                         "loam/",
                                         "loam-",
                                         "sl-",
                                         "gravelly ",
                                         "grv",
                                         "heavy ",
                                         "A/",
                                         "A1a/",
                                         "II",
                                         "Bt",
                                         "'",
                                         "heather, ",
                                         "heather (",
                                         "no ",
                                         "not ",
                                         "\n",
                                         "a little ",
                                         "2 % ",
                                         "few ",
                                         "no refusal",
                                         "stopped by ",
                                         "slope ",
                                         "rounded ",
                                         "foot slopes ",
                                         "stratified, ",
                                         "\u2013",
                                         "\u00a0",
                                         "\u00b4a",
                                         "\xff",
                                         "a-"};

double seconds_of(const NoteReader& reader, const std::string& note) {
    timespec begin{}, end{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &begin);
    reader.read(note);
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &end);
    return static_cast<double>(end.tv_sec - begin.tv_sec) + 1e-9 * static_cast<double>(end.tv_nsec - begin.tv_nsec);
}

std::string repeated(std::string_view pattern, std::size_t length) {
    std::string note;
    while (note.size() < length) note += pattern;
    return note;
}

TEST(LongNote, CostsNoMoreThanItsLength) {
    // Four times the note may take eight times as long; the square would be sixteen. Below 30 ms nothing is judged. A
    // busy machine can only slow a reading down, so that the quickest of several counts. Memory once had is kept: given
    // back to the system after each reading, as large pieces are, it would cost ten times the reading itself from some
    // length on.
    mallopt(M_MMAP_MAX, 0);
    mallopt(M_TRIM_THRESHOLD, 1 << 30);
    constexpr std::size_t length = 20'000;
    constexpr double min_seconds = 0.030;
    for (const NoteReader& reader : readers) {
        for (const std::string_view pattern : patterns) {
            const std::string note = repeated(pattern, length), longer = repeated(pattern, 4 * length);
            double once = std::numeric_limits<double>::infinity(), four_times = once;
            int attempts = 0;
            do {
                once = std::min(once, seconds_of(reader, note));
                four_times = std::min(four_times, seconds_of(reader, longer));
            } while (four_times > std::max(8 * once, min_seconds) && ++attempts < 8);
            EXPECT_LE(four_times, std::max(8 * once, min_seconds))
                << reader.name << " on '" << pattern << "' over and over: " << once << " s, then " << four_times
                << " s";
        }
    }
}

}  // namespace
}  // namespace subcrop::field
