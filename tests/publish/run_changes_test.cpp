#include "publish/loop/run_changes.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <string>
#include <vector>

#include "io/input_digest.hpp"
#include "io/pending_file.hpp"
#include "publish/invented_survey.hpp"
#include "subcrop/core/error.hpp"
#include "support/bytes_of.hpp"

namespace subcrop::publish {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr std::time_t november = 1795843233;  // 28 November 2026, 05:20:33 UTC
constexpr std::time_t day = 86400;

RunRecord record(std::time_t date, std::vector<StopRecord> stops, std::vector<ContactRecord> contacts = {}) {
    RunRecord r;
    r.date = date;
    r.inputs = "digest " + std::to_string(date);
    r.version = "1";
    r.crs = "UTM";
    r.stops = std::move(stops);
    r.contacts = std::move(contacts);
    r.stop_count = r.stops.size();
    r.contact_count = r.contacts.size();
    return r;
}

StopRecord stop(const char* id, const char* verdict, double p, Point place = {100, 100}) {
    return {id, verdict, p, place};
}

ContactRecord contact(std::int64_t number, const char* a, const char* b, Point middle, double half,
                      const char* review = "supported") {
    return {number, a, b, middle, 400, half, review};
}

std::vector<std::string> sentences(const RunChanges& changes) {
    std::vector<std::string> all;
    for (const Change& change : changes.rows)
        all.push_back(std::string(to_string(change.kind)) + ": " + change.sentence);
    return all;
}

TEST(RunChanges, TheHeadlineCountsStopsConflictsAndNamesTheContactThatChangedMost) {
    const RunChanges changes =
        changes_since(record(november,
                             {stop("1", "conflicts", .05), stop("2", "conflicts", .04), stop("3", "agrees", .9),
                              stop("9", "agrees", .8)},
                             {contact(3, "Ha", "Os", {0, 0}, 58), contact(4, "Ha", "Kb", {500, 0}, 40)}),
                      record(november + 3 * day,
                             {stop("1", "agrees", .81), stop("2", "undecided", .5), stop("3", "conflicts", .03),
                              stop("10", "agrees", .9, {7, 8}), stop("11", "agrees", .9)},
                             {contact(3, "Ha", "Os", {0, 0}, 31), contact(4, "Ha", "Kb", {500, 0}, 31)}));
    EXPECT_EQ(changes.since, "28 November 2026");
    EXPECT_EQ(
        changes.headline,
        "Since 28 November 2026: 2 stops more, 1 stop gone, 2 conflicts resolved, 1 new; contact Ha | Os no. 3 now "
        "located to ± 31 m (90 %), was ± 58 m, 1 more contact located better");
    EXPECT_THAT(
        sentences(changes),
        ElementsAre(
            "verdict_changed: Stop 1: agrees with the draft; was: conflicts with the draft. Probability of the "
            "mapped unit: 0.81, was 0.05.",
            "verdict_changed: Stop 2: undecided; was: conflicts with the draft. Probability of the mapped unit: "
            "0.50, was 0.04.",
            "verdict_changed: Stop 3: conflicts with the draft; was: agrees with the draft. Probability of the "
            "mapped unit: 0.03, was 0.90.",
            "contact_located: Contact Ha | Os no. 3 now located to ± 31 m (90 %), was ± 58 m.",
            "contact_located: Contact Ha | Kb no. 4 now located to ± 31 m (90 %), was ± 40 m.",
            "stop_added: Stop 10 is new: agrees with the draft.", "stop_added: Stop 11 is new: agrees with the draft.",
            "stop_gone: Stop 9 is gone. It was: agrees with the draft."));
    const Change& added = changes.rows[5];
    EXPECT_EQ(added.what, "10");
    EXPECT_EQ(added.before, "");
    EXPECT_EQ(added.after, "agrees");
    EXPECT_EQ(added.place->x, 7);
    EXPECT_EQ(changes.rows[3].what, "Ha | Os no. 3");
    EXPECT_EQ(changes.rows[3].before, "± 58 m");
    EXPECT_EQ(changes.rows[3].after, "± 31 m");
}

TEST(RunChanges, WhatDoesNotMatterIsNotTold) {
    const RunChanges changes =
        changes_since(record(november, {stop("1", "agrees", .6)},
                             {contact(1, "A", "B", {0, 0}, 100), contact(2, "A", "C", {0, 0}, 1)}),
                      record(november + day, {stop("1", "agrees", .9, {100.5, 100})},
                             {contact(1, "A", "B", {0, 0}, 81), contact(2, "A", "C", {0, 0}, 1.3)}));
    EXPECT_THAT(changes.rows, IsEmpty());
    EXPECT_EQ(
        changes.headline,
        "Since 28 November 2026: the same stops with the same verdicts, and no contact located better or worse by "
        "20 % or more");
    const RunChanges at_the_limit = changes_since(record(november, {}, {contact(1, "A", "B", {0, 0}, 100)}),
                                                  record(november + day, {}, {contact(1, "A", "B", {0, 0}, 80)}));
    EXPECT_EQ(at_the_limit.rows.size(), 1U);
}

TEST(RunChanges, ContactsAreMatchedByUnitsAndPlaceNotByNumber) {
    // The draft was redrawn: numbers shifted by one, the third contact is new, the one of A and D gone.
    const RunChanges changes = changes_since(
        record(november, {},
               {contact(1, "A", "B", {0, 0}, 50, "untested"), contact(2, "A", "B", {1000, 0}, 90),
                contact(3, "A", "D", {0, 9}, 30)}),
        record(
            november + day, {},
            {contact(1, "B", "C", {0, 0}, 40), contact(2, "B", "A", {20, 0}, 50), contact(3, "A", "B", {990, 0}, 45)}));
    EXPECT_THAT(sentences(changes),
                ElementsAre("contact_located: Contact A | B no. 3 now located to ± 45 m (90 %), was ± 90 m.",
                            "contact_verdict: Contact B | A no. 2: supported, was untested.",
                            "contact_added: Contact B | C no. 1 is new on the draft.",
                            "contact_gone: A contact A | D is gone from the draft."));
    EXPECT_THAT(changes.headline, HasSubstr("contact B | A no. 2 now supported, was untested; 1 contact more on the "
                                            "draft; 1 contact gone from the draft"));
}

TEST(RunChanges, StopsOfOneNameArePairedByTheirPlaces) {
    const RunChanges changes =
        changes_since(record(november, {stop("1", "agrees", .9, {0, 0}), stop("1", "conflicts", .1, {500, 0}),
                                        stop("2", "agrees", .9, {0, 0})}),
                      record(november + day, {stop("1", "conflicts", .1, {500, 0}), stop("1", "agrees", .9, {0, 0}),
                                              stop("2", "agrees", .9, {30, 40})}));
    EXPECT_THAT(sentences(changes), ElementsAre("stop_moved: The place of stop 2 differs by 50 m."));
    EXPECT_THAT(changes.headline, HasSubstr(": 1 stop at another place"));
}

TEST(RunChanges, OnTheSameDayTheTimeIsToldAndAnotherProgramIsNamed) {
    RunRecord now = record(november + 3600, {});
    now.version = "2";
    now.crs = "another";
    const RunChanges changes = changes_since(record(november, {}, {contact(1, "A", "B", {0, 0}, 50)}), now);
    EXPECT_EQ(changes.since, "28 November 2026, 05:20 UTC");
    EXPECT_THAT(changes.rows, IsEmpty());
    EXPECT_THAT(changes.headline,
                HasSubstr("; the working projection is another, so places and contacts are not compared; "
                          "that run was of subcrop 1"));
}

TEST(RunChanges, CountsAreComparedWhereARecordHasNoMore) {
    RunRecord before = record(november, {}), now = record(november + day, {});
    before.stop_count = 20'001;
    now.stop_count = 20'013;
    before.verdicts = {{"agrees", 20'000}, {"conflicts", 1}};
    now.verdicts = {{"agrees", 20'000}, {"conflicts", 13}};
    const RunChanges changes = changes_since(before, now);
    EXPECT_EQ(changes.headline, "Since 28 November 2026: 12 stops more; conflicts with the draft: 13 stops, was 1");
    EXPECT_THAT(changes.rows, IsEmpty());
}

// 20,000 stops are recorded one by one, one more by their counts.
TEST(RunRecord, LargeSurveysLeaveTheirCountsOnly) {
    for (const std::size_t stops : {max_recorded, max_recorded + 1}) {
        model::Survey survey;
        survey.crs_name = "UTM";
        survey.stops.resize(stops);
        infer::Fit fit;
        fit.stops.resize(stops);
        fit.stops[7].verdict = infer::Verdict::conflicts;
        fit.stops[7].mapped_unit = 0;
        fit.stops[7].p_mapped = .123456;
        ProblemLog none;
        const geo::UnitMap map({}, 1, {}, none);
        const RunRecord r = record_of(survey, map, fit, {}, "d", november);
        EXPECT_EQ(r.stop_count, stops);
        EXPECT_EQ(r.verdicts[1], std::pair(std::string("conflicts"), std::size_t{1}));
        EXPECT_EQ(r.verdicts[6].second, stops - 1);
        ASSERT_EQ(r.stops.size(), stops == max_recorded ? stops : 0);
        if (r.stops.empty()) continue;
        EXPECT_EQ(r.stops[7].p_mapped, .1235);
        EXPECT_EQ(r.stops[8].p_mapped, std::nullopt);
    }
}

class InHistory : public testing::Test {
protected:
    test::TemporaryFolder holder_{testing::TempDir()};
    fs::path folder_ = holder_.path() / "history";
    ProblemLog problems_;

    fs::path write(const RunRecord& r) const {
        io::PendingFiles together;
        const fs::path path = write_record(folder_, r, together);
        together.put_in_place();
        remove_old_records(folder_, {});
        return path;
    }
};

TEST_F(InHistory, ARecordIsReadAsItWasWritten) {
    RunRecord r =
        record(november, {stop("1", "conflicts", .05, {540082.25, 6230801})}, {contact(3, "Ha", "Os", {1, 2}, 58)});
    r.stops.push_back({"2", "off_map", std::nullopt, {3, 4}});
    r.stop_count = 2;
    r.verdicts = {{"agrees", 3}, {"conflicts", 1}};
    r.proposals["m1"] = "move";
    const fs::path file = write(r);
    EXPECT_EQ(file.filename(), "2026-11-28T052033Z.json");
    const RunRecord read = read_record(file);
    EXPECT_EQ(to_json(read), to_json(r));
    EXPECT_EQ(read.stops[0].place.x, 540082.25);
    EXPECT_EQ(read.stops[1].p_mapped, std::nullopt);
    EXPECT_EQ(read.proposals["m1"], "move");
    EXPECT_THAT(changes_since(read, r).rows, IsEmpty());
}

TEST_F(InHistory, ARunIsComparedWithTheNewestRecordOfOtherInputs) {
    EXPECT_FALSE(read_history(folder_, "digest", {}, problems_).before);
    write(record(november, {}));
    write(record(november + day, {}));
    const std::string second = "digest " + std::to_string(november + day);
    History history = read_history(folder_, second, {}, problems_);
    EXPECT_EQ(history.own->date, november + day);
    EXPECT_EQ(history.before->date, november);
    history = read_history(folder_, "digest of a third", {}, problems_);
    EXPECT_FALSE(history.own);
    EXPECT_EQ(history.before->date, november + day);
    // Back to the first: its own record is no longer the newest.
    history = read_history(folder_, "digest " + std::to_string(november), {}, problems_);
    EXPECT_FALSE(history.own);
    EXPECT_EQ(history.before->date, november + day);
    // The newest is to be replaced.
    history = read_history(folder_, "digest of a third", folder_ / "2026-11-29T052033Z.json", problems_);
    EXPECT_EQ(history.before->date, november);
    EXPECT_EQ(problems_.size(), 0U);
}

TEST_F(InHistory, RecordsOfOneSecondAndOfAClockSetBackKeepTheirOrder) {
    write(record(november, {}));
    EXPECT_EQ(write(record(november, {})).filename(), "2026-11-28T052033Z-2.json");
    EXPECT_EQ(write(record(november - day, {})).filename(), "2026-11-28T052033Z-3.json");
    EXPECT_EQ(read_history(folder_, "other", {}, problems_).before->date, november - day);
    for (int i = 4; i <= 11; ++i) write(record(november, {}));
    EXPECT_EQ(new_record_path(folder_, november).filename(), "2026-11-28T052033Z-12.json");
}

TEST_F(InHistory, TheNewestThirtyAreKeptAndNothingElseIsTouched) {
    fs::create_directories(folder_);
    test::write_file(folder_ / "notes.json", "hers");
    test::write_file(folder_ / "2020-01-01T000000Z.partial.json", "left by a killed run");
    for (int i = 0; i < 32; ++i) write(record(november + i * day, {}));
    std::size_t files = 0;
    for (const auto& entry : fs::directory_iterator(folder_)) files += entry.is_regular_file();
    EXPECT_EQ(files, 31U);
    EXPECT_TRUE(fs::exists(folder_ / "notes.json"));
    EXPECT_FALSE(fs::exists(folder_ / "2026-11-29T052033Z.json"));
    EXPECT_TRUE(fs::exists(folder_ / "2026-11-30T052033Z.json"));
}

TEST_F(InHistory, ADamagedRecordIsAProblemAndTheOneBeforeIsTaken) {
    write(record(november, {}));
    const std::string whole = to_json(record(november + day, {stop("1", "agrees", .9)}));
    const auto damaged = [&](const std::string& text) {
        test::write_file(folder_ / "2026-11-29T052033Z.json", text);
        ProblemLog problems;
        const History history = read_history(folder_, "other", {}, problems);
        EXPECT_EQ(history.before->date, november);
        EXPECT_EQ(problems.size(), 1U) << text;
        return problems.sorted().front();
    };
    const Problem cut = damaged(whole.substr(0, 40));
    EXPECT_EQ(cut.source, "history/2026-11-29T052033Z.json");
    EXPECT_EQ(cut.severity, Severity::warning);
    EXPECT_THAT(cut.message, HasSubstr("this record of an earlier run cannot be read (line 1, column 4"));
    EXPECT_EQ(cut.remedy, "Delete the file in the results folder, or put a copy of it back.");
    for (std::string text : {std::string("{}"), std::string("[1]"), std::string("7"), std::string(),
                             std::string(whole).replace(whole.find("\"agrees\""), 8, "17"),
                             std::string(whole).replace(whole.find("\"format\":1"), 10, "\"format\":2")})
        damaged(text);
    fs::remove(folder_ / "2026-11-29T052033Z.json");
    fs::create_directory(folder_ / "2026-11-29T052033Z.json");
    EXPECT_EQ(read_history(folder_, "other", {}, problems_).before->date, november);
    EXPECT_EQ(problems_.size(), 1U);
}

TEST(InputDigest, ItFollowsTheBytesOfSourcesAndJournals) {
    const test::TemporaryFolder holder(testing::TempDir());
    const fs::path survey = test::write_survey(holder.path());
    const auto digest = [&] { return io::digest_of_inputs(io::read_survey_file(survey)); };
    const std::string first = digest();
    EXPECT_EQ(first.size(), 16U);
    EXPECT_EQ(digest(), first);
    const fs::path map = io::resolved_source(io::read_survey_file(survey), io::read_survey_file(survey).map->source);
    test::write_file(map.string() + "-wal", "");
    test::write_file(map.string() + "-shm", "locks");
    EXPECT_EQ(digest(), first) << "an empty journal holds no change";
    test::write_file(map.string() + "-wal", "pages");
    const std::string with_journal = digest();
    EXPECT_NE(with_journal, first);
    fs::remove(map.string() + "-wal");
    EXPECT_EQ(digest(), first);
    std::string stops = bytes_of(holder.path() / "stops.csv");
    stops.back() = ' ';
    test::write_file(holder.path() / "stops.csv", stops);
    EXPECT_NE(digest(), first);
    // A whole number of the pieces that a file is read in, and one byte more.
    test::write_file(holder.path() / "stops.csv", std::string(1U << 18U, 'a'));
    const std::string even = digest();
    test::write_file(holder.path() / "stops.csv", std::string((1U << 18U) + 1, 'a'));
    EXPECT_NE(digest(), even);
    // Elsewhere, the same bytes.
    const test::TemporaryFolder other(testing::TempDir());
    fs::copy(holder.path(), other.path(), fs::copy_options::recursive);
    EXPECT_EQ(io::digest_of_inputs(io::read_survey_file(other.path() / survey.filename())), digest());
}

}  // namespace
}  // namespace subcrop::publish
