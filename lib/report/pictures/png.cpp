// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/png.hpp"

#include "error.hpp"

#include <png.h>
#include <zlib.h>

#include <csetjmp>

namespace lull {
namespace {

void append(png_structp png, png_bytep bytes, png_size_t count) {
    static_cast<std::string*>(png_get_io_ptr(png))
        ->append(reinterpret_cast<const char*>(bytes), count);
}

/// Replaces libpng's own handlers, which print.
[[noreturn]] void fail(png_structp png, png_const_charp) {
    png_longjmp(png, 1);
}
void warn(png_structp, png_const_charp) {}

/// Holds nothing with a destructor, since libpng leaves it by longjmp. \return whether it succeeded
bool write_grey(png_structp png, png_infop info, const GreyImage& image, std::string& bytes) {
    if (setjmp(png_jmpbuf(png))) return false;
    png_set_write_fn(png, &bytes, append, nullptr);
    png_set_IHDR(png, info, static_cast<png_uint_32>(image.width),
                 static_cast<png_uint_32>(image.height), 8, PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE,
                 PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    // Spectrograms have few repetitions. Searching only for runs takes half the time and gives a
    // smaller file.
    png_set_filter(png, PNG_FILTER_TYPE_BASE, PNG_FILTER_NONE);
    png_set_compression_strategy(png, Z_RLE);
    png_write_info(png, info);
    for (int row = 0; row < image.height; ++row)
        png_write_row(png, &image.pixels[static_cast<std::size_t>(row * image.width)]);
    png_write_end(png, nullptr);
    return true;
}

} // namespace

std::string to_png(const GreyImage& image) {
    std::string bytes;
    constexpr std::size_t of_chunks = 1024;
    // Allocated here, since no exception may pass through libpng.
    bytes.reserve(of_chunks +
                  compressBound(image.pixels.size() + static_cast<std::size_t>(image.height)));
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, fail, warn);
    png_infop info = png != nullptr ? png_create_info_struct(png) : nullptr;
    const bool made = info != nullptr && write_grey(png, info, image, bytes);
    png_destroy_write_struct(&png, &info);
    if (!made) throw_output("", "a picture cannot be made", "");
    bytes.shrink_to_fit();
    return bytes;
}

std::string to_base64(const std::string& bytes) {
    constexpr const char* digits =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string text((bytes.size() + 2) / 3 * 4, '=');
    char* out = text.data();
    const auto* in = reinterpret_cast<const unsigned char*>(bytes.data());
    std::size_t left = bytes.size();
    for (; left >= 3; left -= 3, in += 3) {
        const unsigned group = unsigned{in[0]} << 16U | unsigned{in[1]} << 8U | in[2];
        *out++ = digits[group >> 18U];
        *out++ = digits[group >> 12U & 63U];
        *out++ = digits[group >> 6U & 63U];
        *out++ = digits[group & 63U];
    }
    if (left == 0) return text;
    const unsigned group = unsigned{in[0]} << 16U | (left == 2 ? unsigned{in[1]} << 8U : 0U);
    *out++ = digits[group >> 18U];
    *out++ = digits[group >> 12U & 63U];
    if (left == 2) *out = digits[group >> 6U & 63U];
    return text;
}

} // namespace lull
