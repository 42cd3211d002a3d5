// SPDX-License-Identifier: GPL-3.0-or-later
//
// An audio file: what its header promises, what libsndfile reads from it, its samples at any
// position.
#include "fuzz.hpp"
#include "recording/header.hpp"

#include <algorithm>
#include <cstring>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
    using namespace lull;
    static_cast<void>(header_promise(
        [bytes, size](std::int64_t offset, std::span<unsigned char> into) -> std::size_t {
            if (offset < 0 || static_cast<std::size_t>(offset) >= size) return 0;
            const std::size_t count =
                std::min(into.size(), size - static_cast<std::size_t>(offset));
            std::memcpy(into.data(), bytes + offset, count);
            return count;
        },
        static_cast<std::int64_t>(size)));
    const test::BytesAsFile file(bytes, size);
    test::may_refuse([&] {
        const AudioInfo info = examine_audio("fuzz", file.handle);
        AudioFile audio("fuzz", file.handle, info);
        const Frame count = std::min<Frame>(info.frames, 64);
        std::vector<float> samples(static_cast<std::size_t>(std::max<Frame>(count, 1)));
        const std::vector<TrackTarget> targets{{info.tracks - 1, 1.0F, samples.data()}};
        audio.read(0, count, targets);
        audio.read(info.frames - count, count, targets);
    });
    return 0;
}
