#include "publish/field/qr_code.hpp"

#ifdef SUBCROP_WITH_QRENCODE
#include <qrencode.h>
#endif

#include <cstdio>
#include <memory>

#include "publish/xml_text.hpp"

namespace subcrop::publish {

std::string geo_uri(Point degrees) {
    const auto written = [](double value) {
        char text[32];
        std::snprintf(text, sizeof text, "%.6f", value);
        return std::string(text) == "-0.000000" ? std::string("0.000000") : std::string(text);
    };
    return "geo:" + written(degrees.y) + ',' + written(degrees.x);
}

#ifdef SUBCROP_WITH_QRENCODE

std::string qr_code(const std::string& content, double side_mm) {
    constexpr int margin = 4;
    const std::unique_ptr<QRcode, decltype(&QRcode_free)> code(
        QRcode_encodeString8bit(content.c_str(), 0, QR_ECLEVEL_M), &QRcode_free);
    if (!code) return {};  // longer than a code can be
    const int width = code->width;
    std::string path;
    for (int y = 0; y < width; ++y) {
        for (int x = 0; x < width;) {
            int end = x;
            while (end < width && (code->data[y * width + end] & 1) != 0) ++end;
            const std::string run = std::to_string(end - x);
            if (end > x)
                path += 'M' + std::to_string(x + margin) + ' ' + std::to_string(y + margin) + 'h' + run + "v1h-" + run +
                        'z';
            x = end + 1;
        }
    }
    char side[32];
    std::snprintf(side, sizeof side, "%.2f", side_mm * (width + 2 * margin) / width);
    const std::string modules = std::to_string(width + 2 * margin);
    return std::string("<svg class=\"code\" width=\"") + side + "mm\" height=\"" + side + "mm\" viewBox=\"0 0 " +
           modules + ' ' + modules + "\" role=\"img\" aria-label=\"QR code of " + escaped(content) +
           "\"><path shape-rendering=\"crispEdges\" d=\"" + path + "\"/></svg>";
}

#else

std::string qr_code(const std::string&, double) { return {}; }

#endif

}  // namespace subcrop::publish
