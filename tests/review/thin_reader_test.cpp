// SPDX-License-Identifier: GPL-3.0-or-later
#include "review/thin_reader.hpp"

#include "signal/butterworth.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace lull {
namespace {

constexpr double rate_hz = 16000.0;
constexpr Frame frames = 50000; // several of the pieces that are decoded at a time
constexpr int channels = 3;
constexpr unsigned seed = 7;

class Noise : public Stream {
  public:
    Noise() : samples_(static_cast<std::size_t>(frames * channels)) {
        std::mt19937 random(seed);
        std::normal_distribution<float> normal;
        std::ranges::generate(samples_, [&] { return normal(random); });
    }
    void read(Frame first, Frame count, Block& block) override {
        block.first = std::clamp<Frame>(first, 0, frames);
        block.frames = std::clamp<Frame>(first + count, block.first, frames) - block.first;
        block.channels = channels;
        block.samples.clear();
        for (int c = 0; c < channels; ++c) {
            const auto begin = samples_.begin() + c * frames + block.first;
            block.samples.insert(block.samples.end(), begin, begin + block.frames);
        }
    }

  private:
    std::vector<float> samples_;
};

const Sections band_pass = butterworth_bandpass(4, {60.0, 2000.0}, rate_hz);

/// Whatever is asked for, before the begin and after the end: what thinning the whole stretch at
/// once gives, 0 where there is nothing.
TEST(ThinReader, GivesWhatThinningTheWholeStretchGives) {
    for (const double rate : {rate_hz, 7000.0}) // which are not thinned
        for (const bool filtered : {false, true}) {
            Noise stream;
            StretchReader full(stream, filtered ? band_pass : Sections{}, rate);
            ThinReader reader(full, channels, rate);
            const auto factor = static_cast<Frame>(reader.thinner().factor());
            const auto before = static_cast<Frame>(reader.thinner().before());
            for (const auto& [first, count] : {std::pair<Frame, Frame>{0, 8192},
                                               {-500, 600},
                                               {-3, 1},
                                               {100, 0},
                                               {-2000, 100},
                                               {700, 11000},
                                               {12400, 500},
                                               {60000, 10},
                                               {-5000, 80000}}) {
                const Block thin = reader.read(first, count);
                ASSERT_EQ(thin.first, first);
                ASSERT_EQ(thin.frames, count);
                const Frame begin = first * factor - before,
                            end = begin + static_cast<Frame>(reader.thinner().wanted(
                                              static_cast<std::size_t>(count))),
                            from = std::max<Frame>(0, begin);
                const Block whole = full.read(from, std::max<Frame>(0, end - from));
                for (int c = 0; c < channels; ++c) {
                    std::vector<float> padded(static_cast<std::size_t>(end - begin)),
                        expected(static_cast<std::size_t>(count));
                    if (whole.frames > 0 && end > from)
                        std::ranges::copy(whole.channel(c), padded.begin() + (from - begin));
                    if (count > 0) reader.thinner().thin(padded, expected);
                    EXPECT_TRUE(std::ranges::equal(thin.channel(c), expected))
                        << rate << " Hz, " << count << " from " << first << " on channel " << c;
                }
            }
        }
}

} // namespace
} // namespace lull
