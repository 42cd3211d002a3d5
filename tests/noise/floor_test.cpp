// SPDX-License-Identifier: GPL-3.0-or-later
#include "noise/floor.hpp"

#include "conformance.hpp"
#include "signal/third_octave.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace lull {
namespace {

constexpr double rate_hz = 16000.0;
constexpr Frame hop = 64; // 4 ms
constexpr double hops_a_second = rate_hz / static_cast<double>(hop);

/// Largest error of the floor: ensemble-mean bias with a third of the time filled.
constexpr double bias_tolerance_db = 0.5;

/// Powers of Gaussian noise of mean 1: each is chi-square with 2*shape degrees of freedom.
std::vector<float> noise_powers(std::uint64_t seed, double length_s, double shape) {
    std::mt19937_64 random(seed);
    std::gamma_distribution<double> power(shape, 1.0 / shape);
    std::vector<float> powers(static_cast<std::size_t>(length_s * hops_a_second));
    for (float& p : powers)
        p = static_cast<float>(power(random));
    return powers;
}

/// Fills a share of the time with events of one length, `above_db` over the noise.
void add_events(std::vector<float>& powers, std::uint64_t seed, double share, double length_s,
                double above_db, double shape, double uneven_db = 0.0) {
    if (share <= 0.0) return;
    std::mt19937_64 random(seed + 5000);
    std::normal_distribution<double> normal;
    std::exponential_distribution<double> gap(1.0 / (length_s * (1.0 - share) / share));
    std::gamma_distribution<double> power(shape, db_to_power(above_db) / shape);
    const double end_s = static_cast<double>(powers.size()) / hops_a_second;
    for (double t = gap(random); t < end_s; t += length_s + gap(random)) {
        const auto begin = static_cast<std::size_t>(t * hops_a_second);
        const auto end =
            std::min(powers.size(), static_cast<std::size_t>((t + length_s) * hops_a_second));
        const double own_db = above_db + uneven_db * normal(random);
        power = std::gamma_distribution<double>(shape, db_to_power(own_db) / shape);
        for (std::size_t i = begin; i < end; ++i)
            powers[i] += static_cast<float>(power(random));
    }
}

double mean_db(const FloorTrack& floor) {
    double sum = 0.0;
    for (float p : floor.power)
        sum += 10.0 * std::log10(static_cast<double>(p));
    return sum / static_cast<double>(floor.power.size());
}

struct Ensemble {
    double share, length_s, above_db, shape;
};

double ensemble_bias_db(const Ensemble& e, int seeds) {
    double sum = 0.0;
    for (int seed = 1; seed <= seeds; ++seed) {
        const auto s = static_cast<std::uint64_t>(seed);
        std::vector<float> powers = noise_powers(s, 60.0, e.shape);
        add_events(powers, s, e.share, e.length_s, e.above_db, e.shape);
        sum += mean_db(noise_floor(powers, 0, hop, rate_hz));
    }
    return sum / seeds;
}

TEST(NoiseFloor, EnsembleBiasUnderEvents) {
    // shape 8: a band of 2 kHz; 1: of 250 Hz; 0.5: of 125 Hz, where 4 ms hold one degree of freedom
    for (double shape : {8.0, 1.0, 0.5})
        for (double length_s : {0.05, 0.4, 3.0})
            for (double above_db : {10.0, 20.0, 30.0}) {
                const double bias_db = ensemble_bias_db({1.0 / 3.0, length_s, above_db, shape}, 25);
                EXPECT_LE(std::fabs(bias_db), bias_tolerance_db)
                    << "shape " << shape << ", events of " << length_s << " s, " << above_db
                    << " dB";
            }
}

TEST(NoiseFloor, IsTheMeanOfNoiseAlone) {
    // Statistics of a periodogram: an exponential's median lies 1.592 dB under its mean, but the
    // floor does not.
    check_conformance({"floor of exponential powers, mean 1, nothing else",
                       "derived: exponential distribution", "mean, not median (-1.592 dB)", 0.0,
                       ensemble_bias_db({0.0, 1.0, 0.0, 1.0}, 200), 0.1, "dB"});
    check_conformance({"floor with a third of the time 20 dB higher for 3 s",
                       "derived: known mean of the noise", "200 seeds", 0.0,
                       ensemble_bias_db({1.0 / 3.0, 3.0, 20.0, 1.0}, 200), bias_tolerance_db,
                       "dB"});
}

TEST(NoiseFloor, FollowsALastingStepEitherWay) {
    for (double step_db : {10.0, -10.0})
        for (std::uint64_t seed = 1; seed <= 20; ++seed) {
            std::vector<float> powers = noise_powers(seed, 120.0, 2.0);
            for (std::size_t i = powers.size() / 2; i < powers.size(); ++i)
                powers[i] *= static_cast<float>(db_to_power(step_db));
            const FloorTrack floor = noise_floor(powers, 0, hop, rate_hz);
            for (std::size_t i = 0; i < floor.power.size(); ++i) {
                const double t =
                    static_cast<double>(floor.first + static_cast<Frame>(i) * floor.hop) / rate_hz;
                if (std::fabs(t - 60.0) < 10.0) continue;
                const double expected = t < 60.0 ? 0.0 : step_db;
                EXPECT_NEAR(10.0 * std::log10(static_cast<double>(floor.power[i])), expected, 1.0)
                    << "seed " << seed << " at " << t;
            }
        }
}

/// Third-octave tracks of noise of density 1e-6 a hertz, from the real filter bank at 2 kHz.
constexpr double bank_rate_hz = 2000.0;
struct Events {
    double share = 0.0, shortest_s = 0.3, longest_s = 3.0; ///< 20 dB over the noise
};
std::vector<BandTrack> band_tracks(std::uint64_t seed, double length_s, const Events& events,
                                   double step_db) {
    constexpr int channels = 8;
    Block block;
    block.channels = channels;
    block.frames = static_cast<Frame>(length_s * bank_rate_hz);
    block.samples.resize(static_cast<std::size_t>(channels * block.frames));
    for (int c = 0; c < channels; ++c) {
        std::mt19937_64 random(seed * 100 + static_cast<std::uint64_t>(c));
        std::normal_distribution<float> noise(0.0F, std::sqrt(0.5e-6F * 2000.0F));
        std::uniform_real_distribution<double> uniform(1e-9, 1.0);
        const std::span<float> x = block.channel(c);
        for (std::size_t i = 0; i < x.size(); ++i)
            x[i] = noise(random) *
                   (2 * i < x.size() ? 1.0F : static_cast<float>(db_to_amplitude(step_db)));
        for (double t = 0.0; events.share > 0.0;) {
            const double event_s =
                events.shortest_s + (events.longest_s - events.shortest_s) * uniform(random);
            t -= std::log(uniform(random)) * event_s * (1.0 - events.share) / events.share;
            const auto begin = static_cast<std::size_t>(t * bank_rate_hz);
            if (begin >= x.size()) break;
            t += event_s;
            for (std::size_t i = begin;
                 i < std::min(x.size(), static_cast<std::size_t>(t * bank_rate_hz)); ++i)
                x[i] += 10.0F * noise(random);
        }
    }
    ThirdOctaveBank bank(channels, bank_rate_hz, 0);
    bank.push(block);
    return bank.take();
}

/// Mean over channels and seeds of floor over truth in each band, for steps that use() selects.
template <class Use>
std::vector<double> band_biases_db(double length_s, const Events& events, double step_db,
                                   Use&& use) {
    // others than those used to tune the floor
    constexpr std::uint64_t first_seed = 4001, seeds = 6;
    std::vector<double> sum, count;
    for (std::uint64_t seed = first_seed; seed < first_seed + seeds; ++seed)
        for (const BandTrack& track : band_tracks(seed, length_s, events, step_db)) {
            sum.resize(track.mid_hz.size());
            count.resize(sum.size());
            for (std::size_t b = 0; b < sum.size(); ++b) {
                const double width_hz =
                    track.mid_hz[b] * (std::pow(10.0, 0.05) - std::pow(10.0, -0.05));
                const FloorTrack floor =
                    noise_floor(track.power[b], track.first, track.hop, bank_rate_hz, {}, width_hz);
                for (std::size_t i = 0; i < floor.power.size(); ++i) {
                    const double t =
                        static_cast<double>(floor.first + static_cast<Frame>(i) * floor.hop) /
                        bank_rate_hz;
                    if (!use(t)) continue;
                    const double truth =
                        1e-6 * width_hz * (t < 0.5 * length_s ? 1.0 : db_to_power(step_db));
                    sum[b] += 10.0 * std::log10(static_cast<double>(floor.power[i]) / truth);
                    count[b] += 1.0;
                }
            }
        }
    for (std::size_t b = 0; b < sum.size(); ++b)
        sum[b] /= count[b];
    return sum;
}

TEST(NoiseFloor, EveryThirdOctaveUnderEvents) {
    // Short events as well: narrow bands ring for longer than many of the pauses between them.
    const Events all[] = {{0.0}, {1.0 / 3.0}, {1.0 / 3.0, 1.0, 3.0}, {1.0 / 3.0, 0.1, 0.5}};
    for (const Events& events : all) {
        const auto biases = band_biases_db(60.0, events, 0.0, [](double) { return true; });
        const auto centres = third_octave_centres(25.0, 0.4 * bank_rate_hz);
        for (std::size_t b = 0; b < biases.size(); ++b)
            EXPECT_NEAR(biases[b], 0.0, bias_tolerance_db)
                << centres[b] << " Hz, share of events " << events.share << ", from "
                << events.shortest_s << " s";
    }
}

TEST(NoiseFloor, ConfidenceIsLowInANarrowBandThatAlwaysRings) {
    // Bursts of 0.1 s, 0.2 s apart on average: at 25 Hz the ringing of one lasts 0.55 s, longer
    // than 94 of 100 pauses.
    double sum = 0.0, steps = 0.0;
    for (std::uint64_t seed = 4001; seed < 4005; ++seed)
        for (const BandTrack& track : band_tracks(seed, 60.0, {1.0 / 3.0, 0.1, 0.1}, 0.0)) {
            const FloorTrack floor =
                noise_floor(track.power[0], track.first, track.hop, bank_rate_hz, {}, 5.8);
            for (float c : floor.confidence)
                sum += static_cast<double>(c), ++steps;
        }
    EXPECT_LT(sum / steps, 0.25);
}

TEST(NoiseFloor, EveryThirdOctaveAfterAStep) {
    for (double step_db : {10.0, -10.0}) {
        const auto biases = band_biases_db(80.0, {}, step_db, [](double t) {
            return std::fabs(t - 40.0) >= 10.0 && std::fabs(t - 40.0) < 13.0;
        });
        for (std::size_t b = 0; b < biases.size(); ++b)
            EXPECT_NEAR(biases[b], 0.0, 1.0) << "band " << b << ", step " << step_db << " dB";
    }
}

TEST(NoiseFloor, ConfidenceIsTheShareOfQuiet) {
    double before = 1.1;
    for (double share : {0.0, 1.0 / 3.0, 0.6}) {
        double sum = 0.0, steps = 0.0;
        for (std::uint64_t seed = 1; seed <= 20; ++seed) {
            std::vector<float> powers = noise_powers(seed, 60.0, 4.0);
            // uneven lengths, as syllables have
            add_events(powers, seed, share, 0.3, 20.0, 1.0, 7.0);
            for (float c : noise_floor(powers, 0, hop, rate_hz).confidence)
                sum += static_cast<double>(c), ++steps;
        }
        const double confidence = sum / steps;
        EXPECT_LT(confidence, before - 0.1) << "share " << share;
        before = confidence;
    }
    EXPECT_LT(before, 0.35);
}

TEST(NoiseFloor, UnitOfWorkGivesTheStepsOfTheWhole) {
    std::vector<float> powers = noise_powers(3, 400.0, 1.0);
    add_events(powers, 3, 0.3, 0.7, 15.0, 1.0);
    const FloorTrack whole = noise_floor(powers, 0, hop, rate_hz);
    const auto at = [](double s) { return static_cast<std::size_t>(s * hops_a_second); };
    const FloorTrack unit = noise_floor(std::span(powers).subspan(at(120.0), at(150.0)),
                                        static_cast<Frame>(at(120.0)) * hop, hop, rate_hz);
    ASSERT_EQ(whole.hop, unit.hop);
    int compared = 0;
    for (double t = 150.0; t < 250.0; t += 0.5, ++compared) {
        const auto frame = static_cast<Frame>(t * rate_hz);
        EXPECT_EQ(whole.power[whole.step_of(frame)], unit.power[unit.step_of(frame)]) << t;
        EXPECT_EQ(whole.confidence[whole.step_of(frame)], unit.confidence[unit.step_of(frame)])
            << t;
    }
    EXPECT_EQ(compared, 200);
}

TEST(NoiseFloor, UnitOfWorkGivesTheStepsOfTheWholeInANarrowBand) {
    constexpr Frame slow_hop = 1600; // 0.1 s
    std::vector<float> powers = noise_powers(11, 1200.0, 0.6);
    for (std::size_t i = 0; i < powers.size(); ++i)
        if (i % 17 < 3) powers[i] *= 100.0F;
    const FloorTrack whole = noise_floor(powers, 0, slow_hop, rate_hz, {}, 5.8);
    // A unit of work reads 30 s before its core and 20 s after it.
    const std::size_t begin = 3000, core_begin = 3300, core_end = 6300, end = 6500;
    const FloorTrack unit =
        noise_floor(std::span(powers).subspan(begin, end - begin),
                    static_cast<Frame>(begin) * slow_hop, slow_hop, rate_hz, {}, 5.8);
    for (std::size_t i = core_begin; i < core_end; ++i) {
        const Frame frame = static_cast<Frame>(i) * slow_hop;
        ASSERT_EQ(whole.power[whole.step_of(frame)], unit.power[unit.step_of(frame)]) << i;
    }
}

TEST(NoiseFloor, SilenceIsZeroAndDropoutsAreLeftOut) {
    const FloorTrack silent = noise_floor(std::vector<float>(10000, 0.0F), 0, hop, rate_hz);
    for (std::size_t i = 0; i < silent.power.size(); ++i) {
        EXPECT_EQ(silent.power[i], 0.0F);
        EXPECT_EQ(silent.confidence[i], 0.0F);
    }
    std::vector<float> powers = noise_powers(4, 60.0, 4.0);
    for (std::size_t i = 5000; i < 7500; ++i)
        powers[i] = 0.0F; // 10 s of zeros
    EXPECT_NEAR(mean_db(noise_floor(powers, 0, hop, rate_hz)), 0.0, 0.2);
    powers[100] = std::nanf("");
    EXPECT_TRUE(std::isfinite(mean_db(noise_floor(powers, 0, hop, rate_hz))));
    EXPECT_TRUE(noise_floor({}, 0, hop, rate_hz).power.empty());
}

TEST(NoiseFloor, MissingStretchesAreIgnored) {
    std::vector<float> powers = noise_powers(5, 60.0, 4.0);
    for (std::size_t i = 5000; i < 8000; ++i)
        powers[i] *= 1e-3F; // a placeholder for missing data
    const lull::Run gap{0, 5000 * hop, 3000 * hop};
    const FloorTrack floor = noise_floor(powers, 0, hop, rate_hz, std::span(&gap, 1));
    EXPECT_NEAR(mean_db(floor), 0.0, 0.2);
    EXPECT_LT(floor.confidence[floor.step_of(6500 * hop)], 0.8F);
}

TEST(NoiseFloor, ShortTracksHaveAFloor) {
    for (std::size_t n : {1U, 5U, 12U, 100U, 1000U}) {
        const std::vector<float> powers(n, 0.25F);
        const FloorTrack floor = noise_floor(powers, 7 * hop, hop, rate_hz);
        ASSERT_FALSE(floor.power.empty());
        for (float p : floor.power)
            EXPECT_TRUE(std::isfinite(p));
        if (n < 100) continue;
        EXPECT_NEAR(floor.power.front(), 0.25F, 0.01F);
    }
}

TEST(NoiseFloor, SlowlyModulatedNoiseKeepsItsMeanPower) {
    // Amplitude-modulated noise, 1 dB up and down in 1.5 s: a machine, no events.
    std::vector<float> powers = noise_powers(6, 120.0, 4.0);
    double sum = 0.0;
    for (std::size_t i = 0; i < powers.size(); ++i) {
        powers[i] *= static_cast<float>(
            db_to_power(1.0 * std::sin(6.2832 * static_cast<double>(i) / hops_a_second / 1.5)));
        sum += static_cast<double>(powers[i]);
    }
    EXPECT_NEAR(mean_db(noise_floor(powers, 0, hop, rate_hz)),
                10.0 * std::log10(sum / static_cast<double>(powers.size())), 0.5);
}

TEST(BandFloors, EachBandHasItsOwnFloor) {
    SpectrumTrack spectrum;
    spectrum.first = 128;
    spectrum.hop = 128;
    spectrum.edges_hz = {0.0, 250.0, 500.0, 1000.0};
    std::mt19937_64 random(9);
    std::gamma_distribution<float> power(2.0F, 0.5F);
    for (int frame = 0; frame < 7500; ++frame)
        for (float level : {1.0F, 0.01F, 100.0F}) {
            const bool event = frame % 300 < 60 && level == 0.01F;
            spectrum.power.push_back(level * power(random) * (event ? 100.0F : 1.0F));
        }
    const std::vector<FloorTrack> floors = band_floors(spectrum, rate_hz);
    ASSERT_EQ(floors.size(), 3U);
    EXPECT_NEAR(mean_db(floors[0]), 0.0, 0.3);
    EXPECT_NEAR(mean_db(floors[1]), -20.0, 0.3);
    EXPECT_NEAR(mean_db(floors[2]), 20.0, 0.3);
}

} // namespace
} // namespace lull
