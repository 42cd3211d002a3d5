// SPDX-License-Identifier: GPL-3.0-or-later
#include "conformance.hpp"
#include "signal/butterworth.hpp"
#include "signal/section_filter.hpp"

#include "made.hpp"

namespace lull {
namespace {

constexpr double full_scale_tolerance = 1e-6; ///< issue: streaming equals the whole to 1e-6

Sections design(const nlohmann::json& one, double rate_hz) {
    const auto kind = one.at("kind").get<std::string>();
    const auto edges = one.at("edges").get<std::vector<double>>();
    const int order = one.at("order").get<int>();
    if (kind == "bandpass") return butterworth_bandpass(order, {edges[0], edges[1]}, rate_hz);
    return kind == "lowpass" ? butterworth_lowpass(order, edges[0], rate_hz)
                             : butterworth_highpass(order, edges[0], rate_hz);
}

double largest_difference(std::span<const float> got, const std::vector<double>& expected) {
    double worst = got.size() == expected.size() ? 0.0 : 1e9;
    for (std::size_t i = 0; i < std::min(got.size(), expected.size()); ++i)
        worst = std::max(worst, std::abs(static_cast<double>(got[i]) - expected[i]));
    return worst;
}

TEST(SectionFilter, PrimedStreamEqualsTheReference) {
    const nlohmann::json data = test::reference("streams.json");
    if (data.is_null()) GTEST_SKIP() << "tests/signal/data/streams.json is missing";
    const auto samples = data.at("samples").get<std::vector<float>>();
    double forward = 0.0, both = 0.0;
    for (const auto& one : data.at("filtered")) {
        const Sections sections = design(one, data.at("rate").get<double>());
        SectionFilter filter(sections, 1);
        filter.prime(samples.front());
        std::vector<float> heard = samples;
        for (std::size_t at = 0; at < heard.size(); at += 77)
            filter.push(std::span(heard).subspan(at, std::min<std::size_t>(77, heard.size() - at)));
        forward = std::max(forward,
                           largest_difference(heard, one.at("forward").get<std::vector<double>>()));
        both = std::max(both, largest_difference(zero_phase(sections, samples,
                                                            one.at("padding").get<std::size_t>()),
                                                 one.at("both").get<std::vector<double>>()));
    }
    const std::string scipy = "SciPy " + data.at("scipy").get<std::string>();
    check_conformance({"primed sections, block by block: largest difference of a sample",
                       scipy + " sosfilt, sosfilt_zi", "scripts/reference/signal_reference.py", 0.0,
                       forward, full_scale_tolerance, "of full scale"});
    check_conformance({"zero phase, forward and backward: largest difference of a sample",
                       scipy + " sosfiltfilt", "scripts/reference/signal_reference.py", 0.0, both,
                       full_scale_tolerance, "of full scale"});
}

TEST(SectionFilter, ConstantPassesWithoutATransient) {
    Block block = test::made(3, 500, [](int c, Frame) { return 0.2 * (c + 1); });
    SectionFilter filter(butterworth_bandpass(4, {60.0, 2000.0}, 16000.0), 3);
    filter.prime(block);
    filter.push(block);
    for (const float x : block.samples)
        EXPECT_LT(std::fabs(x), 1e-6F);
}

TEST(SectionFilter, SameBytesForAnyBlocksAndChannels) {
    // Noise, then silence long enough for the state to decay, then noise. The bytes of the decay
    // count too.
    const unsigned seed = 7;
    SCOPED_TRACE(testing::Message() << "seed " << seed);
    Block whole = test::white(11, 30000, seed);
    for (int c = 0; c < whole.channels; ++c)
        std::ranges::fill(whole.channel(c).subspan(5000, 22000), 0.0F);
    const Sections sections = butterworth_bandpass(5, {60.0, 2000.0}, 16000.0);
    Block filtered = whole;
    SectionFilter all(sections, whole.channels);
    all.prime(whole);
    all.push(filtered);
    for (const std::vector<int>& channels :
         {std::vector<int>{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, {10, 3}, {9}}) {
        SectionFilter some(sections, static_cast<int>(channels.size()));
        some.prime(test::part(whole, 0, 1, channels));
        std::vector<std::vector<float>> got(channels.size());
        test::in_pieces(whole, channels, seed, [&](Block& piece) {
            some.push(piece);
            for (int c = 0; c < piece.channels; ++c) {
                auto& one = got[static_cast<std::size_t>(c)];
                one.insert(one.end(), piece.channel(c).begin(), piece.channel(c).end());
            }
        });
        for (std::size_t c = 0; c < channels.size(); ++c)
            EXPECT_TRUE(test::same_bytes(got[c], filtered.channel(channels[c])))
                << "channel " << channels[c];
    }
}

TEST(SectionFilter, SilenceEndsInExactZeros) {
    std::vector<float> samples(60000);
    samples[0] = 1.0F;
    SectionFilter(butterworth_bandpass(4, {60.0, 2000.0}, 16000.0), 1).push(samples);
    EXPECT_EQ(samples.back(), 0.0F);
}

TEST(ZeroPhase, DelaysNothingAndDoublesTheAttenuation) {
    constexpr double rate_hz = 16000.0;
    const Sections sections = butterworth_bandpass(2, {200.0, 1000.0}, rate_hz);
    for (const double frequency_hz : {150.0, 200.0, 500.0, 1400.0}) {
        const double omega = 2.0 * std::numbers::pi * frequency_hz / rate_hz;
        std::vector<float> samples(8000);
        for (std::size_t n = 0; n < samples.size(); ++n)
            samples[n] = static_cast<float>(std::sin(omega * static_cast<double>(n)));
        const std::vector<float> got = zero_phase(sections, samples, 1000);
        const double gain = std::norm(response(sections, frequency_hz, rate_hz));
        for (std::size_t n = 3000; n < 5000; ++n)
            ASSERT_NEAR(got[n], gain * samples[n], 1e-5) << frequency_hz << " Hz, sample " << n;
    }
}

TEST(ZeroPhase, ShortStretches) {
    const Sections sections = butterworth_bandpass(4, {60.0, 2000.0}, 16000.0);
    EXPECT_TRUE(zero_phase(sections, {}, 100).empty());
    EXPECT_EQ(zero_phase(sections, std::vector<float>{0.5F}, 100).size(), 1U);
    EXPECT_EQ(zero_phase(sections, std::vector<float>{0.5F, 0.1F, 0.2F}, 100).size(), 3U);
}

} // namespace
} // namespace lull
