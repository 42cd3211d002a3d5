// SPDX-License-Identifier: GPL-3.0-or-later
#include "conformance.hpp"
#include "signal/onset.hpp"

#include "listening.hpp"
#include "sounds.hpp"

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
