// Checked access to a JSON object: every message names the key by its path from the top of the file.
#pragma once

#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop::io {

/// Parses a file. Throws Error with line and column for a slip of syntax, with the key for one given twice.
nlohmann::ordered_json parse_json_file(const std::filesystem::path& path);

class JsonObject {
public:
    /// `path` is empty at the top. Throws Error when `value` is no object or has a key outside `keys`.
    JsonObject(const nlohmann::ordered_json& value, std::string file, std::string path, std::vector<std::string> keys);

    bool has(std::string_view key) const;
    const nlohmann::ordered_json& at(std::string_view key) const { return value_.at(std::string(key)); }
    std::string path_of(std::string_view key) const;

    /// Empty when absent; `required` makes that an Error. Given but blank is an Error.
    std::string text(std::string_view key, bool required = false) const;
    /// One of `words`, which the caller compares; empty when absent.
    std::string word(std::string_view key, const std::vector<std::string>& words) const;
    std::optional<bool> boolean(std::string_view key) const;
    std::optional<std::uint64_t> whole_number(std::string_view key) const;
    enum class Range { any, any_above_zero, zero_or_above, share };
    std::optional<double> number(std::string_view key, Range range) const;
    /// A length in metres within limits.
    std::optional<double> metres(std::string_view key, double least, double most) const;
    std::vector<std::string> texts(std::string_view key, bool required) const;

    /// Throws Error at a key of this object.
    [[noreturn]] void fail(std::string_view key, std::string message, std::string remedy = {}) const;

private:
    [[noreturn]] void wrong_type(std::string_view key, std::string_view expected) const;

    const nlohmann::ordered_json& value_;
    std::string file_;
    std::string path_;
};

}  // namespace subcrop::io
SUBCROP_EXPORT_END
