// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/internal/imprint.hpp"
#include "sounds.hpp"

#include <gtest/gtest.h>
#include <vector>

namespace lull {
namespace {

constexpr double rate_hz = 16000.0;
constexpr double noise_rms = 0.001;

Imprint of(const std::vector<double>& modes_hz, unsigned seed, double gain, int late_samples = 0) {
    std::vector<float> x = test::white(seed, 0.2, noise_rms);
    test::add(x, test::knock(modes_hz, 0.02), 0.1, gain);
    return take_imprint(x, static_cast<std::size_t>(0.1 * rate_hz + late_samples), rate_hz,
                        noise_rms * noise_rms);
}

TEST(Imprint, OneBlowRepeatedIsKnownAgain) {
    const ImprintMatch same = match(of({300, 700}, 1, 0.1), of({300, 700}, 2, 0.03, 12));
    EXPECT_GT(same.correlation, 0.95);
    EXPECT_GT(same.expected, 0.9);
}

TEST(Imprint, AnotherObjectIsNot) {
    EXPECT_LT(match(of({300, 700}, 1, 0.1), of({410, 1130}, 2, 0.1)).correlation, 0.6);
}

TEST(Imprint, NoiseLowersWhatIsExpected) {
    const ImprintMatch clear = match(of({300, 700}, 1, 0.1), of({300, 700}, 2, 0.1));
    const ImprintMatch faint = match(of({300, 700}, 1, 0.003), of({300, 700}, 2, 0.003));
    EXPECT_LT(faint.expected, clear.expected);
    EXPECT_LT(faint.correlation, clear.correlation);
}

TEST(Imprint, NothingMatchesNothing) {
    EXPECT_EQ(match(Imprint(), of({300}, 1, 0.1)).correlation, 0.0);
    EXPECT_TRUE(take_imprint(std::vector<float>(800, 0.0F), 100, rate_hz, 0.0).samples.empty());
}

} // namespace
} // namespace lull
