// SPDX-License-Identifier: GPL-3.0-or-later
//
// Windows, transforms, densities and envelopes.
#include "conformance.hpp"
#include "signal/envelope.hpp"
#include "signal/fft.hpp"
#include "signal/stft.hpp"
#include "signal/welch.hpp"
#include "signal/window.hpp"

#include "made.hpp"

#include <thread>

namespace lull {
namespace {

WindowKind kind_of(const std::string& name) {
    return name == "hann"      ? WindowKind::hann
           : name == "hamming" ? WindowKind::hamming
                               : WindowKind::blackman;
}

double sum_of_squares(std::span<const float> samples) {
    double sum = 0.0;
    for (const float x : samples)
        sum += static_cast<double>(x) * static_cast<double>(x);
    return sum;
}

TEST(Window, EqualsTheFiguresOfHarris) {
    struct Figures {
        std::string name;
        double bandwidth, gain, scallop_db;
        std::string note;
    };
    for (const Figures& f :
         {Figures{"hann", 1.5000, 0.5000, 1.42, ""},
          Figures{"hamming", 1.3628, 0.5400, 1.75, "; Harris prints 1.78, from memory"},
          Figures{"blackman", 1.7268, 0.4200, 1.10, ""}}) {
        const std::vector<float> window = periodic_window(kind_of(f.name), 4096);
        // Half a unit of the last digit printed.
        check_conformance({f.name + " window: equivalent noise bandwidth", "Harris 1978", "Table I",
                           f.bandwidth, equivalent_noise_bandwidth(window), 5e-5, "bins"});
        check_conformance({f.name + " window: coherent gain", "Harris 1978", "Table I", f.gain,
                           coherent_gain(window), 5e-5, ""});
        check_conformance({f.name + " window: scallop loss", "Harris 1978", "Table I" + f.note,
                           f.scallop_db, scallop_loss_db(window), 6e-3, "dB"});
    }
}

/// Against the sum by definition in double precision.
TEST(RealFft, EqualsTheDirectTransform) {
    constexpr double least_snr_db = 125.0; // single precision has 144 dB, minus a few roundings
    for (const std::size_t size : {1U, 2U, 3U, 10U, 97U, 128U, 256U, 360U, 1001U}) {
        const unsigned seed = 11;
        const Block noise = test::white(1, static_cast<Frame>(size), seed);
        const RealFft fft(size);
        std::vector<std::complex<float>> got(fft.bins());
        fft.forward(noise.samples, got);
        double error = 0.0, power = 0.0;
        for (std::size_t k = 0; k < fft.bins(); ++k) {
            std::complex<double> direct = 0.0;
            for (std::size_t n = 0; n < size; ++n)
                direct += std::polar(static_cast<double>(noise.samples[n]),
                                     -2.0 * std::numbers::pi * static_cast<double>(k * n % size) /
                                         static_cast<double>(size));
            error += std::norm(std::complex<double>(got[k]) - direct);
            power += std::norm(direct);
        }
        EXPECT_GT(10.0 * std::log10(power / (error + 1e-300)), least_snr_db)
            << "size " << size << ", seed " << seed;
        std::vector<float> back(size);
        fft.inverse(got, back);
        double difference = 0.0;
        for (std::size_t n = 0; n < size; ++n)
            difference += std::pow(back[n] / static_cast<double>(size) - noise.samples[n], 2);
        EXPECT_GT(10.0 * std::log10(sum_of_squares(noise.samples) / (difference + 1e-300)),
                  least_snr_db)
            << "size " << size << ", seed " << seed;
    }
}

TEST(RealFft, AnyAddressGivesTheSameBytes) {
    const Block noise = test::white(1, 300, 5);
    const RealFft fft(256);
    std::vector<std::complex<float>> expected(fft.bins()), shifted(fft.bins() + 1);
    fft.forward(std::span(noise.samples).subspan(0, 256), expected);
    for (std::size_t by = 1; by < 8; ++by) {
        std::vector<float> moved(264);
        std::copy_n(noise.samples.begin(), 256, moved.begin() + static_cast<std::ptrdiff_t>(by));
        const auto out = std::span(shifted).subspan(by % 2);
        fft.forward(std::span(moved).subspan(by, 256), out.first(fft.bins()));
        EXPECT_TRUE(test::same_bytes(out.first(fft.bins()), expected)) << "by " << by;
    }
}

TEST(RealFft, ThreadsShareTheOwnerOfPlans) {
    const Block noise = test::white(1, 4096, 3);
    std::vector<std::vector<std::complex<float>>> results(8);
    std::vector<std::thread> threads;
    for (auto& result : results)
        threads.emplace_back([&] {
            for (const std::size_t size : {600U, 1200U, 4096U}) {
                const RealFft fft(size);
                result.resize(fft.bins());
                fft.forward(std::span(noise.samples).first(size), result);
            }
        });
    for (auto& thread : threads)
        thread.join();
    for (const auto& result : results)
        EXPECT_TRUE(test::same_bytes(result, results.front()));
}

TEST(RealFft, FastSizes) {
    EXPECT_EQ(fast_size(1), 2U);
    EXPECT_EQ(fast_size(256), 256U);
    EXPECT_EQ(fast_size(257), 270U);
    EXPECT_EQ(fast_size(11), 12U);
    EXPECT_EQ(shared_size(1), 8U);
    EXPECT_EQ(shared_size(9), 10U);
    EXPECT_EQ(shared_size(4096), 4096U);
    EXPECT_EQ(shared_size(4097), 5120U);
    EXPECT_EQ(shared_size(7169), 8192U);
}

TEST(ShortTimeSpectra, FrameEqualsTheReference) {
    const nlohmann::json data = test::reference("streams.json");
    if (data.is_null()) GTEST_SKIP() << "tests/signal/data/streams.json is missing";
    const auto& expected = data.at("spectra");
    const auto spectra = short_time_spectra(
        data.at("samples").get<std::vector<float>>(), expected.at("window").get<std::size_t>(),
        expected.at("hop").get<std::size_t>(), WindowKind::hann);
    ASSERT_EQ(spectra.frames(), expected.at("frames").get<std::size_t>());
    for (std::size_t k = 0; k < spectra.bins; ++k) { // of a constant 0.3 under 64 samples: 10
        EXPECT_NEAR(spectra.frame(5)[k].real(), expected.at("real")[k].get<double>(), 1e-5);
        EXPECT_NEAR(spectra.frame(5)[k].imag(), expected.at("imag")[k].get<double>(), 1e-5);
    }
}

TEST(Welch, DensityEqualsTheReference) {
    const nlohmann::json data = test::reference("streams.json");
    if (data.is_null()) GTEST_SKIP() << "tests/signal/data/streams.json is missing";
    const auto samples = data.at("samples").get<std::vector<float>>();
    double worst = 0.0;
    for (const auto& one : data.at("densities")) {
        const Density got =
            welch_density(samples, data.at("rate").get<double>(),
                          one.at("segment").get<std::size_t>(), kind_of(one.at("window")));
        const auto expected = one.at("density").get<std::vector<double>>();
        ASSERT_EQ(got.power.size(), expected.size());
        const double mean = std::accumulate(expected.begin(), expected.end(), 0.0) /
                            static_cast<double>(expected.size());
        for (std::size_t k = 0; k < expected.size(); ++k)
            worst = std::max(worst, std::abs(got.power[k] - expected[k]) /
                                        std::max(expected[k], 1e-3 * mean));
    }
    check_conformance(
        {"density by averaged periodograms, three windows: largest relative deviation",
         "SciPy " + data.at("scipy").get<std::string>() + " welch",
         "scripts/reference/signal_reference.py", 0.0, worst, 1e-4, ""});
}

TEST(Welch, WhiteNoiseAndParseval) {
    constexpr double rate_hz = 8000.0, sigma = 0.1;
    const unsigned seed = 21;
    SCOPED_TRACE(testing::Message() << "seed " << seed);
    const Block noise = test::white(1, 1 << 19, seed, sigma);
    const Density density = welch_density(noise.samples, rate_hz, 512);
    double sum = 0.0, inner = 0.0;
    for (std::size_t k = 0; k < density.power.size(); ++k) {
        sum += density.power[k] * density.bin_hz;
        if (k > 1 && k + 2 < density.power.size()) inner += density.power[k];
    }
    inner /= static_cast<double>(density.power.size() - 4);
    // 2047 segments of half overlap, 253 bins: the standard error of the mean is about 0.2 %.
    check_conformance({"white noise of variance 0.01 at 8 kHz: one-sided density", "Welch 1967",
                       "2 s^2 / rate", 2.0 * sigma * sigma / rate_hz, inner, 2.5e-8, "1/Hz"});
    check_conformance({"white noise: density summed over the bins", "Welch 1967",
                       "Parseval: mean square of the samples",
                       sum_of_squares(noise.samples) / static_cast<double>(noise.frames), sum, 5e-5,
                       ""});
}

TEST(Welch, TooFewSamplesGiveNoDensity) {
    EXPECT_TRUE(welch_density(std::vector<float>(99), 8000.0, 100).power.empty());
}

TEST(Envelope, AnalyticSignalEqualsTheReference) {
    const nlohmann::json data = test::reference("streams.json");
    if (data.is_null()) GTEST_SKIP() << "tests/signal/data/streams.json is missing";
    const auto samples = data.at("samples").get<std::vector<float>>();
    for (const auto& one : data.at("envelopes")) {
        std::vector<float> part(samples.begin(),
                                samples.begin() + one.at("count").get<std::ptrdiff_t>());
        for (float& x : part)
            x -= 0.3F;
        const std::vector<float> got = analytic_envelope(part);
        for (std::size_t i = 0; i < got.size(); ++i)
            ASSERT_NEAR(got[i], one.at("envelope")[i].get<double>(), 1e-6) << "sample " << i;
    }
}

TEST(Envelope, RmsOverAWindow) {
    std::vector<float> samples(1000);
    for (std::size_t n = 0; n < samples.size(); ++n) // ten samples a period
        samples[n] = std::sin(0.2F * std::numbers::pi_v<float> * static_cast<float>(n));
    const std::vector<float> rms = short_time_rms(samples, 101);
    EXPECT_NEAR(rms[500], 1.0 / std::numbers::sqrt2, 0.004); // one sample more than ten periods
    const std::vector<float> step = short_time_rms(std::vector<float>{0, 0, 0, 3, 3, 3}, 3);
    EXPECT_FLOAT_EQ(step[0], 0.0F);
    EXPECT_FLOAT_EQ(step[2], std::sqrt(3.0F));
    EXPECT_FLOAT_EQ(step[5], 3.0F);
}

} // namespace
} // namespace lull
