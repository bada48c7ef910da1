#include "publish/loop/run_record.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <ostream>
#include <string_view>
#include <system_error>
#include <tuple>

#include "io/json_object.hpp"
#include "io/pending_file.hpp"
#include "io/run_clock.hpp"
#include "publish/highlights.hpp"
#include "subcrop/core/error.hpp"
#include "subcrop/publish/survey_run.hpp"

namespace subcrop::publish {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr int record_format = 1;
constexpr std::uintmax_t largest_record = std::uintmax_t{256} << 20U;
constexpr const char* stamp_format = "%Y-%m-%dT%H%M%SZ";
constexpr std::size_t stamp_length = 18;  // of "2026-12-01T052033Z"
constexpr const char* partial = ".partial";

double rounded(double value, double steps) { return std::isfinite(value) ? std::round(value * steps) / steps : 0; }
Point rounded(Point place) { return {rounded(place.x, 100), rounded(place.y, 100)}; }

bool looks_like_stamp(std::string_view text) {
    constexpr std::string_view pattern = "dddd-dd-ddTddddddZ";
    return text.size() == stamp_length && std::equal(text.begin(), text.end(), pattern.begin(), [](char c, char p) {
               return p == 'd' ? c >= '0' && c <= '9' : c == p;
           });
}

/// Name of a record: its stamp, and its number among those of the same stamp.
struct RecordName {
    std::string stamp;
    unsigned number = 1;
    auto operator<=>(const RecordName&) const = default;
    std::string file() const { return stamp + (number > 1 ? "-" + std::to_string(number) : "") + ".json"; }
};

std::optional<RecordName> read_name(const std::string& name) {
    if (!name.ends_with(".json") || name.size() < stamp_length + 5) return std::nullopt;
    RecordName read{.stamp = name.substr(0, stamp_length)};
    if (!looks_like_stamp(read.stamp)) return std::nullopt;
    const std::string_view rest = std::string_view(name).substr(stamp_length, name.size() - stamp_length - 5);
    if (rest.empty()) return read;
    const auto [end, failure] = std::from_chars(rest.data() + 1, rest.data() + rest.size(), read.number);
    if (rest[0] != '-' || rest.size() < 2 || failure != std::errc() || end != rest.data() + rest.size())
        return std::nullopt;
    return read;
}

/// The newest first.
std::vector<RecordName> records_in(const fs::path& folder) {
    std::vector<RecordName> names;
    std::error_code failure;
    for (auto entry = fs::directory_iterator(folder, failure); !failure && entry != fs::directory_iterator();
         entry.increment(failure)) {
        if (auto name = read_name(entry->path().filename().string())) names.push_back(std::move(*name));
    }
    std::sort(names.rbegin(), names.rend());
    return names;
}

Json place_json(Json json, Point place) {
    json["x"] = place.x;
    json["y"] = place.y;
    return json;
}

Point place_of(const Json& json) { return {json.at("x").get<double>(), json.at("y").get<double>()}; }

RunRecord read_json(const Json& json) {
    RunRecord record;
    record.date = json.at("seconds").get<std::time_t>();
    record.inputs = json.at("inputs").get<std::string>();
    record.version = json.at("version").get<std::string>();
    record.crs = json.at("crs").get<std::string>();
    record.without_draft = json.at("without_draft").get<bool>();
    record.stop_count = json.at("stop_count").get<std::size_t>();
    record.contact_count = json.at("contact_count").get<std::size_t>();
    for (const auto& [code, count] : json.at("verdicts").items())
        record.verdicts.emplace_back(code, count.get<std::size_t>());
    for (const Json& stop : json.at("stops")) {
        const Json& p = stop.at("p_mapped");
        record.stops.push_back({stop.at("id").get<std::string>(), stop.at("verdict").get<std::string>(),
                                p.is_null() ? std::nullopt : std::optional(p.get<double>()), place_of(stop)});
    }
    for (const Json& contact : json.at("contacts")) {
        record.contacts.push_back({contact.at("number").get<std::int64_t>(), contact.at("unit_a").get<std::string>(),
                                   contact.at("unit_b").get<std::string>(), place_of(contact),
                                   contact.at("length_m").get<double>(), contact.at("half_width_m").get<double>(),
                                   contact.at("review").get<std::string>()});
    }
    record.proposals = json.at("proposals");
    return record;
}

}  // namespace

RunRecord record_of(const model::Survey& survey, const geo::UnitMap& map, const infer::Fit& fit,
                    const infer::Relocation& relocation, std::string inputs, std::time_t date) {
    RunRecord record;
    record.date = date;
    record.inputs = std::move(inputs);
    record.version = version();
    record.crs = survey.crs_name;
    record.without_draft = fit.without_draft;
    record.stop_count = survey.stops.size();
    record.contact_count = map.contacts().size();
    std::vector<std::size_t> counts(infer::verdict_count);
    for (const infer::StopFit& stop : fit.stops) ++counts[static_cast<std::size_t>(stop.verdict)];
    for (std::size_t i = 0; i < counts.size(); ++i)
        record.verdicts.emplace_back(to_string(static_cast<infer::Verdict>(i)), counts[i]);
    if (record.stop_count > max_recorded) return record;
    for (std::size_t s = 0; s < survey.stops.size(); ++s) {
        const infer::StopFit& f = fit.stops[s];
        const bool on_map = f.mapped_unit != model::no_unit;
        record.stops.push_back({survey.stops[s].id, std::string(to_string(f.verdict)),
                                on_map ? std::optional(rounded(f.p_mapped, 1e4)) : std::nullopt,
                                rounded(survey.stops[s].position)});
    }
    if (record.contact_count > max_recorded) return record;
    const auto code = [&](model::UnitIndex unit) { return survey.units[static_cast<std::size_t>(unit)].code; };
    for (std::size_t i = 0; i < map.contacts().size(); ++i) {
        const geo::Contact& contact = map.contacts()[i];
        record.contacts.push_back({static_cast<std::int64_t>(i) + 1, code(contact.unit_a), code(contact.unit_b),
                                   rounded(middle_of(contact)), rounded(contact.length_m, 10),
                                   rounded(relocation.contacts[i].location_confidence_m, 10),
                                   std::string(to_string(review_of(relocation, i)))});
    }
    return record;
}

std::string to_json(const RunRecord& record) {
    Json verdicts = Json::object(), stops = Json::array(), contacts = Json::array();
    for (const auto& [code, count] : record.verdicts) verdicts[code] = count;
    for (const StopRecord& stop : record.stops) {
        stops.push_back(place_json({{"id", stop.id},
                                    {"verdict", stop.verdict},
                                    {"p_mapped", stop.p_mapped ? Json(*stop.p_mapped) : Json(nullptr)}},
                                   stop.place));
    }
    for (const ContactRecord& contact : record.contacts) {
        contacts.push_back(place_json({{"number", contact.number},
                                       {"unit_a", contact.unit_a},
                                       {"unit_b", contact.unit_b},
                                       {"length_m", contact.length_m},
                                       {"half_width_m", contact.half_width_m},
                                       {"review", contact.review}},
                                      contact.middle));
    }
    const Json json{{"format", record_format},
                    {"program", "subcrop"},
                    {"version", record.version},
                    {"date", io::utc_text(record.date, "%Y-%m-%dT%H:%M:%SZ")},
                    {"seconds", record.date},
                    {"inputs", record.inputs},
                    {"crs", record.crs},
                    {"without_draft", record.without_draft},
                    {"stop_count", record.stop_count},
                    {"contact_count", record.contact_count},
                    {"verdicts", std::move(verdicts)},
                    {"stops", std::move(stops)},
                    {"contacts", std::move(contacts)},
                    {"proposals", record.proposals}};
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

RunRecord read_record(const fs::path& file) {
    std::error_code failure;
    const std::uintmax_t bytes = fs::file_size(file, failure);
    if (!failure && bytes > largest_record) throw Error({.source = file.string()}, "it is larger than any record");
    const Json json = io::parse_json_file(file);
    try {
        if (json.at("format").get<int>() > record_format)
            throw Error({.source = file.string()}, "it was written by a newer version of the program");
        return read_json(json);
    } catch (const Json::exception&) {
        throw Error({.source = file.string()}, "a part of it is missing or is not what a record holds");
    }
}

History read_history(const fs::path& folder, const std::string& inputs, const fs::path& superseded,
                     ProblemLog& problems) {
    History history;
    bool newest = true;
    for (const RecordName& name : records_in(folder)) {
        const fs::path file = folder / name.file();
        if (file == superseded) continue;
        try {
            RunRecord record = read_record(file);
            const bool same = record.inputs == inputs;
            if (newest && same)
                history.own = std::move(record);
            else if (!same)
                history.before = std::move(record);
            newest = false;
            if (!same) break;
        } catch (const Error& error) {
            problems.add({.severity = Severity::warning,
                          .source = (folder.filename() / name.file()).string(),
                          .row = std::nullopt,
                          .field = {},
                          .value = {},
                          .message = "this record of an earlier run cannot be read (" + error.message() +
                                     "); this run is compared with an older one",
                          .remedy = "Delete the file in the results folder, or put a copy of it back.",
                          .position = std::nullopt});
        }
    }
    return history;
}

fs::path new_record_path(const fs::path& folder, std::time_t date) {
    RecordName name{.stamp = io::utc_text(date, stamp_format)};
    if (!looks_like_stamp(name.stamp)) name.stamp = "9999-12-31T235959Z";  // beyond any name
    const std::vector<RecordName> there = records_in(folder);
    if (!there.empty() && there.front() >= name) name = {there.front().stamp, there.front().number + 1};
    return folder / name.file();
}

fs::path write_record(const fs::path& folder, const RunRecord& record, io::PendingFiles& together) {
    std::error_code failure;
    std::vector<fs::path> left;
    for (auto entry = fs::directory_iterator(folder, failure); !failure && entry != fs::directory_iterator();
         entry.increment(failure)) {
        std::string name = entry->path().filename().string();
        if (const auto at = name.find(partial); at != std::string::npos)
            if (read_name(name.erase(at, std::string_view(partial).size()))) left.push_back(entry->path());
    }
    for (const fs::path& file : left) fs::remove(file, failure);
    const fs::path path = new_record_path(folder, record.date);
    together.write(path, [&](std::ostream& out) { out << to_json(record) << '\n'; });
    return path;
}

void remove_old_records(const fs::path& folder, const fs::path& superseded) {
    std::error_code failure;
    if (!superseded.empty()) fs::remove(superseded, failure);
    const std::vector<RecordName> there = records_in(folder);
    for (std::size_t i = max_records; i < there.size(); ++i) fs::remove(folder / there[i].file(), failure);
}

}  // namespace subcrop::publish
