// Interned text. Field notes repeat a few hundred words over a million rows, so each distinct text is kept once.
// A `Text` is one pointer to it. Two Texts of one pool are equal exactly when their pointers are.
//
//     TextPool pool;
//     Text a = pool.intern("10YR 5/6"), b = pool.intern("10YR 5/6");  // a == b, one string stored
//     const std::string& written = a.str();                           // "10YR 5/6"
#pragma once

#include <cstddef>
#include <deque>
#include <functional>
#include <memory>
#include <memory_resource>
#include <string>
#include <string_view>
#include <unordered_map>

#include "subcrop/core/export.hpp"

SUBCROP_EXPORT_BEGIN
namespace subcrop {

/// A handle to a text owned by a TextPool, which must outlive it. A default Text is the empty text, meaning 'absent'.
class Text {
public:
    Text() = default;
    const std::string& str() const { return held_ ? *held_ : empty_string(); }
    bool empty() const { return held_ == nullptr; }
    friend bool operator==(Text a, Text b) { return a.held_ == b.held_; }
    const void* identity() const { return held_; }

private:
    friend class TextPool;
    explicit Text(const std::string* held) : held_(held) {}
    static const std::string& empty_string();
    const std::string* held_ = nullptr;
};

/// Owns the distinct texts of one survey. Not for concurrent interning.
class TextPool {
public:
    /// The empty text interns to the default Text.
    Text intern(std::string_view text);
    std::size_t size() const { return held_->texts.size(); }

private:
    // Texts have memory of their own. Otherwise fifty thousand small pieces would lie between the polygons that are
    // read meanwhile, and no large block would be free after these are gone.
    struct Held {
        std::pmr::monotonic_buffer_resource memory{std::size_t{1} << 16};
        std::pmr::deque<std::string> texts{&memory};  // a deque never moves its elements, so handles stay good
        std::pmr::unordered_map<std::string_view, const std::string*> index{&memory};
    };
    std::unique_ptr<Held> held_ = std::make_unique<Held>();
};

}  // namespace subcrop
SUBCROP_EXPORT_END

template <>
struct std::hash<subcrop::Text> {
    std::size_t operator()(subcrop::Text text) const noexcept { return std::hash<const void*>{}(text.identity()); }
};
