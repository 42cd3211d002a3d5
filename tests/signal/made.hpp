// SPDX-License-Identifier: GPL-3.0-or-later
//
// Blocks for the tests of signal/.
#pragma once

#include "recording/recording.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>
#include <numbers>
#include <numeric>
#include <random>
#include <string>
#include <vector>

namespace lull::test {

/// A block of `channels` channels, sample n of channel c given by value(c, n).
inline Block made(int channels, Frame frames, const std::function<double(int, Frame)>& value) {
    Block block;
    block.channels = channels;
    block.frames = frames;
    block.samples.resize(static_cast<std::size_t>(channels * frames));
    for (int c = 0; c < channels; ++c)
        for (Frame n = 0; n < frames; ++n)
            block.channel(c)[static_cast<std::size_t>(n)] = static_cast<float>(value(c, n));
    return block;
}

inline Block white(int channels, Frame frames, unsigned seed, double sigma = 0.1) {
    std::mt19937 generator(seed);
    std::normal_distribution<double> normal(0.0, sigma);
    return made(channels, frames, [&](int, Frame) { return normal(generator); });
}

/// Frames [from, from + count) of some channels.
inline Block part(const Block& whole, Frame from, Frame count, const std::vector<int>& channels) {
    Block block = made(static_cast<int>(channels.size()), count, [&](int c, Frame n) {
        return whole.channel(
            channels[static_cast<std::size_t>(c)])[static_cast<std::size_t>(from + n)];
    });
    block.first = whole.first + from;
    return block;
}

/// Cuts a block into parts of random lengths, very short to long, and passes each on.
inline void in_pieces(const Block& whole, const std::vector<int>& channels, unsigned seed,
                      const std::function<void(Block&)>& hand_on) {
    std::mt19937 generator(seed);
    std::uniform_real_distribution<double> exponent(0.0, std::log(3000.0));
    for (Frame at = 0; at < whole.frames;) {
        const auto wanted = static_cast<Frame>(std::exp(exponent(generator)));
        Block piece = part(whole, at, std::min(wanted, whole.frames - at), channels);
        hand_on(piece);
        at += piece.frames;
    }
}

/// Whether two spans hold the same bytes (so that two NaN agree, and 0 and -0 do not).
template <class A, class B>
bool same_bytes(const A& a, const B& b) {
    return a.size() == b.size() &&
           std::memcmp(a.data(), b.data(), a.size() * sizeof(*a.data())) == 0;
}

/// A reference file, or null when it is missing.
inline nlohmann::json reference(const std::string& name) {
    std::ifstream file(std::string(LULL_TEST_DATA) + "/" + name);
    return file ? nlohmann::json::parse(file) : nlohmann::json();
}

} // namespace lull::test
