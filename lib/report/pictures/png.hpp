// SPDX-License-Identifier: GPL-3.0-or-later
//
// Grey pictures as PNG.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lull {

/// Row by row from the top; 0 is black, 255 white.
struct GreyImage {
    int width = 0, height = 0;
    std::vector<std::uint8_t> pixels; ///< width * height
};

/// The bytes of a PNG file (ISO/IEC 15948), grey, 8 bit. \throws Error(output) when libpng fails
[[nodiscard]] std::string to_png(const GreyImage& image);

/// RFC 4648 base 64, for data URIs.
[[nodiscard]] std::string to_base64(const std::string& bytes);

} // namespace lull
