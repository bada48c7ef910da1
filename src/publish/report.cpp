#include "subcrop/publish/report.hpp"

#include <ostream>

#include "io/pending_file.hpp"
#include "publish/report_page.hpp"

namespace subcrop::publish {

std::string safe_in_script(const std::string& json) {
    std::string safe;
    safe.reserve(json.size());
    for (std::size_t i = 0; i < json.size(); ++i) {
        const char c = json[i];
        // U+2028 and U+2029 are E2 80 A8 and E2 80 A9 in UTF-8: line ends to older readers of script.
        const bool separator = c == '\xE2' && json.compare(i, 2, "\xE2\x80") == 0 && i + 2 < json.size() &&
                               (json[i + 2] == '\xA8' || json[i + 2] == '\xA9');
        if (separator) {
            safe += json[i + 2] == '\xA8' ? "\\u2028" : "\\u2029";
            i += 2;
        } else if (c == '<') {
            safe += "\\u003c";
        } else if (c == '>') {
            safe += "\\u003e";
        } else if (c == '&') {
            safe += "\\u0026";
        } else {
            safe += c;
        }
    }
    return safe;
}

void write_report(const std::filesystem::path& target, const Results& results, unsigned threads) {
    io::PendingFiles alone;
    write_report(target, results, threads, alone);
    alone.put_in_place();
}

void write_report(const std::filesystem::path& target, const Results& results, unsigned threads,
                  io::PendingFiles& together) {
    const std::string data = safe_in_script(report_data(results, threads));
    together.write(target, [&](std::ostream& out) { out << page_before_data() << data << page_after_data(); });
}

}  // namespace subcrop::publish
