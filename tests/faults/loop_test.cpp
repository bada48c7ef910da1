// `decide` and `adopt` killed at any moment: what was decided before stays, what was being decided is there or is not,
// and the next draft is whole or absent.
#include <gmock/gmock.h>

#include <cstdio>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <random>
#include <set>
#include <thread>

#include "faults/faulty_run.hpp"

namespace subcrop::test {
namespace {

using Clock = std::chrono::steady_clock;
using testing::AnyOf;
using testing::Eq;

class Loop : public testing::Test {
protected:
    Loop() : survey(folder.survey("loop").string()) {
        for (const char* name : {"stops.csv", "horizons.csv", "draft_map.gpkg", "legend.csv"})
            fs::copy_file(fs::path(SUBCROP_SOURCE_DIR) / "sampledata/many_stops" / name, folder.path() / name,
                          fs::copy_options::overwrite_existing);
        std::ofstream(survey) << R"({"title": "Decided and adopted", "crs": "EPSG:32631",
            "stops": {"source": "stops.csv", "x": "lon", "y": "lat", "crs": "EPSG:4326"}, "horizons": {"source": "horizons.csv"},
            "map": {"source": "draft_map.gpkg", "layer": "units", "contact_sd_m": 40}, "legend": {"source": "legend.csv"},
            "settings": {"follow_traverses": false}, "results": "results"})";
    }

    Ending ended(std::vector<std::string> arguments) const {
        arguments.insert(arguments.begin() + 1, survey);
        return RunningProgram(folder, std::move(arguments)).wait();
    }
    /// Killed at a moment of its usual time, or whole.
    Ending killed(std::vector<std::string> arguments, std::chrono::microseconds usual) {
        arguments.insert(arguments.begin() + 1, survey);
        RunningProgram program(folder, std::move(arguments));
        std::this_thread::sleep_for(
            std::chrono::microseconds(std::uniform_int_distribution<long>(0, usual.count() * 11 / 10)(random)));
        program.send(SIGKILL);
        return program.wait();
    }
    std::chrono::microseconds time_of(const std::vector<std::string>& arguments) const {
        const auto start = Clock::now();
        EXPECT_EQ(ended(arguments).code, 0);
        return std::chrono::duration_cast<std::chrono::microseconds>(Clock::now() - start);
    }
    /// What `decide` lists: by id the decision and the reason.
    std::map<std::string, std::pair<std::string, std::string>> listed() const {
        const std::string command = std::string(SUBCROP_EXECUTABLE) + " decide '" + survey + "' --json";
        const std::unique_ptr<FILE, int (*)(FILE*)> pipe(popen(command.c_str(), "r"), pclose);
        std::string text;
        char piece[4096];
        for (std::size_t n; (n = std::fread(piece, 1, sizeof piece, pipe.get())) > 0;) text.append(piece, n);
        std::map<std::string, std::pair<std::string, std::string>> result;
        const nlohmann::json said = nlohmann::json::parse(text);
        for (const auto& p : said.at("proposals"))
            result[p.at("id")] = {p.at("decision"), p.value("why", nlohmann::json()).is_string() ? p.at("why") : ""};
        return result;
    }
    std::set<std::string> names() const {
        std::set<std::string> result;
        for (const auto& entry : fs::directory_iterator(folder.path()))
            if (!entry.path().filename().string().starts_with("stderr")) result.insert(entry.path().filename());
        return result;
    }

    FaultFolder folder;
    std::string survey;
    std::mt19937 random{31};
};

TEST_F(Loop, DecideKilledAtAnyMomentLosesNothingThatWasDecided) {
    ASSERT_EQ(ended({"run"}).code, 0);
    std::vector<std::string> ids;
    for (const auto& [id, decision] : listed()) ids.push_back(id);
    ASSERT_GE(ids.size(), 2U);
    const auto usual = time_of({"decide", ids[0], "accepted", "--why", "rock in the ditch", "--quiet"});
    std::pair<std::string, std::string> before{"open", ""};
    int ended_by_kill = 0, changed = 0;
    for (int i = 0; i < 40; ++i) {
        const std::pair<std::string, std::string> wanted{i % 2 == 0 ? "rejected" : "later",
                                                         "round " + std::to_string(i)};
        const Ending ending = killed({"decide", ids[1], wanted.first, "--why", wanted.second, "--quiet"}, usual);
        ended_by_kill += ending.signal == SIGKILL;
        const auto now = listed();
        ASSERT_EQ(now.at(ids[0]), std::pair(std::string("accepted"), std::string("rock in the ditch"))) << "kill " << i;
        ASSERT_THAT(now.at(ids[1]), AnyOf(Eq(wanted), Eq(before))) << "kill " << i;
        if (ending.code == 0) {
            ASSERT_EQ(now.at(ids[1]), wanted) << "kill " << i;
        }
        changed += now.at(ids[1]) == wanted;
        before = now.at(ids[1]);
    }
    EXPECT_GT(ended_by_kill, 10);
    EXPECT_GT(changed, 0);
    ASSERT_EQ(ended({"decide", ids[1], "open", "--quiet"}).code, 0);
    EXPECT_EQ(listed().at(ids[1]).first, "open");
    EXPECT_FALSE(names().contains("decisions.gpkg-journal"));
}

TEST_F(Loop, AdoptKilledAtAnyMomentLeavesTheNextDraftWholeOrAbsent) {
    ASSERT_EQ(ended({"run"}).code, 0);
    const fs::path next = folder.path() / "next.gpkg";
    const std::vector<std::string> adopt{"adopt", "--at-least", "0.5", "--output", next.string(), "--quiet"};
    const auto usual = time_of(adopt);
    const std::string whole = bytes_of(next), draft = bytes_of(folder.path() / "draft_map.gpkg");
    ASSERT_FALSE(whole.empty());
    int ended_by_kill = 0;
    for (int i = 0; i < 8; ++i) {
        fs::remove(next);
        ended_by_kill += killed(adopt, usual).signal == SIGKILL;
        if (fs::exists(next)) {
            ASSERT_EQ(bytes_of(next), whole) << "kill " << i;
        }
    }
    EXPECT_GT(ended_by_kill, 2);
    fs::remove(next);
    ASSERT_EQ(ended(adopt).code, 0);
    EXPECT_EQ(bytes_of(next), whole);
    EXPECT_EQ(bytes_of(folder.path() / "draft_map.gpkg"), draft);
    for (const std::string& name : names()) EXPECT_EQ(name.find("partial"), std::string::npos) << name;
}

}  // namespace
}  // namespace subcrop::test
