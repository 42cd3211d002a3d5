// SPDX-License-Identifier: GPL-3.0-or-later
#include "recording/internal/mpeg_decoder.hpp"

#include "error.hpp"

#include <mpg123.h>

#include <array>
#include <cstdio>
#include <memory>

namespace lull {
namespace {

struct Place {
    const ReadAt* read;
    std::int64_t size = 0, at = 0;
};

ssize_t read_place(void* handle, void* into, size_t count) {
    auto* place = static_cast<Place*>(handle);
    const std::size_t got = (*place->read)(place->at, {static_cast<unsigned char*>(into), count});
    place->at += static_cast<std::int64_t>(got);
    return static_cast<ssize_t>(got);
}

off_t seek_place(void* handle, off_t offset, int whence) {
    auto* place = static_cast<Place*>(handle);
    const std::int64_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? place->at : place->size;
    std::int64_t at = 0;
    if (__builtin_add_overflow(base, std::int64_t{offset}, &at) || at < 0) return -1;
    place->at = at;
    return place->at;
}

struct Delete {
    void operator()(mpg123_handle* decoder) const { mpg123_delete(decoder); }
};

/// A decoder that gives all frames as floats and writes nothing to the terminal.
std::unique_ptr<mpg123_handle, Delete> opened(Place& place) {
    std::unique_ptr<mpg123_handle, Delete> decoder(mpg123_new(nullptr, nullptr));
    const bool open =
        decoder &&
        mpg123_param(decoder.get(), MPG123_ADD_FLAGS,
                     MPG123_QUIET | MPG123_FORCE_FLOAT | MPG123_IGNORE_INFOFRAME,
                     0.0) == MPG123_OK &&
        mpg123_param(decoder.get(), MPG123_REMOVE_FLAGS, MPG123_GAPLESS | MPG123_AUTO_RESAMPLE,
                     0.0) == MPG123_OK &&
        mpg123_replace_reader_handle(decoder.get(), read_place, seek_place, nullptr) == MPG123_OK &&
        mpg123_open_handle(decoder.get(), &place) == MPG123_OK;
    if (!open) decoder.reset();
    return decoder;
}

std::string comment_of(mpg123_handle* decoder) {
    mpg123_id3v1* first = nullptr;
    mpg123_id3v2* second = nullptr;
    if (mpg123_id3(decoder, &first, &second) != MPG123_OK) return {};
    if (second != nullptr && second->comment != nullptr && second->comment->fill > 0)
        return second->comment->p;
    return first == nullptr ? std::string() : std::string(first->comment, sizeof first->comment);
}

bool read_sound(mpg123_handle* decoder, MpegSound& sound) {
    long rate_hz = 0;
    int encoding = 0;
    mpg123_frameinfo frame{};
    if (mpg123_getformat(decoder, &rate_hz, &sound.tracks, &encoding) != MPG123_OK ||
        encoding != MPG123_ENC_FLOAT_32 || mpg123_info(decoder, &frame) != MPG123_OK)
        return false;
    sound.rate_hz = static_cast<double>(rate_hz);
    sound.layer = frame.layer;
    return true;
}

} // namespace

MpegSound decode_mpeg(const std::string& path, const ReadAt& read, std::int64_t bytes,
                      const TakeSound& take) {
    Place place{&read, bytes, 0};
    const auto decoder = opened(place);
    MpegSound sound;
    if (!decoder || !read_sound(decoder.get(), sound))
        throw_input(path, "", "cannot be read as MPEG audio", "give a whole audio file");
    sound.comment = comment_of(decoder.get());
    alignas(float) std::array<unsigned char, 1 << 15> buffer{};
    for (int status = MPG123_OK; status == MPG123_OK;) {
        std::size_t got = 0;
        status = mpg123_read(decoder.get(), buffer.data(), buffer.size(), &got);
        take(sound, {reinterpret_cast<const float*>(buffer.data()), got / sizeof(float)});
    }
    return sound;
}

} // namespace lull
