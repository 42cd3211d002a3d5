// SPDX-License-Identifier: GPL-3.0-or-later
//
// The files are read by libsndfile's decoder and by our own check of Ogg pages.
#include "recording/opus.hpp"

#include "recording/helpers.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numeric>

namespace lull::test {
namespace {

constexpr int bits_a_second = 22000;

std::vector<float> decoded(const std::string& file) {
    const Folder folder;
    std::ofstream(folder / "a.opus", std::ios::binary) << file;
    const auto recording = open_recording(folder / "a.opus", {});
    EXPECT_TRUE(recording->notices.empty());
    EXPECT_EQ(recording->rate_hz, opus_rate_hz);
    const Block block = read_all(*recording);
    const auto samples = block.channel(0);
    return {samples.begin(), samples.end()};
}

/// Sums of voices of 200 to 2,000 Hz.
std::vector<float> tones(std::size_t count) {
    std::vector<float> samples(count);
    for (std::size_t n = 0; n < count; ++n)
        for (const double hz : {220.0, 440.0, 1250.0, 1930.0})
            samples[n] += static_cast<float>(
                0.1 * std::sin(2.0 * M_PI * hz * static_cast<double>(n) / 8000.0));
    return samples;
}

double energy(std::span<const float> samples) {
    return std::inner_product(samples.begin(), samples.end(), samples.begin(), 0.0);
}

TEST(Opus, DecoderGivesAsManySamplesAsWentIn) {
    for (const std::size_t count : {1U, 159U, 160U, 161U, 8000U, 160080U})
        EXPECT_EQ(decoded(to_opus(tones(count), bits_a_second)).size(), count);
}

TEST(Opus, TheSameSamplesGiveTheSameBytes) {
    EXPECT_EQ(to_opus(tones(80000), bits_a_second), to_opus(tones(80000), bits_a_second));
}

TEST(Opus, SoundKeepsItsTimeAndWaveform) {
    const std::vector<float> samples = tones(16000);
    std::vector<float> error = decoded(to_opus(samples, bits_a_second));
    std::ranges::transform(error, samples, error.begin(), std::minus{});
    const double snr_db = 10.0 * std::log10(energy(samples) / energy(error));
    EXPECT_GT(snr_db, 10.0); // one sample late, these tones would give 1 dB
}

TEST(Opus, KnockHasNoEchoBeforeIt) {
    std::vector<float> samples(8000);
    constexpr std::size_t onset = 4090; // in the middle of a packet
    for (std::size_t n = onset; n < samples.size(); ++n) {
        const double time_s = static_cast<double>(n - onset) / 8000.0;
        samples[n] = static_cast<float>(0.5 * std::exp(-time_s / 0.01) *
                                        std::sin(2.0 * M_PI * 700.0 * time_s));
    }
    const std::vector<float> heard = decoded(to_opus(samples, bits_a_second));
    // Human ears hear nothing in the few milliseconds before a click (backward masking).
    const auto before = std::span(heard).first(onset - 40);
    EXPECT_LT(10.0 * std::log10(energy(before) / energy(samples)), -30.0);
}

TEST(Opus, BitRateIsTheRequestedOne) {
    std::vector<float> samples = noise(160000, 1, 5);
    const double bits = 8.0 * static_cast<double>(to_opus(samples, bits_a_second).size()) / 20.0;
    EXPECT_NEAR(bits, bits_a_second, 0.1 * bits_a_second);
}

} // namespace
} // namespace lull::test
