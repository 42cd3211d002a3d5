// SPDX-License-Identifier: GPL-3.0-or-later
#include "conformance.hpp"
#include "error.hpp"
#include "signal/butterworth.hpp"
#include "signal/section_filter.hpp"

#include "made.hpp"

#include <map>

namespace lull {
namespace {

double level_db(const Sections& sections, double frequency_hz, double rate_hz) {
    return 20.0 * std::log10(std::abs(response(sections, frequency_hz, rate_hz)));
}

Sections design(const nlohmann::json& one) {
    const auto kind = one.at("kind").get<std::string>();
    const auto edges = one.at("edges").get<std::vector<double>>();
    const int order = one.at("order").get<int>();
    const auto rate_hz = one.at("rate").get<double>();
    if (kind == "bandpass") return butterworth_bandpass(order, {edges[0], edges[1]}, rate_hz);
    return kind == "lowpass" ? butterworth_lowpass(order, edges[0], rate_hz)
                             : butterworth_highpass(order, edges[0], rate_hz);
}

TEST(Butterworth, LevelsEqualTheCheckList) {
    const Sections sections = butterworth_bandpass(4, {60.0, 2000.0}, 16000.0);
    const std::map<double, double> expected{{30, -24.8525},  {60, -3.0103},   {120, -0.0081},
                                            {1000, -0.0054}, {2000, -3.0103}, {4000, -31.4577},
                                            {6000, -62.2176}};
    for (const auto& [frequency_hz, level] : expected)
        check_conformance({"Butterworth order 4, 60-2000 Hz at 16 kHz: level at " +
                               std::to_string(static_cast<int>(frequency_hz)) + " Hz",
                           "SciPy 1.10.1", "butter(4, [60, 2000], 'bandpass', fs=16000)", level,
                           level_db(sections, frequency_hz, 16000.0), 1e-4, "dB"}); // as printed
}

/// Largest deviation of a response from SciPy's, by kind of filter and corner.
TEST(Butterworth, ResponseEqualsTheReference) {
    const nlohmann::json data = test::reference("filters.json");
    if (data.is_null()) GTEST_SKIP() << "tests/signal/data/filters.json is missing";
    std::map<std::string, double> worst;
    for (const auto& one : data.at("cases")) {
        const Sections sections = design(one);
        for (std::size_t i = 0; i < one.at("frequency").size(); ++i) {
            const std::complex<double> expected{one.at("real")[i].get<double>(),
                                                one.at("imag")[i].get<double>()};
            const auto got = response(sections, one.at("frequency")[i].get<double>(),
                                      one.at("rate").get<double>());
            // Relative to full scale in the pass band and the first 60 dB below, to the value
            // further down.
            double& place = worst[one.at("kind").get<std::string>()];
            place = std::max(place, std::abs(got - expected) / std::max(std::abs(expected), 1e-3));
        }
    }
    ASSERT_EQ(worst.size(), 3U);
    for (const auto& [kind, deviation] : worst)
        check_conformance({"Butterworth " + kind +
                               ", orders 1-8, 1 Hz at 48 kHz to 0.45 of the "
                               "rate: largest deviation of the response",
                           "SciPy " + data.at("scipy").get<std::string>() + " butter, freqz_zpk",
                           "scripts/reference/signal_reference.py", 0.0, deviation, 1e-5, ""});
}

TEST(Butterworth, ImpulseResponseEqualsTheReference) {
    const nlohmann::json data = test::reference("filters.json");
    if (data.is_null()) GTEST_SKIP() << "tests/signal/data/filters.json is missing";
    double worst = 0.0;
    for (const auto& one : data.at("cases")) {
        std::vector<float> heard(one.at("at").back().get<std::size_t>() + 1);
        heard[0] = 1.0F;
        SectionFilter(design(one), 1).push(heard);
        for (std::size_t i = 0; i < one.at("at").size(); ++i) {
            const auto expected = one.at("impulse")[i].get<double>();
            const double got = heard[one.at("at")[i].get<std::size_t>()];
            worst = std::max(worst, std::abs(got - expected) / one.at("peak").get<double>());
        }
    }
    check_conformance({"Butterworth impulse responses, all kinds, orders 1-8: largest deviation of "
                       "their peak",
                       "SciPy " + data.at("scipy").get<std::string>() + " sosfilt",
                       "scripts/reference/signal_reference.py", 0.0, worst, 1e-5, ""});
}

TEST(Butterworth, EdgesAndSlope) {
    for (int order = 1; order <= 8; ++order) {
        const Sections sections = butterworth_bandpass(order, {100.0, 400.0}, 192000.0);
        EXPECT_NEAR(level_db(sections, 100.0, 192000.0), -3.0103, 1e-4) << "order " << order;
        EXPECT_NEAR(level_db(sections, 400.0, 192000.0), -3.0103, 1e-4) << "order " << order;
        // Far from the edges, an octave costs 6.02 dB an order; 0.05 dB for the effect of the other
        // edge.
        const double octave =
            level_db(sections, 6400.0, 192000.0) - level_db(sections, 3200.0, 192000.0);
        EXPECT_NEAR(octave / order, -6.02, 0.25) << "order " << order;
    }
}

TEST(Butterworth, PolesLieInsideTheUnitCircle) {
    for (const double rate_hz : {4000.0, 48000.0, 192000.0})
        for (int order = 1; order <= 8; ++order)
            for (const Band band : {Band{1.0, 2.0}, Band{1.0, 0.45 * rate_hz}, Band{60.0, 1800.0}})
                for (const Section& s : butterworth_bandpass(order, band, rate_hz)) {
                    EXPECT_LT(std::abs(s.a2), 1.0);
                    EXPECT_LT(std::abs(s.a1), 1.0 + s.a2);
                }
}

TEST(Butterworth, RefusesInvalidArguments) {
    EXPECT_THROW((void)butterworth_bandpass(4, {2000.0, 60.0}, 16000.0), Error);
    EXPECT_THROW((void)butterworth_bandpass(4, {0.0, 60.0}, 16000.0), Error);
    EXPECT_THROW((void)butterworth_bandpass(4, {60.0, 8000.0}, 16000.0), Error);
    EXPECT_THROW((void)butterworth_bandpass(4, {60.0, std::nan("")}, 16000.0), Error);
    EXPECT_THROW((void)butterworth_bandpass(0, {60.0, 2000.0}, 16000.0), Error);
    EXPECT_THROW((void)butterworth_lowpass(9, 60.0, 16000.0), Error);
    EXPECT_THROW((void)butterworth_highpass(4, 8000.0, 16000.0), Error);
    try {
        (void)butterworth_bandpass(4, {60.0, 9000.0}, 16000.0);
        FAIL() << "a band above half the rate was taken";
    } catch (const Error& error) {
        EXPECT_EQ(error.kind, ErrorKind::usage);
        EXPECT_NE(error.mend.find("8000"), std::string::npos) << error.mend;
    }
}

} // namespace
} // namespace lull
