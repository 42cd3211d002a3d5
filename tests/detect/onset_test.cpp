// SPDX-License-Identifier: GPL-3.0-or-later
#include "conformance.hpp"
#include "signal/onset.hpp"

#include "listening.hpp"
#include "sounds.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

namespace lull {
namespace {

TEST(Onset, SplitOfTheReference) {
    std::ifstream file(std::string(LULL_TEST_DATA) + "/onset.json");
    if (!file) GTEST_SKIP() << "tests/detect/data/onset.json is missing";
    const nlohmann::json data = nlohmann::json::parse(file);
    int number = 0;
    for (const auto& one : data.at("cases")) {
        const auto waveform = one.at("waveform").get<std::vector<float>>();
        const Onset onset = onset_by_akaike(waveform, 1.0);
        check_conformance(
            {"onset by the Akaike criterion, case " + std::to_string(++number),
             "NumPy " + data.at("numpy").get<std::string>() + " var; criterion of Maeda 1985",
             "scripts/reference/detect_reference.py", one.at("split").get<double>(), onset.sample,
             0.5, "samples"});
        EXPECT_NEAR(onset.sigma_samples, one.at("sigma").get<double>(),
                    0.02 * one.at("sigma").get<double>());
    }
    EXPECT_GE(number, 5);
}

/// Errors of the onsets of knocks every half second or so at an SNR, through the whole search.
std::vector<double> errors_at(double snr_db, std::uint32_t seed, std::size_t& laid) {
    std::vector<float> x = test::white(seed, 40.0, 0.01);
    std::mt19937 generator(seed);
    std::uniform_real_distribution<double> any(0.0, 1.0);
    const double gain = 0.01 * test::white_in_band() * db_to_amplitude(snr_db);
    std::vector<double> times;
    for (double t = 2.0; t < 38.0; t += 0.6 + 0.4 * any(generator)) {
        const double mode = 120.0 * std::exp2(3.0 * any(generator));
        test::add(x, test::knock({mode, 1.7 * mode, 2.3 * mode}, 0.01 + 0.03 * any(generator)), t,
                  gain);
        times.push_back(std::llround(t * test::rate_hz) / test::rate_hz);
    }
    laid += times.size();
    std::vector<double> errors;
    for (const Arrival& arrival : test::Listening({x}, test::rate_hz).arrivals()) {
        if (arrival.shape.sustained) continue;
        double least = 1.0;
        for (const double t : times)
            least = std::min(least, std::abs(arrival.onset_s - t));
        if (least < 0.1) errors.push_back(least);
    }
    return errors;
}

/// Errors of the onsets of knocks that begin anywhere between two samples.
std::vector<double> signed_errors(double rate_hz, double snr_db, std::uint32_t seed) {
    constexpr double length_s = 60.0;
    std::mt19937 generator(seed);
    std::normal_distribution<float> normal(0.0F, 0.01F);
    std::uniform_real_distribution<double> any(0.0, 1.0);
    std::vector<float> x(static_cast<std::size_t>(length_s * rate_hz));
    for (float& v : x)
        v = normal(generator);
    const Band band = default_band(rate_hz);
    const double floor = 1e-4 * (band.high_hz - band.low_hz) / (0.5 * rate_hz);
    std::vector<double> times;
    for (double t = 2.0; t < length_s - 1.0; t += 0.6 + 0.4 * any(generator)) {
        const double mode_hz = 120.0 * std::exp2(3.0 * any(generator)),
                     decay_s = 0.01 + 0.03 * any(generator);
        const auto first = static_cast<std::size_t>(std::ceil(t * rate_hz));
        const auto length = static_cast<std::size_t>(0.25 * rate_hz);
        std::vector<double> knock(length);
        double most = 0.0, sum = 0.0;
        const auto window = static_cast<std::size_t>(0.05 * rate_hz);
        for (std::size_t i = 0; i < length; ++i) {
            const double since_s = static_cast<double>(first + i) / rate_hz - t;
            for (const double ratio : {1.0, 1.7, 2.3})
                knock[i] += std::sin(2.0 * std::numbers::pi * ratio * mode_hz * since_s) *
                            std::exp(-since_s / decay_s);
            sum += knock[i] * knock[i];
            if (i >= window) sum -= knock[i - window] * knock[i - window];
            most = std::max(most, sum / static_cast<double>(window));
        }
        const double gain = std::sqrt(floor * db_to_power(snr_db) / most);
        for (std::size_t i = 0; i < length && first + i < x.size(); ++i)
            x[first + i] += static_cast<float>(gain * knock[i]);
        times.push_back(t);
    }
    std::vector<double> errors;
    for (const Arrival& arrival : test::Listening({x}, rate_hz).arrivals()) {
        if (arrival.shape.sustained || arrival.shape.from_tracks) continue;
        const auto near = std::ranges::min_element(
            times, {}, [&](double t) { return std::abs(arrival.onset_s - t); });
        if (std::abs(arrival.onset_s - *near) < 0.01) errors.push_back(arrival.onset_s - *near);
    }
    std::ranges::sort(errors);
    return errors;
}

/// What the filter of the band delays, and half a sample, are known and taken off.
TEST(Onset, OfACleanKnockHasNoBias) {
    constexpr double most_bias_s = 0.125e-3; // half a sample at 4 kHz, the lowest rate
    for (const double rate_hz : {4000.0, 8000.0, 16000.0, 48000.0})
        for (const double snr_db : {10.0, 20.0, 30.0}) {
            const std::vector<double> errors = signed_errors(rate_hz, snr_db, 43);
            ASSERT_GT(errors.size(), 30U) << rate_hz << " Hz, " << snr_db << " dB";
            EXPECT_LE(std::abs(errors[errors.size() / 2]), most_bias_s)
                << rate_hz << " Hz, " << snr_db << " dB, seed 43";
        }
}

TEST(Onset, MedianErrorOfKnocks) {
    struct Row {
        double snr_db, median_s, share;
    };
    // 5 ms median is the target of the hearing issue; share: of the knocks that must be found.
    for (const Row& row : {Row{20.0, 0.001, 0.97}, Row{10.0, 0.003, 0.9}, Row{6.0, 0.005, 0.75}}) {
        std::vector<double> errors;
        std::size_t laid = 0;
        for (const std::uint32_t seed : {41U, 42U}) {
            const std::vector<double> some = errors_at(row.snr_db, seed, laid);
            errors.insert(errors.end(), some.begin(), some.end());
        }
        ASSERT_FALSE(errors.empty());
        std::sort(errors.begin(), errors.end());
        EXPECT_LE(errors[errors.size() / 2], row.median_s) << row.snr_db << " dB, seeds 41, 42";
        EXPECT_GE(static_cast<double>(errors.size()), row.share * static_cast<double>(laid))
            << row.snr_db << " dB, seeds 41, 42";
    }
}

} // namespace
} // namespace lull
