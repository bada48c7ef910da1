#include "subcrop/core/text.hpp"

namespace subcrop {

const std::string& Text::empty_string() {
    static const std::string empty;
    return empty;
}

Text TextPool::intern(std::string_view text) {
    if (text.empty()) return {};
    if (const auto found = index_.find(text); found != index_.end()) return Text(found->second);
    const std::string& kept = texts_.emplace_back(text);
    index_.emplace(kept, &kept);
    return Text(&kept);
}

}  // namespace subcrop
