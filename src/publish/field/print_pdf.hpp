// A page printed to PDF by headless Chromium, where that is installed.
#pragma once

#include <chrono>
#include <optional>
#include <string>

namespace subcrop::publish {

struct PrintedPage {
    std::optional<std::string> bytes;  ///< the PDF, without the time of printing
    std::string why_not;               ///< a sentence where there is none
};

/// Never throws for a browser that is missing or fails.
PrintedPage print_to_pdf(const std::string& html, std::chrono::seconds patience = std::chrono::seconds(60));

}  // namespace subcrop::publish
