// SPDX-License-Identifier: GPL-3.0-or-later
#include "synthesis/voice.hpp"

#include "synthesis/resample.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace lull {

namespace {

using std::numbers::pi;
constexpr double inner_rate_hz =
    32000.0; ///< harmonics of the pulses above half of this alias, at a very low level

struct Style {
    double pitch_hz[2]; ///< in the middle of the utterance
    double rise[2];     ///< height of the intonation's arc, relative to the pitch
    int syllables[2];
    double syllable_s[2];
    double gap_s[2];
    double open_quotient[2];
    double tilt_hz[2]; ///< low-pass of the source; low for soft voices
    double breath[2];
    double jitter, shimmer;
    double roughness[2]; ///< depth of amplitude modulation at 30-150 Hz
};

constexpr Style call_style{{150, 380},   {0.1, 0.5},   {1, 3},       {0.25, 0.60},
                           {0.04, 0.12}, {0.45, 0.60}, {2500, 5000}, {0.02, 0.10},
                           0.008,        0.05,         {0.0, 0.1}};
constexpr Style murmur_style{{85, 230},    {-0.2, 0.15}, {4, 9},      {0.10, 0.24},
                             {0.03, 0.14}, {0.60, 0.80}, {500, 1400}, {0.15, 0.50},
                             0.012,        0.08,         {0.0, 0.05}};
constexpr Style cry_style{{300, 600},   {0.1, 0.4},   {1, 3}, {0.5, 1.2}, {0.2, 0.5}, {0.50, 0.65},
                          {2500, 5000}, {0.05, 0.20}, 0.015,  0.08,       {0.0, 0.3}};
constexpr Style scream_style{{600, 1000}, {0.05, 0.3},  {1, 1},       {0.8, 1.8},
                             {0.1, 0.2},  {0.45, 0.60}, {4000, 7000}, {0.10, 0.30},
                             0.020,       0.12,         {0.3, 0.7}};

const Style& style_of(Sound sound) {
    switch (sound) {
    case Sound::murmur:
        return murmur_style;
    case Sound::cry:
        return cry_style;
    case Sound::scream:
        return scream_style;
    default:
        return call_style;
    }
}

using Vowel = std::array<double, 4>; ///< formant frequencies of an adult man [Hz]
constexpr std::array<Vowel, 6> vowels{{{730, 1090, 2440, 3400},
                                       {270, 2290, 3010, 3500},
                                       {530, 1840, 2480, 3500},
                                       {570, 840, 2410, 3300},
                                       {300, 870, 2240, 3300},
                                       {500, 1500, 2500, 3500}}};

struct Syllable {
    double from_s = 0.0, to_s = 0.0, level = 1.0;
    Vowel vowel{};
    double burst = 0.0; ///< breath at its start, like a consonant
};

struct Speaker {
    double pitch_hz, rise, tract, open_quotient, tilt_hz, breath, roughness, roughness_hz;
    double vibrato, vibrato_hz;
};

Speaker draw_speaker(const Style& style, Random& random) {
    Speaker speaker{};
    speaker.pitch_hz = random.between_log(style.pitch_hz[0], style.pitch_hz[1]);
    speaker.rise = random.between(style.rise[0], style.rise[1]);
    // Higher voices have shorter vocal tracts: formants up to a third higher.
    speaker.tract = std::clamp(1.0 + 0.25 * std::log2(speaker.pitch_hz / 130.0), 0.95, 1.35) *
                    random.between(0.95, 1.05);
    speaker.open_quotient = random.between(style.open_quotient[0], style.open_quotient[1]);
    speaker.tilt_hz = random.between_log(style.tilt_hz[0], style.tilt_hz[1]);
    speaker.breath = random.between(style.breath[0], style.breath[1]);
    speaker.roughness = random.between(style.roughness[0], style.roughness[1]);
    speaker.roughness_hz = random.between(30.0, 150.0);
    speaker.vibrato = random.between(0.0, 0.03);
    speaker.vibrato_hz = random.between(4.0, 7.0);
    return speaker;
}

std::vector<Syllable> draw_syllables(const Style& style, double duration_s, Random& random) {
    std::vector<Syllable> syllables;
    const int wanted = random.whole(style.syllables[0], style.syllables[1]);
    double at = 0.02;
    while (duration_s > 0.0 ? at < duration_s : static_cast<int>(syllables.size()) < wanted) {
        Syllable syllable;
        syllable.from_s = at;
        syllable.to_s = at + random.between(style.syllable_s[0], style.syllable_s[1]);
        syllable.level = random.between(0.6, 1.0);
        syllable.vowel = vowels[static_cast<std::size_t>(random.whole(0, 5))];
        syllable.burst = random.uniform() < 0.5 ? random.between(0.0, 0.3) : 0.0;
        if (duration_s > 0.0) syllable.to_s = std::min(syllable.to_s, duration_s);
        at = syllable.to_s + random.between(style.gap_s[0], style.gap_s[1]);
        if (syllable.to_s - syllable.from_s > 0.05 || syllables.empty())
            syllables.push_back(syllable);
    }
    return syllables;
}

/// Two-pole resonator of unit gain at 0 Hz [Klatt 1980, JASA 67(3)] with a variable centre
/// frequency.
struct Resonator {
    double a = 1.0, b = 0.0, c = 0.0, y1 = 0.0, y2 = 0.0;
    void tune(double frequency_hz, double bandwidth_hz) {
        c = -std::exp(-2.0 * pi * bandwidth_hz / inner_rate_hz);
        b = 2.0 * std::exp(-pi * bandwidth_hz / inner_rate_hz) *
            std::cos(2.0 * pi * frequency_hz / inner_rate_hz);
        a = 1.0 - b - c;
    }
    double operator()(double x) {
        const double y = a * x + b * y1 + c * y2;
        y2 = y1;
        y1 = y;
        return y;
    }
};

/// Glottal pulses: derivative of the flow a t^2 - b t^3 over the open part of each period.
class Glottis {
  public:
    Glottis(const Style& style, const Speaker& speaker) : style_(style), speaker_(speaker) {}
    double next(double pitch_hz, Random& random) {
        phase_ += pitch_hz * wobble_ / inner_rate_hz;
        if (phase_ >= 1.0) {
            phase_ -= 1.0;
            wobble_ = 1.0 + style_.jitter * random.normal();
            strength_ = 1.0 + style_.shimmer * random.normal();
        }
        const double open = phase_ / speaker_.open_quotient;
        return open < 1.0 ? strength_ * (2.0 * open - 3.0 * open * open) : 0.0;
    }
    [[nodiscard]] bool open() const { return phase_ < speaker_.open_quotient; }

  private:
    const Style& style_;
    const Speaker& speaker_;
    double phase_ = 0.0, wobble_ = 1.0, strength_ = 1.0;
};

double envelope(const Syllable& syllable, double time_s) {
    const double length = syllable.to_s - syllable.from_s;
    const double attack = std::min(0.05, 0.3 * length), release = std::min(0.12, 0.4 * length);
    const double in = time_s - syllable.from_s, left = syllable.to_s - time_s;
    if (in <= 0.0 || left <= 0.0) return 0.0;
    const double up = in < attack ? 0.5 - 0.5 * std::cos(pi * in / attack) : 1.0;
    const double down = left < release ? 0.5 - 0.5 * std::cos(pi * left / release) : 1.0;
    return syllable.level * up * down;
}

} // namespace

std::vector<float> utter(Sound sound, double duration_s, Random& random, double rate_hz) {
    const Style& style = style_of(sound);
    const Speaker speaker = draw_speaker(style, random);
    const auto syllables = draw_syllables(style, duration_s, random);
    const double length_s = syllables.back().to_s + 0.02;
    std::vector<float> inner(static_cast<std::size_t>(length_s * inner_rate_hz));
    Glottis glottis(style, speaker);
    std::array<Resonator, 4> formants;
    Vowel now = syllables.front().vowel;
    double soft = 0.0;
    const double tilt = 1.0 - std::exp(-2.0 * pi * speaker.tilt_hz / inner_rate_hz);
    std::size_t current = 0;
    for (std::size_t n = 0; n < inner.size(); ++n) {
        const double time_s = static_cast<double>(n) / inner_rate_hz;
        while (current + 1 < syllables.size() && time_s >= syllables[current + 1].from_s - 0.03)
            ++current;
        const Syllable& syllable = syllables[current];
        if (n % 32 == 0) {
            for (std::size_t f = 0; f < now.size(); ++f) {
                now[f] += 0.04 * (syllable.vowel[f] - now[f]);
                const double middle =
                    std::max(now[f] * speaker.tract, f == 0 ? 0.8 * speaker.pitch_hz : 0.0);
                formants[f].tune(middle, 50.0 + 0.06 * middle);
            }
        }
        const double arc = std::sin(pi * time_s / length_s);
        const double vibrato = speaker.vibrato * std::sin(2.0 * pi * speaker.vibrato_hz * time_s);
        const double pulse =
            glottis.next(speaker.pitch_hz * (1.0 + speaker.rise * (arc - 0.5) + vibrato), random);
        soft += tilt * (pulse - soft);
        const double early = std::exp(-(time_s - syllable.from_s) / 0.02);
        const double hiss = (glottis.open() ? 1.0 : 0.5) * speaker.breath * 0.3 +
                            (early < 1.0 ? syllable.burst * early : 0.0);
        double value = (soft + hiss * random.normal()) * envelope(syllable, time_s);
        for (Resonator& formant : formants)
            value = formant(value);
        const double rough =
            1.0 + speaker.roughness * std::sin(2.0 * pi * speaker.roughness_hz * time_s);
        inner[n] = static_cast<float>(value * rough);
    }
    return resample(inner, inner_rate_hz, rate_hz);
}

} // namespace lull
