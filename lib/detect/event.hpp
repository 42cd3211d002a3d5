// SPDX-License-Identifier: GPL-3.0-or-later
//
// Events: what was heard. The words describe sounds, never persons.
#pragma once

#include "signal/snr.hpp"

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace lull {

enum class EventKind { tapping, voice_like, horn, other };

[[nodiscard]] const char* name_of(EventKind kind); ///< "tapping", "voice-like", "horn", "other"

/// The first 64 ms of an impulse as a spectrum (detect/internal/imprint.hpp); empty when its
/// waveform was not looked at.
struct Imprint {
    std::vector<std::int8_t> bins; ///< real and imaginary part in turn, the largest at 127: of the
                                   ///< root of the magnitude, with phases that refer to time 0
    float spacing_hz = 0.0F;       ///< of the bins, which begin at 60 Hz
    float norm = 0.0F;             ///< root of the sum of their squares
    float signal_share = 0.0F;     ///< 0..1: share of its power that is not the floor's
};

/// How an arrival sounds: what its kind is judged by, and what arrivals are compared by.
struct Shape {
    bool sustained = false;   ///< followed as a sound that lasts, not as an impulse
    bool from_tracks = false; ///< measured on the tracks alone: too many candidates to look at each
    bool cut = false;         ///< goes on past the stretch that was followed
    double score = 0.0;       ///< log likelihood ratio of its loudest instant against the floor
    double contrast_db = 0.0; ///< loudest 8 ms over the 100 ms before the onset
    double rise_s = 0.0;      ///< onset to the largest sample
    double decay_s = 0.0;     ///< largest sample to 20 dB less, or to the floor
    bool decay_to_floor = false;  ///< the floor came before the 20 dB
    double early = 0.0;           ///< 0..1: share of its energy in the first half of its time
    double centroid_hz = 0.0;     ///< of the power over the floor
    double fundamental_hz = 0.0;  ///< 0: none found
    double harmonicity = 0.0;     ///< 0..1: median periodicity of the voiced frames
    double voiced_share = 0.0;    ///< 0..1 of the loud frames
    double pitch_spread = 0.0;    ///< semitones, between the 10th and 90th percentile
    double voiced_run_s = 0.0;    ///< longest run of frames whose pitch follows on
    double syllabic = 0.0;        ///< 0..1: share of the envelope's modulation that is at 2-8 Hz
    double level_spread_db = 0.0; ///< between the 10th and 90th percentile of its level
    Imprint imprint;              ///< of an impulse
    std::vector<float> band_db;   ///< excess over the floor in each spectrum band [dB], >= 0
};

/// One event on one channel. Powers are mean squares re full scale = 1, in the analysis band.
struct Arrival {
    int channel = 0;
    double onset_s = 0.0;
    double onset_sigma_s = 0.0;
    double end_s = 0.0;
    double peak = 0.0;         ///< largest absolute sample
    double peak_energy = 0.0;  ///< largest mean power over any 50 ms (voice-like: see snr)
    double energy = 0.0;       ///< integral of power over the event [s]
    double floor_power = 0.0;  ///< noise floor at the onset; 0: digitally silent
    double snr_db = no_snr_db; ///< 50 ms peak energy, or the louder half of a voice-like event,
                               ///< over the floor (signal/snr.hpp)
    EventKind kind = EventKind::other; ///< as this channel alone would say
    double confidence = 0.0;           ///< 0..1, of that kind
    std::string why;                   ///< in words and figures; empty once the event tells it
    Shape shape;
};

/// That an event sounds like a series that was searched for (detect/template_search.hpp).
struct SeriesLikeness {
    int series = 0;           ///< number
    double correlation = 0.0; ///< 0..1
    double score_db = 0.0;    ///< over the noise of the matching
};

/// One thing that happened, on one or more channels.
struct Event {
    int number = 0; ///< from 1 in order of onset
    EventKind kind = EventKind::other;
    double onset_s = 0.0; ///< earliest arrival
    double end_s = 0.0;
    int strongest = 0;             ///< channel with the largest SNR
    std::vector<Arrival> arrivals; ///< by channel index
    double confidence = 0.0;       ///< 0..1
    std::optional<int> series;
    std::optional<SeriesLikeness> like; ///< the series that a search found it by
    std::optional<int> hail;            ///< the hail that it is part of (detect/hails.hpp)
    std::string why;
};

/// The one order of arrivals by strength: by SNR, and where that is the same, as between two over
/// digitally silent floors, by peak energy.
[[nodiscard]] bool stronger(const Arrival& a, const Arrival& b);
/// The first of the strongest. \param arrivals  at least one
[[nodiscard]] const Arrival& strongest_of(std::span<const Arrival> arrivals);
/// SNR of an event: that of its best channel.
[[nodiscard]] double snr_of(const Event& event);

struct Series {
    int number = 0; ///< from 1
    int taps = 0;
    double from_s = 0.0, to_s = 0.0;
    double interval_s = 0.0; ///< median between taps of one group
    double regularity = 0.0; ///< 0..1: 1 - spread of the intervals over their median
    double confidence = 0.0;
    int channel = 0;         ///< strongest
    std::vector<int> events; ///< numbers
};

/// The team's own call or knock, and what was heard after it.
struct Hail {
    int number = 0; ///< from 1
    double from_s = 0.0, to_s = 0.0;
    int channel = 0;
    std::vector<int> followed_by;  ///< event numbers
    std::optional<double> after_s; ///< from the hail's end to the first of them
    bool from_log = true;          ///< else it was strong on the channel at the team
    std::vector<int> events = {};  ///< numbers of those that are the hail; none: it was not heard
};

} // namespace lull
