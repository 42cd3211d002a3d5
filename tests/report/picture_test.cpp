// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/pictures/axis.hpp"
#include "report/pictures/png.hpp"
#include "report/pictures/spectrogram.hpp"
#include "report/pictures/text.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull {
namespace {

TEST(Text, MarkupIsEscapedAndUtf8MadeValid) {
    EXPECT_EQ(escape_markup("<a href='x'>&\"\x01"),
              "&lt;a href=&#39;x&#39;&gt;&amp;&quot;\xEF\xBF\xBD");
    EXPECT_EQ(valid_utf8("\xC3\xB6 \xED\xA0\x80"), "\xC3\xB6 \xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
    EXPECT_EQ(valid_utf8("\xC0\xAF"), "\xEF\xBF\xBD\xEF\xBF\xBD");
}

TEST(Text, LongNamesAreShortenedBetweenCharacters) {
    EXPECT_EQ(shortened("stairwell", 9), "stairwell");
    EXPECT_EQ(shortened("stairwell-west", 9), "stai\xE2\x80\xA6west");
    EXPECT_EQ(shortened("\xC3\xB6\xC3\xB6\xC3\xB6\xC3\xB6", 3), "\xC3\xB6\xE2\x80\xA6\xC3\xB6");
}

/// RFC 4648, section 10.
TEST(Png, Base64OfTheRfc) {
    EXPECT_EQ(to_base64(""), "");
    EXPECT_EQ(to_base64("f"), "Zg==");
    EXPECT_EQ(to_base64("fo"), "Zm8=");
    EXPECT_EQ(to_base64("foobar"), "Zm9vYmFy");
}

TEST(Axis, TicksAreRound) {
    std::string labels;
    for (const Tick& tick : number_ticks(-0.4, 1.1, 5))
        labels += tick.label + " ";
    EXPECT_EQ(labels, "0.0 0.5 1.0 ");
    labels.clear();
    for (const Tick& tick : time_ticks(0.0, 120.0, 6))
        labels += tick.label + " ";
    EXPECT_EQ(labels, "0:00 0:30 1:00 1:30 2:00 ");
    EXPECT_EQ(time_label(3725.0), "1:02:05");
    EXPECT_EQ(time_label(59.96, 1), "1:00.0");
}

/// A sine on a bin shows its mean square there (a^2/2), at its frequency, dark in the picture.
TEST(Spectrogram, ToneAtItsFrequencyAndLevel) {
    constexpr double rate_hz = 16000.0, tone_hz = 1000.0, amplitude = 0.25;
    std::vector<float> samples(16000);
    for (std::size_t n = 0; n < samples.size(); ++n)
        samples[n] = static_cast<float>(amplitude * std::sin(2.0 * std::numbers::pi * tone_hz *
                                                             static_cast<double>(n) / rate_hz));
    const Spectrogram made = spectrogram(samples, rate_hz, 0.032, 50); // 512 samples, 31.25 Hz
    ASSERT_EQ(made.columns, 50);
    const auto column = std::span(made.power).subspan(0, static_cast<std::size_t>(made.bins));
    const auto loudest = std::ranges::max_element(column);
    EXPECT_NEAR(static_cast<double>(loudest - column.begin()) * made.bin_hz, tone_hz, 1e-6);
    EXPECT_NEAR(*loudest, amplitude * amplitude / 2.0, 1e-5);
    const GreyImage image = picture_of(made, 2000.0, 64);
    const auto row = [&](int from_top) {
        return image.pixels[static_cast<std::size_t>(from_top * 50)];
    };
    EXPECT_EQ(row(31), 0); // 1000 Hz: half way up
    EXPECT_EQ(row(5), 255);
    EXPECT_EQ(to_png(image).substr(1, 3), "PNG");
}

/// Every level, and nothing at all, in the shade that its decibels below the loudest say.
TEST(Spectrogram, ShadesAreStepsOfDecibels) {
    constexpr int columns = 7001;
    constexpr double range_db = 60.0;
    Spectrogram made;
    made.columns = columns;
    made.bins = 1;
    made.bin_hz = 1000.0;
    for (int column = 0; column < columns; ++column)
        made.power.push_back(column + 1 == columns ? 0.0F
                                                   : 0.3F * std::pow(10.0F, -0.001F * column));
    const GreyImage image = picture_of(made, 1000.0, 1, range_db);
    for (int column = 0; column < columns; ++column) {
        const double power = made.power[static_cast<std::size_t>(column)];
        const double below_db = power > 0.0 ? 10.0 * std::log10(0.3F / power) : range_db;
        const double grey = 255.0 * std::min(below_db / range_db, 1.0) + 0.5;
        const int shown = image.pixels[static_cast<std::size_t>(column)];
        EXPECT_EQ(shown % 17, 0);
        EXPECT_GE(grey + 1e-3, shown) << column;
        EXPECT_LT(grey - 1e-3, shown + 17) << column;
    }
}

} // namespace
} // namespace lull
