#include "subcrop/core/text.hpp"

namespace subcrop {

const std::string& Text::empty_string() {
    static const std::string empty;
    return empty;
}

Text TextPool::intern(std::string_view text) {
    if (text.empty()) return {};
    if (const auto found = held_->index.find(text); found != held_->index.end()) return Text(found->second);
    const std::string& kept = held_->texts.emplace_back(text);
    held_->index.emplace(kept, &kept);
    return Text(&kept);
}

}  // namespace subcrop
