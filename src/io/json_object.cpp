#include "io/json_object.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <set>
#include <utility>

#include "io/nearest_name.hpp"
#include "io/safe_source.hpp"
#include "io/text_values.hpp"
#include "subcrop/core/error.hpp"

namespace subcrop::io {

namespace {

using Json = nlohmann::ordered_json;

std::string line_and_column(std::string_view text, std::size_t byte) {
    // The parser counts bytes from 1 and names the last one it read.
    const std::size_t end = std::min(byte > 0 ? byte - 1 : 0, text.size());
    std::size_t line = 1, column = 1;
    for (std::size_t i = 0; i < end; ++i) {
        if (text[i] == '\n') {
            ++line;
            column = 1;
        } else {
            ++column;
        }
    }
    return "line " + std::to_string(line) + ", column " + std::to_string(column);
}

/// The parser's own words without its error number and position, which are said better here.
std::string plain_reason(std::string text) {
    if (const auto at = text.find("syntax error"); at != std::string::npos) text.erase(0, at);
    if (const auto at = text.find(" - "); at != std::string::npos) text.erase(0, at + 3);
    if (const auto at = text.find("; last read"); at != std::string::npos) text.erase(at);
    return text;
}

std::string type_word(const Json& value) {
    switch (value.type()) {
        case Json::value_t::null:
            return "null";
        case Json::value_t::object:
            return "an object";
        case Json::value_t::array:
            return "a list";
        case Json::value_t::string:
            return "text";
        case Json::value_t::boolean:
            return "true or false";
        default:
            return "a number";
    }
}

std::string shown(const Json& value) {
    std::string text = value.dump(-1, ' ', false, Json::error_handler_t::replace);
    if (text.size() > 40) text = text.substr(0, 37) + "...";
    return text;
}

bool blank(std::string_view text) { return text.find_first_not_of(" \t\r\n") == std::string_view::npos; }

}  // namespace

Json parse_json_file(const std::filesystem::path& path) {
    std::error_code failure;
    const auto status = std::filesystem::status(path, failure);
    if (!std::filesystem::exists(status)) {
        throw Error({.source = path.string()}, "there is no such file", "Give the path of a survey file.");
    }
    if (std::filesystem::is_directory(status)) {
        throw Error({.source = path.string()}, "this is a folder, not a survey file",
                    "Give the path of the survey file in it.");
    }
    if (const std::string kind = odd_kind(path); !kind.empty()) {
        throw Error({.source = path.string()}, "this is " + kind + ", not a file", "Give the path of a survey file.");
    }
    std::ifstream in(path, std::ios::binary);
    if (!in) {
        throw Error({.source = path.string()}, "the file cannot be opened", "Check that you are allowed to read it.");
    }
    std::string text((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
    if (text.starts_with("\xEF\xBB\xBF")) text.erase(0, 3);
    if (blank(text)) {
        throw Error({.source = path.string()}, "the file is empty", "A survey file is a JSON object.");
    }

    std::vector<std::set<std::string>> seen;
    std::vector<std::string> trail;
    auto watch = [&](int depth, Json::parse_event_t event, Json& parsed) {
        const auto level = static_cast<std::size_t>(depth);
        if (event == Json::parse_event_t::object_start) {
            seen.resize(level + 1);
            seen[level].clear();
        } else if (event == Json::parse_event_t::key) {
            const std::string key = parsed.get<std::string>();
            // Keys are one level inside their object.
            trail.resize(level);
            trail[level - 1] = key;
            if (!seen.at(level - 1).insert(key).second) {
                std::string where;
                for (const std::string& step : trail) {
                    if (step.empty()) continue;
                    if (!where.empty()) where += '.';
                    where += step;
                }
                throw Error({.source = path.string(), .field = where}, "this key is given twice",
                            "Keep one of the two.");
            }
        }
        return true;
    };
    try {
        return Json::parse(text, watch);
    } catch (const Json::out_of_range&) {
        throw Error({.source = path.string()}, "a number in it is too large", "Correct the number.");
    } catch (const Json::parse_error& problem) {
        throw Error({.source = path.string()},
                    line_and_column(text, problem.byte) + ": not valid JSON (" + plain_reason(problem.what()) + ")",
                    "Look for a missing or extra comma, quotation mark or bracket there or just before.");
    }
}

JsonObject::JsonObject(const Json& value, std::string file, std::string path, std::vector<std::string> keys)
    : value_(value), file_(std::move(file)), path_(std::move(path)) {
    if (!value_.is_object()) {
        throw Error({.source = file_, .field = path_}, "an object in braces is expected here, not " + type_word(value_),
                    path_.empty() ? R"(A survey file looks like {"stops": {"source": "stops.csv"}}.)"
                                  : R"(Write {"source": "file.csv"}, for example.)");
    }
    for (const auto& [key, unused] : value_.items()) {
        if (std::find(keys.begin(), keys.end(), key) == keys.end()) {
            fail(key, "there is no such key", did_you_mean(key, keys) + "Keys here: " + listed(keys) + ".");
        }
    }
}

bool JsonObject::has(std::string_view key) const { return value_.contains(std::string(key)); }

std::string JsonObject::path_of(std::string_view key) const {
    return path_.empty() ? std::string(key) : path_ + '.' + std::string(key);
}

void JsonObject::fail(std::string_view key, std::string message, std::string remedy) const {
    throw Error({.source = file_, .field = path_of(key)}, std::move(message), std::move(remedy));
}

void JsonObject::wrong_type(std::string_view key, std::string_view expected) const {
    const std::string remedy = expected == "text"               ? "Write it in quotation marks."
                               : expected == "true or false"    ? "Write true or false without quotation marks."
                               : expected.starts_with("a list") ? R"(Write ["one", "two"], for example.)"
                                                                : "Write digits without quotation marks.";
    fail(key, std::string(expected) + " is expected here, not " + type_word(at(key)) + " (" + shown(at(key)) + ")",
         remedy);
}

std::string JsonObject::text(std::string_view key, bool required) const {
    if (!has(key)) {
        if (required) fail(key, "this key is missing", "Every survey file needs it.");
        return {};
    }
    if (!at(key).is_string()) wrong_type(key, "text");
    std::string result = at(key).get<std::string>();
    if (blank(result)) fail(key, "the text is empty", required ? "" : "Fill it in or leave the key out.");
    return result;
}

std::string JsonObject::word(std::string_view key, const std::vector<std::string>& words) const {
    if (!has(key)) return {};
    if (!at(key).is_string()) wrong_type(key, "text");
    std::string result = at(key).get<std::string>();
    if (std::find(words.begin(), words.end(), result) == words.end()) {
        fail(key, "'" + result + "' is no choice here",
             did_you_mean(result, words) + "Choices: " + listed(words) + ".");
    }
    return result;
}

std::optional<bool> JsonObject::boolean(std::string_view key) const {
    if (!has(key)) return std::nullopt;
    if (!at(key).is_boolean()) wrong_type(key, "true or false");
    return at(key).get<bool>();
}

std::optional<std::uint64_t> JsonObject::whole_number(std::string_view key) const {
    if (!has(key)) return std::nullopt;
    if (!at(key).is_number()) wrong_type(key, "a whole number");
    if (!at(key).is_number_unsigned())
        fail(key, shown(at(key)) + " is not a whole number of 0 or more", "Write digits only, such as 1.");
    return at(key).get<std::uint64_t>();
}

std::optional<double> JsonObject::number(std::string_view key, Range range) const {
    if (!has(key)) return std::nullopt;
    if (!at(key).is_number()) {
        if (at(key).is_string()) {
            fail(key, "a number is expected here, not text (" + shown(at(key)) + ")",
                 "Write it without quotation marks.");
        }
        wrong_type(key, "a number");
    }
    const double value = at(key).get<double>();
    if (!std::isfinite(value)) fail(key, shown(at(key)) + " is not a finite number");
    if (range == Range::any_above_zero && value <= 0)
        fail(key, shown(at(key)) + " is not above 0", "Write a number above 0, or leave the key out.");
    if (range == Range::zero_or_above && value < 0)
        fail(key, shown(at(key)) + " is below 0", "Write 0 or more, or leave the key out.");
    if (range == Range::share && (value < 0 || value > 1)) {
        fail(key, shown(at(key)) + " is outside 0 to 1", "It is a share of the whole: 10 % is 0.1.");
    }
    return value;
}

std::optional<double> JsonObject::metres(std::string_view key, double least, double most) const {
    if (!has(key)) return std::nullopt;
    const double value = at(key).is_number() ? at(key).get<double>() : *number(key, Range::zero_or_above);
    if (!(value >= least && value <= most)) {
        const std::string limits = number_text(least) + " to " + number_text(most);
        fail(key, shown(at(key)) + " is outside " + limits + " m",
             "Write metres, from " + limits + ", or leave the key out.");
    }
    return value;
}

std::vector<std::string> JsonObject::texts(std::string_view key, bool required) const {
    if (!has(key)) {
        if (required) fail(key, "this key is missing");
        return {};
    }
    if (!at(key).is_array()) wrong_type(key, "a list of texts in square brackets");
    std::vector<std::string> result;
    for (std::size_t i = 0; i < at(key).size(); ++i) {
        const Json& item = at(key)[i];
        const std::string item_key = std::string(key) + "[" + std::to_string(i) + "]";
        if (!item.is_string()) {
            fail(item_key, "text is expected here, not " + type_word(item) + " (" + shown(item) + ")");
        }
        if (blank(item.get<std::string>())) fail(item_key, "the text is empty");
        result.push_back(item.get<std::string>());
    }
    return result;
}

}  // namespace subcrop::io
