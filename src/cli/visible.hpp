// Text of the data may hold characters that command a terminal or turn the line round. They are shown, not sent.
#pragma once

#include <memory>
#include <string>
#include <string_view>

namespace subcrop::cli {

/// The text with each control character, line end and mark of writing direction as "\u{1b}", and each byte that is no
/// UTF-8 as "\x{9b}".
std::string visible(std::string_view text);

/// JSON with these characters as escapes such as "\u009b". Parsed, it is the same.
std::string visible_in_json(const std::string& json);

/// While it lives, whatever goes to standard output and standard error passes through `visible`, line ends apart.
class VisibleOutput {
public:
    VisibleOutput();
    ~VisibleOutput();
    VisibleOutput(const VisibleOutput&) = delete;
    VisibleOutput& operator=(const VisibleOutput&) = delete;

private:
    class Buffer;
    std::unique_ptr<Buffer> out_, err_;
};

}  // namespace subcrop::cli
