// SPDX-License-Identifier: GPL-3.0-or-later
#include "conformance.hpp"
#include "signal/a_weighting.hpp"
#include "signal/third_octave.hpp"

#include "made.hpp"

#include <fmt/format.h>
#include <limits>
#include <map>

namespace lull {
namespace {

const double octave_ratio = std::pow(10.0, 0.3); ///< G of IEC 61260-1:2014, clause 5.2

/// Exponents of octave bands become frequencies of third-octave bands [IEC 61260-1:2014, 5.10.3].
double break_point(double exponent) {
    const double octave = std::pow(octave_ratio, std::abs(exponent));
    const double third = 1.0 + (std::pow(octave_ratio, 1.0 / 6.0) - 1.0) /
                                   (std::sqrt(octave_ratio) - 1.0) * (octave - 1.0);
    return exponent < 0.0 ? 1.0 / third : third;
}

struct Limits {
    double least_db, most_db;
};

/// Class 1 limits of relative attenuation at a frequency over mid-band, linear between the break
/// points in logarithmic frequency [IEC 61260-1:2014, Table 1 and 5.10.4].
Limits class_1_limits(double ratio) {
    constexpr double none = std::numeric_limits<double>::infinity();
    struct Point {
        double exponent, least_db, most_db;
    };
    static constexpr Point inside[] = {{0.0, -0.4, 0.4},
                                       {0.125, -0.4, 0.5},
                                       {0.25, -0.4, 0.7},
                                       {0.375, -0.4, 1.4},
                                       {0.5, -0.4, 5.3}};
    static constexpr Point outside[] = {{0.5, 1.2, none},
                                        {1.0, 16.6, none},
                                        {2.0, 40.5, none},
                                        {3.0, 60.0, none},
                                        {4.0, 70.0, none}};
    const double at = std::abs(std::log(ratio));
    const bool within = at < std::log(break_point(0.5));
    const std::span<const Point> points = within ? std::span<const Point>(inside) : outside;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
        const double low = std::log(break_point(points[i].exponent));
        const double high = std::log(break_point(points[i + 1].exponent));
        if (at > high) continue;
        const double share = (at - low) / (high - low);
        const auto between = [share](double a, double b) { return a + share * (b - a); };
        return {between(points[i].least_db, points[i + 1].least_db),
                within ? between(points[i].most_db, points[i + 1].most_db) : none};
    }
    return {points.back().least_db, points.back().most_db};
}

/// Tones below half the rate at every break point of every band, and some between.
std::vector<double> tones_for(double rate_hz) {
    std::vector<double> tones;
    for (const double mid_hz : third_octave_centres(25.0, 0.4 * rate_hz)) {
        if (mid_hz > 0.4 * rate_hz) continue;
        for (const double exponent : {0.0, 0.125, 0.25, 0.375, 0.4999, 0.5001, 0.65, 0.8, 1.0})
            for (const double sign : {-1.0, 1.0})
                tones.push_back(mid_hz * break_point(sign * exponent));
    }
    for (double low_hz = 5.0; low_hz < 22.0; low_hz *= 1.3)
        tones.push_back(low_hz);
    for (const double share : {0.42, 0.45, 0.48, 0.495})
        tones.push_back(share * rate_hz);
    std::erase_if(tones, [rate_hz](double tone) { return tone > 0.497 * rate_hz; });
    std::ranges::sort(tones);
    return tones;
}

/// Attenuation in dB of each band for up to eight tones, one a channel. Tones are faded in over
/// half a second and measured over the last of three seconds.
std::vector<std::vector<double>> drive(std::span<const double> tones, double rate_hz) {
    const int channels = static_cast<int>(tones.size());
    ThirdOctaveBank bank(channels, rate_hz, 0);
    const auto frames = static_cast<Frame>(3.0 * rate_hz);
    std::vector<double> phase(tones.size());
    for (Frame at = 0; at < frames; at += 4096) {
        Block block = test::made(channels, std::min<Frame>(4096, frames - at), [&](int c, Frame n) {
            const double t = static_cast<double>(at + n) / rate_hz;
            const double fade = t < 0.5 ? 0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * t) : 1.0;
            double& now = phase[static_cast<std::size_t>(c)];
            now += tones[static_cast<std::size_t>(c)] / rate_hz;
            now -= std::floor(now);
            return fade * std::sin(2.0 * std::numbers::pi * now);
        });
        bank.push(block);
    }
    std::vector<std::vector<double>> attenuation_db;
    for (const BandTrack& track : bank.take()) {
        attenuation_db.emplace_back();
        for (const auto& power : track.power) {
            // Averages over a Hann window of steps: the ripple of a tone's square cancels.
            const std::size_t steps = power.size() / 3, first = power.size() - steps;
            double sum = 0.0, weights = 0.0;
            for (std::size_t i = 0; i < steps; ++i) {
                const double weight =
                    1.0 - std::cos(2.0 * std::numbers::pi * (static_cast<double>(i) + 0.5) /
                                   static_cast<double>(steps));
                sum += weight * static_cast<double>(power[first + i]);
                weights += weight;
            }
            attenuation_db.back().push_back(-10.0 * std::log10(2.0 * sum / weights + 1e-20));
        }
    }
    return attenuation_db;
}

/// The smallest margin of one band.
struct Margin {
    double margin_db = std::numeric_limits<double>::infinity();
    double share = 0.0; ///< used share of the tolerance, 1 at a limit
    double tone_hz = 0.0, rate_hz = 0.0;
};

/// Share of the tolerance: of half the width between two limits, or of the attenuation.
Margin margin_of(double attenuation_db, double tone_hz, double mid_hz, double rate_hz) {
    const Limits limits = class_1_limits(tone_hz / mid_hz);
    Margin margin{std::min(attenuation_db - limits.least_db, limits.most_db - attenuation_db), 0.0,
                  tone_hz, rate_hz};
    if (std::isfinite(limits.most_db)) {
        const double middle = 0.5 * (limits.least_db + limits.most_db);
        margin.share =
            std::abs(attenuation_db - middle) / (0.5 * (limits.most_db - limits.least_db));
    } else {
        margin.share = limits.least_db / std::max(attenuation_db, 1e-9);
    }
    return margin;
}

TEST(ThirdOctaveBank, Class1LimitsOfRelativeAttenuation) {
    std::map<long, Margin> tightest; // by mid-band in thousandths of a hertz
    for (const double rate_hz : {8000.0, 16000.0, 44100.0, 48000.0}) {
        const std::vector<double> tones = tones_for(rate_hz);
        for (std::size_t first = 0; first < tones.size(); first += 8) {
            const auto some =
                std::span(tones).subspan(first, std::min<std::size_t>(8, tones.size() - first));
            const auto attenuation_db = drive(some, rate_hz);
            const std::vector<double> mids = third_octave_centres(25.0, 0.4 * rate_hz);
            for (std::size_t t = 0; t < some.size(); ++t)
                for (std::size_t b = 0; b < attenuation_db[t].size(); ++b) {
                    const Margin margin =
                        margin_of(attenuation_db[t][b], some[t], mids[b], rate_hz);
                    Margin& least = tightest[std::lround(1000.0 * mids[b])];
                    if (!(margin.share <= least.share)) least = margin; // also one that is NaN
                }
        }
    }
    ASSERT_EQ(tightest.size(), 29U); // 25 Hz to 16 kHz
    for (const auto& [mid, margin] : tightest) {
        EXPECT_GT(margin.margin_db, 0.0);
        check_conformance({fmt::format("third octave {:.1f} Hz, 8, 16, 44.1, 48 kHz: share used of "
                                       "the class 1 limits",
                                       static_cast<double>(mid) / 1000.0),
                           "IEC 61260-1:2014",
                           fmt::format("Table 1; margin {:.2f} dB for {:.0f} Hz at {:g} kHz",
                                       margin.margin_db, margin.tone_hz, margin.rate_hz / 1000.0),
                           0.0, margin.share, 1.0, ""});
    }
}

TEST(ThirdOctave, MidBandsAndEdges) {
    const std::vector<double> mids = third_octave_centres(25.0, 16000.0);
    const std::map<int, std::array<double, 3>> expected{{-16, {22.387, 25.119, 28.184}},
                                                        {-10, {89.125, 100.000, 112.202}},
                                                        {-6, {223.872, 251.189, 281.838}},
                                                        {0, {891.251, 1000.000, 1122.018}},
                                                        {6, {3548.134, 3981.072, 4466.836}}};
    for (const auto& [x, band] : expected) {
        const double mid_hz = mids.at(static_cast<std::size_t>(x + 16));
        check_conformance({fmt::format("third octave x = {}: mid-band frequency", x),
                           "IEC 61260-1:2014", "5.4, base ten", band[1], mid_hz, 5e-4, "Hz"});
        EXPECT_NEAR(mid_hz * std::pow(octave_ratio, -1.0 / 6.0), band[0], 6e-4);
        EXPECT_NEAR(mid_hz * std::pow(octave_ratio, 1.0 / 6.0), band[2], 6e-4);
    }
}

/// A click has the same energy at every frequency, so the energy that passes a band is its
/// effective bandwidth [class 1: within 0.4 dB of the nominal one, IEC 61260-1:2014, 5.12].
TEST(ThirdOctaveBank, EffectiveBandwidth) {
    constexpr double class_1_db = 0.4;
    for (const double rate_hz : {8000.0, 16000.0, 44100.0, 48000.0})
        for (const Frame offset : {0, 1, 37}) {
            const auto frames = static_cast<Frame>(6.0 * rate_hz);
            const Frame click = frames / 2 + offset;
            ThirdOctaveBank bank(1, rate_hz, 0);
            bank.push(test::made(1, frames, [&](int, Frame n) { return n == click ? 1.0 : 0.0; }));
            const BandTrack track = bank.take()[0];
            for (std::size_t b = 0; b < track.mid_hz.size(); ++b) {
                double energy = 0.0;
                for (const float power : track.power[b])
                    if (power > 0.0F)
                        energy += static_cast<double>(power) * static_cast<double>(track.hop);
                const double nominal_hz =
                    track.mid_hz[b] * (std::pow(10.0, 0.05) - std::pow(10.0, -0.05));
                EXPECT_NEAR(10.0 * std::log10(energy / (2.0 * nominal_hz / rate_hz)), 0.0,
                            class_1_db)
                    << track.mid_hz[b] << " Hz at " << rate_hz << " Hz, offset " << offset;
            }
        }
}

TEST(ThirdOctaveBank, RecordBeginsWithoutATransient) {
    // A constant has no sound in any band, from the first step on.
    ThirdOctaveBank bank(2, 16000.0, 777);
    bank.push(test::made(2, 32000, [](int c, Frame) { return 0.4 - c; }));
    for (const BandTrack& track : bank.take())
        for (const auto& power : track.power)
            for (const float value : power)
                EXPECT_TRUE(std::isnan(value) || value < 1e-12F) << value;
    // Steady noise: no reported step exceeds the scatter of the others.
    const unsigned seed = 31;
    SCOPED_TRACE(testing::Message() << "seed " << seed);
    ThirdOctaveBank noisy(1, 16000.0, 0);
    noisy.push(test::white(1, 20 * 16000, seed));
    const BandTrack track = noisy.take()[0];
    for (std::size_t b = 0; b < track.mid_hz.size(); ++b) {
        const auto& power = track.power[b];
        const auto told = std::ranges::find_if(power, [](float p) { return !std::isnan(p); });
        ASSERT_LT(told - power.begin(), 8) << track.mid_hz[b]; // under 0.8 s
        double sum = 0.0;
        for (auto p = told; p != power.end(); ++p)
            sum += static_cast<double>(*p);
        const double mean = sum / static_cast<double>(power.end() - told);
        // Degrees of freedom 2BT of one step; six times the spread of the decibels of chi-square.
        const double freedom = 2.0 * 0.23 * track.mid_hz[b] * 0.1;
        EXPECT_LT(10.0 * std::log10(static_cast<double>(*told) / mean),
                  6.0 * 6.14 / std::sqrt(freedom))
            << track.mid_hz[b];
    }
}

TEST(ThirdOctaveBank, SameBytesForAnyBlocksAndChannels) {
    for (const double rate_hz : {8000.0, 11025.0, 48000.0}) {
        const unsigned seed = 37;
        SCOPED_TRACE(testing::Message() << "seed " << seed << ", rate " << rate_hz);
        Block whole = test::white(9, 40000, seed);
        for (int c = 0; c < whole.channels; ++c) // decaying states count too
            std::ranges::fill(whole.channel(c).subspan(9000, 20000), 0.0F);
        whole.first = 4321;
        ThirdOctaveBank at_once(9, rate_hz, whole.first), in_pieces(2, rate_hz, whole.first);
        at_once.push(whole);
        test::in_pieces(whole, {8, 2}, seed, [&](Block& piece) { in_pieces.push(piece); });
        const auto expected = at_once.take(), got = in_pieces.take();
        for (std::size_t b = 0; b < expected[8].power.size(); ++b) {
            ASSERT_FALSE(expected[8].power[b].empty());
            EXPECT_TRUE(test::same_bytes(got[0].power[b], expected[8].power[b]));
            EXPECT_TRUE(test::same_bytes(got[1].power[b], expected[2].power[b]));
        }
    }
}

TEST(ThirdOctaveBank, LowAndHighRates) {
    for (const double rate_hz : {4000.0, 96000.0, 192000.0}) {
        ThirdOctaveBank bank(1, rate_hz, 0);
        const double tone_hz = third_octave_centres(25.0, 0.4 * rate_hz)[10];
        bank.push(test::made(1, static_cast<Frame>(2.0 * rate_hz), [&](int, Frame n) {
            return 0.5 *
                   std::sin(2.0 * std::numbers::pi * tone_hz * static_cast<double>(n) / rate_hz);
        }));
        const BandTrack track = bank.take()[0];
        EXPECT_LE(track.mid_hz.back(), 0.4 * rate_hz);
        EXPECT_GT(track.mid_hz.back() * std::pow(10.0, 0.1), 0.4 * rate_hz);
        EXPECT_NEAR(10.0 * std::log10(track.power[10].back() / 0.125), 0.0, 0.1) << rate_hz;
    }
}

/// Every row of the table, 10 Hz to 20 kHz, at the exact frequencies. The rows of the octaves were
/// checked against a second source; the others were written from memory.
TEST(AWeighting, EqualsTheTableOfTheStandard) {
    constexpr double printed[] = {-70.4, -63.4, -56.7, -50.5, -44.7, -39.4, -34.6, -30.2, -26.2,
                                  -22.5, -19.1, -16.1, -13.4, -10.9, -8.6,  -6.6,  -4.8,  -3.2,
                                  -1.9,  -0.8,  0.0,   0.6,   1.0,   1.2,   1.3,   1.2,   1.0,
                                  0.5,   -0.1,  -1.1,  -2.5,  -4.3,  -6.6,  -9.3};
    int x = -20; // of the mid-band 1000 * 10^(x/10)
    for (const double level : printed) {
        const double frequency_hz = 1000.0 * std::pow(10.0, x / 10.0);
        const bool octave = x % 3 == 0 && x >= -15 && x <= 9;
        check_conformance({fmt::format("A-weighting at {:.2f} Hz", frequency_hz),
                           "IEC 61672-1:2013",
                           octave ? "Table 3, to a tenth" : "Table 3, to a tenth, from memory",
                           level, a_weighting_db(frequency_hz), 0.05, "dB"});
        ++x;
    }
}

/// Weighting whole bands instead of the spectrum has a smaller error than the header states.
TEST(AWeighting, OfThirdOctavesOfSlopingNoise) {
    constexpr double claimed_db = 0.1;
    const std::vector<double> mids = third_octave_centres(25.0, 19953.0);
    for (const double slope_db_octave : {-6.0, -3.0, 0.0, 3.0, 6.0}) {
        std::vector<float> power;
        double weighted = 0.0;
        for (const double mid_hz : mids) {
            double band = 0.0;
            for (int i = 0; i < 200; ++i) {
                const double f = mid_hz * std::pow(10.0, (i + 0.5) / 2000.0 - 0.05);
                const double share = f * std::pow(f / 1000.0, slope_db_octave / 3.0103);
                band += share;
                weighted += share * db_to_power(a_weighting_db(f));
            }
            power.push_back(static_cast<float>(band));
        }
        EXPECT_NEAR(10.0 * std::log10(a_weighted_power(mids, power) / weighted), 0.0, claimed_db)
            << slope_db_octave << " dB an octave";
    }
}

} // namespace
} // namespace lull
