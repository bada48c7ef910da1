#include "cli/visible.hpp"

#include <cstdint>
#include <cstdio>
#include <iostream>
#include <streambuf>

namespace subcrop::cli {

namespace {

/// A character of UTF-8 at the start of a text.
struct Character {
    std::size_t bytes = 1;
    char32_t code = 0;
    bool whole = true;  ///< false: the text ends within it
    bool is_utf8 = true;
};

Character first_of(std::string_view text) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const unsigned first = byte(0);
    if (first < 0x80) return {1, first, true, true};
    const std::size_t length = first >= 0xC2 && first < 0xE0   ? 2
                               : first >= 0xE0 && first < 0xF0 ? 3
                               : first >= 0xF0 && first < 0xF5 ? 4
                                                               : 0;
    if (length == 0) return {1, first, true, false};
    char32_t code = first & (0x7FU >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if (i == text.size()) return {i, 0, false, true};
        if ((byte(i) & 0xC0U) != 0x80U) return {1, first, true, false};
        code = (code << 6U) | (byte(i) & 0x3FU);
    }
    constexpr char32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    if (code < least[length] || code > 0x10FFFF || (code >= 0xD800 && code < 0xE000)) return {1, first, true, false};
    return {length, code, true, true};
}

/// Control characters (C0, DEL, C1), line and paragraph separators, marks of writing direction (Unicode Standard Annex
/// 9: embeddings, overrides, isolates and the three marks) and invisible tags.
bool commands(char32_t c) {
    return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x61C || c == 0x200E || c == 0x200F ||
           (c >= 0x2028 && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069) || (c >= 0xE0000 && c <= 0xE007F);
}

std::string written(const Character& c) {
    char text[16];
    std::snprintf(text, sizeof text, c.is_utf8 ? "\\u{%x}" : "\\x{%x}", static_cast<unsigned>(c.code));
    return text;
}

/// Adds what is whole of `text` to `result`; the rest is returned.
std::string_view add_visible(std::string_view text, bool keep_line_ends, std::string& result) {
    while (!text.empty()) {
        const Character c = first_of(text);
        if (!c.whole) return text;
        const bool stays = c.is_utf8 && (!commands(c.code) || (keep_line_ends && c.code == '\n'));
        if (stays)
            result += text.substr(0, c.bytes);
        else
            result += written(c);
        text.remove_prefix(c.bytes);
    }
    return {};
}

}  // namespace

std::string visible(std::string_view text) {
    std::string result;
    for (std::string_view rest = add_visible(text, false, result); !rest.empty(); rest.remove_prefix(1))
        result += written({1, static_cast<unsigned char>(rest[0]), true, false});
    return result;
}

std::string visible_in_json(const std::string& json) {
    std::string result;
    for (std::string_view rest = json; !rest.empty();) {
        const Character c = first_of(rest);
        // Other characters below a blank are between the texts of JSON, never within one.
        if (c.whole && c.is_utf8 && c.code >= 0x7F && commands(c.code)) {
            const std::uint32_t above = c.code - 0x10000;
            char text[16];
            if (c.code < 0x10000)
                std::snprintf(text, sizeof text, "\\u%04x", static_cast<unsigned>(c.code));
            else
                std::snprintf(text, sizeof text, "\\u%04x\\u%04x", 0xD800U + (above >> 10U),
                              0xDC00U + (above & 0x3FFU));
            result += text;
        } else {
            result += rest.substr(0, c.bytes);
        }
        rest.remove_prefix(c.bytes);
    }
    return result;
}

class VisibleOutput::Buffer : public std::streambuf {
public:
    explicit Buffer(std::ostream& stream) : stream_(stream), to_(stream.rdbuf(this)) {}
    Buffer(const Buffer&) = delete;
    Buffer& operator=(const Buffer&) = delete;
    ~Buffer() override {
        stream_.rdbuf(to_);
        const std::string rest = visible(pending_);
        to_->sputn(rest.data(), static_cast<std::streamsize>(rest.size()));
        to_->pubsync();
    }

protected:
    int_type overflow(int_type c) override {
        if (traits_type::eq_int_type(c, traits_type::eof())) return traits_type::not_eof(c);
        const char one = traits_type::to_char_type(c);
        return xsputn(&one, 1) == 1 ? c : traits_type::eof();
    }
    std::streamsize xsputn(const char* text, std::streamsize count) override {
        pending_.append(text, static_cast<std::size_t>(count));
        std::string shown;
        pending_ = std::string(add_visible(pending_, true, shown));
        const auto size = static_cast<std::streamsize>(shown.size());
        return to_->sputn(shown.data(), size) == size ? count : 0;
    }
    int sync() override { return to_->pubsync(); }

private:
    std::ostream& stream_;
    std::streambuf* to_;
    std::string pending_;  ///< the beginning of a character
};

VisibleOutput::VisibleOutput() : out_(std::make_unique<Buffer>(std::cout)), err_(std::make_unique<Buffer>(std::cerr)) {}
VisibleOutput::~VisibleOutput() = default;

}  // namespace subcrop::cli
