// A page printed to PDF by headless Chromium, if it is installed.
#pragma once

#include <chrono>
#include <optional>
#include <string>

namespace subcrop::publish {

struct PrintedPage {
    std::optional<std::string> bytes;  ///< the PDF, without the time of printing
    std::string why_not;               ///< a sentence if there is none
};

/// A missing or failing browser never throws. `what` is what people should print then: "the page".
PrintedPage print_to_pdf(const std::string& html, const std::string& what,
                         std::chrono::seconds patience = std::chrono::seconds(60));

}  // namespace subcrop::publish
