// SPDX-License-Identifier: GPL-3.0-or-later
#include "grading/score.hpp"

#include "conformance.hpp"
#include "grading/score_curve.hpp"
#include "synthesis/random.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <cmath>
#include <fstream>
#include <numeric>

namespace lull {
namespace {

constexpr double rounding = 1e-12;
constexpr double printed_3 = 0.0005; ///< values printed with three decimals
constexpr double printed_4 = 0.00005;

nlohmann::json reference() {
    std::ifstream file(LULL_TEST_DATA "/grade_reference.json");
    return file ? nlohmann::json::parse(file) : nlohmann::json();
}

TEST(Score, wilson_intervals_as_published) {
    const auto check = [](const char* what, double expected, std::optional<double> got) {
        ASSERT_TRUE(got);
        check_conformance({what, "Wilson 1927",
                           "the score interval; second way: SciPy 1.10.1 binomtest", expected, *got,
                           printed_3, ""});
    };
    check("Wilson 95 % interval of 8 of 10: low", 0.490, proportion(8, 10).low);
    check("Wilson 95 % interval of 8 of 10: high", 0.943, proportion(8, 10).high);
    check("Wilson 95 % interval of 0 of 10: low", 0.0, proportion(0, 10).low);
    check("Wilson 95 % interval of 0 of 10: high", 0.278, proportion(0, 10).high);
    EXPECT_FALSE(proportion(0, 0).value);
}

TEST(Score, wilson_intervals_as_scipy) {
    const nlohmann::json data = reference();
    if (data.is_null()) GTEST_SKIP() << "no reference data";
    for (const auto& c : data["proportions"]) {
        const Estimate got = proportion(c["part"], c["total"]);
        EXPECT_NEAR(*got.low, c["low"].get<double>(), rounding);
        EXPECT_NEAR(*got.high, c["high"].get<double>(), rounding);
    }
}

// By hand: 6 events, 7 answers of which 4 are right. Precision 4/7, recall 4/6, F = 8/13
// [definitions: Mesaros, Heittola & Virtanen 2016, section 4].
TEST(Score, precision_recall_f_by_definition) {
    const Counts counts{4, 2, 3};
    const auto check = [](const char* what, double expected, double got) {
        check_conformance({what, "Mesaros, Heittola & Virtanen 2016", "definitions, by hand",
                           expected, got, rounding, ""});
    };
    check("precision of 4 hits, 2 misses, 3 false calls", 4.0 / 7.0, *precision_of(counts).value);
    check("recall of 4 hits, 2 misses, 3 false calls", 4.0 / 6.0, *recall_of(counts).value);
    check("F of 4 hits, 2 misses, 3 false calls", 8.0 / 13.0, *f_score_of(counts).value);
    EXPECT_FALSE(precision_of({0, 3, 0}).value) << "no answer, no precision";
    EXPECT_EQ(*f_score_of({0, 3, 0}).value, 0.0);
    EXPECT_FALSE(f_score_of({}).value);
}

// The interval of F must hold the truth in about 95 of 100 random exercises.
TEST(Score, f_interval_covers) {
    constexpr std::uint64_t seed = 4;
    constexpr int exercises = 4000;
    Random random(seed);
    for (const double share : {0.35, 0.6, 0.85}) {
        int held = 0;
        for (int i = 0; i < exercises; ++i) {
            Counts counts;
            for (int n = 0; n < 25; ++n)
                ++(random.uniform() < share ? counts.hits : counts.misses);
            const Estimate f = f_score_of(counts);
            const double truth = 2.0 * share / (1.0 + share);
            held += *f.low <= truth && truth <= *f.high ? 1 : 0;
        }
        // Wilson's coverage varies between about 0.93 and 0.97 at n = 25.
        EXPECT_NEAR(held / double{exercises}, 0.95, 0.03) << "share " << share << " seed " << seed;
    }
}

TEST(Score, detectability_as_published) {
    const auto check = [](const char* what, double expected, std::optional<double> got,
                          const char* clause) {
        ASSERT_TRUE(got);
        check_conformance(
            {what, "Macmillan & Creelman 2005", clause, expected, *got, printed_3, ""});
    };
    check("d' of 0.80/0.20", 1.683, detectability(80, 100, 20, 100).d_prime.value, "z tables");
    const Detectability second = detectability(90, 100, 20, 100);
    check("d' of 0.90/0.20", 2.123, second.d_prime.value, "z tables");
    check("criterion c of 0.90/0.20", -0.220, second.criterion.value, "z tables");
    EXPECT_FALSE(second.corrected);
}

// 10 of 10 and 0 of 20: rates 10.5/11 and 0.5/21 by the log-linear rule, computed by hand.
TEST(Score, extremes_are_corrected_or_empty) {
    const Detectability d = detectability(10, 10, 0, 20);
    EXPECT_TRUE(d.corrected);
    EXPECT_NEAR(*d.d_prime.value, normal_quantile(10.5 / 11.0) - normal_quantile(0.5 / 21.0),
                rounding);
    EXPECT_FALSE(detectability(0, 0, 1, 5).d_prime.value);
    EXPECT_FALSE(detectability(1, 5, 0, 0).criterion.value);
}

TEST(Score, detectability_interval_covers) {
    constexpr std::uint64_t seed = 11;
    constexpr int exercises = 3000;
    Random random(seed);
    int held = 0;
    const double truth = normal_quantile(0.75) - normal_quantile(0.2);
    for (int i = 0; i < exercises; ++i) {
        int hits = 0, alarms = 0;
        for (int n = 0; n < 60; ++n)
            hits += random.uniform() < 0.75 ? 1 : 0;
        for (int n = 0; n < 80; ++n)
            alarms += random.uniform() < 0.2 ? 1 : 0;
        const Estimate d = detectability(hits, 60, alarms, 80).d_prime;
        held += *d.low <= truth && truth <= *d.high ? 1 : 0;
    }
    EXPECT_NEAR(held / double{exercises}, 0.95, 0.015) << "seed " << seed;
}

TEST(Score, normal_quantile_as_scipy) {
    const nlohmann::json data = reference();
    if (data.is_null()) GTEST_SKIP() << "no reference data";
    for (const auto& c : data["quantiles"])
        EXPECT_NEAR(normal_quantile(c[0]), c[1].get<double>(), 1e-9) << c[0];
}

TEST(Score, median_and_its_ranks_as_scipy) {
    const nlohmann::json data = reference();
    if (data.is_null()) GTEST_SKIP() << "no reference data";
    for (const auto& c : data["medians"]) {
        const Estimate got = median_of(c["values"].get<std::vector<double>>());
        EXPECT_NEAR(*got.value, c["median"].get<double>(), rounding);
        ASSERT_EQ(got.low.has_value(), !c["low"].is_null());
        if (!got.low) continue;
        EXPECT_EQ(*got.low, c["low"].get<double>());
        EXPECT_EQ(*got.high, c["high"].get<double>());
    }
}

// Newcombe 1998, Table II, method 10. The printed limits of (a) are from memory, so the script
// derives all of them a second way, from SciPy's Wilson limits.
TEST(Score, change_of_share_as_published) {
    const nlohmann::json data = reference();
    if (data.is_null()) GTEST_SKIP() << "no reference data";
    for (const auto& c : data["changes"]) {
        const auto first = c["first"], second = c["second"];
        const Estimate got = change_of_share(first[0], first[1], second[0], second[1]);
        EXPECT_NEAR(*got.low, c["low"].get<double>(), rounding) << second << " - " << first;
        EXPECT_NEAR(*got.high, c["high"].get<double>(), rounding) << second << " - " << first;
    }
    const Estimate got = change_of_share(48, 80, 56, 70);
    constexpr const char* clause =
        "Table II (a), method 10, from memory; second way in scripts/reference/grade_reference.py";
    check_conformance({"difference of 56/70 and 48/80: low", "Newcombe 1998", clause, 0.0524,
                       *got.low, printed_4, ""});
    check_conformance({"difference of 56/70 and 48/80: high", "Newcombe 1998", clause, 0.3339,
                       *got.high, printed_4, ""});
    EXPECT_NEAR(*got.value, 0.2, rounding);
}

// Fleiss, Levin & Paik, Statistical Methods for Rates and Proportions, 3rd ed., Table 18.1: kappa
// 0.676, standard error 0.088 for intervals [from memory, and derived a second way: SciPy script].
TEST(Score, kappa_as_published) {
    const std::vector<int> table{75, 1, 4, 5, 4, 1, 0, 0, 10};
    const Agreement got = cohen_kappa(table, 3);
    check_conformance({"Cohen's kappa of the 100 diagnoses", "Fleiss, Levin & Paik 2003",
                       "Table 18.1, from memory; second way in grade_reference.py", 0.676,
                       *got.kappa.value, printed_3, ""});
    const std::vector<int> grants{20, 5, 10, 15}; // observed 0.7, by chance 0.5
    EXPECT_NEAR(*cohen_kappa(grants, 2).kappa.value, 0.4, rounding);
}

TEST(Score, kappa_standard_error_by_numeric_derivatives) {
    const nlohmann::json data = reference();
    if (data.is_null()) GTEST_SKIP() << "no reference data";
    for (const auto& c : data["kappas"]) {
        const auto counts = c["counts"].get<std::vector<int>>();
        const int categories = static_cast<int>(std::lround(std::sqrt(counts.size())));
        const Agreement got = cohen_kappa(counts, categories);
        EXPECT_NEAR(*got.kappa.value, c["kappa"].get<double>(), 1e-9);
        const double reach = deviate_95 * c["standard_error"].get<double>();
        EXPECT_NEAR(*got.kappa.value - *got.kappa.low, reach, 1e-6); // derivatives by 1e-6 steps
    }
}

TEST(Score, kappa_is_empty_where_chance_alone_agrees) {
    EXPECT_FALSE(cohen_kappa(std::vector<int>{12, 0, 0, 0}, 2).kappa.value);
    EXPECT_FALSE(cohen_kappa(std::vector<int>{0, 0, 0, 0}, 2).kappa.value);
    EXPECT_EQ(*cohen_kappa(std::vector<int>{5, 0, 0, 5}, 2).kappa.value, 1.0);
}

TEST(Score, hearing_curve_as_scipy) {
    const nlohmann::json data = reference();
    if (data.is_null()) GTEST_SKIP() << "no reference data";
    constexpr double simplex = 1e-4; ///< dB: both stop where the likelihood is flat to 1e-11
    int number = 0;
    for (const auto& c : data["curves"]) {
        std::vector<HeardAt> heard;
        for (std::size_t i = 0; i < c["snr_db"].size(); ++i)
            heard.push_back({c["snr_db"][i], c["heard"][i], c["listeners"]});
        const HearingCurve got = fit_hearing_curve(heard, c["guess"], c["lapse"]);
        ASSERT_TRUE(got.threshold_db.value) << got.why_not;
        const std::string name = "hearing curve " + std::to_string(++number);
        check_conformance({name + ": threshold", "SciPy 1.10.1 minimize",
                           "scripts/reference/grade_reference.py", c["threshold_db"],
                           *got.threshold_db.value, simplex, "dB"});
        check_conformance({name + ": spread", "SciPy 1.10.1 minimize",
                           "scripts/reference/grade_reference.py", c["spread_db"],
                           *got.spread_db.value, simplex, "dB"});
        EXPECT_NEAR(*got.threshold_db.low, c["threshold_low_db"].get<double>(), simplex);
        EXPECT_NEAR(*got.threshold_db.high, c["threshold_high_db"].get<double>(), simplex);
        EXPECT_NEAR(got.log_likelihood, c["log_likelihood"].get<double>(), 1e-8);
    }
}

TEST(Score, hearing_curve_says_why_there_is_none) {
    using Data = std::vector<HeardAt>;
    const auto why = [](const Data& data) { return fit_hearing_curve(data, 0.0, 0.02).why_not; };
    EXPECT_NE(why({{5, 1, 2}, {9, 2, 2}}), "");
    EXPECT_EQ(why({{1, 0, 3}, {5, 0, 3}, {9, 0, 3}}), "none was heard");
    EXPECT_EQ(why({{1, 3, 3}, {5, 3, 3}, {9, 3, 3}}), "all were heard");
    EXPECT_EQ(why({{1, 6, 6}, {5, 3, 6}, {9, 1, 6}}),
              "louder sounds were not heard more often than weaker ones");
    const char* apart = "one SNR separates heard from unheard: any steep curve fits";
    EXPECT_EQ(why({{1, 0, 6}, {5, 0, 6}, {9, 6, 6}, {13, 6, 6}}), apart);
    EXPECT_EQ(why({{1, 0, 6}, {5, 3, 6}, {9, 6, 6}, {13, 6, 6}}), apart) << "one level is mixed";
    EXPECT_EQ(why({{4.1, 0, 1}, {6.2, 0, 1}, {8.4, 1, 1}, {9.9, 1, 1}, {12, 1, 1}}), apart)
        << "one listener";
    EXPECT_EQ(why({{1, 1, 40}, {5, 2, 40}, {9, 2, 40}, {13, 3, 40}}),
              "the threshold lies outside the SNRs of the events");
}

// Whatever the answers, a threshold lies within the SNRs of the data and an interval is finite.
// Single listeners and few events give difficult cases.
TEST(Score, hearing_threshold_is_never_absurd) {
    constexpr std::uint64_t seed = 20;
    Random random(seed);
    int with_interval = 0, without = 0;
    for (int i = 0; i < 3000; ++i) {
        std::vector<HeardAt> data;
        const int events = random.whole(3, 14), listeners = random.whole(1, 3);
        double lowest_heard = 100.0, highest_unheard = -100.0;
        for (int n = 0; n < events; ++n) {
            HeardAt at{std::round(10.0 * random.between(3.0, 20.0)) / 10.0, 0, listeners};
            for (int l = 0; l < listeners; ++l)
                at.heard += random.uniform() < 1.0 / (1.0 + std::exp(9.0 - at.snr_db)) ? 1 : 0;
            data.push_back(at);
            if (at.heard > 0) lowest_heard = std::min(lowest_heard, at.snr_db);
            if (at.heard < listeners) highest_unheard = std::max(highest_unheard, at.snr_db);
        }
        const HearingCurve curve = fit_hearing_curve(data, 0.0, i % 2 == 0 ? 0.02 : 0.0);
        const bool parted = highest_unheard <= lowest_heard;
        ASSERT_FALSE(parted && curve.threshold_db.value)
            << "parted, seed " << seed << " case " << i;
        ASSERT_EQ(curve.threshold_db.value.has_value(), curve.why_not.empty());
        if (!curve.threshold_db.value) {
            EXPECT_FALSE(curve.threshold_db.low) << "seed " << seed << " case " << i;
            continue;
        }
        const auto within = [](double snr_db) { return snr_db >= 3.0 && snr_db <= 20.0; };
        EXPECT_TRUE(within(*curve.threshold_db.value));
        const auto& [value, low, high] = curve.threshold_db;
        ++(low && high ? with_interval : without);
        const bool low_fits = !low || (within(*low) && *low <= *value);
        const bool high_fits = !high || (within(*high) && *high >= *value);
        EXPECT_TRUE(low_fits && high_fits) << "seed " << seed << " case " << i;
    }
    EXPECT_GT(with_interval, 100);
    EXPECT_GT(without, 100);
}

TEST(Score, hearing_threshold_interval_covers) {
    constexpr std::uint64_t seed = 7;
    constexpr int exercises = 400;
    Random random(seed);
    int held = 0, fitted = 0;
    for (int i = 0; i < exercises; ++i) {
        std::vector<HeardAt> data;
        for (double snr = 0.0; snr <= 18.0; snr += 2.0) {
            HeardAt at{snr, 0, 12};
            const double p = 0.98 / (1.0 + std::exp(-(snr - 8.0) / 2.0));
            for (int n = 0; n < at.listeners; ++n)
                at.heard += random.uniform() < p ? 1 : 0;
            data.push_back(at);
        }
        const HearingCurve curve = fit_hearing_curve(data, 0.0, 0.02);
        if (!curve.threshold_db.low || !curve.threshold_db.high) continue;
        ++fitted;
        held += *curve.threshold_db.low <= 8.0 && 8.0 <= *curve.threshold_db.high ? 1 : 0;
    }
    EXPECT_GT(fitted, exercises * 95 / 100);
    EXPECT_NEAR(held / double(fitted), 0.95, 0.035) << "seed " << seed; // 3 sigma of 400
}

} // namespace
} // namespace lull
