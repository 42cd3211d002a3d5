// SPDX-License-Identifier: GPL-3.0-or-later
#include "detect/repeats.hpp"
#include "detect/sounds.hpp"
#include "detect/tap_template.hpp"
#include "detect/template_search.hpp"
#include "signal/thinner.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <gtest/gtest.h>
#include <vector>

namespace lull {
namespace {

using test::rate_hz;
constexpr double floor_rms = 0.001;
constexpr Band band{60.0, 2000.0};

/// Two channels of noise with knocks, and the four clear ones as a series that was found.
class Scene {
  public:
    Scene(std::uint32_t seed, double seconds)
        : samples{test::white(seed, seconds, floor_rms),
                  test::white(seed + 1, seconds, floor_rms)} {}

    /// Gain: of the knock's loudest 50 ms over the noise of the whole rate, on channel 0.
    void knock(double at_s, double gain, const std::vector<double>& modes = {180.0, 420.0, 760.0}) {
        const std::vector<float> sound = test::knock(modes, decay_s);
        test::add(samples[0], sound, at_s, gain * floor_rms);
        test::add(samples[1], sound, at_s + delay_s, 0.5 * gain * floor_rms);
    }

    void clear_series(double from_s, double gain) {
        series.number = 1;
        series.taps = 4;
        series.confidence = 0.95;
        for (int k = 0; k < 4; ++k) {
            const double at_s = from_s + 0.6 * k;
            knock(at_s, gain);
            Event event;
            event.number = k + 1;
            event.series = 1;
            event.kind = EventKind::tapping;
            event.onset_s = at_s + 0.001 * (k % 2); // onsets are not exact
            event.end_s = event.onset_s + 0.05;
            for (int c = 0; c < 2; ++c) {
                Arrival arrival;
                arrival.channel = c;
                arrival.onset_s = event.onset_s + c * delay_s;
                arrival.snr_db = 25.0;
                event.arrivals.push_back(arrival);
            }
            events.push_back(event);
            series.events.push_back(event.number);
        }
        series.from_s = events.front().onset_s;
        series.to_s = events.back().end_s;
    }

    /// Streams of a 4 kHz raster, whole in memory.
    void thin() {
        const Sections pass = band_pass();
        for (int banded = 0; banded < 2; ++banded) {
            for (const std::vector<float>& channel : samples) {
                std::vector<float> x(thinner.before(), 0.0F);
                x.insert(x.end(), channel.begin(), channel.end());
                if (banded) {
                    SectionFilter filter(pass, 1);
                    filter.push(x);
                }
                std::vector<float> out((channel.size() - thinner.after()) / thinner.factor());
                thinner.thin(x, out);
                thinned[static_cast<std::size_t>(banded)].push_back(std::move(out));
            }
        }
    }

    [[nodiscard]] static Sections band_pass() { return butterworth_bandpass(4, band, rate_hz); }

    [[nodiscard]] StretchOf stretch(bool banded) {
        return [this, banded](Frame first, Frame count) -> const Block& {
            block.first = first;
            block.frames = count;
            block.channels = 2;
            block.samples.assign(static_cast<std::size_t>(2 * count), 0.0F);
            for (int c = 0; c < 2; ++c) {
                const std::vector<float>& all =
                    thinned[banded ? 1 : 0][static_cast<std::size_t>(c)];
                for (Frame i = std::max<Frame>(0, -first);
                     i < count && first + i < static_cast<Frame>(all.size()); ++i)
                    block.channel(c)[static_cast<std::size_t>(i)] =
                        all[static_cast<std::size_t>(first + i)];
            }
            return block;
        };
    }

    [[nodiscard]] std::vector<TapTemplate> templates() {
        auto made = make_template(series, events, 2, thinner.rate_hz(), band, stretch(true));
        return made ? std::vector<TapTemplate>{std::move(*made)} : std::vector<TapTemplate>{};
    }

    static constexpr double delay_s = 0.007;
    double decay_s = 0.02;
    std::array<std::vector<float>, 2> samples;
    std::array<std::vector<std::vector<float>>, 2> thinned;
    std::vector<Event> events;
    Series series;
    Thinner thinner{rate_hz};
    Block block;
};

std::vector<Match> search(Scene& scene, const std::vector<TapTemplate>& templates, double from_s,
                          double to_s) {
    const TemplateSearch search(templates, Scene::band_pass(), rate_hz);
    return search.find(static_cast<Frame>(from_s * 4000.0), static_cast<Frame>(to_s * 4000.0),
                       scene.stretch(false), scene.stretch(true),
                       [](std::size_t, double) { return false; });
}

const Match* match_at(const std::vector<Match>& matches, double at_s, double within_s = 0.02) {
    for (const Match& match : matches)
        if (std::abs(match.onset_s - at_s) < within_s) return &match;
    return nullptr;
}

TEST(TemplateSearch, ScoreIsThatOfAMatchedFilter) {
    // Known signal of energy E (sum of squares) in white noise of variance s^2: the filter's output
    // has an SNR of E / s^2 [any textbook of detection: North 1943, Turin 1960]; channels add up.
    constexpr double gain = 0.6; // 4.4 dB under the noise of the whole rate
    constexpr int count = 24;
    Scene scene(71, 70.0);
    scene.clear_series(3.0, 12.0);
    for (int k = 0; k < count; ++k)
        scene.knock(10.0 + 2.3 * k, gain);
    scene.thin();
    const std::vector<TapTemplate> templates = scene.templates();
    ASSERT_EQ(templates.size(), 1U);
    EXPECT_EQ(templates[0].taps, 4);
    double energy = 0.0;
    for (const float v : test::knock())
        energy += static_cast<double>(v) * v;
    const double expected = std::sqrt(energy * gain * gain * 1.25);
    const std::vector<Match> matches = search(scene, templates, 0.0, 70.0);
    double sum = 0.0;
    int found = 0;
    for (int k = 0; k < count; ++k) {
        if (const Match* match = match_at(matches, 10.0 + 2.3 * k)) {
            sum += match->score;
            ++found;
            EXPECT_NEAR(match->onset_s, 10.0 + 2.3 * k, 0.003);
        }
    }
    // The mean of 24 has a sigma of 0.2; the template's own noise and the window's ends cost some
    // tenths of a decibel.
    EXPECT_EQ(found, count);
    EXPECT_NEAR(sum / count / expected, 0.95, 0.06) << expected;
}

TEST(TemplateSearch, PartsGiveWhatTheWholeGives) {
    Scene scene(72, 40.0);
    scene.clear_series(3.0, 10.0);
    for (int k = 0; k < 14; ++k)
        scene.knock(8.0 + 2.1 * k, 0.8);
    scene.knock(20.0 + 0.004, 0.9); // its window lies across the border
    scene.thin();
    const std::vector<TapTemplate> templates = scene.templates();
    ASSERT_EQ(templates.size(), 1U);
    const std::vector<Match> whole = search(scene, templates, 0.0, 40.0);
    std::vector<Match> parts = search(scene, templates, 0.0, 20.0);
    for (Match& match : search(scene, templates, 20.0, 40.0))
        parts.push_back(std::move(match));
    ASSERT_EQ(parts.size(), whole.size());
    EXPECT_GT(whole.size(), 14U);
    for (std::size_t i = 0; i < whole.size(); ++i) {
        // The running noise of a stretch sees 12 s beyond its ends.
        EXPECT_NEAR(parts[i].onset_s, whole[i].onset_s, 1e-5);
        EXPECT_NEAR(parts[i].score, whole[i].score, 0.02 * whole[i].score);
    }
}

TEST(TemplateSearch, OtherLoudImpulsesAreNotAlike) {
    Scene scene(73, 60.0);
    scene.clear_series(3.0, 10.0);
    for (int k = 0; k < 10; ++k) {
        scene.knock(10.0 + 4.0 * k, 20.0, {310.0, 900.0, 1300.0});
        scene.knock(12.0 + 4.0 * k, 0.8);
    }
    scene.thin();
    const std::vector<Match> matches = search(scene, scene.templates(), 0.0, 60.0);
    for (int k = 0; k < 10; ++k) {
        EXPECT_EQ(match_at(matches, 10.0 + 4.0 * k, 0.1), nullptr) << k;
        EXPECT_NE(match_at(matches, 12.0 + 4.0 * k), nullptr) << k;
    }
}

TEST(TemplateSearch, WhatRingsOnIsFoundOnce) {
    Scene scene(79, 60.0);
    scene.decay_s = 0.25;
    scene.clear_series(3.0, 12.0);
    for (int k = 0; k < 10; ++k)
        scene.knock(10.0 + 4.0 * k, 8.0);
    scene.thin();
    const std::vector<Match> matches = search(scene, scene.templates(), 8.0, 60.0);
    for (int k = 0; k < 10; ++k)
        EXPECT_NE(match_at(matches, 10.0 + 4.0 * k), nullptr) << k;
    EXPECT_EQ(matches.size(), 10U);
}

TEST(TemplateSearch, FastKnocksAreEachFound) {
    // As fast as anybody knocks, and the second is the weaker one.
    for (const double decay_s : {0.02, 0.06}) {
        Scene scene(80, 60.0);
        scene.decay_s = decay_s;
        scene.clear_series(3.0, 12.0);
        for (int k = 0; k < 10; ++k) {
            scene.knock(10.0 + 4.0 * k, 2.0);
            scene.knock(10.0 + 4.0 * k + 0.13, 1.6);
        }
        scene.thin();
        const std::vector<Match> matches = search(scene, scene.templates(), 8.0, 60.0);
        int found = 0;
        for (int k = 0; k < 10; ++k)
            found += match_at(matches, 10.0 + 4.0 * k + 0.13) != nullptr;
        EXPECT_EQ(found, 10) << decay_s;
    }
}

TEST(TemplateSearch, NoiseAloneMatchesNothing) {
    Scene scene(74, 120.0);
    scene.clear_series(3.0, 10.0);
    scene.thin();
    for (const Match& match : search(scene, scene.templates(), 0.0, 120.0))
        EXPECT_LT(match.onset_s, 6.0) << match.score;
}

TEST(TemplateSearch, TapsThatAreNotAlikeMakeNoTemplate) {
    Scene scene(75, 20.0);
    scene.clear_series(3.0, 0.0); // nothing is there
    scene.thin();
    EXPECT_TRUE(scene.templates().empty());
}

TEST(TapTemplate, TellsASeriesOfItsOwnSoundFromOneOfAnother) {
    Scene scene(77, 40.0);
    scene.clear_series(3.0, 10.0);
    const auto later = [&scene](double at_s, const std::vector<double>& modes) {
        scene.knock(at_s, 10.0, modes);
        Event event = scene.events.front();
        event.number = static_cast<int>(scene.events.size()) + 1;
        event.onset_s = at_s + 0.002; // onsets are not exact
        scene.events.push_back(event);
        Series series;
        series.events = {event.number};
        return series;
    };
    const Series same = later(30.0, {180.0, 420.0, 760.0});
    const Series other = later(35.0, {310.0, 900.0, 1300.0});
    scene.thin();
    const std::vector<TapTemplate> templates = scene.templates();
    ASSERT_EQ(templates.size(), 1U);
    EXPECT_GE(likeness(templates[0], same, scene.events, scene.stretch(true)), same_sound);
    EXPECT_LT(likeness(templates[0], other, scene.events, scene.stretch(true)), 0.6);
}

TEST(TemplateSearch, WhatIsKnownIsNoMatch) {
    Scene scene(78, 30.0);
    scene.clear_series(3.0, 10.0);
    scene.knock(20.0, 2.0);
    scene.thin();
    const std::vector<TapTemplate> templates = scene.templates();
    const TemplateSearch search(templates, Scene::band_pass(), rate_hz);
    const std::vector<Match> matches =
        search.find(0, 120000, scene.stretch(false), scene.stretch(true),
                    [](std::size_t of, double onset_s) { return of == 0 && onset_s < 6.0; });
    ASSERT_EQ(matches.size(), 1U);
    EXPECT_NEAR(matches[0].onset_s, 20.0, 0.003);
}

TEST(ClearSeries, AsksForSureLoudAndManyTaps) {
    Scene scene(76, 8.0);
    scene.clear_series(3.0, 1.0);
    const std::vector<Series> one{scene.series};
    EXPECT_EQ(clear_series(one, scene.events).size(), 1U);
    std::vector<Series> spoilt = one;
    spoilt[0].confidence = 0.79;
    EXPECT_TRUE(clear_series(spoilt, scene.events).empty());
    spoilt = one;
    spoilt[0].taps = 2;
    EXPECT_TRUE(clear_series(spoilt, scene.events).empty());
    for (Event& event : scene.events)
        for (Arrival& arrival : event.arrivals)
            arrival.snr_db = 9.0;
    EXPECT_TRUE(clear_series(one, scene.events).empty());
}

} // namespace
} // namespace lull
